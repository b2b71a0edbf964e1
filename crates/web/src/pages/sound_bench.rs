//! What is measured of a recording, what is known beforehand, and the measuring itself: the same for a recording that
//! just came, one that is looked at again, and one whose readings are written down.

use crate::{
    fields::{self, Choice, Field, Kind, Problem},
    trouble::Trouble,
    typed::Typed,
    visit::Visit,
};
use ::sound::{
    BuzzReport, BuzzRequest, FlutterReport, FocusReport, NoiseReport, ResponseReport, SoundError, Source,
    TrackSide,
};
use axum::http::StatusCode;
use booth::sound::{
    Bench, Characteristic, FLUTTER_LINE, Measured, RecordedAt, characteristic_of, named_lines,
};
use logbook::{MachineId, booth::Machine, ids::SlotId};
use machine::{MachineType, RoomCurve};
use serde_json::{Map, Value};
use std::fs::File;
use store::AttachmentId;
use units::{Decibels, FramesPerSecond, Hertz};
use views::{Block, Place, Sheet, Words, address::escaped, sound::Known};

/// What is measured.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Measure {
    Flutter,
    Response,
    Noise,
    Focus,
    BuzzTrack,
}

impl Measure {
    pub const ALL: [Self; 5] = [Self::Flutter, Self::Response, Self::Noise, Self::Focus, Self::BuzzTrack];

    /// Its word in addresses.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Flutter => "flutter",
            Self::Response => "response",
            Self::Noise => "noise",
            Self::Focus => "focus",
            Self::BuzzTrack => "buzz-track",
        }
    }

    /// Its name.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Flutter => "Speed and flutter",
            Self::Response => "Response",
            Self::Noise => "Noise and hum",
            Self::Focus => "Sound focus",
            Self::BuzzTrack => "Buzz track",
        }
    }

    /// What to play for it.
    pub const fn play(self) -> &'static str {
        match self {
            Self::Flutter => {
                "Play a flutter film (3150 Hz or 3000 Hz), or any film with a steady tone, for a minute."
            }
            Self::Response => "Play a multi-frequency film from its beginning to its end.",
            Self::Noise => {
                "Play clear film or none, exciter lamp on, volume as in a show. A steady tone on the film also shows \
                 distortion."
            }
            Self::Focus => "Play a high tone (5 or 7 kHz on 16 mm, 9 kHz on 35 mm) while the focus is set.",
            Self::BuzzTrack => "Play a buzz track, which has a tone on either side of the sound track.",
        }
    }

    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|one| one.word() == word)
    }

    /// The measurement that gives a quantity of the logbook.
    pub fn of_quantity(quantity: &str) -> Option<Self> {
        match quantity {
            "flutter-weighted" | "speed-error" | "run-up-time" | FLUTTER_LINE => Some(Self::Flutter),
            "response-5khz" => Some(Self::Response),
            "hum-and-noise" => Some(Self::Noise),
            "azimuth-loss" => Some(Self::Focus),
            "guard-tones" => Some(Self::BuzzTrack),
            _ => None,
        }
    }
}

/// The fields of what is known beforehand.
mod key {
    pub const MACHINE: &str = "machine";
    pub const MEASURE: &str = "measure";
    pub const TONE: &str = "tone";
    pub const SPEED: &str = "speed";
    pub const REFERENCE: &str = "reference";
    pub const PLACE: &str = "recorded_at";
    pub const CURVE: &str = "curve";
    pub const FIRST_LIES: &str = "first_lies";
    pub const ALL: [&str; 8] = [MACHINE, MEASURE, TONE, SPEED, REFERENCE, PLACE, CURVE, FIRST_LIES];
}

/// Sound speed.
const SOUND_SPEED: f64 = 24.0;

/// What is asked of a recording.
#[derive(Clone, Debug)]
pub struct Asked {
    pub machine: Option<MachineId>,
    pub measure: Measure,
    tone: Option<Hertz>,
    speed: FramesPerSecond,
    reference: Option<Decibels>,
    recorded_at: RecordedAt,
    curve: Option<RoomCurve>,
    first_lies: Option<TrackSide>,
    typed: Typed,
}

impl Asked {
    /// The fields that a measurement asks for.
    pub fn fields(visit: &Visit, measure: Measure) -> Vec<Field> {
        let machines = visit.booth().machines.iter().filter(|(_, machine)| machine.retired.is_none());
        let machines = machines.map(|(id, machine)| Choice::new(id.as_str(), &machine.name)).collect();
        let machine = Field::new(key::MACHINE, "Machine", Kind::Pick(machines))
            .hint("With it, lines get the names of parts, and readings can be written down.");
        let mut all = vec![machine];
        all.extend(match measure {
            Measure::Flutter => vec![
                Field::new(key::TONE, "Tone on the film", Kind::Number("Hz"))
                    .hint("As the film's can says; left empty, the nearest customary tone is taken."),
                Field::new(key::SPEED, "Speed at which the film carries it", Kind::Number("frames/s"))
                    .hint("Left empty: 24."),
            ],
            Measure::Response => {
                let places = RecordedAt::ALL.map(|at| Choice::new(at.word(), at.name())).into();
                let curves = vec![
                    Choice::new(RoomCurve::X.as_str(), "X: ISO 2969, SMPTE ST 202"),
                    Choice::new(RoomCurve::N.as_str(), "N: the older, narrower one"),
                ];
                vec![
                    Field::new(key::TONE, "Tone at 0 dB", Kind::Number("Hz"))
                        .hint("Left empty: 1000 Hz or, failing that, 400 Hz."),
                    Field::new(key::PLACE, "Recorded", Kind::Pick(places)),
                    Field::new(key::CURVE, "Curve of the room", Kind::Pick(curves)).hint(
                        "Left empty, that of the machine's type. At the line output it does not count.",
                    ),
                ]
            }
            Measure::Noise => vec![
                Field::new(key::REFERENCE, "Level of the reference tone", Kind::Number("dB"))
                    .hint("Below full scale, recorded with the same settings: for example -12."),
            ],
            Measure::Focus => vec![
                Field::new(key::TONE, "High tone on the film", Kind::Number("Hz"))
                    .hint("Left empty, any from 2900 Hz up is taken."),
            ],
            Measure::BuzzTrack => {
                let sides = vec![
                    Choice::new("picture", "Towards the picture"),
                    Choice::new("edge", "Towards the edge"),
                ];
                vec![
                    Field::new(key::FIRST_LIES, "The 300 Hz tone lies", Kind::Pick(sides))
                        .hint("The film's sheet says so; then the side to move to can be told."),
                ]
            }
        });
        all
    }

    /// Reads what was typed; every problem comes at once.
    pub fn read(visit: &Visit, typed: &Typed) -> Result<Self, Vec<Problem>> {
        let measure = match typed.get(key::MEASURE) {
            None => Measure::Flutter,
            Some(word) => Measure::from_word(word).ok_or_else(|| {
                vec![Problem::new(key::MEASURE, format!("Nothing is measured under \"{word}\"; choose one."))]
            })?,
        };
        let mut body = Map::new();
        let mut problems = fields::read_into(&mut body, &Self::fields(visit, measure), typed);
        let mut within = |key: &'static str, low: f64, high: f64, right: &str| {
            let number = body.get(key).and_then(Value::as_f64)?;
            if (low..=high).contains(&number) {
                return Some(number);
            }
            problems.push(Problem::new(key, format!("{number} is out of range; {right}.")));
            None
        };
        let tone = within(key::TONE, 20.0, 20_000.0, "name a tone from 20 to 20000 Hz");
        let speed = within(key::SPEED, 8.0, 60.0, "name a speed from 8 to 60 frames/s");
        let reference = within(key::REFERENCE, -100.0, 0.0, "name a level from -100 to 0 dB");
        if !problems.is_empty() {
            return Err(problems);
        }
        let word = |key: &str| body.get(key).and_then(Value::as_str);
        Ok(Self {
            machine: word(key::MACHINE).map(MachineId::new),
            measure,
            tone: tone.map(Hertz::new),
            speed: FramesPerSecond::new(speed.unwrap_or(SOUND_SPEED)),
            reference: reference.map(Decibels::new),
            recorded_at: word(key::PLACE).and_then(RecordedAt::from_word).unwrap_or_default(),
            curve: word(key::CURVE)
                .and_then(|word| RoomCurve::ALL.iter().copied().find(|curve| curve.as_str() == word)),
            first_lies: word(key::FIRST_LIES)
                .map(|side| if side == "picture" { TrackSide::Picture } else { TrackSide::Edge }),
            typed: only_ours(typed, measure),
        })
    }

    /// The same as a query, with its question mark.
    pub fn query(&self) -> String {
        let query = self.typed.as_query_without("");
        format!("?{}", query.trim_start_matches('&'))
    }

    /// Names and values for hidden fields.
    pub fn hidden(&self) -> Vec<(&'static str, String)> {
        let value = |name: &'static str| self.typed.get(name).map(|value| (name, value.to_owned()));
        key::ALL.into_iter().filter_map(value).collect()
    }

    /// The machine with its type, if both are known.
    pub fn about<'v>(&self, visit: &'v Visit) -> (Option<&'v Machine>, Option<&'v MachineType>) {
        let machine = self.machine.as_ref().and_then(|id| visit.booth().machines.get(id.as_str()));
        (machine, machine.and_then(|machine| visit.library().get(machine.machine_type.as_str())))
    }

    /// What a response is held against.
    fn wanted(&self, known: &Known<'_>) -> Option<&'static Characteristic> {
        known.kind.and_then(|kind| characteristic_of(kind, self.recorded_at, self.curve))
    }

    /// The tones of the buzz track and where they lie.
    fn buzz(&self) -> BuzzRequest {
        BuzzRequest { first_lies: self.first_lies, ..BuzzRequest::default() }
    }

    /// Measures a recording.
    pub fn measure(&self, file: &mut File, kind: Option<&MachineType>) -> Result<Found, SoundError> {
        let source: &mut dyn Source = file;
        let bench = Bench { speed: self.speed, tone: self.tone, ..Bench::new(kind) };
        Ok(match self.measure {
            Measure::Flutter => Found::Flutter(Box::new(bench.flutter(source)?)),
            Measure::Response => Found::Response(bench.response(source)?),
            Measure::Noise => Found::Noise(bench.noise(source, self.reference)?),
            Measure::Focus => Found::Focus(bench.focus(source)?),
            Measure::BuzzTrack => Found::BuzzTrack(bench.buzz_track(source, &self.buzz())?),
        })
    }

    /// What tells a measurement of a recording from every other: its bytes, what was asked, and the machine's type.
    pub fn name_with(&self, visit: &Visit, recording: AttachmentId) -> String {
        let kind = self.about(visit).1.map_or("", |kind| kind.id.as_str());
        format!("{recording}{} {kind}", self.query())
    }

    /// The address of the page on which something of a machine's recording is measured.
    pub fn address(recording: &str, measure: Measure, machine: &MachineId) -> String {
        let machine = escaped(machine.as_str());
        format!("/sound/recordings/{}?measure={}&machine={machine}", escaped(recording), measure.word())
    }

    /// The address of a recording's page.
    pub fn page_of(&self, recording: &str) -> String {
        format!("/sound/recordings/{}{}", escaped(recording), self.query())
    }
}

/// Only what the measurement asks for, so that an address says no more than that.
fn only_ours(typed: &Typed, measure: Measure) -> Typed {
    let mut own = Typed::default();
    own.push(key::MEASURE, measure.word());
    for name in key::ALL.into_iter().filter(|name| *name != key::MEASURE) {
        if let Some(value) = typed.get(name) {
            own.push(name, value);
        }
    }
    own
}

/// What a recording says.
pub enum Found {
    Flutter(Box<FlutterReport>),
    Response(ResponseReport),
    Noise(NoiseReport),
    Focus(FocusReport),
    BuzzTrack(BuzzReport),
}

impl Found {
    /// The figures that may become readings.
    pub fn figures(&self) -> Vec<Measured> {
        match self {
            Self::Flutter(report) => Measured::of_flutter(report),
            Self::Response(report) => Measured::of_response(report),
            Self::Noise(report) => Measured::of_noise(report),
            Self::Focus(report) => Measured::of_focus(report),
            Self::BuzzTrack(report) => Measured::of_buzz_track(report),
        }
    }

    /// What it says, in words and pictures.
    pub fn sheet(&self, asked: &Asked, known: &Known<'_>) -> Sheet {
        match self {
            Self::Flutter(report) => {
                let mut sheet = views::sound::flutter(report, known);
                // Beside the lead: whose doing it is, and what to do next.
                let at = sheet.blocks.len().min(1);
                sheet.blocks.splice(at..at, guilty(report, known).map(Block::Say));
                sheet
            }
            Self::Response(report) => {
                let wanted = asked.wanted(known);
                views::sound::response(report, wanted, known)
            }
            Self::Noise(report) => views::sound::noise(report, known),
            Self::Focus(report) => views::sound::focus(report, known),
            Self::BuzzTrack(report) => views::sound::buzz_track(report, &asked.buzz(), known),
        }
    }

    /// The same as the command line gives with `--json`.
    pub fn json(&self, asked: &Asked, known: &Known<'_>) -> Value {
        match self {
            Self::Flutter(report) => views::sound::json::flutter(report, known),
            Self::Response(report) => {
                let wanted = asked.wanted(known);
                views::sound::json::response(report, wanted, known)
            }
            Self::Noise(report) => views::sound::json::with_readings(report, known),
            Self::Focus(report) => views::sound::json::with_readings(report, known),
            Self::BuzzTrack(report) => views::sound::json::with_readings(report, known),
        }
    }
}

/// The part behind the deepest line, how likely it is, and the care that comes next.
fn guilty(report: &FlutterReport, known: &Known<'_>) -> Option<Words> {
    let (machine, lines) = (known.machine?, named_lines(report, known.kind?, known.due));
    let deepest =
        lines.iter().max_by(|a, b| a.line.depth_peak_percent.total_cmp(&b.line.depth_peak_percent))?;
    let (line, first) = (deepest.line, deepest.suspects.first()?);
    let (hz, depth) = (line.hz.hertz(), line.depth_peak_percent.percent());
    let words = Words::new().plain(format!("Deepest line, {hz:.2} Hz at {depth:.3} % peak: "));
    let Some(part) = first.part else { return Some(words.strong(&first.suspect.name).plain(".")) };
    let place = Place::Part(machine.clone(), SlotId::new(part.id.as_str()));
    let words =
        words.link(place, &first.suspect.name).plain(format!(", {}.", first.suspect.probability.in_words()));
    if line.ambiguous {
        return Some(words.plain(" Others are as likely: see below."));
    }
    let Some(task) = first.care.first().map(|follow| follow.task) else { return Some(words) };
    let filled = [("machine", machine.as_str()), ("task", task.id.as_str()), ("slot", part.id.as_str())];
    let filled = filled.map(|(name, value)| (name.to_owned(), value.to_owned())).to_vec();
    Some(words.plain(" Next: ").link(Place::LogKind("care-done".to_owned(), filled), &task.name).plain("."))
}

/// Why a recording gave no reading, as a page with the way back.
pub fn no_reading(error: &SoundError, asked: &Asked) -> Trouble {
    let words = error.to_string();
    let (what, right) =
        words.split_once("; ").unwrap_or((&words, "record again, or choose what else it holds"));
    let title = "No reading from this recording";
    Trouble::new(StatusCode::UNPROCESSABLE_ENTITY, title, sentence(what), sentence(right))
        .way(format!("/sound{}", asked.query()), "Another recording")
}

/// Makes a sentence of an error's words.
fn sentence(words: &str) -> String {
    let mut letters = words.chars();
    let first: String = letters.next().into_iter().flat_map(char::to_uppercase).collect();
    format!("{first}{}.", letters.as_str().trim_end_matches('.'))
}
