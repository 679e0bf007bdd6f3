-- What a printed label or slip says, beside the hash of all that stands on it, which labels of before have alone; and what became of it.
ALTER TABLE print ADD COLUMN kind TEXT NOT NULL DEFAULT 'label'; -- label, slip
ALTER TABLE print ADD COLUMN event TEXT NOT NULL DEFAULT 'printed'; -- printed, spoiled, tied
ALTER TABLE print ADD COLUMN says TEXT NOT NULL DEFAULT ''; -- what it states by name, as JSON; empty where only the hash was kept
