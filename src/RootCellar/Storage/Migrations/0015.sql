-- When each contact may be told: after how long without an acknowledgement, not in which hours, how often a day, and whether they hear
-- that all is well. Times are of the household's clock, "21:30".
ALTER TABLE contact ADD COLUMN wait_minutes INTEGER NOT NULL DEFAULT 0;
ALTER TABLE contact ADD COLUMN quiet_from TEXT;
ALTER TABLE contact ADD COLUMN quiet_to TEXT;
ALTER TABLE contact ADD COLUMN wakes TEXT NOT NULL DEFAULT 'urgent';
ALTER TABLE contact ADD COLUMN low_in_the_morning INTEGER NOT NULL DEFAULT 0;
ALTER TABLE contact ADD COLUMN most_a_day INTEGER;
ALTER TABLE contact ADD COLUMN all_is_well TEXT NOT NULL DEFAULT 'never';
