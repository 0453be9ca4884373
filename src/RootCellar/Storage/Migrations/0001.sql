-- The first file. Times are Unix milliseconds UTC; values are SI; a NULL value is a reading that was not a number.
CREATE TABLE meta (
    key   TEXT PRIMARY KEY,
    value TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE place (
    id        TEXT PRIMARY KEY,
    name      TEXT NOT NULL,
    purpose   TEXT NOT NULL,
    volume_m3 REAL,
    crops     TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE sensor (
    id          INTEGER PRIMARY KEY,
    key         TEXT NOT NULL UNIQUE,
    place       TEXT,
    named_place TEXT,
    name        TEXT,
    first_ms    INTEGER NOT NULL,
    interval_s  REAL
) STRICT;

-- seq: for a reading stamped by its device, a hash of the value, so that a repeat falls on itself;
-- for one stamped at arrival, a running number, so that two in one millisecond are both kept.
CREATE TABLE reading (
    sensor      INTEGER NOT NULL,
    quantity    INTEGER NOT NULL,
    at_ms       INTEGER NOT NULL,
    seq         INTEGER NOT NULL,
    value       REAL,
    arrived_ms  INTEGER NOT NULL,
    time_source INTEGER NOT NULL,
    quality     INTEGER NOT NULL,
    reason      TEXT,
    PRIMARY KEY (sensor, quantity, at_ms, seq)
) STRICT, WITHOUT ROWID;

CREATE TABLE rollup (
    sensor   INTEGER NOT NULL,
    quantity INTEGER NOT NULL,
    at_ms    INTEGER NOT NULL,
    low      REAL NOT NULL,
    mean     REAL NOT NULL,
    high     REAL NOT NULL,
    count    INTEGER NOT NULL,
    PRIMARY KEY (sensor, quantity, at_ms)
) STRICT, WITHOUT ROWID;

CREATE TABLE air (
    place          TEXT NOT NULL,
    at_ms          INTEGER NOT NULL,
    temperature_c  REAL,
    humidity_pct   REAL,
    dew_point_c    REAL,
    deficit_pa     REAL,
    pulp_c         REAL,
    coldest_pulp_c REAL,
    light_lx       REAL,
    co2_ppm        REAL,
    quality        INTEGER NOT NULL,
    PRIMARY KEY (place, at_ms)
) STRICT, WITHOUT ROWID;

CREATE TABLE alarm (
    id        TEXT PRIMARY KEY,
    state     TEXT NOT NULL,
    place     TEXT,
    raised_ms INTEGER NOT NULL,
    body      TEXT NOT NULL
) STRICT, WITHOUT ROWID;
CREATE INDEX alarm_by_time ON alarm (raised_ms);
CREATE INDEX alarm_open ON alarm (state) WHERE state <> 'normal';

CREATE TABLE contact (
    id      TEXT PRIMARY KEY,
    name    TEXT NOT NULL,
    channel TEXT NOT NULL,
    address TEXT NOT NULL,
    wants   TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE outbox (
    id         TEXT PRIMARY KEY,
    alarm      TEXT,
    channel    TEXT NOT NULL,
    recipient  TEXT NOT NULL,
    body       TEXT NOT NULL,
    state      TEXT NOT NULL,
    attempts   INTEGER NOT NULL,
    created_ms INTEGER NOT NULL,
    next_ms    INTEGER NOT NULL,
    sent_ms    INTEGER,
    error      TEXT
) STRICT, WITHOUT ROWID;
CREATE INDEX outbox_due ON outbox (state, next_ms);
CREATE INDEX outbox_by_time ON outbox (created_ms);

CREATE TABLE token (
    name       TEXT PRIMARY KEY,
    hash       TEXT NOT NULL UNIQUE,
    created_ms INTEGER NOT NULL
) STRICT, WITHOUT ROWID;
