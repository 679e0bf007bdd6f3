-- Which house this is, and a chain over its history. The program id stands in the file's head, where other tools see it, too.
PRAGMA application_id = 1346982989; -- "PITM"

CREATE TABLE identity (
  name  TEXT PRIMARY KEY, -- house, schema
  value TEXT NOT NULL
) STRICT;
INSERT INTO identity VALUES ('house', lower (hex (randomblob (16))));

-- A link covers the actions and changes up to these numbers, and behind those of the link before it; registry/chain has the sum.
CREATE TABLE link (
  id     INTEGER PRIMARY KEY,
  action INTEGER NOT NULL,
  change INTEGER NOT NULL,
  note   TEXT NOT NULL, -- where the chain begins, branches off, or what else it vouches for
  sum    TEXT NOT NULL
) STRICT;
CREATE TRIGGER link_stays BEFORE UPDATE ON link BEGIN SELECT RAISE (ABORT, 'history is append-only'); END;
CREATE TRIGGER link_kept BEFORE DELETE ON link BEGIN SELECT RAISE (ABORT, 'history is append-only'); END;

-- What house.toml said, each time it was another: a lost one is told, and put back, from here. Each is vouched for by a link.
CREATE TABLE decisions (
  id   INTEGER PRIMARY KEY,
  at   TEXT NOT NULL,
  text TEXT NOT NULL
) STRICT;
CREATE TRIGGER decisions_stay BEFORE UPDATE ON decisions BEGIN SELECT RAISE (ABORT, 'history is append-only'); END;
CREATE TRIGGER decisions_kept BEFORE DELETE ON decisions BEGIN SELECT RAISE (ABORT, 'history is append-only'); END;
