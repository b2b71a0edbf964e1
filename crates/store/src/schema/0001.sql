-- The first layout of a logbook.

-- What this logbook is: one row.
CREATE TABLE logbook (
    the_one         INTEGER PRIMARY KEY CHECK (the_one = 1),
    own_device      INTEGER NOT NULL REFERENCES device (key)
) STRICT;

-- Every device whose entries are kept here, with the head of its chain.
-- written_here: this logbook continues the chain; otherwise it only comes in from other logbooks.
CREATE TABLE device (
    key             INTEGER PRIMARY KEY,
    device          BLOB    NOT NULL UNIQUE CHECK (length(device) = 16),
    written_here    INTEGER NOT NULL CHECK (written_here IN (0, 1)),
    head_number     INTEGER NOT NULL DEFAULT 0,
    head_hash       BLOB    NOT NULL DEFAULT (zeroblob(32)) CHECK (length(head_hash) = 32)
) STRICT;

-- The entries, in order of arrival. Times are milliseconds since 1970 in UTC with the local offset in seconds;
-- precision is 0 second, 1 minute, 2 day, 3 month; body is the fact as JSON, byte for byte as first written.
CREATE TABLE entry (
    seq                 INTEGER PRIMARY KEY,
    id                  BLOB    NOT NULL CHECK (length(id) = 16),
    device              INTEGER NOT NULL REFERENCES device (key),
    number              INTEGER NOT NULL CHECK (number > 0),
    happened_ms         INTEGER NOT NULL,
    happened_offset_s   INTEGER NOT NULL,
    happened_precision  INTEGER NOT NULL CHECK (happened_precision BETWEEN 0 AND 3),
    recorded_ms         INTEGER NOT NULL,
    recorded_offset_s   INTEGER NOT NULL,
    recorded_precision  INTEGER NOT NULL CHECK (recorded_precision BETWEEN 0 AND 3),
    written_by          TEXT    NOT NULL,
    kind                TEXT    NOT NULL,
    version             INTEGER NOT NULL,
    body                TEXT    NOT NULL,
    hash                BLOB    NOT NULL CHECK (length(hash) = 32)
) STRICT;

CREATE UNIQUE INDEX entry_by_id ON entry (id);
CREATE UNIQUE INDEX entry_by_number ON entry (device, number);

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
  OR EXISTS (SELECT 1 FROM entry WHERE id = NEW.id)
  OR EXISTS (SELECT 1 FROM entry WHERE device = NEW.device AND number = NEW.number)
BEGIN
    SELECT RAISE(ABORT, 'an entry is never replaced; write a correction');
END;
