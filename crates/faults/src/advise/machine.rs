//! How the machine stands, and what it takes to bring it to where work can be done.

use super::setting::Costs;
use crate::model::{AccessId, Check, CheckKind, MachineState, Preparation, Work};
use serde::Serialize;
use units::Seconds;

/// How the machine stands between two steps.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(crate) struct Stand {
    pub(crate) state: MachineState,
    /// Bit n: the n-th access is open.
    pub(crate) open: u64,
}

/// One thing to do before the work itself.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Preparing {
    /// What.
    pub what: Prepare,
    /// How long it takes.
    pub time: Seconds,
}

/// What is done to prepare.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Prepare {
    /// Stop the machine.
    Stop,
    /// Unplug it.
    Unplug,
    /// Let it cool.
    Cool,
    /// Open a place.
    Open(AccessId),
    /// Close a place.
    Close(AccessId),
    /// Plug it in.
    PlugIn,
    /// Start it with film in.
    Start,
}

/// What some work needs, with its access as a bit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Need {
    /// None: a question, which is answered however the machine stands.
    pub(crate) state: Option<MachineState>,
    pub(crate) access: u64,
    /// What the work itself costs, in minutes.
    pub(crate) minutes: f64,
}

/// The times of a model, in minutes, and what a minute costs.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Ways {
    preparation: Preparation,
    costs: Costs,
}

impl Ways {
    pub(crate) fn new(preparation: &Preparation, costs: Costs) -> Self {
        Self { preparation: preparation.clone(), costs }
    }

    /// What a check needs; a question about what was noticed needs nothing but somebody who was there.
    pub(crate) fn need_of_check(&self, check: &Check) -> Need {
        match check.kind {
            CheckKind::Question => Need { state: None, access: 0, minutes: in_minutes(check.work.time) },
            CheckKind::Swap | CheckKind::Look | CheckKind::Measure => self.need(&check.work),
        }
    }

    pub(crate) fn need(&self, work: &Work) -> Need {
        let access = self.preparation.access.iter().position(|known| Some(&known.id) == work.access.as_ref());
        Need {
            state: Some(work.state),
            access: access.map_or(0, |place| 1 << place.min(63)),
            minutes: in_minutes(work.time),
        }
    }

    /// The cost of preparing and doing some work, and how the machine stands then.
    pub(crate) fn work(&self, stand: Stand, need: Need) -> (f64, Stand) {
        let (prepared, stand) =
            need.state.map_or((0.0, stand), |state| self.bring(stand, state, need.access));
        let rate = if stand.state == MachineState::Running {
            self.costs.running_per_minute
        } else {
            self.costs.halted_per_minute
        };
        (prepared + need.minutes * rate, stand)
    }

    /// The cost of running the machine to see whether the symptom is gone.
    pub(crate) fn test(&self, stand: Stand) -> (f64, Stand) {
        self.bring(stand, MachineState::Running, 0)
    }

    fn bring(&self, stand: Stand, state: MachineState, access: u64) -> (f64, Stand) {
        let mut minutes = 0.0;
        let after = self.walk(stand, state, access, &mut |_, time| minutes += in_minutes(time));
        // Whatever brings a machine down or up keeps the screen dark.
        (minutes * self.costs.halted_per_minute, after)
    }

    /// What is to be done before some work, in order.
    pub(crate) fn preparing(&self, stand: Stand, need: Need) -> (Vec<Preparing>, Stand) {
        let mut list = Vec::new();
        let Some(state) = need.state else { return (list, stand) };
        let after = self.walk(stand, state, need.access, &mut |what, time| {
            list.push(Preparing { what, time });
        });
        (list, after)
    }

    /// What is to be done after a remedy to see whether it helped.
    pub(crate) fn testing(&self, stand: Stand) -> (Vec<Preparing>, Stand) {
        self.preparing(stand, Need { state: Some(MachineState::Running), access: 0, minutes: 0.0 })
    }

    fn walk(
        &self,
        stand: Stand,
        state: MachineState,
        access: u64,
        step: &mut dyn FnMut(Prepare, Seconds),
    ) -> Stand {
        let mut now = stand;
        if state == MachineState::Running && now.state > MachineState::Running {
            self.close(&mut now, access, step);
            if now.state >= MachineState::Unplugged {
                step(Prepare::PlugIn, self.preparation.plug_in);
            }
            step(Prepare::Start, self.preparation.start);
            now.state = MachineState::Running;
        }
        let down = [
            (MachineState::Stopped, Prepare::Stop, self.preparation.stop),
            (MachineState::Unplugged, Prepare::Unplug, self.preparation.unplug),
            (MachineState::Cooled, Prepare::Cool, self.preparation.cool),
        ];
        for (to, what, time) in down {
            if now.state < to && to <= state {
                step(what, time);
                now.state = to;
            }
        }
        if access & !now.open != 0 {
            let place = access.trailing_zeros() as usize;
            let opened = &self.preparation.access[place];
            step(Prepare::Open(opened.id.clone()), opened.open);
            now.open |= access;
        }
        now
    }

    fn close(&self, now: &mut Stand, but: u64, step: &mut dyn FnMut(Prepare, Seconds)) {
        for (place, access) in self.preparation.access.iter().enumerate() {
            let bit = 1 << place.min(63);
            if now.open & bit & !but != 0 {
                step(Prepare::Close(access.id.clone()), access.close);
                now.open &= !bit;
            }
        }
    }
}

fn in_minutes(time: Seconds) -> f64 {
    time.seconds() / 60.0
}
