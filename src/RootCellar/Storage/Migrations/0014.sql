-- What texts call a place whose name a text cannot carry.
ALTER TABLE place ADD COLUMN short_name TEXT;
