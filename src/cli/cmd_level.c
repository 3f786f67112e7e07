/* SPDX-License-Identifier: GPL-3.0-or-later */
/* camerawright level list | add | remove: the lamps and targets of this bench that a meter is compared with. */
#include <inttypes.h>
#include <math.h>
#include <string.h>

#include "cli/bench_command.h"
#include "cli/file_out.h"
#include "cli/print.h"
#include "notebook/level_text.h"

static void print_level(const cw_level *level, FILE *out)
{
    char u[40] = "";
    if (isfinite(level->u_value))
        snprintf(u, sizeof u, " \xc2\xb1 %.3g", 2 * level->u_value);
    cw_print(out, "%4" PRId64 "  %s: %.4g%s %s%s; %s, %s\n", level->id, level->name, level->value, u, level->unit,
             u[0] != '\0' ? " (k = 2)" : "", level->measured_on,
             level->source[0] != '\0' ? level->source : "no source noted");
}

static cw_status run_list(size_t count, const char *const *args, FILE *out, cw_error *err)
{
    cw_option options[] = {{.key = "bench"}, {.key = "json", .is_flag = true}};
    size_t n = CW_COUNT(options), operands;
    cw_bench *bench;
    cw_level_list levels;
    CW_TRY(cw_options_read(count, args, options, n, NULL, 0, &operands, err));
    CW_TRY(cw_bench_from_option(cw_option_value(options, n, "bench"), CW_BENCH_READ, &bench, err));
    cw_status status = cw_level_page(bench, &levels, err);
    cw_bench_close(bench);
    CW_TRY(status);
    if (cw_option_given(options, n, "json")) {
        status = cw_print_json(out, cw_level_list_json(&levels), err);
    } else {
        for (size_t i = 0; i < levels.count; i++)
            print_level(&levels.items[i], out);
        if (levels.count == 0)
            fputs("no reference level is noted; `camerawright reference-light` works out a first one\n", out);
    }
    cw_level_list_free(&levels);
    return status;
}

static cw_status run_add(size_t count, const char *const *args, FILE *out, cw_error *err)
{
    cw_option options[] = {{.key = "unit"}, {.key = "u"}, {.key = "source"}, {.key = "on"}, {.key = "bench"}};
    const char *operand[2];
    size_t n = CW_COUNT(options), operands;
    int64_t id;
    cw_bench *bench;
    CW_TRY(cw_options_read(count, args, options, n, operand, 2, &operands, err));
    if (operands < 2)
        return cw_fail(
            err, CW_INPUT,
            "say which lamp and how bright: camerawright level add \"light box, first notch\" 9.3 --unit EV");
    cw_level level = {.name = operand[0],
                      .source = cw_option_value(options, n, "source"),
                      .measured_on = cw_option_value(options, n, "on")};
    const char *unit = cw_option_value(options, n, "unit");
    CW_TRY(cw_level_figures(operand[1], cw_option_value(options, n, "u"), unit != NULL ? unit : "EV", &level, err));
    CW_TRY(cw_bench_from_option(cw_option_value(options, n, "bench"), CW_BENCH_CREATE, &bench, err));
    cw_status status = cw_level_add(bench, &level, &id, err);
    if (status == CW_OK)
        cw_print(out, "level %" PRId64 "\n", id);
    cw_bench_close(bench);
    return status;
}

static cw_status run_remove(size_t count, const char *const *args, FILE *out, cw_error *err)
{
    cw_option options[] = {{.key = "bench"}};
    const char *operand[1];
    size_t operands;
    int64_t id;
    cw_bench *bench;
    CW_TRY(cw_options_read(count, args, options, 1, operand, 1, &operands, err));
    if (operands == 0)
        return cw_fail(err, CW_INPUT, "say which level: camerawright level remove 3");
    CW_TRY(cw_id_parse(operand[0], "level", &id, err));
    CW_TRY(cw_bench_from_option(cw_option_value(options, 1, "bench"), CW_BENCH_OPEN, &bench, err));
    cw_status status = cw_level_delete(bench, id, err);
    if (status == CW_OK)
        cw_print(out, "level %" PRId64 " is removed\n", id);
    cw_bench_close(bench);
    return status;
}

static cw_status run_level(size_t count, const char *const *args, FILE *out, bool *outside, cw_error *err)
{
    static const cw_verb verbs[] = {{"list", run_list}, {"add", run_add}, {"remove", run_remove}};
    (void)outside;
    const cw_verb *verb = cw_verb_find(verbs, CW_COUNT(verbs), count, args);
    if (verb != NULL)
        return verb->run(count - 1, args + 1, out, err);
    return cw_fail(err, CW_INPUT, "say what to do: level list, add or remove");
}

const cw_command cw_cmd_level = {
    "level", "list|add|remove ...", "reference light levels: lamps and targets that a meter is compared with",
    "  level list [--json]\n"
    "  level add NAME LEVEL [--unit EV|cd/m2|lx] [--u NUMBER] [--source TEXT] [--on DAY]\n"
    "           EV at ISO 100 unless a unit is given; --u: standard uncertainty in the same unit; --on: today\n"
    "  level remove NUMBER\n"
    "The page fills its meter check from them.\n"
    "Everywhere: --bench FOLDER\n",
    run_level};
