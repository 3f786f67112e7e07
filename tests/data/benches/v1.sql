-- SPDX-License-Identifier: GPL-3.0-or-later
-- A bench of schema version 1 with rows in every table; the cameras are invented. Frozen: never edit, add vN.sql instead.
-- Made by: the published version texts 1 to 1 of src/notebook/schema.c printed as they stood on 2026-11-25, then rows
-- written by hand (the triggers of version 3 on fill the search index), then the number of the version. Read it with
-- sqlite3 bench.db < v1.sql. Times, hashes and measurements are made up and mean nothing.
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
PRAGMA user_version = 1;
