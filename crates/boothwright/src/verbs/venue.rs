//! `venue`: a hall's lens, light, seats, sound and power, from what is known of it.

use crate::{
    cli::Common,
    desk::Desk,
    failure::{Failure, Kind, Outcome},
    print,
};
use booth::hall::{self, HallAnswers};
use clap::{ArgMatches, Args, Command, FromArgMatches, Subcommand, error::ErrorKind};
use logbook::PlaceId;
use serde::Serialize;
use std::collections::BTreeMap;
use venue::{FIELDS, Field, Group, Missing};

/// Lens, light, seats, sound and power of a hall
#[derive(Debug, Args)]
pub struct Venue {
    #[command(subcommand)]
    question: Question,
}

#[derive(Debug, Subcommand)]
enum Question {
    /// Which lens, throw and picture; keystone; depth of focus (`venue lens --throw "12 m" --screen-width "8 ft"`)
    Lens(Given<0>),
    /// Light on the screen beside the standard, and what would help when it is too dark
    Light(Given<1>),
    /// Seats: nearest, farthest, steepest, widest; sight lines row by row; the beam over heads
    Sight(Given<2>),
    /// The loudspeaker in the room: level at each row, headroom, delay
    Sound(Given<3>),
    /// Mains: cable, voltage drop and the lamp, fuse, circuits (a sum, not a permit: local rules come first)
    Power(Given<4>),
}

/// What is given on the command line for the question that stands at this place in [`Group::ALL`].
#[derive(Debug, Default)]
struct Given<const QUESTION: usize> {
    /// A hall whose kept set-up fills what is not given.
    hall: Option<String>,
    values: BTreeMap<String, String>,
}

impl<const QUESTION: usize> Given<QUESTION> {
    /// The fields of the question, its own first.
    fn fields() -> impl Iterator<Item = &'static Field> {
        let own = Group::ALL[QUESTION];
        let groups = std::iter::once(own).chain(own.also().iter().copied());
        groups.flat_map(|group| FIELDS.iter().filter(move |field| field.group == group))
    }
}

impl<const QUESTION: usize> FromArgMatches for Given<QUESTION> {
    fn from_arg_matches(matches: &ArgMatches) -> Result<Self, clap::Error> {
        let mut given = Self::default();
        given.update_from_arg_matches(matches)?;
        Ok(given)
    }

    fn update_from_arg_matches(&mut self, matches: &ArgMatches) -> Result<(), clap::Error> {
        let text = |key: &str| {
            matches
                .try_get_one::<String>(key)
                .map(Option::<&String>::cloned)
                .map_err(|error| clap::Error::raw(ErrorKind::InvalidValue, error))
        };
        self.hall = text("hall")?.or(self.hall.take());
        for field in Self::fields() {
            if let Some(value) = text(field.key)? {
                self.values.insert(field.key.to_owned(), value);
            }
        }
        Ok(())
    }
}

impl<const QUESTION: usize> Args for Given<QUESTION> {
    fn augment_args(command: Command) -> Command {
        let hall = clap::Arg::new("hall")
            .long("hall")
            .value_name("PLACE")
            .help("A hall whose kept set-up fills what is not given here");
        let arg = |field: &'static Field| {
            clap::Arg::new(field.key)
                .long(field.key)
                .value_name("VALUE")
                .allow_hyphen_values(true)
                .help(format!("{} ({})", field.label, field.hint))
        };
        Self::fields().fold(command.arg(hall), |command, field| command.arg(arg(field)))
    }

    fn augment_args_for_update(command: Command) -> Command {
        Self::augment_args(command)
    }
}

impl Venue {
    /// Answers the question.
    pub fn run(&self, common: &Common) -> Outcome {
        use views::hall as laid;
        match &self.question {
            Question::Lens(given) => given.tell(common, |all| &all.lens, laid::lens),
            Question::Light(given) => given.tell(common, |all| &all.light, laid::light),
            Question::Sight(given) => given.tell(common, |all| &all.sight, laid::sight),
            Question::Sound(given) => given.tell(common, |all| &all.sound, laid::sound),
            Question::Power(given) => given.tell(common, |all| &all.power, laid::power),
        }
    }
}

impl<const QUESTION: usize> Given<QUESTION> {
    /// What is given, over what was kept of the hall.
    fn values(&self, common: &Common) -> Result<BTreeMap<String, String>, Failure> {
        let Some(name) = &self.hall else { return Ok(self.values.clone()) };
        let desk = Desk::open(common, false)?;
        let place = PlaceId::new(name);
        let known = hall::hall(&desk.booth, &place).ok_or_else(|| {
            let there = desk.booth.places.keys().map(PlaceId::as_str).collect::<Vec<_>>().join(", ");
            Failure::new(Kind::Usage, format!("there is no hall `{name}` in this booth"))
                .hinted(format!("one of: {there}"))
        })?;
        let mut values = known.setup.map(|setup| setup.values.clone()).unwrap_or_default();
        values.extend(self.values.clone());
        Ok(values)
    }

    fn tell<T: Serialize>(
        &self,
        common: &Common,
        pick: impl Fn(&HallAnswers) -> &Result<T, Missing>,
        lay: impl Fn(&T) -> views::Sheet,
    ) -> Outcome {
        let answers = hall::hall_answers(&self.values(common)?);
        let asked: Vec<&str> = Self::fields().map(|field| field.key).collect();
        let wrong: Vec<String> = answers
            .errors
            .iter()
            .filter(|error| asked.contains(&error.field))
            .map(|error| format!("--{}: {}", error.field, error.problem))
            .collect();
        if !wrong.is_empty() {
            return Err(Failure::new(Kind::Usage, wrong.join("\n  ")));
        }
        match pick(&answers) {
            Ok(answer) if common.json => print::json(answer),
            Ok(answer) => print::sheet(&lay(answer)),
            Err(missing) => {
                let options: Vec<String> = missing.fields.iter().map(|field| format!("--{field}")).collect();
                Err(Failure::new(Kind::Usage, missing).hinted(format!("see {}", options.join(", "))))
            }
        }
    }
}
