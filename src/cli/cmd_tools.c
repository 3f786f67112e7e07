/* SPDX-License-Identifier: GPL-3.0-or-later */
/* camerawright tools find | list | show | add | remove: the rack from a terminal. */
#include <inttypes.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/json.h"
#include "base/unit.h"
#include "cli/bench_command.h"
#include "cli/file_out.h"
#include "cli/print.h"
#include "notebook/rack.h"

enum { LIST_MOST = 500, SIZE_COUNT = 6 };

/* The sizes that decide whether a tool fits: the option, and the name they are kept under. */
static const struct {
    const char *option, *name;
} sizes[SIZE_COUNT] = {{"span", "span"},           {"span-most", "span_most"}, {"tip", "tip"},
                       {"tip-width", "tip_width"}, {"reach", "reach"},         {"clears", "clears"}};

/* A length in millimetres unless it says otherwise; NaN when the option is not given. */
static cw_status length_option(const cw_option *options, size_t count, const char *key, double *length_m, cw_error *err)
{
    const char *typed = cw_option_value(options, count, key);
    *length_m = NAN;
    if (typed == NULL)
        return CW_OK;
    cw_status status = cw_parse_measure(typed, CW_LENGTH, "mm", length_m, err);
    if (status != CW_OK)
        cw_context(err, "--%s", key);
    return status;
}

static json_t *tool_json(const cw_tool *tool)
{
    json_t *noted = tool->sizes_json[0] == '\0' ? json_object() : json_loads(tool->sizes_json, 0, NULL);
    return json_pack("{s:I,s:s,s:s,s:b,s:o,s:s,s:s,s:o}", "id", (json_int_t)tool->id, "name", tool->name, "kind",
                     tool->kind, "made", (int)tool->made, "sizes_mm", noted, "place", tool->place, "notes", tool->notes,
                     "made_for_job",
                     tool->made_for_job_id > 0 ? json_integer((json_int_t)tool->made_for_job_id) : json_null());
}

static void print_sizes(const cw_tool *tool, FILE *out)
{
    json_t *noted = tool->sizes_json[0] == '\0' ? NULL : json_loads(tool->sizes_json, 0, NULL);
    const char *key;
    json_t *value;
    const char *between = "";
    json_object_foreach(noted, key, value)
    {
        cw_print(out, "%s%s %.4g mm", between, key, json_number_value(value));
        between = ", ";
    }
    json_decref(noted);
}

static void print_line(const cw_tool *tool, FILE *out)
{
    cw_print(out, "%4" PRId64 "  %s (%s%s%s)%s%s\n", tool->id, tool->name, tool->kind,
             tool->kind[0] != '\0' ? ", " : "", tool->made ? "made" : "bought", tool->place[0] != '\0' ? ", " : "",
             tool->place);
    if (tool->sizes_json[0] == '\0')
        return;
    fputs("      ", out);
    print_sizes(tool, out);
    fputc('\n', out);
}

/* ---- find ---- */

static const char *state_name(cw_rack_state state)
{
    static const char *const names[] = {"fits", "file", "loose", "cannot"};
    return names[state];
}

static json_t *answer_json(const cw_tool_answer *answer, const char *words)
{
    json_t *list = json_array();
    for (size_t i = 0; i < answer->count; i++) {
        const cw_tool_match *m = &answer->items[i];
        json_array_append_new(list, json_pack("{s:I,s:s,s:s,s:s,s:s,s:f}", "id", (json_int_t)m->tool->id, "name",
                                              m->tool->name, "place", m->tool->place, "use", state_name(m->match.state),
                                              "words", m->match.words, "filing_mm3",
                                              m->match.state == CW_RACK_FILE ? 1e9 * m->match.filing_m3 : 0.0));
    }
    return json_pack("{s:s,s:s,s:o,s:I,s:I}", "format", "camerawright.tools-find/1", "answer", words, "tools", list,
                     "other_kinds", (json_int_t)answer->other_kinds, "not_compared", (json_int_t)answer->unsized);
}

static void print_answer(const cw_tool_answer *answer, const char *words, FILE *out)
{
    cw_print_told(out, "%s\n\n", words);
    for (size_t i = 0; i < answer->count; i++)
        cw_print_told(out, "  %-6s %4" PRId64 "  %s: %s\n", state_name(answer->items[i].match.state),
                      answer->items[i].tool->id, answer->items[i].tool->name, answer->items[i].match.words);
    if (answer->unsized > 0)
        cw_print(out, "\n%zu not compared: no span noted, or a kind that sizes do not decide about\n", answer->unsized);
}

static cw_status read_need(const cw_option *options, size_t count, cw_rack_need *need, cw_error *err)
{
    const char *kind = cw_option_value(options, count, "kind");
    *need = (cw_rack_need){.kind = CW_RACK_TWO_BLADE};
    if (kind != NULL && !cw_rack_kind_find(kind, &need->kind))
        return cw_fail(err, CW_INPUT,
                       "--kind \"%.40s\" is none of two-blade, two-pin, adjustable, collar, rubber, clamp", kind);
    CW_TRY(length_option(options, count, "span", &need->span_m, err));
    CW_TRY(length_option(options, count, "slot", &need->slot_m, err));
    CW_TRY(length_option(options, count, "slot-length", &need->slot_length_m, err));
    CW_TRY(length_option(options, count, "reach", &need->reach_m, err));
    CW_TRY(length_option(options, count, "barrel", &need->barrel_m, err));
    if (isnan(need->span_m))
        return cw_fail(err, CW_INPUT, "say what it is for: camerawright tools find --span 23.4mm --slot 1.2mm");
    return CW_OK;
}

static cw_status run_find(size_t count, const char *const *args, FILE *out, bool *outside, cw_error *err)
{
    cw_option options[] = {{.key = "json", .is_flag = true},
                           {.key = "check", .is_flag = true},
                           {.key = "bench"},
                           {.key = "kind"},
                           {.key = "span"},
                           {.key = "slot"},
                           {.key = "slot-length"},
                           {.key = "reach"},
                           {.key = "barrel"}};
    size_t n = CW_COUNT(options), operands;
    CW_TRY(cw_options_read(count, args, options, n, NULL, 0, &operands, err));
    cw_rack_need need;
    CW_TRY(read_need(options, n, &need, err));
    cw_bench *bench;
    cw_tool_answer answer;
    CW_TRY(cw_bench_from_option(cw_option_value(options, n, "bench"), CW_BENCH_READ, &bench, err));
    cw_status status = cw_tool_find(bench, &need, &answer, err);
    if (status == CW_OK) {
        char words[CW_ERROR_TEXT];
        cw_tool_answer_words(&answer, words, sizeof words);
        *outside = cw_option_given(options, n, "check") &&
                   (answer.count == 0 || answer.items[0].match.state == CW_RACK_CANNOT);
        if (cw_option_given(options, n, "json"))
            status = cw_print_json(out, answer_json(&answer, words), err);
        else
            print_answer(&answer, words, out);
        cw_tool_answer_free(&answer);
    }
    cw_bench_close(bench);
    return status;
}

/* ---- list, show ---- */

static cw_status print_list(const cw_tool_list *list, bool json, FILE *out, cw_error *err)
{
    if (json) {
        json_t *tools = json_array();
        for (size_t i = 0; i < list->count; i++)
            json_array_append_new(tools, tool_json(&list->items[i]));
        return cw_print_json(out,
                             json_pack("{s:s,s:I,s:o}", "format", "camerawright.tools/1", "total",
                                       (json_int_t)list->total, "tools", tools),
                             err);
    }
    for (size_t i = 0; i < list->count; i++)
        print_line(&list->items[i], out);
    if (list->total > (int64_t)list->count)
        cw_print(out, "and %" PRId64 " more; --first N goes on from there\n", list->total - (int64_t)list->count);
    if (list->total == 0)
        cw_print(out, "the rack is empty\n");
    return CW_OK;
}

static cw_status run_list(size_t count, const char *const *args, FILE *out, bool *outside, cw_error *err)
{
    (void)outside;
    cw_option options[] = {{.key = "json", .is_flag = true}, {.key = "bench"}, {.key = "kind"}, {.key = "first"}};
    size_t n = CW_COUNT(options), operands;
    CW_TRY(cw_options_read(count, args, options, n, NULL, 0, &operands, err));
    long first = 0;
    if (cw_option_value(options, n, "first") != NULL)
        CW_TRY(cw_parse_whole(cw_option_value(options, n, "first"), 0, 1000000, &first, err));
    cw_bench *bench;
    cw_tool_list list;
    CW_TRY(cw_bench_from_option(cw_option_value(options, n, "bench"), CW_BENCH_READ, &bench, err));
    cw_status status = cw_tool_page(bench, cw_option_value(options, n, "kind"), NULL, 0, first, LIST_MOST, &list, err);
    if (status == CW_OK) {
        status = print_list(&list, cw_option_given(options, n, "json"), out, err);
        cw_tool_list_free(&list);
    }
    cw_bench_close(bench);
    return status;
}

static cw_status print_tool(const cw_tool *tool, bool json, FILE *out, cw_error *err)
{
    if (json) {
        json_t *object = tool_json(tool);
        if (object != NULL)
            json_object_set_new(object, "inputs",
                                tool->inputs_json[0] != '\0' ? json_loads(tool->inputs_json, 0, NULL) : json_null());
        return cw_print_json(out, object, err);
    }
    print_line(tool, out);
    if (tool->made_for_job_id > 0)
        cw_print(out, "      made for job %" PRId64 "\n", tool->made_for_job_id);
    if (tool->notes[0] != '\0')
        cw_print(out, "      %s\n", tool->notes);
    if (tool->drawing_svg[0] != '\0')
        cw_print(out, "      --out FILE.svg writes its drawing, at true size\n");
    return CW_OK;
}

static cw_status write_svg(const cw_tool *tool, const char *path, cw_error *err)
{
    if (tool->drawing_svg[0] == '\0')
        return cw_fail(err, CW_NOT_FOUND, "tool %" PRId64 " was kept without a drawing", tool->id);
    size_t length = strlen(path);
    if (length < 5 || strcmp(path + length - 4, ".svg") != 0)
        return cw_fail(
            err, CW_INPUT,
            "\"%s\": a kept drawing is .svg; `camerawright %s` with the sizes of this tool writes the others", path,
            tool->kind);
    return cw_write_file(path, tool->drawing_svg, strlen(tool->drawing_svg), err);
}

static cw_status run_show(size_t count, const char *const *args, FILE *out, bool *outside, cw_error *err)
{
    (void)outside;
    cw_option options[] = {{.key = "json", .is_flag = true}, {.key = "bench"}, {.key = "out"}};
    const char *operand[1];
    size_t n = CW_COUNT(options), operands;
    int64_t id;
    CW_TRY(cw_options_read(count, args, options, n, operand, 1, &operands, err));
    if (operands == 0)
        return cw_fail(err, CW_INPUT, "say which tool: camerawright tools show 3");
    CW_TRY(cw_id_parse(operand[0], "tool", &id, err));
    cw_bench *bench;
    cw_tool tool;
    CW_TRY(cw_bench_from_option(cw_option_value(options, n, "bench"), CW_BENCH_READ, &bench, err));
    cw_status status = cw_tool_get(bench, id, &tool, err);
    if (status == CW_OK) {
        const char *path = cw_option_value(options, n, "out");
        if (path != NULL)
            status = write_svg(&tool, path, err);
        if (status == CW_OK)
            status = print_tool(&tool, cw_option_given(options, n, "json"), out, err);
        cw_tool_free(&tool);
    }
    cw_bench_close(bench);
    return status;
}

/* ---- add, remove ---- */

static cw_status sizes_text(const cw_option *options, size_t count, char **text, cw_error *err)
{
    json_t *noted = json_object();
    cw_status status = CW_OK;
    for (size_t i = 0; i < SIZE_COUNT && status == CW_OK; i++) {
        double size_m;
        status = length_option(options, count, sizes[i].option, &size_m, err);
        if (status == CW_OK && !isnan(size_m))
            json_object_set_new(noted, sizes[i].name, json_real(1e3 * size_m));
    }
    *text = status == CW_OK ? cw_json_written(noted, CW_JSON_GIVEN_LINE) : NULL;
    json_decref(noted);
    if (status == CW_OK && *text == NULL)
        return cw_fail(err, CW_MEMORY, "no memory");
    return status;
}

static cw_status run_add(size_t count, const char *const *args, FILE *out, bool *outside, cw_error *err)
{
    (void)outside;
    cw_option options[] = {{.key = "bought", .is_flag = true},
                           {.key = "bench"},
                           {.key = "kind"},
                           {.key = "place"},
                           {.key = "notes"},
                           {.key = "job"},
                           {.key = "span"},
                           {.key = "span-most"},
                           {.key = "tip"},
                           {.key = "tip-width"},
                           {.key = "reach"},
                           {.key = "clears"}};
    const char *operand[1];
    char *noted;
    size_t n = CW_COUNT(options), operands;
    CW_TRY(cw_options_read(count, args, options, n, operand, 1, &operands, err));
    if (operands == 0)
        return cw_fail(err, CW_INPUT,
                       "say what it is called: camerawright tools add \"old ruler\" --kind two-blade --span 23.4mm "
                       "--tip 1.15mm");
    const char *kind = cw_option_value(options, n, "kind"), *job = cw_option_value(options, n, "job");
    cw_tool tool = {.name = operand[0],
                    .kind = kind != NULL ? kind : "",
                    .made = !cw_option_given(options, n, "bought"),
                    .place = cw_option_value(options, n, "place"),
                    .notes = cw_option_value(options, n, "notes")};
    if (job != NULL)
        CW_TRY(cw_id_parse(job, "job", &tool.made_for_job_id, err));
    CW_TRY(sizes_text(options, n, &noted, err));
    tool.sizes_json = noted;
    cw_bench *bench;
    int64_t id;
    cw_status status = cw_bench_from_option(cw_option_value(options, n, "bench"), CW_BENCH_CREATE, &bench, err);
    if (status == CW_OK) {
        status = cw_tool_add(bench, &tool, &id, err);
        cw_bench_close(bench);
    }
    cw_rack_tool compared;
    if (status == CW_OK)
        fprintf(
            out, "tool %" PRId64 "%s\n", id,
            cw_tool_sizes(&tool, &compared)
                ? ""
                : "; it is not compared with rings: that needs --kind two-blade, two-pin, adjustable, collar, rubber "
                  "or clamp and --span");
    free(noted);
    return status;
}

static cw_status run_remove(size_t count, const char *const *args, FILE *out, bool *outside, cw_error *err)
{
    (void)outside;
    cw_option options[] = {{.key = "bench"}};
    const char *operand[1];
    size_t operands;
    int64_t id;
    CW_TRY(cw_options_read(count, args, options, 1, operand, 1, &operands, err));
    if (operands == 0)
        return cw_fail(err, CW_INPUT, "say which tool: camerawright tools remove 3");
    CW_TRY(cw_id_parse(operand[0], "tool", &id, err));
    cw_bench *bench;
    CW_TRY(cw_bench_from_option(cw_option_value(options, 1, "bench"), CW_BENCH_OPEN, &bench, err));
    cw_status status = cw_tool_delete(bench, id, err);
    if (status == CW_OK)
        cw_print(out, "tool %" PRId64 " is off the rack\n", id);
    cw_bench_close(bench);
    return status;
}

static cw_status run_tools(size_t count, const char *const *args, FILE *out, bool *outside, cw_error *err)
{
    static const struct {
        const char *name;
        cw_status (*run)(size_t count, const char *const *args, FILE *out, bool *outside, cw_error *err);
    } verbs[] = {{"find", run_find}, {"list", run_list}, {"show", run_show}, {"add", run_add}, {"remove", run_remove}};
    for (size_t i = 0; count > 0 && i < CW_COUNT(verbs); i++)
        if (strcmp(verbs[i].name, args[0]) == 0)
            return verbs[i].run(count - 1, args + 1, out, outside, err);
    return cw_fail(err, CW_INPUT, "say what to do: tools find, list, show, add or remove");
}

const cw_command cw_cmd_tools = {
    "tools", "find|list|show|add|remove ...", "the rack: have I something for this ring? tools made and owned",
    "  tools find --span 23.4mm --slot 1.2mm [--kind two-blade|two-pin|adjustable|collar|rubber|clamp]\n"
    "           [--slot-length L] [--reach L] [--barrel L] [--json] [--check]\n"
    "           the answer first, then every tool of the kind, best first, with what would have to be filed;\n"
    "           --check: exit status 1 when nothing serves\n"
    "  tools list [--kind WORD] [--first N] [--json]\n"
    "  tools show NUMBER [--json] [--out FILE.svg]\n"
    "  tools add NAME [--kind WORD] [--span L] [--span-most L] [--tip L] [--tip-width L] [--reach L] [--clears L]\n"
    "           [--place TEXT] [--notes TEXT] [--job N] [--bought]\n"
    "           span: between the tips, or the smallest diameter it grips; span-most: the largest; tip: thickness, or\n"
    "           diameter of a pin; tip-width: along the slot; clears: the diameter that passes between the tips\n"
    "  tools remove NUMBER\n"
    "Lengths L in mm unless they say otherwise (0.92in). `WORKSHEET --keep-tool` hangs a result up.\n"
    "Everywhere: --bench FOLDER.\n",
    run_tools};
