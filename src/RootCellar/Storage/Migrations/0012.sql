-- Every raising of an alarm is its own record: the alarm's row holds the last one only. number: how many times the alarm had been raised then.
-- body: the alarm as it stood at the end of that raising, or as it stands. returned_ms: NULL while it holds.
CREATE TABLE alarm_occurrence (
    alarm       TEXT NOT NULL,
    number      INTEGER NOT NULL,
    place       TEXT,
    raised_ms   INTEGER NOT NULL,
    returned_ms INTEGER,
    body        TEXT NOT NULL,
    PRIMARY KEY (alarm, number)
) STRICT, WITHOUT ROWID;
CREATE INDEX alarm_occurrence_by_time ON alarm_occurrence (raised_ms);
CREATE INDEX alarm_occurrence_of_place ON alarm_occurrence (place, raised_ms);

-- Of alarms before this file knew of it, what is left of them: their last raising.
INSERT INTO alarm_occurrence (alarm, number, place, raised_ms, returned_ms, body)
SELECT id, coalesce(json_extract(body, '$.count'), 1), place, raised_ms,
       CASE WHEN json_extract(body, '$.active') THEN NULL
            ELSE CAST(round((julianday(coalesce(json_extract(body, '$.returnedAt'), json_extract(body, '$.raisedAt'))) - 2440587.5) * 86400000) AS INTEGER) END,
       body
FROM alarm;

-- What is over stays as it was: once the alarm was raised again the row before is written no more, and none is ever taken away.
CREATE TRIGGER alarm_occurrence_over BEFORE UPDATE ON alarm_occurrence
WHEN EXISTS (SELECT 1 FROM alarm_occurrence WHERE alarm = OLD.alarm AND number > OLD.number)
BEGIN
    SELECT RAISE(IGNORE);
END;
CREATE TRIGGER alarm_occurrence_kept BEFORE DELETE ON alarm_occurrence
BEGIN
    SELECT RAISE(ABORT, 'the record of an alarm is not taken away');
END;

-- What a report said, in its words without pictures and by its figures (JSON), for as long as there is a record: a later correction is shown beside it.
ALTER TABLE report_sent ADD COLUMN said TEXT;
ALTER TABLE report_sent ADD COLUMN figures TEXT;
ALTER TABLE report_sent ADD COLUMN up_to_ms INTEGER;
