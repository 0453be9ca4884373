-- Sensors leave. placed: whether it ever was in a place, or somebody named or calibrated it. What such a sensor measured stays when it is
-- forgotten (forgotten_ms), under its name. One that nobody ever placed goes with all its rows: its number is noted in sensor_leaving until
-- the last of its readings is taken out, and no number is given twice ('last_sensor'). Noted here by the file itself, so that no writer
-- can forget it.
ALTER TABLE sensor ADD COLUMN placed INTEGER NOT NULL DEFAULT 0;
ALTER TABLE sensor ADD COLUMN forgotten_ms INTEGER;
UPDATE sensor SET placed = 1 WHERE place IS NOT NULL OR name IS NOT NULL OR id IN (SELECT sensor FROM calibration);

CREATE TABLE sensor_leaving (
    id INTEGER PRIMARY KEY
) STRICT;

CREATE TRIGGER sensor_left AFTER DELETE ON sensor
BEGIN
    INSERT OR IGNORE INTO sensor_leaving (id) VALUES (OLD.id);
    INSERT INTO meta (key, value) VALUES ('last_sensor', CAST(OLD.id AS TEXT))
    ON CONFLICT (key) DO UPDATE SET value = CAST(max(CAST(value AS INTEGER), OLD.id) AS TEXT);
END;
