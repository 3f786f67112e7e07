/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The bench at size: 10,000 jobs; 1,000 jobs of 40 steps and 3 photos a step; a 12 MB photo taken in. Each figure
 * stands beside what the machine does at least for it in the same run, and each answer is checked.
 *
 *   bench-notebook [FOLDER]   makes its benches there (default: the current folder), about 300 MB, and removes them */
#include "notebook/bench_box.h"
#include "notebook/pictures.h"

#include <errno.h>
#include <fcntl.h>
#include <sys/stat.h>
#include <time.h>

#include "base/file.h"
#include "notebook/photo.h"
#include "notebook/search.h"
#include "notebook/step.h"
#include "notebook/store.h"

enum { JOBS_MANY = 10000, JOBS_DEEP = 1000, STEPS = 40, PHOTOS = 3, REPEATS = 40 };

static const char *const words[] = {
    "cover",   "screw",  "spring", "gear",   "shaft",   "washer",   "lever",  "pallet", "governor",
    "shutter", "blade",  "ring",   "lens",   "mirror",  "curtain",  "ribbon", "drum",   "escapement",
    "collar",  "detent", "click",  "pawl",   "ratchet", "window",   "prism",  "meter",  "cell",
    "wire",    "lug",    "strap",  "rewind", "counter", "sprocket", "plate",  "hinge",  "latch"};

static double now_s(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + (double)t.tv_nsec * 1e-9;
}

static void must(cw_status status, const cw_error *err)
{
    if (status == CW_OK)
        return;
    fprintf(stderr, "%s\n", err->text);
    exit(3);
}

static void sentence(check_random *random, size_t count, char out[400])
{
    out[0] = '\0';
    for (size_t i = 0; i < count; i++) {
        size_t room = strlen(out), pick = (size_t)(check_uniform(random) * CW_COUNT(words));
        if (check_uniform(random) < 0.02) /* rare words: part numbers and names */
            snprintf(out + room, 400 - room, "x%d ", (int)(check_uniform(random) * 5000));
        else
            snprintf(out + room, 400 - room, "%s ", words[pick]);
    }
}

/* ---- the two benches ---- */

static void fill_many(cw_bench *bench, cw_error *err)
{
    check_random random = {.state = 1};
    for (int i = 0; i < JOBS_MANY;) {
        must(cw_change_begin(bench, 0, "jobs", err), err);
        for (int j = 0; j < 500; j++, i++) {
            char camera[40], complaint[400], day[16];
            int64_t id;
            snprintf(camera, sizeof camera, "Camera %d", (int)(check_uniform(&random) * 120));
            snprintf(day, sizeof day, "20%02d-%02d-%02d", 10 + i / 700, 1 + i % 12, 1 + i % 28);
            sentence(&random, 12, complaint);
            cw_job job = {.camera = camera, .complaint = complaint, .taken_in_on = day, .agreed_cost = NAN};
            must(cw_job_add(bench, &job, &id, err), err);
            if (i % 3 != 0)
                must(cw_job_move(bench, id, (cw_stage)(i % CW_STAGE_PROVED), NULL, err), err);
        }
        must(cw_change_commit(bench, err), err);
    }
}

static void fill_step(cw_bench *bench, int64_t job_id, int number, check_random *random, cw_error *err)
{
    char title[400], notes[400];
    int64_t step_id, part_id;
    sentence(random, 3, title);
    sentence(random, 14, notes);
    cw_step step = {.job_id = job_id, .title = title, .notes = notes, .state = CW_STEP_DONE, .duration_s = NAN};
    must(cw_step_add(bench, &step, 0, &step_id, err), err);
    cw_part part = {
        .job_id = job_id, .step_id = step_id, .kind = words[number % 36], .pieces = 3, .state = CW_PART_OUT};
    must(cw_part_add(bench, &part, &part_id, err), err);
    for (int i = 0; i < PHOTOS; i++)
        must(store_run(
                 bench,
                 "INSERT INTO photo(revision, job_id, step_id, caption, hash, media, name, bytes, width_px, height_px, "
                 "orientation, taken_at, created_at) VALUES(1, ?1, ?2, '', lower(hex(randomblob(32))), 'image/jpeg', "
                 "'p.jpg', 4000000, 4000, 3000, 1, '', '')",
                 STORE_VALUES(store_int(job_id), store_int(step_id)), err),
             err);
}

static void fill_deep(cw_bench *bench, cw_error *err)
{
    check_random random = {.state = 2};
    for (int i = 0; i < JOBS_DEEP; i++) {
        int64_t id;
        char camera[40];
        snprintf(camera, sizeof camera, "Camera %d", i % 60);
        cw_job job = {.camera = camera, .complaint = "slow speeds stick", .agreed_cost = NAN};
        must(cw_change_begin(bench, 0, "a job", err), err);
        must(cw_job_add(bench, &job, &id, err), err);
        for (int j = 0; j < STEPS; j++)
            fill_step(bench, id, j, &random, err);
        must(cw_change_commit(bench, err), err);
    }
}

/* ---- timing ---- */

static int by_size(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

typedef struct {
    cw_bench *bench;
    cw_error err;
    check_random random;
    int64_t id;
    int kind;
    int64_t answers;
} task;

static double centile_95(void (*run)(task *t), task *t)
{
    double times[REPEATS];
    for (int i = 0; i < REPEATS; i++) {
        double start = now_s();
        run(t);
        times[i] = now_s() - start;
    }
    qsort(times, REPEATS, sizeof *times, by_size);
    return times[REPEATS * 95 / 100];
}

static void line(const char *what, double time_s, double floor_s, double goal_s)
{
    printf("%-52s %8.2f ms  %5.0f x its floor  %5.2f of the goal (%.0f ms)\n", what, time_s * 1e3, time_s / floor_s,
           time_s / goal_s, goal_s * 1e3);
}

/* The floor of a page: 50 bare rows by their number. */
static void bare_rows(task *t)
{
    sqlite3_stmt *st;
    must(store_prepare(t->bench, "SELECT camera, complaint FROM job WHERE id > ?1 LIMIT 50",
                       STORE_VALUES(store_int(100)), &st, &t->err),
         &t->err);
    while (sqlite3_step(st) == SQLITE_ROW)
        t->answers += sqlite3_column_bytes(st, 1);
    sqlite3_finalize(st);
}

static void page_of_jobs(task *t)
{
    cw_job_list list;
    cw_job_filter filter = {.most = 50,
                            .order = (cw_job_order)(t->kind % 3),
                            .first = t->kind < 3 ? 0 : 5000,
                            .stages = t->kind == 6 ? 1u << CW_STAGE_APART : 0,
                            .camera = t->kind == 7 ? "camera 17" : NULL};
    if (t->kind >= 6)
        filter.first = 0;
    must(cw_job_page(t->bench, &filter, &list, &t->err), &t->err);
    t->answers += (int64_t)list.count;
    cw_job_list_free(&list);
}

static void front_page(task *t)
{
    int64_t counts[CW_STAGE_COUNT];
    cw_camera_list cameras;
    t->kind = 0;
    page_of_jobs(t);
    must(cw_job_stage_counts(t->bench, counts, &t->err), &t->err);
    must(cw_camera_kinds(t->bench, 20, &cameras, &t->err), &t->err);
    cw_camera_list_free(&cameras);
}

static void page_of_a_job(task *t)
{
    cw_job job;
    cw_step_list steps;
    cw_part_list parts;
    cw_photo_list photos;
    cw_part_count count;
    char undo[CW_LINE_MOST + 1], redo[CW_LINE_MOST + 1];
    int64_t id = 1 + (int64_t)(check_uniform(&t->random) * JOBS_DEEP);
    must(cw_job_get(t->bench, id, &job, &t->err), &t->err);
    must(cw_step_page(t->bench, id, CW_APART_ORDER, 0, 100, &steps, &t->err), &t->err);
    must(cw_part_page(t->bench, &(cw_part_filter){.job_id = id, .most = 500}, &parts, &t->err), &t->err);
    must(cw_photo_page(t->bench, &(cw_photo_filter){.job_id = id, .most = 500}, &photos, &t->err), &t->err);
    must(cw_part_counts(t->bench, id, &count, &t->err), &t->err);
    must(cw_undo_next(t->bench, id, undo, redo, &t->err), &t->err);
    if (steps.count != STEPS || parts.count != STEPS || photos.count != STEPS * PHOTOS)
        exit(4);
    t->answers += (int64_t)photos.count;
    cw_photo_list_free(&photos);
    cw_part_list_free(&parts);
    cw_step_list_free(&steps);
    cw_job_free(&job);
}

/* 0 a common word, 1 three words, 2 a beginning, 3 a slip of the finger, 4 a rare word, 5 a phrase */
static void search_words(task *t)
{
    static const char *const queries[] = {"screw", "governor spring window", "escap", "govenror palllet",
                                          "x4711", "\"click spring\""};
    cw_hit_list hits;
    must(cw_search(t->bench, queries[t->kind], 0, NULL, 0, 20, &hits, &t->err), &t->err);
    if (hits.count == 0 && t->kind != 4)
        exit(4);
    t->answers += (int64_t)hits.count;
    cw_hit_list_free(&hits);
}

/* The same after something was written: the words of the index have to be read again. */
static void search_after_writing(task *t)
{
    cw_job job = {.camera = "Camera 1", .agreed_cost = NAN};
    must(cw_job_add(t->bench, &job, &t->id, &t->err), &t->err);
    t->kind = 3;
    search_words(t);
}

static void write_one(task *t)
{
    cw_job job = {.camera = "Camera 1", .agreed_cost = NAN};
    must(cw_job_add(t->bench, &job, &t->id, &t->err), &t->err);
}

/* The floor of a search: counting the rows of its first word. */
static void bare_match(task *t)
{
    must(store_number(t->bench, "SELECT count(*) FROM words WHERE words MATCH 'spring'", STORE_NO_VALUES, &t->answers,
                      &t->err),
         &t->err);
}

static void measure_pages(const char *folder)
{
    static const char *const names[] = {"first page by change",    "first page by day",       "first page by camera",
                                        "middle page by change",   "middle page by day",      "middle page by camera",
                                        "first page of one stage", "first page of one camera"};
    task t = {.random = {.state = 3}};
    must(cw_bench_open(folder, CW_BENCH_CREATE, &t.bench, &t.err), &t.err);
    fill_many(t.bench, &t.err);
    double floor_s = centile_95(bare_rows, &t);
    printf("\n%d jobs; floor: 50 bare rows, %.3f ms; 95th centile of %d\n", JOBS_MANY, floor_s * 1e3, REPEATS);
    for (t.kind = 0; t.kind < 8; t.kind++) {
        t.answers = 0;
        double time_s = centile_95(page_of_jobs, &t);
        if (t.answers != 50 * REPEATS)
            exit(4);
        line(names[t.kind], time_s, floor_s, 0.020);
    }
    line("front page: jobs, stages, cameras", centile_95(front_page, &t), floor_s, 0.020);
    cw_bench_close(t.bench);
}

static void measure_depth(const char *folder)
{
    static const char *const names[] = {"search: one common word",         "search: three words", "search: a beginning",
                                        "search: two slips of the finger", "search: a rare word", "search: a phrase"};
    task t = {.random = {.state = 3}};
    must(cw_bench_open(folder, CW_BENCH_CREATE, &t.bench, &t.err), &t.err);
    fill_deep(t.bench, &t.err);
    double rows_s = centile_95(bare_rows, &t), match_s = centile_95(bare_match, &t);
    printf("\n%d jobs x %d steps x %d photos; floors: 50 bare rows %.3f ms, counting one word %.3f ms\n", JOBS_DEEP,
           STEPS, PHOTOS, rows_s * 1e3, match_s * 1e3);
    line("page of a job: steps, parts, photos, count, undo", centile_95(page_of_a_job, &t), rows_s, 0.030);
    for (t.kind = 0; t.kind < 6; t.kind++)
        line(names[t.kind], centile_95(search_words, &t), match_s, 0.050);
    double write_s = centile_95(write_one, &t);
    line("search: slips, after each write (less the write)", centile_95(search_after_writing, &t) - write_s, match_s,
         0.050);
    cw_bench_close(t.bench);
}

/* ---- a photo ---- */

static double copy_and_sync(const char *bytes, size_t size, const char *to)
{
    double start = now_s();
    int fd = open(to, O_WRONLY | O_CREAT | O_TRUNC, 0644);
    if (fd < 0 || write(fd, bytes, size) != (ssize_t)size || fsync(fd) != 0)
        exit(3);
    close(fd);
    double took = now_s() - start;
    unlink(to);
    return took;
}

/* Noise compresses badly: 3700 x 2540 pixels of it make 12 MB. */
static size_t big_picture(const char *path, char **bytes)
{
    struct jpeg_compress_struct out;
    struct jpeg_error_mgr trouble;
    check_random random = {.state = 8};
    FILE *file = fopen(path, "wb");
    size_t size;
    cw_error err;
    out.err = jpeg_std_error(&trouble);
    jpeg_create_compress(&out);
    jpeg_stdio_dest(&out, file);
    out.image_width = 3700;
    out.image_height = 2540;
    out.input_components = 3;
    out.in_color_space = JCS_RGB;
    jpeg_set_defaults(&out);
    jpeg_set_quality(&out, 96, TRUE);
    jpeg_start_compress(&out, TRUE);
    static unsigned char row[3700 * 3];
    for (JSAMPROW to = row; out.next_scanline < out.image_height; jpeg_write_scanlines(&out, &to, 1))
        for (size_t i = 0; i < sizeof row; i++)
            row[i] = (unsigned char)(check_uniform(&random) * 256);
    jpeg_finish_compress(&out);
    jpeg_destroy_compress(&out);
    fclose(file);
    must(cw_read_file(path, 60u << 20, bytes, &size, &err), &err);
    return size;
}

static void measure_photo(const char *folder, const char *scratch)
{
    char path[1000], *bytes;
    cw_bench *bench;
    cw_error err;
    double bare[11], ours[11];
    int64_t job_id, id;
    snprintf(path, sizeof path, "%s/big.jpg", scratch);
    size_t size = big_picture(path, &bytes);
    must(cw_bench_open(folder, CW_BENCH_CREATE, &bench, &err), &err);
    cw_job job = {.camera = "Tarnbrook 35", .agreed_cost = NAN};
    must(cw_job_add(bench, &job, &job_id, &err), &err);
    for (int i = 0; i < 11; i++) { /* in turn, so that both meet the same disk */
        char copy[1100];
        snprintf(copy, sizeof copy, "%s/copy", scratch);
        bare[i] = copy_and_sync(bytes, size, copy);
        cw_incoming *incoming;
        double start = now_s();
        must(cw_incoming_open(bench, CW_INCOMING_PHOTO, "p.jpg", &incoming, &err), &err);
        for (size_t at = 0; at < size; at += 65536)
            must(cw_incoming_write(incoming, bytes + at, size - at < 65536 ? size - at : 65536, &err), &err);
        must(cw_photo_keep(incoming, job_id, 0, 0, "", &id, &err), &err);
        ours[i] = now_s() - start;
    }
    qsort(bare, 11, sizeof *bare, by_size);
    qsort(ours, 11, sizeof *ours, by_size);
    printf(
        "\na photo of %.1f MB, medians of 11: copied and flushed %.1f ms, taken in %.1f ms: %.2f of the copy's speed "
        "(goal: not below 0.50)\n",
        (double)size / 1e6, bare[5] * 1e3, ours[5] * 1e3, bare[5] / ours[5]);
    free(bytes);
    cw_bench_close(bench);
}

int main(int count, char **args)
{
    char scratch[600], folder[700];
    snprintf(scratch, sizeof scratch, "%s/bench-notebook-XXXXXX", count > 1 ? args[1] : ".");
    if (mkdtemp(scratch) == NULL) {
        fprintf(stderr, "%s: %s\n", scratch, strerror(errno));
        return 3;
    }
    snprintf(folder, sizeof folder, "%s/photo", scratch);
    measure_photo(folder, scratch);
    snprintf(folder, sizeof folder, "%s/many", scratch);
    measure_pages(folder);
    snprintf(folder, sizeof folder, "%s/deep", scratch);
    measure_depth(folder);
    box_remove(scratch);
    return 0;
}
