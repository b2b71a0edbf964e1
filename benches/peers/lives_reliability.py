"""The Weibull law of a million censored lives by reliability."""

from lives_common import answer, read
from reliability.Fitters import Fit_Weibull_2P


def main():
    """Reads, fits, answers."""
    left, failed = read()
    quiet = {"show_probability_plot": False, "print_results": False}
    fitter = Fit_Weibull_2P(failures=left[failed], right_censored=left[~failed], **quiet)
    answer(fitter.beta, fitter.alpha, left, failed)


if __name__ == "__main__":
    main()
