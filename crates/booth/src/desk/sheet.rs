//! The fault as the faces show it: what comes first, the next step, the odds, what moved them, what was done.

use super::{
    case::{OpenFault, ShowClock, entry_of},
    next::NextStep,
    step::StepCard,
};
use faults::{
    advise::Advice,
    case::{Aside, Belief, SetAside, Told, Why},
};
use logbook::{
    booth::FaultDeed,
    fact::{FaultMark, PrintSort},
    ids::{EntryId, PersonId},
};
use machine::Symptom;
use serde::Serialize;
use units::Probability;

/// Something with an id and a name.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct Named {
    /// Its id in the machine type.
    pub id: String,
    /// Its name.
    pub name: String,
}

/// What sort of print is in the machine.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct PrintWords {
    /// The sort, if somebody said so.
    pub sort: Option<PrintSort>,
    /// What the desk takes it for, in words.
    pub taken_as: &'static str,
}

/// A cause with its odds.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Odd {
    /// The cause.
    pub cause: String,
    /// Its name.
    pub name: String,
    /// Its chance now.
    pub chance: Probability,
    /// Its chance in words.
    pub in_words: String,
    /// The part that is at fault, if it is one.
    pub part: Option<String>,
    /// To whom it is passed on, if an operator does not mend it.
    pub beyond: Option<&'static str>,
}

/// How one cause moved.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Shifted {
    /// The cause.
    pub cause: String,
    /// Its name.
    pub name: String,
    /// Its chance before.
    pub before: Probability,
    /// Its chance after.
    pub after: Probability,
}

/// What one circumstance or answer changed.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Change {
    /// The circumstance or answer, in words.
    pub words: String,
    /// The entry that tells it.
    pub entry: Option<EntryId>,
    /// The causes that it moved, the furthest first.
    pub shifts: Vec<Shifted>,
    /// The causes that it ruled out.
    pub ruled_out: Vec<Named>,
}

/// A step that was done.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct DoneStep {
    /// The entry, for taking it back.
    pub entry: EntryId,
    /// When.
    pub at: String,
    /// Who.
    pub by: PersonId,
    /// In words.
    pub words: String,
    /// What was added in words.
    pub note: String,
}

/// All that the faces show of a fault.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct FaultSheet {
    /// The fault.
    pub fault: String,
    /// The machine.
    pub machine: String,
    /// What people call the machine.
    pub machine_name: String,
    /// What was met, in words.
    pub words: String,
    /// When it was opened.
    pub opened: String,
    /// Who opened it.
    pub opened_by: PersonId,
    /// Which clock runs.
    pub clock: ShowClock,
    /// The print.
    pub print: PrintWords,
    /// What was noticed.
    pub symptoms: Vec<Named>,
    /// What comes next.
    pub next: NextStep,
    /// Other steps that one may take, the cheapest plan first.
    pub others: Vec<StepCard>,
    /// The odds, the likeliest first.
    pub odds: Vec<Odd>,
    /// The chance that it is none of the listed causes.
    pub unlisted: Probability,
    /// What it is not: somebody looked, or the remedy did not help.
    pub ruled_out: Vec<Named>,
    /// What is next to impossible by what was seen elsewhere, though nobody looked.
    pub unlikely: Vec<Named>,
    /// What changed the odds, circumstance by circumstance and answer by answer; only what moved something.
    pub changed: Vec<Change>,
    /// What was done, in order.
    pub done: Vec<DoneStep>,
    /// What is not counted, and why.
    pub set_aside: Vec<String>,
    /// What was spent so far, in minutes of an operator's time after the show.
    pub spent_minutes: f64,
    /// What is expected to be spent from here.
    pub still_expected_minutes: f64,
    /// How many closed faults the odds learnt from.
    pub learnt_from: usize,
    /// What to bear in mind.
    pub caveats: Vec<String>,
}

/// A cause below this is shown as ruled out.
const RULED_OUT: f64 = 0.01;

/// A chance with the cause's name, for a line of text.
pub(super) fn odds_words(desk: &OpenFault<'_>, belief: &Belief) -> String {
    format!("{}: {}", desk.cause_name(belief.cause.as_str()), belief.now.in_words())
}

impl OpenFault<'_> {
    /// Returns all that the faces show of the fault. The advice is worked out anew; what each answer changed is, too.
    pub fn sheet(&self) -> FaultSheet {
        let advice = self.advice();
        let causes = &advice.beliefs.causes;
        let (out, odds): (Vec<&Belief>, Vec<&Belief>) =
            causes.iter().partition(|one| one.now.value() < RULED_OUT);
        let (out, unlikely): (Vec<&Belief>, Vec<&Belief>) =
            out.into_iter().partition(|belief| self.was_looked_at(belief.cause.as_str()));
        let next = self.next(&advice);
        let shows_steps = matches!(next, NextStep::Step(_) | NextStep::AtOnce(_));
        let others = if shows_steps { advice.others.as_slice() } else { &[] };
        FaultSheet {
            fault: self.id.to_string(),
            machine: self.machine.to_string(),
            machine_name: self.about.name.clone(),
            words: self.fault.words.clone(),
            opened: self.fault.opened.0.local().strftime("%Y-%m-%d %H:%M").to_string(),
            opened_by: self.fault.by.clone(),
            clock: self.clock,
            print: self.print(),
            symptoms: self.symptoms().map(|symptom| named(symptom.id.as_str(), &symptom.name)).collect(),
            others: others.iter().map(|step| StepCard::of(self, step)).collect(),
            next,
            odds: odds.into_iter().map(|belief| self.odd(belief)).collect(),
            unlisted: advice.beliefs.unlisted,
            ruled_out: out.into_iter().map(|belief| self.named_cause(belief.cause.as_str())).collect(),
            unlikely: unlikely.into_iter().map(|belief| self.named_cause(belief.cause.as_str())).collect(),
            changed: self.changed(),
            done: self.fault.steps.iter().map(|step| self.done(step)).collect(),
            set_aside: self.set_aside(&advice),
            spent_minutes: advice.spent,
            still_expected_minutes: advice.still_expected,
            learnt_from: self.learnt.cases,
            caveats: self.caveats(&advice),
        }
    }

    pub(super) fn symptoms(&self) -> impl Iterator<Item = &Symptom> {
        super::prognosis::noticed(self.kind, self.fault)
    }

    /// An unknown print is taken as the only one: nothing is risked for want of a word.
    pub(super) fn print(&self) -> PrintWords {
        let taken_as = match self.fault.print_sort {
            Some(PrintSort::Disposable) => "one of our own that may be lost",
            Some(PrintSort::Lent) => "a lender's print",
            Some(PrintSort::Only) => "the only one",
            None => "the only one, for nobody has said",
        };
        PrintWords { sort: self.fault.print_sort, taken_as }
    }

    pub(super) fn odd(&self, belief: &Belief) -> Odd {
        let id = belief.cause.as_str();
        let cause = self.kind.trouble.cause(id);
        let part = cause.and_then(|cause| cause.part.as_ref()).map(ToString::to_string);
        let beyond = cause.and_then(|cause| cause.refer.as_ref()).map(|refer| refer.to.in_words());
        Odd {
            cause: id.to_owned(),
            name: self.cause_name(id),
            chance: belief.now,
            in_words: belief.now.in_words(),
            part,
            beyond,
        }
    }

    fn named_cause(&self, id: &str) -> Named {
        Named { id: id.to_owned(), name: self.cause_name(id) }
    }

    fn changed(&self) -> Vec<Change> {
        let told = self.changes();
        told.into_iter().filter(|told| !told.shifts.is_empty()).map(|told| self.change(&told)).collect()
    }

    fn change(&self, told: &Told) -> Change {
        let shifts = told.shifts.iter().map(|shift| Shifted {
            cause: shift.cause.to_string(),
            name: self.cause_name(shift.cause.as_str()),
            before: shift.before,
            after: shift.after,
        });
        Change {
            words: self.of_aside(&told.what),
            entry: match told.what {
                Aside::Context(place) => self.circumstances.get(place).and_then(|one| one.entry),
                Aside::Answer(place) => entry_of(self, place),
                Aside::Symptom(_) => Some(self.fault.opened.1),
            },
            shifts: shifts.collect(),
            ruled_out: told.ruled_out.iter().map(|cause| self.named_cause(cause.as_str())).collect(),
        }
    }

    /// What stands at a place of the case, in words.
    fn of_aside(&self, aside: &Aside) -> String {
        match aside {
            Aside::Symptom(place) => {
                let id = self.fault.symptoms.get(*place).map_or("", |id| id.as_str());
                self.kind.trouble.symptom(id).map_or_else(|| id.to_owned(), |symptom| symptom.name.clone())
            }
            Aside::Context(place) => {
                self.circumstances.get(*place).map_or_else(String::new, |one| one.words.clone())
            }
            Aside::Answer(place) => {
                let deed = self.answered_in.get(*place).map(|step| &step.deed);
                deed.map_or_else(String::new, |deed| self.words_of(deed))
            }
        }
    }

    /// What is not counted, each said once.
    fn set_aside(&self, advice: &Advice) -> Vec<String> {
        let mut said: Vec<String> = Vec::new();
        for words in advice.beliefs.set_aside.iter().map(|aside| self.aside(aside)) {
            if !said.contains(&words) {
                said.push(words);
            }
        }
        said
    }

    fn aside(&self, aside: &SetAside) -> String {
        let what = self.of_aside(&aside.what);
        match &aside.why {
            Why::NotKnown { id } => {
                format!("`{id}` is not counted: the machine type does not know it any more")
            }
            Why::AnsweredAgain => format!("“{what}” is not counted: it was answered again later"),
            Why::Contradicts { with } => {
                let with: Vec<String> =
                    with.iter().map(|other| format!("“{}”", self.of_aside(other))).collect();
                format!("“{what}” is not counted: it cannot be so together with {}", with.join(", "))
            }
        }
    }

    fn words_of(&self, deed: &FaultDeed) -> String {
        if let Some(words) = self.deed_words(deed) {
            return words;
        }
        let FaultDeed::Marked { mark, to } = deed else { return String::new() };
        let to = to.as_ref().map(|person| {
            let name = self.booth.people.get(person).map_or(person.as_str(), |known| known.name.as_str());
            format!(" to {name}")
        });
        let said = match mark {
            FaultMark::MadeSafe => "Stopped and made safe",
            FaultMark::DoneAtOnce => "What is done at once is done",
            FaultMark::ShowRuns => "An audience waits",
            FaultMark::ShowOver => "The audience has gone",
            FaultMark::HandedOver => "Handed over",
        };
        format!("{said}{}", to.unwrap_or_default())
    }

    fn done(&self, step: &logbook::booth::FaultStep) -> DoneStep {
        DoneStep {
            entry: step.entry,
            at: step.at.local().strftime("%Y-%m-%d %H:%M").to_string(),
            by: step.by.clone(),
            words: self.words_of(&step.deed),
            note: step.note.clone(),
        }
    }

    fn caveats(&self, advice: &Advice) -> Vec<String> {
        let mut caveats = Vec::new();
        caveats.extend(
            self.broken_type.map(|broken| format!("The file of this type cannot be read. {broken}.")),
        );
        if self.learnt.cases == 0 {
            caveats.push(self.nothing_learnt());
        }
        if advice.beliefs.approximate {
            caveats.push(
                "Too much bears on this case to reckon with more than three causes at once.".to_owned(),
            );
        }
        let endangers = self.symptoms().any(|symptom| symptom.for_print.endangers_film());
        if self.fault.print_sort.is_none() && endangers {
            caveats.push("Nobody said what sort of print it is; it is taken as the only one.".to_owned());
        }
        let told = self.fault.symptoms.iter().filter(|id| self.kind.trouble.symptom(id.as_str()).is_none());
        caveats.extend(told.map(|id| format!("The machine type does not know `{id}`: it is not counted.")));
        caveats.push("Local codes and licensed practice come first.".to_owned());
        caveats
    }
}

pub(super) fn named(id: &str, name: &str) -> Named {
    Named { id: id.to_owned(), name: name.to_owned() }
}
