//! The request for repair: all that a technician asks first.

use super::{case::OpenFault, sheet::odds_words};
use crate::verdict::{Verdict, judge};
use faults::{
    advise::{Passed, Referral},
    case::Belief,
};
use logbook::{
    booth::FaultDeed,
    fact::{Asked, FaultReply, RemedyResult, RepairRequested},
};
use machine::ReferTo;
use serde::Serialize;

/// The lines of a request for repair.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct RequestLines {
    /// Whom it is for.
    pub to: String,
    /// Why, and what is asked for.
    pub words: String,
    /// The machine's kind, number and hours, and the showing and print with which the fault was met.
    pub about: Vec<String>,
    /// What was noticed.
    pub symptoms: Vec<String>,
    /// What was answered and tried.
    pub tried: Vec<String>,
    /// What an operator could have tried against the likely causes and has not.
    pub not_tried: Vec<String>,
    /// The likely causes, the likeliest first.
    pub likely: Vec<String>,
    /// What is next to impossible by other answers, though nobody looked.
    pub unlikely: Vec<String>,
    /// What it is not.
    pub ruled_out: Vec<String>,
    /// Last readings.
    pub readings: Vec<String>,
}

/// Causes below this are not named as likely.
const LIKELY: f64 = 0.05;
/// Causes below this are named as ruled out.
const RULED_OUT: f64 = 0.01;
/// So much of what was not tried is named.
const MOST_NOT_TRIED: usize = 6;

impl OpenFault<'_> {
    /// Returns the request for repair as the case stands, whatever the advice is.
    pub fn request(&self) -> RequestLines {
        let advice = self.advice();
        if let faults::advise::Outcome::Refer(referral) = &advice.outcome {
            return self.lines(Some(referral.passed), &referral.likely, &ruled_out_of(referral));
        }
        let causes = &advice.beliefs.causes;
        let likely: Vec<Belief> = causes.iter().filter(|one| one.now.value() >= LIKELY).cloned().collect();
        let out = causes.iter().filter(|one| one.now.value() < RULED_OUT).map(|one| one.cause.to_string());
        self.lines(None, &likely, &out.collect::<Vec<_>>())
    }

    /// The lines of a request; of what is next to impossible only that is ruled out at which somebody looked.
    pub(super) fn lines(
        &self,
        passed: Option<Passed>,
        likely: &[Belief],
        next_to_impossible: &[String],
    ) -> RequestLines {
        let (ruled_out, unlikely): (Vec<&String>, Vec<&String>) =
            next_to_impossible.iter().partition(|id| self.was_looked_at(id));
        let trouble = &self.kind.trouble;
        let first = likely.iter().find_map(|belief| trouble.cause(belief.cause.as_str())?.refer.as_ref());
        let to = first.map_or(ReferTo::Technician, |refer| refer.to);
        let asked = first.map_or("Please look at the machine.", |refer| refer.words.as_str());
        let noticed = self.fault.symptoms.iter().map(|id| {
            trouble.symptom(id.as_str()).map_or_else(|| id.to_string(), |symptom| symptom.name.clone())
        });
        RequestLines {
            to: to.in_words().to_owned(),
            words: format!("{}{} {}", self.fault.words_with_stop(), why(passed), asked),
            about: self.machine_lines(),
            symptoms: noticed.collect(),
            tried: self.tried(),
            not_tried: self.not_tried(likely),
            likely: likely.iter().map(|belief| odds_words(self, belief)).collect(),
            unlikely: self.cause_names(&unlikely),
            ruled_out: self.cause_names(&ruled_out),
            readings: self.readings(),
        }
    }

    /// Whether somebody looked for a cause, or tried what cures it: an answer to something else rules nothing out.
    pub(super) fn was_looked_at(&self, cause: &str) -> bool {
        let trouble = &self.kind.trouble;
        self.fault.steps.iter().any(|step| match &step.deed {
            FaultDeed::Answered {
                asked: Asked::Check,
                which,
                answer: FaultReply::Yes | FaultReply::No,
                ..
            } => trouble
                .check(which.as_str())
                .is_some_and(|check| names(check.points_to().map(|(tell, _)| tell), cause)),
            FaultDeed::Tried { remedy, result: RemedyResult::DidNotHelp, .. } => {
                trouble.remedy(remedy.as_str()).is_some_and(|remedy| names(&remedy.cures, cause))
            }
            _ => false,
        })
    }

    /// What an operator could have tried against the likely causes and has not.
    fn not_tried(&self, likely: &[Belief]) -> Vec<String> {
        let done = |id: &str| {
            self.fault.steps.iter().any(|step| match &step.deed {
                FaultDeed::Tried { remedy, result, .. } => {
                    remedy.as_str() == id && *result != RemedyResult::Skipped
                }
                _ => false,
            })
        };
        let mut left: Vec<String> = Vec::new();
        for belief in likely {
            let cures = |remedy: &&machine::Remedy| {
                remedy.who == machine::Hand::Operator && names(&remedy.cures, belief.cause.as_str())
            };
            let open =
                self.kind.trouble.remedies.iter().filter(cures).filter(|remedy| !done(remedy.id.as_str()));
            for remedy in open {
                if !left.contains(&remedy.name) {
                    left.push(remedy.name.clone());
                }
            }
        }
        left.truncate(MOST_NOT_TRIED);
        left
    }

    fn cause_names(&self, causes: &[&String]) -> Vec<String> {
        causes.iter().map(|id| self.cause_name(id)).collect()
    }

    /// The name of a cause.
    pub(super) fn cause_name(&self, id: &str) -> String {
        self.kind.trouble.cause(id).map_or_else(|| id.to_owned(), |cause| cause.name.clone())
    }

    /// What was answered and tried, line by line.
    fn tried(&self) -> Vec<String> {
        self.fault.steps.iter().filter_map(|step| self.deed_words(&step.deed)).collect()
    }

    /// A deed in words; none for marks.
    pub(super) fn deed_words(&self, deed: &FaultDeed) -> Option<String> {
        let trouble = &self.kind.trouble;
        match deed {
            FaultDeed::Answered { asked, which, answer, reading } => {
                let id = which.as_str();
                let (name, yes, no) = match asked {
                    Asked::Check => trouble.check(id).map(|check| {
                        (check.name.as_str(), check.answers.found.as_str(), check.answers.not_found.as_str())
                    }),
                    Asked::Condition => trouble.condition(id).map(|known| (known.asks.as_str(), "yes", "no")),
                    Asked::Symptom => trouble.symptom(id).map(|known| (known.name.as_str(), "yes", "no")),
                }
                .unwrap_or((id, "yes", "no"));
                let said = match answer {
                    FaultReply::Yes => yes,
                    FaultReply::No => no,
                    FaultReply::CannotTell => "cannot tell",
                    FaultReply::Skipped => "skipped",
                };
                let read =
                    reading.as_ref().map(|read| format!(" ({})", read_in_words(read.value, &read.unit)));
                Some(format!("{name} {said}{}", read.unwrap_or_default()))
            }
            FaultDeed::Tried { remedy, result, .. } => {
                let name =
                    trouble.remedy(remedy.as_str()).map_or(remedy.as_str(), |known| known.name.as_str());
                let said = match result {
                    RemedyResult::Helped => "it helped",
                    RemedyResult::DidNotHelp => "it did not help",
                    RemedyResult::CannotTell => "done, not tried out",
                    RemedyResult::Skipped => "skipped",
                };
                Some(format!("{name}: {said}"))
            }
            FaultDeed::Marked { .. } => None,
        }
    }

    /// The last reading of each quantity that tells of a part in question, or lies beyond its limit.
    fn readings(&self) -> Vec<String> {
        let shows = self.fault.symptoms.iter().filter_map(|id| self.kind.trouble.symptom(id.as_str()));
        let slots: Vec<_> = shows.flat_map(|symptom| &symptom.shows_at).collect();
        let last = self.kind.limits.iter().filter_map(|limit| {
            let reading = self
                .about
                .readings
                .iter()
                .rev()
                .find(|one| one.quantity.as_str() == limit.quantity.as_str())?;
            let judged = judge(self.about, reading, limit).verdict;
            let beyond = matches!(judged, Verdict::Act | Verdict::Stop);
            (beyond || limit.parts.iter().any(|slot| slots.contains(&slot))).then(|| {
                let mark = if beyond { ", beyond its limit" } else { "" };
                let read = read_in_words(reading.value, &reading.unit);
                format!("{}: {read} on {}{mark}", limit.name, reading.at.date())
            })
        });
        last.collect()
    }
}

/// A reading as one says it: three figures that count, and no unit where things are counted.
pub(super) fn read_in_words(value: f64, unit: &str) -> String {
    let size = if value == 0.0 { 0.0 } else { value.abs().log10().floor() };
    let places = (2.0 - size).clamp(0.0, 6.0) as usize;
    let number = format!("{value:.places$}");
    let number =
        if number.contains('.') { number.trim_end_matches('0').trim_end_matches('.') } else { &number };
    match unit {
        "count" | "" => number.to_owned(),
        unit => format!("{number} {}", machine::unit_as_read(unit)),
    }
}

/// Whether a list of chances names a cause.
fn names<'l>(list: impl IntoIterator<Item = &'l machine::CauseChance>, cause: &str) -> bool {
    list.into_iter().any(|one| one.cause.as_str() == cause)
}

impl RequestLines {
    /// Makes the entry of it.
    pub fn fact(self, fault: &logbook::FaultId) -> RepairRequested {
        let Self { to, words, about, symptoms, tried, not_tried, likely, unlikely, ruled_out, readings } =
            self;
        RepairRequested {
            fault: fault.clone(),
            to,
            words,
            about,
            symptoms,
            tried,
            not_tried,
            likely,
            unlikely,
            ruled_out,
            readings,
        }
    }
}

/// The words of a fault, ready for another sentence behind them.
trait WithStop {
    fn words_with_stop(&self) -> String;
}

impl WithStop for logbook::booth::Fault {
    fn words_with_stop(&self) -> String {
        let words = self.words.trim();
        if words.ends_with(['.', '!', '?']) { format!("{words} ") } else { format!("{words}. ") }
    }
}

pub(super) fn ruled_out_of(referral: &Referral) -> Vec<String> {
    referral.ruled_out.iter().map(ToString::to_string).collect()
}

/// Why a case is passed on, in a sentence.
pub(super) const fn why(passed: Option<Passed>) -> &'static str {
    match passed {
        Some(Passed::Danger) => {
            "It is likely an electrical, xenon or nitrate matter, which an operator leaves alone."
        }
        Some(Passed::Beyond) => "What is left may only be put right by somebody qualified.",
        Some(Passed::CheaperToCall) => "What is left to try here costs more than the call.",
        None => "The operator passes it on.",
    }
}

#[cfg(test)]
mod tests {
    use super::read_in_words;

    #[test]
    fn a_reading_is_said_with_the_figures_that_count() {
        for (value, unit, words) in [
            (0.401_678_08, "%", "0.402 %"),
            (0.0, "count", "0"),
            (-50.0, "dB", "-50 dB"),
            (17.6, "s", "17.6 s"),
            (2014.5, "h", "2014 h"),
            (0.001_234_5, "mm", "0.00123 mm"),
            (250.0, "degC", "250 °C"),
        ] {
            assert_eq!(read_in_words(value, unit), words);
        }
    }
}
