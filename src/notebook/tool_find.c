/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The whole rack against one need. */
#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/buf.h"
#include "notebook/rack.h"

enum { A_PAGE = 500, PAGES_MOST = 200 };

/* The size of that name, however its words are joined ("tip_width", "tip-width"); NaN when it is not noted. */
static double size_m(json_t *sizes, const char *name)
{
    const char *key;
    json_t *value;
    json_object_foreach(sizes, key, value)
    {
        size_t i = 0;
        while (name[i] != '\0' && (key[i] == name[i] || (name[i] == '_' && (key[i] == '-' || key[i] == ' '))))
            i++;
        if (name[i] == '\0' && key[i] == '\0')
            return 1e-3 * json_number_value(value);
    }
    return NAN;
}

bool cw_tool_sizes(const cw_tool *tool, cw_rack_tool *sizes)
{
    cw_rack_kind kind;
    if (!cw_rack_kind_find(tool->kind, &kind) || tool->sizes_json[0] == '\0')
        return false;
    json_t *noted = json_loads(tool->sizes_json, 0, NULL);
    cw_rack_tool made = {.kind = kind,
                         .span_m = size_m(noted, "span"),
                         .span_most_m = size_m(noted, "span_most"),
                         .tip_m = size_m(noted, "tip"),
                         .tip_width_m = size_m(noted, "tip_width"),
                         .reach_m = size_m(noted, "reach"),
                         .clears_m = size_m(noted, "clears")};
    json_decref(noted);
    if (!(made.span_m >= 0) || (kind == CW_RACK_ADJUSTABLE && !(made.span_most_m >= made.span_m)))
        return false;
    *sizes = made;
    return true;
}

/* What the answer's tools stand in. */
typedef struct {
    cw_tool_list *pages;
    size_t count, capacity;
} shelf;

static void free_shelf(shelf *s)
{
    for (size_t i = 0; i < s->count; i++)
        cw_tool_list_free(&s->pages[i]);
    free(s->pages);
    free(s);
}

static cw_status fill_shelf(cw_bench *bench, shelf *s, size_t *tool_count, cw_error *err)
{
    cw_tool_list page;
    *tool_count = 0;
    do {
        CW_TRY(cw_grow(&s->pages, &s->capacity, s->count + 1, sizeof *s->pages, PAGES_MOST, "pages of tools", err));
        CW_TRY(cw_tool_page(bench, NULL, NULL, 0, (int64_t)*tool_count, A_PAGE, &page, err));
        s->pages[s->count++] = page;
        *tool_count += page.count;
    } while (page.count > 0 && (int64_t)*tool_count < page.total);
    return CW_OK;
}

/* Tools that answer for the need's kind. */
static bool same_kind(cw_rack_kind a, cw_rack_kind b)
{
    bool blades_a = a == CW_RACK_TWO_BLADE || a == CW_RACK_ADJUSTABLE,
         blades_b = b == CW_RACK_TWO_BLADE || b == CW_RACK_ADJUSTABLE;
    return a == b || (blades_a && blades_b);
}

typedef struct {
    cw_rack_tool *sizes;
    const cw_tool **tools;
    cw_rack_match *matches;
} table;

static cw_status rank(const shelf *s, const cw_rack_need *need, table *t, cw_tool_answer *answer, cw_error *err)
{
    for (size_t p = 0; p < s->count; p++)
        for (size_t i = 0; i < s->pages[p].count; i++) {
            const cw_tool *tool = &s->pages[p].items[i];
            cw_rack_tool sizes;
            if (!cw_tool_sizes(tool, &sizes)) {
                answer->unsized++;
            } else if (!same_kind(sizes.kind, need->kind)) {
                answer->other_kinds++;
            } else {
                t->sizes[answer->count] = sizes;
                t->tools[answer->count++] = tool;
            }
        }
    CW_TRY(cw_rack_rank(t->sizes, answer->count, need, t->matches, err));
    for (size_t i = 0; i < answer->count; i++)
        answer->items[i] = (cw_tool_match){t->tools[t->matches[i].index], t->matches[i]};
    return CW_OK;
}

cw_status cw_tool_find(cw_bench *bench, const cw_rack_need *need, cw_tool_answer *answer, cw_error *err)
{
    size_t room = 0;
    table t = {0};
    cw_tool_answer made = {.held = calloc(1, sizeof(shelf))};
    if (made.held == NULL)
        return cw_fail(err, CW_MEMORY, "no memory to look through the rack");
    cw_status status = fill_shelf(bench, made.held, &room, err);
    if (status == CW_OK) {
        size_t cells = room > 0 ? room : 1;
        t = (table){calloc(cells, sizeof *t.sizes), calloc(cells, sizeof *t.tools), calloc(cells, sizeof *t.matches)};
        made.items = calloc(cells, sizeof *made.items);
        if (t.sizes == NULL || t.tools == NULL || t.matches == NULL || made.items == NULL)
            status = cw_fail(err, CW_MEMORY, "no memory to look through a rack of %zu tools", room);
    }
    if (status == CW_OK)
        status = rank(made.held, need, &t, &made, err);
    free(t.sizes);
    free((void *)t.tools);
    free(t.matches);
    if (status != CW_OK) {
        cw_tool_answer_free(&made);
        return status;
    }
    *answer = made;
    return CW_OK;
}

void cw_tool_answer_free(cw_tool_answer *answer)
{
    if (answer == NULL)
        return;
    if (answer->held != NULL)
        free_shelf(answer->held);
    free(answer->items);
    *answer = (cw_tool_answer){0};
}

void cw_tool_answer_words(const cw_tool_answer *answer, char *words, size_t size)
{
    if (answer->count == 0) {
        snprintf(words, size, "No: %s",
                 answer->other_kinds + answer->unsized == 0
                     ? "the rack is empty"
                     : "nothing of that kind hangs in the rack with its sizes noted");
        return;
    }
    const cw_tool_match *best = &answer->items[0];
    static const char *const openings[] = {"Yes", "Yes, after filing", "In a pinch", "No; nearest is"};
    snprintf(words, size, "%s: \"%s\"%s%s%s, %s", openings[best->match.state], best->tool->name,
             best->tool->place[0] != '\0' ? " (" : "", best->tool->place, best->tool->place[0] != '\0' ? ")" : "",
             best->match.words);
}
