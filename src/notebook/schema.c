/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The schema, one text per version: a bench of version n is brought up to date by running the texts after the n-th, in
 * one transaction. A text that has been published is never changed, only followed by another. The comments inside stay
 * in the database (SELECT sql FROM sqlite_schema), so that the file explains itself to whoever opens it in 20 years. */
#include "notebook/store.h"

static const char version_1[] =
    "CREATE TABLE change( -- one line of history: what a person did in one go; undo works on these\n"
    "  id INTEGER PRIMARY KEY AUTOINCREMENT, -- never used twice: rows carry it as their revision\n"
    "  job_id INTEGER NOT NULL, -- whose history, 0 = of the bench; no foreign key, history outlives the job\n"
    "  words TEXT NOT NULL, -- 'four screws into tray 3'\n"
    "  at TEXT NOT NULL, -- UTC, 2026-11-25T09:00:21Z\n"
    "  undone INTEGER NOT NULL DEFAULT 0,\n"
    "  rows BLOB -- an SQLite changeset: the rows before and after; applied backwards to undo\n"
    ") STRICT;\n"
    "CREATE INDEX change_of_job ON change(job_id, id);\n"

    "CREATE TABLE job( -- one camera, from taken in to handed on\n"
    "  id INTEGER PRIMARY KEY,\n"
    "  revision INTEGER NOT NULL, -- change.id that wrote the row last\n"
    "  camera TEXT NOT NULL, -- its kind, as the person writes it\n"
    "  camera_key TEXT NOT NULL, -- the same with case folded: which jobs are of one kind\n"
    "  serial TEXT NOT NULL,\n"
    "  shutter TEXT NOT NULL CHECK(shutter IN ('unknown','leaf','focal-plane')),\n"
    "  complaint TEXT NOT NULL,\n"
    "  owner TEXT NOT NULL, -- private\n"
    "  notes TEXT NOT NULL,\n"
    "  stage TEXT NOT NULL CHECK(stage IN ('taken-in','apart','mended','together','proved','handed-on')),\n"
    "  taken_in_on TEXT NOT NULL, -- day, 2026-11-25\n"
    "  handed_on_on TEXT NOT NULL, -- day or ''\n"
    "  plan_of INTEGER REFERENCES job(id), -- the earlier job whose steps lead this one\n"
    "  cover_photo_id INTEGER, -- photo.id\n"
    "  agreed_cost REAL,\n"
    "  currency TEXT NOT NULL,\n"
    "  created_at TEXT NOT NULL,\n"
    "  changed_at TEXT NOT NULL\n"
    ") STRICT;\n"
    "CREATE INDEX job_by_change ON job(changed_at, id);\n"
    "CREATE INDEX job_by_day ON job(taken_in_on, id);\n"
    "CREATE INDEX job_by_camera ON job(camera_key, serial, id);\n"
    "CREATE INDEX job_by_stage ON job(stage);\n"
    "CREATE INDEX job_by_plan ON job(plan_of);\n"

    "CREATE TABLE recording( -- an original, kept in recordings/ under its hash\n"
    "  id INTEGER PRIMARY KEY AUTOINCREMENT,\n"
    "  hash TEXT NOT NULL UNIQUE, -- SHA-256 of the content, hexadecimal\n"
    "  name TEXT NOT NULL, -- the file name it came with\n"
    "  bytes INTEGER NOT NULL,\n"
    "  added_at TEXT NOT NULL\n"
    ") STRICT;\n"

    "CREATE TABLE test( -- a measurement before, during or after the work\n"
    "  id INTEGER PRIMARY KEY,\n"
    "  revision INTEGER NOT NULL,\n"
    "  job_id INTEGER NOT NULL REFERENCES job(id),\n"
    "  kind TEXT NOT NULL, -- 'shutter', 'sound', 'focus' ...\n"
    "  at_time TEXT NOT NULL CHECK(at_time IN ('before','during','after')),\n"
    "  title TEXT NOT NULL,\n"
    "  notes TEXT NOT NULL,\n"
    "  tested_on TEXT NOT NULL, -- day\n"
    "  program_version TEXT NOT NULL,\n"
    "  recording_id INTEGER REFERENCES recording(id),\n"
    "  created_at TEXT NOT NULL,\n"
    "  plan_json TEXT NOT NULL, -- how it was evaluated\n"
    "  result_json TEXT NOT NULL, -- 'format' in it names the contract\n"
    "  trace_json TEXT NOT NULL -- thinned traces for redrawing\n"
    ") STRICT;\n"
    "CREATE INDEX test_of_job ON test(job_id, kind, at_time, id);\n"
    "CREATE INDEX test_of_recording ON test(recording_id);\n"

    "CREATE TABLE reading( -- a number copied from a timer\n"
    "  id INTEGER PRIMARY KEY,\n"
    "  test_id INTEGER NOT NULL REFERENCES test(id),\n"
    "  marked_s REAL NOT NULL CHECK(marked_s > 0),\n"
    "  exposure_s REAL NOT NULL CHECK(exposure_s > 0),\n"
    "  position_mm REAL, -- NULL: not given\n"
    "  as_typed TEXT NOT NULL\n"
    ") STRICT;\n"
    "CREATE INDEX reading_of_test ON reading(test_id, id);\n"

    "CREATE TABLE saved_sheet( -- a worksheet's result kept with a job\n"
    "  id INTEGER PRIMARY KEY,\n"
    "  revision INTEGER NOT NULL,\n"
    "  job_id INTEGER NOT NULL REFERENCES job(id),\n"
    "  worksheet TEXT NOT NULL,\n"
    "  title TEXT NOT NULL,\n"
    "  program_version TEXT NOT NULL,\n"
    "  notes TEXT NOT NULL,\n"
    "  created_at TEXT NOT NULL,\n"
    "  result_json TEXT NOT NULL\n"
    ") STRICT;\n"
    "CREATE INDEX saved_sheet_of_job ON saved_sheet(job_id, id);\n";

static const char version_2[] =
    "CREATE TABLE step( -- one step of taking apart\n"
    "  id INTEGER PRIMARY KEY,\n"
    "  revision INTEGER NOT NULL,\n"
    "  job_id INTEGER NOT NULL REFERENCES job(id),\n"
    "  rank INTEGER NOT NULL, -- order within the job; gaps are normal\n"
    "  title TEXT NOT NULL,\n"
    "  came_off TEXT NOT NULL,\n"
    "  held_by TEXT NOT NULL,\n"
    "  thread TEXT NOT NULL CHECK(thread IN ('','right','left')),\n"
    "  orientation TEXT NOT NULL,\n"
    "  flies TEXT NOT NULL, -- springs or detents that can fly\n"
    "  tool TEXT NOT NULL,\n"
    "  lubricant_found TEXT NOT NULL,\n"
    "  lubricant_to_use TEXT NOT NULL,\n"
    "  torque TEXT NOT NULL,\n"
    "  check_before_closing TEXT NOT NULL,\n"
    "  notes TEXT NOT NULL,\n"
    "  duration_s REAL,\n"
    "  state TEXT NOT NULL CHECK(state IN ('planned','done','skipped')),\n"
    "  back_done INTEGER NOT NULL CHECK(back_done IN (0,1)), -- checked off on the way together\n"
    "  from_step_id INTEGER, -- the earlier job's step; may be gone\n"
    "  planned_json TEXT NOT NULL, -- what the earlier step said, '' when it was not planned\n"
    "  created_at TEXT NOT NULL,\n"
    "  changed_at TEXT NOT NULL\n"
    ") STRICT;\n"
    "CREATE INDEX step_of_job ON step(job_id, rank);\n"

    "CREATE TABLE tray( -- a small tray or lid with a number on it\n"
    "  id INTEGER PRIMARY KEY,\n"
    "  revision INTEGER NOT NULL,\n"
    "  job_id INTEGER NOT NULL REFERENCES job(id),\n"
    "  number INTEGER NOT NULL CHECK(number BETWEEN 1 AND 9999),\n"
    "  label TEXT NOT NULL,\n"
    "  put_away INTEGER NOT NULL CHECK(put_away IN (0,1)),\n"
    "  UNIQUE(job_id, number)\n"
    ") STRICT;\n"

    "CREATE TABLE part( -- pieces of one kind that came off together\n"
    "  id INTEGER PRIMARY KEY,\n"
    "  revision INTEGER NOT NULL,\n"
    "  job_id INTEGER NOT NULL REFERENCES job(id),\n"
    "  step_id INTEGER REFERENCES step(id),\n"
    "  tray_id INTEGER REFERENCES tray(id),\n"
    "  kind TEXT NOT NULL,\n"
    "  pieces INTEGER NOT NULL CHECK(pieces BETWEEN 1 AND 9999),\n"
    "  size TEXT NOT NULL,\n"
    "  length TEXT NOT NULL,\n"
    "  sat TEXT NOT NULL, -- where it sat\n"
    "  orientation TEXT NOT NULL,\n"
    "  condition TEXT NOT NULL CHECK(condition IN ('good','clean','replace','make')),\n"
    "  state TEXT NOT NULL CHECK(state IN ('expected','out','back','replaced','made','left-out')),\n"
    "  reason TEXT NOT NULL CHECK(state <> 'left-out' OR reason <> ''),\n"
    "  notes TEXT NOT NULL,\n"
    "  planned_json TEXT NOT NULL -- what the earlier job said, '' when it was not expected\n"
    ") STRICT;\n"
    "CREATE INDEX part_of_job ON part(job_id, state);\n"
    "CREATE INDEX part_of_step ON part(step_id, state);\n"
    "CREATE INDEX part_of_tray ON part(tray_id, state);\n"

    "CREATE TABLE photo( -- the original lies in photos/ under its hash\n"
    "  id INTEGER PRIMARY KEY,\n"
    "  revision INTEGER NOT NULL,\n"
    "  job_id INTEGER NOT NULL REFERENCES job(id),\n"
    "  step_id INTEGER REFERENCES step(id),\n"
    "  part_id INTEGER REFERENCES part(id),\n"
    "  caption TEXT NOT NULL,\n"
    "  hash TEXT NOT NULL, -- SHA-256 of the content, hexadecimal\n"
    "  media TEXT NOT NULL CHECK(media IN ('image/jpeg','image/png')),\n"
    "  name TEXT NOT NULL, -- the file name it came with\n"
    "  bytes INTEGER NOT NULL,\n"
    "  width_px INTEGER NOT NULL, -- upright, after turning by the EXIF orientation\n"
    "  height_px INTEGER NOT NULL,\n"
    "  orientation INTEGER NOT NULL CHECK(orientation BETWEEN 1 AND 8),\n"
    "  taken_at TEXT NOT NULL,\n"
    "  created_at TEXT NOT NULL\n"
    ") STRICT;\n"
    "CREATE INDEX photo_of_job ON photo(job_id, id);\n"
    "CREATE INDEX photo_of_step ON photo(step_id, id);\n"
    "CREATE INDEX photo_of_part ON photo(part_id, id);\n"
    "CREATE INDEX photo_by_hash ON photo(hash);\n"

    "CREATE TABLE photo_mark( -- a numbered mark on a photo\n"
    "  id INTEGER PRIMARY KEY,\n"
    "  revision INTEGER NOT NULL,\n"
    "  photo_id INTEGER NOT NULL REFERENCES photo(id),\n"
    "  number INTEGER NOT NULL CHECK(number BETWEEN 1 AND 999),\n"
    "  x REAL NOT NULL CHECK(x BETWEEN 0 AND 1), -- from the left of the upright picture\n"
    "  y REAL NOT NULL CHECK(y BETWEEN 0 AND 1), -- from its top\n"
    "  text TEXT NOT NULL,\n"
    "  hook_deg REAL, -- 0 to the right, 90 up; NULL: no arrow\n"
    "  part_id INTEGER REFERENCES part(id)\n"
    ") STRICT;\n"
    "CREATE INDEX photo_mark_of_photo ON photo_mark(photo_id, number);\n"
    "CREATE INDEX photo_mark_of_part ON photo_mark(part_id);\n"

    "CREATE TABLE thing( -- what comes off as one, or is to be reached\n"
    "  id INTEGER PRIMARY KEY,\n"
    "  revision INTEGER NOT NULL,\n"
    "  job_id INTEGER NOT NULL REFERENCES job(id),\n"
    "  name TEXT NOT NULL,\n"
    "  name_key TEXT NOT NULL, -- case folded\n"
    "  step_id INTEGER REFERENCES step(id),\n"
    "  UNIQUE(job_id, name_key)\n"
    ") STRICT;\n"
    "CREATE INDEX thing_of_step ON thing(step_id);\n"
    "CREATE INDEX thing_by_name ON thing(name_key);\n"

    "CREATE TABLE block( -- `under` is under `over`: over comes off first\n"
    "  id INTEGER PRIMARY KEY,\n"
    "  job_id INTEGER NOT NULL REFERENCES job(id),\n"
    "  under_id INTEGER NOT NULL REFERENCES thing(id),\n"
    "  over_id INTEGER NOT NULL REFERENCES thing(id) CHECK(over_id <> under_id),\n"
    "  way INTEGER NOT NULL CHECK(way BETWEEN 0 AND 8), -- 0: always; 1..8: alternatives, any one of them will do\n"
    "  UNIQUE(under_id, over_id, way)\n"
    ") STRICT;\n"
    "CREATE INDEX block_of_job ON block(job_id, id);\n"
    "CREATE INDEX block_over ON block(over_id);\n"

    /* The count holds even against a mistake elsewhere in the program, and against undo in an odd order. */
    "CREATE TRIGGER together_means_all_back BEFORE UPDATE OF stage ON job\n"
    "WHEN new.stage IN ('together','proved','handed-on')\n"
    "  AND EXISTS(SELECT 1 FROM part WHERE job_id = new.id AND state = 'out')\n"
    "BEGIN SELECT RAISE(ABORT, 'a part of this job is still out; the job is not together'); END;\n"
    "CREATE TRIGGER no_part_out_once_together BEFORE INSERT ON part\n"
    "WHEN new.state = 'out' AND (SELECT stage FROM job WHERE id = new.job_id) IN ('together','proved','handed-on')\n"
    "BEGIN SELECT RAISE(ABORT, 'this job is together already; set it back to apart before a part comes out'); END;\n"
    "CREATE TRIGGER no_part_back_out_once_together BEFORE UPDATE OF state ON part\n"
    "WHEN new.state = 'out' AND (SELECT stage FROM job WHERE id = new.job_id) IN ('together','proved','handed-on')\n"
    "BEGIN SELECT RAISE(ABORT, 'this job is together already; set it back to apart before a part comes out'); END;\n";

/* The search index: one document for each job, step, part, photo, test. Its number is id * 8 + kind, the kinds in the
 * order of cw_hit_kind. Views say what a document holds, triggers keep the index to them; undo works through the same
 * triggers. */
#define DOCUMENT_TRIGGERS(table, kind, columns)                                                                        \
    "CREATE TRIGGER " table "_is_found AFTER INSERT ON " table " BEGIN INSERT INTO words(rowid, camera, title, body, " \
    "job_id) SELECT document, camera, title, body, job_id FROM " table "_document WHERE id = new.id; END;\n"           \
    "CREATE TRIGGER " table "_is_found_again AFTER UPDATE OF " columns " ON " table " BEGIN DELETE FROM words WHERE "  \
    "rowid = old.id * 8 + " kind "; INSERT INTO words(rowid, camera, title, body, job_id) SELECT document, camera, "   \
    "title, body, job_id FROM " table "_document WHERE id = new.id; END;\n"                                            \
    "CREATE TRIGGER " table "_is_found_no_more AFTER DELETE ON " table                                                 \
    " BEGIN DELETE FROM words WHERE rowid = old.id * "                                                                 \
    "8 + " kind "; END;\n"

/* Rows beside a document whose text is part of it. */
#define REFRESH(name, event, table, kind, row)                                                                         \
    "CREATE TRIGGER " name " AFTER " event " BEGIN DELETE FROM words WHERE rowid = " row " * 8 + " kind                \
    "; INSERT INTO "                                                                                                   \
    "words(rowid, camera, title, body, job_id) SELECT document, camera, title, body, job_id FROM " table               \
    "_document WHERE id = " row "; END;\n"

static const char version_3[] =
    "CREATE VIRTUAL TABLE words USING fts5(camera, title, body, job_id UNINDEXED, tokenize = 'unicode61 "
    "remove_diacritics 2', prefix = '2 3');\n"
    "INSERT INTO words(words, rank) VALUES('rank', 'bm25(5.0, 3.0, 1.0)');\n"
    "CREATE VIRTUAL TABLE words_used USING fts5vocab(words, 'row');\n"

    "CREATE VIEW job_document AS SELECT id, id * 8 + 0 AS document, camera, serial AS title, complaint || char(10) || "
    "notes || char(10) || owner || char(10) || coalesce((SELECT group_concat(name, ', ') FROM thing WHERE thing.job_id "
    "= "
    "job.id), '') AS body, id AS job_id FROM job;\n"
    "CREATE VIEW step_document AS SELECT step.id, step.id * 8 + 1 AS document, camera, title, came_off || char(10) || "
    "held_by || char(10) || orientation || char(10) || flies || char(10) || tool || char(10) || lubricant_found || "
    "char(10) || lubricant_to_use || char(10) || torque || char(10) || check_before_closing || char(10) || step.notes "
    "AS "
    "body, job_id FROM step JOIN job ON job.id = job_id;\n"
    "CREATE VIEW part_document AS SELECT part.id, part.id * 8 + 2 AS document, camera, kind AS title, size || ' ' || "
    "length || char(10) || sat || char(10) || orientation || char(10) || reason || char(10) || part.notes AS body, "
    "job_id "
    "FROM part JOIN job ON job.id = job_id;\n"
    "CREATE VIEW photo_document AS SELECT photo.id, photo.id * 8 + 3 AS document, camera, caption AS title, "
    "coalesce((SELECT group_concat(text, char(10)) FROM photo_mark WHERE photo_id = photo.id), '') AS body, job_id "
    "FROM "
    "photo JOIN job ON job.id = job_id;\n"
    "CREATE VIEW test_document AS SELECT test.id, test.id * 8 + 4 AS document, camera, title, kind || char(10) || "
    "test.notes AS body, job_id FROM test JOIN job ON job.id = job_id;\n"

    DOCUMENT_TRIGGERS("job", "0", "serial, complaint, notes, owner") DOCUMENT_TRIGGERS(
        "step", "1",
        "title, came_off, held_by, orientation, flies, tool, lubricant_found, lubricant_to_use, torque, "
        "check_before_closing, notes") DOCUMENT_TRIGGERS("part", "2",
                                                         "kind, size, length, sat, orientation, reason, notes")
        DOCUMENT_TRIGGERS("photo", "3", "caption") DOCUMENT_TRIGGERS("test", "4", "title, kind, notes")
            REFRESH("mark_is_found", "INSERT ON photo_mark", "photo", "3", "new.photo_id")
                REFRESH("mark_is_found_again", "UPDATE OF text ON photo_mark", "photo", "3", "new.photo_id")
                    REFRESH("mark_is_found_no_more", "DELETE ON photo_mark", "photo", "3",
                            "old.photo_id") REFRESH("thing_is_found", "INSERT ON thing", "job", "0", "new.job_id")
                        REFRESH("thing_is_found_again", "UPDATE OF name ON thing", "job", "0", "new.job_id")
                            REFRESH("thing_is_found_no_more", "DELETE ON thing", "job", "0", "old.job_id")

                                "CREATE TRIGGER camera_is_found_again AFTER UPDATE OF camera ON job WHEN new.camera <> "
                                "old.camera BEGIN\n"
                                "  UPDATE words SET camera = new.camera WHERE rowid IN (SELECT new.id * 8 UNION ALL\n"
                                "    SELECT id * 8 + 1 FROM step WHERE job_id = new.id UNION ALL SELECT id * 8 + 2 "
                                "FROM part WHERE job_id = new.id\n"
                                "    UNION ALL SELECT id * 8 + 3 FROM photo WHERE job_id = new.id UNION ALL\n"
                                "    SELECT id * 8 + 4 FROM test WHERE job_id = new.id);\n"
                                "END;\n"
                                "INSERT INTO words(rowid, camera, title, body, job_id) SELECT document, camera, title, "
                                "body, job_id FROM "
                                "job_document;\n"
                                "INSERT INTO words(rowid, camera, title, body, job_id) SELECT document, camera, title, "
                                "body, job_id FROM "
                                "step_document;\n"
                                "INSERT INTO words(rowid, camera, title, body, job_id) SELECT document, camera, title, "
                                "body, job_id FROM "
                                "part_document;\n"
                                "INSERT INTO words(rowid, camera, title, body, job_id) SELECT document, camera, title, "
                                "body, job_id FROM "
                                "photo_document;\n"
                                "INSERT INTO words(rowid, camera, title, body, job_id) SELECT document, camera, title, "
                                "body, job_id FROM "
                                "test_document;\n";

static const char version_4[] =
    "CREATE TABLE bench_identity( -- one row: which bench this is, so that a backup is never written over another one\n"
    "  name TEXT NOT NULL\n"
    ") STRICT;\n"
    "INSERT INTO bench_identity(name) VALUES(lower(hex(randomblob(16))));\n"

    "CREATE TABLE tool( -- the rack: made and bought tools\n"
    "  id INTEGER PRIMARY KEY,\n"
    "  revision INTEGER NOT NULL,\n"
    "  name TEXT NOT NULL,\n"
    "  kind TEXT NOT NULL, -- the worksheet that makes it, or a word\n"
    "  made INTEGER NOT NULL CHECK(made IN (0,1)), -- else bought\n"
    "  sizes_json TEXT NOT NULL, -- numbers by name, in mm; '' none\n"
    "  made_for_job_id INTEGER REFERENCES job(id),\n"
    "  place TEXT NOT NULL, -- where it hangs\n"
    "  notes TEXT NOT NULL,\n"
    "  created_at TEXT NOT NULL,\n"
    "  inputs_json TEXT NOT NULL, -- of the worksheet, to make it again\n"
    "  drawing_svg TEXT NOT NULL\n"
    ") STRICT;\n"
    "CREATE INDEX tool_by_kind ON tool(kind, name);\n"
    "CREATE INDEX tool_of_job ON tool(made_for_job_id);\n"

    "CREATE TABLE cost( -- hours and money spent on a job\n"
    "  id INTEGER PRIMARY KEY,\n"
    "  revision INTEGER NOT NULL,\n"
    "  job_id INTEGER NOT NULL REFERENCES job(id),\n"
    "  on_day TEXT NOT NULL,\n"
    "  what TEXT NOT NULL,\n"
    "  worked_s REAL CHECK(worked_s >= 0), -- NULL: a cost only\n"
    "  amount REAL, -- in the currency of the job; NULL: time only\n"
    "  notes TEXT NOT NULL\n"
    ") STRICT;\n"
    "CREATE INDEX cost_of_job ON cost(job_id, on_day, id);\n"

    "CREATE TABLE checklist( -- a list worked through in a job\n"
    "  id INTEGER PRIMARY KEY,\n"
    "  revision INTEGER NOT NULL,\n"
    "  job_id INTEGER NOT NULL REFERENCES job(id),\n"
    "  kind TEXT NOT NULL,\n"
    "  title TEXT NOT NULL,\n"
    "  created_at TEXT NOT NULL\n"
    ") STRICT;\n"
    "CREATE INDEX checklist_of_job ON checklist(job_id, id);\n"
    "CREATE TABLE checklist_item(\n"
    "  id INTEGER PRIMARY KEY,\n"
    "  revision INTEGER NOT NULL,\n"
    "  checklist_id INTEGER NOT NULL REFERENCES checklist(id),\n"
    "  key TEXT NOT NULL, -- for programs\n"
    "  text TEXT NOT NULL, -- the question\n"
    "  answer TEXT NOT NULL CHECK(answer IN ('open','yes','no','not-applicable')),\n"
    "  value TEXT NOT NULL,\n"
    "  remark TEXT NOT NULL\n"
    ") STRICT;\n"
    "CREATE INDEX item_of_checklist ON checklist_item(checklist_id, id);\n"

    "CREATE TABLE film_frame( -- a test film, frame by frame\n"
    "  id INTEGER PRIMARY KEY,\n"
    "  revision INTEGER NOT NULL,\n"
    "  job_id INTEGER NOT NULL REFERENCES job(id),\n"
    "  frame INTEGER NOT NULL CHECK(frame BETWEEN 0 AND 99),\n"
    "  film TEXT NOT NULL,\n"
    "  marked_s REAL CHECK(marked_s > 0),\n"
    "  f_number REAL CHECK(f_number > 0),\n"
    "  distance_mm REAL CHECK(distance_mm > 0),\n"
    "  at_infinity INTEGER NOT NULL CHECK(at_infinity IN (0,1)),\n"
    "  scene TEXT NOT NULL,\n"
    "  expected TEXT NOT NULL,\n"
    "  seen TEXT NOT NULL,\n"
    "  right TEXT NOT NULL CHECK(right IN ('open','yes','no','not-applicable'))\n"
    ") STRICT;\n"
    "CREATE INDEX film_frame_of_job ON film_frame(job_id, film, frame, id);\n"

    "CREATE TABLE level( -- a light or target of this bench that a meter is compared with\n"
    "  id INTEGER PRIMARY KEY,\n"
    "  revision INTEGER NOT NULL,\n"
    "  name TEXT NOT NULL,\n"
    "  value REAL NOT NULL CHECK(value > 0),\n"
    "  u_value REAL CHECK(u_value >= 0), -- standard uncertainty; NULL: not known\n"
    "  unit TEXT NOT NULL,\n"
    "  source TEXT NOT NULL,\n"
    "  measured_on TEXT NOT NULL,\n"
    "  notes TEXT NOT NULL\n"
    ") STRICT;\n"

    "CREATE VIEW tool_document AS SELECT id, id * 8 + 5 AS document, '' AS camera, name AS title, kind || char(10) || "
    "place "
    "|| char(10) || notes AS body, 0 AS job_id FROM tool;\n" DOCUMENT_TRIGGERS("tool", "5", "name, kind, place, notes");

static const char version_5[] =
    /* What kind of camera it is: which tests it owes, before and after (prove.c). */
    "ALTER TABLE job ADD COLUMN finder TEXT NOT NULL DEFAULT 'unknown'\n"
    "  CHECK(finder IN ('unknown','none','viewfinder','rangefinder','reflex'));\n"
    "ALTER TABLE job ADD COLUMN meter TEXT NOT NULL DEFAULT 'unknown'\n"
    "  CHECK(meter IN ('unknown','none','battery','light-cell'));\n"
    "ALTER TABLE job ADD COLUMN flash TEXT NOT NULL DEFAULT 'unknown' CHECK(flash IN ('unknown','no','yes'));\n"
    "ALTER TABLE job ADD COLUMN bellows TEXT NOT NULL DEFAULT 'unknown' CHECK(bellows IN ('unknown','no','yes'));\n"

    "ALTER TABLE saved_sheet ADD COLUMN at_time TEXT NOT NULL DEFAULT '' -- '': not a measurement of the camera\n"
    "  CHECK(at_time IN ('','before','during','after'));\n"

    "ALTER TABLE checklist ADD COLUMN at_time TEXT NOT NULL DEFAULT '' CHECK(at_time IN "
    "('','before','during','after'));\n"
    "ALTER TABLE checklist_item ADD COLUMN answered_by TEXT NOT NULL DEFAULT '';\n"
    "ALTER TABLE checklist_item ADD COLUMN answered_at TEXT NOT NULL DEFAULT ''; -- instant\n"
    "ALTER TABLE checklist_item ADD COLUMN photo_id INTEGER REFERENCES photo(id);\n"
    "CREATE INDEX item_by_photo ON checklist_item(photo_id);\n"

    "ALTER TABLE film_frame ADD COLUMN proves TEXT NOT NULL DEFAULT ''; -- which mended thing: 'speeds', 'focus' ...\n"
    "ALTER TABLE film_frame ADD COLUMN photo_id INTEGER REFERENCES photo(id);\n"
    "CREATE INDEX frame_by_photo ON film_frame(photo_id);\n"

    "CREATE TABLE left_out( -- a test that is owed and was left out on purpose\n"
    "  id INTEGER PRIMARY KEY,\n"
    "  revision INTEGER NOT NULL,\n"
    "  job_id INTEGER NOT NULL REFERENCES job(id),\n"
    "  what TEXT NOT NULL, -- 'shutter', 'film' ...\n"
    "  reason TEXT NOT NULL CHECK(reason <> ''),\n"
    "  on_day TEXT NOT NULL,\n"
    "  UNIQUE(job_id, what)\n"
    ") STRICT;\n"

    "CREATE TABLE own_list( -- a checklist of the person's own, to be started from any job\n"
    "  id INTEGER PRIMARY KEY,\n"
    "  revision INTEGER NOT NULL,\n"
    "  title TEXT NOT NULL,\n"
    "  items TEXT NOT NULL -- a line each\n"
    ") STRICT;\n";

static const char version_6[] =
    "ALTER TABLE test ADD COLUMN strikes_json TEXT NOT NULL DEFAULT ''; -- why shots were left out: {\"3\":\"...\"}\n"
    "CREATE TABLE test_version( -- a test as it stood before a correction; the oldest is what was kept at first\n"
    "  id INTEGER PRIMARY KEY,\n"
    "  revision INTEGER NOT NULL, -- the change that put it aside\n"
    "  test_id INTEGER NOT NULL REFERENCES test(id),\n"
    "  reason TEXT NOT NULL CHECK(reason <> ''), -- why it was corrected\n"
    "  corrected_at TEXT NOT NULL,\n"
    "  at_time TEXT NOT NULL CHECK(at_time IN ('before','during','after')), -- from here on as in test\n"
    "  title TEXT NOT NULL,\n"
    "  notes TEXT NOT NULL,\n"
    "  tested_on TEXT NOT NULL,\n"
    "  program_version TEXT NOT NULL,\n"
    "  plan_json TEXT NOT NULL,\n"
    "  strikes_json TEXT NOT NULL,\n"
    "  result_json TEXT NOT NULL,\n"
    "  readings_json TEXT NOT NULL -- [{\"marked_s\":0.004,\"as_typed\":\"4.43 ms\"}], '' without\n"
    ") STRICT;\n"
    "CREATE INDEX version_of_test ON test_version(test_id, id);\n";

static const char version_7[] =
    "CREATE TABLE material( -- the person's own, beside the program's table; a kept result holds a copy of what it "
    "used\n"
    "  id INTEGER PRIMARY KEY,\n"
    "  revision INTEGER NOT NULL,\n"
    "  name TEXT NOT NULL, -- as worksheets are told\n"
    "  name_key TEXT NOT NULL UNIQUE, -- case folded\n"
    "  kind TEXT NOT NULL, -- a word: 'steel', 'wood'\n"
    "  yield_pa REAL CHECK(yield_pa > 0), -- yield or proof stress; of wood the bending strength; NULL: not known\n"
    "  u_yield_pa REAL CHECK(u_yield_pa >= 0), -- standard uncertainty; NULL: nobody stated it\n"
    "  tensile_pa REAL CHECK(tensile_pa > 0), -- where it breaks\n"
    "  u_tensile_pa REAL CHECK(u_tensile_pa >= 0),\n"
    "  elastic_pa REAL CHECK(elastic_pa > 0), -- modulus of elasticity\n"
    "  u_elastic_pa REAL CHECK(u_elastic_pa >= 0),\n"
    "  shear_pa REAL CHECK(shear_pa > 0), -- shear modulus\n"
    "  u_shear_pa REAL CHECK(u_shear_pa >= 0),\n"
    "  poisson REAL CHECK(poisson BETWEEN 0 AND 0.5), -- Poisson's ratio\n"
    "  u_poisson REAL CHECK(u_poisson >= 0),\n"
    "  expansion_per_k REAL CHECK(expansion_per_k >= 0), -- linear\n"
    "  u_expansion_per_k REAL CHECK(u_expansion_per_k >= 0),\n"
    "  friction REAL CHECK(friction > 0), -- against what it rubs on\n"
    "  u_friction REAL CHECK(u_friction >= 0),\n"
    "  density_kg_m3 REAL CHECK(density_kg_m3 > 0),\n"
    "  u_density_kg_m3 REAL CHECK(u_density_kg_m3 >= 0),\n"
    "  source TEXT NOT NULL, -- where the figures come from\n"
    "  notes TEXT NOT NULL,\n"
    "  changed_at TEXT NOT NULL\n"
    ") STRICT;\n";

static const char *const versions[] = {version_1, version_2, version_3, version_4, version_5, version_6, version_7};

const char *const store_undoable[] = {"job",      "test",         "reading",        "saved_sheet", "step",  "tray",
                                      "part",     "photo",        "photo_mark",     "thing",       "block", "tool",
                                      "cost",     "checklist",    "checklist_item", "film_frame",  "level", "left_out",
                                      "own_list", "test_version", "material",       NULL};

int cw_bench_schema_version(void)
{
    return (int)CW_COUNT(versions);
}

cw_status store_migrate(cw_bench *bench, int version, int goal, cw_error *err)
{
    char sql[64];
    for (int next = version; next < goal; next++) {
        int code = sqlite3_exec(bench->db, versions[next], NULL, NULL, NULL);
        if (code != SQLITE_OK) {
            cw_status status = store_fail(bench, code, "bringing the bench up to date", err);
            cw_context(err, "schema version %d", next + 1);
            return status;
        }
    }
    snprintf(sql, sizeof sql, "PRAGMA user_version = %d", goal);
    return store_run(bench, sql, STORE_NO_VALUES, err);
}
