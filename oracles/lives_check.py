"""Lives against three independent libraries of survival statistics, and scipy.

Fits of `lives fit --json` on open datasets that lifelines carries, on random censored and late-entered lives, and on a
textbook set: the likelihood must never be lower than that of `lifelines`, `reliability` or `surpyval`, and the numbers
must lie within one millionth of the summit that scipy finds from theirs. Distances of lives from a law, with the chance
of such a distance, are compared with scipy's, criteria with those of `reliability`. Ages to change a part and spares are
worked out again by quadrature and by Poisson's law.
"""

import math
import tempfile
import warnings
from pathlib import Path

import numpy as np
from report import Check
from scipy import integrate, optimize, stats

RELATIVE = 1e-6
# NIST/SEMATECH e-Handbook of Statistical Methods, 8.4.1.3.
HANDBOOK = ([54, 187, 216, 240, 244, 335, 361, 373, 375, 386], [500] * 10)


def ln_likelihood(model, shape, scale, entered, left, failed):
    """The whole likelihood, by scipy's laws."""
    law = {
        "weibull": lambda: stats.weibull_min(shape, scale=scale),
        "exponential": lambda: stats.expon(scale=scale),
        "lognormal": lambda: stats.lognorm(shape, scale=scale),
        "gamma": lambda: stats.gamma(shape, scale=scale),
    }[model]()
    seen = np.where(failed, law.logpdf(left), law.logsf(left))
    return float(np.sum(seen - np.where(entered > 0, law.logsf(entered), 0.0)))


def summit(model, start, data):
    """The summit near a start, by Newton on differences of scipy's likelihood."""
    free = 1 if model == "exponential" else 2

    def value(at):
        scale, shape = math.exp(at[0]), math.exp(at[1]) if free == 2 else 1.0
        return -ln_likelihood(model, shape, scale, *data)

    at = np.log([start[1], start[0]])[:free]
    done = optimize.minimize(value, at, method="Nelder-Mead", options={"xatol": 1e-10, "fatol": 1e-12, "maxiter": 4000})
    return (math.exp(done.x[1]) if free == 2 else 1.0), math.exp(done.x[0]), -done.fun


def peers(entered, left, failed):
    """Shape and scale of the Weibull law by each library that knows the kind of data."""
    found = {}
    late = bool(np.any(entered > 0))
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import lifelines
        import surpyval

        fitter = lifelines.WeibullFitter().fit(left, failed, entry=entered if late else None)
        found["lifelines"] = (fitter.rho_, fitter.lambda_)
        given = {"tl": entered} if late else {}
        model = surpyval.Weibull.fit(left, c=np.where(failed, 0, 1), **given)
        found["surpyval"] = (model.params[1], model.params[0])
        if not late:
            from reliability.Fitters import Fit_Weibull_2P

            gone = left[~failed]
            model = Fit_Weibull_2P(
                failures=left[failed],
                right_censored=gone if len(gone) else None,
                show_probability_plot=False,
                print_results=False,
            )
            found["reliability"] = (model.beta, model.alpha)
    return found


def datasets():
    """Name → ages at entry, ages at end, whether failed."""
    from lifelines import datasets as carried

    sets = {"handbook": (None, np.concatenate(HANDBOOK).astype(float), np.arange(20) < 10)}
    waltons = carried.load_waltons()
    sets["waltons"] = (None, waltons["T"].to_numpy(float), waltons["E"].to_numpy(bool))
    rossi = carried.load_rossi()
    sets["rossi"] = (None, rossi["week"].to_numpy(float), rossi["arrest"].to_numpy(bool))
    leukemia = carried.load_leukemia()
    sets["leukemia"] = (None, leukemia["t"].to_numpy(float), leukemia["status"].to_numpy(bool))
    rng = np.random.default_rng(16)
    for number in range(12):
        n, shape = int(rng.integers(8, 200)), rng.uniform(0.7, 5)
        entered = np.where(rng.random(n) < 0.3, rng.uniform(5, 60, n), 0.0) if number % 2 else np.zeros(n)
        # Conditional on having reached the age at entry.
        left = 100 * ((entered / 100) ** shape - np.log(rng.random(n))) ** (1 / shape)
        until = entered + rng.uniform(20, 180, n)
        sets[f"random {number}"] = (entered, np.minimum(left, until), left <= until)
    return {name: (np.zeros(len(left)) if entered is None else entered, left, failed) for name, (entered, left, failed) in sets.items()}


def fits(check, program, folder):
    """Every dataset, every law of two numbers."""
    for name, (entered, left, failed) in datasets().items():
        table = folder / "lives.csv"
        rows = (f"{e!r},{l!r},{'failed' if f else 'censored'}" for e, l, f in zip(entered.tolist(), left.tolist(), failed))
        table.write_text("entered,left,ending\n" + "\n".join(rows) + "\n", encoding="utf-8")
        pairs = folder / "lives.f64"
        np.column_stack([entered, np.where(failed, left, -left)]).astype("<f8").tofile(pairs)
        for model in ("weibull", "exponential", "lognormal", "gamma"):
            ours = program.json("lives", "fit", table, "--model", model)
            data = (entered, left, failed)
            mine = ln_likelihood(model, ours["shape"], ours["scale"], *data)
            check.near("log-likelihood", f"{name}, {model}", mine, ours["log_likelihood"], 1e-9 * abs(mine))
            shape, scale, best = summit(model, (ours["shape"], ours["scale"]), data)
            check.must("likelihood not lower than scipy's summit", f"{name}, {model}", mine >= best - 1e-9 * abs(best))
            check.near("shape over summit", f"{name}, {model}", 1.0, ours["shape"] / shape, RELATIVE)
            check.near("scale over summit", f"{name}, {model}", 1.0, ours["scale"] / scale, RELATIVE)
        ours = program.json("lives", "fit", table)
        check.same("fit of pairs", name, program.json("lives", "fit", pairs), ours)
        for peer, (shape, scale) in peers(entered, left, failed).items():
            theirs = ln_likelihood("weibull", shape, scale, entered, left, failed)
            check.met[peer] += 1
            holds = ours["log_likelihood"] >= theirs - 1e-9 * abs(theirs)
            check.must("likelihood not lower than a library's", f"{name}, {peer}", holds)
    check.must_meet("lifelines", "reliability", "surpyval")


# Revolutions to failure of 23 ball bearings, in millions (Lieblein and Zelen 1956).
BEARINGS = (
    17.88, 28.92, 33.00, 41.52, 42.12, 45.60, 48.48, 51.84, 51.96, 54.12, 55.56, 67.80,
    68.64, 68.64, 68.88, 84.12, 93.12, 98.64, 105.12, 105.84, 127.92, 128.04, 173.40,
)  # fmt: skip
LAWS = {
    "weibull": (stats.weibull_min, ("c", "scale")),
    "exponential": (stats.expon, ("scale",)),
    "lognormal": (stats.lognorm, ("s", "scale")),
    "gamma": (stats.gamma, ("a", "scale")),
}


def goodness(check, program, folder):
    """Distances from a law and their chances by scipy's own simulation; criteria by `reliability`."""
    from reliability import Fitters

    libraries = {
        "weibull": Fitters.Fit_Weibull_2P,
        "exponential": Fitters.Fit_Exponential_1P,
        "lognormal": Fitters.Fit_Lognormal_2P,
        "gamma": Fitters.Fit_Gamma_2P,
    }
    rng = np.random.default_rng(23)
    sets = {"bearings": np.array(BEARINGS), "even": rng.uniform(40, 160, 40)}
    for name, left in sets.items():
        table = folder / "complete.csv"
        table.write_text("left,ending\n" + "".join(f"{age!r},failed\n" for age in left.tolist()), encoding="utf-8")
        for model, (law, names) in LAWS.items():
            about = f"{name}, {model}"
            ours = program.json("lives", "fit", table, "--model", model, "--resamples", 999)
            fitted = dict(zip(names, (ours["shape"], ours["scale"]))) if len(names) == 2 else {"scale": ours["scale"]}
            judged = ours["judgement"]
            for key, statistic in (("anderson_darling", "ad"), ("kolmogorov", "ks")):
                known = {"loc": 0, **fitted}
                held = stats.goodness_of_fit(law, left, known_params=known, statistic=statistic, n_mc_samples=1)
                check.near(f"{key} distance", about, held.statistic, judged["distances"][key], 1e-6 * held.statistic)
                drawn = stats.goodness_of_fit(
                    law, left, known_params={"loc": 0}, statistic=statistic, n_mc_samples=199, rng=rng
                )
                # Four standard deviations of the difference of two simulated shares.
                p = judged[f"{key}_p"]
                doubt = 4 * math.sqrt(max(p * (1 - p), 0.005) * (1 / 999 + 1 / 199))
                check.near(f"chance of {key}", about, drawn.pvalue, p, doubt)
            ages, counts = np.unique(left, return_counts=True)
            ends = np.cumsum(counts)
            steps = (ends - counts / 2) / len(left)
            by_law = law.ppf(steps, **fitted)
            shown = np.log if model in ("weibull", "lognormal") else np.asarray
            line = np.corrcoef(shown(ages), shown(by_law))[0, 1]
            check.near("plot correlation", about, line, judged["plot_correlation"], 1e-9)
            with warnings.catch_warnings():
                warnings.simplefilter("ignore")
                quiet = {"show_probability_plot": False, "print_results": False}
                theirs = libraries[model](failures=left, **quiet)
            check.met["reliability"] += 1
            k, n = len(names), len(left)
            seen = float(np.sum(law.logpdf(left, **fitted)))
            check.near("corrected criterion", about, 2 * k - 2 * seen + 2 * k * (k + 1) / (n - k - 1), ours["corrected_criterion"], 1e-6)
            check.near("Schwarz's criterion", about, k * math.log(n) - 2 * seen, ours["bayes_criterion"], 1e-6)
            # The library stops short of the summit at times.
            check.must("criterion not above a library's", about, ours["corrected_criterion"] <= theirs.AICc + 1e-3)


def replacements(check, program):
    """Ages to change a part, by quadrature and a search of our own."""
    for shape, scale, failure, planned in [(2.5, 1000, 5, 1), (3, 150, 8, 2), (4, 55, 30, 1), (1.2, 300, 20, 1)]:
        law = stats.weibull_min(shape, scale=scale)

        def rate(age, law=law, failure=failure, planned=planned):
            time = integrate.quad(law.sf, 0, age, epsabs=0, epsrel=1e-12, limit=200)[0]
            return (planned * law.sf(age) + failure * law.cdf(age)) / time

        given = ("--shape", shape, "--scale", scale, "--failure-cost", failure, "--planned-cost", planned)
        ours = program.json("lives", "replace", *given)
        best = optimize.minimize_scalar(rate, bounds=(0.02 * scale, 3 * scale), method="bounded", options={"xatol": 1e-9 * scale})
        check.near("cost rate over the least", f"shape {shape}", 1.0, ours["cost_rate"] / best.fun, 1e-9)
        check.near("best age over ours", f"shape {shape}", 1.0, ours["best_age"] / best.x, 1e-5)
    never = program.json("lives", "replace", "--shape", 1, "--scale", 100, "--failure-cost", 9, "--planned-cost", 1)
    check.same("best age without wear", "shape 1", None, never["best_age"])


def spares(check, program):
    """Spares by Poisson's law, and by simulated renewals."""
    for expected in (0.3, 1, 2, 3, 5, 12.5):
        ours = program.json("lives", "spares", "--expected", expected)
        check.same("spares", f"{expected} expected", int(stats.poisson.ppf(0.95, expected)), ours["spares"])
        check.near("covered", f"{expected} expected", stats.poisson.cdf(ours["spares"], expected), ours["covered"], 1e-9)
    rng = np.random.default_rng(8)
    drawn = 200_000
    count = np.zeros(drawn, int)
    for age in (10.0, 40.0):
        at = 55 * ((age / 55) ** 4 - np.log(rng.random(drawn))) ** 0.25 - age
        while np.any(at <= 60):
            count += at <= 60
            at = np.where(at <= 60, at + 55 * rng.weibull(4, drawn), np.inf)
    ours = program.json("lives", "spares", "--shape", 4, "--scale", 55, "--span", 60, "--age", 10, "--age", 40)
    check.near("covered by renewals", "two lamps", float(np.mean(count <= ours["spares"])), ours["covered"], 5e-3)
    check.near("expected use", "two lamps", float(np.mean(count)), ours["expected_use"], 1e-2)


def run(program, _booths, _kinds):
    """All of it."""
    check = Check("lives")
    with tempfile.TemporaryDirectory(prefix="boothwright-lives-") as folder:
        fits(check, program, Path(folder))
        goodness(check, program, Path(folder))
    replacements(check, program)
    spares(check, program)
    return check
