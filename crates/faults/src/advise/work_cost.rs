//! What a row of checks and remedies costs, one after the other, with all preparation.

use super::{
    machine::{Stand, Ways},
    setting::Setting,
};
use crate::{
    case::{Answer, Reply, Tried},
    model::{Check, MachineState, Remedy, TroubleModel},
};

/// Work done so far, and how the machine stands after it.
#[derive(Debug, Clone)]
pub(crate) struct Worked {
    ways: Ways,
    stand: Stand,
    cost: f64,
}

impl Worked {
    pub(crate) fn new(model: &TroubleModel, setting: &Setting) -> Self {
        let ways = Ways::new(&model.parts().preparation, setting.costs);
        Self { ways, stand: Stand { state: setting.start, open: 0 }, cost: 0.0 }
    }

    /// In minutes of an operator's time.
    pub(crate) fn cost(&self) -> f64 {
        self.cost
    }

    pub(crate) fn check(&mut self, check: &Check) {
        let (cost, stand) = self.ways.work(self.stand, self.ways.need_of_check(check));
        (self.cost, self.stand) = (self.cost + cost, stand);
    }

    /// A remedy, without its test.
    fn untested(&mut self, remedy: &Remedy) {
        let (cost, stand) = self.ways.work(self.stand, self.ways.need(&remedy.work));
        (self.cost, self.stand) = (self.cost + cost, stand);
    }

    /// A remedy and its test.
    pub(crate) fn remedy(&mut self, remedy: &Remedy) {
        self.untested(remedy);
        let (cost, stand) = self.ways.test(self.stand);
        (self.cost, self.stand) = (self.cost + cost, stand);
    }
}

/// What was spent in a case so far, and how the machine stands.
pub(crate) fn stand_after(model: &TroubleModel, answers: &[Answer], setting: &Setting) -> (f64, Stand) {
    let mut worked = Worked::new(model, setting);
    for answer in answers {
        match answer {
            Answer::Checked { check, reply } if *reply != Reply::Skip => {
                if let Some(check) = model.check(check) {
                    worked.check(check);
                }
            }
            Answer::Tried { remedy, result } if *result != Tried::Skip => {
                match (model.remedy(remedy), result) {
                    (Some(remedy), Tried::CantTell) => worked.untested(remedy),
                    (Some(remedy), _) => worked.remedy(remedy),
                    (None, _) => {}
                }
            }
            Answer::MadeSafe => worked.stand.state = worked.stand.state.max(MachineState::Stopped),
            _ => {}
        }
    }
    (worked.cost, worked.stand)
}
