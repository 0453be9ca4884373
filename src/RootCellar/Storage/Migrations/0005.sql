-- Helpers: they log, and do not set up. key: the name as it is compared. failures and failed_ms are kept so that a restart gives no
-- more tries at a PIN.
CREATE TABLE helper (
    id           INTEGER PRIMARY KEY AUTOINCREMENT,
    name         TEXT NOT NULL,
    key          TEXT NOT NULL UNIQUE,
    pin_hash     TEXT NOT NULL,
    created_ms   INTEGER NOT NULL,
    last_seen_ms INTEGER,
    failures     INTEGER NOT NULL DEFAULT 0,
    failed_ms    INTEGER
) STRICT;

-- What a token may do: 'all', or 'log' as a helper may.
ALTER TABLE token ADD COLUMN may TEXT NOT NULL DEFAULT 'all';
