-- The first layout of a logbook.

-- Every device whose entries are kept here, with the head of its chain.
-- written_here: this logbook continues the chain; otherwise it only comes in from other logbooks.
CREATE TABLE device (
    device          BLOB    PRIMARY KEY CHECK (length(device) = 16),
    written_here    INTEGER NOT NULL CHECK (written_here IN (0, 1)),
    head_number     INTEGER NOT NULL DEFAULT 0,
    head_hash       BLOB    NOT NULL DEFAULT (zeroblob(32)) CHECK (length(head_hash) = 32)
) STRICT, WITHOUT ROWID;

-- What this logbook is: one row.
CREATE TABLE logbook (
    the_one         INTEGER PRIMARY KEY CHECK (the_one = 1),
    own_device      BLOB    NOT NULL REFERENCES device (device)
) STRICT;

-- The entries, in order of arrival.
--
-- record holds the very bytes over which the chain is hashed, so that reading a million of them takes one column each
-- and nothing can differ between what is kept and what is proved. Integers are big-endian:
--   byte 0   id (16), then device (16), then the device's running number (8)
--   byte 40  happened: milliseconds since 1970 UTC (8), local offset in seconds (4), precision (1)
--   byte 53  recorded, likewise. Precision: 0 second, 1 minute, 2 day, 3 month
--   byte 66  who wrote it: length (4) and UTF-8
--   then     kind: length (4) and UTF-8; version (2); body: length (4) and the fact as JSON in UTF-8
-- hash is SHA-256 over the hash of the same device's entry before (32 zero bytes before the first) and record.
CREATE TABLE entry (
    seq             INTEGER PRIMARY KEY,
    record          BLOB    NOT NULL CHECK (length(record) >= 80),
    hash            BLOB    NOT NULL CHECK (length(hash) = 32)
) STRICT;

CREATE UNIQUE INDEX entry_by_id ON entry (substr(record, 1, 16));
-- By device and number, which stand side by side.
CREATE UNIQUE INDEX entry_by_number ON entry (substr(record, 17, 24));

CREATE TRIGGER entry_is_never_changed BEFORE UPDATE ON entry
BEGIN
    SELECT RAISE(ABORT, 'an entry is never changed; write a correction');
END;

CREATE TRIGGER entry_is_never_removed BEFORE DELETE ON entry
BEGIN
    SELECT RAISE(ABORT, 'an entry is never removed; write a withdrawal');
END;

-- REPLACE deletes without firing the trigger above, so it is refused where it begins.
CREATE TRIGGER entry_is_never_replaced BEFORE INSERT ON entry
WHEN EXISTS (SELECT 1 FROM entry WHERE seq = NEW.seq)
  OR EXISTS (SELECT 1 FROM entry WHERE substr(record, 1, 16) = substr(NEW.record, 1, 16))
  OR EXISTS (SELECT 1 FROM entry WHERE substr(record, 17, 24) = substr(NEW.record, 17, 24))
BEGIN
    SELECT RAISE(ABORT, 'an entry is never replaced; write a correction');
END;

-- The entries for people who look into the file with any SQLite tool. SQLite cannot read a number from bytes, so each
-- is put together from its hexadecimal digits.
CREATE VIEW entry_in_words AS
WITH digits AS (SELECT seq, record, hex(record) AS h FROM entry),
writer AS (
    SELECT *, (WITH RECURSIVE n(i, v) AS (SELECT 0, 0 UNION ALL
             SELECT i + 1, (v << 4) | (instr('0123456789ABCDEF', substr(h, 133 + i, 1)) - 1) FROM n WHERE i < 8)
             SELECT v FROM n WHERE i = 8) AS n_by
    FROM digits
),
kinds AS (
    SELECT *, (WITH RECURSIVE n(i, v) AS (SELECT 0, 0 UNION ALL
             SELECT i + 1, (v << 4) | (instr('0123456789ABCDEF', substr(h, 141 + 2 * n_by + i, 1)) - 1) FROM n WHERE i < 8)
             SELECT v FROM n WHERE i = 8) AS n_kind
    FROM writer
)
SELECT seq,
       lower(hex(substr(record, 1, 16))) AS id,
       lower(hex(substr(record, 17, 16))) AS device,
       (WITH RECURSIVE n(i, v) AS (SELECT 0, 0 UNION ALL
             SELECT i + 1, (v << 4) | (instr('0123456789ABCDEF', substr(h, 65 + i, 1)) - 1) FROM n WHERE i < 16)
             SELECT v FROM n WHERE i = 16) AS number,
       datetime((WITH RECURSIVE n(i, v) AS (SELECT 0, 0 UNION ALL
             SELECT i + 1, (v << 4) | (instr('0123456789ABCDEF', substr(h, 81 + i, 1)) - 1) FROM n WHERE i < 16)
             SELECT v FROM n WHERE i = 16) / 1000, 'unixepoch') AS happened_utc,
       datetime((WITH RECURSIVE n(i, v) AS (SELECT 0, 0 UNION ALL
             SELECT i + 1, (v << 4) | (instr('0123456789ABCDEF', substr(h, 107 + i, 1)) - 1) FROM n WHERE i < 16)
             SELECT v FROM n WHERE i = 16) / 1000, 'unixepoch') AS recorded_utc,
       CAST(substr(record, 71, n_by) AS TEXT) AS written_by,
       CAST(substr(record, 75 + n_by, n_kind) AS TEXT) AS kind,
       CAST(substr(record, 81 + n_by + n_kind) AS TEXT) AS body
FROM kinds;
