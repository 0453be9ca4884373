-- A place that was emptied is shown and not judged, unless it is asked to be.
ALTER TABLE place ADD COLUMN watch_empty INTEGER NOT NULL DEFAULT 0;
