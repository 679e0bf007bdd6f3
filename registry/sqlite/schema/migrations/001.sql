-- The spine: machines, who did what, and a history that only grows.

CREATE TABLE counter (
  name  TEXT PRIMARY KEY,
  value INTEGER NOT NULL
) STRICT;
INSERT INTO counter VALUES ('tag', 0);

CREATE TABLE person (
  initials TEXT PRIMARY KEY,
  since    TEXT NOT NULL
) STRICT;

CREATE TABLE action (
  id     INTEGER PRIMARY KEY,
  at     TEXT NOT NULL,
  by     TEXT NOT NULL REFERENCES person (initials),
  verb   TEXT NOT NULL,
  why    TEXT NOT NULL,
  undoes INTEGER UNIQUE REFERENCES action (id)
) STRICT;
CREATE INDEX action_by ON action (by);

CREATE TABLE change (
  id      INTEGER PRIMARY KEY,
  action  INTEGER NOT NULL REFERENCES action (id),
  kind    TEXT NOT NULL,
  ref     INTEGER NOT NULL,
  subject TEXT NOT NULL,
  fields  TEXT NOT NULL CHECK (json_valid (fields))
) STRICT;
CREATE INDEX change_action ON change (action);
CREATE INDEX change_subject ON change (subject);
CREATE INDEX change_record ON change (kind, ref);

CREATE TRIGGER action_stays BEFORE UPDATE ON action BEGIN SELECT RAISE (ABORT, 'history is append-only'); END;
CREATE TRIGGER action_kept BEFORE DELETE ON action BEGIN SELECT RAISE (ABORT, 'history is append-only'); END;
CREATE TRIGGER change_stays BEFORE UPDATE ON change BEGIN SELECT RAISE (ABORT, 'history is append-only'); END;
CREATE TRIGGER change_kept BEFORE DELETE ON change BEGIN SELECT RAISE (ABORT, 'history is append-only'); END;

CREATE TABLE machine (
  id           INTEGER PRIMARY KEY,
  struck       INTEGER NOT NULL DEFAULT 0,
  tag          TEXT NOT NULL UNIQUE,
  maker        TEXT NOT NULL,
  serial       TEXT NOT NULL,
  drive        TEXT NOT NULL CHECK (drive IN ('hand', 'treadle', 'electric')),
  stage        TEXT NOT NULL,
  year_from    INTEGER,
  year_to      INTEGER,
  year_best    INTEGER,
  year_basis   TEXT NOT NULL,
  model        TEXT NOT NULL,
  stitch       TEXT NOT NULL,
  donor        TEXT NOT NULL,
  condition    TEXT NOT NULL,
  place        TEXT NOT NULL,
  note         TEXT NOT NULL,
  patents      TEXT NOT NULL,
  patent_years TEXT NOT NULL,
  seen         TEXT NOT NULL,
  dated_by     TEXT NOT NULL,
  arrived_with TEXT NOT NULL,
  logged_at    TEXT NOT NULL,
  logged_by    TEXT NOT NULL,
  stage_since  TEXT NOT NULL,
  maker_key    TEXT NOT NULL,
  serial_key   TEXT NOT NULL
) STRICT;
CREATE INDEX machine_serial ON machine (maker_key, serial_key);
CREATE INDEX machine_stage ON machine (stage, stage_since);
CREATE INDEX machine_place ON machine (place) WHERE place <> '';

CREATE TRIGGER machine_kept BEFORE DELETE ON machine BEGIN SELECT RAISE (ABORT, 'a tag is given for good'); END;
CREATE TRIGGER machine_tag_stays BEFORE UPDATE OF tag ON machine BEGIN SELECT RAISE (ABORT, 'a tag is given for good'); END;
