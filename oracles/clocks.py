"""The machine clocks, added up a second time and compared with `boothwright machines NAME --json`."""

from booth import Booth
from entries import read_file
from report import Check

HOURS_WITHIN = 1e-6
HOURS = {
    "hours_run": lambda clocks: clocks.running,
    "showing_hours": lambda clocks: clocks.showing,
    "testing_hours": lambda clocks: clocks.testing,
    "rewinding_hours": lambda clocks: clocks.rewinding,
    "lit_hours": lambda clocks: clocks.lit,
    "estimated_hours": lambda clocks: clocks.estimated,
}


def compare(check, where, machine, said):
    """One machine."""
    clocks = machine.clocks_now()
    for key, read in HOURS.items():
        check.near("clocks", f"{where} {key}", read(clocks), said["clocks"][key], HOURS_WITHIN)
    check.same("strikes", where, clocks.strikes, said["clocks"]["strikes"])
    check.same("decisions on fitness", where, machine.fitness, said["fitness"])
    check.met["stretched or shrunk"] += any(run.times != 1.0 for run in machine.runs)
    check.met["spread"] += bool(machine.spreads)
    check.met["rewinding"] += clocks.rewinding > 0


def run(program, booths, _kinds):
    """Every machine of every booth."""
    check = Check("clocks")
    for made in booths:
        booth = Booth(read_file(made.export))
        check.met["a settlement that does not count"] += bool(booth.judged.refused)
        check.met["a role that its writer may not give"] += bool(booth.judged.refused_roles)
        for machine in booth.machines.values():
            said = program.json("machines", machine.id, data=made.data)
            compare(check, f"{made.name}, {machine.id}", machine, said)
    check.must_meet("stretched or shrunk", "spread", "rewinding")
    check.must_meet("a settlement that does not count", "a role that its writer may not give")
    return check
