-- A pass that bench work ended which touched nothing of the mains, and the look alone that gave one back: of which day that is.
ALTER TABLE machine ADD COLUMN paused_at TEXT NOT NULL DEFAULT '';
ALTER TABLE machine ADD COLUMN paused_by TEXT NOT NULL DEFAULT '';
ALTER TABLE safety_test ADD COLUMN revives TEXT NOT NULL DEFAULT '';
