-- The book of bins: what happened, one row each, never changed and never taken away. What was wrong is put right by a further row
-- (event 'correction', of_id). at_offset: minutes east of UTC on the clock of who wrote it. body: the fields as entered. question: why the row is to be checked, and then it counts for nothing yet.
-- idem_key and idem_index: the sender's Idempotency-Key and the place in its array; print: a hash of what was sent under it.
CREATE TABLE ledger (
    id          INTEGER PRIMARY KEY,
    event       TEXT NOT NULL,
    at_ms       INTEGER NOT NULL,
    at_offset   INTEGER NOT NULL,
    recorded_ms INTEGER NOT NULL,
    by_whom     TEXT,
    note        TEXT,
    body        TEXT NOT NULL,
    question    TEXT,
    of_id       INTEGER,
    idem_key    TEXT,
    idem_index  INTEGER,
    print       TEXT
) STRICT;
CREATE UNIQUE INDEX ledger_by_key ON ledger (idem_key, idem_index) WHERE idem_key IS NOT NULL;

CREATE TRIGGER ledger_stands BEFORE UPDATE ON ledger
BEGIN
    SELECT RAISE(ABORT, 'the ledger is append-only: write a correction');
END;

CREATE TRIGGER ledger_stays BEFORE DELETE ON ledger
BEGIN
    SELECT RAISE(ABORT, 'the ledger is append-only: write a correction');
END;

-- REPLACE deletes without asking a delete trigger.
CREATE TRIGGER ledger_once BEFORE INSERT ON ledger WHEN EXISTS (SELECT 1 FROM ledger WHERE id = NEW.id)
BEGIN
    SELECT RAISE(ABORT, 'the ledger is append-only: that row is written');
END;

-- States of bins worked out from readings and book, so that a start need not begin at the digging. May be thrown away.
CREATE TABLE lot_snapshot (
    bin   TEXT NOT NULL,
    at_ms INTEGER NOT NULL,
    body  TEXT NOT NULL,
    PRIMARY KEY (bin, at_ms)
) STRICT, WITHOUT ROWID;
