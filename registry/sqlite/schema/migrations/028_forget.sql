-- Personal texts enter the chain by a digest and a salt, the marks beside them (registry/chain), so that they can be forgotten.
ALTER TABLE action ADD COLUMN mark TEXT NOT NULL DEFAULT '';
ALTER TABLE change ADD COLUMN marks TEXT NOT NULL DEFAULT '';

-- What was forgotten, by the link that tells of it: texts, and the new sums of links from before there were marks. The note of
-- that link vouches for the rows.
CREATE TABLE forgotten (
  id   INTEGER PRIMARY KEY,
  link INTEGER NOT NULL,
  what TEXT NOT NULL -- action 5; change 12 donor 1; link 3 and its sum
) STRICT;
CREATE INDEX forgotten_link ON forgotten (link);
CREATE TRIGGER forgotten_stays BEFORE UPDATE ON forgotten BEGIN SELECT RAISE (ABORT, 'history is append-only'); END;
CREATE TRIGGER forgotten_kept BEFORE DELETE ON forgotten BEGIN SELECT RAISE (ABORT, 'history is append-only'); END;
