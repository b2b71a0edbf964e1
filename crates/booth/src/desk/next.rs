//! What comes next in a fault: what is done before anything else, the step, or the end.

use super::{
    case::{OpenFault, ShowClock},
    request::{RequestLines, ruled_out_of, why},
    sheet::{Named, Odd, named},
    step::StepCard,
};
use faults::{
    advise::{Advice, Outcome, Referral},
    case::Belief,
};
use logbook::{
    booth::FaultDeed,
    fact::{FaultMark, PrintSort, RemedyResult},
};
use machine::{RunOn, Symptom};
use serde::Serialize;

/// Stop and make safe.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct MakeSafe {
    /// Why.
    pub why: Vec<String>,
    /// What to do at once, line by line.
    pub drill: Vec<String>,
    /// The drill's name.
    pub drill_name: String,
}

/// What to do with the hands now, while an audience waits.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct AtOnce {
    /// What to do, for each symptom.
    pub words: Vec<String>,
    /// How long it takes.
    pub seconds: f64,
    /// How far to go on, for the sake of the print, in words.
    pub go_on: String,
    /// The drill's lines, where there is one.
    pub drill: Vec<String>,
}

/// A remedy helped: what was it?
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct CloseWords {
    /// The remedy that did it.
    pub remedy: Named,
    /// What it may have been, the likeliest first.
    pub causes: Vec<Odd>,
}

/// What comes next.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[serde(rename_all = "kebab-case", tag = "do")]
pub enum NextStep {
    /// Before anything else: stop and make safe.
    MakeSafe(MakeSafe),
    /// With the show running: what is done at once.
    AtOnce(AtOnce),
    /// The next question, check or remedy.
    Step(Box<StepCard>),
    /// Nothing more that pays while the audience waits.
    Later {
        /// In words.
        words: String,
    },
    /// Pass it on.
    PassOn {
        /// Why, in a sentence.
        why: String,
        /// The request as it would be written.
        request: RequestLines,
        /// One was written already.
        written: bool,
    },
    /// A remedy helped: say what it was, and close.
    Close(CloseWords),
    /// It is closed.
    Closed {
        /// What it was, in words.
        cause: String,
        /// What mended it, in words.
        cure: String,
        /// When.
        on: jiff::civil::Date,
    },
    /// Nothing is known of what was noticed: pick a symptom.
    PickSymptom {
        /// In words.
        words: String,
    },
}

impl OpenFault<'_> {
    fn print_sort(&self) -> machine::PrintSort {
        match self.fault.print_sort {
            Some(PrintSort::Disposable) => machine::PrintSort::Disposable,
            Some(PrintSort::Lent) => machine::PrintSort::Lent,
            Some(PrintSort::Only) | None => machine::PrintSort::Only,
        }
    }

    /// How far to go on, for the sake of the print: the strictest word of all symptoms.
    fn run_on(&self) -> RunOn {
        let words = self.symptoms().map(|symptom| symptom.for_print.of(self.print_sort()));
        let strictness = |run_on: &RunOn| match run_on {
            RunOn::RunOn => 0,
            RunOn::ReelEnd => 1,
            RunOn::Stop => 2,
        };
        words.max_by_key(strictness).unwrap_or(RunOn::RunOn)
    }

    pub(super) fn next(&self, advice: &Advice) -> NextStep {
        if let Some((at, cause, cure, _)) = &self.fault.closed {
            return NextStep::Closed { cause: cause.clone(), cure: cure.clone(), on: at.date() };
        }
        let running = self.clock == ShowClock::ShowRunning;
        let print_in_danger = running && self.run_on() == RunOn::Stop;
        let safe = self.is_marked(FaultMark::MadeSafe);
        if let Outcome::MakeSafe { symptoms, .. } = &advice.outcome {
            return NextStep::MakeSafe(self.make_safe(symptoms.iter().map(faults::model::SymptomId::as_str)));
        }
        if let Outcome::Closed { causes, remedy } = &advice.outcome {
            let name = self
                .kind
                .trouble
                .remedy(remedy.as_str())
                .map_or(remedy.as_str(), |known| known.name.as_str());
            let causes = causes.iter().map(|belief| self.odd(belief)).collect();
            return NextStep::Close(CloseWords { remedy: named(remedy.as_str(), name), causes });
        }
        if print_in_danger && !safe {
            let stops =
                self.symptoms().filter(|symptom| symptom.for_print.of(self.print_sort()) == RunOn::Stop);
            return NextStep::MakeSafe(self.make_safe(stops.map(|symptom| symptom.id.as_str())));
        }
        if running && !self.is_marked(FaultMark::DoneAtOnce) && self.symptoms().next().is_some() {
            return NextStep::AtOnce(self.at_once());
        }
        match &advice.outcome {
            Outcome::Next(step) => NextStep::Step(Box::new(StepCard::of(self, step))),
            Outcome::Refer(referral) => self.pass_on(referral),
            Outcome::Later => NextStep::Later {
                words: "Nothing more that pays while the audience waits. Keep the picture on the screen; go on once it has gone.".to_owned(),
            },
            Outcome::NothingToGoOn | Outcome::MakeSafe { .. } | Outcome::Closed { .. } => NextStep::PickSymptom {
                words: "Nothing was noticed that this type of machine knows. Pick what you see, hear or smell.".to_owned(),
            },
        }
    }

    /// Returns the causes to offer when the fault is closed: once a remedy helped, those that it may have mended, the
    /// likeliest first; then all others that are in question.
    pub fn causes_to_close_with(&self) -> Vec<Odd> {
        let advice = self.advice();
        let mended = match &advice.outcome {
            Outcome::Closed { causes, .. } => causes.as_slice(),
            _ => &[],
        };
        let is_mended = |cause: &Belief| mended.iter().any(|known| known.cause == cause.cause);
        let others = advice.beliefs.causes.iter().filter(|belief| !is_mended(belief));
        mended.iter().chain(others).map(|belief| self.odd(belief)).collect()
    }

    /// Returns the remedies to offer when the fault is closed: those that were done, the last first, then those for the
    /// causes in question.
    pub fn remedies_to_close_with(&self) -> Vec<Named> {
        let trouble = &self.kind.trouble;
        let done = self.fault.steps.iter().rev().filter_map(|step| match &step.deed {
            FaultDeed::Tried { remedy, result, .. } if *result != RemedyResult::Skipped => {
                trouble.remedy(remedy.as_str())
            }
            _ => None,
        });
        let causes = self.beliefs().causes;
        let others = causes.iter().flat_map(|belief| trouble.remedies_of(belief.cause.as_str()));
        let mut offered: Vec<Named> = Vec::new();
        for remedy in done.chain(others) {
            if offered.iter().all(|known| known.id != remedy.id.as_str()) {
                offered.push(named(remedy.id.as_str(), &remedy.name));
            }
        }
        offered
    }

    fn make_safe<'s>(&self, symptoms: impl Iterator<Item = &'s str>) -> MakeSafe {
        let known: Vec<&Symptom> = symptoms.filter_map(|id| self.kind.trouble.symptom(id)).collect();
        let why = known.iter().map(|symptom| {
            let print =
                || format!("{}: stop for the sake of the print, {}.", symptom.name, self.print().taken_as);
            symptom.stop_now.clone().unwrap_or_else(print)
        });
        let drill = known.iter().find_map(|symptom| symptom.drill.as_ref());
        let drill = drill.and_then(|id| self.kind.trouble.drill(id.as_str()));
        let usual = || {
            vec![
                "Stop the machine, lamp off, house lights up.".to_owned(),
                "Withdraw the mains plug.".to_owned(),
            ]
        };
        MakeSafe {
            why: why.collect(),
            drill: drill.map_or_else(usual, |drill| drill.steps.clone()),
            drill_name: drill.map_or_else(|| "Stop".to_owned(), |drill| drill.name.clone()),
        }
    }

    fn at_once(&self) -> AtOnce {
        let symptoms: Vec<&Symptom> = self.symptoms().collect();
        let drill = symptoms.iter().find_map(|symptom| symptom.drill.as_ref());
        let drill = drill.and_then(|id| self.kind.trouble.drill(id.as_str()));
        let go_on = match self.run_on() {
            RunOn::RunOn => "Go on: the print comes to no harm.",
            RunOn::ReelEnd => "Go on to the end of the reel and no further.",
            RunOn::Stop => "Stop now, for the sake of the print.",
        };
        AtOnce {
            words: symptoms.iter().map(|symptom| symptom.during.words.clone()).collect(),
            seconds: symptoms.iter().map(|symptom| symptom.during.takes.seconds()).sum(),
            go_on: go_on.to_owned(),
            drill: drill.map_or_else(Vec::new, |drill| drill.steps.clone()),
        }
    }

    fn pass_on(&self, referral: &Referral) -> NextStep {
        NextStep::PassOn {
            why: why(Some(referral.passed)).to_owned(),
            request: self.lines(Some(referral.passed), &referral.likely, &ruled_out_of(referral)),
            written: !self.fault.requests.is_empty(),
        }
    }
}
