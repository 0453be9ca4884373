-- What a sensor was held against, and the correction that came of it. Readings stay as they came; each row stands until the next of that
-- sensor and quantity, so that what was believed on any day can be worked out again. A NULL body takes a correction off.
-- The last is the one of the highest id, not of the latest since_ms: the clock may have been set back between two.
CREATE TABLE calibration (
    id       INTEGER PRIMARY KEY,
    sensor   INTEGER NOT NULL,
    quantity INTEGER NOT NULL,
    since_ms INTEGER NOT NULL,
    body     TEXT
) STRICT;
