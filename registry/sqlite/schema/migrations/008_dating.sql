-- What a machine's year rests on beside its bounds: whether it is only likely, the likely year, what a person knows, the marks on
-- the machine, and the table rows as they read when they dated it, which travel with it.

ALTER TABLE machine ADD COLUMN year_about INTEGER NOT NULL DEFAULT 0;
ALTER TABLE machine ADD COLUMN year_likely INTEGER;
ALTER TABLE machine ADD COLUMN year_known INTEGER;
ALTER TABLE machine ADD COLUMN year_because TEXT NOT NULL DEFAULT '';
ALTER TABLE machine ADD COLUMN year_known_by TEXT NOT NULL DEFAULT '';
ALTER TABLE machine ADD COLUMN clues TEXT NOT NULL DEFAULT '[]';
ALTER TABLE machine ADD COLUMN dated_rows TEXT NOT NULL DEFAULT '[]';

-- The worklist and a filter ask for machines whose evidence leaves no year; there are few.
CREATE INDEX machine_no_year ON machine (id) WHERE year_from IS NULL AND year_to IS NULL AND year_best IS NULL;
