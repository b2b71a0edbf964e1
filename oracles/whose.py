"""Whose word counts: roles, and what becomes of corrections about people and fitness, by that section of docs/fold.md."""

import uuid
from bisect import bisect_right

import form
from entries import SETTLERS, settled, Line

MOST_JUDGED = 200


class Judged:
    """Which settlements count, and who has which role when."""

    def __init__(self, entries):
        self.counts = set()
        self.refused = set()
        matters = Matters(entries)
        people = People(matters, self)
        self.roles = people.roles()
        self.refused_roles = [entry_id for entry_id, first in people.first.items() if first == "refused"]
        for matter in matters.all:
            if not matter.is_about_a_person and matter.speaks_of("fitness-set"):
                Fitness(matter, self).judge()
        Arrivals(matters, self).judge()

    def let(self, settlement, may):
        """Whether a settlement counts, for good."""
        (self.counts if may else self.refused).add(settlement.id)


def is_settlement(entry):
    """A correction or withdrawal that can be read and does not name itself."""
    return entry.kind in SETTLERS and entry.version == 1 and entry.body["entry"] != entry.id


def new_words(entry):
    """What a correction wants to say, as a line; none of other entries."""
    if entry.kind != "corrects" or entry.version != 1:
        return None
    body = entry.body
    line = Line(entry.id, entry.happened, 0, entry.by, entry.by, body["kind"], body["version"], body["with"])
    return line if form.can_be_read(line) else None


def first_words(entry):
    """What an entry that is no settlement says, or none that can be read."""
    return entry if entry.kind not in SETTLERS and form.can_be_read(entry) else None


class Matter:
    """Entries that are joined by naming."""

    def __init__(self, entries):
        self.entries = entries
        self.settlements = [entry for entry in entries if is_settlement(entry)]
        firsts = [words for words in map(first_words, entries) if words]
        self.people = [words for words in firsts if words.kind == "person-added"]
        self.words = [*firsts, *filter(None, map(new_words, entries))]
        self.kinds = {words.kind for words in self.words}

    @property
    def is_about_a_person(self):
        """Whether a person was written in it."""
        return bool(self.people)

    def speaks_of(self, kind):
        """Whether an entry or correction in it is of a kind."""
        return kind in self.kinds

    def brings_in(self, machines):
        """Whether an entry or correction in it brings in one of these machines."""
        return any(words.kind == "machine-added" and words.body["machine"] in machines for words in self.words)

    def lines(self, counts):
        """What its entries say by some settlements, as far as it can be read."""
        return [line for line in settled(self.entries, counts) if form.can_be_read(line)]


class Matters:
    """All matters."""

    def __init__(self, entries):
        by_id = {entry.id: entry for entry in entries}
        neighbours = {entry_id: [] for entry_id in by_id}
        for entry in by_id.values():
            if is_settlement(entry) and entry.body["entry"] in by_id:
                neighbours[entry.id].append(entry.body["entry"])
                neighbours[entry.body["entry"]].append(entry.id)
        seen, self.all = set(), []
        for start in by_id:
            if start in seen:
                continue
            found, to_visit = [], [start]
            seen.add(start)
            while to_visit:
                at = to_visit.pop()
                found.append(by_id[at])
                to_visit += [other for other in neighbours[at] if other not in seen]
                seen.update(neighbours[at])
            self.all.append(Matter(found))
        said = [words for matter in self.all for words in matter.words]
        self.endangered = {words.body["machine"] for words in said if is_danger(words)}


def is_danger(words):
    """Whether somebody says that a machine is in danger."""
    return words.kind == "fitness-set" and words.body["fitness"] == "danger"


def order_of_writing(entry):
    """By the moment of writing, then people who write of themselves, then by id."""
    of_oneself = entry.kind == "person-added" and entry.by == (entry.body or {}).get("person")
    return entry.recorded.ms, not of_oneself, entry.id


class People:
    """The matters about people, gone through in the order of writing."""

    def __init__(self, matters, judged):
        self.judged = judged
        self.about = [matter for matter in matters.all if matter.is_about_a_person]
        self.matter_of = {entry.id: matter for matter in self.about for entry in matter.entries}
        # Entry → what its first words were judged to be: "gives", "names" or "refused".
        self.first = {}
        # Entry → (person, role) that it gives now.
        self.gives = {}
        self.order = {}
        for matter in matters.all:
            for settlement in matter.settlements:
                self.keep_apart(matters, matter, settlement)
        self.go_through()

    def keep_apart(self, matters, matter, settlement):
        """A matter about a person stays one, and no other becomes one."""
        words = new_words(settlement)
        person = words is not None and words.kind == "person-added"
        if not matter.is_about_a_person:
            if person:
                self.judged.let(settlement, False)
            elif not matter.speaks_of("fitness-set") and not matter.brings_in(matters.endangered):
                self.judged.let(settlement, True)
            return
        if settlement.kind == "corrects":
            target = next(e for e in matter.entries if e.id == settlement.body["entry"])
            if not person or target.kind == "withdraws":
                self.judged.let(settlement, False)

    def go_through(self):
        """Judges every entry by what was written before it."""
        events = [entry for matter in self.about for entry in matter.entries]
        events = [entry for entry in events if entry in self.people_of(entry) or self.is_open(entry)]
        judged_in = {}
        for event in sorted(events, key=order_of_writing):
            matter = self.matter_of[event.id]
            if is_settlement(event):
                before = judged_in[id(matter)] = judged_in.get(id(matter), 0) + 1
                self.judged.let(event, before <= MOST_JUDGED and self.may_settle(event))
            else:
                self.order[event.id] = len(self.order)
                self.first[event.id] = self.judge(event.by, event.body)
            self.take_in(matter)

    def people_of(self, entry):
        return self.matter_of[entry.id].people

    def is_open(self, entry):
        return is_settlement(entry) and entry.id not in self.judged.refused

    def given(self):
        """Person → the role that they have been given."""
        given = {}
        for entry_id in sorted(self.gives, key=self.order.__getitem__):
            person, role = self.gives[entry_id]
            given[person] = role
        return given

    def judge(self, by, body):
        """What the first words of an entry are."""
        given, person, role = self.given(), body["person"], body["role"]
        if not in_charge(given):
            return "gives"
        if by in in_charge(given) and not (by == person and role != "operator"):
            return "gives"
        if person not in given and role == "operator":
            return "gives"
        return "names" if given.get(person) == role else "refused"

    def may_settle(self, settlement):
        """Whether a settlement counts."""
        given, by, words = self.given(), settlement.by, new_words(settlement)
        if not in_charge(given):
            return True
        if by not in in_charge(given):
            return False
        raised = words and words.body["person"] == by and words.body["role"] not in ("operator", given[by])
        return not raised

    def standing(self, matter):
        """The entries of a matter that were gone through and say a person now: (entry, line)."""
        lines = {line.id: line for line in matter.lines(self.judged.counts)}
        for entry in matter.people:
            line = lines.get(entry.id)
            if line and entry.id in self.first:
                corrected = line.body is not entry.body
                if corrected or self.first[entry.id] == "gives":
                    yield entry, line

    def take_in(self, matter):
        """What the entries of a matter give now."""
        for entry in matter.people:
            self.gives.pop(entry.id, None)
        for entry, line in self.standing(matter):
            self.gives[entry.id] = (line.body["person"], line.body["role"])

    def roles(self):
        """Everybody's roles, from when on."""
        found = {}
        for matter in self.about:
            for entry, line in self.standing(matter):
                written = (line.at.ms, self.order[entry.id], line.body["role"])
                found.setdefault(line.body["person"], []).append(written)
        return Roles({person: sorted(held) for person, held in found.items()})


def in_charge(given):
    """Who is in charge."""
    return {person for person, role in given.items() if role != "operator"}


class Roles:
    """Who had which role when."""

    def __init__(self, held):
        self.held = held

    def at(self, person, ms):
        """The last that happened up to then; before the first, that one."""
        held = self.held.get(person)
        if not held:
            return None
        upto = bisect_right([from_ms for from_ms, *_ in held], ms)
        return held[max(upto - 1, 0)][2]


class Fitness:
    """A matter that speaks of a machine's fitness."""

    def __init__(self, matter, judged):
        self.matter, self.judged = matter, judged

    def is_technician(self, by, ms):
        return self.judged.roles.at(by, ms) == "technician"

    def words(self, counts):
        """Words of danger, and releases: each with its entry, machine and moment."""
        danger, releases = set(), set()
        for line in self.matter.lines(counts):
            if line.kind != "fitness-set":
                continue
            said = (line.id, line.body["machine"], line.at.ms)
            if line.body["fitness"] == "danger":
                danger.add(said)
            elif self.is_technician(line.said_by, line.recorded_ms):
                releases.add(said)
        return danger, releases

    def judge(self):
        """Technicians' settlements count; of the others those that leave every danger and add no release."""
        open_ones = [s for s in self.matter.settlements if s.id not in self.judged.refused]
        theirs = [s for s in open_ones if self.is_technician(s.by, s.recorded.ms)]
        others = [s for s in open_ones if s not in theirs]
        for settlement in theirs:
            self.judged.let(settlement, True)
        counts = {settlement.id for settlement in theirs}
        danger, releases = self.words(counts)
        for number, settlement in enumerate(sorted(others, key=order_of_writing)):
            danger_then, releases_then = self.words(counts | {settlement.id})
            may = number < MOST_JUDGED and danger <= danger_then and releases_then <= releases
            self.judged.let(settlement, may)
            if may:
                counts.add(settlement.id)
                danger, releases = danger_then, releases_then


class Dangers:
    """What is said of the danger of machines, by the settlements that count."""

    def __init__(self, matters, judged):
        self.words = {}
        for matter in matters.all:
            counts = judged.counts
            if not matter.speaks_of("fitness-set") and not matter.is_about_a_person:
                counts = {settlement.id for settlement in matter.settlements} - judged.refused
            written = {entry.id: entry.recorded.ms for entry in matter.entries}
            for line in matter.lines(counts):
                if line.kind != "fitness-set":
                    continue
                danger = is_danger(line)
                if danger or judged.roles.at(line.said_by, line.recorded_ms) == "technician":
                    order = (line.at.ms, written[line.id], uuid.UUID(line.id).bytes)
                    self.words.setdefault(line.body["machine"], []).append((order, line.recorded_ms, danger))

    def stands(self, machine, written_ms):
        """Whether a machine is in danger by what was written up to then."""
        known = [word for word in self.words.get(machine, []) if word[1] <= written_ms]
        return bool(known) and max(known)[2]


class Arrivals:
    """The matters that bring in machines which somebody says to be in danger, judged as one."""

    def __init__(self, matters, judged):
        self.judged, self.dangers = judged, Dangers(matters, judged)
        brings_in = [
            matter
            for matter in matters.all
            if not matter.is_about_a_person and matter.brings_in(matters.endangered)
        ]
        self.matter = Matter([entry for matter in brings_in for entry in matter.entries])
        others = [matter for matter in matters.all if matter not in brings_in]
        firsts = [words for matter in others for words in map(first_words, matter.entries) if words]
        self.elsewhere = {words.body["machine"] for words in firsts if words.kind == "machine-added"}

    def here(self, counts):
        """The machines that are brought in."""
        added = [line for line in self.matter.lines(counts) if line.kind == "machine-added"]
        return self.elsewhere | {line.body["machine"] for line in added}

    def judge(self):
        """Technicians' settlements count; of the others those that leave every machine in danger there."""
        open_ones = [s for s in self.matter.settlements if s.id not in self.judged.refused]
        theirs = [s for s in open_ones if self.judged.roles.at(s.by, s.recorded.ms) == "technician"]
        others = [s for s in open_ones if s not in theirs]
        for settlement in theirs:
            self.judged.let(settlement, True)
        counts = {settlement.id for settlement in theirs}
        here = self.here(counts)
        for number, settlement in enumerate(sorted(others, key=order_of_writing)):
            then = self.here(counts | {settlement.id})
            gone = any(self.dangers.stands(machine, settlement.recorded.ms) for machine in here - then)
            may = number < MOST_JUDGED and not gone
            self.judged.counts.discard(settlement.id)
            self.judged.let(settlement, may)
            if may:
                counts.add(settlement.id)
                here = then
