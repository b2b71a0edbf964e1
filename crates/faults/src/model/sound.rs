//! Is a model sound? Everything that is wrong, at once.

use super::parts::{ModelParts, Work};
use std::collections::{HashMap, HashSet};
use units::Seconds;

/// What can be wrong with a model.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ModelError {
    /// Two things of one kind with one name.
    #[error("there are two {what} named `{id}`")]
    Twice {
        /// Causes, symptoms, checks, remedies or accesses.
        what: &'static str,
        /// The name.
        id: String,
    },
    /// A name that nothing has.
    #[error("{whose} names the {what} `{id}`, which does not exist")]
    Unknown {
        /// What names it.
        whose: String,
        /// What it should be.
        what: &'static str,
        /// The name.
        id: String,
    },
    /// One thing named twice in a list.
    #[error("{whose} names `{id}` twice")]
    NamedTwice {
        /// What names it.
        whose: String,
        /// The name.
        id: String,
    },
    /// A list that may not be empty.
    #[error("{whose} names no cause")]
    NoCause {
        /// What names none.
        whose: String,
    },
    /// A cause that no symptom leads to.
    #[error("no symptom leads to the cause `{id}`, so it could never be found")]
    Unreachable {
        /// The cause.
        id: String,
    },
    /// A cause that is impossible or certain before anything is known.
    #[error("the prior of the cause `{id}` is {prior}; it must lie between 0 and 1, without either")]
    Prior {
        /// The cause.
        id: String,
        /// Its prior.
        prior: f64,
    },
    /// A time that cannot be.
    #[error("{whose} takes {seconds} s, which cannot be")]
    Time {
        /// What takes it.
        whose: String,
        /// The time.
        seconds: f64,
    },
    /// A check that answers all causes alike.
    #[error("the check `{id}` answers yes as often with its causes as without, so it tells nothing")]
    TellsNothing {
        /// The check.
        id: String,
    },
}

pub(super) fn errors(parts: &ModelParts) -> Vec<ModelError> {
    let mut faults = Faults::new(parts);
    faults.names();
    faults.causes();
    faults.symptoms();
    faults.checks();
    faults.remedies();
    faults.preparation();
    faults.found
}

struct Faults<'a> {
    parts: &'a ModelParts,
    causes: HashSet<&'a str>,
    found: Vec<ModelError>,
}

impl<'a> Faults<'a> {
    fn new(parts: &'a ModelParts) -> Self {
        let causes = parts.causes.iter().map(|cause| cause.id.as_str()).collect();
        Self { parts, causes, found: Vec::new() }
    }

    fn names(&mut self) {
        let parts = self.parts;
        self.once("causes", parts.causes.iter().map(|cause| cause.id.as_str()));
        self.once("symptoms", parts.symptoms.iter().map(|symptom| symptom.id.as_str()));
        self.once("checks", parts.checks.iter().map(|check| check.id.as_str()));
        self.once("remedies", parts.remedies.iter().map(|remedy| remedy.id.as_str()));
        self.once("accesses", parts.preparation.access.iter().map(|access| access.id.as_str()));
    }

    fn once<'b>(&mut self, what: &'static str, ids: impl Iterator<Item = &'b str>) {
        let mut met = HashMap::new();
        for id in ids {
            *met.entry(id).or_insert(0) += 1;
        }
        let mut twice: Vec<&str> = met.into_iter().filter(|&(_, n)| n > 1).map(|(id, _)| id).collect();
        twice.sort_unstable();
        self.found.extend(twice.into_iter().map(|id| ModelError::Twice { what, id: id.to_owned() }));
    }

    fn causes(&mut self) {
        let reached: HashSet<&str> = self
            .parts
            .symptoms
            .iter()
            .flat_map(|symptom| symptom.links.iter().map(|link| link.cause.as_str()))
            .collect();
        for cause in &self.parts.causes {
            let id = cause.id.to_string();
            let prior = cause.prior.value();
            if prior <= 0.0 || prior >= 1.0 {
                self.found.push(ModelError::Prior { id: id.clone(), prior });
            }
            if !reached.contains(cause.id.as_str()) {
                self.found.push(ModelError::Unreachable { id });
            }
        }
    }

    /// A list of causes: not empty, all known, none twice.
    fn listed<'b>(&mut self, whose: &str, causes: impl Iterator<Item = &'b str>) {
        let mut met = HashSet::new();
        for id in causes {
            if !self.causes.contains(id) {
                let (whose, id) = (whose.to_owned(), id.to_owned());
                self.found.push(ModelError::Unknown { whose, what: "cause", id });
            } else if !met.insert(id) {
                self.found.push(ModelError::NamedTwice { whose: whose.to_owned(), id: id.to_owned() });
            }
        }
        if met.is_empty() {
            self.found.push(ModelError::NoCause { whose: whose.to_owned() });
        }
    }

    fn symptoms(&mut self) {
        for symptom in &self.parts.symptoms {
            let whose = format!("the symptom `{}`", symptom.id);
            self.listed(&whose, symptom.links.iter().map(|link| link.cause.as_str()));
        }
    }

    fn checks(&mut self) {
        for check in &self.parts.checks {
            let whose = format!("the check `{}`", check.id);
            self.listed(&whose, check.answers.iter().map(|answers| answers.cause.as_str()));
            self.work(&whose, &check.work);
            if check.answers.iter().all(|answers| answers.yes == check.otherwise) {
                self.found.push(ModelError::TellsNothing { id: check.id.to_string() });
            }
            for symptom in &check.about {
                if !self.parts.symptoms.iter().any(|known| known.id == *symptom) {
                    let (whose, id) = (whose.clone(), symptom.to_string());
                    self.found.push(ModelError::Unknown { whose, what: "symptom", id });
                }
            }
        }
    }

    fn remedies(&mut self) {
        for remedy in &self.parts.remedies {
            let whose = format!("the remedy `{}`", remedy.id);
            self.listed(&whose, remedy.cures.iter().map(|cure| cure.cause.as_str()));
            self.work(&whose, &remedy.work);
        }
    }

    fn work(&mut self, whose: &str, work: &Work) {
        self.time(whose, work.time);
        if let Some(access) = &work.access
            && !self.parts.preparation.access.iter().any(|known| known.id == *access)
        {
            let (whose, id) = (whose.to_owned(), access.to_string());
            self.found.push(ModelError::Unknown { whose, what: "access", id });
        }
    }

    fn preparation(&mut self) {
        let preparation = &self.parts.preparation;
        for (whose, time) in [
            ("stopping", preparation.stop),
            ("unplugging", preparation.unplug),
            ("cooling", preparation.cool),
            ("plugging in", preparation.plug_in),
            ("starting", preparation.start),
        ] {
            self.time(whose, time);
        }
        for access in &preparation.access {
            self.time(&format!("opening `{}`", access.id), access.open);
            self.time(&format!("closing `{}`", access.id), access.close);
        }
    }

    fn time(&mut self, whose: &str, time: Seconds) {
        let seconds = time.seconds();
        if !(seconds.is_finite() && seconds >= 0.0) {
            self.found.push(ModelError::Time { whose: whose.to_owned(), seconds });
        }
    }
}
