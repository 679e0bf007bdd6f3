-- What is known against a mains part that was taken off: the machine that it was on, and what that failed.
ALTER TABLE spare ADD COLUMN failed TEXT NOT NULL DEFAULT '';
