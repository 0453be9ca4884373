-- Sign-ins that were ended by signing out: a copy of their cookie opens nothing, also after a restart.
CREATE TABLE ended_session (
    id     TEXT PRIMARY KEY,
    at_ms  INTEGER NOT NULL
) STRICT, WITHOUT ROWID;
