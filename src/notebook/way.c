/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The way in, from the records: gathers what is known about a target and everything over it, from this job first and
 * from the newest other job of the same camera for what this one does not know yet; then searches (way_find.h). */
#include "notebook/way.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

#include "notebook/job.h"
#include "notebook/tables.h"
#include "notebook/way_find.h"

enum { CONTRADICTIONS_TOLD = 3, NAMES_LISTED = 8 };

/* One thing by its name, from whichever job knows about it. */
typedef struct {
    char key[CW_LINE_MOST + 1];
    const char *name;
    int64_t thing_id; /* whose blocks are used; 0: nothing lies over it as far as is known */
    int64_t job_id;
    int64_t step_id;
    bool is_off;
} way_node;

typedef struct {
    cw_bench *bench;
    int64_t job_id; /* asked about; 0: none yet */
    const char *camera_key;
    way_node *nodes;
    size_t node_count, node_capacity;
    way_block *blocks;
    size_t block_count, block_capacity;
    cw_buf told;
    size_t contradictions, borrowed;
    void *held; /* names */
} gathering;

/* ---- looking things up ---- */

/* The newest job of the camera (the asked one before all) in which the thing of that name has a step to show. */
static cw_status find_description(gathering *g, way_node *node, cw_error *err)
{
    static const char step[] = "SELECT thing.step_id FROM thing JOIN job ON job.id = thing.job_id WHERE thing.name_key "
                               "= ?1 AND thing.step_id IS "
                               "NOT NULL AND (thing.job_id = ?2 OR job.camera_key = ?3) ORDER BY thing.job_id = ?2 "
                               "DESC, thing.job_id DESC LIMIT 1";
    static const char off[] =
        "SELECT count(*) FROM thing JOIN step ON step.id = thing.step_id WHERE thing.job_id = ?2 AND "
        "thing.name_key = ?1 AND step.state = 'done' AND NOT step.back_done";
    store_value values[] = {store_text(node->key), store_int(g->job_id), store_text(g->camera_key)};
    int64_t count;
    CW_TRY(store_number(g->bench, step, values, CW_COUNT(values), &node->step_id, err));
    CW_TRY(store_number(g->bench, off, values, CW_COUNT(values), &count, err));
    node->is_off = count > 0;
    return CW_OK;
}

/* Whose blocks are used for this name; *known says whether it stands anywhere at all. */
static cw_status find_source(gathering *g, way_node *node, bool *known, cw_error *err)
{
    static const char sql[] =
        "SELECT thing.id, thing.job_id, thing.name FROM thing JOIN job ON job.id = thing.job_id WHERE thing.name_key = "
        "?1 "
        "AND (thing.job_id = ?2 OR job.camera_key = ?3) ORDER BY EXISTS(SELECT 1 FROM block WHERE under_id = thing.id) "
        "DESC, thing.job_id = ?2 DESC, thing.job_id DESC LIMIT 1";
    sqlite3_stmt *st;
    CW_TRY(store_prepare(
        g->bench, sql, STORE_VALUES(store_text(node->key), store_int(g->job_id), store_text(g->camera_key)), &st, err));
    int code = sqlite3_step(st);
    cw_status status = CW_OK;
    *known = code == SQLITE_ROW;
    if (code == SQLITE_ROW) {
        node->thing_id = sqlite3_column_int64(st, 0);
        node->job_id = sqlite3_column_int64(st, 1);
        node->name = store_keep(&g->held, (const char *)sqlite3_column_text(st, 2));
        if (node->name == NULL)
            status = cw_fail(err, CW_MEMORY, "no memory to look for a way in");
    } else if (code != SQLITE_DONE) {
        status = store_fail(g->bench, code, "looking for a way in", err);
    }
    sqlite3_finalize(st);
    return status == CW_OK && *known ? find_description(g, node, err) : status;
}

/* The place of a name among the nodes; added at the end when it is new. */
static cw_status node_named(gathering *g, const char *name, size_t *place, cw_error *err)
{
    way_node node = {0};
    bool known;
    store_fold(name, node.key);
    for (*place = 0; *place < g->node_count; ++*place)
        if (strcmp(g->nodes[*place].key, node.key) == 0)
            return CW_OK;
    CW_TRY(find_source(g, &node, &known, err));
    if (!known)
        return cw_fail(err, CW_NOT_FOUND, "nothing named \"%s\" is recorded for this camera", name);
    CW_TRY(cw_grow(&g->nodes, &g->node_capacity, g->node_count + 1, sizeof *g->nodes, WAY_NODES_MOST, "things", err));
    g->nodes[g->node_count++] = node;
    return CW_OK;
}

/* ---- gathering ---- */

/* A block from a record; one that contradicts what was gathered before it is left out, and that is told. */
static cw_status gather_block(gathering *g, size_t under, size_t over, int way, cw_error *err)
{
    way_graph graph = {.node_count = g->node_count, .blocks = g->blocks, .block_count = g->block_count};
    size_t length = 0, *path = calloc(g->node_count + 2, sizeof *path);
    if (path == NULL)
        return cw_fail(err, CW_MEMORY, "no memory to look for a way in");
    cw_status status = way_circle(&graph, under, over, path, &length, err);
    free(path);
    CW_TRY(status);
    if (length > 0) {
        if (++g->contradictions <= CONTRADICTIONS_TOLD)
            cw_buf_printf(&g->told,
                          "Job %" PRId64
                          " says that \"%s\" is under \"%s\", which contradicts the other records; that was "
                          "left out. ",
                          g->nodes[under].job_id, g->nodes[under].name, g->nodes[over].name);
        return CW_OK;
    }
    CW_TRY(
        cw_grow(&g->blocks, &g->block_capacity, g->block_count + 1, sizeof *g->blocks, WAY_BLOCKS_MOST, "blocks", err));
    g->blocks[g->block_count++] = (way_block){under, over, way};
    return CW_OK;
}

static cw_status gather_over(gathering *g, size_t under, cw_error *err)
{
    sqlite3_stmt *st;
    CW_TRY(store_prepare(g->bench,
                         "SELECT thing.name, block.way FROM block JOIN thing ON thing.id = block.over_id WHERE "
                         "block.under_id = ?1 ORDER BY block.id",
                         STORE_VALUES(store_int(g->nodes[under].thing_id)), &st, err));
    cw_status status = CW_OK;
    int code = SQLITE_DONE, blocks = 0;
    while (status == CW_OK && (code = sqlite3_step(st)) == SQLITE_ROW) {
        size_t over;
        status = node_named(g, (const char *)sqlite3_column_text(st, 0), &over, err);
        if (status == CW_OK)
            status = gather_block(g, under, over, sqlite3_column_int(st, 1), err);
        blocks++;
    }
    if (status == CW_OK && code != SQLITE_DONE)
        status = store_fail(g->bench, code, "looking for a way in", err);
    sqlite3_finalize(st);
    if (blocks > 0 && g->nodes[under].job_id != g->job_id)
        g->borrowed++;
    return status;
}

/* ---- what is told ---- */

/* Names like the one asked for, in the sentence of the refusal. */
static cw_status refuse_unknown(gathering *g, const char *target, cw_error *err)
{
    char key[CW_LINE_MOST + 1];
    cw_buf names = cw_buf_new(CW_ERROR_TEXT);
    sqlite3_stmt *st;
    store_fold(target, key);
    CW_TRY(store_prepare(g->bench,
                         "SELECT min(thing.name), thing.name_key FROM thing JOIN job ON job.id = thing.job_id WHERE "
                         "thing.job_id = ?1 OR job.camera_key = ?2 GROUP BY thing.name_key ORDER BY thing.name_key",
                         STORE_VALUES(store_int(g->job_id), store_text(g->camera_key)), &st, err));
    int listed = 0;
    while (sqlite3_step(st) == SQLITE_ROW && listed < NAMES_LISTED) {
        const char *name = (const char *)sqlite3_column_text(st, 0), *other = (const char *)sqlite3_column_text(st, 1);
        bool near =
            strstr(other, key) != NULL || strstr(key, other) != NULL || store_distance(key, other, 3, false) <= 3;
        if (near)
            cw_buf_printf(&names, "%s\"%s\"", listed++ == 0 ? "" : ", ", name);
    }
    sqlite3_finalize(st);
    cw_status status = cw_fail(err, CW_NOT_FOUND, "nothing named \"%.100s\" is recorded for this camera%s%s%s", target,
                               listed > 0 ? "; there is " : ". Note first what lies under what",
                               listed > 0 ? cw_buf_string(&names) : "", "");
    cw_buf_free(&names);
    return status;
}

static cw_status tell(gathering *g, const way_sets *sets, cw_error *err)
{
    if (g->contradictions > CONTRADICTIONS_TOLD)
        cw_buf_printf(&g->told, "%zu more contradictions were left out. ", g->contradictions - CONTRADICTIONS_TOLD);
    if (g->borrowed > 0 && g->job_id != 0)
        cw_buf_printf(&g->told,
                      g->borrowed == 1 ? "For %zu thing this leans on earlier jobs of the same camera. "
                                       : "For %zu things this leans on earlier jobs of the same camera. ",
                      g->borrowed);
    if (!sets->proven)
        cw_buf_text(&g->told, "There are too many possibilities to try them all; a shorter way may exist. ");
    else if (!sets->complete)
        cw_buf_text(&g->told, "There are more ways than are shown. ");
    if (sets->count == 1 && sets->sets[0].count == 1)
        cw_buf_text(&g->told, "Nothing is recorded that lies over it. ");
    return cw_buf_check(&g->told, "a remark", err);
}

static cw_status fill(gathering *g, const way_sets *sets, cw_way_list *list, cw_error *err)
{
    cw_way_list made = {.count = sets->count, .complete = sets->complete, .proven = sets->proven};
    made.items = store_keep_items(&g->held, sets->count, sizeof *made.items);
    made.told = store_keep(&g->held, cw_buf_string(&g->told));
    bool memory = made.items != NULL && made.told != NULL;
    for (size_t i = 0; memory && i < sets->count; i++) {
        const way_set *set = &sets->sets[i];
        cw_way *way = &made.items[i];
        way->count = set->count;
        way->items = store_keep_items(&g->held, set->count, sizeof *way->items);
        memory = way->items != NULL;
        for (size_t j = 0; memory && j < set->count; j++) {
            const way_node *node = &g->nodes[set->nodes[j]];
            way->items[j] = (struct cw_way_step){node->name, node->step_id, node->job_id, node->is_off};
        }
    }
    if (!memory)
        return cw_fail(err, CW_MEMORY, "no memory to list the ways in");
    made.held = g->held;
    g->held = NULL;
    *list = made;
    return CW_OK;
}

/* ---- all of it ---- */

/* Of two that may come off next, the one whose step stood earlier goes first. */
static cw_status ranks_of(gathering *g, int64_t *ranks, cw_error *err)
{
    for (size_t i = 0; i < g->node_count; i++) {
        CW_TRY(store_number(g->bench, "SELECT rank FROM step WHERE id = ?1",
                            STORE_VALUES(store_int(g->nodes[i].step_id)), &ranks[i], err));
        if (ranks[i] == 0)
            ranks[i] = INT64_MAX;
    }
    return CW_OK;
}

static cw_status search_ways(gathering *g, cw_way_list *list, cw_error *err)
{
    int64_t *ranks = calloc(g->node_count, sizeof *ranks);
    way_graph graph = {g->node_count, g->blocks, g->block_count, ranks};
    way_sets sets = {0};
    cw_status status =
        ranks == NULL ? cw_fail(err, CW_MEMORY, "no memory to look for a way in") : ranks_of(g, ranks, err);
    if (status == CW_OK)
        status = way_find(&graph, 0, &sets, err);
    if (status == CW_OK)
        status = tell(g, &sets, err);
    if (status == CW_OK)
        status = fill(g, &sets, list, err);
    way_sets_free(&sets);
    free(ranks);
    return status;
}

static cw_status way_in(gathering *g, const char *target, cw_way_list *list, cw_error *err)
{
    size_t place;
    char key[CW_LINE_MOST + 1];
    store_fold(target, key);
    if (key[0] == '\0')
        return cw_fail(err, CW_INPUT, "say what is to be reached");
    g->told = cw_buf_new(4000);
    cw_status status = node_named(g, target, &place, err);
    if (status == CW_NOT_FOUND)
        status = refuse_unknown(g, target, err);
    for (size_t i = 0; status == CW_OK && i < g->node_count; i++)
        status = gather_over(g, i, err);
    if (status == CW_OK)
        status = search_ways(g, list, err);
    free(g->nodes);
    free(g->blocks);
    cw_buf_free(&g->told);
    store_release(&g->held);
    return status;
}

cw_status cw_way_in(cw_bench *bench, int64_t job_id, const char *target, cw_way_list *list, cw_error *err)
{
    cw_job job;
    char key[CW_LINE_MOST + 1];
    CW_TRY(cw_job_get(bench, job_id, &job, err));
    store_fold(job.camera, key);
    cw_job_free(&job);
    gathering g = {.bench = bench, .job_id = job_id, .camera_key = key};
    return way_in(&g, target, list, err);
}

cw_status cw_way_in_camera(cw_bench *bench, const char *camera, const char *target, cw_way_list *list, cw_error *err)
{
    char key[CW_LINE_MOST + 1];
    store_fold(camera, key);
    gathering g = {.bench = bench, .camera_key = key};
    return way_in(&g, target, list, err);
}

void cw_way_list_free(cw_way_list *list)
{
    if (list == NULL)
        return;
    store_release(&list->held);
    *list = (cw_way_list){0};
}
