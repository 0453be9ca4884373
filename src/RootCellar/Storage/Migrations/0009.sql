-- Readings that came well after the time their device gave them (more than five minutes, the step of the air): of which hours the air of
-- their places is to be made anew. One row a sensor, noted here by the file itself, so that neither a writer nor a kill can forget it.
-- readings: how many came since the row began.
CREATE TABLE reading_late (
    sensor   INTEGER PRIMARY KEY,
    from_ms  INTEGER NOT NULL,
    to_ms    INTEGER NOT NULL,
    readings INTEGER NOT NULL
) STRICT;

-- Two statements, for the conflict rule of the outer insert would hold in an upsert as well. time_source 1: the device's own time; quality 0: good.
CREATE TRIGGER reading_came_late AFTER INSERT ON reading
WHEN NEW.time_source = 1 AND NEW.quality = 0 AND NEW.arrived_ms - NEW.at_ms > 300000
BEGIN
    UPDATE reading_late SET from_ms = min(from_ms, NEW.at_ms), to_ms = max(to_ms, NEW.at_ms), readings = readings + 1 WHERE sensor = NEW.sensor;
    INSERT INTO reading_late (sensor, from_ms, to_ms, readings)
    SELECT NEW.sensor, NEW.at_ms, NEW.at_ms, 1 WHERE NOT EXISTS (SELECT 1 FROM reading_late WHERE sensor = NEW.sensor);
END;

-- What came late before this file knew of it.
INSERT INTO reading_late (sensor, from_ms, to_ms, readings)
SELECT sensor, min(at_ms), max(at_ms), count(*) FROM reading WHERE time_source = 1 AND quality = 0 AND arrived_ms - at_ms > 300000 GROUP BY sensor;

-- Where a sensor stood since when, so that the air of past hours is made of the sensors that were there then. NULL: nowhere. The first
-- place of a sensor counts from its first reading, however late that was said.
CREATE TABLE sensor_stay (
    id       INTEGER PRIMARY KEY,
    sensor   INTEGER NOT NULL,
    place    TEXT,
    since_ms INTEGER NOT NULL
) STRICT;
CREATE INDEX sensor_stay_by_sensor ON sensor_stay (sensor, id);

INSERT INTO sensor_stay (sensor, place, since_ms) SELECT id, place, 0 FROM sensor WHERE place IS NOT NULL;

-- The number of a forgotten sensor may be given again.
CREATE TRIGGER sensor_forgotten AFTER DELETE ON sensor
BEGIN
    DELETE FROM reading_late WHERE sensor = OLD.id;
    DELETE FROM sensor_stay WHERE sensor = OLD.id;
END;
