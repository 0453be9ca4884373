-- The language a contact is texted in, by its tag; null: the household's.
ALTER TABLE contact ADD COLUMN language TEXT;
