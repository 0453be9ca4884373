-- A sensor that took another's place: how both stood before (JSON), so that it can be taken back.
CREATE TABLE sensor_replacement (
    sensor INTEGER PRIMARY KEY,
    body TEXT NOT NULL
);
