"""The Weibull law of a million censored lives by a hand-written likelihood with its slopes and scipy's optimiser."""

import numpy as np
from lives_common import answer, read
from scipy.optimize import minimize


def main():
    """Reads, fits, answers."""
    left, failed = read()
    x = np.log(left)
    middle = x.mean()
    x -= middle
    failures, sum_x = failed.sum(), x[failed].sum()

    def falling(at):
        """The likelihood less its summit's sign, and its slopes by ln shape and ln scale."""
        shape, u = np.exp(at[0]), at[1]
        z = x - u
        power = np.exp(shape * z)
        s0, s1 = power.sum(), np.dot(power, z)
        worked_out = failures * at[0] - failures * u + (shape - 1) * (sum_x - failures * u) - s0
        by_shape = failures + shape * (sum_x - failures * u) - shape * s1
        by_scale = -failures * shape + shape * s0
        return -worked_out / failures, -np.array([by_shape, by_scale]) / failures

    found = minimize(falling, [0.0, 0.0], jac=True, method="BFGS", options={"gtol": 1e-9}).x
    answer(np.exp(found[0]), np.exp(found[1] + middle), left, failed)


if __name__ == "__main__":
    main()
