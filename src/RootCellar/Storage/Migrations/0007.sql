-- The weekly report: a week is marked in the same transaction that queues its mails. Their HTML and pictures are the same for everyone, so they are kept once.
CREATE TABLE report_sent (
    week    TEXT PRIMARY KEY,
    at_ms   INTEGER NOT NULL,
    mails   INTEGER NOT NULL,
    html    TEXT
) STRICT, WITHOUT ROWID;

CREATE TABLE report_picture (
    week TEXT NOT NULL,
    id   TEXT NOT NULL,
    png  BLOB NOT NULL,
    PRIMARY KEY (week, id)
) STRICT, WITHOUT ROWID;

ALTER TABLE contact ADD COLUMN report INTEGER NOT NULL DEFAULT 1;
