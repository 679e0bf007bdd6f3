-- What is known of the parts of a head that carry the mains, and as what an electric head was sold that nobody had tested.
ALTER TABLE machine ADD COLUMN mains TEXT NOT NULL DEFAULT '[]';
ALTER TABLE machine ADD COLUMN sold_as TEXT NOT NULL DEFAULT '';
