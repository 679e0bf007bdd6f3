-- What keeps lists and searches quick when there are a million machines.

-- Pages of a list go by id, which stands at the end of every index, so these give a page without sorting.
CREATE INDEX machine_maker ON machine (maker_key) WHERE struck = 0;
CREATE INDEX machine_at_stage ON machine (stage) WHERE struck = 0;
DROP INDEX machine_place;
CREATE INDEX machine_place ON machine (place COLLATE NOCASE) WHERE place <> '';
DROP INDEX action_by;
CREATE INDEX action_by ON action (by, at);

-- What the worklist counts each time it is asked.
CREATE INDEX machine_count ON machine (stage, drive) WHERE struck = 0;
CREATE INDEX function_test_first ON function_test (tag, at, pass) WHERE struck = 0;

-- What a report asks of a stretch of time: who came in, who was tested; and every coming to a stage, read from the index alone.
CREATE INDEX machine_logged ON machine (logged_at) WHERE struck = 0;
CREATE INDEX function_test_at ON function_test (at, tag) WHERE struck = 0;
CREATE INDEX change_stage ON change (ref, id, json_extract (fields, '$.stage[1]'), action)
  WHERE kind = 'machine' AND json_extract (fields, '$.stage[1]') IS NOT NULL;

-- Text is found anywhere in a field, also in the middle of a word or number, by the groups of three bytes that it holds. The
-- index only ever grows: it names the machines that may hold a text, and the machine itself says whether it does.
CREATE VIRTUAL TABLE machine_text USING fts4 (grams, content='', matchinfo=fts3);
INSERT INTO machine_text (machine_text) VALUES ('automerge=8');
INSERT INTO machine_text (docid, grams)
WITH whole AS MATERIALIZED (
  SELECT id, CAST (lower (concat_ws (char (10), tag, maker, model, serial, donor, condition, place, note)) AS BLOB) AS text FROM machine
)
SELECT id, (
  WITH RECURSIVE step (n) AS (SELECT 1 UNION ALL SELECT n + 1 FROM step WHERE n < length (text) - 2)
  SELECT group_concat (hex (substr (text, n, 3)), ' ') FROM step
) FROM whole;
