-- The language of those who will sew there, for what goes along with a machine.
ALTER TABLE partner ADD COLUMN language TEXT NOT NULL DEFAULT '';
