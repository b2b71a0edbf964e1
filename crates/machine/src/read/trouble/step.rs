//! What a check and a remedy have in common: hands come near parts, in a state, behind something that stands open.

use crate::care::MachineState;
use crate::id::AccessId;
use crate::part::{Caution, Danger, Hand, Part};
use crate::read::form::Form;
use crate::read::part::with_cautions_of;
use crate::trouble::Access;

/// The step's own cautions, then one for each further danger of the parts that is still there in the state.
pub(super) fn with_dangers_of(own: &[Caution], parts: &[&Part], state: MachineState) -> Vec<Caution> {
    with_cautions_of(own, parts.iter().copied(), state)
}

/// A step as the rules of safety see it.
pub(super) struct Step<'s> {
    pub state: MachineState,
    pub who: Hand,
    pub access: Option<&'s AccessId>,
    pub touched: &'s [&'s Part],
    pub cautions: &'s [Caution],
}

/// Notes where a hand meets a danger without a caution of the step's own: what turns while it runs, what is live while
/// it is plugged in, what is hot until it has cooled.
pub(super) fn check_dangers(form: &Form<'_, '_>, step: &Step<'_>) {
    for part in step.touched {
        for danger in [Danger::Moving, Danger::Live, Danger::Hot] {
            let there = part.dangers.contains(&danger) && still_there(danger, step.state);
            if there && !step.cautions.iter().any(|caution| caution.danger == danger) {
                let what = format!(
                    "{} puts a hand to `{}`, which is {danger} while {}",
                    form.what, part.id, step.state
                );
                let right = format!(
                    "write state = \"{}\", or a caution of its own for `{danger}`",
                    safe_state(danger)
                );
                form.note("state", what, right);
            }
        }
    }
}

const fn still_there(danger: Danger, state: MachineState) -> bool {
    match danger {
        Danger::Hot => !matches!(state, MachineState::Cooled),
        other => state.leaves(other),
    }
}

const fn safe_state(danger: Danger) -> MachineState {
    match danger {
        Danger::Hot => MachineState::Cooled,
        Danger::Live => MachineState::Unplugged,
        _ => MachineState::Stopped,
    }
}

/// Notes where a part is kept for other hands, by what the step needs of it.
pub(super) fn check_hand(form: &Form<'_, '_>, step: &Step<'_>, needed: impl Fn(&Part) -> Hand) {
    for part in step.touched {
        let needed = needed(part);
        if step.who < needed {
            let what = format!("{} gives `{}` to the {}", form.what, part.id, step.who);
            form.note(
                "who",
                format!("{what}, but the part is for the {needed}"),
                format!("write who = \"{needed}\""),
            );
        }
    }
}

/// Notes where what must stand open needs more than the step gives; returns what must stand open.
pub(super) fn check_access<'a>(
    form: &Form<'_, '_>,
    step: &Step<'_>,
    accesses: &'a [Access],
) -> Option<&'a Access> {
    let access = accesses.iter().find(|access| Some(&access.id) == step.access)?;
    if step.state < access.state {
        let what = format!("{} stands behind `{}`, which opens only {}", form.what, access.id, access.state);
        form.note("state", what, format!("write state = \"{}\"", access.state));
    }
    if step.who < access.who {
        let what = format!("{} stands behind `{}`, which is for the {}", form.what, access.id, access.who);
        form.note("who", what, format!("write who = \"{}\"", access.who));
    }
    Some(access)
}
