"""All posteriors of the published network of 76 variables, by two libraries: inference only, once loaded.

    posteriors.py NETWORK.bif    writes the network there, and prints as JSON what was observed, the posteriors, and
                                 the median time of each library in seconds.
"""

import gzip
import json
import statistics
import sys
import time
import warnings
from importlib.resources import files
from pathlib import Path

warnings.filterwarnings("ignore")

import numpy as np  # noqa: E402
import pyagrum  # noqa: E402
from pgmpy.inference import VariableElimination  # noqa: E402
from pgmpy.readwrite import BIFReader  # noqa: E402

NETWORK = "win95pts"
# Leaves that are observed.
OBSERVED = 4
REPEATS = {"pyagrum": 31, "pgmpy": 5}


def compiled(model, states):
    """The network in pyAgrum, from exact tables; its own reader keeps single precision."""
    network = pyagrum.BayesNet()
    for name, names in states.items():
        network.add(pyagrum.LabelizedVariable(name, name, list(names)))
    for table in model.get_cpds():
        for parent in table.variables[1:]:
            network.addArc(parent, table.variable)
    for table in model.get_cpds():
        values = np.asarray(table.values, dtype=np.float64)
        values = values / values.sum(axis=0, keepdims=True)
        table.values = values
        order = [table.variables.index(of) for of in reversed(network.cpt(table.variable).names)]
        network.cpt(table.variable)[:] = np.ascontiguousarray(np.transpose(values, order))
    return network


def median(times, work):
    """The median time of some work, and what it gave last; the first time is left out."""
    work()
    taken = []
    for _ in range(times):
        began = time.perf_counter()
        found = work()
        taken.append(time.perf_counter() - began)
    return statistics.median(taken), found


def main():
    """Writes, reckons, prints."""
    text = gzip.decompress((files("pgmpy.utils.example_models") / f"{NETWORK}.bif.gz").read_bytes()).decode()
    Path(sys.argv[1]).write_text(text, encoding="utf-8")
    model = BIFReader(string=text).get_model()
    states = {table.variable: table.state_names[table.variable] for table in model.get_cpds()}
    network = compiled(model, states)
    leaves = sorted(of for of in states if not model.get_children(of))[:OBSERVED]
    seen = {of: states[of][0] for of in leaves}
    inference = pyagrum.LazyPropagation(network)
    elimination = VariableElimination(model)

    def by_pyagrum():
        inference.setEvidence({})
        inference.setEvidence(seen)
        inference.makeInference()
        return {of: inference.posterior(of).toarray().tolist() for of in states}

    def by_pgmpy():
        hidden = [of for of in states if of not in seen]
        return {of: elimination.query([of], evidence=seen, show_progress=False).values.tolist() for of in hidden}

    pyagrum_seconds, posteriors = median(REPEATS["pyagrum"], by_pyagrum)
    pgmpy_seconds, _ = median(REPEATS["pgmpy"], by_pgmpy)
    named = {of: dict(zip(names, posteriors[of])) for of, names in states.items()}
    times = {"pyagrum": pyagrum_seconds, "pgmpy": pgmpy_seconds}
    print(json.dumps({"seen": seen, "posteriors": named, "seconds": times}))


if __name__ == "__main__":
    main()
