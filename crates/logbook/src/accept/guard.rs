//! Who may release a machine from danger, and who may say who has which role.

use super::{Checked, Draft, Refusal, must};
use crate::{
    Booth, Fact,
    booth::Guard,
    fact::{Fitness, PersonAdded, Role},
    ids::PersonId,
    rules::{may_give_role, somebody_in_charge},
};

const TECHNICIAN: &str =
    "a qualified technician looks at the machine and writes the release under their own name";
const KEEPER: &str = "the keeper writes who has which role, and nobody gives themselves a higher one";

/// Checks that somebody may write this.
pub(super) fn check(draft: &Draft, booth: &Booth) -> Checked {
    match (&draft.fact, draft.fact.settles().and_then(|target| booth.guarded.get(&target))) {
        (_, Some(Guard::Danger)) => must(booth.is_technician(&draft.by), || {
            let what = format!(
                "by this entry a machine is quarantined as dangerous, and {} is no technician of this booth",
                booth.person_name(&draft.by)
            );
            Refusal::new("entry", what, TECHNICIAN)
        }),
        (_, Some(Guard::Person)) => in_charge(booth, &draft.by),
        (Fact::Corrects(corrects), None) => match &*corrects.with {
            Fact::FitnessSet(fact) => {
                let danger = booth
                    .machines
                    .get(&fact.machine)
                    .is_some_and(|machine| machine.fitness.fitness == Fitness::Danger);
                must(!danger || fact.fitness == Fitness::Danger || booth.is_technician(&draft.by), || {
                    let what = format!("{} is quarantined as dangerous", booth.machine_name(&fact.machine));
                    Refusal::new("fitness", what, TECHNICIAN)
                })
            }
            Fact::PersonAdded(_) => in_charge(booth, &draft.by),
            _ => Ok(()),
        },
        _ => Ok(()),
    }?;
    match &draft.fact {
        Fact::PersonAdded(fact) => gives_role(booth, &draft.by, fact),
        Fact::Corrects(corrects) => match &*corrects.with {
            Fact::PersonAdded(fact) => gives_role(booth, &draft.by, fact),
            _ => Ok(()),
        },
        _ => Ok(()),
    }
}

fn in_charge(booth: &Booth, by: &PersonId) -> Checked {
    let may = !somebody_in_charge(&booth.roles_given)
        || matches!(booth.roles_given.get(by), Some(Role::Keeper | Role::Technician));
    must(may, || {
        let what = format!("{} does not keep this booth", booth.person_name(by));
        Refusal::new("entry", what, KEEPER)
    })
}

fn gives_role(booth: &Booth, by: &PersonId, fact: &PersonAdded) -> Checked {
    must(may_give_role(by, &booth.roles_given, fact), || {
        let what = format!("{} may not give {} this role", booth.person_name(by), fact.name);
        Refusal::new("role", what, KEEPER)
    })
}
