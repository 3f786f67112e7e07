-- SPDX-License-Identifier: GPL-3.0-or-later
-- A bench of schema version 2 with rows in every table; the cameras are invented. Frozen: never edit, add vN.sql instead.
-- Made by: the published version texts 1 to 2 of src/notebook/schema.c printed as they stood on 2026-11-25, then rows
-- written by hand (the triggers of version 3 on fill the search index), then the number of the version. Read it with
-- sqlite3 bench.db < v2.sql. Times, hashes and measurements are made up and mean nothing.
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
PRAGMA user_version = 2;
