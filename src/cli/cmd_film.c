/* SPDX-License-Identifier: GPL-3.0-or-later */
/* camerawright film plan | log | note: the test film of a job, planned, printed, and filled in when it is back. */
#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/unit.h"
#include "cli/bench_command.h"
#include "cli/file_out.h"
#include "cli/print.h"
#include "notebook/film.h"
#include "notebook/thread_json.h"
#include "report/list_sheet.h"
#include "shutter/marks.h"
#include "worksheets/film_need.h"

enum { OPTIONS_MOST = 48 };
static const char *const face_keys[] = {"keep", "json", "bench", "roll", "out", "paper", "seen"};
enum { FACE_FLAGS = 2 };

typedef struct {
    cw_option options[OPTIONS_MOST];
    size_t count;
    const cw_worksheet *sheet;
} film_options;

static const char *value(const film_options *o, const char *key)
{
    return cw_option_value(o->options, o->count, key);
}

/* ---- plan ---- */

/* What is not given on the command line is proposed from the job: what was mended, and the marks that were tested. */
typedef struct {
    const char *pairs[2 * OPTIONS_MOST + 1];
    size_t used;
    char marks[CW_FILM_MARKS_MOST * (CW_MARK_TEXT + 1)];
} plan_pairs;

static void add_pair(plan_pairs *p, const char *key, const char *text)
{
    p->pairs[p->used++] = key;
    p->pairs[p->used++] = text;
    p->pairs[p->used] = NULL;
}

static void collect(const film_options *o, const cw_mended *mended, plan_pairs *p)
{
    size_t length = 0;
    for (size_t i = 0; i < o->sheet->input_count; i++)
        if (value(o, o->sheet->inputs[i].key) != NULL)
            add_pair(p, o->sheet->inputs[i].key, value(o, o->sheet->inputs[i].key));
    for (int bit = 0; bit < CW_MENDED_COUNT; bit++)
        if (value(o, cw_film_need_key(1 << bit)) == NULL)
            add_pair(p, cw_film_need_key(1 << bit), (mended->mended & 1 << bit) != 0 ? "yes" : "no");
    for (size_t i = 0; i < mended->mark_count; i++) {
        char mark[CW_MARK_TEXT];
        cw_mark_text(mended->marks_s[i], mark, sizeof mark);
        int wrote = snprintf(p->marks + length, sizeof p->marks - length, "%s%s", i == 0 ? "" : ";", mark);
        length += wrote > 0 ? (size_t)wrote : 0;
    }
    if (mended->mark_count > 0 && value(o, "marks") == NULL)
        add_pair(p, "marks", p->marks);
}

static void print_frame(const cw_film_frame *frame, FILE *out)
{
    static const char *const verdicts[CW_ANSWER_COUNT] = {"", "  right", "  NOT RIGHT", "  not applicable"};
    char settings[120];
    cw_frame_settings(frame, settings, sizeof settings);
    cw_print_told(out, "%3" PRId64 "  %-26s %s%s\n     look for: %s\n", frame->frame, settings, frame->scene,
                  verdicts[frame->right], frame->expected);
    if (frame->seen[0] != '\0')
        cw_print(out, "     seen: %s\n", frame->seen);
}

static cw_film_frame as_frame(const cw_plan_frame *planned)
{
    return (cw_film_frame){.frame = planned->number,
                           .film = "",
                           .marked_s = planned->time_s,
                           .f_number = planned->aperture,
                           .distance_mm = planned->distance_m * 1e3,
                           .scene = planned->proves,
                           .expected = planned->look_for,
                           .seen = "",
                           .proves = ""};
}

static void print_plan(const cw_plan *plan, const cw_mended *mended, FILE *out)
{
    for (int bit = 0; bit < CW_MENDED_COUNT; bit++)
        if (mended->why[bit][0] != '\0')
            cw_print_told(out, "%-30s from %s\n", cw_mended_label(bit), mended->why[bit]);
    fputc('\n', out);
    for (size_t i = 0; i < plan->frame_count; i++) {
        cw_film_frame frame = as_frame(&plan->frames[i]);
        print_frame(&frame, out);
    }
    cw_print(out, "\n%zu frames used, %zu left over\n", plan->frame_count, plan->left_over);
    if (plan->dropped > 0)
        cw_print(out, "%zu frames do not fit on the roll: take a longer one (--frames 36), or leave something out\n",
                 plan->dropped);
}

static cw_status log_json(cw_bench *bench, int64_t job_id, FILE *out, cw_error *err)
{
    cw_film_frame_list frames;
    CW_TRY(cw_film_frame_page(bench, job_id, &frames, err));
    cw_status status = cw_print_json(out, cw_film_json(job_id, &frames), err);
    cw_film_frame_list_free(&frames);
    return status;
}

static json_t *plan_json(int64_t job_id, const cw_plan *plan)
{
    cw_film_frame items[CW_PLAN_FRAMES_MOST];
    for (size_t i = 0; i < plan->frame_count; i++)
        items[i] = as_frame(&plan->frames[i]);
    return cw_film_json(job_id, &(cw_film_frame_list){.count = plan->frame_count, .items = items});
}

static cw_status plan_film(const film_options *o, cw_bench *bench, int64_t job_id, FILE *out, cw_error *err)
{
    cw_mended mended;
    plan_pairs pairs = {0};
    cw_sheet_in *in = NULL;
    double marks[CW_FILM_MARKS_MOST];
    cw_plan_need need;
    cw_plan plan;
    CW_TRY(cw_film_propose(bench, job_id, &mended, err));
    collect(o, &mended, &pairs);
    cw_status status = cw_sheet_in_from_pairs(o->sheet, pairs.pairs, &in, err);
    if (status == CW_OK)
        status = cw_film_need_read(in, marks, &need, err);
    if (status == CW_OK)
        status = cw_film_plan(&need, &plan, err);
    bool keep = value(o, "keep") != NULL, json = value(o, "json") != NULL;
    if (status == CW_OK && keep)
        status = cw_film_keep_plan(bench, job_id, value(o, "roll"), &plan, err);
    if (status == CW_OK && json)
        status = keep ? log_json(bench, job_id, out, err) : cw_print_json(out, plan_json(job_id, &plan), err);
    else if (status == CW_OK)
        print_plan(&plan, &mended, out);
    if (status == CW_OK && !json)
        cw_print(out, keep ? "kept as the log of job %" PRId64 "\n" : "--keep makes it the log of job %" PRId64 "\n",
                 job_id);
    cw_sheet_in_free(in);
    cw_mended_free(&mended);
    return status;
}

/* ---- log ---- */

static cw_status print_log_paper(cw_bench *bench, int64_t job_id, const char *path, const char *paper, cw_error *err)
{
    char day[CW_DAY_TEXT];
    cw_document *document;
    cw_today(day);
    const cw_list_look look = {.paper = paper != NULL ? paper : "A4", .made_on = day};
    CW_TRY(cw_film_log_make(bench, job_id, &look, &document, err));
    cw_status status = cw_document_save(document, path, err);
    cw_document_free(document);
    return status;
}

static cw_status show_log(const film_options *o, cw_bench *bench, int64_t job_id, FILE *out, cw_error *err)
{
    cw_film_frame_list frames;
    if (value(o, "out") != NULL)
        return print_log_paper(bench, job_id, value(o, "out"), value(o, "paper"), err);
    if (value(o, "json") != NULL)
        return log_json(bench, job_id, out, err);
    CW_TRY(cw_film_frame_page(bench, job_id, &frames, err));
    if (frames.count == 0)
        cw_print(out, "no frame is planned yet: camerawright film plan %" PRId64 " --keep\n", job_id);
    for (size_t i = 0; i < frames.count; i++) {
        if (frames.items[i].film[0] != '\0' && (i == 0 || strcmp(frames.items[i].film, frames.items[i - 1].film) != 0))
            cw_print(out, "%s\n", frames.items[i].film);
        print_frame(&frames.items[i], out);
    }
    cw_film_frame_list_free(&frames);
    return CW_OK;
}

static cw_status parse_verdict(const char *word, cw_answer *right, cw_error *err)
{
    static const char *const words[CW_ANSWER_COUNT] = {"open", "right", "wrong", "not-applicable"};
    for (int i = 0; i < CW_ANSWER_COUNT; i++)
        if (strcmp(words[i], word) == 0) {
            *right = (cw_answer)i;
            return CW_OK;
        }
    return cw_fail(err, CW_INPUT, "\"%.40s\" is no verdict on a frame: right, wrong, not-applicable, open", word);
}

static cw_status note_frame(const film_options *o, cw_bench *bench, int64_t job_id, const char *const *words,
                            size_t count, FILE *out, cw_error *err)
{
    long number;
    cw_answer right = {0};
    cw_film_frame_list frames;
    const char *roll = value(o, "roll"), *seen = value(o, "seen");
    if (count < 3)
        return cw_fail(err, CW_INPUT, "say which frame and how it is: camerawright film note 7 4 wrong --seen \"...\"");
    CW_TRY(cw_parse_whole(words[1], 0, 99, &number, err));
    CW_TRY(parse_verdict(words[2], &right, err));
    if (right == CW_ANSWER_NO && seen == NULL)
        return cw_fail(err, CW_INPUT, "say what the frame shows: --seen \"sharp behind the mark\"");
    CW_TRY(cw_film_frame_page(bench, job_id, &frames, err));
    const cw_film_frame *found = NULL;
    for (size_t i = 0; i < frames.count; i++)
        if (frames.items[i].frame == number && (roll == NULL || strcmp(roll, frames.items[i].film) == 0))
            found = &frames.items[i];
    cw_status status;
    if (found == NULL) {
        status = cw_fail(err, CW_NOT_FOUND, "frame %ld is not in the log of job %" PRId64, number, job_id);
    } else {
        cw_film_frame frame = *found;
        frame.right = right;
        frame.seen = seen != NULL ? seen : frame.seen;
        status = cw_film_frame_update(bench, &frame, err);
        if (status == CW_OK)
            print_frame(&frame, out);
    }
    cw_film_frame_list_free(&frames);
    return status;
}

static cw_status run_film(size_t count, const char *const *args, FILE *out, bool *outside, cw_error *err)
{
    static const char *const verbs[] = {"plan", "log", "note"};
    (void)outside;
    film_options o = {.sheet = cw_worksheet_find("film-test-plan")};
    const char *words[3];
    size_t word_count, verb = 0;
    int64_t job_id;
    while (count > 0 && verb < CW_COUNT(verbs) && strcmp(args[0], verbs[verb]) != 0)
        verb++;
    if (count == 0 || verb == CW_COUNT(verbs))
        return cw_fail(err, CW_INPUT, "say what to do: plan, log, note");
    for (size_t i = 0; i < o.sheet->input_count && o.count + CW_COUNT(face_keys) < OPTIONS_MOST; i++)
        o.options[o.count++] = (cw_option){.key = o.sheet->inputs[i].key};
    for (size_t i = 0; i < CW_COUNT(face_keys); i++)
        o.options[o.count++] = (cw_option){.key = face_keys[i], .is_flag = i < FACE_FLAGS};
    CW_TRY(cw_options_read(count - 1, args + 1, o.options, o.count, words, CW_COUNT(words), &word_count, err));
    if (word_count == 0)
        return cw_fail(err, CW_INPUT, "say which job: a number from `camerawright job list`");
    CW_TRY(cw_id_parse(words[0], "job", &job_id, err));
    bool writes = verb == 2 || (verb == 0 && value(&o, "keep") != NULL);
    cw_bench *bench;
    CW_TRY(cw_bench_from_option(value(&o, "bench"), writes ? CW_BENCH_OPEN : CW_BENCH_READ, &bench, err));
    cw_status status = verb == 0   ? plan_film(&o, bench, job_id, out, err)
                       : verb == 1 ? show_log(&o, bench, job_id, out, err)
                                   : note_frame(&o, bench, job_id, words, word_count, out, err);
    cw_bench_close(bench);
    return status;
}

const cw_command cw_cmd_film = {
    "film", "plan|log|note ...", "the test film of a job: what to shoot, and what it showed",
    "  film plan JOB [--keep] [--roll NAME] [--json]     proposed from the steps, worksheets and tests of the job;\n"
    "                 further options are those of `camerawright film-test-plan --help`: --speeds yes, --frames 36,\n"
    "                 --wide 2, --focal 50mm, --nearest 0.9m, --marks \"1/60;1/125\"\n"
    "  film log JOB [--json] [--out FILE.pdf [--paper A4|Letter]]    to print and to read\n"
    "  film note JOB FRAME right|wrong|not-applicable|open [--seen TEXT] [--roll NAME]\n"
    "Everywhere: --bench FOLDER\n",
    run_film};
