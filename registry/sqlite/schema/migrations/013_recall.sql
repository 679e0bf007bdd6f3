-- Why a safety pass was withdrawn after it was recorded: a wrong instrument, a person, a time.
ALTER TABLE safety_test ADD COLUMN withdrawn TEXT NOT NULL DEFAULT '';
