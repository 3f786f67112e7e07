/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

#include "notebook/tables.h"
#include "notebook/way.h"
#include "notebook/way_find.h"

enum { THINGS_MOST = 2000, BLOCKS_MOST = 10000 };

#define PLACE(field) offsetof(cw_thing, field)

static const store_column thing_columns[] = {
    {"id", "number", PLACE(id), STORE_INT, 0, NULL, 0},
    {"revision", "revision", PLACE(revision), STORE_INT, 0, NULL, 0},
    {"job_id", "the job", PLACE(job_id), STORE_REF, STORE_ADD, NULL, 0},
    {"name", "the name", PLACE(name), STORE_LINE, STORE_BOTH | STORE_REQUIRED, NULL, 0},
    {"name_key", "the name's key", PLACE(name), STORE_FOLDED, STORE_BOTH, NULL, 0},
    {"step_id", "the step", PLACE(step_id), STORE_REF, STORE_BOTH, NULL, 0},
    {"(SELECT count(*) FROM block WHERE under_id = thing.id)", "", PLACE(block_count), STORE_INT, 0, NULL, 0},
};
const store_table thing_table = {"thing",          "thing",   thing_columns,   CW_COUNT(thing_columns),
                                 sizeof(cw_thing), PLACE(id), PLACE(revision), PLACE(held)};

#define BLOCK(field) offsetof(cw_block, field)
static const store_column block_columns[] = {
    {"id", "number", BLOCK(id), STORE_INT, 0, NULL, 0},
    {"job_id", "the job", BLOCK(job_id), STORE_REF, STORE_ADD, NULL, 0},
    {"under_id", "what is under", BLOCK(under_id), STORE_REF, STORE_ADD, NULL, 0},
    {"over_id", "what is over", BLOCK(over_id), STORE_REF, STORE_ADD, NULL, 0},
    {"way", "the way", BLOCK(way), STORE_INT, STORE_ADD, NULL, 0},
    {"(SELECT name FROM thing WHERE thing.id = under_id)", "", BLOCK(under), STORE_LINE, 0, NULL, 0},
    {"(SELECT name FROM thing WHERE thing.id = over_id)", "", BLOCK(over), STORE_LINE, 0, NULL, 0},
};
const store_table block_table = {"block",          "block",   block_columns, CW_COUNT(block_columns),
                                 sizeof(cw_block), BLOCK(id), SIZE_MAX,      SIZE_MAX};

/* ---- things ---- */

static cw_status find_thing(cw_bench *bench, int64_t job_id, const char *name, int64_t *id, cw_error *err)
{
    char key[CW_LINE_MOST + 1];
    store_fold(name, key);
    return store_number(bench, "SELECT id FROM thing WHERE job_id = ?1 AND name_key = ?2",
                        STORE_VALUES(store_int(job_id), store_text(key)), id, err);
}

static cw_status check_thing(cw_bench *bench, const cw_thing *thing, int64_t job_id, cw_error *err)
{
    int64_t there;
    CW_TRY(store_check(&thing_table, thing, STORE_CHANGE, err));
    CW_TRY(find_thing(bench, job_id, thing->name, &there, err));
    if (there != 0 && there != thing->id)
        return cw_fail(err, CW_CONFLICT, "this job has a thing named \"%s\" already", thing->name);
    return thing->step_id == 0 ? CW_OK : step_of_job(bench, thing->step_id, job_id, err);
}

static cw_status add_thing(cw_bench *bench, const cw_thing *thing, int64_t *id, cw_error *err)
{
    int64_t count;
    cw_thing row = *thing;
    row.id = 0;
    row.name = row.name == NULL ? "" : row.name;
    CW_TRY(store_job_of(bench, &job_table, row.job_id, NULL, err));
    CW_TRY(store_number(bench, "SELECT count(*) FROM thing WHERE job_id = ?1", STORE_VALUES(store_int(row.job_id)),
                        &count, err));
    if (count >= THINGS_MOST)
        return cw_fail(err, CW_RANGE, "this job has %d things already, the most one job can have", THINGS_MOST);
    CW_TRY(check_thing(bench, &row, row.job_id, err));
    return store_add(bench, &thing_table, &row, id, err);
}

cw_status cw_thing_add(cw_bench *bench, const cw_thing *thing, int64_t *id, cw_error *err)
{
    int64_t made = 0;
    CW_TRY(store_enter(bench, thing->job_id, err, "\"%s\" noted", thing->name == NULL ? "" : thing->name));
    CW_TRY(store_leave(bench, thing->job_id, add_thing(bench, thing, &made, err), err));
    *id = made;
    return CW_OK;
}

static cw_status find_or_add(cw_bench *bench, int64_t job_id, const char *name, int64_t *id, cw_error *err)
{
    CW_TRY(find_thing(bench, job_id, name, id, err));
    return *id != 0 ? CW_OK : add_thing(bench, &(cw_thing){.job_id = job_id, .name = name}, id, err);
}

cw_status cw_thing_named(cw_bench *bench, int64_t job_id, const char *name, int64_t *id, cw_error *err)
{
    int64_t found = 0;
    CW_TRY(store_enter(bench, job_id, err, "\"%s\" noted", name));
    CW_TRY(store_leave(bench, job_id, find_or_add(bench, job_id, name, &found, err), err));
    *id = found;
    return CW_OK;
}

static cw_status update_thing(cw_bench *bench, const cw_thing *thing, int64_t job_id, cw_error *err)
{
    cw_thing row = *thing;
    row.name = row.name == NULL ? "" : row.name;
    CW_TRY(check_thing(bench, &row, job_id, err));
    return store_update(bench, &thing_table, &row, err);
}

cw_status cw_thing_update(cw_bench *bench, const cw_thing *thing, cw_error *err)
{
    int64_t job_id;
    CW_TRY(store_job_of(bench, &thing_table, thing->id, &job_id, err));
    CW_TRY(store_enter(bench, job_id, err, "\"%s\" edited", thing->name == NULL ? "" : thing->name));
    return store_leave(bench, job_id, update_thing(bench, thing, job_id, err), err);
}

static cw_status delete_thing(cw_bench *bench, int64_t id, cw_error *err)
{
    CW_TRY(store_run(bench, "DELETE FROM block WHERE under_id = ?1 OR over_id = ?1", STORE_VALUES(store_int(id)), err));
    return store_delete(bench, &thing_table, id, err);
}

cw_status cw_thing_delete(cw_bench *bench, int64_t id, cw_error *err)
{
    int64_t job_id;
    CW_TRY(store_job_of(bench, &thing_table, id, &job_id, err));
    CW_TRY(store_enter(bench, job_id, err, "thing %" PRId64 " taken out of the blocks", id));
    return store_leave(bench, job_id, delete_thing(bench, id, err), err);
}

cw_status cw_thing_page(cw_bench *bench, int64_t job_id, cw_thing_list *list, cw_error *err)
{
    store_rows rows;
    CW_TRY(store_list(bench, &thing_table, "WHERE job_id = ?1 ORDER BY name_key", STORE_VALUES(store_int(job_id)),
                      &rows, err));
    *list = (cw_thing_list){rows.count, rows.items, rows.held};
    return CW_OK;
}

void cw_thing_list_free(cw_thing_list *list)
{
    if (list == NULL)
        return;
    store_release(&list->held);
    *list = (cw_thing_list){0};
}

/* ---- blocks ---- */

/* The things and blocks of a job as a graph; nodes are places in `things`. The caller frees the two arrays. */
typedef struct {
    cw_thing_list things; /* by name; ids are looked up */
    cw_block_list blocks;
    way_block *edges;
} job_graph;

static void job_graph_free(job_graph *g)
{
    cw_thing_list_free(&g->things);
    cw_block_list_free(&g->blocks);
    free(g->edges);
}

static size_t place_of(const job_graph *g, int64_t thing_id)
{
    size_t place = 0;
    while (place < g->things.count && g->things.items[place].id != thing_id)
        place++;
    return place;
}

static cw_status load_graph(cw_bench *bench, int64_t job_id, job_graph *g, cw_error *err)
{
    *g = (job_graph){0};
    CW_TRY(cw_thing_page(bench, job_id, &g->things, err));
    CW_TRY(cw_block_page(bench, job_id, &g->blocks, err));
    g->edges = calloc(g->blocks.count + 1, sizeof *g->edges);
    if (g->edges == NULL)
        return cw_fail(err, CW_MEMORY, "no memory to look at the blocks");
    for (size_t i = 0; i < g->blocks.count; i++)
        g->edges[i] = (way_block){place_of(g, g->blocks.items[i].under_id), place_of(g, g->blocks.items[i].over_id),
                                  (int)g->blocks.items[i].way};
    return CW_OK;
}

static cw_status refuse_circle(const job_graph *g, const size_t *path, size_t length, cw_error *err)
{
    cw_buf words = cw_buf_new(CW_ERROR_TEXT);
    cw_buf_printf(&words, "\"%s\" is under \"%s\"", g->things.items[path[0]].name, g->things.items[path[1]].name);
    for (size_t i = 2; i < length; i++)
        cw_buf_printf(&words, ", which is under \"%s\"", g->things.items[path[i]].name);
    cw_status status = cw_fail(err, CW_CONFLICT, "that would close a circle: %s", cw_buf_string(&words));
    cw_buf_free(&words);
    return status;
}

static cw_status check_circle(const job_graph *g, int64_t under_id, int64_t over_id, cw_error *err)
{
    way_graph graph = {.node_count = g->things.count, .blocks = g->edges, .block_count = g->blocks.count};
    size_t length = 0, *path = calloc(g->things.count + 2, sizeof *path);
    if (path == NULL)
        return cw_fail(err, CW_MEMORY, "no memory to look for a circle");
    cw_status status = way_circle(&graph, place_of(g, under_id), place_of(g, over_id), path, &length, err);
    if (status == CW_OK && length > 0)
        status = refuse_circle(g, path, length, err);
    free(path);
    return status;
}

static cw_status add_block(cw_bench *bench, const cw_block *block, int64_t *id, cw_error *err)
{
    int64_t there;
    job_graph g;
    CW_TRY(store_number(bench, "SELECT count(*) FROM block WHERE under_id = ?1 AND over_id = ?2 AND way = ?3",
                        STORE_VALUES(store_int(block->under_id), store_int(block->over_id), store_int(block->way)),
                        &there, err));
    if (there > 0)
        return cw_fail(err, CW_CONFLICT, "that is noted already");
    cw_status status = load_graph(bench, block->job_id, &g, err);
    if (status == CW_OK && g.blocks.count >= BLOCKS_MOST)
        status = cw_fail(err, CW_RANGE, "this job has %d blocks already, the most one job can have", BLOCKS_MOST);
    if (status == CW_OK)
        status = check_circle(&g, block->under_id, block->over_id, err);
    job_graph_free(&g);
    return status == CW_OK ? store_add(bench, &block_table, block, id, err) : status;
}

cw_status cw_block_add(cw_bench *bench, int64_t under_id, int64_t over_id, int way, int64_t *id, cw_error *err)
{
    int64_t job_id, other_job, made = 0;
    if (way < 0 || way > CW_WAYS_MOST)
        return cw_fail(err, CW_INPUT, "there is no way %d; 0 for always, 1 to %d for alternatives", way, CW_WAYS_MOST);
    CW_TRY(store_job_of(bench, &thing_table, under_id, &job_id, err));
    CW_TRY(store_job_of(bench, &thing_table, over_id, &other_job, err));
    if (other_job != job_id)
        return cw_fail(err, CW_INPUT, "the two things belong to different jobs");
    cw_block block = {.job_id = job_id, .under_id = under_id, .over_id = over_id, .way = way};
    CW_TRY(store_enter(bench, job_id, err, "noted what lies under what"));
    CW_TRY(store_leave(bench, job_id, add_block(bench, &block, &made, err), err));
    *id = made;
    return CW_OK;
}

cw_status cw_block_delete(cw_bench *bench, int64_t id, cw_error *err)
{
    int64_t job_id;
    CW_TRY(store_job_of(bench, &block_table, id, &job_id, err));
    CW_TRY(store_enter(bench, job_id, err, "a block taken back"));
    return store_leave(bench, job_id, store_delete(bench, &block_table, id, err), err);
}

cw_status cw_block_page(cw_bench *bench, int64_t job_id, cw_block_list *list, cw_error *err)
{
    store_rows rows;
    CW_TRY(
        store_list(bench, &block_table, "WHERE job_id = ?1 ORDER BY id", STORE_VALUES(store_int(job_id)), &rows, err));
    *list = (cw_block_list){rows.count, rows.items, rows.held};
    return CW_OK;
}

void cw_block_list_free(cw_block_list *list)
{
    if (list == NULL)
        return;
    store_release(&list->held);
    *list = (cw_block_list){0};
}
