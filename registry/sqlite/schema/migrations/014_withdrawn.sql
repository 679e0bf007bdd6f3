-- The key of the house whose signature made a safety pass count here; empty where it was recorded here.
ALTER TABLE machine ADD COLUMN safety_key TEXT NOT NULL DEFAULT '';
-- Which passes were withdrawn, so that those count no more either whose machines were away then.
CREATE TABLE withdrawal (
  id         INTEGER PRIMARY KEY,
  struck     INTEGER NOT NULL DEFAULT 0,
  instrument TEXT NOT NULL,
  tester     TEXT NOT NULL,
  from_day   TEXT NOT NULL,
  to_day     TEXT NOT NULL,
  why        TEXT NOT NULL,
  at         TEXT NOT NULL
) STRICT;
