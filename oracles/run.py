#!/usr/bin/env python3
"""Checks the built program from outside: another language, other libraries, other ways of working things out.

    .venv/bin/python oracles/run.py [--binary PATH] [--only NAME …]

Prints a line for each check and `N passed, M failed` in the end; exits with 1 if any check failed.
"""

import argparse
import importlib
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(Path(__file__).resolve().parent))

import awkward  # noqa: E402
import kinds as machine_types  # noqa: E402
from program import Program  # noqa: E402

NOW = "2026-11-25T18:00:00+00:00[Atlantic/Faroe]"
DEMO_SEEDS = (16, 1, 2)
AWKWARD_SEEDS = range(40)
CHECKS = ("chain", "clocks", "due", "zones", "film", "sound_check", "fault_check", "plan_check", "lives_check", "venue_check")


@dataclass
class Made:
    """A booth that was made for the checks."""

    name: str
    folder: Path
    data: Path
    export: Path
    # Its own machine types, beside the shipped ones; none: only those.
    kinds: dict | None = None
    # Holds bodies that are not as the document says, on purpose.
    hostile: bool = False


def make_demo(program, folder, seed):
    """The invented booth of a seed."""
    folder.mkdir()
    made = Made(f"demo {seed}", folder, folder / "booth", folder / "log.jsonl")
    program.text("demo", "--no-serve", "--seed", seed, data=made.data)
    program.text("logbook", "export", made.export, data=made.data)
    return made


def make_awkward(program, folder, seed):
    """A logbook of every awkward case, written by this check and not by the program, and brought in as a file."""
    folder.mkdir()
    made = Made(f"awkward {seed}", folder, folder / "booth", folder / "log.jsonl", hostile=True)
    types = made.data / "types"
    types.mkdir(parents=True)
    (types / "awkward-16mm.toml").write_text(awkward.machine_type(), encoding="utf-8")
    made.kinds = machine_types.read_all([ROOT / "types", types])
    written = folder / "written.jsonl"
    written.write_text(awkward.log(seed, program.now), encoding="utf-8")
    program.text("logbook", "import", written, data=made.data)
    program.text("logbook", "export", made.export, data=made.data)
    return made


def options():
    """The command line."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--binary", default=ROOT / "target" / "release" / "boothwright", type=Path)
    parser.add_argument("--only", nargs="*", choices=CHECKS, default=CHECKS)
    return parser.parse_args()


def main():
    """Makes the booths, runs the checks, says how they went."""
    asked = options()
    if not asked.binary.exists():
        sys.exit(f"there is no {asked.binary}: build it with `cargo build --release`, or name another with --binary")
    program = Program(asked.binary, NOW)
    began = time.monotonic()
    with tempfile.TemporaryDirectory(prefix="boothwright-check-") as folder:
        folder = Path(folder)
        booths = [make_demo(program, folder / f"demo-{seed}", seed) for seed in DEMO_SEEDS]
        booths += [make_awkward(program, folder / f"awkward-{seed}", seed) for seed in AWKWARD_SEEDS]
        kinds = machine_types.read_all([ROOT / "types"])
        passed = [importlib.import_module(name).run(program, booths, kinds).tell() for name in asked.only]
    print(f"{len(booths)} booths, {time.monotonic() - began:.0f} s")
    print(f"{sum(passed)} passed, {len(passed) - sum(passed)} failed")
    sys.exit(0 if all(passed) else 1)


if __name__ == "__main__":
    main()
