//! A case worked out against a model: what was found, when between the remedies, and what it says of which cause.

use super::{Answer, Aside, Case, Reply, SetAside, Tried, Why};
use crate::model::{CheckKind, SymptomId, TroubleModel};
use std::collections::{BTreeMap, BTreeSet};
use units::Probability;

/// Context factors are held between 1 over this and this.
const STRONGEST_FACTOR: f64 = 1000.0;

/// Where a finding comes from, in the order in which they are trusted: the later, the more.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(crate) enum Source {
    /// An answer, with how far its kind is trusted.
    Answer(CheckKind, usize),
    /// Another symptom that was looked for.
    Noticed(usize),
    /// The symptom at this place of the case.
    Symptom(usize),
}

impl Source {
    pub(crate) fn aside(self) -> Aside {
        match self {
            Self::Answer(_, place) | Self::Noticed(place) => Aside::Answer(place),
            Self::Symptom(place) => Aside::Symptom(place),
        }
    }
}

/// Something with a yes or a no that causes bring about (`ups`, noisy-OR) or keep away (`downs`).
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Finding {
    pub(crate) source: Source,
    /// After so many remedies.
    pub(crate) time: usize,
    pub(crate) yes: bool,
    /// The chance of a yes for no listed reason.
    pub(crate) base: f64,
    pub(crate) ups: Vec<(usize, f64)>,
    pub(crate) downs: Vec<(usize, f64)>,
}

impl Finding {
    /// How likely it is when these causes, and no others, are there.
    pub(crate) fn likelihood(&self, there: impl Fn(usize) -> bool) -> f64 {
        let yes = yes_of(&self.ups, &self.downs, self.base, there);
        if self.yes { yes } else { 1.0 - yes }
    }
}

fn yes_of(ups: &[(usize, f64)], downs: &[(usize, f64)], base: f64, there: impl Fn(usize) -> bool) -> f64 {
    let quiet = |causes: &[(usize, f64)]| -> f64 {
        causes.iter().filter(|(cause, _)| there(*cause)).map(|(_, strength)| 1.0 - strength).product()
    };
    (1.0 - (1.0 - base) * quiet(ups)) * quiet(downs)
}

/// The chance of a yes when these causes, and no others, are there.
pub(crate) fn yes_chance(
    answers: impl Iterator<Item = (usize, f64)>,
    otherwise: f64,
    there: impl Fn(usize) -> bool,
) -> f64 {
    let (ups, downs) = split(answers, otherwise);
    yes_of(&ups, &downs, otherwise, there)
}

/// A cause, and how strongly it acts.
pub(crate) type Strength = (usize, f64);

/// Splits chances of a yes into what brings it about and what keeps it away, so that each alone gives its chance.
///
/// With `otherwise` = o a cause of chance y > o is a link of strength 1 − (1−y)/(1−o), and one of y < o keeps the yes
/// away with strength 1 − y/o. Several at once act independently: noisy-OR, then noisy-AND.
pub(crate) fn split(
    answers: impl Iterator<Item = (usize, f64)>,
    otherwise: f64,
) -> (Vec<Strength>, Vec<Strength>) {
    let (mut ups, mut downs) = (Vec::new(), Vec::new());
    for (cause, yes) in answers {
        if yes > otherwise {
            ups.push((cause, 1.0 - (1.0 - yes) / (1.0 - otherwise)));
        } else if yes < otherwise {
            downs.push((cause, 1.0 - yes / otherwise));
        }
    }
    (ups, downs)
}

/// A chance of a yes, with the slips of whoever answers mixed in.
pub(crate) fn with_slips(yes: Probability, slip: Probability) -> f64 {
    slip.value() + (1.0 - 2.0 * slip.value()) * yes.value()
}

/// One remedy that was done.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Done {
    /// The place of the remedy in the model.
    pub(crate) remedy: usize,
    /// The causes that it may have cured, with the chance.
    pub(crate) cures: Vec<(usize, f64)>,
}

/// A case worked out against a model.
///
/// Causes are numbered as in the model; behind them comes, for each symptom that was noticed, one more: whatever else
/// may bring it about (the leak).
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Situation {
    pub(crate) n_listed: usize,
    pub(crate) priors: Vec<f64>,
    /// The symptoms that count, by their place in the case, with their links and their unlisted cause.
    pub(crate) symptoms: Vec<Vec<(usize, f64)>>,
    pub(crate) symptom_ids: Vec<SymptomId>,
    pub(crate) done: Vec<Done>,
    pub(crate) findings: Vec<Finding>,
    pub(crate) set_aside: Vec<SetAside>,
    /// Checks and remedies that are not asked again, by name.
    pub(crate) used_checks: BTreeSet<String>,
    pub(crate) used_remedies: BTreeSet<String>,
    /// The last remedy did it.
    pub(crate) fixed: bool,
}

impl Situation {
    pub(crate) fn of(model: &TroubleModel, case: &Case, slip: Probability) -> Self {
        let mut situation = Self {
            n_listed: model.causes().len(),
            priors: model.causes().iter().map(|cause| cause.prior.value()).collect(),
            symptoms: Vec::new(),
            symptom_ids: Vec::new(),
            done: Vec::new(),
            findings: Vec::new(),
            set_aside: Vec::new(),
            used_checks: BTreeSet::new(),
            used_remedies: BTreeSet::new(),
            fixed: false,
        };
        situation.enter_context(model, case);
        let mut noticed = situation.enter_symptoms(model, case);
        situation.enter_answers(model, case, slip, &mut noticed);
        situation.findings.extend(noticed);
        situation
    }

    fn not_known(&mut self, what: Aside, id: &impl ToString) {
        self.set_aside.push(SetAside { what, why: Why::NotKnown { id: id.to_string() } });
    }

    fn enter_context(&mut self, model: &TroubleModel, case: &Case) {
        for (place, context) in case.context.iter().enumerate() {
            match model.cause_place(&context.cause) {
                Some(cause) => self.priors[cause] = scaled(self.priors[cause], context.factor),
                None => self.not_known(Aside::Context(place), &context.cause),
            }
        }
    }

    /// Enters the symptoms, each with its unlisted cause; returns them as findings, whose time is still to move on.
    fn enter_symptoms(&mut self, model: &TroubleModel, case: &Case) -> Vec<Finding> {
        let mut noticed = Vec::new();
        for (place, id) in case.symptoms.iter().enumerate() {
            if self.symptom_ids.contains(id) {
                continue;
            }
            if model.symptom(id).is_none() {
                self.not_known(Aside::Symptom(place), id);
                continue;
            }
            noticed.push(self.symptom(model, id, Source::Symptom(place)));
        }
        noticed
    }

    /// A symptom that is there: it stays in question until it is gone.
    fn symptom(&mut self, model: &TroubleModel, id: &SymptomId, source: Source) -> Finding {
        let symptom = model.symptom(id).expect("looked up before");
        let mut ups: Vec<(usize, f64)> =
            symptom.links.iter().map(|link| (model.known(&link.cause), link.strength.value())).collect();
        if symptom.leak > Probability::NEVER {
            ups.push((self.priors.len(), 1.0));
            self.priors.push(symptom.leak.value());
        }
        self.symptoms.push(ups.clone());
        self.symptom_ids.push(id.clone());
        Finding { source, time: self.done.len(), yes: true, base: 0.0, ups, downs: Vec::new() }
    }

    fn enter_answers(
        &mut self,
        model: &TroubleModel,
        case: &Case,
        slip: Probability,
        noticed: &mut Vec<Finding>,
    ) {
        // The last answer to each check, with the number of remedies done by then.
        let mut last: BTreeMap<&str, (usize, usize)> = BTreeMap::new();
        for (place, answer) in case.answers.iter().enumerate() {
            match answer {
                Answer::Checked { check, reply } => {
                    let Some(known) = model.check(check) else {
                        self.not_known(Aside::Answer(place), check);
                        continue;
                    };
                    self.used_checks.insert(check.to_string());
                    if !matches!(reply, Reply::Yes | Reply::No) {
                        continue;
                    }
                    if let Some((before, time)) = last.insert(check.as_str(), (place, self.done.len()))
                        && time == self.done.len()
                    {
                        let what = Aside::Answer(before);
                        self.findings.retain(|finding| finding.source.aside() != what);
                        self.set_aside.push(SetAside { what, why: Why::AnsweredAgain });
                    }
                    let answers =
                        known.answers.iter().map(|one| (model.known(&one.cause), with_slips(one.yes, slip)));
                    let base = with_slips(known.otherwise, slip);
                    let (ups, downs) = split(answers, base);
                    self.findings.push(Finding {
                        source: Source::Answer(known.kind, place),
                        time: self.done.len(),
                        yes: *reply == Reply::Yes,
                        base,
                        ups,
                        downs,
                    });
                }
                Answer::Tried { remedy, result } => {
                    if model.remedy(remedy).is_none() {
                        self.not_known(Aside::Answer(place), remedy);
                        continue;
                    }
                    self.used_remedies.insert(remedy.to_string());
                    if *result != Tried::Skip {
                        let last = place + 1 == case.answers.len();
                        self.try_remedy(model, remedy.as_str(), *result, last, noticed);
                    }
                }
                Answer::Noticed { symptom, there } => {
                    self.notice(model, place, symptom, *there, noticed);
                }
                Answer::MadeSafe => {}
            }
        }
    }

    fn try_remedy(
        &mut self,
        model: &TroubleModel,
        remedy: &str,
        result: Tried,
        last: bool,
        noticed: &mut [Finding],
    ) {
        let place = model.remedies().iter().position(|known| known.id.as_str() == remedy);
        let place = place.expect("looked up before");
        if result == Tried::Fixed && last {
            // Which cause it was is asked with the remedy still to come: see the beliefs of a closed case.
            self.fixed = true;
        }
        let cures = model.remedies()[place].cures.iter();
        let cures = cures.map(|cure| (model.known(&cure.cause), cure.success.value())).collect();
        self.done.push(Done { remedy: place, cures });
        if result != Tried::CantTell && !self.fixed {
            // Still there: then it was there all the time, and only the latest look counts.
            for finding in noticed {
                finding.time = self.done.len();
            }
        }
    }

    fn notice(
        &mut self,
        model: &TroubleModel,
        place: usize,
        id: &SymptomId,
        there: bool,
        noticed: &mut Vec<Finding>,
    ) {
        let Some(symptom) = model.symptom(id) else {
            self.not_known(Aside::Answer(place), id);
            return;
        };
        let source = Source::Noticed(place);
        if there {
            if !self.symptom_ids.contains(id) {
                let finding = self.symptom(model, id, source);
                noticed.push(finding);
            }
            return;
        }
        let links = symptom.links.iter().map(|link| (model.known(&link.cause), link.strength.value()));
        self.findings.push(Finding {
            source,
            time: self.done.len(),
            yes: false,
            base: symptom.leak.value(),
            ups: links.collect(),
            downs: Vec::new(),
        });
    }
}

/// Multiplies the odds of a chance.
fn scaled(chance: f64, factor: f64) -> f64 {
    let factor = if factor.is_nan() { 1.0 } else { factor.clamp(1.0 / STRONGEST_FACTOR, STRONGEST_FACTOR) };
    chance * factor / (1.0 - chance + chance * factor)
}
