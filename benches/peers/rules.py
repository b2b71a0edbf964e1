"""What both peers need to know of the machine type: the tasks that are compared, and which bigger tasks contain them."""

import tomllib
from pathlib import Path

NOW_MS = 1795608000000  # 2026-11-25T12:00:00Z
DAY_MS = 86_400_000
NIGHT_MS = 5 * 3_600_000  # a night belongs to the evening before until five


def day(ms):
    """The evening to which a moment belongs, in days since 1970."""
    return (ms - NIGHT_MS) // DAY_MS


def tasks(folder):
    care = tomllib.loads((Path(folder) / "portable-16mm-halogen.toml").read_text())["care"]
    contains = {task["id"]: task.get("includes", []) for task in care}

    def within(bigger, seen):
        for small in contains.get(bigger, []):
            if small not in seen:
                seen.add(small)
                within(small, seen)
        return seen

    bigger = {task["id"]: [other["id"] for other in care if task["id"] in within(other["id"], set())] for task in care}
    compared = []
    for task in care:
        every = task.get("every")
        if not every or "strikes" in every or task["kind"] == "replace":
            continue
        if task.get("once_after_fitting") or task.get("when"):
            continue
        compared.append((task["id"], every.get("hours"), every.get("days"), [task["id"], *bigger[task["id"]]]))
    return compared
