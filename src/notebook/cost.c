/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Hours and costs of a job; frames of a test film; reference levels of the bench. */
#include <inttypes.h>
#include <math.h>

#include "notebook/film.h"
#include "notebook/tables.h"
#include "notebook/words.h"

enum { ROWS_MOST = 2000, LEVELS_MOST = 500 };

/* ---- costs ---- */

#define COST(field) offsetof(cw_cost, field)
static const store_column cost_columns[] = {
    {"id", "number", COST(id), STORE_INT, 0, NULL, 0},
    {"revision", "revision", COST(revision), STORE_INT, 0, NULL, 0},
    {"job_id", "the job", COST(job_id), STORE_REF, STORE_ADD, NULL, 0},
    {"on_day", "the day", COST(on), STORE_DAY, STORE_BOTH | STORE_TODAY, NULL, 0},
    {"what", "what for", COST(what), STORE_LINE, STORE_BOTH | STORE_REQUIRED, NULL, 0},
    {"worked_s", "the time worked", COST(worked_s), STORE_REAL, STORE_BOTH, NULL, 0},
    {"amount", "the amount", COST(amount), STORE_REAL, STORE_BOTH, NULL, 0},
    {"notes", "the notes", COST(notes), STORE_NOTE, STORE_BOTH, NULL, 0},
};
const store_table cost_table = {"cost",          "cost",   cost_columns,   CW_COUNT(cost_columns),
                                sizeof(cw_cost), COST(id), COST(revision), COST(held)};

/* No job may have more rows of a kind than its list can show. */
static cw_status check_room(cw_bench *bench, const char *table, int64_t job_id, cw_error *err)
{
    char sql[100];
    int64_t there;
    snprintf(sql, sizeof sql, "SELECT count(*) FROM %s WHERE job_id = ?1", table);
    CW_TRY(store_job_of(bench, &job_table, job_id, NULL, err));
    CW_TRY(store_number(bench, sql, STORE_VALUES(store_int(job_id)), &there, err));
    if (there >= ROWS_MOST)
        return cw_fail(err, CW_RANGE, "this job has %d of these already, the most one job can have", ROWS_MOST);
    return CW_OK;
}

static cw_status check_cost(const cw_cost *cost, cw_error *err)
{
    if (cost->worked_s < 0)
        return cw_fail(err, CW_INPUT, "%g s of work; it cannot be less than nothing", cost->worked_s);
    return CW_OK;
}

static cw_status add_cost(cw_bench *bench, const cw_cost *cost, int64_t *id, cw_error *err)
{
    CW_TRY(check_cost(cost, err));
    CW_TRY(check_room(bench, "cost", cost->job_id, err));
    return store_add(bench, &cost_table, cost, id, err);
}

cw_status cw_cost_add(cw_bench *bench, const cw_cost *cost, int64_t *id, cw_error *err)
{
    int64_t made = 0;
    CW_TRY(store_enter(bench, cost->job_id, err, "\"%s\" added to the costs", cost->what == NULL ? "" : cost->what));
    CW_TRY(store_leave(bench, cost->job_id, add_cost(bench, cost, &made, err), err));
    *id = made;
    return CW_OK;
}

cw_status cw_cost_update(cw_bench *bench, const cw_cost *cost, cw_error *err)
{
    int64_t job_id;
    CW_TRY(check_cost(cost, err));
    CW_TRY(store_job_of(bench, &cost_table, cost->id, &job_id, err));
    CW_TRY(store_enter(bench, job_id, err, "cost \"%s\" edited", cost->what == NULL ? "" : cost->what));
    return store_leave(bench, job_id, store_update(bench, &cost_table, cost, err), err);
}

cw_status cw_cost_delete(cw_bench *bench, int64_t id, cw_error *err)
{
    int64_t job_id;
    CW_TRY(store_job_of(bench, &cost_table, id, &job_id, err));
    CW_TRY(store_enter(bench, job_id, err, "a cost taken off"));
    return store_leave(bench, job_id, store_delete(bench, &cost_table, id, err), err);
}

cw_status cw_cost_page(cw_bench *bench, int64_t job_id, cw_cost_list *list, cw_error *err)
{
    store_rows rows;
    CW_TRY(store_list(bench, &cost_table, "WHERE job_id = ?1 ORDER BY on_day, id", STORE_VALUES(store_int(job_id)),
                      &rows, err));
    cw_cost_list made = {.count = rows.count, .items = rows.items, .held = rows.held};
    for (size_t i = 0; i < made.count; i++) {
        made.worked_s += isnan(made.items[i].worked_s) ? 0 : made.items[i].worked_s;
        made.amount += isnan(made.items[i].amount) ? 0 : made.items[i].amount;
    }
    *list = made;
    return CW_OK;
}

void cw_cost_list_free(cw_cost_list *list)
{
    if (list == NULL)
        return;
    store_release(&list->held);
    *list = (cw_cost_list){0};
}

/* ---- film frames ---- */

/* The row as it is stored: infinity is a fact of its own beside the distance. */
typedef struct {
    cw_film_frame frame;
    bool at_infinity;
} frame_row;

#define FRAME(field) offsetof(frame_row, frame.field)
static const store_column frame_columns[] = {
    {"id", "number", FRAME(id), STORE_INT, 0, NULL, 0},
    {"revision", "revision", FRAME(revision), STORE_INT, 0, NULL, 0},
    {"job_id", "the job", FRAME(job_id), STORE_REF, STORE_ADD, NULL, 0},
    {"frame", "the frame", FRAME(frame), STORE_INT, STORE_BOTH, NULL, 0},
    {"film", "the film", FRAME(film), STORE_LINE, STORE_BOTH, NULL, 0},
    {"marked_s", "the marked speed", FRAME(marked_s), STORE_REAL, STORE_BOTH, NULL, 0},
    {"f_number", "the f-number", FRAME(f_number), STORE_REAL, STORE_BOTH, NULL, 0},
    {"distance_mm", "the distance", FRAME(distance_mm), STORE_REAL, STORE_BOTH, NULL, 0},
    {"at_infinity", "at infinity", offsetof(frame_row, at_infinity), STORE_BOOL, STORE_BOTH, NULL, 0},
    {"scene", "the scene", FRAME(scene), STORE_NOTE, STORE_BOTH, NULL, 0},
    {"expected", "what is expected", FRAME(expected), STORE_NOTE, STORE_BOTH, NULL, 0},
    {"seen", "what is seen", FRAME(seen), STORE_NOTE, STORE_BOTH, NULL, 0},
    {"right", "the verdict", FRAME(right), STORE_WORD, STORE_BOTH, words_answer, CW_ANSWER_COUNT},
    {"proves", "what it proves", FRAME(proves), STORE_LINE, STORE_BOTH, NULL, 0},
    {"photo_id", "the photo", FRAME(photo_id), STORE_REF, STORE_BOTH, NULL, 0},
};
const store_table film_frame_table = {"film_frame",      "frame",   frame_columns,   CW_COUNT(frame_columns),
                                      sizeof(frame_row), FRAME(id), FRAME(revision), FRAME(held)};

static cw_status frame_to_row(const cw_film_frame *frame, frame_row *row, cw_error *err)
{
    *row = (frame_row){*frame, isinf(frame->distance_mm) && frame->distance_mm > 0};
    if (row->at_infinity)
        row->frame.distance_mm = NAN;
    if (frame->frame < 0 || frame->frame > 99)
        return cw_fail(err, CW_INPUT, "there is no frame %" PRId64 "; 0 to 99", frame->frame);
    if (frame->marked_s <= 0 || frame->f_number <= 0 || row->frame.distance_mm <= 0)
        return cw_fail(err, CW_INPUT, "speed, f-number and distance of a frame are more than 0, or not noted");
    return CW_OK;
}

static cw_status add_frame(cw_bench *bench, const frame_row *row, int64_t *id, cw_error *err)
{
    CW_TRY(check_room(bench, "film_frame", row->frame.job_id, err));
    return store_add(bench, &film_frame_table, row, id, err);
}

cw_status cw_film_frame_add(cw_bench *bench, const cw_film_frame *frame, int64_t *id, cw_error *err)
{
    frame_row row;
    int64_t made = 0;
    CW_TRY(frame_to_row(frame, &row, err));
    CW_TRY(store_enter(bench, frame->job_id, err, "frame %" PRId64 " added", frame->frame));
    CW_TRY(store_leave(bench, frame->job_id, add_frame(bench, &row, &made, err), err));
    *id = made;
    return CW_OK;
}

cw_status cw_film_frame_update(cw_bench *bench, const cw_film_frame *frame, cw_error *err)
{
    frame_row row;
    int64_t job_id;
    CW_TRY(frame_to_row(frame, &row, err));
    CW_TRY(store_job_of(bench, &film_frame_table, frame->id, &job_id, err));
    CW_TRY(store_enter(bench, job_id, err, "frame %" PRId64 " edited", frame->frame));
    return store_leave(bench, job_id, store_update(bench, &film_frame_table, &row, err), err);
}

cw_status cw_film_frame_delete(cw_bench *bench, int64_t id, cw_error *err)
{
    int64_t job_id;
    CW_TRY(store_job_of(bench, &film_frame_table, id, &job_id, err));
    CW_TRY(store_enter(bench, job_id, err, "a frame taken out"));
    return store_leave(bench, job_id, store_delete(bench, &film_frame_table, id, err), err);
}

cw_status cw_film_frame_get(cw_bench *bench, int64_t id, cw_film_frame *frame, cw_error *err)
{
    frame_row row;
    CW_TRY(store_get(bench, &film_frame_table, id, &row, err));
    *frame = row.frame;
    if (row.at_infinity)
        frame->distance_mm = INFINITY;
    return CW_OK;
}

void cw_film_frame_free(cw_film_frame *frame)
{
    if (frame == NULL)
        return;
    store_release(&frame->held);
    *frame = (cw_film_frame){0};
}

cw_status cw_film_frame_page(cw_bench *bench, int64_t job_id, cw_film_frame_list *list, cw_error *err)
{
    store_rows rows;
    CW_TRY(store_list(bench, &film_frame_table, "WHERE job_id = ?1 ORDER BY film, frame, id",
                      STORE_VALUES(store_int(job_id)), &rows, err));
    cw_film_frame *items = store_keep_items(&rows.held, rows.count, sizeof *items);
    if (items == NULL) {
        store_release(&rows.held);
        return cw_fail(err, CW_MEMORY, "no memory to list the frames");
    }
    for (size_t i = 0; i < rows.count; i++) {
        const frame_row *row = &((const frame_row *)rows.items)[i];
        items[i] = row->frame;
        if (row->at_infinity)
            items[i].distance_mm = INFINITY;
    }
    *list = (cw_film_frame_list){rows.count, items, rows.held};
    return CW_OK;
}

void cw_film_frame_list_free(cw_film_frame_list *list)
{
    if (list == NULL)
        return;
    store_release(&list->held);
    *list = (cw_film_frame_list){0};
}

/* ---- reference levels ---- */

#define LEVEL(field) offsetof(cw_level, field)
static const store_column level_columns[] = {
    {"id", "number", LEVEL(id), STORE_INT, 0, NULL, 0},
    {"revision", "revision", LEVEL(revision), STORE_INT, 0, NULL, 0},
    {"name", "the name", LEVEL(name), STORE_LINE, STORE_BOTH | STORE_REQUIRED, NULL, 0},
    {"value", "the value", LEVEL(value), STORE_REAL, STORE_BOTH, NULL, 0},
    {"u_value", "the uncertainty", LEVEL(u_value), STORE_REAL, STORE_BOTH, NULL, 0},
    {"unit", "the unit", LEVEL(unit), STORE_LINE, STORE_BOTH | STORE_REQUIRED, NULL, 0},
    {"source", "what it was compared with", LEVEL(source), STORE_NOTE, STORE_BOTH, NULL, 0},
    {"measured_on", "the day it was measured", LEVEL(measured_on), STORE_DAY, STORE_BOTH | STORE_TODAY, NULL, 0},
    {"notes", "the notes", LEVEL(notes), STORE_NOTE, STORE_BOTH, NULL, 0},
};
const store_table level_table = {"level",          "level",   level_columns,   CW_COUNT(level_columns),
                                 sizeof(cw_level), LEVEL(id), LEVEL(revision), LEVEL(held)};

static cw_status check_level(const cw_level *level, cw_error *err)
{
    if (!(level->value > 0) || level->u_value < 0)
        return cw_fail(err, CW_INPUT, "a level of %g with an uncertainty of %g; more than 0, and not below 0",
                       level->value, level->u_value);
    return CW_OK;
}

static cw_status add_level(cw_bench *bench, const cw_level *level, int64_t *id, cw_error *err)
{
    int64_t there;
    CW_TRY(check_level(level, err));
    CW_TRY(store_number(bench, "SELECT count(*) FROM level", STORE_NO_VALUES, &there, err));
    if (there >= LEVELS_MOST)
        return cw_fail(err, CW_RANGE, "this bench has %d levels already, the most it can have", LEVELS_MOST);
    return store_add(bench, &level_table, level, id, err);
}

cw_status cw_level_add(cw_bench *bench, const cw_level *level, int64_t *id, cw_error *err)
{
    int64_t made = 0;
    CW_TRY(store_enter(bench, 0, err, "level \"%s\" noted", level->name == NULL ? "" : level->name));
    CW_TRY(store_leave(bench, 0, add_level(bench, level, &made, err), err));
    *id = made;
    return CW_OK;
}

cw_status cw_level_update(cw_bench *bench, const cw_level *level, cw_error *err)
{
    CW_TRY(check_level(level, err));
    CW_TRY(store_enter(bench, 0, err, "level \"%s\" edited", level->name == NULL ? "" : level->name));
    return store_leave(bench, 0, store_update(bench, &level_table, level, err), err);
}

static cw_status delete_level(cw_bench *bench, int64_t id, cw_error *err)
{
    CW_TRY(store_delete(bench, &level_table, id, err));
    if (sqlite3_changes(bench->db) == 0)
        return cw_fail(err, CW_NOT_FOUND, "there is no level %" PRId64 " on this bench", id);
    return CW_OK;
}

cw_status cw_level_delete(cw_bench *bench, int64_t id, cw_error *err)
{
    CW_TRY(store_enter(bench, 0, err, "level %" PRId64 " taken out", id));
    return store_leave(bench, 0, delete_level(bench, id, err), err);
}

cw_status cw_level_page(cw_bench *bench, cw_level_list *list, cw_error *err)
{
    store_rows rows;
    CW_TRY(store_list(bench, &level_table, "ORDER BY name, id", STORE_NO_VALUES, &rows, err));
    *list = (cw_level_list){rows.count, rows.items, rows.held};
    return CW_OK;
}

void cw_level_list_free(cw_level_list *list)
{
    if (list == NULL)
        return;
    store_release(&list->held);
    *list = (cw_level_list){0};
}
