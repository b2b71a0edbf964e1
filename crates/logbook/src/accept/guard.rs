//! Who may release a machine from danger, and who may say who has which role.

use super::{Checked, Draft, Refusal, must};
use crate::{
    Booth, Fact,
    booth::{Guard, Machine},
    fact::{Fitness, PersonAdded, Role, RunKind},
    ids::{EntryId, MachineId, PersonId},
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
            keeps_its_machine(booth, &draft.by, corrects.entry, Some(&corrects.with))?;
            brings_no_danger_in(booth, &draft.by, corrects.entry, &corrects.with)?;
            corrected(booth, &draft.by, target, &corrects.with)
        }
        Fact::Withdraws(withdraws) => {
            may_settle(booth, &draft.by, target)?;
            keeps_its_machine(booth, &draft.by, withdraws.entry, None)
        }
        _ => Ok(()),
    }
}

/// A machine in danger does not lose its first entry, and with it the danger, by anybody's hand but a technician's; and
/// no machine becomes another one by a correction.
pub(super) fn keeps_its_machine(
    booth: &Booth,
    by: &PersonId,
    target: EntryId,
    with: Option<&Fact>,
) -> Checked {
    let Some((id, machine)) = booth.machines.iter().find(|(_, machine)| machine.added.1 == target) else {
        return Ok(());
    };
    must(!is_danger(machine) || booth.is_technician(by), || {
        let what = format!(
            "{} is quarantined as dangerous, and this entry holds it in the booth",
            booth.machine_name(id)
        );
        Refusal::new("entry", what, TECHNICIAN)
    })?;
    let Some(with) = with else { return Ok(()) };
    must(matches!(with, Fact::MachineAdded(added) if added.machine == *id), || {
        let what = format!(
            "this entry brought {} into the booth and cannot bring in anything else",
            booth.machine_name(id)
        );
        Refusal::new("machine", what, "withdraw it if the machine was never there, and add the other one")
    })
}

/// What may not be written of a machine in danger does not come in as a correction either; what was written of it
/// before may still be put right.
fn brings_no_danger_in(booth: &Booth, by: &PersonId, target: EntryId, with: &Fact) -> Checked {
    let in_danger = |id: &MachineId| booth.machines.get(id).is_some_and(is_danger);
    let brought = match with {
        Fact::Ran(ran) if ran.run == RunKind::Showing && in_danger(&ran.machine) => {
            let ran_before = |machine: &Machine| machine.runs.iter().any(|run| run.entry == target);
            booth.machines.get(&ran.machine).filter(|machine| !ran_before(machine)).map(|_| &ran.machine)
        }
        Fact::ShowingPlanned(planned) => {
            let stood = booth.showings.get(&planned.showing);
            let stood_there = |id: &MachineId| {
                stood.is_some_and(|showing| showing.machines.iter().any(|(own, _)| own == id))
            };
            planned.machines.iter().map(|own| &own.machine).find(|id| in_danger(id) && !stood_there(id))
        }
        _ => None,
    };
    let Some(machine) = brought.filter(|_| !booth.is_technician(by)) else { return Ok(()) };
    let what = format!("{} is quarantined as dangerous", booth.machine_name(machine));
    Err(Refusal::new("machine", what, TECHNICIAN))
}

fn is_danger(machine: &Machine) -> bool {
    machine.fitness.fitness == Fitness::Danger
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
            let danger = machine.is_some_and(is_danger);
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
