/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From what a person types to a query of the index, and from its rows to hits. Nothing a person types reaches the query
 * language: every word is split by the index's own rules first, and goes back in quotes. */
#include "notebook/search.h"

#include <inttypes.h>
#include <string.h>

#include "notebook/tables.h"
#include "notebook/vocabulary.h"

enum { WORDS_MOST = 16, QUERY_MOST = 16000, PAGE_MOST = 200 };

typedef struct {
    cw_bench *bench;
    cw_buf query, told;
    size_t word_count;
    bool corrected;
} asking;

/* ---- the query ---- */

static cw_status is_found(asking *a, const char *expression, bool *found, cw_error *err)
{
    int64_t any;
    CW_TRY(store_number(a->bench, "SELECT EXISTS(SELECT 1 FROM words WHERE words MATCH ?1)",
                        STORE_VALUES(store_text(expression)), &any, err));
    *found = any != 0;
    return CW_OK;
}

/* `"a b c"*`, the words belonging together, the last one being a beginning. Words of the index hold no quotes. */
static void add_phrase(cw_buf *expression, char (*words)[VOCABULARY_WORD], size_t count)
{
    cw_buf_char(expression, '"');
    for (size_t i = 0; i < count; i++)
        cw_buf_printf(expression, "%s%s", i == 0 ? "" : " ", words[i]);
    cw_buf_text(expression, "\"*");
}

static void add_words(cw_buf *expression, const vocabulary_word *const *words, size_t count)
{
    for (size_t i = 0; i < count; i++)
        cw_buf_printf(expression, "%s\"%s\"", expression->length == 0 ? "" : " OR ", words[i]->text);
}

static void tell_correction(asking *a, const char *typed, const vocabulary_word *const *near, size_t count)
{
    cw_buf_printf(&a->told, "%sno \"%s\"", a->told.length == 0 ? "" : "; ", typed);
    for (size_t i = 0; i < count; i++)
        cw_buf_printf(&a->told, "%s%s", i == 0 ? ", shown: " : ", ", near[i]->text);
    a->corrected |= count > 0;
}

/* One word: as a beginning, with its other endings, and when nothing is found, its neighbours. */
static cw_status ask_word(asking *a, char (*word)[VOCABULARY_WORD], const char *stem, cw_buf *expression, cw_error *err)
{
    const store_vocabulary *vocabulary;
    const vocabulary_word *endings[VOCABULARY_ENDINGS_MOST], *near[VOCABULARY_NEAR_MOST];
    bool found;
    add_phrase(expression, word, 1);
    CW_TRY(vocabulary_of(a->bench, &vocabulary, err));
    add_words(expression, endings, vocabulary_endings(vocabulary, *word, stem, endings));
    CW_TRY(cw_buf_check(expression, "the search", err));
    CW_TRY(is_found(a, expression->text, &found, err));
    if (found)
        return CW_OK;
    size_t count = vocabulary_near(vocabulary, *word, near);
    tell_correction(a, *word, near, count);
    if (count > 0) {
        cw_buf_free(expression);
        add_words(expression, near, count);
    }
    return CW_OK;
}

/* A piece between spaces, or between quotes: may be several words to the index ("M1.7"). */
static cw_status ask_piece(asking *a, const char *piece, cw_error *err)
{
    char words[WORDS_MOST][VOCABULARY_WORD], stem[1][VOCABULARY_WORD] = {""};
    size_t count, stems;
    CW_TRY(vocabulary_split(a->bench, piece, false, words, WORDS_MOST, &count, err));
    if (count == 0)
        return CW_OK;
    if ((a->word_count += count) > WORDS_MOST)
        return cw_fail(err, CW_INPUT, "more than %d words to look for; leave some out", WORDS_MOST);
    CW_TRY(vocabulary_split(a->bench, piece, true, stem, 1, &stems, err));
    cw_buf expression = cw_buf_new(QUERY_MOST);
    cw_status status = CW_OK;
    if (count == 1)
        status = ask_word(a, words, stem[0], &expression, err);
    else
        add_phrase(&expression, words, count);
    cw_buf_printf(&a->query, "%s(%s)", a->query.length == 0 ? "" : " AND ", cw_buf_string(&expression));
    cw_buf_free(&expression);
    return status;
}

/* Cuts the text at spaces, except inside quotes of any kind; an open quote reaches to the end. */
static cw_status ask_text(asking *a, const char *text, cw_error *err)
{
    char piece[CW_LINE_MOST + 1];
    size_t length = strlen(text), used = 0;
    bool quoted = false;
    if (length > CW_LINE_MOST || !store_text_ok(text, length, true))
        return cw_fail(err, CW_INPUT, "what to look for is not a plain text of at most %d bytes", CW_LINE_MOST);
    for (size_t i = 0; i <= length; i++) {
        bool quote = text[i] == '"', end = text[i] == '\0';
        bool space = text[i] == ' ' || text[i] == '\t' || text[i] == '\n' || text[i] == '\r';
        if (!end && !quote && !(space && !quoted)) {
            piece[used++] = text[i];
            continue;
        }
        piece[used] = '\0';
        used = 0;
        quoted = quote ? !quoted : quoted;
        CW_TRY(ask_piece(a, piece, err));
    }
    if (a->word_count == 0)
        return cw_fail(err, CW_INPUT, "there is no word to look for in \"%.60s\"", text);
    return cw_buf_check(&a->query, "the search", err);
}

/* ---- the hits ---- */

/* What is shown with a hit: its step, its best photo. One statement for each kind; ?1 is the id. */
static const char *const about_hit[CW_HIT_COUNT] = {
    "SELECT 0, coalesce(cover_photo_id, (SELECT min(id) FROM photo WHERE job_id = job.id), 0) FROM job WHERE id = ?1",
    "SELECT id, coalesce((SELECT min(id) FROM photo WHERE step_id = step.id), 0) FROM step WHERE id = ?1",
    "SELECT coalesce(step_id, 0), coalesce((SELECT min(id) FROM photo WHERE part_id = part.id), (SELECT min(photo_id) "
    "FROM "
    "photo_mark WHERE part_id = part.id), (SELECT min(id) FROM photo WHERE photo.step_id = part.step_id), 0) FROM part "
    "WHERE id = ?1",
    "SELECT coalesce(step_id, 0), id FROM photo WHERE id = ?1",
    "SELECT 0, 0 FROM test WHERE id = ?1",
    "SELECT 0, 0",
};

static cw_status describe(cw_bench *bench, cw_hit *hit, cw_error *err)
{
    sqlite3_stmt *st;
    CW_TRY(store_prepare(bench, about_hit[hit->kind], STORE_VALUES(store_int(hit->id)), &st, err));
    int code = sqlite3_step(st);
    if (code == SQLITE_ROW) {
        hit->step_id = sqlite3_column_int64(st, 0);
        hit->photo_id = sqlite3_column_int64(st, 1);
    }
    cw_status status = code == SQLITE_ROW || code == SQLITE_DONE ? CW_OK : store_fail(bench, code, "searching", err);
    sqlite3_finalize(st);
    return status;
}

/* One row of the list: document, camera, title, snippet, job. */
static cw_status read_hit(cw_bench *bench, sqlite3_stmt *st, cw_hit *hit, void **held, cw_error *err)
{
    int64_t document = sqlite3_column_int64(st, 0);
    *hit = (cw_hit){.kind = (cw_hit_kind)(document % 8), .id = document / 8, .job_id = sqlite3_column_int64(st, 4)};
    hit->camera = store_keep(held, (const char *)sqlite3_column_text(st, 1));
    hit->title = store_keep(held, (const char *)sqlite3_column_text(st, 2));
    hit->snippet = store_keep(held, (const char *)sqlite3_column_text(st, 3));
    if (hit->camera == NULL || hit->title == NULL || hit->snippet == NULL)
        return cw_fail(err, CW_MEMORY, "no memory to list what was found");
    return describe(bench, hit, err);
}

static void filter_text(unsigned kinds, const char *camera, cw_buf *sql)
{
    cw_buf_text(sql, "FROM words WHERE words MATCH ?1");
    if (kinds != 0)
        cw_buf_printf(sql, " AND (%u >> (rowid %% 8)) & 1", kinds);
    if (camera != NULL && camera[0] != '\0')
        cw_buf_text(sql, " AND job_id IN (SELECT id FROM job WHERE camera_key = ?2)");
}

typedef struct {
    const char *camera;
    unsigned kinds;
    int64_t first, most;
} wanted;

static cw_status read_hits(cw_bench *bench, sqlite3_stmt *st, cw_hit_list *list, cw_error *err)
{
    cw_status status = CW_OK;
    int code = SQLITE_DONE;
    while (status == CW_OK && (code = sqlite3_step(st)) == SQLITE_ROW)
        status = read_hit(bench, st, &list->items[list->count++], &list->held, err);
    if (status == CW_OK && code != SQLITE_DONE)
        status = store_fail(bench, code, "searching", err);
    return status;
}

/* One statement for the order and the texts: the index sorts by itself and hands out row after row, so snippets are cut
 * for the rows shown and no others, and the terms of a beginning are gathered once. Asked for row by row, with the
 * row's number, it gathers them anew for each. */
static cw_status list_hits(asking *a, const wanted *w, cw_hit_list *list, cw_error *err)
{
    char key[CW_LINE_MOST + 1], sql[600];
    cw_buf filter = cw_buf_new(400);
    store_fold(w->camera == NULL ? "" : w->camera, key);
    filter_text(w->kinds, w->camera, &filter);
    store_value values[] = {store_text(a->query.text), store_text(key), store_int(w->most), store_int(w->first)};
    snprintf(sql, sizeof sql, "SELECT count(*) %s", cw_buf_string(&filter));
    cw_status status = store_number(a->bench, sql, values, 2, &list->total, err);
    snprintf(sql, sizeof sql,
             "SELECT rowid, camera, title, snippet(words, -1, char(2), char(3), '…', 14), job_id %s "
             "ORDER BY rank LIMIT ?3 OFFSET ?4",
             cw_buf_string(&filter));
    cw_buf_free(&filter);
    list->items = store_keep_items(&list->held, (size_t)w->most, sizeof *list->items);
    if (status == CW_OK && list->items == NULL)
        status = cw_fail(err, CW_MEMORY, "no memory to list what was found");
    sqlite3_stmt *st = NULL;
    if (status == CW_OK)
        status = store_prepare(a->bench, sql, values, CW_COUNT(values), &st, err);
    if (status == CW_OK)
        status = read_hits(a->bench, st, list, err);
    sqlite3_finalize(st);
    return status;
}

cw_status cw_search(cw_bench *bench, const char *words, unsigned kinds, const char *camera, int64_t first, int64_t most,
                    cw_hit_list *list, cw_error *err)
{
    CW_TRY(store_paging(first, most, PAGE_MOST, err));
    if (kinds >> CW_HIT_COUNT != 0)
        return cw_fail(err, CW_INPUT, "there are only %d kinds of things to find; the filter asks for more",
                       CW_HIT_COUNT);
    asking a = {.bench = bench, .query = cw_buf_new(QUERY_MOST * 2), .told = cw_buf_new(2000)};
    wanted w = {camera, kinds, first, most};
    cw_hit_list made = {0};
    cw_status status = ask_text(&a, words == NULL ? "" : words, err);
    if (status == CW_OK)
        status = list_hits(&a, &w, &made, err);
    made.corrected = a.corrected;
    made.told = store_keep(&made.held, cw_buf_string(&a.told));
    if (status == CW_OK && made.told == NULL)
        status = cw_fail(err, CW_MEMORY, "no memory to list what was found");
    cw_buf_free(&a.query);
    cw_buf_free(&a.told);
    if (status != CW_OK) {
        store_release(&made.held);
        return status;
    }
    *list = made;
    return CW_OK;
}

void cw_hit_list_free(cw_hit_list *list)
{
    if (list == NULL)
        return;
    store_release(&list->held);
    *list = (cw_hit_list){0};
}
