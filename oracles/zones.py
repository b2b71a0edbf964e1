"""Showings on nights when the clocks change: start and end instants against Python's zoneinfo.

The second implementation reads the same public time zone data (IANA) in its own way. What a clock time means that a
change skips or brings twice is settled by RFC 5545, section 3.3.5 (from memory): a skipped one is read with the
offset before the change, one that comes twice is the first.
"""

import random
from datetime import date, datetime, time, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from awkward import Pen
from entries import EPOCH
from report import Check

ZONES = ("Europe/London", "America/New_York", "Atlantic/Faroe")
YEARS = (2026, 2027, 2028)
# Starts around a change, in minutes of the wall clock after the midnight before it.
STARTS = (-90, -30, 30, 59, 60, 61, 90, 119, 120, 150, 180, 240, 20 * 60)
LENGTHS = ((94, "1h 34m"), (180, "3h"), (47.5, "47.5 min"))
NIGHT_ENDS = time(4, 30)
BEGINS_MS = 1_767_225_600_000  # 2026-01-01T00:00:00Z


def changes(zone, year):
    """The days of a year on which the clocks of a zone change."""
    days = [date(year, 1, 1) + timedelta(days=n) for n in range(366)]
    noon = [datetime.combine(day, time(12), zone).utcoffset() for day in days]
    return [days[n] for n in range(1, 366) if noon[n] != noon[n - 1] and days[n].year == year]


def set_up(program, folder, zone_name):
    """A booth in a zone, from a logbook of three entries."""
    pen = Pen(random.Random(zone_name), ZoneInfo(zone_name))
    body = {"name": "A booth", "zone": zone_name, "night_ends": NIGHT_ENDS.isoformat(), "units": "metric"}
    for kind, body in (
        ("booth-named", body),
        ("person-added", {"person": "ada", "name": "Ada", "role": "keeper"}),
        ("machine-added", {"machine": "m", "name": "M", "machine_type": "portable-16mm-halogen"}),
    ):
        pen.write(BEGINS_MS, "ada", kind, body, precision="second", later_ms=0)
    file, data = folder / "set-up.jsonl", folder / "booth"
    file.write_text("\n".join(pen.lines()) + "\n", encoding="utf-8")
    program.text("logbook", "import", file, data=data)
    return data


def instant(text):
    """An instant, from RFC 3339 or RFC 9557 text."""
    return datetime.fromisoformat(text.split("[")[0]).astimezone(EPOCH.tzinfo)


def check_change(check, program, data, zone, day):
    """Plans showings around one change, then reads them back on the evening before."""
    noon = datetime.combine(day - timedelta(days=1), time(12), zone)
    then = program.at(f"{noon.isoformat()}[{zone.key}]")
    planned = {}
    for n, minutes in enumerate(STARTS):
        wall = datetime.combine(day, time(0)) + timedelta(minutes=minutes)
        length, words = LENGTHS[n % len(LENGTHS)]
        name = f"{day}-{n}"
        then.json("logbook", "add", "showing", name, wall.isoformat(), words, "A film", data=data)
        # fold=0: the first of two, and for a skipped time the offset before the change.
        starts = wall.replace(tzinfo=zone, fold=0).astimezone(EPOCH.tzinfo)
        planned[name] = (wall, starts, starts + timedelta(minutes=length))
    tonight = then.json("tonight", data=data)
    read = {one["showing"]: one for one in [*tonight["this_evening"], *tonight["next_days"]]}
    for name, (wall, starts, ends) in planned.items():
        where = f"{zone.key}, {wall.isoformat()}"
        check.must("showings read back", where, name in read)
        if name not in read:
            continue
        check.same("starts", where, starts, instant(read[name]["starts"]))
        check.same("ends", where, ends, instant(read[name]["ends"]))
        local = starts.astimezone(zone)
        check.same("offsets", where, f"{local.isoformat()}[{zone.key}]", read[name]["starts"])
        evening = (local.replace(tzinfo=None) - timedelta(hours=NIGHT_ENDS.hour, minutes=NIGHT_ENDS.minute)).date()
        check.same("evenings", where, evening.isoformat(), read[name]["evening"])
        stood = (ends.astimezone(zone).replace(tzinfo=None) - local.replace(tzinfo=None)) != ends - starts
        check.met["a showing across a change"] += stood
        check.met["a skipped start"] += local.replace(tzinfo=None) != wall
        check.met["a start that comes twice"] += wall.replace(tzinfo=zone, fold=1).utcoffset() < local.utcoffset()


def run(program, booths, _kinds):
    """Every change of every zone."""
    check = Check("zones")
    base = Path(booths[0].folder).parent
    for zone_name in ZONES:
        folder = base / zone_name.replace("/", "-")
        folder.mkdir()
        zone = ZoneInfo(zone_name)
        data = set_up(program, folder, zone_name)
        for year in YEARS:
            for day in changes(zone, year):
                check_change(check, program, data, zone, day)
    check.must_meet("a showing across a change", "a skipped start", "a start that comes twice")
    return check
