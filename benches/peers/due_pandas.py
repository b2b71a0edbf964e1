"""The same due dates from the same entries, with sqlite3 and pandas."""

import json
import sqlite3
import sys

import numpy as np
import pandas as pd
from rules import DAY_MS, NOW_MS, day, tasks

log = pd.read_sql("SELECT * FROM entry", sqlite3.connect(sys.argv[1]))
compared = tasks(sys.argv[2])

log = log[~log.id.isin(log.settles[log.kind == "withdraws"])]
corrected = log[log.kind == "corrects"].drop_duplicates("settles", keep="last").set_index("settles").hours
machines = log[log.kind == "machine-added"][["machine", "happened_ms"]].set_index("machine").happened_ms
names = machines.index.sort_values()

runs = log[log.kind == "ran"][["id", "machine", "happened_ms", "hours"]].copy()
runs["hours"] = runs.id.map(corrected).fillna(runs.hours)
runs = runs.sort_values("happened_ms", kind="stable")
runs["total"] = runs.groupby("machine").hours.cumsum()
total = runs.groupby("machine").total.last().reindex(names).fillna(0.0)
recent = runs[runs.happened_ms > NOW_MS - 90 * DAY_MS].groupby("machine").hours.sum().reindex(names).fillna(0.0)
year = runs[runs.happened_ms > NOW_MS - 365 * DAY_MS].groupby("machine").hours.sum().reindex(names).fillna(0.0)
rate = np.maximum(recent / 90, year / 365)

care = log[log.kind == "care-done"][["machine", "task", "happened_ms"]].sort_values("happened_ms", kind="stable")
care = pd.merge_asof(care, runs[["machine", "happened_ms", "total"]], on="happened_ms", by="machine").fillna({"total": 0.0})
last = care.groupby(["task", "machine"]).last()

diary = log[(log.kind == "showing-planned") & (log.starts_ms + log.hours * 3_600_000 > NOW_MS)].sort_values("starts_ms")
diary = {machine: (group.hours.cumsum().to_numpy(), day(group.starts_ms.to_numpy())) for machine, group in diary.groupby("machine")}
at_diary = names.get_indexer(list(diary))

today = day(NOW_MS)
found = {"tasks": 0, "recorded": 0, "hours": 0.0, "days": 0.0, "forecast_days": 0.0}
for task, hours, days, within in compared:
    rows = [last.loc[one].reindex(names) for one in within if one in last.index.get_level_values(0)]
    at = pd.concat([row.happened_ms for row in rows], axis=1)
    when = at.max(axis=1)
    ran = pd.Series(np.nan, index=names)
    for row in rows:
        ran = ran.where(row.happened_ms != when, row.total)
    recorded = when.notna()
    when = when.fillna(machines.reindex(names))
    ran = ran.fillna(0.0)
    found["tasks"] += len(names)
    found["recorded"] += int(recorded.sum())
    forecast = np.full(len(names), np.inf)
    if days is not None:
        left = days - (today - day(when))
        found["days"] += float(left.sum())
        forecast = left.clip(lower=0).to_numpy()
    if hours is not None:
        left = (hours - (total - ran)).to_numpy()
        found["hours"] += float(left.sum())
        with np.errstate(divide="ignore"):
            by_rate = np.where(left <= 0, 0, np.ceil(left / rate.to_numpy()))
        for at_machine, (planned, on) in zip(at_diary, diary.values()):
            rest = left[at_machine]
            turn = np.searchsorted(planned, rest)
            if rest <= 0:
                by_rate[at_machine] = 0
            elif turn < len(planned):
                by_rate[at_machine] = max(on[turn] - today, 0)
            else:
                by_rate[at_machine] = max(on[-1] - today, 0) + np.ceil((rest - planned[-1]) / rate.iloc[at_machine])
        by_rate[by_rate > 36_500] = np.inf
        forecast = np.minimum(forecast, by_rate)
    found["forecast_days"] += float(forecast[np.isfinite(forecast)].sum())
print(json.dumps(found))
