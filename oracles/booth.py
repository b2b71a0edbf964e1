"""The fold a second time: what the entries add up to, as docs/fold.md says, as far as clocks and care need it.

The clocks are worked out another way than the program's: not by counting on from entry to entry, but as sums over
everything before a place in the order.
"""

from bisect import bisect_right
from dataclasses import dataclass, field
from datetime import date, datetime, time
from itertools import accumulate

import form
from entries import When, moment, settled
from whose import Judged

MS_PER_HOUR = 3_600_000
MS_PER_DAY = 86_400_000
LONGEST_RUN_HOURS = 24.0
HIGHEST_METER_HOURS = 1_000_000.0
LONGEST_SHOWING_MINUTES = 24 * 60.0
TOLERANCE_SHARE = 0.25
TOLERANCE_HOURS = 2.0
# How far a moment of each precision can be from the truth, in hours.
VAGUE_HOURS = [0.0, 0.0, 24.0, 31 * 24.0]
COUNTS_AS_DONE = ("fine", "done", "attention")


@dataclass
class Clocks:
    """A machine's counters."""

    showing: float = 0.0
    testing: float = 0.0
    rewinding: float = 0.0
    lit: float = 0.0
    strikes: int = 0
    estimated: float = 0.0

    @property
    def running(self):
        """Hours run: film turning."""
        return self.showing + self.testing

    @property
    def motor(self):
        """Hours of the motor."""
        return self.running + self.rewinding

    def on(self, clock):
        """One of the four counters that care is counted on."""
        return {"running": self.running, "motor": self.motor, "lamp": self.lit, "strikes": self.strikes}[clock]


@dataclass
class Run:
    """One run, with the hours as the meter settles them."""

    place: int
    at: When
    kind: str
    written: float
    lit_written: float | None
    strikes: int
    estimated: bool
    times: float = 1.0

    @property
    def hours(self):
        """The hours that count."""
        return self.written * self.times

    @property
    def lit(self):
        """Lamp hours: as written, which nothing stretches, else those of a run of its kind."""
        if self.lit_written is not None:
            return self.lit_written
        return self.hours if lights(self.kind) else 0.0


@dataclass
class Spread:
    """Running that nobody wrote down, spread evenly from one figure of the meter to the next."""

    hours: float
    opens: When
    opens_place: int
    closes: When
    place: int

    def by(self, place, ms):
        """How much of it lies before a place in the order, at a moment."""
        if place <= self.opens_place:
            return 0.0
        if ms >= self.closes.ms:
            return self.hours
        share = (ms - self.opens.ms) / (self.closes.ms - self.opens.ms)
        return self.hours * min(max(share, 0.0), 1.0)


@dataclass
class Machine:
    """One machine."""

    id: str
    kind: str
    added: When
    place: int
    added_body: dict
    retired: bool = False
    fitness: str = "fit"
    care: dict = field(default_factory=dict)
    deferred: dict = field(default_factory=dict)
    fitted: dict = field(default_factory=dict)
    events: list = field(default_factory=list)
    runs: list = field(default_factory=list)
    spreads: list = field(default_factory=list)
    start_hours: float = 0.0
    start_estimated: float = 0.0

    def seal(self):
        """Adds the runs up once, so that every later question about the clocks is quick."""
        self.places = [run.place for run in self.runs]

        def sums(of):
            return [0.0, *accumulate(map(of, self.runs))]

        self.sums = {
            "showing": sums(lambda run: run.hours * (run.kind == "showing")),
            "testing": sums(lambda run: run.hours * (run.kind in ("rehearsal", "test"))),
            "rewinding": sums(lambda run: run.hours * (run.kind == "rewind")),
            "lit": sums(lambda run: run.lit),
            "strikes": [int(n) for n in sums(lambda run: run.strikes)],
            "estimated": sums(lambda run: run.hours * (run.estimated and run.kind != "rewind")),
        }

    def clocks(self, place, ms):
        """The counters at a place in the order of the fold: every run up to it, and what was spread by then."""
        upto = bisect_right(self.places, place)
        clocks = Clocks(**{name: sums[upto] for name, sums in self.sums.items()})
        clocks.showing += self.start_hours
        clocks.estimated += self.start_estimated
        for spread in self.spreads:
            more = spread.by(place, ms)
            clocks.showing += more
            clocks.lit += more
            clocks.estimated += more
        return clocks

    def clocks_now(self):
        """The counters after every entry."""
        return self.clocks(1 << 60, 1 << 60)

    def beginning(self):
        """The counters before everything that is written about the machine."""
        return Clocks(showing=self.start_hours, estimated=self.start_estimated)

    def all_runs(self):
        """The runs and, at the closing figure of its stretch, what was spread: (moment, kind, hours)."""
        runs = [(run.at.ms, run.place, run.kind, run.hours) for run in self.runs]
        runs += [(s.closes.ms, s.place, "showing", s.hours) for s in self.spreads if s.hours > 0]
        return sorted(runs, key=lambda run: run[1])


@dataclass
class Deed:
    """A care point's last deed."""

    at: When
    place: int
    entry: str
    by: str
    clocks: Clocks = None


@dataclass
class Deferral:
    """Care put off."""

    at: When
    until_hours: float | None
    until_date: date | None
    entry: str


@dataclass
class Stint:
    """A part's time in one slot."""

    machine: str
    slot: str
    fitted: When
    place: int
    entry: str
    ended: tuple | None = None
    from_the_beginning: bool = False


@dataclass
class Life:
    """A part's life."""

    age_hours: float | None = None
    age_days: int | None = None
    strikes: int | None = None
    stints: list = field(default_factory=list)

    @property
    def open_stint(self):
        """The stint that lasts."""
        return self.stints[-1] if self.stints and not self.stints[-1].ended else None


@dataclass
class Showing:
    """A showing of the diary."""

    id: str
    starts: When
    length_minutes: float
    machines: list
    written: tuple
    state: str = "planned"

    @property
    def ends_ms(self):
        """The end, by absolute time: a night on which clocks change is as long as it is."""
        return self.starts.ms + round(self.length_minutes * 60_000)


def lights(kind):
    """A showing and a rehearsal light the lamp."""
    return kind in ("showing", "rehearsal")


def is_run_length(hours):
    """No run lasts longer than a day."""
    return 0 <= hours <= LONGEST_RUN_HOURS


def is_figure(hours):
    """What a meter can show."""
    return 0 <= hours <= HIGHEST_METER_HOURS


def is_showing_length(minutes):
    """More than nothing, at most a day."""
    return 0 < minutes <= LONGEST_SHOWING_MINUTES


class Booth:
    """The booth after all entries."""

    def __init__(self, entries):
        self.judged = judged = Judged(entries)
        lines = settled(entries, judged.counts)
        self.machines = {}
        self.parts = {}
        self.showings = {}
        self.roles = judged.roles
        self.waiting = []
        self.zone, self.night_ends = "UTC", time(5)
        known = [(place, line) for place, line in enumerate(lines) if form.can_be_read(line)]
        for place, line in known:
            self.first_look(place, line)
        for machine in self.machines.values():
            MeterPlan(machine, known).settle()
            machine.seal()
        for place, line in known:
            act = getattr(self, "on_" + line.kind.replace("-", "_"), None)
            if act:
                act(place, line, line.body)
        for line, news in self.waiting:
            self.showing_news(line, news, wait=False)
        for machine in self.machines.values():
            for deed in machine.care.values():
                deed.clocks = machine.clocks(deed.place, deed.at.ms)

    def first_look(self, place, line):
        """Machines are known from the first line on."""
        if line.kind == "machine-added" and line.body["machine"] not in self.machines:
            body = line.body
            self.machines[body["machine"]] = Machine(body["machine"], body["machine_type"], line.at, place, body)

    def machine_of(self, body):
        """The machine that an entry names; nothing happens to one that nobody added."""
        return self.machines.get(body["machine"])

    # ---- booth and machines

    def on_booth_named(self, place, line, body):
        from zoneinfo import available_timezones

        self.zone = body["zone"] if body["zone"] in available_timezones() else self.zone
        self.night_ends = time.fromisoformat(body["night_ends"])

    def on_machine_added(self, place, line, body):
        machine = self.machine_of(body)
        if place != machine.place and machine.retired:
            machine.retired = False
            machine.kind = body["machine_type"]

    def on_machine_changed(self, place, line, body):
        machine = self.machine_of(body)
        if machine:
            machine.kind = body.get("machine_type", machine.kind)

    def on_machine_retired(self, place, line, body):
        machine = self.machine_of(body)
        if machine:
            machine.retired = True

    def on_fitness_set(self, place, line, body):
        machine = self.machine_of(body)
        if not machine:
            return
        lifts = machine.fitness == "danger" and body["fitness"] != "danger"
        if not lifts or self.roles.at(line.said_by, line.recorded_ms) == "technician":
            machine.fitness = body["fitness"]

    def on_machine_event(self, place, line, body):
        machine = self.machine_of(body)
        if machine:
            machine.events.append((line.at, body["event"]))

    # ---- care

    def on_care_done(self, place, line, body):
        machine = self.machine_of(body)
        if not machine or body["outcome"] not in COUNTS_AS_DONE:
            return
        included = [(task, None) for task in body.get("includes", []) if task != body["task"]]
        for point in [*included, (body["task"], body.get("slot"))]:
            machine.deferred.pop(point, None)
            machine.care[point] = Deed(line.at, place, line.id, line.by)

    def on_care_deferred(self, place, line, body):
        machine = self.machine_of(body)
        until = body.get("until_date")
        if machine and (until or body.get("until_hours_run") is not None):
            machine.deferred[(body["task"], body.get("slot"))] = Deferral(
                line.at, body.get("until_hours_run"), until and date.fromisoformat(until), line.id
            )

    # ---- parts

    def on_part_fitted(self, place, line, body):
        machine = self.machine_of(body)
        if not machine or machine.fitted.get(body["slot"]) == body["part"]:
            return
        self.take_out(place, line, body["part"], "borrowed")
        age = body.get("age_hours")
        life = Life(age if age is not None and is_figure(age) else None, body.get("age_days"), body.get("strikes"))
        self.parts.setdefault(body["part"], life)
        self.put_in(place, line, machine, body)

    def on_part_moved(self, place, line, body):
        machine = self.machine_of(body)
        if not machine or machine.fitted.get(body["slot"]) == body["part"]:
            return
        if body["part"] in self.parts:
            self.take_out(place, line, body["part"], body["why"])
        else:
            self.parts[body["part"]] = Life()
        self.put_in(place, line, machine, body)

    def on_part_removed(self, place, line, body):
        self.take_out(place, line, body["part"], body["why"])

    def put_in(self, place, line, machine, body):
        slot, replaces = body["slot"], body.get("replaces")
        occupant = machine.fitted.get(slot)
        if occupant:
            self.take_out(place, line, occupant, replaces["why"] if replaces else "unknown")
        elif replaces and replaces.get("part"):
            self.came_with_machine(place, line, machine, slot, replaces)
        machine.fitted[slot] = body["part"]
        self.parts[body["part"]].stints.append(Stint(machine.id, slot, line.at, place, line.id))

    def take_out(self, place, line, part, why):
        life = self.parts.get(part)
        stint = life and life.open_stint
        if stint:
            stint.ended = (line.at, place, why)
            self.machines[stint.machine].fitted.pop(stint.slot, None)

    def came_with_machine(self, place, line, machine, slot, replaces):
        if replaces["part"] not in self.parts:
            fitted = machine.added if machine.added.ms < line.at.ms else line.at
            ended = (line.at, place, replaces["why"])
            stint = Stint(machine.id, slot, fitted, place, line.id, ended, from_the_beginning=True)
            self.parts[replaces["part"]] = Life(stints=[stint])

    def clocks_of(self, stint):
        """The counters of its machine when a stint began and, if it did, when it ended."""
        machine = self.machines[stint.machine]
        begin = machine.beginning() if stint.from_the_beginning else machine.clocks(stint.place, stint.fitted.ms)
        end = stint.ended and machine.clocks(stint.ended[1], stint.ended[0].ms)
        return begin, end

    # ---- the diary

    def on_showing_planned(self, place, line, body):
        written = (line.recorded_ms, line.id)
        before = self.showings.get(body["showing"])
        if before and written <= before.written:
            return
        minutes = body["length_minutes"] if is_showing_length(body["length_minutes"]) else 0.0
        assigned = body.get("machines", [])
        equal = minutes / 60 / max(len(assigned), 1)
        hours = [one.get("running_hours") for one in assigned]
        hours = [said if said is not None and is_run_length(said) else equal for said in hours]
        shares = list(zip([one["machine"] for one in assigned], hours, strict=True))
        starts = moment(body["starts"].split("[")[0], "second")
        showing = Showing(body["showing"], starts, minutes, shares, written)
        showing.state = before.state if before and before.state == "held" else "planned"
        self.showings[body["showing"]] = showing

    def on_showing_held(self, place, line, body):
        self.showing_news(line, "held")

    def on_showing_cancelled(self, place, line, body):
        self.showing_news(line, "cancelled")

    def on_ran(self, place, line, body):
        if body["machine"] not in self.machines or not is_run_length(body["hours"]):
            return
        if body.get("showing") and body["run"] == "showing":
            self.showing_news(line, "ran")

    def showing_news(self, line, news, wait=True):
        showing = self.showings.get(line.body["showing"])
        if showing is None:
            if wait:
                self.waiting.append((line, news))
        elif news == "held" or (news == "ran" and showing.state == "planned"):
            showing.state = "held"
        elif news == "cancelled" and showing.state != "held":
            showing.state = "cancelled"

    def day_of(self, at):
        """The evening to which a moment belongs, as a number of days: the night counts to the evening before."""
        ends = self.night_ends
        night_ms = ((ends.hour * 60 + ends.minute) * 60 + ends.second) * 1000
        return (at.ms + at.offset_s * 1000 - night_ms) // MS_PER_DAY

    @staticmethod
    def day_on(day):
        """The number of the day that carries a date."""
        return (day - date(1970, 1, 1)).days


class MeterPlan:
    """How the runs of one machine are counted between the figures of its meter."""

    def __init__(self, machine, lines):
        self.machine = machine
        self.lines = [(p, line) for p, line in lines if (line.body or {}).get("machine") == machine.id]
        # The figure that was last taken as right, and the runs since.
        self.figure, self.since, self.since_place, self.open_runs = None, None, None, []
        self.entered, self.retired = False, False

    def settle(self):
        """Finds the runs, how each counts, and where the clocks begin."""
        for place, line in self.lines:
            act = getattr(self, "on_" + line.kind.replace("-", "_"), None)
            if act:
                act(place, line, line.body)
        body = self.machine.added_body
        said = body.get("hours_before", body.get("meter_hours"))
        said = said if said is not None and is_figure(said) else 0.0
        self.machine.start_hours = max(said - self.film_before_entry(), 0.0)
        guessed = body.get("hours_estimated", False)
        self.machine.start_estimated = self.machine.start_hours if guessed else 0.0

    def film_before_entry(self):
        """Film hours that lie before the machine's entry: the hours before entry hold them already."""
        machine = self.machine
        ran = sum(run.hours for run in machine.runs if run.place < machine.place and run.kind != "rewind")
        return ran + sum(spread.by(machine.place, machine.added.ms) for spread in machine.spreads)

    def on_ran(self, place, line, body):
        if is_run_length(body["hours"]):
            strikes = body.get("strikes", int(lights(body["run"])))
            lit = body.get("lit_hours")
            lit = lit if lit is not None and is_run_length(lit) else None
            estimated = body.get("estimated", False)
            run = Run(place, line.at, body["run"], body["hours"], lit, strikes, estimated)
            self.machine.runs.append(run)
            self.open_runs.append(run)

    def on_machine_retired(self, place, line, body):
        self.retired = True

    def on_machine_added(self, place, line, body):
        if self.entered and not self.retired:
            return
        back, self.entered, self.retired = self.entered, True, False
        figure = body.get("meter_hours")
        if figure is None:
            return
        if back and is_figure(figure):
            self.close(place, line, figure, None)
        else:
            self.read(place, line, figure)

    def on_meter_read(self, place, line, body):
        self.read(place, line, body["reading_hours"])

    def read(self, place, line, figure):
        if not is_figure(figure):
            return
        if self.figure is None:
            self.close(place, line, figure, None)
        elif self.can_have_gained(figure - self.figure, line):
            self.close(place, line, figure, figure - self.figure)

    def can_have_gained(self, gained, line):
        """A meter gains nothing below zero, and no more hours than passed, with an hour for clocks set by hand."""
        passed = max((line.at.ms - self.since.ms) / MS_PER_HOUR, 0.0) + 1.0
        return 0 <= gained <= passed + VAGUE_HOURS[self.since.precision] + VAGUE_HOURS[line.at.precision]

    def on_meter_replaced(self, place, line, body):
        old, new = body.get("old_reading_hours"), body["new_reading_hours"]
        if not is_figure(new):
            return
        gained = None
        if self.figure is not None and (old is None or (is_figure(old) and old >= self.figure)):
            if body["why"] == "rolled-over":
                last = self.figure if old is None else old
                gained = last - self.figure + power_of_ten_above(last) - last + new
            elif old is not None:
                gained = old - self.figure
        if gained is not None and not self.can_have_gained(gained, line):
            gained = None
        self.close(place, line, new, gained)

    def close(self, place, line, figure, gained):
        """Ends a stretch: its runs are fitted to what the meter gained, if that is known."""
        runs = sum(run.written for run in self.open_runs)
        if gained is not None:
            apart = abs(gained - runs)
            far_apart = apart > TOLERANCE_HOURS and apart > TOLERANCE_SHARE * gained
            if runs <= 0:
                if gained > 0:
                    self.spread(gained, place, line)
            elif far_apart and gained > runs:
                self.spread(gained - runs, place, line)
            elif not (far_apart and gained <= 0):
                for run in self.open_runs:
                    run.times = gained / runs
        self.figure, self.since, self.since_place, self.open_runs = figure, line.at, place, []

    def spread(self, hours, place, line):
        self.machine.spreads.append(Spread(hours, self.since, self.since_place, line.at, place))


def power_of_ten_above(figure):
    """A counter of n digits begins again at the power of ten above its last figure."""
    top = 10.0
    while top <= figure and top < 1e12:
        top *= 10
    return top


def now_of(text, zone):
    """The moment of asking, on the booth's clock."""
    from zoneinfo import ZoneInfo

    at = datetime.fromisoformat(text.split("[")[0]).astimezone(ZoneInfo(zone))
    ms = round(at.timestamp() * 1000)
    return When(ms, int(at.utcoffset().total_seconds()))
