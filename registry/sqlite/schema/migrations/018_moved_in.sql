-- What the list of a workshop that ran before told of where a machine stands; empty once it went on from there.
ALTER TABLE machine ADD COLUMN moved_in TEXT NOT NULL DEFAULT '';

-- A test that such a list told has no points, and is none that was made here.
DROP INDEX function_test_first;
CREATE INDEX function_test_first ON function_test (tag, at, pass) WHERE struck = 0 AND points <> '[]';
