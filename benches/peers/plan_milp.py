"""The plain version of a service as integers for a general solver (HiGHS, as scipy carries it): seats, sessions, work.

Built for the model of docs/plan.md as far as the plain version goes: nothing in it grows with hours.
"""

import json
import sys
import time
from bisect import bisect_left

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array


DAY = 1440


class Rows:
    """Columns and rows as they gather."""

    def __init__(self):
        self.cost, self.upper = [], []
        self.starts, self.index, self.value, self.low, self.high = [0], [], [], [], []

    def column(self, cost, upper=1.0):
        """One more choice."""
        self.cost.append(cost)
        self.upper.append(upper)
        return len(self.cost) - 1

    def row(self, terms, low, high):
        """One more rule."""
        for column, value in terms:
            self.index.append(column)
            self.value.append(value)
        self.starts.append(len(self.index))
        self.low.append(low)
        self.high.append(high)


def ways(model):
    """Minutes and cost from place to place, both ways."""
    found = {(it["id"], it["id"]): (0, 0.0) for it in model["places"]}
    for way in model["journeys"]:
        for pair in ((way["from"], way["to"]), (way["to"], way["from"])):
            found[pair] = (way["minutes"], way["cost"])
    return found


def dearest(model):
    """The dearest stoppage and everything that one piece of work can cost once, as docs/plan.md says."""
    minute = max(it["cost_per_minute"] for it in model["slots"])
    return (
        1
        + max(it["stoppage_cost"] for it in model["showings"])
        + max(it["cost"] + it["minutes"] * minute for it in model["work"])
        + max(it["cost"] for it in model["slots"])
        + max(it["cost"] for it in model["preparations"])
        + 2 * sum(it["cost"] for it in model["journeys"])
    )


def diary(model, rows, unstaffed):
    """Who runs where; no machine in two places."""
    way = ways(model)
    runs = {}
    away = {it["id"]: [] for it in model["machines"]}
    for show in model["showings"]:
        crew = []
        for machine in model["machines"]:
            there = way.get((machine["home"], show["place"]))
            if there is None or not set(show["needs"]) <= set(machine["can"]):
                continue
            base = show["stoppage_cost"] * show["running_hours"] * machine["stoppages_per_hour"]
            column = rows.column(2 * there[1] + base)
            runs[machine["id"], show["id"]] = column
            crew.append((column, 1.0))
            away[machine["id"]].append(
                (show["starts"] - there[0], show["ends"] + there[0], show["place"], show["starts"], show["ends"], column)
            )
        missing = rows.column(unstaffed, upper=show["machines"])
        rows.row([*crew, (missing, 1.0)], show["machines"], show["machines"])
    for trips in away.values():
        trips.sort(key=lambda it: it[3])
        for at, one in enumerate(trips):
            # A clique: whoever is away when this one leaves or begins, of those that begin no later.
            clique = [other for other in trips[first_near(trips, one[0]) : at] if clash(other, one)]
            together = [other for n, other in enumerate(clique) if all(clash(other, it) for it in clique[n + 1 :])]
            if together:
                rows.row([(it[5], 1.0) for it in [*together, one]], 0, 1)
            for other in clique:
                if other not in together:
                    rows.row([(other[5], 1.0), (one[5], 1.0)], 0, 1)
    return runs, away


def first_near(trips, moment):
    """The first trip that could still be under way then: none lasts a day."""
    return bisect_left(trips, moment - DAY, key=lambda it: it[3])


def clash(one, other):
    """Whether a machine cannot have both, the first beginning no later."""
    if one[2] == other[2] and one[4] <= other[3]:
        return False
    return one[1] > other[0]


def benches(model, rows, away, overdue, in_time):
    """What is done where, prepared once; a run after a piece of work's day, before it was done, is overdue.

    `in_time` leaves out that a machine may wait at home while its work is late: fewer plans, an easier question.
    """
    preparations = {it["id"]: it for it in model["preparations"]}
    homes = {it["id"]: it["home"] for it in model["machines"]}
    done, held, used, prepared = {}, {}, {}, {}
    for work in model["work"]:
        trips = away[work["machine"]]
        so_far, choices = None, []
        late = [trip for trip in trips if trip[4] > work["due_by"]]
        for slot in sorted(model["slots"], key=lambda it: it["starts"]):
            if slot["place"] != homes[work["machine"]] or slot["level"] < work["level"]:
                continue
            early = [trip for trip in late if trip[3] < slot["starts"]]
            late = [trip for trip in late if trip[3] >= slot["starts"]]
            if in_time and early:
                break
            not_yet(rows, early, so_far, overdue)
            choices.append(len(rows.cost))
            column = rows.column(work["cost"] + work["minutes"] * slot["cost_per_minute"])
            done[work["id"], slot["id"]] = column
            before, so_far = so_far, rows.column(0.0)
            terms = [(so_far, 1.0), (column, -1.0)] + ([(before, -1.0)] if before is not None else [])
            rows.row(terms, -1, 0)
            if slot["id"] not in held:
                held[slot["id"]] = rows.column(slot["cost"])
            rows.row([(column, 1.0), (held[slot["id"]], -1.0)], -1, 0)
            used.setdefault(slot["id"], []).append((column, float(work["minutes"])))
            key = slot["id"], work["machine"], work["preparation"]
            if key not in prepared:
                preparation = preparations[work["preparation"]]
                prepared[key] = rows.column(preparation["cost"])
                used[slot["id"]].append((prepared[key], float(preparation["minutes"])))
            rows.row([(column, 1.0), (prepared[key], -1.0)], -1, 0)
            ends = slot["starts"] + slot["minutes"]
            for trip in trips[first_near(trips, slot["starts"]) :]:
                if trip[0] > ends + DAY:
                    break
                if trip[0] < ends and slot["starts"] < trip[1]:
                    rows.row([(column, 1.0), (trip[5], 1.0)], 0, 1)
        if in_time:
            choices.append(rows.column(overdue))
            rows.row([(column, 1.0) for column in choices], 1, 1)
        else:
            not_yet(rows, late, so_far, overdue)
    for slot in model["slots"]:
        if slot["id"] in held:
            rows.row([*used[slot["id"]], (held[slot["id"]], -float(slot["minutes"]))], -float("inf"), 0)
    return done


def not_yet(rows, trips, so_far, overdue):
    """Runs between two slots: each is overdue unless the work was done by then. One rule for all of them."""
    if not trips:
        return
    # Two showings that begin at different times of one day can be had; more than four in one day are not made.
    most = min(len(trips), 4 * len({trip[3] // DAY for trip in trips}))
    over = rows.column(overdue, upper=most)
    terms = [(trip[5], 1.0) for trip in trips] + [(over, -1.0)]
    rows.row(terms + ([(so_far, -float(most))] if so_far is not None else []), -float("inf"), 0)


def solve(rows, seconds):
    """Gives everything to the solver."""
    table = csr_array((rows.value, rows.index, rows.starts), shape=(len(rows.low), len(rows.cost)))
    options = {"time_limit": max(seconds, 0.1)}
    return milp(
        np.array(rows.cost),
        integrality=np.ones(len(rows.cost)),
        bounds=Bounds(0, np.array(rows.upper, dtype=float)),
        constraints=LinearConstraint(table, np.array(rows.low, dtype=float), np.array(rows.high, dtype=float)),
        options=options,
    )


def main():
    """Reads the model, solves it within the seconds that are given (the reading counted in), answers."""
    begun = time.monotonic()
    with open(sys.argv[1], encoding="utf-8") as file:
        model = json.load(file)
    limit = float(sys.argv[2])
    overdue = 10 * dearest(model)
    rows = Rows()
    runs, away = diary(model, rows, 100 * overdue)
    done = benches(model, rows, away, overdue, "in-time" in sys.argv)
    built = time.monotonic() - begun
    found = solve(rows, limit - built)
    answer = {"seconds_building": built, "seconds": time.monotonic() - begun, "found": found.x is not None}
    if found.x is not None:
        answer["cost"], answer["bound"] = found.fun, found.mip_dual_bound
        answer["crews"] = [[show, machine] for (machine, show), at in runs.items() if found.x[at] > 0.5]
        answer["doings"] = [[work, slot] for (work, slot), at in done.items() if found.x[at] > 0.5]
    print(json.dumps(answer))


if __name__ == "__main__":
    main()
