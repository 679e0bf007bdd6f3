-- The workshop's gates: bench work, function tests, electrical safety tests, spares, and what training centres report back.

ALTER TABLE machine ADD COLUMN held_from TEXT NOT NULL DEFAULT '';
ALTER TABLE machine ADD COLUMN held_why TEXT NOT NULL DEFAULT '';
ALTER TABLE machine ADD COLUMN unsafe_why TEXT NOT NULL DEFAULT '';
ALTER TABLE machine ADD COLUMN tested_at TEXT NOT NULL DEFAULT '';
ALTER TABLE machine ADD COLUMN tested_by TEXT NOT NULL DEFAULT '';
ALTER TABLE machine ADD COLUMN safety_at TEXT NOT NULL DEFAULT '';
ALTER TABLE machine ADD COLUMN safety_by TEXT NOT NULL DEFAULT '';
ALTER TABLE machine ADD COLUMN class TEXT NOT NULL DEFAULT '';
ALTER TABLE machine ADD COLUMN plate TEXT NOT NULL DEFAULT '{}';
ALTER TABLE machine ADD COLUMN heritage_seen_by TEXT NOT NULL DEFAULT '';

CREATE TABLE work (
  id         INTEGER PRIMARY KEY,
  struck     INTEGER NOT NULL DEFAULT 0,
  tag        TEXT NOT NULL REFERENCES machine (tag),
  at         TEXT NOT NULL,
  by         TEXT NOT NULL,
  did        TEXT NOT NULL,
  jobs       TEXT NOT NULL,
  minutes    INTEGER NOT NULL,
  note       TEXT NOT NULL,
  electrical INTEGER NOT NULL
) STRICT;
CREATE INDEX work_tag ON work (tag);

CREATE TABLE function_test (
  id     INTEGER PRIMARY KEY,
  struck INTEGER NOT NULL DEFAULT 0,
  tag    TEXT NOT NULL REFERENCES machine (tag),
  at     TEXT NOT NULL,
  by     TEXT NOT NULL,
  drive  TEXT NOT NULL,
  pass   INTEGER NOT NULL,
  points TEXT NOT NULL
) STRICT;
CREATE INDEX function_test_tag ON function_test (tag);

CREATE TABLE safety_test (
  id         INTEGER PRIMARY KEY,
  struck     INTEGER NOT NULL DEFAULT 0,
  tag        TEXT NOT NULL REFERENCES machine (tag),
  at         TEXT NOT NULL,
  by         TEXT NOT NULL,
  class      TEXT NOT NULL,
  pass       INTEGER NOT NULL,
  hold       TEXT NOT NULL,
  instrument TEXT NOT NULL,
  calibrated TEXT NOT NULL,
  form       TEXT NOT NULL,
  limits     TEXT NOT NULL,
  notes      TEXT NOT NULL
) STRICT;
CREATE INDEX safety_test_tag ON safety_test (tag);

-- Its number is written on the part, so none is ever given twice.
CREATE TABLE spare (
  id         INTEGER PRIMARY KEY AUTOINCREMENT,
  struck     INTEGER NOT NULL DEFAULT 0,
  part       TEXT NOT NULL,
  taken_from TEXT NOT NULL,
  maker      TEXT NOT NULL,
  model      TEXT NOT NULL,
  taken_at   TEXT NOT NULL,
  taken_by   TEXT NOT NULL,
  place      TEXT NOT NULL,
  fitted_to  TEXT NOT NULL,
  fitted_at  TEXT NOT NULL,
  fitted_by  TEXT NOT NULL,
  replaced   INTEGER NOT NULL
) STRICT;
CREATE INDEX spare_from ON spare (taken_from, part);
CREATE INDEX spare_to ON spare (fitted_to, part);

CREATE TABLE supply (
  id     INTEGER PRIMARY KEY,
  struck INTEGER NOT NULL DEFAULT 0,
  part   TEXT NOT NULL,
  count  INTEGER NOT NULL CHECK (count >= 0)
) STRICT;
CREATE UNIQUE INDEX supply_part ON supply (part) WHERE struck = 0;

CREATE TABLE need (
  id     INTEGER PRIMARY KEY,
  struck INTEGER NOT NULL DEFAULT 0,
  tag    TEXT NOT NULL REFERENCES machine (tag),
  part   TEXT NOT NULL,
  since  TEXT NOT NULL,
  met    INTEGER NOT NULL
) STRICT;
CREATE INDEX need_open ON need (tag) WHERE met = 0;

CREATE TABLE arrival (
  id      INTEGER PRIMARY KEY,
  struck  INTEGER NOT NULL DEFAULT 0,
  tag     TEXT NOT NULL REFERENCES machine (tag),
  at      TEXT NOT NULL,
  by      TEXT NOT NULL,
  transit TEXT NOT NULL,
  faults  TEXT NOT NULL,
  note    TEXT NOT NULL
) STRICT;
CREATE INDEX arrival_tag ON arrival (tag);
