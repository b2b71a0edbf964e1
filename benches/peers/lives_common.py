"""What the peers that fit a million lives share: reading the table, and answering."""

import json
import sys

import numpy as np


def read():
    """Ages at the end, and whether each life ended in failure, from a text table or from pairs of numbers."""
    path = sys.argv[1]
    if path.endswith(".f64"):
        left = np.fromfile(path, dtype="<f8").reshape(-1, 2)[:, 1]
        return np.abs(left), left > 0
    import pandas

    table = pandas.read_csv(path, usecols=["left", "ending"], dtype={"left": float, "ending": "category"})
    return table["left"].to_numpy(), (table["ending"] == "failed").to_numpy()


def answer(shape, scale, left, failed):
    """Prints the law, and its likelihood worked out in one way for all."""
    x = np.log(left / scale)
    seen = np.sum(failed) * np.log(shape / scale) + (shape - 1) * np.sum(x[failed]) - np.sum(np.exp(shape * x))
    print(json.dumps({"shape": float(shape), "scale": float(scale), "log_likelihood": float(seen)}))
