-- What comes in in turns, between which others write, is told by two links of the chain: one at its first turn and one at its end
-- (registry/sqlite/verify/turns.go). Whoever opens the house asks whether there is one without the other.
CREATE INDEX link_turns ON link (note) WHERE note >= 'turns ' AND note < 'turns!';
