-- Treadle bases, and what is measured on heads so that one can be fitted to the other.

CREATE TABLE base (
  id                INTEGER PRIMARY KEY,
  struck            INTEGER NOT NULL DEFAULT 0,
  tag               TEXT NOT NULL UNIQUE,
  stage             TEXT NOT NULL,
  stage_since       TEXT NOT NULL,
  held_from         TEXT NOT NULL,
  held_why          TEXT NOT NULL,
  maker             TEXT NOT NULL,
  pattern           TEXT NOT NULL,
  condition         TEXT NOT NULL,
  form              TEXT NOT NULL,
  place             TEXT NOT NULL,
  donor             TEXT NOT NULL,
  note              TEXT NOT NULL,
  weight_g          INTEGER NOT NULL,
  opening_length_um INTEGER NOT NULL,
  opening_width_um  INTEGER NOT NULL,
  pins_um           INTEGER NOT NULL,
  flywheel_um       INTEGER NOT NULL,
  centre_um         INTEGER NOT NULL,
  shaft_to_top_um   INTEGER NOT NULL,
  belt_um           INTEGER NOT NULL,
  side              TEXT NOT NULL,
  top               TEXT NOT NULL CHECK (top IN ('fixed', 'replaceable', 'missing')),
  parts             TEXT NOT NULL,
  arrived_with      TEXT NOT NULL,
  logged_at         TEXT NOT NULL,
  logged_by         TEXT NOT NULL
) STRICT;
CREATE INDEX base_stage ON base (stage, stage_since);
CREATE INDEX base_place ON base (place) WHERE place <> '';

CREATE TRIGGER base_kept BEFORE DELETE ON base BEGIN SELECT RAISE (ABORT, 'a tag is given for good'); END;
CREATE TRIGGER base_tag_stays BEFORE UPDATE OF tag ON base BEGIN SELECT RAISE (ABORT, 'a tag is given for good'); END;

ALTER TABLE machine ADD COLUMN bed_pattern TEXT NOT NULL DEFAULT '';
ALTER TABLE machine ADD COLUMN bed_length_um INTEGER NOT NULL DEFAULT 0;
ALTER TABLE machine ADD COLUMN bed_width_um INTEGER NOT NULL DEFAULT 0;
ALTER TABLE machine ADD COLUMN pins_um INTEGER NOT NULL DEFAULT 0;
ALTER TABLE machine ADD COLUMN wheel_um INTEGER NOT NULL DEFAULT 0;
ALTER TABLE machine ADD COLUMN groove TEXT NOT NULL DEFAULT '';
ALTER TABLE machine ADD COLUMN wheel_kind TEXT NOT NULL DEFAULT '';
ALTER TABLE machine ADD COLUMN crank_boss TEXT NOT NULL DEFAULT '';
ALTER TABLE machine ADD COLUMN motor_boss TEXT NOT NULL DEFAULT '';
ALTER TABLE machine ADD COLUMN axis_height_um INTEGER NOT NULL DEFAULT 0;
ALTER TABLE machine ADD COLUMN belt_offset_um INTEGER NOT NULL DEFAULT 0;
ALTER TABLE machine ADD COLUMN either_way TEXT NOT NULL DEFAULT '';
ALTER TABLE machine ADD COLUMN needle TEXT NOT NULL DEFAULT '';
ALTER TABLE machine ADD COLUMN bobbin TEXT NOT NULL DEFAULT '';
ALTER TABLE machine ADD COLUMN weight INTEGER NOT NULL DEFAULT 0;
