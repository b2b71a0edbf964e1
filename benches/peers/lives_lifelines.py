"""The Weibull law of a million censored lives by lifelines."""

from lifelines import WeibullFitter
from lives_common import answer, read


def main():
    """Reads, fits, answers."""
    left, failed = read()
    fitter = WeibullFitter().fit(left, failed)
    answer(fitter.rho_, fitter.lambda_, left, failed)


if __name__ == "__main__":
    main()
