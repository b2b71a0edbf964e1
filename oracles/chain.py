"""Every device's hash chain, recomputed with hashlib from the exported file; and what is caught when a byte changes."""

import copy
import shutil

import form
from entries import chain_hash, read_file
from report import Check


def chains(entries):
    """Device → its entries by number."""
    found = {}
    for entry in sorted(entries, key=lambda entry: entry.number):
        found.setdefault(entry.device, []).append(entry)
    return found


def broken(entries):
    """The entries at which a chain does not hold."""
    found = []
    for chain in chains(entries).values():
        previous = bytes(32)
        for number, entry in enumerate(chain, 1):
            own = chain_hash(previous, entry)
            if entry.number != number or own.hex() != entry.hash:
                found.append(entry)
            previous = own
    return found


def with_a_byte_flipped(entries, at):
    """The same entries with one byte of one body changed."""
    changed = list(entries)
    changed[at] = copy.copy(entries[at])
    body = bytearray(changed[at].body_text, "utf-8")
    # The lowest bit of the last letter or digit: still UTF-8, another body.
    where = max(n for n, byte in enumerate(body) if chr(byte).isalnum() and byte < 128)
    body[where] ^= 1
    changed[at].body_text = body.decode("utf-8")
    return changed


def check_tampering(check, program, made, entries):
    """Our own reckoning must see a changed byte, and so must the program, in a file and in its own store."""
    at = len(entries) // 2
    found = broken(with_a_byte_flipped(entries, at))
    check.must("flipped bytes seen here", made.name, found and found[0].id == entries[at].id)
    check_tampered_file(check, program, made, at)
    check_tampered_store(check, program, made, entries[at])


def check_tampered_file(check, program, made, at):
    """A file in which one digit of one hash was changed is refused and leaves nothing behind, or is found."""
    lines = made.export.read_bytes().splitlines(keepends=True)
    line = bytearray(lines[at])
    digit = line.rindex(b'"') - 1
    line[digit] = ord("0") if line[digit] != ord("0") else ord("1")
    tampered, taken = made.folder / "tampered.jsonl", made.folder / "tampered"
    tampered.write_bytes(b"".join([*lines[:at], bytes(line), *lines[at + 1 :]]))
    done = program.run("logbook", "import", tampered, data=taken)
    if done.returncode == 0:
        done = program.run("logbook", "verify", data=taken)
    check.must("flipped digits seen by the program", made.name, done.returncode != 0)


def check_tampered_store(check, program, made, entry):
    """One byte of the store's own file is changed where the body of an entry lies: `logbook verify` must find it."""
    copied = made.folder / "flipped"
    shutil.copytree(made.data, copied)
    for file in copied.glob("logbook.db*"):
        content = bytearray(file.read_bytes())
        body = entry.body_text.encode()
        where = content.find(body)
        while where >= 0:
            # The last letter or digit of the body; the lowest bit makes it another one.
            last = max(n for n, byte in enumerate(body) if chr(byte).isalnum() and byte < 128)
            content[where + last] ^= 1
            where = content.find(body, where + 1)
        file.write_bytes(content)
    done = program.run("logbook", "verify", data=copied)
    check.same("flipped bytes in the store seen by the program", made.name, 1, done.returncode)


def run(program, booths, _kinds):
    """Every exported logbook."""
    check = Check("chain")
    for made in booths:
        entries = read_file(made.export)
        wrong = {entry.id for entry in broken(entries)}
        for entry in entries:
            check.must("hashes", f"{made.name}, entry {entry.number} of {entry.device}", entry.id not in wrong)
            if not made.hostile:
                where = f"{made.name}, {entry.id}"
                check.same("bodies by the document", where, [], form.faults(entry.kind, entry.body))
        said = program.json("logbook", "verify", data=made.data)
        heads = {chain[0].device: (chain[-1].number, chain[-1].hash) for chain in chains(entries).values()}
        check.same("heads", made.name, heads, {h["device"]: (h["number"], h["hash"]) for h in said["heads"]})
        check_tampering(check, program, made, entries)
    return check
