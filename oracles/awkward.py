"""Logbooks of every awkward case, from a seed: invented, written as docs/logbook-format.md says, chain and all.

The gate would refuse much of this. It is what comes of logbooks brought together, of clocks set wrong, of slips of
the pen put right later, and of meters that stick, roll over and are replaced.
"""

import json
import random
import re
import uuid
from datetime import datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from entries import EPOCH, PRECISIONS, Entry, When, chain_hash, written

HERE = Path(__file__).resolve().parent
KIND = "awkward-16mm"
ZONES = ("Europe/London", "America/New_York", "Atlantic/Faroe", "Australia/Lord_Howe", "UTC")
SLOTS = ("guide-roller", "sprocket", "lamp", "belt")
ENDINGS = ("failed", "worn", "planned", "borrowed", "damaged", "unknown")
EVENTS = ("transport", "after-transport", "repair", "after-repair", "shock", "wet-or-salt", "new-site", "barked-at")
DAYS_BACK, DAYS_ON = 620, 40
MS_PER_DAY = 86_400_000


def machine_type():
    """The whole file that docs/machine-types.md shows, under another id, with more parts and care."""
    document = (HERE.parent / "docs" / "machine-types.md").read_text(encoding="utf-8")
    example = re.findall(r"```toml\n(.*?)```", document, re.DOTALL)[-1]
    renamed = re.sub(r'^id = "[^"]+"', f'id = "{KIND}"', example, count=1)
    more = (HERE / "awkward.toml").read_text(encoding="utf-8")
    part, care = more[: more.index("[[care]]")], more[more.index("[[care]]") :]
    return f"{renamed}\n{part}\n{care}"


def tasks():
    """The ids of all care."""
    return re.findall(r'\[\[care\]\]\nid = "([^"]+)"', machine_type())


class Pen:
    """Writes entries: two devices, each with its own numbers and chain."""

    def __init__(self, dice, zone):
        self.dice, self.zone = dice, zone
        self.devices = {self.any_uuid(): [] for _ in range(2)}

    def any_uuid(self, ms=0):
        """A UUID of version 7 (RFC 9562) for a moment."""
        bits = (ms & (1 << 48) - 1) << 80 | 7 << 76 | self.dice.getrandbits(12) << 64
        return str(uuid.UUID(int=bits | 2 << 62 | self.dice.getrandbits(62)))

    def when(self, ms, precision="second"):
        """A moment on the wall clock of the zone; a vague one stands at noon, of the 15th if it is a month."""
        at = (EPOCH + timedelta(milliseconds=ms)).astimezone(self.zone)
        if precision in ("day", "month"):
            at = datetime(at.year, at.month, 15 if precision == "month" else at.day, 12, tzinfo=self.zone)
        # Between two zoned times of one zone Python subtracts the wall clocks, so both go to UTC first.
        unix_ms = (at.astimezone(EPOCH.tzinfo) - EPOCH) // timedelta(milliseconds=1)
        return When(unix_ms, int(at.utcoffset().total_seconds()), PRECISIONS.index(precision))

    def write(self, ms, by, kind, body, precision=None, later_ms=None, version=1):
        """Writes one entry; how exactly and how much later it was written is thrown if nothing is said."""
        dice = self.dice
        precision = precision or dice.choices(PRECISIONS, [50, 30, 19, 1])[0]
        if later_ms is None:
            later_ms = dice.choice([1_000, 60_000, 3_600_000, 2 * MS_PER_DAY, 40 * MS_PER_DAY, -300_000])
        recorded = self.when(ms + later_ms)
        device = dice.choice(list(self.devices))
        text = json.dumps(body, ensure_ascii=dice.random() < 0.5, separators=dice.choice([(",", ":"), (", ", ": ")]))
        happened = self.when(ms, precision)
        # Ids come from the device's clock, which need not be that of whoever wrote the moment down.
        made_ms = recorded.ms + dice.choice([0, 0, -MS_PER_DAY, MS_PER_DAY])
        entry = Entry(self.any_uuid(made_ms), device, 0, happened, recorded, by, kind, version, text, "", body)
        self.devices[device].append(entry)
        return entry

    def lines(self):
        """Everything that was written, with numbers and hashes, as lines of a file in no special order."""
        lines = []
        for entries in self.devices.values():
            previous = bytes(32)
            for number, entry in enumerate(entries, 1):
                entry.number = number
                previous = chain_hash(previous, entry)
                entry.hash = previous.hex()
                lines.append(written(entry))
        self.dice.shuffle(lines)
        return lines


class Story:
    """What happens in one booth."""

    def __init__(self, seed, now_text):
        self.dice = random.Random(seed)
        self.zone_name = self.dice.choice(ZONES)
        self.pen = Pen(self.dice, ZoneInfo(self.zone_name))
        self.now_ms = (datetime.fromisoformat(now_text.split("[")[0]) - EPOCH) // timedelta(milliseconds=1)
        self.machines = [f"m{n}" for n in range(self.dice.randint(2, 6))]
        self.meters = {}
        self.parts = []
        self.showings = []
        self.facts = []
        self.tasks = tasks()
        # A day every other run of the machine falls on, so that some machines stand idle.
        self.busy = {machine: self.dice.choice([0.05, 0.5, 1.0]) for machine in self.machines}

    def say(self, ms, kind, body, **more):
        """Writes a fact that may be corrected later."""
        entry = self.pen.write(ms, self.dice.choice(["ada", "bo", "cy", "dee"]), kind, body, **more)
        self.facts.append(entry)
        return entry

    def begin(self, ms):
        """The booth, its people and its machines."""
        night = self.dice.choice(["05:00:00", "04:30:00", "00:00:00", "02:15:30"])
        body = {"name": "A booth", "zone": self.zone_name, "night_ends": night, "units": "us"}
        self.pen.write(ms, "ada", "booth-named", body, precision="second", later_ms=0)
        for person, role in (("ada", "keeper"), ("bo", "operator"), ("cy", "technician")):
            body = {"person": person, "name": person.title(), "role": role}
            self.pen.write(ms, "ada", "person-added", body, precision="second")
        for machine in self.machines:
            self.add(ms + self.dice.randint(0, 60) * MS_PER_DAY, machine)
        if self.dice.random() < 0.5:
            self.newcomer()

    def newcomer(self):
        """A machine that has been here for less than a week, and ran."""
        self.machines.append("new")
        self.busy["new"] = 0.2
        ms = self.now_ms - self.dice.randint(1, 5) * MS_PER_DAY
        self.add(ms, "new")
        for hours in (1.5, 2.25):
            self.say(ms + MS_PER_DAY // 5, "ran", {"machine": "new", "run": "showing", "hours": hours})

    def add(self, ms, machine):
        dice = self.dice
        kind = dice.choices([KIND, "portage-8mm-unknown", "super8-sound"], [10, 1, 1])[0]
        body = {"machine": machine, "name": machine.upper(), "machine_type": kind}
        if dice.random() < 0.6:
            self.meters[machine] = dice.choice([0.0, 12.5, 980.25, 9_990.0])
            body["meter_hours"] = self.meters[machine]
        if dice.random() < 0.5:
            body["hours_before"] = round(dice.uniform(0, 3000), 2)
            body["hours_estimated"] = dice.random() < 0.5
        self.say(ms, "machine-added", body)
        if dice.random() < 0.4:
            self.parts.append(f"p{len(self.parts)}")
            body = {"part": self.parts[-1], "slot": "lamp", "machine": machine, "age_hours": 0}
            self.say(ms + 3_600_000, "part-fitted", body, precision="minute")

    def step(self, ms):
        """Something happens."""
        acts = {
            self.ran: 40,
            self.meter_read: 8,
            self.meter_jumped: 1.5,
            self.care_done: 30,
            self.care_deferred: 5,
            self.part_fitted: 7,
            self.part_moved: 3,
            self.part_removed: 2,
            self.showing_planned: 12,
            self.showing_news: 8,
            self.machine_event: 6,
            self.fitness_set: 3,
            self.settled: 12,
            self.machine_comes_or_goes: 0.8,
            self.nonsense: 1.5,
            self.person_changed: 2,
            self.released: 1.5,
            self.fitness_contested: 1.5,
            self.roles_contested: 1,
            self.arrival_contested: 1,
        }
        self.dice.choices(list(acts), list(acts.values()))[0](ms)

    def machine(self):
        if self.dice.random() < 0.01:
            return "nobody-added-this"
        return self.dice.choices(self.machines, [self.busy[machine] for machine in self.machines])[0]

    def ran(self, ms):
        dice, machine = self.dice, self.machine()
        run = dice.choices(["showing", "rehearsal", "test", "rewind"], [60, 10, 10, 20])[0]
        hours = round(dice.choice([dice.uniform(0, 4), 0.0, 0.25, 2.5]), 3)
        if dice.random() < 0.02:
            hours = dice.choice([-1.0, 24.5, 240.0])
        if machine in self.meters and 0 <= hours <= 24:
            self.meters[machine] += hours * dice.choice([1.0, 1.0, 1.05, 0.0])
        body = {"machine": machine, "run": run, "hours": hours}
        if dice.random() < 0.15:
            body["lit_hours"] = round(dice.choice([hours / 2, 30.0, 0.0]), 3)
        if dice.random() < 0.15:
            body["strikes"] = dice.randint(0, 4)
        if dice.random() < 0.1:
            body["estimated"] = True
        if dice.random() < 0.3 and self.showings:
            body["showing"] = dice.choice(self.showings)
        self.say(ms, "ran", body)

    def meter_read(self, ms):
        machine, dice = self.machine(), self.dice
        figure = self.meters.get(machine, dice.uniform(0, 100))
        slip = dice.choices([0.0, 5.0, -3.0, 400.0, -20.0, 2_000_000.0], [70, 12, 5, 3, 5, 1])[0]
        if slip in (5.0, -3.0):
            self.meters[machine] = figure + slip
        self.say(ms, "meter-read", {"machine": machine, "reading_hours": round(figure + slip, 1)})

    def meter_jumped(self, ms):
        machine, dice = self.machine(), self.dice
        why = dice.choice(["replaced", "rolled-over", "reset"])
        body = {"machine": machine, "why": why, "new_reading_hours": round(dice.choice([0.0, 3.5, 100.0]), 1)}
        if dice.random() < 0.6:
            body["old_reading_hours"] = round(max(self.meters.get(machine, 0.0) + dice.choice([0, 0, 2, -9]), 0), 1)
        self.meters[machine] = body["new_reading_hours"]
        self.say(ms, "meter-replaced", body)

    def care_done(self, ms):
        dice = self.dice
        outcome = dice.choices(["done", "fine", "attention", "skipped", "cannot-tell"], [50, 20, 10, 10, 10])[0]
        body = {"machine": self.machine(), "task": dice.choice([*self.tasks, "no-such-task"]), "outcome": outcome}
        if body["task"] == "slot-by-slot" and dice.random() < 0.8:
            body["slot"] = dice.choice(["guide-roller", "sprocket"])
        elif dice.random() < 0.05:
            body["slot"] = dice.choice(SLOTS)
        if dice.random() < 0.1:
            body["includes"] = dice.sample(self.tasks, 2)
        self.say(ms, "care-done", body)

    def care_deferred(self, ms):
        dice = self.dice
        body = {"machine": self.machine(), "task": dice.choice(self.tasks), "why": "no oil"}
        if dice.random() < 0.7:
            until = EPOCH + timedelta(milliseconds=ms) + timedelta(days=dice.choice([5, 60, 400]))
            body["until_date"] = until.date().isoformat()
        if dice.random() < 0.4:
            body["until_hours_run"] = dice.choice([50.0, 500.0, 2000.0, 4000.0])
        if body["task"] == "slot-by-slot":
            body["slot"] = dice.choice(["guide-roller", "sprocket"])
        entry = self.say(ms, "care-deferred", body)
        if dice.random() < 0.3:
            done = {key: body[key] for key in ("machine", "task", "slot") if key in body} | {"outcome": "fine"}
            self.say(entry.happened.ms + 60_000, "care-done", done)

    def slot(self):
        return self.dice.choices(SLOTS, [1, 1, 6, 3])[0]

    def replaced(self):
        body = {"why": self.dice.choice(ENDINGS)}
        if self.dice.random() < 0.3:
            body["part"] = self.part()
        return body

    def part(self):
        dice = self.dice
        if not self.parts or dice.random() < 0.5:
            self.parts.append(f"p{len(self.parts)}")
            return self.parts[-1]
        return dice.choice(self.parts)

    def part_fitted(self, ms):
        dice = self.dice
        body = {"part": self.part(), "slot": self.slot(), "machine": self.machine()}
        if dice.random() < 0.7:
            body["age_hours"] = dice.choice([0, 0.0, 7.25, 300.0, -5.0])
        if dice.random() < 0.3:
            body["age_days"] = dice.choice([0, 10, 900])
        if dice.random() < 0.3:
            body["strikes"] = dice.choice([0, 20, 70])
        if dice.random() < 0.7:
            body["replaces"] = self.replaced()
        self.say(ms, "part-fitted", body)

    def part_moved(self, ms):
        dice = self.dice
        body = {"part": self.part(), "machine": self.machine(), "slot": self.slot(), "why": dice.choice(ENDINGS)}
        if dice.random() < 0.6:
            body["replaces"] = self.replaced()
        self.say(ms, "part-moved", body)

    def part_removed(self, ms):
        self.say(ms, "part-removed", {"part": self.part(), "why": self.dice.choice(ENDINGS)})

    def showing_planned(self, ms):
        dice = self.dice
        again = self.showings and dice.random() < 0.4
        showing = dice.choice(self.showings) if again else f"s{len(self.showings)}"
        if not again:
            self.showings.append(showing)
        zone_name = dice.choice([self.zone_name, self.zone_name, "Pacific/Auckland"])
        about_ms = dice.choice([ms, self.now_ms])
        starts = EPOCH + timedelta(milliseconds=about_ms, hours=dice.randint(-12, 1440))
        starts = starts.astimezone(ZoneInfo(zone_name))
        starts = starts.replace(microsecond=0)
        offset = starts.isoformat()
        assigned = [{"machine": m} for m in dice.sample(self.machines, dice.randint(0, 2))]
        for one in assigned:
            if dice.random() < 0.3:
                one["running_hours"] = dice.choice([1.25, 0.0, 2.0, 30.0])
        length = dice.choice([94.0, 110.5, 30, 180, 0.0, 2000.0])
        body = {"showing": showing, "title": "A film", "starts": f"{offset}[{zone_name}]", "length_minutes": length}
        self.say(ms, "showing-planned", body | ({"machines": assigned} if assigned else {}))

    def showing_news(self, ms):
        if not self.showings:
            return
        showing = self.dice.choice([*self.showings, "never-planned"])
        if self.dice.random() < 0.6:
            self.say(ms, "showing-held", {"showing": showing, "lasted_minutes": self.dice.choice([95.5, 0.0])})
        else:
            self.say(ms, "showing-cancelled", {"showing": showing, "why": "storm"})

    def machine_event(self, ms):
        if self.dice.random() < 0.2:
            ms = self.now_ms + self.dice.randint(1, 30) * 3_600_000
        self.say(ms, "machine-event", {"machine": self.machine(), "event": self.dice.choice(EVENTS)})

    def fitness_set(self, ms):
        fitness = self.dice.choice(["fit", "fit", "fit", "limited", "unfit", "danger", "danger"])
        self.say(ms, "fitness-set", {"machine": self.machine(), "fitness": fitness, "why": "looked at"})

    def released(self, ms):
        """A release written down late, or too early: what somebody was when it was written counts."""
        machine, dice = self.machine(), self.dice
        roles = dice.sample(["technician", "operator"], 2)
        dangerous = {"machine": machine, "fitness": "danger", "why": "smoke"}
        self.pen.write(ms, "cy", "fitness-set", dangerous, precision="minute")
        for days, role in ((0, roles[0]), (6, roles[1])):
            body = {"person": "bo", "name": "Bo", "role": role}
            self.pen.write(ms + days * MS_PER_DAY, "ada", "person-added", body, precision="minute")
        fit = {"machine": machine, "fitness": "fit", "why": "mended"}
        late_ms = dice.choice([0, 5 * MS_PER_DAY])
        self.pen.write(ms + 3 * MS_PER_DAY, "bo", "fitness-set", fit, precision="minute", later_ms=late_ms)

    def person_changed(self, ms):
        body = {"person": "bo", "name": "Bo", "role": self.dice.choice(["technician", "operator"])}
        self.say(ms, "person-added", body)

    def fitness_contested(self, ms):
        """Whether a machine may run, written and settled by people who may decide it and people who may not."""
        dice, machine = self.dice, self.machine()

        def decision():
            fitness = dice.choices(["danger", "fit", "limited"], [4, 4, 1])[0]
            elsewhere = dice.random() < 0.1
            return {"machine": self.machine() if elsewhere else machine, "fitness": fitness, "why": "looked at"}

        known = []
        for _ in range(dice.randint(2, 7)):
            ms += dice.randint(0, 3) * 3_600_000
            more = {"later_ms": dice.choice([0, 1_000, 3 * 3_600_000]), "precision": "minute"}
            if not known or dice.random() < 0.25:
                kind = dice.choices(["fitness-set", "ran"], [4, 1])[0]
                body = decision() if kind == "fitness-set" else {"machine": machine, "run": "test", "hours": 0.25}
                known.append(self.say(ms, kind, body, **more))
                continue
            entry = dice.choice(known)
            if dice.random() < 0.45:
                known.append(self.say(ms, "withdraws", {"entry": entry.id, "why": "not so"}, **more))
                continue
            body = {"entry": entry.id, "kind": "fitness-set", "version": 1, "with": decision()}
            if dice.random() < 0.2:
                at = self.pen.when(ms - dice.randint(-1, 30) * 3_600_000)
                body["happened"] = {"unix_ms": at.ms, "offset_s": at.offset_s, "precision": "minute"}
            known.append(self.say(ms, "corrects", body, **more))

    def arrival_contested(self, ms):
        """Whether a machine in danger is there at all, settled by people who may decide it and people who may not."""
        dice = self.dice
        added = [entry for entry in self.facts if entry.kind == "machine-added"]
        first = dice.choice(added)
        machine, known = first.body["machine"], [first]
        for _ in range(dice.randint(2, 6)):
            ms += dice.randint(0, 3) * 3_600_000
            more = {"later_ms": dice.choice([0, 1_000, 3 * 3_600_000]), "precision": "minute"}
            entry, way = dice.choice(known), dice.choices(["decides", "corrects", "withdraws"], [4, 3, 3])[0]
            if way == "decides":
                fitness = dice.choices(["danger", "fit"], [2, 1])[0]
                self.say(ms, "fitness-set", {"machine": machine, "fitness": fitness, "why": "looked at"}, **more)
            elif way == "corrects":
                body = first.body | {"machine": dice.choice([machine, machine, "another"]), "name": "Renamed"}
                correction = {"entry": entry.id, "kind": "machine-added", "version": 1, "with": body}
                known.append(self.say(ms, "corrects", correction, **more))
            else:
                known.append(self.say(ms, "withdraws", {"entry": entry.id, "why": "not so"}, **more))

    def roles_contested(self, ms):
        """Roles given, corrected and taken back by people who may and people who may not; then a release."""
        dice, machine = self.dice, self.machine()

        def role():
            role = dice.choice(["technician", "operator", "keeper"])
            person = dice.choice(["bo", "cy", "dee", "eve"])
            return {"person": person, "name": person.title(), "role": role}

        known = [self.say(ms, "fitness-set", {"machine": machine, "fitness": "danger", "why": "smoke"})]
        for _ in range(dice.randint(1, 5)):
            ms += dice.randint(0, 2) * 3_600_000
            more = {"later_ms": dice.choice([0, 1_000, 3 * 3_600_000]), "precision": "minute"}
            entry, way = dice.choice(known), dice.choices(["says", "corrects", "withdraws"], [4, 4, 2])[0]
            if way == "says":
                known.append(self.say(ms, "person-added", role(), **more))
            elif way == "corrects":
                body = {"entry": entry.id, "kind": "person-added", "version": 1, "with": role()}
                known.append(self.say(ms, "corrects", body, **more))
            else:
                known.append(self.say(ms, "withdraws", {"entry": entry.id, "why": "not so"}, **more))
        fit = {"machine": machine, "fitness": "fit", "why": "mended"}
        self.say(ms + 3_600_000, "fitness-set", fit, precision="minute", later_ms=dice.choice([0, 4 * 3_600_000]))

    def machine_comes_or_goes(self, ms):
        machine = self.machine()
        if self.dice.random() < 0.5:
            self.say(ms, "machine-retired", {"machine": machine, "why": "worn out"})
        elif self.dice.random() < 0.8:
            self.add(ms, machine)
        else:
            self.say(ms, "machine-changed", {"machine": machine, "machine_type": KIND})

    def settled(self, ms):
        """Corrections and withdrawals, of facts and of each other, of things that are not there, and in rings."""
        dice = self.dice
        settlers = [entry for entry in self.facts if entry.kind in ("corrects", "withdraws")]
        target = dice.choice(settlers if settlers and dice.random() < 0.35 else self.facts[-60:])
        entry_id = self.pen.any_uuid() if dice.random() < 0.03 else target.id
        if dice.random() < 0.3:
            self.say(ms, "withdraws", {"entry": entry_id, "why": "slip of the pen"})
            return
        kind, with_body = target.kind, dict(target.body)
        if kind == "corrects" and dice.random() < 0.9:
            kind, with_body = with_body["kind"], dict(with_body["with"])
        for key in ("hours", "reading_hours", "age_hours", "length_minutes"):
            if isinstance(with_body.get(key), (int, float)):
                with_body[key] = round(abs(with_body[key]) * 0.9, 2)
        if "machine" in with_body and dice.random() < 0.1:
            with_body["machine"] = dice.choice(self.machines)
        if kind == "withdraws" and dice.random() < 0.5:
            # A withdrawal that was meant to be something else.
            kind, with_body = "machine-event", {"machine": self.machine(), "event": "shock"}
        body = {"entry": entry_id, "kind": kind, "version": 1, "with": with_body}
        if dice.random() < 0.3:
            at = self.pen.when(target.happened.ms + dice.randint(-3, 3) * MS_PER_DAY // 2)
            body["happened"] = {"unix_ms": at.ms, "offset_s": at.offset_s, "precision": "minute"}
        entry = self.say(ms, "corrects", body)
        if dice.random() < 0.03:
            self.ring(ms, entry)

    def ring(self, ms, entry):
        """Two withdrawals that name each other."""
        other = self.say(ms, "withdraws", {"entry": entry.id, "why": "ring"})
        entry.kind, entry.body = "withdraws", {"entry": other.id, "why": "ring"}
        entry.body_text = json.dumps(entry.body)

    def nonsense(self, ms):
        """Kinds and versions of another time, and bodies that are not as they should be."""
        machine = self.machine()
        kind, version, body = self.dice.choice(
            [
                ("song-sung", 1, {"machine": machine, "song": "long"}),
                ("ran", 2, {"machine": machine, "run": "showing", "hours": 3.0}),
                ("ran", 1, {"machine": machine, "run": "showing"}),
                ("ran", 1, {"machine": machine, "run": "flying", "hours": 2.0}),
                ("care-done", 1, {"machine": machine, "task": "lamp-light", "outcome": "perfect"}),
                ("meter-read", 1, {"machine": machine, "reading_hours": "much"}),
            ]
        )
        self.say(ms, kind, body, version=version)


def log(seed, now_text):
    """The lines of one logbook, as a file."""
    story = Story(seed, now_text)
    begin_ms = story.now_ms - DAYS_BACK * MS_PER_DAY
    story.begin(begin_ms)
    for _ in range(story.dice.choice([40, 250, 700])):
        days = story.dice.uniform(-10, DAYS_BACK + (DAYS_ON if story.dice.random() < 0.1 else 0))
        story.step(int(begin_ms + days * MS_PER_DAY))
    return "\n".join(story.pen.lines()) + "\n"
