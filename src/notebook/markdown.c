/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A job's notes as Markdown (CommonMark), for those who publish theirs. What a person wrote stays text: characters that
 * mean something in Markdown are escaped. */
#include <errno.h>
#include <inttypes.h>
#include <string.h>
#include <sys/stat.h>

#include "base/file.h"
#include "base/utf8.h"
#include "notebook/archive.h"
#include "notebook/files.h"
#include "notebook/job.h"
#include "notebook/photo.h"
#include "notebook/step.h"
#include "notebook/tables.h"
#include "notebook/test.h"

enum { MARKDOWN_MOST = 64 << 20, PAGE = 500 };

typedef struct {
    cw_bench *bench;
    int64_t job_id;
    cw_buf text;
    char folder[FILES_PATH]; /* of the photos */
    char folder_name[80];
} markdown;

/* ASCII punctuation may be escaped anywhere (CommonMark 0.31, 2.4). One line: a new line becomes a space. */
static void add_text(markdown *m, const char *text)
{
    for (; *text != '\0'; text++) {
        char c = *text == '\n' || *text == '\r' || *text == '\t' ? ' ' : *text;
        if (strchr("\\`*_{}[]()<>#+-.!|~&", c) != NULL)
            cw_buf_char(&m->text, '\\');
        cw_buf_char(&m->text, c);
    }
}

/* Paragraphs stay paragraphs; single line ends become hard ones. */
static void add_lines(markdown *m, const char *text)
{
    char line[CW_NOTE_MOST + 1];
    while (*text != '\0') {
        size_t length = strcspn(text, "\n");
        memcpy(line, text, length);
        line[length > 0 && line[length - 1] == '\r' ? length - 1 : length] = '\0';
        add_text(m, line);
        text += length;
        if (*text == '\n') {
            text++;
            cw_buf_text(&m->text, *text == '\n' || line[0] == '\0' ? "\n" : "  \n");
        }
    }
}

static void add_fact(markdown *m, const char *label, const char *text)
{
    if (text[0] == '\0')
        return;
    cw_buf_printf(&m->text, "- **%s:** ", label);
    add_text(m, text);
    cw_buf_text(&m->text, "\n");
}

/* ---- photos ---- */

static cw_status add_photo(markdown *m, const cw_photo *photo, cw_error *err)
{
    char name[100], path[FILES_PATH + 128];
    snprintf(name, sizeof name, "%.16s%s", photo->hash, strcmp(photo->media, "image/png") == 0 ? ".png" : ".jpg");
    snprintf(path, sizeof path, "%s/%s", m->folder, name);
    CW_TRY(cw_photo_export(m->bench, photo->id, path, err));
    cw_buf_text(&m->text, "\n![");
    add_text(m, photo->caption[0] != '\0' ? photo->caption : "photo");
    cw_buf_printf(&m->text, "](%s/%s)\n", m->folder_name, name);
    cw_photo_mark_list marks;
    CW_TRY(cw_photo_mark_page(m->bench, photo->id, &marks, err));
    for (size_t i = 0; i < marks.count; i++) {
        cw_buf_printf(&m->text, "%s%" PRId64 "\\. ", i == 0 ? "\n" : "  \n", marks.items[i].number);
        add_text(m, marks.items[i].text);
    }
    if (marks.count > 0)
        cw_buf_text(&m->text, "\n");
    cw_photo_mark_list_free(&marks);
    return CW_OK;
}

/* Those of a step; step_id 0: those of no step. */
static cw_status add_photos(markdown *m, int64_t step_id, cw_error *err)
{
    int64_t total = 1;
    cw_status status = CW_OK;
    for (int64_t first = 0; status == CW_OK && first < total; first += PAGE) {
        cw_photo_list list;
        cw_photo_filter filter = {.job_id = m->job_id, .step_id = step_id, .first = first, .most = PAGE};
        CW_TRY(cw_photo_page(m->bench, &filter, &list, err));
        total = list.total;
        for (size_t i = 0; status == CW_OK && i < list.count; i++)
            if (list.items[i].step_id == step_id)
                status = add_photo(m, &list.items[i], err);
        cw_photo_list_free(&list);
    }
    return status;
}

/* ---- steps ---- */

static cw_status add_parts(markdown *m, int64_t step_id, cw_error *err)
{
    cw_part_list list;
    cw_part_filter filter = {.step_id = step_id, .most = 2000};
    CW_TRY(cw_part_page(m->bench, &filter, &list, err));
    if (list.count > 0)
        cw_buf_text(&m->text,
                    "\n| pieces | part | size | where it sat | condition | now |\n|---:|---|---|---|---|---|\n");
    for (size_t i = 0; i < list.count; i++) {
        const cw_part *part = &list.items[i];
        const char *cells[] = {part->kind, part->size, part->sat, cw_condition_name(part->condition),
                               cw_part_state_name(part->state)};
        cw_buf_printf(&m->text, "| %" PRId64, part->pieces);
        for (size_t cell = 0; cell < CW_COUNT(cells); cell++) {
            cw_buf_text(&m->text, " | ");
            add_text(m, cells[cell]);
            if (cell == 1 && part->length[0] != '\0') {
                cw_buf_text(&m->text, " × ");
                add_text(m, part->length);
            }
        }
        cw_buf_text(&m->text, " |\n");
    }
    cw_part_list_free(&list);
    return CW_OK;
}

static cw_status add_step(markdown *m, const cw_step *step, cw_error *err)
{
    static const char *const threads[] = {"", "right-hand", "**left-hand**"};
    cw_buf_printf(&m->text, "\n### %" PRId64 ". ", step->number);
    add_text(m, step->title);
    cw_buf_text(&m->text, step->state == CW_STEP_DONE      ? "\n\n"
                          : step->state == CW_STEP_PLANNED ? " (planned)\n\n"
                                                           : " (skipped)\n\n");
    add_fact(m, "Came off", step->came_off);
    add_fact(m, "Held by", step->held_by);
    if (step->thread != CW_THREAD_NONE)
        cw_buf_printf(&m->text, "- **Thread:** %s\n", threads[step->thread]);
    add_fact(m, "Orientation", step->orientation);
    add_fact(m, "Can fly", step->flies);
    add_fact(m, "Tool", step->tool);
    add_fact(m, "Lubricant found", step->lubricant_found);
    add_fact(m, "Lubricant to use", step->lubricant_to_use);
    add_fact(m, "Torque", step->torque);
    add_fact(m, "Check before closing", step->check_before_closing);
    if (step->notes[0] != '\0') {
        cw_buf_text(&m->text, "\n");
        add_lines(m, step->notes);
        cw_buf_text(&m->text, "\n");
    }
    CW_TRY(add_parts(m, step->id, err));
    return add_photos(m, step->id, err);
}

static cw_status add_steps(markdown *m, cw_error *err)
{
    int64_t total = 1;
    cw_status status = CW_OK;
    for (int64_t first = 0; status == CW_OK && first < total; first += PAGE) {
        cw_step_list list;
        CW_TRY(cw_step_page(m->bench, m->job_id, CW_APART_ORDER, first, PAGE, &list, err));
        total = list.total;
        if (first == 0 && total > 0)
            cw_buf_text(&m->text, "\n## Taking apart\n");
        for (size_t i = 0; status == CW_OK && i < list.count; i++)
            status = add_step(m, &list.items[i], err);
        cw_step_list_free(&list);
    }
    return status;
}

/* ---- the rest ---- */

static cw_status add_tests(markdown *m, cw_error *err)
{
    cw_test_list list;
    CW_TRY(cw_test_page(m->bench, m->job_id, NULL, 0, PAGE, &list, err));
    if (list.count > 0)
        cw_buf_text(&m->text, "\n## Tests\n\n");
    for (size_t i = 0; i < list.count; i++) {
        const cw_test *test = &list.items[i];
        cw_buf_printf(&m->text, "- %s, %s, ", test->tested_on, cw_when_name(test->when));
        add_text(m, test->kind);
        cw_buf_text(&m->text, test->title[0] == '\0' ? "" : ": ");
        add_text(m, test->title);
        cw_buf_text(&m->text, "\n");
    }
    cw_test_list_free(&list);
    return CW_OK;
}

static cw_status add_job(markdown *m, const cw_job *job, cw_error *err)
{
    cw_buf_text(&m->text, "# ");
    add_text(m, job->camera);
    cw_buf_text(&m->text, "\n\n");
    add_fact(m, "Serial", job->serial);
    if (job->shutter != CW_JOB_SHUTTER_UNKNOWN)
        add_fact(m, "Shutter", cw_job_shutter_name(job->shutter));
    add_fact(m, "Taken in", job->taken_in_on);
    add_fact(m, "Stage", cw_stage_label(job->stage));
    if (job->complaint[0] != '\0') {
        cw_buf_text(&m->text, "\n## Complaint\n\n");
        add_lines(m, job->complaint);
        cw_buf_text(&m->text, "\n");
    }
    if (job->notes[0] != '\0') {
        cw_buf_text(&m->text, "\n## Notes\n\n");
        add_lines(m, job->notes);
        cw_buf_text(&m->text, "\n");
    }
    CW_TRY(add_photos(m, 0, err));
    CW_TRY(add_steps(m, err));
    return add_tests(m, err);
}

/* A file name from the camera's: letters and digits, the rest dashes. */
static void name_of(const cw_job *job, char out[64])
{
    char key[CW_LINE_MOST + 1];
    size_t used = 0;
    store_fold(job->camera, key);
    for (const char *c = key; *c != '\0' && used < 40; c++) {
        bool plain = (*c >= 'a' && *c <= 'z') || (*c >= '0' && *c <= '9');
        if (plain)
            out[used++] = *c;
        else if (used > 0 && out[used - 1] != '-')
            out[used++] = '-';
    }
    snprintf(out + used, 64 - used, "%sjob-%" PRId64,
             used > 0 && out[used - 1] == '-' ? ""
             : used > 0                       ? "-"
                                              : "",
             job->id);
}

static cw_status make_folder(const char *path, cw_error *err)
{
    if (mkdir(path, 0755) != 0 && errno != EEXIST)
        return cw_fail(err, CW_FILE, "the folder \"%s\" cannot be made: %s", path, strerror(errno));
    return CW_OK;
}

static cw_status write_markdown(markdown *m, const cw_job *job, const char *into, char *path, size_t size,
                                cw_error *err)
{
    char name[64];
    name_of(job, name);
    if (strlen(into) + strlen(name) + 8 > size || strlen(into) > STORE_PATH - 200)
        return cw_fail(err, CW_INPUT, "the path of the folder is too long");
    snprintf(m->folder_name, sizeof m->folder_name, "%s-photos", name);
    snprintf(m->folder, sizeof m->folder, "%s/%s", into, m->folder_name);
    CW_TRY(make_folder(into, err));
    CW_TRY(make_folder(m->folder, err));
    CW_TRY(add_job(m, job, err));
    CW_TRY(cw_buf_check(&m->text, "the notes of this job", err));
    snprintf(path, size, "%s/%s.md", into, name);
    return cw_write_file(path, m->text.text, m->text.length, err);
}

cw_status cw_job_markdown(cw_bench *bench, int64_t job_id, const char *into, char *path_out, size_t size, cw_error *err)
{
    cw_job job;
    CW_TRY(cw_job_get(bench, job_id, &job, err));
    markdown m = {.bench = bench, .job_id = job_id, .text = cw_buf_new(MARKDOWN_MOST)};
    cw_status status = write_markdown(&m, &job, into, path_out, size, err);
    cw_buf_free(&m.text);
    cw_job_free(&job);
    return status;
}
