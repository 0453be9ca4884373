-- A password for one MQTT client of the built-in broker. kind: 'sensor' (name: the sensor's key) or 'reader' (name: what the household calls it).
-- hash: SHA-256 in hexadecimal of 80 random bits. used_ms: when it was first used; from then on nobody else may publish for that sensor.
CREATE TABLE client_credential (
    id         INTEGER PRIMARY KEY AUTOINCREMENT,
    kind       TEXT NOT NULL CHECK (kind IN ('sensor', 'reader')),
    name       TEXT NOT NULL,
    hash       TEXT NOT NULL UNIQUE,
    created_ms INTEGER NOT NULL,
    used_ms    INTEGER,
    UNIQUE (kind, name)
) STRICT;
