-- Where a machine came from by spreadsheet and went to by bundle; which house an action was done in.

ALTER TABLE machine ADD COLUMN import_id TEXT NOT NULL DEFAULT '';
ALTER TABLE machine ADD COLUMN handed_to TEXT NOT NULL DEFAULT '';
ALTER TABLE base ADD COLUMN handed_to TEXT NOT NULL DEFAULT '';
CREATE INDEX machine_import_id ON machine (import_id) WHERE import_id <> '';

-- Empty, or the letters of the house that it was done in with its number there, such as LR/417.
ALTER TABLE action ADD COLUMN origin TEXT NOT NULL DEFAULT '';
CREATE UNIQUE INDEX action_origin ON action (origin) WHERE origin <> '';
