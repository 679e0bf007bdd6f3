-- Whom orders are for. An order goes on naming its partner in words; the record is found by the name.
INSERT INTO counter VALUES ('partner', 0);

CREATE TABLE partner (
  id             INTEGER PRIMARY KEY,
  struck         INTEGER NOT NULL DEFAULT 0,
  ident          TEXT NOT NULL UNIQUE,
  name           TEXT NOT NULL,
  name_key       TEXT NOT NULL,
  address        TEXT NOT NULL,
  contact        TEXT NOT NULL,
  country        TEXT NOT NULL,
  currency       TEXT NOT NULL,
  supply         TEXT NOT NULL,
  hours          REAL CHECK (hours BETWEEN 0 AND 24), -- NULL in this and the next: nobody knows
  panel_watts    INTEGER CHECK (panel_watts >= 0),
  inverter_watts INTEGER CHECK (inverter_watts >= 0),
  battery_wh     INTEGER CHECK (battery_wh >= 0),
  battery_kind   TEXT NOT NULL CHECK (battery_kind IN ('', 'lead-acid', 'lithium')),
  sun_hours      REAL CHECK (sun_hours BETWEEN 0 AND 24),
  note           TEXT NOT NULL
) STRICT;
CREATE UNIQUE INDEX partner_name ON partner (name_key) WHERE struck = 0;
