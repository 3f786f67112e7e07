-- SPDX-License-Identifier: GPL-3.0-or-later
-- A bench of schema version 7 with rows in every table; the cameras are invented. Frozen: never edit, add vN.sql instead.
-- Made by: the published version texts 1 to 7 of src/notebook/schema.c printed as they stood on 2026-11-30, then rows
-- written by hand (the triggers of version 3 on fill the search index), then the number of the version. Read it with
-- sqlite3 bench.db < v7.sql. Times, hashes and measurements are made up and mean nothing.
PRAGMA foreign_keys = ON;
PRAGMA application_id = 1129792049;

-- version 1
CREATE TABLE change( -- one line of history: what a person did in one go; undo works on these
  id INTEGER PRIMARY KEY AUTOINCREMENT, -- never used twice: rows carry it as their revision
  job_id INTEGER NOT NULL, -- whose history, 0 = of the bench; no foreign key, history outlives the job
  words TEXT NOT NULL, -- 'four screws into tray 3'
  at TEXT NOT NULL, -- UTC, 2026-11-25T09:00:21Z
  undone INTEGER NOT NULL DEFAULT 0,
  rows BLOB -- an SQLite changeset: the rows before and after; applied backwards to undo
) STRICT;
CREATE INDEX change_of_job ON change(job_id, id);
CREATE TABLE job( -- one camera, from taken in to handed on
  id INTEGER PRIMARY KEY,
  revision INTEGER NOT NULL, -- change.id that wrote the row last
  camera TEXT NOT NULL, -- its kind, as the person writes it
  camera_key TEXT NOT NULL, -- the same with case folded: which jobs are of one kind
  serial TEXT NOT NULL,
  shutter TEXT NOT NULL CHECK(shutter IN ('unknown','leaf','focal-plane')),
  complaint TEXT NOT NULL,
  owner TEXT NOT NULL, -- private
  notes TEXT NOT NULL,
  stage TEXT NOT NULL CHECK(stage IN ('taken-in','apart','mended','together','proved','handed-on')),
  taken_in_on TEXT NOT NULL, -- day, 2026-11-25
  handed_on_on TEXT NOT NULL, -- day or ''
  plan_of INTEGER REFERENCES job(id), -- the earlier job whose steps lead this one
  cover_photo_id INTEGER, -- photo.id
  agreed_cost REAL,
  currency TEXT NOT NULL,
  created_at TEXT NOT NULL,
  changed_at TEXT NOT NULL
) STRICT;
CREATE INDEX job_by_change ON job(changed_at, id);
CREATE INDEX job_by_day ON job(taken_in_on, id);
CREATE INDEX job_by_camera ON job(camera_key, serial, id);
CREATE INDEX job_by_stage ON job(stage);
CREATE INDEX job_by_plan ON job(plan_of);
CREATE TABLE recording( -- an original, kept in recordings/ under its hash
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  hash TEXT NOT NULL UNIQUE, -- SHA-256 of the content, hexadecimal
  name TEXT NOT NULL, -- the file name it came with
  bytes INTEGER NOT NULL,
  added_at TEXT NOT NULL
) STRICT;
CREATE TABLE test( -- a measurement before, during or after the work
  id INTEGER PRIMARY KEY,
  revision INTEGER NOT NULL,
  job_id INTEGER NOT NULL REFERENCES job(id),
  kind TEXT NOT NULL, -- 'shutter', 'sound', 'focus' ...
  at_time TEXT NOT NULL CHECK(at_time IN ('before','during','after')),
  title TEXT NOT NULL,
  notes TEXT NOT NULL,
  tested_on TEXT NOT NULL, -- day
  program_version TEXT NOT NULL,
  recording_id INTEGER REFERENCES recording(id),
  created_at TEXT NOT NULL,
  plan_json TEXT NOT NULL, -- how it was evaluated
  result_json TEXT NOT NULL, -- 'format' in it names the contract
  trace_json TEXT NOT NULL -- thinned traces for redrawing
) STRICT;
CREATE INDEX test_of_job ON test(job_id, kind, at_time, id);
CREATE INDEX test_of_recording ON test(recording_id);
CREATE TABLE reading( -- a number copied from a timer
  id INTEGER PRIMARY KEY,
  test_id INTEGER NOT NULL REFERENCES test(id),
  marked_s REAL NOT NULL CHECK(marked_s > 0),
  exposure_s REAL NOT NULL CHECK(exposure_s > 0),
  position_mm REAL, -- NULL: not given
  as_typed TEXT NOT NULL
) STRICT;
CREATE INDEX reading_of_test ON reading(test_id, id);
CREATE TABLE saved_sheet( -- a worksheet's result kept with a job
  id INTEGER PRIMARY KEY,
  revision INTEGER NOT NULL,
  job_id INTEGER NOT NULL REFERENCES job(id),
  worksheet TEXT NOT NULL,
  title TEXT NOT NULL,
  program_version TEXT NOT NULL,
  notes TEXT NOT NULL,
  created_at TEXT NOT NULL,
  result_json TEXT NOT NULL
) STRICT;
CREATE INDEX saved_sheet_of_job ON saved_sheet(job_id, id);

-- version 2
CREATE TABLE step( -- one step of taking apart
  id INTEGER PRIMARY KEY,
  revision INTEGER NOT NULL,
  job_id INTEGER NOT NULL REFERENCES job(id),
  rank INTEGER NOT NULL, -- order within the job; gaps are normal
  title TEXT NOT NULL,
  came_off TEXT NOT NULL,
  held_by TEXT NOT NULL,
  thread TEXT NOT NULL CHECK(thread IN ('','right','left')),
  orientation TEXT NOT NULL,
  flies TEXT NOT NULL, -- springs or detents that can fly
  tool TEXT NOT NULL,
  lubricant_found TEXT NOT NULL,
  lubricant_to_use TEXT NOT NULL,
  torque TEXT NOT NULL,
  check_before_closing TEXT NOT NULL,
  notes TEXT NOT NULL,
  duration_s REAL,
  state TEXT NOT NULL CHECK(state IN ('planned','done','skipped')),
  back_done INTEGER NOT NULL CHECK(back_done IN (0,1)), -- checked off on the way together
  from_step_id INTEGER, -- the earlier job's step; may be gone
  planned_json TEXT NOT NULL, -- what the earlier step said, '' when it was not planned
  created_at TEXT NOT NULL,
  changed_at TEXT NOT NULL
) STRICT;
CREATE INDEX step_of_job ON step(job_id, rank);
CREATE TABLE tray( -- a small tray or lid with a number on it
  id INTEGER PRIMARY KEY,
  revision INTEGER NOT NULL,
  job_id INTEGER NOT NULL REFERENCES job(id),
  number INTEGER NOT NULL CHECK(number BETWEEN 1 AND 9999),
  label TEXT NOT NULL,
  put_away INTEGER NOT NULL CHECK(put_away IN (0,1)),
  UNIQUE(job_id, number)
) STRICT;
CREATE TABLE part( -- pieces of one kind that came off together
  id INTEGER PRIMARY KEY,
  revision INTEGER NOT NULL,
  job_id INTEGER NOT NULL REFERENCES job(id),
  step_id INTEGER REFERENCES step(id),
  tray_id INTEGER REFERENCES tray(id),
  kind TEXT NOT NULL,
  pieces INTEGER NOT NULL CHECK(pieces BETWEEN 1 AND 9999),
  size TEXT NOT NULL,
  length TEXT NOT NULL,
  sat TEXT NOT NULL, -- where it sat
  orientation TEXT NOT NULL,
  condition TEXT NOT NULL CHECK(condition IN ('good','clean','replace','make')),
  state TEXT NOT NULL CHECK(state IN ('expected','out','back','replaced','made','left-out')),
  reason TEXT NOT NULL CHECK(state <> 'left-out' OR reason <> ''),
  notes TEXT NOT NULL,
  planned_json TEXT NOT NULL -- what the earlier job said, '' when it was not expected
) STRICT;
CREATE INDEX part_of_job ON part(job_id, state);
CREATE INDEX part_of_step ON part(step_id, state);
CREATE INDEX part_of_tray ON part(tray_id, state);
CREATE TABLE photo( -- the original lies in photos/ under its hash
  id INTEGER PRIMARY KEY,
  revision INTEGER NOT NULL,
  job_id INTEGER NOT NULL REFERENCES job(id),
  step_id INTEGER REFERENCES step(id),
  part_id INTEGER REFERENCES part(id),
  caption TEXT NOT NULL,
  hash TEXT NOT NULL, -- SHA-256 of the content, hexadecimal
  media TEXT NOT NULL CHECK(media IN ('image/jpeg','image/png')),
  name TEXT NOT NULL, -- the file name it came with
  bytes INTEGER NOT NULL,
  width_px INTEGER NOT NULL, -- upright, after turning by the EXIF orientation
  height_px INTEGER NOT NULL,
  orientation INTEGER NOT NULL CHECK(orientation BETWEEN 1 AND 8),
  taken_at TEXT NOT NULL,
  created_at TEXT NOT NULL
) STRICT;
CREATE INDEX photo_of_job ON photo(job_id, id);
CREATE INDEX photo_of_step ON photo(step_id, id);
CREATE INDEX photo_of_part ON photo(part_id, id);
CREATE INDEX photo_by_hash ON photo(hash);
CREATE TABLE photo_mark( -- a numbered mark on a photo
  id INTEGER PRIMARY KEY,
  revision INTEGER NOT NULL,
  photo_id INTEGER NOT NULL REFERENCES photo(id),
  number INTEGER NOT NULL CHECK(number BETWEEN 1 AND 999),
  x REAL NOT NULL CHECK(x BETWEEN 0 AND 1), -- from the left of the upright picture
  y REAL NOT NULL CHECK(y BETWEEN 0 AND 1), -- from its top
  text TEXT NOT NULL,
  hook_deg REAL, -- 0 to the right, 90 up; NULL: no arrow
  part_id INTEGER REFERENCES part(id)
) STRICT;
CREATE INDEX photo_mark_of_photo ON photo_mark(photo_id, number);
CREATE INDEX photo_mark_of_part ON photo_mark(part_id);
CREATE TABLE thing( -- what comes off as one, or is to be reached
  id INTEGER PRIMARY KEY,
  revision INTEGER NOT NULL,
  job_id INTEGER NOT NULL REFERENCES job(id),
  name TEXT NOT NULL,
  name_key TEXT NOT NULL, -- case folded
  step_id INTEGER REFERENCES step(id),
  UNIQUE(job_id, name_key)
) STRICT;
CREATE INDEX thing_of_step ON thing(step_id);
CREATE INDEX thing_by_name ON thing(name_key);
CREATE TABLE block( -- `under` is under `over`: over comes off first
  id INTEGER PRIMARY KEY,
  job_id INTEGER NOT NULL REFERENCES job(id),
  under_id INTEGER NOT NULL REFERENCES thing(id),
  over_id INTEGER NOT NULL REFERENCES thing(id) CHECK(over_id <> under_id),
  way INTEGER NOT NULL CHECK(way BETWEEN 0 AND 8), -- 0: always; 1..8: alternatives, any one of them will do
  UNIQUE(under_id, over_id, way)
) STRICT;
CREATE INDEX block_of_job ON block(job_id, id);
CREATE INDEX block_over ON block(over_id);
CREATE TRIGGER together_means_all_back BEFORE UPDATE OF stage ON job
WHEN new.stage IN ('together','proved','handed-on')
  AND EXISTS(SELECT 1 FROM part WHERE job_id = new.id AND state = 'out')
BEGIN SELECT RAISE(ABORT, 'a part of this job is still out; the job is not together'); END;
CREATE TRIGGER no_part_out_once_together BEFORE INSERT ON part
WHEN new.state = 'out' AND (SELECT stage FROM job WHERE id = new.job_id) IN ('together','proved','handed-on')
BEGIN SELECT RAISE(ABORT, 'this job is together already; set it back to apart before a part comes out'); END;
CREATE TRIGGER no_part_back_out_once_together BEFORE UPDATE OF state ON part
WHEN new.state = 'out' AND (SELECT stage FROM job WHERE id = new.job_id) IN ('together','proved','handed-on')
BEGIN SELECT RAISE(ABORT, 'this job is together already; set it back to apart before a part comes out'); END;

-- version 3
CREATE VIRTUAL TABLE words USING fts5(camera, title, body, job_id UNINDEXED, tokenize = 'unicode61 remove_diacritics 2', prefix = '2 3');
INSERT INTO words(words, rank) VALUES('rank', 'bm25(5.0, 3.0, 1.0)');
CREATE VIRTUAL TABLE words_used USING fts5vocab(words, 'row');
CREATE VIEW job_document AS SELECT id, id * 8 + 0 AS document, camera, serial AS title, complaint || char(10) || notes || char(10) || owner || char(10) || coalesce((SELECT group_concat(name, ', ') FROM thing WHERE thing.job_id = job.id), '') AS body, id AS job_id FROM job;
CREATE VIEW step_document AS SELECT step.id, step.id * 8 + 1 AS document, camera, title, came_off || char(10) || held_by || char(10) || orientation || char(10) || flies || char(10) || tool || char(10) || lubricant_found || char(10) || lubricant_to_use || char(10) || torque || char(10) || check_before_closing || char(10) || step.notes AS body, job_id FROM step JOIN job ON job.id = job_id;
CREATE VIEW part_document AS SELECT part.id, part.id * 8 + 2 AS document, camera, kind AS title, size || ' ' || length || char(10) || sat || char(10) || orientation || char(10) || reason || char(10) || part.notes AS body, job_id FROM part JOIN job ON job.id = job_id;
CREATE VIEW photo_document AS SELECT photo.id, photo.id * 8 + 3 AS document, camera, caption AS title, coalesce((SELECT group_concat(text, char(10)) FROM photo_mark WHERE photo_id = photo.id), '') AS body, job_id FROM photo JOIN job ON job.id = job_id;
CREATE VIEW test_document AS SELECT test.id, test.id * 8 + 4 AS document, camera, title, kind || char(10) || test.notes AS body, job_id FROM test JOIN job ON job.id = job_id;
CREATE TRIGGER job_is_found AFTER INSERT ON job BEGIN INSERT INTO words(rowid, camera, title, body, job_id) SELECT document, camera, title, body, job_id FROM job_document WHERE id = new.id; END;
CREATE TRIGGER job_is_found_again AFTER UPDATE OF serial, complaint, notes, owner ON job BEGIN DELETE FROM words WHERE rowid = old.id * 8 + 0; INSERT INTO words(rowid, camera, title, body, job_id) SELECT document, camera, title, body, job_id FROM job_document WHERE id = new.id; END;
CREATE TRIGGER job_is_found_no_more AFTER DELETE ON job BEGIN DELETE FROM words WHERE rowid = old.id * 8 + 0; END;
CREATE TRIGGER step_is_found AFTER INSERT ON step BEGIN INSERT INTO words(rowid, camera, title, body, job_id) SELECT document, camera, title, body, job_id FROM step_document WHERE id = new.id; END;
CREATE TRIGGER step_is_found_again AFTER UPDATE OF title, came_off, held_by, orientation, flies, tool, lubricant_found, lubricant_to_use, torque, check_before_closing, notes ON step BEGIN DELETE FROM words WHERE rowid = old.id * 8 + 1; INSERT INTO words(rowid, camera, title, body, job_id) SELECT document, camera, title, body, job_id FROM step_document WHERE id = new.id; END;
CREATE TRIGGER step_is_found_no_more AFTER DELETE ON step BEGIN DELETE FROM words WHERE rowid = old.id * 8 + 1; END;
CREATE TRIGGER part_is_found AFTER INSERT ON part BEGIN INSERT INTO words(rowid, camera, title, body, job_id) SELECT document, camera, title, body, job_id FROM part_document WHERE id = new.id; END;
CREATE TRIGGER part_is_found_again AFTER UPDATE OF kind, size, length, sat, orientation, reason, notes ON part BEGIN DELETE FROM words WHERE rowid = old.id * 8 + 2; INSERT INTO words(rowid, camera, title, body, job_id) SELECT document, camera, title, body, job_id FROM part_document WHERE id = new.id; END;
CREATE TRIGGER part_is_found_no_more AFTER DELETE ON part BEGIN DELETE FROM words WHERE rowid = old.id * 8 + 2; END;
CREATE TRIGGER photo_is_found AFTER INSERT ON photo BEGIN INSERT INTO words(rowid, camera, title, body, job_id) SELECT document, camera, title, body, job_id FROM photo_document WHERE id = new.id; END;
CREATE TRIGGER photo_is_found_again AFTER UPDATE OF caption ON photo BEGIN DELETE FROM words WHERE rowid = old.id * 8 + 3; INSERT INTO words(rowid, camera, title, body, job_id) SELECT document, camera, title, body, job_id FROM photo_document WHERE id = new.id; END;
CREATE TRIGGER photo_is_found_no_more AFTER DELETE ON photo BEGIN DELETE FROM words WHERE rowid = old.id * 8 + 3; END;
CREATE TRIGGER test_is_found AFTER INSERT ON test BEGIN INSERT INTO words(rowid, camera, title, body, job_id) SELECT document, camera, title, body, job_id FROM test_document WHERE id = new.id; END;
CREATE TRIGGER test_is_found_again AFTER UPDATE OF title, kind, notes ON test BEGIN DELETE FROM words WHERE rowid = old.id * 8 + 4; INSERT INTO words(rowid, camera, title, body, job_id) SELECT document, camera, title, body, job_id FROM test_document WHERE id = new.id; END;
CREATE TRIGGER test_is_found_no_more AFTER DELETE ON test BEGIN DELETE FROM words WHERE rowid = old.id * 8 + 4; END;
CREATE TRIGGER mark_is_found AFTER INSERT ON photo_mark BEGIN DELETE FROM words WHERE rowid = new.photo_id * 8 + 3; INSERT INTO words(rowid, camera, title, body, job_id) SELECT document, camera, title, body, job_id FROM photo_document WHERE id = new.photo_id; END;
CREATE TRIGGER mark_is_found_again AFTER UPDATE OF text ON photo_mark BEGIN DELETE FROM words WHERE rowid = new.photo_id * 8 + 3; INSERT INTO words(rowid, camera, title, body, job_id) SELECT document, camera, title, body, job_id FROM photo_document WHERE id = new.photo_id; END;
CREATE TRIGGER mark_is_found_no_more AFTER DELETE ON photo_mark BEGIN DELETE FROM words WHERE rowid = old.photo_id * 8 + 3; INSERT INTO words(rowid, camera, title, body, job_id) SELECT document, camera, title, body, job_id FROM photo_document WHERE id = old.photo_id; END;
CREATE TRIGGER thing_is_found AFTER INSERT ON thing BEGIN DELETE FROM words WHERE rowid = new.job_id * 8 + 0; INSERT INTO words(rowid, camera, title, body, job_id) SELECT document, camera, title, body, job_id FROM job_document WHERE id = new.job_id; END;
CREATE TRIGGER thing_is_found_again AFTER UPDATE OF name ON thing BEGIN DELETE FROM words WHERE rowid = new.job_id * 8 + 0; INSERT INTO words(rowid, camera, title, body, job_id) SELECT document, camera, title, body, job_id FROM job_document WHERE id = new.job_id; END;
CREATE TRIGGER thing_is_found_no_more AFTER DELETE ON thing BEGIN DELETE FROM words WHERE rowid = old.job_id * 8 + 0; INSERT INTO words(rowid, camera, title, body, job_id) SELECT document, camera, title, body, job_id FROM job_document WHERE id = old.job_id; END;
CREATE TRIGGER camera_is_found_again AFTER UPDATE OF camera ON job WHEN new.camera <> old.camera BEGIN
  UPDATE words SET camera = new.camera WHERE rowid IN (SELECT new.id * 8 UNION ALL
    SELECT id * 8 + 1 FROM step WHERE job_id = new.id UNION ALL SELECT id * 8 + 2 FROM part WHERE job_id = new.id
    UNION ALL SELECT id * 8 + 3 FROM photo WHERE job_id = new.id UNION ALL
    SELECT id * 8 + 4 FROM test WHERE job_id = new.id);
END;
INSERT INTO words(rowid, camera, title, body, job_id) SELECT document, camera, title, body, job_id FROM job_document;
INSERT INTO words(rowid, camera, title, body, job_id) SELECT document, camera, title, body, job_id FROM step_document;
INSERT INTO words(rowid, camera, title, body, job_id) SELECT document, camera, title, body, job_id FROM part_document;
INSERT INTO words(rowid, camera, title, body, job_id) SELECT document, camera, title, body, job_id FROM photo_document;
INSERT INTO words(rowid, camera, title, body, job_id) SELECT document, camera, title, body, job_id FROM test_document;

-- version 4
CREATE TABLE bench_identity( -- one row: which bench this is, so that a backup is never written over another one
  name TEXT NOT NULL
) STRICT;
INSERT INTO bench_identity(name) VALUES(lower(hex(randomblob(16))));
CREATE TABLE tool( -- the rack: made and bought tools
  id INTEGER PRIMARY KEY,
  revision INTEGER NOT NULL,
  name TEXT NOT NULL,
  kind TEXT NOT NULL, -- the worksheet that makes it, or a word
  made INTEGER NOT NULL CHECK(made IN (0,1)), -- else bought
  sizes_json TEXT NOT NULL, -- numbers by name, in mm; '' none
  made_for_job_id INTEGER REFERENCES job(id),
  place TEXT NOT NULL, -- where it hangs
  notes TEXT NOT NULL,
  created_at TEXT NOT NULL,
  inputs_json TEXT NOT NULL, -- of the worksheet, to make it again
  drawing_svg TEXT NOT NULL
) STRICT;
CREATE INDEX tool_by_kind ON tool(kind, name);
CREATE INDEX tool_of_job ON tool(made_for_job_id);
CREATE TABLE cost( -- hours and money spent on a job
  id INTEGER PRIMARY KEY,
  revision INTEGER NOT NULL,
  job_id INTEGER NOT NULL REFERENCES job(id),
  on_day TEXT NOT NULL,
  what TEXT NOT NULL,
  worked_s REAL CHECK(worked_s >= 0), -- NULL: a cost only
  amount REAL, -- in the currency of the job; NULL: time only
  notes TEXT NOT NULL
) STRICT;
CREATE INDEX cost_of_job ON cost(job_id, on_day, id);
CREATE TABLE checklist( -- a list worked through in a job
  id INTEGER PRIMARY KEY,
  revision INTEGER NOT NULL,
  job_id INTEGER NOT NULL REFERENCES job(id),
  kind TEXT NOT NULL,
  title TEXT NOT NULL,
  created_at TEXT NOT NULL
) STRICT;
CREATE INDEX checklist_of_job ON checklist(job_id, id);
CREATE TABLE checklist_item(
  id INTEGER PRIMARY KEY,
  revision INTEGER NOT NULL,
  checklist_id INTEGER NOT NULL REFERENCES checklist(id),
  key TEXT NOT NULL, -- for programs
  text TEXT NOT NULL, -- the question
  answer TEXT NOT NULL CHECK(answer IN ('open','yes','no','not-applicable')),
  value TEXT NOT NULL,
  remark TEXT NOT NULL
) STRICT;
CREATE INDEX item_of_checklist ON checklist_item(checklist_id, id);
CREATE TABLE film_frame( -- a test film, frame by frame
  id INTEGER PRIMARY KEY,
  revision INTEGER NOT NULL,
  job_id INTEGER NOT NULL REFERENCES job(id),
  frame INTEGER NOT NULL CHECK(frame BETWEEN 0 AND 99),
  film TEXT NOT NULL,
  marked_s REAL CHECK(marked_s > 0),
  f_number REAL CHECK(f_number > 0),
  distance_mm REAL CHECK(distance_mm > 0),
  at_infinity INTEGER NOT NULL CHECK(at_infinity IN (0,1)),
  scene TEXT NOT NULL,
  expected TEXT NOT NULL,
  seen TEXT NOT NULL,
  right TEXT NOT NULL CHECK(right IN ('open','yes','no','not-applicable'))
) STRICT;
CREATE INDEX film_frame_of_job ON film_frame(job_id, film, frame, id);
CREATE TABLE level( -- a light or target of this bench that a meter is compared with
  id INTEGER PRIMARY KEY,
  revision INTEGER NOT NULL,
  name TEXT NOT NULL,
  value REAL NOT NULL CHECK(value > 0),
  u_value REAL CHECK(u_value >= 0), -- standard uncertainty; NULL: not known
  unit TEXT NOT NULL,
  source TEXT NOT NULL,
  measured_on TEXT NOT NULL,
  notes TEXT NOT NULL
) STRICT;
CREATE VIEW tool_document AS SELECT id, id * 8 + 5 AS document, '' AS camera, name AS title, kind || char(10) || place || char(10) || notes AS body, 0 AS job_id FROM tool;
CREATE TRIGGER tool_is_found AFTER INSERT ON tool BEGIN INSERT INTO words(rowid, camera, title, body, job_id) SELECT document, camera, title, body, job_id FROM tool_document WHERE id = new.id; END;
CREATE TRIGGER tool_is_found_again AFTER UPDATE OF name, kind, place, notes ON tool BEGIN DELETE FROM words WHERE rowid = old.id * 8 + 5; INSERT INTO words(rowid, camera, title, body, job_id) SELECT document, camera, title, body, job_id FROM tool_document WHERE id = new.id; END;
CREATE TRIGGER tool_is_found_no_more AFTER DELETE ON tool BEGIN DELETE FROM words WHERE rowid = old.id * 8 + 5; END;

-- version 5
ALTER TABLE job ADD COLUMN finder TEXT NOT NULL DEFAULT 'unknown'
  CHECK(finder IN ('unknown','none','viewfinder','rangefinder','reflex'));
ALTER TABLE job ADD COLUMN meter TEXT NOT NULL DEFAULT 'unknown'
  CHECK(meter IN ('unknown','none','battery','light-cell'));
ALTER TABLE job ADD COLUMN flash TEXT NOT NULL DEFAULT 'unknown' CHECK(flash IN ('unknown','no','yes'));
ALTER TABLE job ADD COLUMN bellows TEXT NOT NULL DEFAULT 'unknown' CHECK(bellows IN ('unknown','no','yes'));
ALTER TABLE saved_sheet ADD COLUMN at_time TEXT NOT NULL DEFAULT '' -- '': not a measurement of the camera
  CHECK(at_time IN ('','before','during','after'));
ALTER TABLE checklist ADD COLUMN at_time TEXT NOT NULL DEFAULT '' CHECK(at_time IN ('','before','during','after'));
ALTER TABLE checklist_item ADD COLUMN answered_by TEXT NOT NULL DEFAULT '';
ALTER TABLE checklist_item ADD COLUMN answered_at TEXT NOT NULL DEFAULT ''; -- instant
ALTER TABLE checklist_item ADD COLUMN photo_id INTEGER REFERENCES photo(id);
CREATE INDEX item_by_photo ON checklist_item(photo_id);
ALTER TABLE film_frame ADD COLUMN proves TEXT NOT NULL DEFAULT ''; -- which mended thing: 'speeds', 'focus' ...
ALTER TABLE film_frame ADD COLUMN photo_id INTEGER REFERENCES photo(id);
CREATE INDEX frame_by_photo ON film_frame(photo_id);
CREATE TABLE left_out( -- a test that is owed and was left out on purpose
  id INTEGER PRIMARY KEY,
  revision INTEGER NOT NULL,
  job_id INTEGER NOT NULL REFERENCES job(id),
  what TEXT NOT NULL, -- 'shutter', 'film' ...
  reason TEXT NOT NULL CHECK(reason <> ''),
  on_day TEXT NOT NULL,
  UNIQUE(job_id, what)
) STRICT;
CREATE TABLE own_list( -- a checklist of the person's own, to be started from any job
  id INTEGER PRIMARY KEY,
  revision INTEGER NOT NULL,
  title TEXT NOT NULL,
  items TEXT NOT NULL -- a line each
) STRICT;

-- version 6
ALTER TABLE test ADD COLUMN strikes_json TEXT NOT NULL DEFAULT ''; -- why shots were left out: {"3":"..."}
CREATE TABLE test_version( -- a test as it stood before a correction; the oldest is what was kept at first
  id INTEGER PRIMARY KEY,
  revision INTEGER NOT NULL, -- the change that put it aside
  test_id INTEGER NOT NULL REFERENCES test(id),
  reason TEXT NOT NULL CHECK(reason <> ''), -- why it was corrected
  corrected_at TEXT NOT NULL,
  at_time TEXT NOT NULL CHECK(at_time IN ('before','during','after')), -- from here on as in test
  title TEXT NOT NULL,
  notes TEXT NOT NULL,
  tested_on TEXT NOT NULL,
  program_version TEXT NOT NULL,
  plan_json TEXT NOT NULL,
  strikes_json TEXT NOT NULL,
  result_json TEXT NOT NULL,
  readings_json TEXT NOT NULL -- [{"marked_s":0.004,"as_typed":"4.43 ms"}], '' without
) STRICT;
CREATE INDEX version_of_test ON test_version(test_id, id);

-- version 7
CREATE TABLE material( -- the person's own, beside the program's table; a kept result holds a copy of what it used
  id INTEGER PRIMARY KEY,
  revision INTEGER NOT NULL,
  name TEXT NOT NULL, -- as worksheets are told
  name_key TEXT NOT NULL UNIQUE, -- case folded
  kind TEXT NOT NULL, -- a word: 'steel', 'wood'
  yield_pa REAL CHECK(yield_pa > 0), -- yield or proof stress; of wood the bending strength; NULL: not known
  u_yield_pa REAL CHECK(u_yield_pa >= 0), -- standard uncertainty; NULL: nobody stated it
  tensile_pa REAL CHECK(tensile_pa > 0), -- where it breaks
  u_tensile_pa REAL CHECK(u_tensile_pa >= 0),
  elastic_pa REAL CHECK(elastic_pa > 0), -- modulus of elasticity
  u_elastic_pa REAL CHECK(u_elastic_pa >= 0),
  shear_pa REAL CHECK(shear_pa > 0), -- shear modulus
  u_shear_pa REAL CHECK(u_shear_pa >= 0),
  poisson REAL CHECK(poisson BETWEEN 0 AND 0.5), -- Poisson's ratio
  u_poisson REAL CHECK(u_poisson >= 0),
  expansion_per_k REAL CHECK(expansion_per_k >= 0), -- linear
  u_expansion_per_k REAL CHECK(u_expansion_per_k >= 0),
  friction REAL CHECK(friction > 0), -- against what it rubs on
  u_friction REAL CHECK(u_friction >= 0),
  density_kg_m3 REAL CHECK(density_kg_m3 > 0),
  u_density_kg_m3 REAL CHECK(u_density_kg_m3 >= 0),
  source TEXT NOT NULL, -- where the figures come from
  notes TEXT NOT NULL,
  changed_at TEXT NOT NULL
) STRICT;

-- rows of version 1
INSERT INTO change(id, job_id, words, at, undone, rows) VALUES(1, 1, 'the first camera taken in', '2026-01-05T09:00:00Z', 0, NULL), (2, 2, 'the second camera taken in', '2026-01-06T10:30:00Z', 0, NULL), (3, 1, 'a note taken back', '2026-01-06T11:00:00Z', 1, NULL);
INSERT INTO job(id, revision, camera, camera_key, serial, shutter, complaint, owner, notes, stage, taken_in_on, handed_on_on, plan_of, cover_photo_id, agreed_cost, currency, created_at, changed_at) VALUES
  (1, 1, 'Tarnbrook 35', 'tarnbrook 35', '402187', 'leaf', 'slow speeds stick below 1/30 s', 'a neighbour', 'smells of naphtha; "quotes" and ''single ones'', 0.5 µm, größer', 'apart', '2026-01-05', '', NULL, NULL, 45.5, 'EUR', '2026-01-05T09:00:00Z', '2026-01-06T11:00:00Z'),
  (2, 2, 'Ellory Reflex', 'ellory reflex', '', 'focal-plane', 'second curtain drags', '', 'line one
line two', 'taken-in', '2026-01-06', '', 1, NULL, NULL, '', '2026-01-06T10:30:00Z', '2026-01-06T10:30:00Z');
INSERT INTO recording(id, hash, name, bytes, added_at) VALUES(1, '7e2f00000000000000000000000000000000000000000000000000000000a001', 'slow speeds.wav', 88244, '2026-01-05T09:20:00Z');
INSERT INTO test(id, revision, job_id, kind, at_time, title, notes, tested_on, program_version, recording_id, created_at, plan_json, result_json, trace_json) VALUES
  (1, 1, 1, 'shutter', 'before', 'speeds as it came', 'cold, 16 °C', '2026-01-05', '0.1.0', 1, '2026-01-05T09:25:00Z', '{}', '{}', ''),
  (2, 1, 1, 'readings', 'before', 'copied from the timer', '', '2026-01-05', '0.1.0', NULL, '2026-01-05T09:40:00Z', '{}', '{}', '');
INSERT INTO reading(id, test_id, marked_s, exposure_s, position_mm, as_typed) VALUES(1, 2, 0.004, 0.00443, NULL, '4.43 ms'), (2, 2, 0.004, 0.00451, 12.0, '4.51 ms'), (3, 2, 1.0, 1.31, NULL, '1.31 s');
INSERT INTO saved_sheet(id, revision, job_id, worksheet, title, program_version, notes, created_at, result_json) VALUES(1, 1, 1, 'register', 'mount to film rails', '0.1.0', 'three places', '2026-01-05T10:00:00Z', '{}');

-- rows of version 2
INSERT INTO step(id, revision, job_id, rank, title, came_off, held_by, thread, orientation, flies, tool, lubricant_found, lubricant_to_use, torque, check_before_closing, notes, duration_s, state, back_done, from_step_id, planned_json, created_at, changed_at) VALUES
  (1, 1, 1, 100, 'front ring', 'ring', 'three grub screws', 'right', 'slot to the left', '', 'slotted 1.2 mm', 'dry', 'none', '', '', '', 310.5, 'done', 0, NULL, '', '2026-01-05T11:00:00Z', '2026-01-05T11:05:00Z'),
  (2, 1, 1, 200, 'speed cam', 'cam ring', 'nothing', 'left', 'notch at the escapement', 'a detent ball', 'tweezers', 'old grease', 'light oil', 'finger tight', 'all speeds click', 'ball 1.0 mm', NULL, 'done', 1, NULL, '', '2026-01-05T11:10:00Z', '2026-01-05T11:20:00Z'),
  (3, 2, 2, 100, 'top cover', '', '', '', '', '', '', '', '', '', '', '', NULL, 'planned', 0, 1, '{}', '2026-01-06T10:31:00Z', '2026-01-06T10:31:00Z');
INSERT INTO tray(id, revision, job_id, number, label, put_away) VALUES(1, 1, 1, 3, 'front', 0), (2, 1, 1, 4, 'cam', 1);
INSERT INTO part(id, revision, job_id, step_id, tray_id, kind, pieces, size, length, sat, orientation, condition, state, reason, notes, planned_json) VALUES
  (1, 1, 1, 1, 1, 'grub screw', 3, 'M1.4', '2.0 mm', 'at 2, 6 and 10 o''clock', '', 'good', 'out', '', '', ''),
  (2, 1, 1, 2, 2, 'detent ball', 1, '1.0 mm', '', 'under the cam', '', 'clean', 'back', '', '', ''),
  (3, 1, 1, 2, NULL, 'shim', 1, '0.05 mm', '', 'below the cell', '', 'replace', 'left-out', 'torn, not needed', '', '');
INSERT INTO photo(id, revision, job_id, step_id, part_id, caption, hash, media, name, bytes, width_px, height_px, orientation, taken_at, created_at) VALUES(1, 1, 1, 2, 2, 'where the ball sits', '51c800000000000000000000000000000000000000000000000000000000b002', 'image/jpeg', 'cam.jpg', 204800, 1600, 1200, 6, '2026-01-05T11:15:00Z', '2026-01-05T11:16:00Z');
UPDATE job SET cover_photo_id = 1 WHERE id = 1;
INSERT INTO photo_mark(id, revision, photo_id, number, x, y, text, hook_deg, part_id) VALUES(1, 1, 1, 1, 0.25, 0.75, 'hook of the return spring', 135.0, NULL), (2, 1, 1, 2, 0.5, 0.5, 'ball', NULL, 2);
INSERT INTO thing(id, revision, job_id, name, name_key, step_id) VALUES(1, 1, 1, 'Front ring', 'front ring', 1), (2, 1, 1, 'Speed cam', 'speed cam', 2);
INSERT INTO block(id, job_id, under_id, over_id, way) VALUES(1, 1, 2, 1, 0);

-- rows of version 4
UPDATE bench_identity SET name = '00112233445566778899aabbccddeeff';
INSERT INTO tool(id, revision, name, kind, made, sizes_json, made_for_job_id, place, notes, created_at, inputs_json, drawing_svg) VALUES(1, 1, 'two-pin spanner', 'spanner', 1, '{"pins_apart_mm":18.4}', 1, 'second hook', 'brass', '2026-01-05T12:00:00Z', '{}', '<svg/>');
INSERT INTO cost(id, revision, job_id, on_day, what, worked_s, amount, notes) VALUES(1, 1, 1, '2026-01-05', 'cleaning', 5400.0, NULL, ''), (2, 1, 1, '2026-01-05', 'light seal foam', NULL, 3.2, 'one sheet');
INSERT INTO checklist(id, revision, job_id, kind, title, created_at) VALUES(1, 1, 1, 'intake', 'as it came', '2026-01-05T09:05:00Z');
INSERT INTO checklist_item(id, revision, checklist_id, key, text, answer, value, remark) VALUES(1, 1, 1, 'winds', 'does it wind?', 'yes', '', 'rough'), (2, 1, 1, 'fungus', 'fungus in the lens?', 'no', '', '');
INSERT INTO film_frame(id, revision, job_id, frame, film, marked_s, f_number, distance_mm, at_infinity, scene, expected, seen, right) VALUES(1, 1, 1, 0, 'ISO 100 negative', 0.004, 8.0, NULL, 1, 'roofs', 'sharp', 'sharp', 'yes'), (2, 1, 1, 1, 'ISO 100 negative', 0.0333, 2.8, 1000.0, 0, 'ruler', 'sharp at 1 m', '', 'open');
INSERT INTO level(id, revision, name, value, u_value, unit, source, measured_on, notes) VALUES(1, 1, 'lamp at half a metre', 320.0, 12.0, 'lx', 'own meter', '2026-01-04', ''), (2, 1, 'north window', 900.0, NULL, 'lx', 'guess', '2026-01-04', 'overcast');

-- rows of version 5
UPDATE job SET finder = 'rangefinder', meter = 'none', flash = 'yes', bellows = 'no' WHERE id = 1;
UPDATE saved_sheet SET at_time = 'before';
UPDATE checklist SET at_time = 'before';
UPDATE checklist_item SET answered_by = 'me', answered_at = '2026-01-05T09:06:00Z', photo_id = 1 WHERE id = 1;
UPDATE film_frame SET proves = 'speeds', photo_id = 1 WHERE id = 1;
INSERT INTO left_out(id, revision, job_id, what, reason, on_day) VALUES(1, 1, 1, 'film', 'the owner is travelling', '2026-01-06');
INSERT INTO own_list(id, revision, title, items) VALUES(1, 1, 'before the parcel', 'cap on
shutter released');

-- rows of version 6
UPDATE test SET strikes_json = '{"3":"the lamp flickered"}' WHERE id = 1;
INSERT INTO test_version(id, revision, test_id, reason, corrected_at, at_time, title, notes, tested_on, program_version, plan_json, strikes_json, result_json, readings_json) VALUES(1, 3, 2, 'read the wrong line', '2026-01-06T11:00:00Z', 'before', 'copied from the timer', '', '2026-01-05', '0.1.0', '{}', '', '{}', '[{"marked_s":0.004,"as_typed":"4.34 ms"}]');
-- rows of version 7
INSERT INTO material(id, revision, name, name_key, kind, yield_pa, u_yield_pa, tensile_pa, u_tensile_pa, elastic_pa, u_elastic_pa, shear_pa, u_shear_pa, poisson, u_poisson, expansion_per_k, u_expansion_per_k, friction, u_friction, density_kg_m3, u_density_kg_m3, source, notes, changed_at) VALUES
  (1, 3, 'Plate from the drawer', 'plate from the drawer', 'steel', 412e6, 17e6, NULL, NULL, 207e9, NULL, NULL, NULL, 0.287, NULL, 11.3e-6, NULL, NULL, NULL, 7840.0, NULL, 'its wrapper', 'two pieces left', '2026-01-06T11:05:00Z'),
  (2, 3, 'leather strip', 'leather strip', '', NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, 0.43, 0.06, NULL, NULL, 'tilted on the bench', '', '2026-01-06T11:06:00Z');
PRAGMA user_version = 7;
