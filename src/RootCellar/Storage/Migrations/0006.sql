-- How far the mirror is. Rows are not copied into a queue: the record is the queue. Of each series everything up to at_ms has been taken by
-- the other server; reach_ms is up to where rows are on their way. A row that comes for a time within that moves both back, here in the file
-- itself, so that no writer can forget it. dropped: rows that were taken off the record before they were sent.
-- Both tables are empty while no mirror was ever set up, and then the triggers find nothing to do.
CREATE TABLE mirror_reading (
    sensor   INTEGER NOT NULL,
    quantity INTEGER NOT NULL,
    at_ms    INTEGER NOT NULL,
    reach_ms INTEGER NOT NULL,
    dropped  INTEGER NOT NULL DEFAULT 0,
    PRIMARY KEY (sensor, quantity)
) STRICT, WITHOUT ROWID;

CREATE TRIGGER mirror_reading_came_late AFTER INSERT ON reading
BEGIN
    UPDATE mirror_reading SET at_ms = min(at_ms, NEW.at_ms - 1), reach_ms = NEW.at_ms - 1
    WHERE sensor = NEW.sensor AND quantity = NEW.quantity AND reach_ms >= NEW.at_ms;
END;

CREATE TRIGGER mirror_reading_went AFTER DELETE ON reading
BEGIN
    UPDATE mirror_reading SET dropped = dropped + 1 WHERE sensor = OLD.sensor AND quantity = OLD.quantity AND at_ms < OLD.at_ms;
END;

CREATE TABLE mirror_air (
    place    TEXT PRIMARY KEY,
    at_ms    INTEGER NOT NULL,
    reach_ms INTEGER NOT NULL,
    dropped  INTEGER NOT NULL DEFAULT 0
) STRICT, WITHOUT ROWID;

CREATE TRIGGER mirror_air_came_late AFTER INSERT ON air
BEGIN
    UPDATE mirror_air SET at_ms = min(at_ms, NEW.at_ms - 1), reach_ms = NEW.at_ms - 1 WHERE place = NEW.place AND reach_ms >= NEW.at_ms;
END;

CREATE TRIGGER mirror_air_went AFTER DELETE ON air
BEGIN
    UPDATE mirror_air SET dropped = dropped + 1 WHERE place = OLD.place AND at_ms < OLD.at_ms;
END;

-- What the record does not keep by itself: each change of an alarm (its row holds the last state only) and, once an hour, the estimates.
-- Gone once sent; bounded by the program. kind: 'alarm' (body: the alarm) or 'line' (body: the point as it is sent).
CREATE TABLE mirror_log (
    id    INTEGER PRIMARY KEY AUTOINCREMENT,
    kind  TEXT NOT NULL,
    at_ms INTEGER NOT NULL,
    body  TEXT NOT NULL
) STRICT;

CREATE TRIGGER mirror_alarm_raised AFTER INSERT ON alarm WHEN EXISTS (SELECT 1 FROM meta WHERE key = 'mirror_target')
BEGIN
    INSERT INTO mirror_log (kind, at_ms, body) VALUES ('alarm', CAST((julianday('now') - 2440587.5) * 86400000 AS INTEGER), NEW.body);
END;

CREATE TRIGGER mirror_alarm_changed AFTER UPDATE ON alarm WHEN EXISTS (SELECT 1 FROM meta WHERE key = 'mirror_target')
BEGIN
    INSERT INTO mirror_log (kind, at_ms, body) VALUES ('alarm', CAST((julianday('now') - 2440587.5) * 86400000 AS INTEGER), NEW.body);
END;

-- Points the other server calls malformed, with its reason; the last thousand.
CREATE TABLE mirror_aside (
    id    INTEGER PRIMARY KEY AUTOINCREMENT,
    at_ms INTEGER NOT NULL,
    point TEXT NOT NULL,
    why   TEXT NOT NULL
) STRICT;

-- ledger_id: the last entry sent. sent, dropped (of mirror_log), aside: counts. since_ms: since when this server is written to.
CREATE TABLE mirror_number (
    name  TEXT PRIMARY KEY,
    value INTEGER NOT NULL
) STRICT, WITHOUT ROWID;
