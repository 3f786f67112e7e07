/* SPDX-License-Identifier: GPL-3.0-or-later */
/* camerawright backup, check, search: looking after the bench and finding things in it. */
#include <inttypes.h>
#include <string.h>

#include "base/buf.h"
#include "cli/bench_command.h"
#include "cli/print.h"
#include "notebook/care.h"
#include "notebook/search.h"

enum { WORDS_MOST = 32, HITS_MOST = 40 };

static cw_status run_backup(size_t count, const char *const *args, FILE *out, bool *outside, cw_error *err)
{
    (void)outside;
    cw_option options[] = {{.key = "bench"}};
    const char *operand[1];
    size_t operands;
    CW_TRY(cw_options_read(count, args, options, 1, operand, 1, &operands, err));
    if (operands == 0)
        return cw_fail(err, CW_INPUT, "say into which folder: camerawright backup /media/stick/bench");
    cw_bench *bench;
    cw_backup_report report;
    CW_TRY(cw_bench_from_option(cw_option_value(options, 1, "bench"), CW_BENCH_OPEN, &bench, err));
    cw_status status = cw_backup(bench, operand[0], &report, err);
    if (status == CW_OK)
        cw_print(out,
                 "%" PRId64 " jobs are safe in %s: %" PRId64 " files copied (%.1f MB), %" PRId64
                 " were there already; all read back and right\n",
                 report.jobs, operand[0], report.files, (double)report.bytes / 1e6, report.files_kept);
    cw_bench_close(bench);
    return status;
}

const cw_command cw_cmd_backup = {
    "backup", "FOLDER [--bench FOLDER]", "copy the bench, while it is in use, and check the copy",
    "  FOLDER is a bench itself afterwards; the next backup into it copies only what is new.\n", run_backup};

static cw_status run_check(size_t count, const char *const *args, FILE *out, bool *outside, cw_error *err)
{
    cw_option options[] = {{.key = "bench"}, {.key = "quick", .is_flag = true}, {.key = "tidy", .is_flag = true}};
    size_t n = CW_COUNT(options), operands;
    int64_t removed = 0;
    CW_TRY(cw_options_read(count, args, options, n, NULL, 0, &operands, err));
    bool tidy = cw_option_given(options, n, "tidy");
    cw_bench *bench;
    cw_trouble_list list;
    CW_TRY(
        cw_bench_from_option(cw_option_value(options, n, "bench"), tidy ? CW_BENCH_OPEN : CW_BENCH_READ, &bench, err));
    cw_status status = tidy ? cw_care_tidy(bench, &removed, err) : CW_OK;
    if (status == CW_OK)
        status = cw_check(bench, !cw_option_given(options, n, "quick"), &list, err);
    if (status == CW_OK) {
        if (tidy)
            cw_print(out, "%" PRId64 " files that nothing named were removed\n", removed);
        for (size_t i = 0; i < list.count; i++)
            cw_print_told(out, "%s\n", list.items[i].text);
        cw_print(out, "%" PRId64 " jobs, %" PRId64 " photos, %" PRId64 " recordings looked at: %s\n", list.jobs,
                 list.photos, list.recordings, list.count == 0 ? "all is well" : "see above");
        *outside = list.count > 0;
        cw_trouble_list_free(&list);
    }
    cw_bench_close(bench);
    return status;
}

const cw_command cw_cmd_check = {
    "check", "[--quick] [--tidy] [--bench FOLDER]", "look whether the bench is whole; exit status 1 when it is not",
    "  --quick   without reading every photo and recording\n"
    "  --tidy    first remove files that nothing names any more, and make the search index again\n",
    run_check};

/* The marks around found words become plain brackets on a terminal. */
static void print_snippet(const char *snippet, FILE *out)
{
    for (const char *s = snippet; *s != '\0'; s++)
        fputc(*s == CW_HIT_ON ? '[' : *s == CW_HIT_OFF ? ']' : *s == '\n' ? ' ' : *s, out);
}

static void print_hits(const cw_hit_list *list, FILE *out)
{
    if (list->corrected)
        cw_print(out, "(%s)\n", list->told);
    for (size_t i = 0; i < list->count; i++) {
        const cw_hit *hit = &list->items[i];
        cw_print(out, "job %-5" PRId64 " %-18s %-5s %s: ", hit->job_id, hit->camera, cw_hit_kind_name(hit->kind),
                 hit->title);
        print_snippet(hit->snippet, out);
        fputc('\n', out);
    }
    if (list->total > (int64_t)list->count)
        cw_print(out, "%" PRId64 " more; add a word to narrow it down\n", list->total - (int64_t)list->count);
    if (list->count == 0)
        cw_print(out, "nothing found\n");
}

static cw_status run_search(size_t count, const char *const *args, FILE *out, bool *outside, cw_error *err)
{
    (void)outside;
    cw_option options[] = {{.key = "bench"}, {.key = "camera"}};
    const char *words[WORDS_MOST];
    size_t n = CW_COUNT(options), word_count;
    CW_TRY(cw_options_read(count, args, options, n, words, WORDS_MOST, &word_count, err));
    cw_buf query = cw_buf_new(CW_LINE_MOST);
    for (size_t i = 0; i < word_count; i++)
        cw_buf_printf(&query, "%s%s", i > 0 ? " " : "", words[i]);
    cw_status status = cw_buf_check(&query, "the search", err);
    cw_bench *bench = NULL;
    cw_hit_list list;
    if (status == CW_OK)
        status = cw_bench_from_option(cw_option_value(options, n, "bench"), CW_BENCH_READ, &bench, err);
    if (status == CW_OK)
        status =
            cw_search(bench, cw_buf_string(&query), 0, cw_option_value(options, n, "camera"), 0, HITS_MOST, &list, err);
    if (status == CW_OK) {
        print_hits(&list, out);
        cw_hit_list_free(&list);
    }
    cw_bench_close(bench);
    cw_buf_free(&query);
    return status;
}

const cw_command cw_cmd_search = {"search", "WORD ... [--camera KIND] [--bench FOLDER]",
                                  "find words in every job: steps, parts, photos, tests, tools", NULL, run_search};
