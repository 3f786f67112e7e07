/* SPDX-License-Identifier: GPL-3.0-or-later */
/* camerawright checklist kinds | start | list | show | answer | remove | own */
#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

#include "base/unit.h"
#include "cli/bench_command.h"
#include "cli/file_out.h"
#include "cli/print.h"
#include "notebook/thread_json.h"
#include "report/list_sheet.h"
#include "worksheets/cautions.h"

static cw_status kinds(cw_bench *bench, bool json, FILE *out, cw_error *err)
{
    size_t count;
    cw_own_list_list own;
    const cw_guide *guides = cw_guides(&count);
    CW_TRY(cw_own_list_page(bench, &own, err));
    json_t *list = json_array();
    for (size_t i = 0; i < count; i++) {
        if (!json)
            cw_print(out, "%-16s %2zu items  %s\n", guides[i].kind, guides[i].count, guides[i].title);
        json_array_append_new(list, json_pack("{s:s,s:s,s:s,s:s,s:I}", "kind", guides[i].kind, "title", guides[i].title,
                                              "purpose", guides[i].purpose, "source", guides[i].source, "items",
                                              (json_int_t)guides[i].count));
    }
    for (size_t i = 0; i < own.count; i++) {
        if (!json)
            cw_print(out, "own:%-12" PRId64 "           %s\n", own.items[i].id, own.items[i].title);
        json_array_append_new(list, json_pack("{s:s,s:I,s:s}", "kind", "own", "own", (json_int_t)own.items[i].id,
                                              "title", own.items[i].title));
    }
    cw_own_list_list_free(&own);
    json_t *object = json_pack("{s:s,s:o}", "format", "camerawright.checklist-kinds/1", "kinds", list);
    if (json)
        return cw_print_json(out, object, err);
    json_decref(object);
    return CW_OK;
}

static cw_status start(cw_bench *bench, const char *const *words, size_t count, const char *when, FILE *out,
                       cw_error *err)
{
    int64_t job_id, own_id, id;
    cw_moment moment = CW_MOMENT_ANY;
    if (count < 2)
        return cw_fail(err, CW_INPUT, "say which job and which list: camerawright checklist start 7 light-leaks");
    CW_TRY(cw_id_parse(words[0], "job", &job_id, err));
    if (when != NULL)
        CW_TRY(cw_moment_parse(when, &moment, err));
    if (strncmp(words[1], "own:", 4) == 0) {
        CW_TRY(cw_id_parse(words[1] + 4, "list", &own_id, err));
        CW_TRY(cw_own_list_start(bench, job_id, own_id, &id, err));
    } else {
        const cw_guide *guide = cw_guide_find(words[1]);
        if (guide != NULL && guide->is_proof && moment == CW_MOMENT_ANY)
            return cw_fail(err, CW_INPUT, "\"%s\" says how the camera is: --when before or --when after the work",
                           guide->title);
        CW_TRY(cw_guide_start(bench, job_id, words[1], moment, &id, err));
    }
    cw_print(out, "checklist %" PRId64 "\n", id);
    return CW_OK;
}

static cw_status list_of_job(cw_bench *bench, int64_t job_id, bool json, FILE *out, cw_error *err)
{
    cw_checklist_list list;
    CW_TRY(cw_checklist_page(bench, job_id, &list, err));
    json_t *rows = json_array();
    if (!json && list.count == 0)
        cw_print(out, "no list is started in this job; `camerawright checklist kinds` shows which there are\n");
    for (size_t i = 0; i < list.count; i++) {
        const cw_checklist *one = &list.items[i];
        if (!json)
            cw_print(out, "%5" PRId64 "  %-26s %-7s %" PRId64 " of %" PRId64 " answered\n", one->id, one->title,
                     cw_moment_name(one->moment), one->answered, one->item_count);
        json_array_append_new(rows, json_pack("{s:I,s:s,s:s,s:s,s:I,s:I}", "id", (json_int_t)one->id, "kind", one->kind,
                                              "title", one->title, "when", cw_moment_name(one->moment), "items",
                                              (json_int_t)one->item_count, "answered", (json_int_t)one->answered));
    }
    cw_checklist_list_free(&list);
    json_t *object = json_pack("{s:s,s:I,s:o}", "format", "camerawright.checklists/1", "job", (json_int_t)job_id,
                               "checklists", rows);
    if (json)
        return cw_print_json(out, object, err);
    json_decref(object);
    return CW_OK;
}

static void print_items(const cw_checklist *list, const cw_checklist_item_list *items, FILE *out)
{
    static const char marks[CW_ANSWER_COUNT] = {' ', 'x', '!', '-'};
    cw_print(out, "%s%s%s: %" PRId64 " of %" PRId64 " answered\n\n", list->title, list->moment != 0 ? ", " : "",
             cw_moment_name(list->moment), list->answered, list->item_count);
    for (size_t i = 0; i < items->count; i++) {
        const cw_checklist_item *item = &items->items[i];
        const cw_guide_item *guide = cw_guide_item_find(list->kind, item->key);
        cw_print_told(out, "%2zu [%c] %s\n", i + 1, marks[item->answer], item->text);
        if (guide != NULL && guide->how[0] != '\0' && item->answer == CW_ANSWER_OPEN)
            cw_print(out, "       %s\n", guide->how);
        if (guide != NULL && guide->caution != NULL && item->answer == CW_ANSWER_OPEN)
            cw_print(out, "       Caution: %s\n", cw_caution(guide->caution));
        if (item->remark[0] != '\0')
            cw_print_told(out, "       %s: %s\n", cw_answer_word(item->answer), item->remark);
    }
}

static cw_status print_list_paper(cw_bench *bench, int64_t id, const char *path, const char *paper, cw_error *err)
{
    char day[CW_DAY_TEXT];
    cw_document *document;
    cw_today(day);
    const cw_list_look look = {.paper = paper != NULL ? paper : "A4", .made_on = day};
    CW_TRY(cw_list_sheet_make(bench, id, &look, &document, err));
    cw_status status = cw_document_save(document, path, err);
    cw_document_free(document);
    return status;
}

static cw_status show(cw_bench *bench, int64_t id, bool json, FILE *out, cw_error *err)
{
    cw_checklist list;
    cw_checklist_item_list items;
    CW_TRY(cw_checklist_get(bench, id, &list, err));
    cw_status status = cw_checklist_items(bench, id, &items, err);
    if (status == CW_OK) {
        if (json)
            status = cw_print_json(out, cw_checklist_json(&list, &items), err);
        else
            print_items(&list, &items, out);
        cw_checklist_item_list_free(&items);
    }
    cw_checklist_free(&list);
    return status;
}

static cw_status answer(cw_bench *bench, const char *const *words, size_t count, const char *remark, const char *by,
                        FILE *out, cw_error *err)
{
    int64_t id;
    long place;
    cw_answer given;
    cw_checklist_item_list items;
    if (count < 3)
        return cw_fail(err, CW_INPUT,
                       "say which list, which item and how it is: camerawright checklist answer 3 5 found --remark "
                       "\"light at the hinge\"");
    CW_TRY(cw_id_parse(words[0], "checklist", &id, err));
    CW_TRY(cw_parse_whole(words[1], 1, 500, &place, err));
    CW_TRY(cw_answer_word_parse(words[2], &given, err));
    if (given == CW_ANSWER_NO && remark == NULL)
        return cw_fail(err, CW_INPUT, "say what was found: --remark \"light at the hinge\"");
    CW_TRY(cw_checklist_items(bench, id, &items, err));
    cw_status status = CW_OK;
    if ((size_t)place > items.count) {
        status = cw_fail(err, CW_NOT_FOUND, "list %" PRId64 " has no item %ld; it has %zu", id, place, items.count);
    } else {
        cw_checklist_item item = items.items[place - 1];
        item.answer = given;
        item.remark = remark != NULL ? remark : item.remark;
        item.answered_by = by != NULL ? by : "command line";
        status = cw_checklist_item_update(bench, &item, err);
        if (status == CW_OK)
            cw_print_told(out, "%s: %s\n", item.text, cw_answer_word(given));
    }
    cw_checklist_item_list_free(&items);
    return status;
}

/* "a; b; c" as lines. */
static cw_status add_own(cw_bench *bench, const char *title, const char *items, FILE *out, cw_error *err)
{
    if (title == NULL || items == NULL)
        return cw_fail(err, CW_INPUT, "a list of your own needs --title and --items \"first; second; third\"");
    char *lines = strdup(items);
    int64_t id;
    if (lines == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for the list");
    for (char *c = lines; *c != '\0'; c++)
        if (*c == ';')
            *c = '\n';
    const cw_own_list own = {.title = title, .items = lines};
    cw_status status = cw_own_list_add(bench, &own, &id, err);
    if (status == CW_OK)
        cw_print(out, "list own:%" PRId64 "\n", id);
    free(lines);
    return status;
}

static cw_status one_id(const char *const *words, size_t count, const char *what, int64_t *id, cw_error *err)
{
    if (count == 0)
        return cw_fail(err, CW_INPUT, "say which %s: its number", what);
    return cw_id_parse(words[0], what, id, err);
}

static cw_status run_verb(cw_bench *bench, const char *verb, const char *const *words, size_t count,
                          const cw_option *options, size_t n, FILE *out, cw_error *err)
{
    int64_t id;
    bool json = cw_option_given(options, n, "json");
    const char *path = cw_option_value(options, n, "out");
    if (strcmp(verb, "kinds") == 0)
        return kinds(bench, json, out, err);
    if (strcmp(verb, "start") == 0)
        return start(bench, words, count, cw_option_value(options, n, "when"), out, err);
    if (strcmp(verb, "answer") == 0)
        return answer(bench, words, count, cw_option_value(options, n, "remark"), cw_option_value(options, n, "by"),
                      out, err);
    if (strcmp(verb, "own") == 0)
        return add_own(bench, cw_option_value(options, n, "title"), cw_option_value(options, n, "items"), out, err);
    if (strcmp(verb, "list") == 0) {
        CW_TRY(one_id(words, count, "job", &id, err));
        return list_of_job(bench, id, json, out, err);
    }
    CW_TRY(one_id(words, count, "checklist", &id, err));
    if (strcmp(verb, "remove") == 0)
        return cw_checklist_delete(bench, id, err);
    if (path != NULL)
        return print_list_paper(bench, id, path, cw_option_value(options, n, "paper"), err);
    return show(bench, id, json, out, err);
}

static cw_status run_checklist(size_t count, const char *const *args, FILE *out, bool *outside, cw_error *err)
{
    static const char *const verbs[] = {"kinds", "list", "show", "start", "answer", "own", "remove"};
    enum { READING_VERBS = 3 };
    (void)outside;
    cw_option options[] = {{.key = "bench"}, {.key = "when"},  {.key = "remark"},
                           {.key = "by"},    {.key = "title"}, {.key = "items"},
                           {.key = "out"},   {.key = "paper"}, {.key = "json", .is_flag = true}};
    const char *words[3];
    size_t n = CW_COUNT(options), word_count, verb = 0;
    while (count > 0 && verb < CW_COUNT(verbs) && strcmp(args[0], verbs[verb]) != 0)
        verb++;
    if (count == 0 || verb == CW_COUNT(verbs))
        return cw_fail(err, CW_INPUT, "say what to do: kinds, start, list, show, answer, own, remove");
    CW_TRY(cw_options_read(count - 1, args + 1, options, n, words, CW_COUNT(words), &word_count, err));
    cw_bench *bench;
    CW_TRY(cw_bench_from_option(cw_option_value(options, n, "bench"),
                                verb < READING_VERBS ? CW_BENCH_READ : CW_BENCH_OPEN, &bench, err));
    cw_status status = run_verb(bench, verbs[verb], words, word_count, options, n, out, err);
    cw_bench_close(bench);
    return status;
}

const cw_command cw_cmd_checklist = {
    "checklist", "kinds|start|list|show|answer|own|remove ...", "guided lists of a job: leaks, bellows, before closing",
    "  checklist kinds [--json]          which lists there are, your own too\n"
    "  checklist start JOB KIND [--when before|after]    KIND as listed, or own:N\n"
    "  checklist list JOB [--json]\n"
    "  checklist show LIST [--json] [--out FILE.pdf [--paper A4|Letter]]\n"
    "  checklist answer LIST ITEM done|found|not-applicable|open [--remark TEXT] [--by WHO]\n"
    "  checklist own --title TEXT --items \"first; second; third\"    a list of your own\n"
    "  checklist remove LIST             out of the job; `job undo` brings it back\n"
    "Everywhere: --bench FOLDER\n",
    run_checklist};
