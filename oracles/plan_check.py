"""The plan against an independent solver: 200 small invented booths and a few with a month's showings, each proven best
by both, at the same cost.

The model of docs/plan.md is written again as integers for CP-SAT (the constraint solver of OR-Tools): whether each
machine runs, whether each piece of work is done in each slot, hours since last done as a count of quarter hours, and
the expected stoppages of each run looked up by those hours. What CP-SAT chose is counted again in floating point.
"""

import json
import random
import tempfile
from pathlib import Path

from ortools.sat.python import cp_model
from report import Check

BOOTHS = 200
# A month: machines, showings, slots; and the seeds of such booths that CP-SAT proves in half a minute.
MONTH = (3, 60, 6)
MONTH_SEEDS = (0, 1)
DAY = 1440
QUARTER = 15
# Costs are counted in these parts, so that rounding stays far under the tolerance of one in a million.
PARTS = 10**8
TOLERANCE = 1e-6
OVERDUE, UNSTAFFED = 2_000.0, 50_000.0


def make_work(pick, n, machines, days):
    """A piece of care or a replacement."""
    low = pick.uniform(0.0001, 0.003)
    work = {
        "id": f"w{n}",
        "machine": f"m{pick.randrange(machines)}",
        "minutes": 15 * pick.randint(1, 3),
        "level": pick.randint(0, 1),
        "cost": round(pick.uniform(0, 4), 3),
        "hours_since": 0.25 * pick.randint(0, 80),
        "cost_per_hour_left": round(pick.uniform(0, 0.2), 3),
        "risk": [
            {"hours": 2, "stoppages_per_hour": low},
            {"hours": 9.5, "stoppages_per_hour": low + pick.uniform(0, 0.03)},
            {"hours": 21, "stoppages_per_hour": low + 0.03 + pick.uniform(0, 0.08)},
        ],
    }
    if pick.random() < 0.7:
        work["preparation"] = pick.choice(["open", "lamphouse"])
    if pick.random() < 0.6:
        work["limit_hours"] = pick.randint(8, 40)
    if pick.random() < 0.4:
        work["due_by"] = DAY * pick.randint(1, days)
    if pick.random() < 0.3:
        work["limit_minutes"] = DAY * pick.randint(2, 6)
    if pick.random() < 0.5:
        work["life"] = {"hours": pick.randint(10, 40), "cost": round(pick.uniform(1, 12), 3)}
    return work


def make(seed, size=None):
    """An invented booth: two places, a few machines, evenings, mornings at the bench."""
    pick = random.Random(seed)
    machines, showings, slots = size or (pick.randint(2, 4), pick.randint(5, 10), pick.randint(2, 4))
    days = showings
    gauges = [["16mm"], ["16mm", "35mm"], ["35mm"]]
    model = {
        "places": [{"id": "booth"}, {"id": "hall"}],
        "journeys": [{"from": "booth", "to": "hall", "minutes": 40, "cost": round(pick.uniform(1, 9), 3)}],
        "machines": [
            {
                "id": f"m{n}",
                "home": pick.choice(["booth", "booth", "hall"]),
                "fit": pick.random() < 0.95,
                "can": pick.choice(gauges),
                "stoppages_per_hour": round(pick.uniform(0.001, 0.01), 5),
            }
            for n in range(machines)
        ],
        "showings": [],
        "slots": [],
        "preparations": [
            {"id": "open", "minutes": 15, "cost": 1.5},
            {"id": "lamphouse", "minutes": 10, "cost": 0.75},
        ],
        "work": [make_work(pick, n, machines, days) for n in range(pick.randint(3, 8))],
        "pins": [],
        "overdue_cost": OVERDUE,
        "unstaffed_cost": UNSTAFFED,
    }
    for n in range(showings):
        starts = DAY * n + 17 * 60 + 30 * pick.randint(-12, 6)
        run = QUARTER * pick.randint(4, 10)
        model["showings"].append(
            {
                "id": f"s{n}",
                "place": pick.choice(["booth", "booth", "hall"]),
                "starts": starts,
                "ends": starts + run + pick.choice([15, 900]),
                "running_hours": run / 60,
                "needs": pick.choice([[], ["16mm"], ["35mm"]]),
                "machines": pick.choice([1, 1, 1, 2]),
                "stoppage_cost": round(pick.uniform(50, 400), 2),
            }
        )
    for n in range(slots):
        model["slots"].append(
            {
                "id": f"b{n}",
                "place": pick.choice(["booth", "booth", "hall"]),
                "starts": DAY * ((n * days) // slots) + 60 * pick.randint(8, 16),
                "minutes": 30 * pick.randint(2, 6),
                "level": pick.randint(0, 2),
                "comes_from": pick.choice(["booth", "hall"]),
                "cost": round(pick.uniform(0, 6), 2),
                "cost_per_minute": 0.1,
            }
        )
    if pick.random() < 0.3:
        work = pick.choice(model["work"])
        model["pins"].append({"not_in": {"work": work["id"], "slot": f"b{pick.randrange(slots)}"}})
    if pick.random() < 0.3:
        pin = {"showing": f"s{pick.randrange(showings)}", "machine": f"m{pick.randrange(machines)}"}
        model["pins"].append({"stays_out": pin})
    return model


def stoppages(work, since, run):
    """Expected stoppages of a run that begins `since` minutes after the work was done."""
    hours, points = (since + run / 2) / 60, work["risk"]
    rate = points[-1]["stoppages_per_hour"]
    if hours <= points[0]["hours"]:
        rate = points[0]["stoppages_per_hour"]
    for low, high in zip(points, points[1:]):
        if low["hours"] < hours <= high["hours"]:
            share = (hours - low["hours"]) / (high["hours"] - low["hours"])
            rate = low["stoppages_per_hour"] + share * (high["stoppages_per_hour"] - low["stoppages_per_hour"])
    return run / 60 * rate


def waste(work, since):
    """What is thrown away."""
    life = work.get("life")
    return life["cost"] * max(0.0, 1 - since / 60 / life["hours"]) if life else 0.0


class Solver:
    """One booth as a constraint program."""

    def __init__(self, model):
        self.model = model
        self.cp = cp_model.CpModel()
        self.terms = []  # (cost, literal): counted again in floating point when the solver is done
        self.exact = []  # functions that count a part of the cost from the solved values
        self.objective = []
        self.machines = {it["id"]: it for it in model["machines"]}
        journey = model["journeys"][0]
        self.way = lambda a, b: (0, 0.0) if a == b else (journey["minutes"], journey["cost"])
        self.runs, self.done = {}, {}
        self.diary()
        self.benches()
        for work in model["work"]:
            self.life(work)

    def cost(self, cost, literal):
        """A cost that is paid where a literal holds."""
        self.objective.append(round(cost * PARTS) * literal)
        self.terms.append((cost, literal))

    def banned(self, kind, **names):
        """Whether a pin forbids it."""
        return {kind: names} in self.model["pins"]

    def diary(self):
        """Who runs where."""
        for show in self.model["showings"]:
            crew = []
            run = round(show["running_hours"] * 60)
            for name, machine in self.machines.items():
                able = machine["fit"] and set(show["needs"]) <= set(machine["can"])
                if not able or self.banned("stays_out", showing=show["id"], machine=name):
                    continue
                runs = self.cp.new_bool_var(f"{name} at {show['id']}")
                self.runs[name, show["id"]] = runs
                crew.append(runs)
                base = show["stoppage_cost"] * run / 60 * machine["stoppages_per_hour"]
                self.cost(2 * self.way(machine["home"], show["place"])[1] + base, runs)
            missing = self.cp.new_int_var(0, show["machines"], f"missing at {show['id']}")
            self.cp.add(sum(crew) + missing == show["machines"])
            self.cost(UNSTAFFED, missing)
        for name in self.machines:
            shows = [show for show in self.model["showings"] if (name, show["id"]) in self.runs]
            for n, one in enumerate(shows):
                for two in shows[n + 1 :]:
                    if self.clash(name, one, two):
                        self.cp.add_at_most_one(self.runs[name, one["id"]], self.runs[name, two["id"]])

    def away(self, name, show):
        """When a machine leaves home, and when it is back."""
        minutes = self.way(self.machines[name]["home"], show["place"])[0]
        return show["starts"] - minutes, show["ends"] + minutes

    def clash(self, name, one, two):
        """Whether a machine cannot have both."""
        if one["place"] == two["place"]:
            return max(one["starts"], two["starts"]) < min(one["ends"], two["ends"])
        (a, b), (c, d) = self.away(name, one), self.away(name, two)
        return max(a, c) < min(b, d)

    def benches(self):
        """What is done where."""
        preparations = {it["id"]: it for it in self.model["preparations"]}
        for slot in self.model["slots"]:
            minutes, cost = self.way(slot["comes_from"], slot["place"])
            held = self.cp.new_bool_var(slot["id"])
            self.cost(slot["cost"] + 2 * cost, held)
            used, prepared = [], {}
            for work in self.model["work"]:
                home = self.machines[work["machine"]]["home"] == slot["place"]
                allowed = not self.banned("not_in", work=work["id"], slot=slot["id"])
                if not (home and allowed and slot["level"] >= work["level"]):
                    continue
                done = self.cp.new_bool_var(f"{work['id']} in {slot['id']}")
                self.done[work["id"], slot["id"]] = done
                self.cp.add_implication(done, held)
                self.cost(work["cost"] + work["minutes"] * slot["cost_per_minute"], done)
                used.append(work["minutes"] * done)
                if "preparation" in work:
                    key = work["machine"], work["preparation"]
                    if key not in prepared:
                        prepared[key] = self.cp.new_bool_var(f"{key} in {slot['id']}")
                        used.append(preparations[key[1]]["minutes"] * prepared[key])
                        self.cost(preparations[key[1]]["cost"], prepared[key])
                    self.cp.add_implication(done, prepared[key])
                for show in self.model["showings"]:
                    runs = self.runs.get((work["machine"], show["id"]))
                    if runs is None:
                        continue
                    leaves, back = self.away(work["machine"], show)
                    if max(leaves, slot["starts"]) < min(back, slot["starts"] + slot["minutes"]):
                        self.cp.add_at_most_one(runs, done)
            self.cp.add(sum(used) <= slot["minutes"] - 2 * minutes).only_enforce_if(held)
        for work in self.model["work"]:
            slots = [slot for slot in self.model["slots"] if (work["id"], slot["id"]) in self.done]
            for n, one in enumerate(slots):
                for two in slots[n + 1 :]:
                    if max(one["starts"], two["starts"]) < min(
                        one["starts"] + one["minutes"], two["starts"] + two["minutes"]
                    ):
                        self.cp.add_at_most_one(self.done[work["id"], one["id"]], self.done[work["id"], two["id"]])

    def life(self, work):
        """Follows a piece of work through the diary, in quarters of an hour since it was last done."""
        name = work["machine"]
        events = [(show["starts"], 1, show) for show in self.model["showings"] if (name, show["id"]) in self.runs]
        events += [(slot["starts"], 0, slot) for slot in self.model["slots"] if (work["id"], slot["id"]) in self.done]
        events.sort(key=lambda it: it[:2])
        since = self.cp.new_constant(round(work["hours_since"] * 60) // QUARTER)
        most = round(work["hours_since"] * 60) // QUARTER
        late, never = self.model["showings"][-1]["ends"] + 1, 10**7
        holds = self.cp.new_constant(min(work.get("due_by", never), never))
        for at, kind, event in events:
            before, held = since, holds
            if kind == 0:
                done = self.done[work["id"], event["id"]]
                since = self.cp.new_int_var(0, most, "")
                self.cp.add(since == 0).only_enforce_if(done)
                self.cp.add(since == before).only_enforce_if(~done)
                holds = self.cp.new_int_var(-(10**7), never, "")
                expiry = at + event["minutes"] + work["limit_minutes"] if "limit_minutes" in work else never
                self.cp.add(holds == expiry).only_enforce_if(done)
                self.cp.add(holds == held).only_enforce_if(~done)
                self.looked_up([waste(work, QUARTER * n) for n in range(most + 1)], before, done)
                continue
            runs = self.runs[name, event["id"]]
            run = round(event["running_hours"] * 60)
            table = [event["stoppage_cost"] * stoppages(work, QUARTER * n, run) for n in range(most + 1)]
            self.looked_up(table, before, runs)
            self.overdue(work, event, before, held, runs, run)
            most += run // QUARTER
            since = self.cp.new_int_var(0, most, "")
            self.cp.add(since == before + run // QUARTER * runs)
        assert late < never
        left = work["cost_per_hour_left"] / 4
        self.objective.append(round(left * PARTS) * since)
        self.terms.append((left, since))

    def overdue(self, work, show, since, holds, runs, run):
        """Counts a run past a limit of hours or past the day until which the last doing holds."""
        over = self.cp.new_bool_var("")
        if "limit_hours" in work:
            inside = (work["limit_hours"] * 60 - run) // QUARTER
            self.cp.add(since <= inside).only_enforce_if(runs, ~over)
        self.cp.add(holds >= show["ends"]).only_enforce_if(runs, ~over)
        self.cost(OVERDUE, over)

    def looked_up(self, table, index, literal):
        """Adds `table[index]` to the cost where a literal holds."""
        if not any(table):
            return
        scaled = [round(cost * PARTS) for cost in table]
        value = self.cp.new_int_var(0, max(scaled), "")
        found = self.cp.new_int_var(0, max(scaled), "")
        self.cp.add_element(index, scaled, found)
        self.cp.add(value >= found).only_enforce_if(literal)
        self.objective.append(value)
        self.exact.append(lambda solver: table[solver.value(index)] if solver.value(literal) else 0.0)

    def solve(self):
        """The least cost, and whether it is proven."""
        self.cp.minimize(sum(self.objective))
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 2
        solver.parameters.random_seed = 1
        solver.parameters.relative_gap_limit = 0.0
        solver.parameters.max_time_in_seconds = 120
        status = solver.solve(self.cp)
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return float("nan"), False, {}
        cost = sum(cost * solver.value(it) for cost, it in self.terms) + sum(part(solver) for part in self.exact)
        met = {
            "a machine too few": any(cost == UNSTAFFED and solver.value(it) for cost, it in self.terms),
            "a run past a limit": any(cost == OVERDUE and solver.value(it) for cost, it in self.terms),
            "work done": any(solver.value(it) for it in self.done.values()),
            "pins": bool(self.model["pins"]),
        }
        return cost, status == cp_model.OPTIMAL, met


def run(program, _booths, _kinds):
    """All booths."""
    check = Check("plan")
    with tempfile.TemporaryDirectory(prefix="boothwright-plan-") as folder:
        models = [(f"booth {seed}", make(seed)) for seed in range(BOOTHS)]
        models += [(f"booth {seed} for a month", make(seed, MONTH)) for seed in MONTH_SEEDS]
        for name, model in models:
            file = Path(folder) / "model.json"
            file.write_text(json.dumps(model), encoding="utf-8")
            ours = program.json("plan", "solve", file)
            cost, proven, met = Solver(model).solve()
            check.must("proven by the independent solver", name, proven)
            check.must("proven by the program", name, ours["proven"])
            check.near("least cost", name, cost, ours["cost"], TOLERANCE * max(1.0, cost))
            for case, there in met.items():
                check.met[case] += there
    check.must_meet("a machine too few", "a run past a limit", "work done", "pins")
    return check
