-- Air that comes for a time the lots have been followed through already: from an import, or a clock that was put right. The lots
-- are followed anew from there. Noted here by the file itself, so that no writer can forget it.
CREATE TABLE air_late (
    id    INTEGER PRIMARY KEY,
    at_ms INTEGER NOT NULL
) STRICT;

CREATE TRIGGER air_came_late AFTER INSERT ON air
WHEN NEW.at_ms < (SELECT CAST(value AS INTEGER) FROM meta WHERE key = 'lots_through_ms')
BEGIN
    INSERT INTO air_late (at_ms) VALUES (NEW.at_ms);
END;
