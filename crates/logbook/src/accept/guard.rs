//! Who may release a machine from danger, and who may say who has which role.

use super::{Checked, Draft, Refusal, must};
use crate::{
    Booth, Fact,
    booth::Guard,
    fact::{Fitness, PersonAdded, Role},
    ids::PersonId,
    rules::{Giving, giving, somebody_in_charge},
};

const TECHNICIAN: &str =
    "a qualified technician looks at the machine and writes the release under their own name";
const KEEPER: &str = "the keeper writes who has which role, and nobody gives themselves a higher one";

/// Checks that somebody may write this.
pub(super) fn check(draft: &Draft, booth: &Booth) -> Checked {
    let target = draft.fact.settles().and_then(|target| booth.guarded.get(&target)).copied();
    match &draft.fact {
        Fact::PersonAdded(fact) => gives_role(booth, &draft.by, fact),
        Fact::Corrects(corrects) => {
            may_settle(booth, &draft.by, target)?;
            corrected(booth, &draft.by, target, &corrects.with)
        }
        Fact::Withdraws(_) => may_settle(booth, &draft.by, target),
        _ => Ok(()),
    }
}

fn may_settle(booth: &Booth, by: &PersonId, target: Option<Guard>) -> Checked {
    match target {
        Some(Guard::Danger) => must(booth.is_technician(by), || {
            let name = booth.person_name(by);
            let what = format!(
                "whether a machine is quarantined as dangerous hangs on this entry, and {name} is no technician of this booth"
            );
            Refusal::new("entry", what, TECHNICIAN)
        }),
        Some(Guard::Person | Guard::PersonTakenBack) => in_charge(booth, by),
        None => Ok(()),
    }
}

/// Checks what a correction wants to say.
fn corrected(booth: &Booth, by: &PersonId, target: Option<Guard>, with: &Fact) -> Checked {
    let person = if let Fact::PersonAdded(fact) = with { Some(fact) } else { None };
    let about_a_person = matches!(target, Some(Guard::Person | Guard::PersonTakenBack));
    must(person.is_some() == about_a_person && target != Some(Guard::PersonTakenBack), || {
        let what = "only an entry about a person is corrected into one about a person, and into nothing else";
        Refusal::new("entry", what, "withdraw what is wrong and write a new entry")
    })?;
    match with {
        Fact::PersonAdded(fact) => gives_role(booth, by, fact),
        Fact::FitnessSet(fact) => {
            let machine = booth.machines.get(&fact.machine);
            let danger = machine.is_some_and(|machine| machine.fitness.fitness == Fitness::Danger);
            must(!danger || fact.fitness == Fitness::Danger || booth.is_technician(by), || {
                let what = format!("{} is quarantined as dangerous", booth.machine_name(&fact.machine));
                Refusal::new("fitness", what, TECHNICIAN)
            })
        }
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
    let role = |person: &PersonId| booth.roles_given.get(person).copied();
    must(giving(by, fact, somebody_in_charge(&booth.roles_given), role) != Giving::Refused, || {
        let what = format!("{} may not give {} this role", booth.person_name(by), fact.name);
        Refusal::new("role", what, KEEPER)
    })
}
