/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a page costs on a full bench: 10,000 jobs (with steps, parts and shutter tests), served by the real server on
 * loopback, one request after the other on a connection kept open. Beside each page its ratio to the style sheet, which
 * needs neither bench nor worker, in the same run. Goal: pages under 20 ms. Usage: bench-web-pages [JOBS] */
#include <arpa/inet.h>
#include <inttypes.h>
#include <math.h>
#include <netinet/in.h>
#include <netinet/tcp.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <time.h>
#include <unistd.h>

#include "notebook/job.h"
#include "notebook/step.h"
#include "notebook/test.h"
#include "web/assets.h"
#include "web/pages/stored_test.h"
#include "web/readings.h"
#include "web/server.h"

enum { USUAL_JOBS = 10000, BATCH = 500, ROUNDS = 60, STEPS_A_JOB = 8, TESTS_EVERY = 10, JOBS_A_PAGE = 24 };

static double now_s(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static void must(cw_status status, const cw_error *err, const char *what)
{
    if (status == CW_OK)
        return;
    fprintf(stderr, "%s: %s\n", what, err->text);
    exit(3);
}

/* ---- the bench ---- */

static cw_status add_steps(cw_bench *bench, int64_t job_id, cw_error *err)
{
    static const char *const titles[] = {"Rewind knob", "Top cover",    "Advance lever",    "Finder",
                                         "Front plate", "Shutter unit", "Slow-speed train", "Winding gear"};
    for (size_t i = 0; i < STEPS_A_JOB; i++) {
        cw_step step = {.job_id = job_id, .title = titles[i], .duration_s = NAN, .state = CW_STEP_DONE};
        int64_t step_id, part_id, tray_id;
        CW_TRY(cw_step_add(bench, &step, 0, &step_id, err));
        CW_TRY(cw_tray_numbered(bench, job_id, (int64_t)i + 1, &tray_id, err));
        cw_part part = {.job_id = job_id,
                        .step_id = step_id,
                        .tray_id = tray_id,
                        .kind = "screw",
                        .pieces = 3,
                        .size = "M1.7",
                        .state = CW_PART_OUT};
        CW_TRY(cw_part_add(bench, &part, &part_id, err));
    }
    return CW_OK;
}

static cw_status add_test(cw_bench *bench, int64_t job_id, cw_when when, cw_error *err)
{
    static cw_typed_readings readings;
    static const double marks_s[] = {1,        0.5,      0.25,      0.125,     1 / 15.0,
                                     1 / 30.0, 1 / 60.0, 1 / 125.0, 1 / 250.0, 1 / 500.0};
    readings.count = 0;
    for (size_t i = 0; i < CW_COUNT(marks_s); i++)
        for (size_t shot = 0; shot < 3; shot++) {
            char text[32];
            snprintf(text, sizeof text, "%.4g s", marks_s[i] * (1.05 + 0.01 * (double)shot));
            CW_TRY(cw_readings_add(&readings, marks_s[i], text, "s", err));
        }
    cw_shutter_plan plan = cw_plan_default();
    cw_plan_result result;
    CW_TRY(cw_readings_run(&readings, &plan, &result, err));
    cw_test test = {.job_id = job_id, .when = when};
    int64_t id;
    cw_status status = cw_store_shutter(bench, &test, &plan, &result, &id, err);
    cw_plan_result_free(&result);
    return status;
}

static cw_status add_job(cw_bench *bench, long number, cw_error *err)
{
    char camera[64], serial[32];
    snprintf(camera, sizeof camera, "%s %ld", number % 3 == 0 ? "Ellory Reflex" : "Tarnbrook 35", number % 40);
    snprintf(serial, sizeof serial, "no. %ld", 100000 + number);
    cw_job job = {
        .camera = camera, .serial = serial, .complaint = "slow speeds stick, winding gear slips", .agreed_cost = NAN};
    int64_t id;
    CW_TRY(cw_job_add(bench, &job, &id, err));
    if (number % TESTS_EVERY != 1)
        return CW_OK;
    CW_TRY(add_steps(bench, id, err));
    CW_TRY(add_test(bench, id, CW_WHEN_BEFORE, err));
    return add_test(bench, id, CW_WHEN_AFTER, err);
}

/* A page full of jobs whose next action costs the most to know: together, measured, owing what only a result tells. */
static cw_status add_dear_jobs(cw_bench *bench, cw_error *err)
{
    for (size_t i = 0; i < JOBS_A_PAGE; i++) {
        const cw_job job = {.camera = "Ellory Reflex",
                            .shutter = CW_JOB_SHUTTER_FOCAL_PLANE,
                            .flash = CW_FITTED_YES,
                            .agreed_cost = NAN};
        int64_t id;
        CW_TRY(cw_job_add(bench, &job, &id, err));
        CW_TRY(add_test(bench, id, CW_WHEN_AFTER, err));
        CW_TRY(cw_job_move(bench, id, CW_STAGE_TOGETHER, NULL, err));
    }
    return CW_OK;
}

static void fill(const char *folder, long jobs)
{
    cw_error err = {0};
    cw_bench *bench;
    must(cw_bench_open(folder, CW_BENCH_CREATE, &bench, &err), &err, "opening the bench");
    for (long number = 1; number <= jobs; number++) {
        if ((number - 1) % BATCH == 0)
            must(cw_change_begin(bench, 0, "filled", &err), &err, "filling the bench");
        must(add_job(bench, number, &err), &err, "adding a job");
        if (number % BATCH == 0 || number == jobs)
            must(cw_change_commit(bench, &err), &err, "filling the bench");
    }
    must(add_dear_jobs(bench, &err), &err, "adding the last jobs");
    cw_bench_close(bench);
}

/* ---- the client ---- */

static int connect_to(uint16_t port)
{
    struct sockaddr_in address = {.sin_family = AF_INET, .sin_port = htons(port)};
    address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    int line = socket(AF_INET, SOCK_STREAM, 0), one = 1;
    if (line < 0 || connect(line, (struct sockaddr *)&address, sizeof address) != 0) {
        perror("connecting");
        exit(3);
    }
    setsockopt(line, IPPROTO_TCP, TCP_NODELAY, &one, sizeof one);
    return line;
}

/* One request on the open line; seconds until the last byte. The answer has to be 200 and not empty. */
static double ask(int line, uint16_t port, const char *target, size_t *bytes)
{
    static char answer[1 << 20];
    char request[512];
    int length =
        snprintf(request, sizeof request, "GET %s HTTP/1.1\r\nHost: 127.0.0.1:%u\r\n\r\n", target, (unsigned)port);
    double start = now_s();
    if (send(line, request, (size_t)length, 0) != length)
        exit(3);
    size_t used = 0, whole = 0;
    while (whole == 0 || used < whole) {
        ssize_t got = recv(line, answer + used, sizeof answer - 1 - used, 0);
        if (got <= 0) {
            fprintf(stderr, "%s: the line was closed\n", target);
            exit(3);
        }
        used += (size_t)got;
        answer[used] = '\0';
        const char *end = strstr(answer, "\r\n\r\n"), *size = strcasestr(answer, "content-length: ");
        if (whole == 0 && end != NULL && size != NULL)
            whole = (size_t)(end + 4 - answer) + strtoul(size + 16, NULL, 10);
    }
    double took = now_s() - start;
    if (strncmp(answer, "HTTP/1.1 200", 12) != 0 || whole < 500) {
        fprintf(stderr, "%s answered %.60s\n", target, answer);
        exit(3);
    }
    *bytes = whole;
    return took;
}

static int by_size(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static double measure(uint16_t port, const char *target, double base_s)
{
    double took_s[ROUNDS];
    size_t bytes = 0;
    int line = connect_to(port);
    ask(line, port, target, &bytes); /* the first fills the page cache */
    for (size_t i = 0; i < ROUNDS; i++)
        took_s[i] = ask(line, port, target, &bytes);
    close(line);
    qsort(took_s, ROUNDS, sizeof *took_s, by_size);
    double median_s = took_s[ROUNDS / 2], late_s = took_s[ROUNDS * 95 / 100];
    printf("%-34s %8.1f kB %8.2f ms %8.2f ms", target, (double)bytes / 1e3, 1e3 * median_s, 1e3 * late_s);
    if (base_s > 0)
        printf(" %8.0f x", median_s / base_s);
    printf("\n");
    return median_s;
}

int main(int argc, char **argv)
{
    long jobs = argc > 1 ? strtol(argv[1], NULL, 10) : USUAL_JOBS;
    char folder[] = "/tmp/camerawright-pages-XXXXXX", bench[64], remove[96], style[64];
    if (mkdtemp(folder) == NULL || jobs < 1)
        return 2;
    snprintf(bench, sizeof bench, "%s/bench", folder);
    double start = now_s();
    fill(bench, jobs);
    printf("%ld jobs, filled in %.1f s\n\n", jobs, now_s() - start);

    cw_error err = {0};
    cw_web_server *server;
    must(cw_web_start(&(cw_web_options){.bench = bench}, &server, &err), &err, "serving");
    uint16_t port = cw_web_port(server);
    printf("%-34s %11s %11s %11s %10s\n", "page", "size", "median", "95 of 100", "to styles");
    snprintf(style, sizeof style, "/assets/%s/style.css", cw_assets_version());
    double base_s = measure(port, style, 0);
    static const char *const targets[] = {
        "/",        "/?first=9600", "/?stage=apart",     "/?stage=together",     "/jobs.json",
        "/jobs/1",  "/jobs/1/add",  "/jobs/1/steps",     "/jobs/1/together",     "/jobs/1/history",
        "/tests/1", "/jobs/new",    "/search?q=winding", "/search?q=slo+tarnbr", "/worksheets"};
    for (size_t i = 0; i < CW_COUNT(targets); i++)
        if (jobs >= 9600 || strstr(targets[i], "9600") == NULL)
            measure(port, targets[i], base_s);
    cw_web_stop(server);
    snprintf(remove, sizeof remove, "rm -rf '%s'", folder);
    return system(remove) == 0 ? 0 : 3;
}
