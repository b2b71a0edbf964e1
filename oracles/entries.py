"""Entries as docs/logbook-format.md writes them: reading a line, canonical bytes, the chain, settling, order.

Written from the document. Settling and order follow docs/fold.md, "How it goes", steps 1 and 2.
"""

import hashlib
import json
import struct
import uuid
from dataclasses import dataclass, field
from datetime import datetime, timedelta, timezone

PRECISIONS = ["second", "minute", "day", "month"]
EPOCH = datetime(1970, 1, 1, tzinfo=timezone.utc)


@dataclass(frozen=True, order=True)
class When:
    """A moment: milliseconds, local offset in seconds, how exactly it is known (as a number, 0 the most exact)."""

    ms: int
    offset_s: int = 0
    precision: int = 0

    @property
    def date(self):
        """The date on the wall calendar there."""
        return (EPOCH + timedelta(milliseconds=self.ms, seconds=self.offset_s)).date()


@dataclass
class Entry:
    """One line of the file."""

    id: str
    device: str
    number: int
    happened: When
    recorded: When
    by: str
    kind: str
    version: int
    body_text: str
    hash: str
    body: dict = field(default_factory=dict)


def moment(value, precision):
    """Reads RFC 3339 text, or the numeric form for what that cannot carry."""
    if isinstance(value, dict):
        return When(value["unix_ms"], value["offset_s"], PRECISIONS.index(precision))
    at = datetime.fromisoformat(value)
    ms = (at - EPOCH) // timedelta(milliseconds=1)
    return When(ms, int(at.utcoffset().total_seconds()), PRECISIONS.index(precision))


def body_text_of(line):
    """The body exactly as it stands in the line: the chain is hashed over its bytes.

    In a line keys come in a fixed order, so the body begins at the first `"body":` after `"version":` and ends
    before the last `,"hash":`.
    """
    begin = line.index(',"body":', line.index('"version":')) + len(',"body":')
    return line[begin : line.rindex(',"hash":')]


def read_line(line):
    """One line → an entry. A body that is no JSON stands as text under `body_text`."""
    said = json.loads(line)
    text = said["body_text"] if "body_text" in said else body_text_of(line)
    try:
        body = json.loads(text)
    except ValueError:
        body = None
    return Entry(
        id=said["id"],
        device=said["device"],
        number=said["number"],
        happened=moment(said["happened"], said.get("happened_precision", "second")),
        recorded=moment(said["recorded"], said.get("recorded_precision", "second")),
        by=said["by"],
        kind=said["kind"],
        version=said["version"],
        body_text=text,
        hash=said["hash"],
        body=body,
    )


def read_file(path):
    """Every entry of an exported logbook."""
    with open(path, encoding="utf-8", newline="\n") as file:
        return [read_line(line.rstrip("\n")) for line in file if line.strip()]


def canonical_bytes(entry):
    """The bytes that are hashed, by the table in docs/logbook-format.md."""

    def text(words):
        encoded = words.encode("utf-8")
        return struct.pack(">I", len(encoded)) + encoded

    def when(at):
        return struct.pack(">qiB", at.ms, at.offset_s, at.precision)

    return b"".join(
        [
            uuid.UUID(entry.id).bytes,
            uuid.UUID(entry.device).bytes,
            struct.pack(">Q", entry.number),
            when(entry.happened),
            when(entry.recorded),
            text(entry.by),
            text(entry.kind),
            struct.pack(">H", entry.version),
            text(entry.body_text),
        ]
    )


def chain_hash(previous, entry):
    """SHA-256 (FIPS 180-4) over the previous hash and the canonical bytes."""
    return hashlib.sha256(previous + canonical_bytes(entry)).digest()


def written(entry):
    """One entry → its line."""

    def rfc3339(at):
        offset = timezone(timedelta(seconds=at.offset_s))
        text = (EPOCH + timedelta(milliseconds=at.ms)).astimezone(offset).isoformat(timespec="milliseconds")
        return text.replace(".000", "")

    said = {"id": entry.id, "device": entry.device, "number": entry.number, "happened": rfc3339(entry.happened)}
    if entry.happened.precision:
        said["happened_precision"] = PRECISIONS[entry.happened.precision]
    said["recorded"] = rfc3339(entry.recorded)
    if entry.recorded.precision:
        said["recorded_precision"] = PRECISIONS[entry.recorded.precision]
    said |= {"by": entry.by, "kind": entry.kind, "version": entry.version}
    head = json.dumps(said, ensure_ascii=False, separators=(",", ":"))
    return f'{head[:-1]},"body":{entry.body_text},"hash":"{entry.hash}"}}'


@dataclass
class Line:
    """An entry as it counts once everything is settled."""

    id: str
    at: When
    recorded_ms: int
    by: str
    said_by: str
    kind: str
    version: int
    body: dict


SETTLERS = ("corrects", "withdraws")


def settled(entries, counts):
    """The lines that count, in the order of the fold, by the settlements with some ids."""
    by_id = {entry.id: entry for entry in entries}
    named_by = {}
    for entry in by_id.values():
        if entry.kind in SETTLERS and entry.version == 1 and entry.id in counts:
            named_by.setdefault(entry.body["entry"], []).append(entry)
    in_rings = rings(named_by, by_id)
    effects = Effects(named_by, in_rings)
    lines = []
    for entry in by_id.values():
        effect = effects.on(entry.id)
        if entry.kind in SETTLERS and entry.version == 1 and not says_something_now(entry, effect):
            continue
        line = Line(
            entry.id,
            entry.happened,
            entry.recorded.ms,
            entry.by,
            entry.by,
            entry.kind,
            entry.version,
            entry.body,
        )
        if effect and effect.takes_back:
            continue
        if effect:
            source = effect.source
            line.kind, line.version, line.body = (source.body[key] for key in ("kind", "version", "with"))
            line.said_by, line.recorded_ms = source.by, source.recorded.ms
            line.at = effect.happened or line.at
        order = (line.at.ms, entry.recorded.ms, uuid.UUID(entry.id).bytes)
        lines.append((order, line))
    return [line for _, line in sorted(lines, key=lambda pair: pair[0])]


def says_something_now(settlement, effect):
    """A withdrawal that was corrected into a fact is that fact from here on."""
    return settlement.kind == "withdraws" and effect is not None and not effect.takes_back


def rings(named_by, by_id):
    """Ids of settlements that name each other in a ring."""
    found = set()
    for start in [entry.id for settlers in named_by.values() for entry in settlers]:
        seen, at = [], start
        while at in by_id and by_id[at].kind in SETTLERS and at not in seen:
            seen.append(at)
            at = by_id[at].body["entry"]
        if at in seen:
            found.update(seen[seen.index(at) :])
    return found


@dataclass
class Effect:
    """What a settlement does to the entry that it names."""

    rank: tuple
    takes_back: bool
    source: Entry = None
    happened: When = None


class Effects:
    """What is settled about each entry: of several settlements the one recorded last wins."""

    def __init__(self, named_by, in_rings):
        self.named_by = named_by
        self.in_rings = in_rings

    def on(self, entry_id):
        """The effect that wins on an entry."""
        settlers = [entry for entry in self.named_by.get(entry_id, []) if entry.id not in self.in_rings]
        effects = [effect for effect in map(self.of, settlers) if effect]
        return max(effects, key=lambda effect: effect.rank, default=None)

    def of(self, entry):
        """What a settlement does, once what is settled about itself is known."""
        rank = (entry.recorded.ms, uuid.UUID(entry.id).bytes)
        own = self.on(entry.id)
        if entry.kind == "withdraws":
            return None if own else Effect(rank, takes_back=True)
        if own is None:
            plain = entry.body["kind"] not in SETTLERS
            return Effect(rank, False, entry, corrected_moment(entry)) if plain else None
        if own.takes_back:
            return None
        # A correction of a correction speaks for the first entry.
        return Effect(own.rank, False, own.source, own.happened or corrected_moment(entry))


def corrected_moment(correction):
    """When it really happened, if the correction says so."""
    said = correction.body.get("happened")
    return said and When(said["unix_ms"], said["offset_s"], PRECISIONS.index(said.get("precision", "second")))
