-- How much each person did, counted as it is written down: a house of a million machines has many millions of actions.
CREATE TABLE acted (
  initials TEXT PRIMARY KEY REFERENCES person,
  actions  INTEGER NOT NULL
) STRICT, WITHOUT ROWID;
INSERT INTO acted SELECT by, count(*) FROM action GROUP BY by;
CREATE TRIGGER action_counted AFTER INSERT ON action BEGIN
  INSERT INTO acted VALUES (new.by, 1) ON CONFLICT (initials) DO UPDATE SET actions = actions + 1;
END;
