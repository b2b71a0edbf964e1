//! One step in words: what to do, what it takes, what it costs, and what may come of it.

use super::case::OpenFault;
use faults::{
    advise::{Do, May, Prepare, Step},
    case::{Answer, Belief, Reply, Tried},
};
use machine::{Caution, Danger, Trouble};
use serde::Serialize;
use units::Probability;

/// What sort of step it is.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum StepKind {
    /// A circumstance, told without touching anything.
    Condition,
    /// A look, a trial, a swap or a reading.
    Check,
    /// Something that may cure.
    Remedy,
}

/// One step of preparation.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Preparation {
    /// What to do.
    pub words: String,
    /// How long it takes.
    pub seconds: f64,
}

/// A spare that a remedy fits.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct SpareWords {
    /// The stock item.
    pub item: String,
    /// Its name.
    pub name: String,
    /// How many are there by the last count; none: nobody ever counted.
    pub in_stock: Option<i64>,
}

/// A cause with its chance, in words and as a number.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct LikelyThen {
    /// The cause.
    pub cause: String,
    /// Its name.
    pub name: String,
    /// Its chance.
    pub chance: Probability,
}

/// An answer that may come.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct MayCome {
    /// The answer as one gives it (`yes`, `no`, `helped`).
    pub answer: &'static str,
    /// The answer in the words of the step.
    pub words: String,
    /// How likely it is.
    pub chance: Probability,
    /// The likeliest causes then.
    pub then: Vec<LikelyThen>,
}

/// A step with its worth.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct StepCard {
    /// What sort of step.
    pub kind: StepKind,
    /// Its id in the machine type.
    pub id: String,
    /// Its name.
    pub name: String,
    /// What to do, in sentences.
    pub words: String,
    /// What a yes is called here (`Dark`); for a remedy: that it helped.
    pub yes: String,
    /// What a no is called here (`It glows`).
    pub no: String,
    /// What to do first, in order.
    pub prepare: Vec<Preparation>,
    /// How long it takes, with preparation.
    pub time_seconds: f64,
    /// What can hurt, and what to do about it.
    pub cautions: Vec<Caution>,
    /// The parts that are looked at, touched or worked on.
    pub at: Vec<String>,
    /// The spare that is fitted.
    pub spare: Option<SpareWords>,
    /// The quantity that is read, where the check takes a reading.
    pub reading: Option<String>,
    /// What it costs by itself, in minutes of an operator's time after the show.
    pub cost_minutes: f64,
    /// What it saves on average against never taking it, in the same minutes.
    pub saves_minutes: f64,
    /// How much it narrows the question down, in bits.
    pub narrows_bits: f64,
    /// Why it is worth taking, in a sentence.
    pub why: String,
    /// What may come of it.
    pub may: Vec<MayCome>,
}

/// Only electricity is named where a check says nothing itself: local rules come first.
const PLUG_OUT: &str = "Open nothing while it is plugged in.";

impl StepCard {
    pub(super) fn of(desk: &OpenFault<'_>, step: &Step) -> Self {
        let trouble = &desk.kind.trouble;
        let plain = match &step.act {
            Do::Check(id) => check(trouble, id.as_str()),
            Do::Remedy(id) => remedy(desk, id.as_str()),
        };
        let may: Vec<MayCome> = step.may.iter().filter_map(|may| may_come(desk, &plain, may)).collect();
        let saves = (step.expected_without - step.expected_with).max(0.0);
        let mut cautions = plain.cautions.clone();
        let opens = step.prepare.iter().filter_map(|prepare| opened(trouble, &prepare.what));
        for caution in opens.flat_map(|access| &access.cautions) {
            if !cautions.contains(caution) {
                cautions.push(caution.clone());
            }
        }
        Self {
            prepare: step
                .prepare
                .iter()
                .map(|prepare| preparation(trouble, &prepare.what, prepare.time.seconds()))
                .collect(),
            time_seconds: step.time.seconds(),
            cautions,
            cost_minutes: step.cost,
            saves_minutes: saves,
            narrows_bits: step.bits,
            why: why(plain.kind, saves, step, &may),
            may,
            ..plain
        }
    }
}

/// A step as the type tells of it, without what the advice adds.
fn plain(kind: StepKind, id: &str, name: &str) -> StepCard {
    StepCard {
        kind,
        id: id.to_owned(),
        name: name.to_owned(),
        words: String::new(),
        yes: "Yes".to_owned(),
        no: "No".to_owned(),
        prepare: Vec::new(),
        time_seconds: 0.0,
        cautions: Vec::new(),
        at: Vec::new(),
        spare: None,
        reading: None,
        cost_minutes: 0.0,
        saves_minutes: 0.0,
        narrows_bits: 0.0,
        why: String::new(),
        may: Vec::new(),
    }
}

fn check(trouble: &Trouble, id: &str) -> StepCard {
    if let Some(check) = trouble.check(id) {
        let slots = check.looks_at.iter().chain(&check.touches).map(ToString::to_string);
        return StepCard {
            words: check.words.clone(),
            yes: check.answers.found.clone(),
            no: check.answers.not_found.clone(),
            cautions: check.cautions.clone(),
            at: slots.collect(),
            reading: check.reading.as_ref().map(ToString::to_string),
            ..plain(StepKind::Check, id, &check.name)
        };
    }
    let asks = trouble.condition(id).map_or(id, |condition| condition.asks.as_str());
    plain(StepKind::Condition, id, asks)
}

fn remedy(desk: &OpenFault<'_>, id: &str) -> StepCard {
    let Some(remedy) = desk.kind.trouble.remedy(id) else { return plain(StepKind::Remedy, id, id) };
    let spare = remedy.spare.as_ref().map(|spare| {
        let name = desk.kind.spare(spare.as_str()).map_or(spare.as_str(), |known| known.name.as_str());
        let stock = desk.booth.stock.get(spare.as_str()).filter(|item| item.counted.is_some());
        SpareWords { item: spare.to_string(), name: name.to_owned(), in_stock: stock.map(|item| item.count) }
    });
    let mut cautions = remedy.cautions.clone();
    let unplugs = matches!(remedy.state, machine::MachineState::Unplugged | machine::MachineState::Cooled);
    if unplugs && !cautions.iter().any(|caution| caution.danger == Danger::Live) {
        cautions.push(Caution { danger: Danger::Live, words: PLUG_OUT.to_owned() });
    }
    StepCard {
        words: remedy.words.clone(),
        yes: "It helped".to_owned(),
        no: "Still there".to_owned(),
        cautions,
        at: remedy.parts.iter().map(ToString::to_string).collect(),
        spare,
        ..plain(StepKind::Remedy, id, &remedy.name)
    }
}

fn opened<'t>(trouble: &'t Trouble, what: &Prepare) -> Option<&'t machine::Access> {
    match what {
        Prepare::Open(access) => trouble.access(access.as_str()),
        _ => None,
    }
}

fn preparation(trouble: &Trouble, what: &Prepare, seconds: f64) -> Preparation {
    let access = |id: &faults::model::AccessId| {
        trouble.access(id.as_str()).map_or_else(|| id.to_string(), |access| access.name.clone())
    };
    let words = match what {
        Prepare::Stop => "Stop the machine.".to_owned(),
        Prepare::Unplug => "Withdraw the mains plug; keep it in sight.".to_owned(),
        Prepare::Cool => "Wait until it is cold.".to_owned(),
        Prepare::Open(id) => match trouble.access(id.as_str()) {
            Some(access) => format!("Open: {}. {}", access.name, access.words),
            None => format!("Open: {id}."),
        },
        Prepare::Close(id) => format!("Close: {}.", access(id)),
        Prepare::PlugIn => "Plug it in.".to_owned(),
        Prepare::Start => "Lace it and start it.".to_owned(),
    };
    Preparation { words, seconds }
}

fn may_come(desk: &OpenFault<'_>, step: &StepCard, may: &May) -> Option<MayCome> {
    let (answer, words) = match &may.answer {
        Answer::Checked { reply: Reply::Yes, .. } => ("yes", step.yes.clone()),
        Answer::Checked { reply: Reply::No, .. } => ("no", step.no.clone()),
        Answer::Tried { result: Tried::Fixed, .. } => ("helped", step.yes.clone()),
        Answer::Tried { result: Tried::NotFixed, .. } => ("did-not-help", step.no.clone()),
        _ => return None,
    };
    let then = may.then.iter().map(|belief| likely(desk, belief)).collect();
    Some(MayCome { answer, words, chance: may.chance, then })
}

fn likely(desk: &OpenFault<'_>, belief: &Belief) -> LikelyThen {
    let id = belief.cause.as_str();
    let name = desk.kind.trouble.cause(id).map_or(id, |cause| cause.name.as_str());
    LikelyThen { cause: id.to_owned(), name: name.to_owned(), chance: belief.now }
}

fn why(kind: StepKind, saves: f64, step: &Step, may: &[MayCome]) -> String {
    let best = may.iter().max_by(|a, b| a.chance.total_cmp(&b.chance));
    let expected = best.map_or(String::new(), |best| {
        format!(" “{}” is {} likely.", best.words, chance_in_words(best.chance))
    });
    let takes = units_minutes(step.time.seconds());
    let what = match kind {
        StepKind::Remedy => "and may end it",
        StepKind::Condition | StepKind::Check => "and narrows it down",
    };
    let saved = if saves >= 1.0 {
        format!("; without it the case would take some {saves:.0} min longer")
    } else {
        String::new()
    };
    format!("It takes {takes} {what}{saved}.{expected}")
}

/// A chance that stands before the word “likely”.
fn chance_in_words(chance: Probability) -> String {
    let words = chance.in_words();
    match words.strip_prefix("about ") {
        Some(fraction) => format!("about {fraction}"),
        None => words,
    }
}

pub(super) fn units_minutes(seconds: f64) -> String {
    if seconds < 90.0 { format!("{seconds:.0} s") } else { format!("{:.0} min", seconds / 60.0) }
}
