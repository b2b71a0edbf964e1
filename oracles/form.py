"""The form of bodies, read out of the tables of docs/logbook-format.md itself, so that the document is tested."""

import re
from datetime import date, time
from functools import cache
from pathlib import Path

DOCUMENT = Path(__file__).resolve().parent.parent / "docs" / "logbook-format.md"
ROW = re.compile(r"^\| (?P<names>`[^|]+`) \| (?P<value>[^|]+) \| (?P<need>needed|may be absent) \|")
ZONED = re.compile(r"\d{4}-\d\d-\d\dT[\d:.]+([+-]\d\d:\d\d|Z)\[[\w/+-]+\]")
HEADING = re.compile(r"^#{2,3} (`(?P<name>[^`]+)`|Settling: `(?P<first>[a-z]+)` and `[a-z]+`)")


@cache
def tables():
    """Kind or inner object → field → (what value, needed)."""
    found, at = {}, None
    for row in DOCUMENT.read_text(encoding="utf-8").splitlines():
        if heading := HEADING.match(row):
            at = found.setdefault(heading["name"] or heading["first"], {})
        elif row.startswith("#"):
            at = None
        elif at is not None and (field := ROW.match(row)):
            for name in re.findall(r"`([^`]+)`", field["names"]):
                at[name] = (field["value"].strip(), field["need"] == "needed")
    # "An object with one key", says the document in words.
    found["About"] = {key: ("id", False) for key in ("machine", "part", "print", "place", "showing")}
    return found


def kinds():
    """The kinds of entries."""
    return [name for name in tables() if name[0].islower()]


def is_number(value):
    return isinstance(value, (int, float)) and not isinstance(value, bool)


def is_read_by(read):
    def check(value):
        try:
            return isinstance(value, str) and read(value) is not None
        except ValueError:
            return False

    return check


PLAIN = {
    "id": lambda value: isinstance(value, str) and 1 <= len(value.encode()) <= 64 and value == value.strip(),
    "entry id": lambda value: isinstance(value, str) and len(value) == 36,
    "text": lambda value: isinstance(value, str),
    "true or false": lambda value: isinstance(value, bool),
    "whole number": lambda value: isinstance(value, int) and not isinstance(value, bool),
    "texts by key": lambda value: isinstance(value, dict) and all(isinstance(v, str) for v in value.values()),
    "two numbers (h)": lambda value: isinstance(value, list) and len(value) == 2 and all(map(is_number, value)),
    "object": lambda value: isinstance(value, dict),
    "text, whole number": lambda value: isinstance(value, (str, int)),
    "date (`2026-03-20`)": is_read_by(date.fromisoformat),
    "time (`05:00:00`)": is_read_by(time.fromisoformat),
    "moment with zone (RFC 9557)": is_read_by(ZONED.fullmatch),
    '`{"unix_ms", "offset_s", "precision"}`': lambda value: isinstance(value, dict) and is_number(value["unix_ms"]),
}


def fits_value(value, what):
    """Whether a value is what a table says it is."""
    if what in PLAIN:
        return PLAIN[what](value)
    if what.startswith("word "):
        return value in re.findall(r"`([^`]+)`", what)
    if what.startswith("number"):
        return is_number(value)
    if what.startswith("list of "):
        inner = what.removeprefix("list of ")
        return isinstance(value, list) and all(fits_value(one, inner) for one in value)
    inner = what.strip("`")
    if inner in tables():
        return not faults(inner, value)
    raise ValueError(f"the document speaks of a value `{what}` that this check does not know")


def faults(kind, body):
    """Everything in a body that the document does not have, or has otherwise."""
    table = tables()[kind]
    if not isinstance(body, dict):
        return [f"{kind} is no object"]
    found = [f"{kind} has no `{name}`" for name, (_, needed) in table.items() if needed and name not in body]
    for name, value in body.items():
        if name not in table:
            found.append(f"{kind} has a `{name}` that the document does not know")
        elif not fits_value(value, table[name][0]):
            found.append(f"`{name}` of {kind} is not {table[name][0]}: {value!r}")
    return found


def can_be_read(line):
    """Whether an entry is of a known kind and version, with what is needed in it; further fields do no harm."""
    if line.version != 1 or line.kind not in kinds() or not isinstance(line.body, dict):
        return False
    return not [fault for fault in faults(line.kind, line.body) if "does not know" not in fault]
