"""Machine types as docs/machine-types.md writes them: what the question of what is due needs to know of them."""

import re
import tomllib
from dataclasses import dataclass, field

OF_REELS_AND_SHOWINGS = ("every-reel", "before-showing", "after-showing")
IDLE = re.compile(r"idle-(\d+)-days")
DAYS_IN_A_YEAR = 365


@dataclass
class Task:
    """A care task."""

    id: str
    kind: str
    state: str
    parts: list
    amount: float | None
    days: int | None
    clock: str
    events: list
    once: tuple | None
    safety: bool
    includes: list
    bigger: list = field(default_factory=list)

    @property
    def listed(self):
        """A task that is only a matter of reels and showings has no day."""
        return self.amount is not None or self.days is not None or self.once is not None or bool(self.events)

    @property
    def renews(self):
        """The slot whose part it renews."""
        return self.parts[0] if self.kind == "replace" else None


@dataclass
class Kind:
    """A machine type."""

    id: str
    tasks: dict
    # Slot of each projection lamp → the age in lamp hours under which its death counts as early.
    lamps: dict


def read(path):
    """Reads a type file."""
    with open(path, "rb") as file:
        said = tomllib.load(file)
    tasks = {care["id"]: task(care) for care in said["care"]}
    for one in tasks.values():
        one.bigger = bigger(one.id, tasks)
    lamps = [p["id"] for p in said["part"] if p["group"] == "light" and p["drawn"]["shape"] == "lamp"]
    return Kind(said["id"], tasks, {slot: early_hours(slot, said.get("life", [])) for slot in lamps})


def task(care):
    """One `[[care]]`."""
    every, once = care.get("every", {}), care.get("once_after_fitting")
    days = every.get("days", every["years"] * DAYS_IN_A_YEAR if "years" in every else None)
    events = [word for word in care.get("when", []) if word not in OF_REELS_AND_SHOWINGS]
    return Task(
        id=care["id"],
        kind=care["kind"],
        state=care["state"],
        parts=care["parts"],
        amount=every.get("strikes", every.get("hours")),
        days=days,
        clock="strikes" if "strikes" in every else every.get("clock", "running"),
        events=events,
        once=once and (once["part"], once["hours"]),
        safety=care.get("safety", False),
        includes=care.get("includes", []),
    )


def bigger(task_id, tasks):
    """Every task that contains this one, directly or by way of others."""
    found, wanted = [], [task_id]
    while wanted:
        inner = wanted.pop()
        for other in tasks.values():
            if inner in other.includes and other.id not in found and other.id != task_id:
                found.append(other.id)
                wanted.append(other.id)
    return found


def early_hours(slot, lives):
    """Half of the shortest life that the type gives for a lamp, in lamp hours or hours."""
    scales = [
        life["scale"][clock]
        for life in lives
        for clock in ("lamp_hours", "hours")
        if life["part"] == slot and clock in life["scale"]
    ]
    return min(scales) / 2 if scales else None


def read_all(folders):
    """Every type of some folders; of two with one id the later folder's counts."""
    return {kind.id: kind for folder in folders for kind in map(read, sorted(folder.glob("*.toml")))}
