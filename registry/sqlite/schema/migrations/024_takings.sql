-- What a sold machine or base, a lot of parts or scrap brought.
INSERT INTO counter VALUES ('taking', 0);

CREATE TABLE taking (
  id                 INTEGER PRIMARY KEY,
  struck             INTEGER NOT NULL DEFAULT 0,
  ident              TEXT NOT NULL, -- of a lot; a machine or base has its tag
  tag                TEXT NOT NULL,
  way                TEXT NOT NULL CHECK (way IN ('sale', 'parts', 'scrap')),
  what               TEXT NOT NULL,
  metal              TEXT NOT NULL,
  weight_g           INTEGER NOT NULL CHECK (weight_g >= 0),
  brought_hundredths INTEGER CHECK (brought_hundredths >= 0), -- NULL: nobody said
  currency           TEXT NOT NULL,
  taken_at           TEXT NOT NULL,
  taken_by           TEXT NOT NULL,
  CHECK ((ident = '') <> (tag = '')),
  CHECK ((brought_hundredths IS NULL) = (currency = ''))
) STRICT;
CREATE UNIQUE INDEX taking_ident ON taking (ident) WHERE ident <> '';
CREATE INDEX taking_tag ON taking (tag);
