"""Computes the chains of the logbook in tests/all/tampering.rs from the documented layout, with hashlib only.

Run it with any Python 3 and compare: python3 chain.py > chain.txt
"""
import hashlib
import json
import struct
import uuid


def entry(number):
    device = bytes([2 if number % 3 == 0 else 1]) * 16
    if number % 3 == 1:
        kind, fact = "meter-read", {"machine": "turnstone", "reading_hours": number + 0.5}
    else:
        kind, fact = "noted", {"words": f"Brushed the gate, note {number}"}
    unix_ms = 1_780_000_000_000 + number * 60_000
    return {
        "id": (0x0190_0000_0000_7000_8000_0000_0000_0000 | number).to_bytes(16, "big"),
        "device": device,
        "moments": struct.pack(">qiBqiB", unix_ms, 7200, 1, unix_ms + 5_000, 7200, 0),
        "by": "ines",
        "kind": kind,
        "body": json.dumps(fact, separators=(",", ":")),
    }


def text(words):
    return struct.pack(">I", len(words.encode())) + words.encode()


def canonical(e, number):
    return (
        e["id"] + e["device"] + struct.pack(">Q", number) + e["moments"]
        + text(e["by"]) + text(e["kind"]) + struct.pack(">H", 1) + text(e["body"])
    )


heads = {}
for e in map(entry, range(12)):
    number, before = heads.get(e["device"], (0, bytes(32)))
    heads[e["device"]] = number + 1, hashlib.sha256(before + canonical(e, number + 1)).digest()
for device, (number, hash) in sorted(heads.items()):
    print(uuid.UUID(bytes=device), number, hash.hex())
