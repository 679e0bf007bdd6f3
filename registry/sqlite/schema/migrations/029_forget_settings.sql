-- What house.toml said enters the chain by a digest and a salt, the mark beside it (registry/chain), so that a name in it can be
-- forgotten. What was remembered before has none: its digest is of the text alone.
ALTER TABLE decisions ADD COLUMN mark TEXT NOT NULL DEFAULT '';
