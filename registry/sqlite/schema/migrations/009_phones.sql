-- The key of the form that an action came by, so that a form sent twice over a network that loses answers acts once. It belongs to this
-- house alone and travels in no bundle.
ALTER TABLE action ADD COLUMN sent TEXT NOT NULL DEFAULT '';
CREATE UNIQUE INDEX action_sent ON action (sent) WHERE sent <> '';

-- Which stored picture shows what. The pictures are files beside the registry.
CREATE TABLE photo (
  id     INTEGER PRIMARY KEY,
  struck INTEGER NOT NULL DEFAULT 0,
  tag    TEXT NOT NULL,
  name   TEXT NOT NULL CHECK (length (name) = 64),
  shows  TEXT NOT NULL,
  width  INTEGER NOT NULL,
  height INTEGER NOT NULL,
  at     TEXT NOT NULL,
  by     TEXT NOT NULL,
  gone   TEXT NOT NULL CHECK (gone IN ('', 'put aside', 'for good'))
) STRICT;
CREATE INDEX photo_tag ON photo (tag);
CREATE INDEX photo_name ON photo (name);
