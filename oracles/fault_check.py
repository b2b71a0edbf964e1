"""Posteriors of published networks against two independent libraries.

The networks (the textbook ones of 5 and 8 variables, one of 37 and one of 76 among them) come with pgmpy, so nothing is
fetched. The program reads them as BIF; pyAgrum (compiled, junction tree) and pgmpy (Python, variable elimination) work
the same posteriors out from the same tables.

pyAgrum's own reader keeps tables in single precision, so its networks are built here from the tables as pgmpy read
them, each row scaled to 1 as the program does. pgmpy is asked one variable at a time: its belief propagation does not
come to an end on the network of 37. To keep the time within bounds it is asked for some of the variables of the larger
networks; pyAgrum is asked for all.
"""

import gzip
import random
import tempfile
from importlib.resources import files
from pathlib import Path

import numpy as np
import pyagrum
from pgmpy.inference import VariableElimination
from pgmpy.readwrite import BIFReader
from report import Check

NETWORKS = ["asia", "cancer", "earthquake", "survey", "sachs", "child", "alarm", "insurance", "hailfinder", "hepar2",
            "win95pts"]
# Two ways of summing in double precision.
WITHIN = 1e-9
# Sets of evidence for each network, besides none; each observes up to so many variables.
SETS, OBSERVED = 4, 5
# Variables that pgmpy is asked for, for each network and set of evidence.
ASKED = 8
SEED = 1988


def text(name):
    """A network as pgmpy carries it."""
    return gzip.decompress((files("pgmpy.utils.example_models") / f"{name}.bif.gz").read_bytes()).decode()


def tables(model):
    """Each variable's parents and its table, child first, rows scaled to 1."""
    found = {}
    for table in model.get_cpds():
        values = np.asarray(table.values, dtype=np.float64)
        values = values / values.sum(axis=0, keepdims=True)
        table.values = values
        found[table.variable] = (table.variables[1:], values)
    return found


def as_pyagrum(states, found):
    """The same network there, from the exact tables."""
    network = pyagrum.BayesNet()
    for name, names in states.items():
        network.add(pyagrum.LabelizedVariable(name, name, list(names)))
    for name, (parents, _) in found.items():
        for parent in parents:
            network.addArc(parent, name)
    for name, (parents, values) in found.items():
        order = list(reversed(network.cpt(name).names))
        axes = [name, *parents]
        network.cpt(name)[:] = np.ascontiguousarray(np.transpose(values, [axes.index(of) for of in order]))
    return network


def draw(dice, states, network):
    """Something that may well be observed: drawn from the network itself, so that it is possible."""
    drawn = {}
    for node in network.topologicalOrder():
        table = network.cpt(node)
        row = {of: states[of].index(drawn[of]) for of in table.names[1:]}
        variable = network.variable(node).name()
        drawn[variable] = dice.choices(states[variable], [float(p) for p in table[row]])[0]
    seen = dice.sample(sorted(states), min(OBSERVED, len(states) // 2))
    return {name: drawn[name] for name in seen}


def compare(check, program, dice, name, path):
    """One network, with and without evidence."""
    model = BIFReader(string=text(name)).get_model()
    found = tables(model)
    states = {table.variable: table.state_names[table.variable] for table in model.get_cpds()}
    network = as_pyagrum(states, found)
    elimination = VariableElimination(model)
    for number in range(SETS + 1):
        seen = draw(dice, states, network) if number else {}
        evidence = ["--evidence", ",".join(f"{of}={state}" for of, state in seen.items())] if seen else []
        ours = program.json("fault", "posterior", "--network", path, *evidence)
        where = f"{name}, {len(seen)} observed"
        lazy = pyagrum.LazyPropagation(network)
        lazy.setEvidence(seen)
        lazy.makeInference()
        check.same("variables", where, len(states), len(ours["posteriors"]))
        for of, names in states.items():
            theirs = lazy.posterior(of)
            for place, state in enumerate(names):
                check.near("chances (pyAgrum)", f"{where}: {of}={state}", theirs[place], ours["posteriors"][of][state],
                           WITHIN)
        if seen:
            log = np.log(lazy.evidenceProbability())
            check.near("chances of the evidence", where, log, ours["evidence_log_probability"], WITHIN)
        hidden = sorted(set(states) - set(seen))
        for of in dice.sample(hidden, min(ASKED, len(hidden))):
            theirs = elimination.query([of], evidence=seen, show_progress=False)
            for state in states[of]:
                check.near("chances (pgmpy)", f"{where}: {of}={state}", theirs.get_value(**{of: state}),
                           ours["posteriors"][of][state], WITHIN)
    check.met[f"{len(states)} variables"] += 1


def forms(check, program, folder):
    """A table given as a whole, and a row that is left to the default, mean the same here and there."""
    pair = "variable b { type discrete [ 2 ] { x, y }; }\nvariable a { type discrete [ 3 ] { p, q, r }; }\n"
    whole = "probability ( b ) { table 0.3, 0.7; }\nprobability ( a | b ) { table 0.1, 0.4, 0.2, 0.5, 0.7, 0.1; }\n"
    path = folder / "whole.bif"
    path.write_text(f"network whole {{ }}\n{pair}{whole}", encoding="utf-8")
    ours = program.json("fault", "posterior", "--network", path)["posteriors"]["a"]
    theirs = VariableElimination(BIFReader(path=str(path)).get_model()).query(["a"], show_progress=False)
    for state in "pqr":
        check.near("chances of a whole table", state, theirs.get_value(a=state), ours[state], WITHIN)


def refusals(check, program, path):
    """What cannot be is refused with a word, and the code that says so."""
    for evidence, code in (("either=yes,tub=no,lung=no", 1), ("either=maybe", 2), ("nobody=yes", 2)):
        done = program.run("fault", "posterior", "--network", path, "--evidence", evidence)
        check.same("exit codes", evidence, code, done.returncode)
    soft = program.json("fault", "posterior", "--network", path, "--evidence", "xray=1:0")
    hard = program.json("fault", "posterior", "--network", path, "--evidence", "xray=yes")
    check.same("soft evidence as hard", "asia", hard, soft)


def run(program, _booths, _kinds):
    """All of it."""
    check = Check("faults")
    dice = random.Random(SEED)
    with tempfile.TemporaryDirectory(prefix="boothwright-faults-") as folder:
        folder = Path(folder)
        for name in NETWORKS:
            path = folder / f"{name}.bif"
            path.write_text(text(name), encoding="utf-8")
            compare(check, program, dice, name, path)
        forms(check, program, folder)
        refusals(check, program, folder / "asia.bif")
    check.must_meet("5 variables", "8 variables", "37 variables", "76 variables")
    return check
