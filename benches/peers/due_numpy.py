"""The same due dates from the same entries, with sqlite3 and numpy alone."""

import json
import sqlite3
import sys

import numpy as np
from rules import DAY_MS, NOW_MS, day, tasks

base = sqlite3.connect(sys.argv[1])
compared = tasks(sys.argv[2])

withdrawn = {row[0] for row in base.execute("SELECT settles FROM entry WHERE kind = 'withdraws'")}
corrected = dict(base.execute("SELECT settles, hours FROM entry WHERE kind = 'corrects' ORDER BY recorded_ms"))
added = base.execute("SELECT machine, happened_ms FROM entry WHERE kind = 'machine-added' ORDER BY machine").fetchall()
place = {machine: at for at, (machine, _) in enumerate(added)}
entered = np.array([ms for _, ms in added])
n = len(added)

rows = base.execute("SELECT id, machine, happened_ms, hours FROM entry WHERE kind = 'ran'").fetchall()
ids, on, ms, hours = zip(*rows)
on = np.fromiter((place[one] for one in on), np.int64, len(on))
ms = np.array(ms)
hours = np.fromiter((corrected.get(one, written) for one, written in zip(ids, hours)), float, len(ids))
order = np.lexsort((ms, on))
on, ms, hours = on[order], ms[order], hours[order]
cumulated = np.cumsum(hours)
first = np.searchsorted(on, np.arange(n))
end = np.searchsorted(on, np.arange(n), side="right")
before = np.concatenate(([0.0], cumulated))
total = before[end] - before[first]
since = lambda days: np.bincount(on, np.where(ms > NOW_MS - days * DAY_MS, hours, 0.0), n) / days
rate = np.maximum(since(90), since(365))
key = on * (1 << 42) + ms

rows = base.execute("SELECT id, machine, task, happened_ms FROM entry WHERE kind = 'care-done'").fetchall()
rows = [row for row in rows if row[0] not in withdrawn]
_, care_on, care_task, care_ms = zip(*rows)
task_place = {task: at for at, task in enumerate(sorted(set(care_task)))}
care_on = np.fromiter((place[one] for one in care_on), np.int64, len(care_on))
care_task = np.fromiter((task_place[one] for one in care_task), np.int64, len(care_task))
care_ms = np.array(care_ms)
last = np.full((len(task_place), n), -1, np.int64)
np.maximum.at(last, (care_task, care_on), care_ms)

diary = {}
for machine, starts, long in base.execute(
    "SELECT machine, starts_ms, hours FROM entry WHERE kind = 'showing-planned' AND starts_ms + hours * 3600000 > ? ORDER BY starts_ms",
    (NOW_MS,),
):
    diary.setdefault(place[machine], []).append((day(starts), long))
diary = {at: (np.cumsum([long for _, long in turns]), [on for on, _ in turns]) for at, turns in diary.items()}

today = day(NOW_MS)
found = {"tasks": 0, "recorded": 0, "hours": 0.0, "days": 0.0, "forecast_days": 0.0}
for task, interval, days, within in compared:
    known = [last[task_place[one]] for one in within if one in task_place]
    when = np.max(known, axis=0)
    recorded = when >= 0
    ran = np.where(recorded, before[np.searchsorted(key, np.arange(n) * (1 << 42) + when, side="right")] - before[first], 0.0)
    when = np.where(recorded, when, entered)
    found["tasks"] += n
    found["recorded"] += int(recorded.sum())
    forecast = np.full(n, np.inf)
    if days is not None:
        left = days - (today - day(when))
        found["days"] += float(left.sum())
        forecast = np.maximum(left, 0).astype(float)
    if interval is not None:
        left = interval - (total - ran)
        found["hours"] += float(left.sum())
        with np.errstate(divide="ignore"):
            by_rate = np.where(left <= 0, 0, np.ceil(left / rate))
        for at, (planned, on_day) in diary.items():
            rest = left[at]
            turn = np.searchsorted(planned, rest)
            if rest <= 0:
                by_rate[at] = 0
            elif turn < len(planned):
                by_rate[at] = max(on_day[turn] - today, 0)
            else:
                by_rate[at] = max(on_day[-1] - today, 0) + np.ceil((rest - planned[-1]) / rate[at])
        by_rate[by_rate > 36_500] = np.inf
        forecast = np.minimum(forecast, by_rate)
    found["forecast_days"] += float(forecast[np.isfinite(forecast)].sum())
print(json.dumps(found))
