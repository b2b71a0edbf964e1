"""What is due, worked out a second time by docs/due.md and compared with `boothwright due --json`."""

import math
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import kinds as machine_types
from booth import MS_PER_DAY, Booth, now_of
from entries import read_file
from report import Check

GRACE_SHARE = 0.1
GRACE_DAYS = 7
RECENT_DAYS, YEAR_DAYS, LEAST_DAYS = 90, 365, 7
EXERCISE_MINUTES = 10
FARTHEST_DAYS = 36_500
# Sums of many runs carry dust in their last digits.
DUST = 1e-6
HOURS_WITHIN = 1.1e-6
EVENT_WORDS = {"transport": "after-transport", "after-repair": "repair"}


@dataclass
class Start:
    """From where an interval is counted."""

    since: str
    at: object
    entry: str
    clocks: object
    used: float = 0.0
    days_used: int = 0
    place: int = -1


@dataclass
class Left:
    """What is left."""

    amount: float | None
    days: int | None
    clock: str
    whole: float


@dataclass
class Item:
    """One line of the answer."""

    state: str
    clock: str
    amount: float | None
    days: int | None
    last_done: str | None
    last_entry: str | None
    called_by: str | None
    in_days: int | None
    forecast_date: str | None
    showing: str | None


def tidy(amount):
    """To a millionth, as the program rounds."""
    return math.floor(abs(amount) * 1e6 + 0.5) / 1e6 * (1 if amount >= 0 else -1)


def whole_days(from_ms, to_ms):
    """Days of 24 hours from one moment to another, the begun one not counted."""
    return (to_ms - from_ms) // MS_PER_DAY


class Question:
    """What is due in a booth at a moment."""

    def __init__(self, booth, kinds, now):
        self.booth = booth
        self.kinds = kinds
        self.now = now
        self.today = booth.day_of(now)
        coming = [s for s in booth.showings.values() if s.state == "planned" and s.ends_ms > now.ms]
        self.coming = sorted(coming, key=lambda showing: showing.starts.ms)
        self.early_deaths = self.find_early_deaths()

    def is_offered(self, machine):
        """A machine that is retired, unfit or quarantined is offered to nobody."""
        return not machine.retired and machine.fitness in ("fit", "limited")

    def items(self, machine):
        """Every listed task of a machine, by its id."""
        kind = self.kinds.get(machine.kind)
        if kind is None:
            return {}
        worker = OneMachine(self, machine, kind)
        found = {task.id: worker.item(task) for task in kind.tasks.values() if task.listed}
        return {task: item for task, item in found.items() if item}

    def find_early_deaths(self):
        """Machine → the last moment at which a lamp failed in it before half of its shortest thought life."""
        deaths = {}
        for life in self.booth.parts.values():
            if life.age_hours is None:
                continue
            age = life.age_hours
            for stint in life.stints:
                if not stint.ended:
                    break
                begin, end = self.booth.clocks_of(stint)
                age += end.lit - begin.lit
                kind = self.kinds.get(self.booth.machines[stint.machine].kind)
                half = kind and kind.lamps.get(stint.slot)
                if stint.ended[2] == "failed" and half is not None and age < half:
                    deaths[stint.machine] = max(deaths.get(stint.machine, stint.ended[0]), stint.ended[0])
        return deaths


class OneMachine:
    """The tasks of one machine."""

    def __init__(self, question, machine, kind):
        self.question, self.booth, self.now = question, question.booth, question.now
        self.machine, self.kind = machine, kind
        self.clocks = machine.clocks_now()
        self.turns = self.deal()
        self.runs = machine.all_runs()
        self.at_entry = self.clocks_at_entry()
        self.per_day = self.rates()

    def deal(self):
        """The coming showings of this machine: (showing, its day, hours run by its end)."""
        turns, total = [], 0.0
        for showing in self.question.coming:
            for machine, hours in showing.machines:
                if machine == self.machine.id:
                    total += max(hours, 0.0)
                    turns.append((showing.id, self.booth.day_of(showing.starts), total))
        return turns

    @staticmethod
    def amounts(runs):
        """What some runs put on each clock, by the custom of their kind."""
        film = sum(hours for *_, kind, hours in runs if kind != "rewind")
        lit = sum(hours for *_, kind, hours in runs if kind in ("showing", "rehearsal"))
        strikes = sum(1 for *_, kind, _ in runs if kind in ("showing", "rehearsal"))
        return {"running": film, "motor": sum(run[3] for run in runs), "lamp": lit, "strikes": strikes}

    def clocks_at_entry(self):
        """The counters on the day of entry: those now, less the runs since; of the lamp, what ran before."""
        entered = self.machine.added.ms
        before = self.amounts([run for run in self.runs if run[0] < entered])
        since = self.amounts([run for run in self.runs if run[0] >= entered])
        running = max(self.clocks.running - since["running"], 0.0)
        rewound = before["motor"] - before["running"]
        return {"running": running, "motor": running + rewound, "lamp": before["lamp"], "strikes": before["strikes"]}

    def rates(self):
        """So much a day on each clock: of the last three months or the last year, whichever was busier."""

        def within(days):
            passed = [run for run in self.runs if run[0] <= self.now.ms]
            ran = self.amounts([run for run in passed if whole_days(run[0], self.now.ms) < days])
            here = whole_days(self.machine.added.ms, self.now.ms)
            return {clock: amount / min(max(here, LEAST_DAYS), days) for clock, amount in ran.items()}

        recent, year = within(RECENT_DAYS), within(YEAR_DAYS)
        return {clock: max(recent[clock], year[clock]) for clock in recent}

    def fitted(self, slot):
        """The part in a slot, with the stint that lasts."""
        part = self.machine.fitted.get(slot)
        life = part and self.booth.parts[part]
        return (life, life.open_stint) if life and life.open_stint else None

    def done(self, task):
        """The last deed of a task itself: as a whole, or slot by slot once every slot was done."""
        whole = self.machine.care.get((task.id, None))
        slots = [self.machine.care.get((task.id, slot)) for slot in task.parts]
        oldest = min(slots, key=lambda deed: deed.at) if all(slots) else None
        return max((deed for deed in (oldest, whole) if deed), key=lambda deed: deed.at, default=None)

    def start(self, task):
        """The last deed, in itself or in a bigger task; for a renewal the part that went in; else the entry."""
        deeds = [self.done(one) for one in [task, *(self.kind.tasks[id] for id in task.bigger)]]
        last = max((deed for deed in deeds if deed), key=lambda deed: deed.at, default=None)
        renewed = task.renews and self.fitted(task.renews)
        if renewed:
            life, stint = renewed
            if last is None or self.booth.day_of(last.at) <= self.booth.day_of(stint.fitted):
                return self.from_fitting(task, life, stint)
        if last:
            return Start("done", last.at, last.entry, last.clocks.on, place=last.place)
        return Start("entered", self.machine.added, None, self.at_entry.get)

    def from_fitting(self, task, life, stint):
        """Counted from the fitting of the part, with the age that it brought and what it ran elsewhere."""
        ran = 0.0
        for earlier in life.stints:
            begin, end = self.booth.clocks_of(earlier)
            if end:
                ran += end.on(task.clock) - begin.on(task.clock)
        brought = life.strikes if task.clock == "strikes" else life.age_hours
        days = (life.age_days or 0) + whole_days(life.stints[0].fitted.ms, stint.fitted.ms)
        clocks = self.booth.clocks_of(stint)[0]
        return Start("fitted", stint.fitted, stint.entry, clocks.on, ran + (brought or 0), days)

    def left(self, task, start):
        """What is left by clock and by day; what is due once after fitting comes in where it comes first."""
        amount = days = None
        if task.amount is not None:
            ran = self.clocks.on(task.clock) - start.clocks(task.clock)
            amount = tidy(task.amount - start.used - ran)
        if task.days is not None:
            days = task.days - (self.question.today - self.booth.day_of(start.at)) - start.days_used
        left = Left(amount, days, task.clock, task.amount or 0.0)
        once = self.left_once(task, start)
        if once is not None and (amount is None or task.clock != "running" or once < amount):
            left = Left(once, days, "running", task.once[1])
        return left

    def left_once(self, task, start):
        """Hours until the one time after fitting; none if it was done since, or no part is known there."""
        fitted = task.once and self.fitted(task.once[0])
        if not fitted:
            return None
        _, stint = fitted
        if start.since == "done" and start.at >= stint.fitted:
            return None
        return tidy(task.once[1] - (self.clocks.running - self.booth.clocks_of(stint)[0].running))

    def called_by(self, task, since):
        """The first of the task's events that happened after it was last done."""
        return next((event for event in task.events if self.happened(task, event, since)), None)

    def happened(self, task, event, since):
        if idle := machine_types.IDLE.fullmatch(event):
            return self.stood(int(idle[1]), since, task.kind == "test" and task.state == "running")
        if event == "lamp-died-early":
            death = self.question.early_deaths.get(self.machine.id)
            return death is not None and death > since
        if event == "lamp-changed":
            changed = self.lamp_changed()
            return changed is not None and changed > since
        seen = [(at, EVENT_WORDS.get(word, word)) for at, word in self.machine.events]
        return any(word == event and at > since and at.ms <= self.now.ms for at, word in seen)

    def lamp_changed(self):
        """When the lamp that is in went in; on the day of entry nothing was changed."""
        entered = self.booth.day_of(self.machine.added)
        stints = [self.fitted(slot)[1] for slot in self.kind.lamps if self.fitted(slot)]
        moments = [stint.fitted for stint in stints if self.booth.day_of(stint.fitted) > entered]
        return max(moments, default=None)

    def stood(self, days, since, is_a_run):
        """Whether the machine stood so long without any run, counted from when this was last done at the earliest.

        What is itself a run was done by every run of ten minutes or more, other than rewinding, after that time.
        """
        entered = self.machine.added.ms
        runs = [run[0] for run in self.runs if entered <= run[0] <= self.now.ms]
        gaps = list(zip([entered, *runs], [*runs, self.now.ms], strict=True))
        exercised = [
            at
            for at, _, run, hours in self.runs
            if at <= self.now.ms and run != "rewind" and hours * 60 >= EXERCISE_MINUTES
        ]
        last = max(exercised, default=None) if is_a_run else None
        return any(
            whole_days(max(begin, since.ms), end) >= days and (last is None or last < end) for begin, end in gaps
        )

    def item(self, task):
        """One line of the answer."""
        start = self.start(task)
        called_by = self.called_by(task, start.at)
        left = self.left(task, start)
        if called_by is None and left.amount is None and left.days is None:
            return None
        state = self.state(task, start, left, called_by)
        deferral = self.deferral(task, start)
        if deferral and not task.safety and state in ("overdue", "due", "soon"):
            put_off = self.left_of(deferral)
            if (put_off.amount is None or put_off.amount > 0) and (put_off.days is None or put_off.days > 0):
                state, left, called_by = "deferred", put_off, None
        forecast, showing = self.forecast(left, called_by)
        day = None if forecast is None else date(1970, 1, 1) + timedelta(days=self.question.today + forecast)
        return Item(
            state=state,
            clock=left.clock,
            amount=left.amount,
            days=left.days,
            last_done=None if start.since == "entered" else str(start.at.date),
            last_entry=start.entry,
            called_by=called_by,
            in_days=forecast,
            forecast_date=day and str(day),
            showing=showing,
        )

    def state(self, task, start, left, called_by):
        """Where a task stands by itself."""
        amount = math.inf if left.amount is None else left.amount
        days = math.inf if left.days is None else left.days
        grace, grace_days = (0.0, 0) if task.safety else (GRACE_SHARE * left.whole, GRACE_DAYS)
        if amount < -grace or days < -grace_days:
            return "overdue"
        if amount <= 0 or days <= 0 or called_by:
            return "due"
        if start.since == "entered":
            return "no-record"
        if amount <= GRACE_SHARE * left.whole or days <= GRACE_DAYS:
            return "soon"
        return "ok"

    def deferral(self, task, start):
        """The deferral that stands on a task, of any of its slots the last one written, if it was not done since."""
        put_off = [deferral for (id, _), deferral in self.machine.deferred.items() if id == task.id]
        return put_off[-1] if put_off and put_off[-1].at >= start.at else None

    def left_of(self, deferral):
        """What is left until the limits of a deferral."""
        amount = days = None
        if deferral.until_hours is not None:
            amount = tidy(deferral.until_hours - self.clocks.running)
        if deferral.until_date is not None:
            days = self.booth.day_on(deferral.until_date) - self.question.today
        return Left(amount, days, "running", 0.0)

    def forecast(self, left, called_by):
        """Days from today until it falls due, and the showing: by clock or by day, whichever comes first."""
        by_clock = self.by_clock(left) if left.amount is not None else None
        remaining_days = min(left.days or 0, 0) if called_by else left.days
        by_days = None if remaining_days is None else self.by_days(remaining_days)
        both = [found for found in (by_clock, by_days) if found]
        in_days = min((days for days, _ in both), default=None)
        turn = min((turn for _, turn in both if turn is not None), default=None)
        return in_days, None if turn is None else self.turns[turn][0]

    def by_clock(self, left):
        """The first showing by whose end what is left is used up; past the diary, by the rate."""
        strikes = left.clock == "strikes"
        used_by = [n + 1 if strikes else hours for n, (*_, hours) in enumerate(self.turns)]
        turn = next((n for n, used in enumerate(used_by) if used + DUST >= left.amount), None)
        if turn is not None:
            days = 0 if left.amount <= 0 else max(self.turns[turn][1] - self.question.today, 0)
            return days, turn
        if left.amount <= 0:
            return 0, None
        last_day = max(self.turns[-1][1] - self.question.today, 0) if self.turns else 0
        rate = self.per_day[left.clock]
        if rate <= 0:
            return None
        further = math.ceil((left.amount - (used_by[-1] if used_by else 0.0)) / rate - DUST)
        return (last_day + further, None) if further <= FARTHEST_DAYS else None

    def by_days(self, remaining):
        """The first showing on or after the day."""
        limit = self.question.today + remaining
        turn = next((n for n, (_, day, _) in enumerate(self.turns) if day >= limit), None)
        return max(remaining, 0), turn


def compare(check, where, item, theirs):
    """One line of ours with one of the program's."""
    check.met[item.state] += 1
    check.met["in a showing" if item.showing else "past the diary"] += 1
    check.met[f"clock {item.clock}"] += 1
    for case in ("called_by", "last_done", "amount", "days"):
        check.met[case] += getattr(item, case) is not None
    strikes = item.clock == "strikes"
    check.same("states", where, item.state, theirs["state"])
    check.same("dates of the last deed", where, item.last_done, theirs["last_done"])
    check.same("entries of the last deed", where, item.last_entry, theirs["last_done_entry"])
    check.near("remaining hours", where, None if strikes else item.amount, theirs["remaining_hours"], HOURS_WITHIN)
    if strikes or theirs["remaining_strikes"] is not None:
        check.same("remaining strikes", where, int(item.amount) if strikes else None, theirs["remaining_strikes"])
    check.same("remaining days", where, item.days, theirs["remaining_days"])
    check.same("forecast dates", where, item.forecast_date, theirs["forecast_date"])
    check.same("days to the forecast", where, item.in_days, theirs["due_in_days"])
    check.same("forecast showings", where, item.showing, theirs["forecast_showing"])
    check.same("events", where, item.called_by, theirs["called_by"])


def compare_all(check, where, ours, lines):
    """All lines of one machine."""
    theirs = {line["task"]: line for line in lines}
    check.same("lists of tasks", f"{where} only here", [], sorted(ours.keys() - theirs.keys()))
    check.same("lists of tasks", f"{where} only there", [], sorted(theirs.keys() - ours.keys()))
    for task in ours.keys() & theirs.keys():
        compare(check, f"{where}, {task}", ours[task], theirs[task])


def check_booth(check, program, made, kinds, as_of=None):
    """Compares every machine of a booth, now or as it was known at the end of a day."""
    entries = read_file(made.export)
    zone = Booth(entries).zone
    now, asked, where = now_of(program.now, zone), (), made.name
    if as_of:
        end = datetime.combine(as_of, time(23, 59, 59), ZoneInfo(zone))
        now, asked, where = now_of(end.isoformat(), zone), ("--as-of", as_of), f"{where} as of {as_of}"
        entries = [entry for entry in entries if entry.recorded.ms <= now.ms]
    booth = Booth(entries)
    question = Question(booth, kinds, now)
    everything = {}
    for line in program.json("due", *asked, data=made.data):
        everything.setdefault(line["machine"], []).append(line)
    offered = [m for m in booth.machines.values() if question.is_offered(m) and m.kind in kinds]
    check.same("lists of offered machines", where, sorted(m.id for m in offered), sorted(everything))
    for machine in booth.machines.values():
        ours = question.items(machine)
        at = f"{where}, {machine.id}"
        if machine.id in everything:
            compare_all(check, at, ours, everything[machine.id])
        else:
            check.met["kept out of every offer"] += 1
            compare_all(check, f"{at} by name", ours, program.json("due", machine.id, *asked, data=made.data))


def run(program, booths, kinds):
    """Every booth that was made for the checks, and some of them as of a past day."""
    check = Check("due")
    for number, made in enumerate(booths):
        check_booth(check, program, made, made.kinds or kinds)
        if number % 4 == 0:
            today = datetime.fromisoformat(program.now.split("[")[0]).date()
            check_booth(check, program, made, made.kinds or kinds, today - timedelta(days=45 + number))
            check.met["as of a past day"] += 1
    check.must_meet("overdue", "due", "soon", "no-record", "deferred", "ok", "called_by", "in a showing")
    check.must_meet("past the diary", "kept out of every offer", "as of a past day")
    return check
