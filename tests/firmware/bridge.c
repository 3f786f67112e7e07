/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The gate without hardware, from outside: opened as a port, fired, disturbed, unplugged. Real time, so only the gate's
 * own ticks are judged, never how quickly anything came. */
#include "support/check.h"

#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <termios.h>
#include <time.h>
#include <unistd.h>

#include "sim/sim.h"

typedef struct {
    pid_t pid;
    FILE *say, *hear; /* its standard input and output */
    int port;
    char text[65536]; /* everything that came through the port */
    size_t count;
} rig;

static void open_port(rig *r)
{
    char line[200], name[128];
    assert_non_null(fgets(line, sizeof line, r->hear));
    assert_int_equal(sscanf(line, "port %127s", name), 1);
    r->port = open(name, O_RDWR | O_NOCTTY);
    assert_true(r->port >= 0);
}

static void launch(rig *r, char *const *arguments)
{
    char program[1024];
    snprintf(program, sizeof program, "%s/tests/firmware/gate-on-a-pty", getenv("CW_BUILD_ROOT"));
    int to[2], from[2];
    *r = (rig){.port = -1};
    assert_int_equal(pipe(to), 0);
    assert_int_equal(pipe(from), 0);
    r->pid = fork();
    assert_true(r->pid >= 0);
    if (r->pid == 0) {
        dup2(to[0], 0);
        dup2(from[1], 1);
        close(to[1]);
        close(from[0]);
        execv(program, arguments);
        _exit(127);
    }
    close(to[0]);
    close(from[1]);
    r->say = fdopen(to[1], "w");
    r->hear = fdopen(from[0], "r");
    assert_non_null(r->say);
    assert_non_null(r->hear);
    setvbuf(r->say, NULL, _IOLBF, 0);
    open_port(r);
}

static void stop(rig *r)
{
    fclose(r->say); /* the end of its input ends it */
    fclose(r->hear);
    int status;
    assert_int_equal(waitpid(r->pid, &status, 0), r->pid);
    assert_true(WIFEXITED(status) && WEXITSTATUS(status) == 0);
    if (r->port >= 0)
        close(r->port);
}

/* Reads until there are `lines` of this type after `from` in what came; gives the place of the first. Ten seconds are
 * far more than anything here takes. */
static const char *await(rig *r, size_t from, char type, unsigned lines)
{
    struct timespec end, now;
    clock_gettime(CLOCK_MONOTONIC, &end);
    end.tv_sec += 10;
    for (;;) {
        unsigned seen = 0;
        const char *first = NULL;
        for (const char *p = r->text + from; p != NULL && *p != '\0';) {
            const char *next = strchr(p, '\n');
            if (next != NULL && p[0] == type && p[1] == ' ') {
                first = first == NULL ? p : first;
                if (++seen == lines)
                    return first;
            }
            p = next != NULL ? next + 1 : NULL;
        }
        struct pollfd wait = {.fd = r->port, .events = POLLIN};
        poll(&wait, 1, 100);
        ssize_t got = wait.revents & POLLIN ? read(r->port, r->text + r->count, sizeof r->text - 1 - r->count) : 0;
        if (got > 0)
            r->count += (size_t)got;
        clock_gettime(CLOCK_MONOTONIC, &now);
        assert_true(now.tv_sec <= end.tv_sec);
    }
}

/* Exposures in ticks by channel, from the lines E after `from`: light is level 1 (strapped for pol 1). */
static void exposures(const char *from, double *ticks)
{
    unsigned open[3] = {0};
    for (const char *p = from; p != NULL && *p != '\0'; p = strchr(p, '\n') != NULL ? strchr(p, '\n') + 1 : NULL) {
        unsigned number, tick, pins, changed;
        if (sscanf(p, "E %x %x %x %x", &number, &tick, &pins, &changed) != 4)
            continue;
        for (unsigned c = 0; c < 3; c++) {
            if (!(changed >> c & 1))
                continue;
            if (pins >> c & 1)
                open[c] = tick;
            else
                ticks[c] = (double)(tick - open[c]);
        }
    }
}

static void a_shot_fired_comes_through_the_port(void **state)
{
    (void)state;
    rig r;
    launch(&r, (char *[]){"gate-on-a-pty", "--ppm", "150", NULL});
    assert_int_equal(write(r.port, "h\n", 2), 2);
    assert_contains(await(&r, 0, 'H', 1), "H clg/1 ");
    fprintf(r.say, "fire 0.004321 0.012\n");
    double ticks[3] = {0};
    exposures(await(&r, 0, 'E', 8), ticks);
    for (int c = 0; c < 3; c++)
        assert_near(ticks[c] / 16e6, 0.004321 * (1 + 150e-6), 1e-6);
    size_t here = r.count;
    fprintf(r.say, "leaf 0.0021\n");
    exposures(await(&r, here, 'E', 6), ticks);
    for (int c = 0; c < 3; c++)
        assert_near(ticks[c] / 16e6, 0.0021 * (1 + 150e-6), 1e-6);
    stop(&r);
}

static void faults_can_be_made(void **state)
{
    (void)state;
    rig r;
    launch(&r, (char *[]){"gate-on-a-pty", NULL});
    assert_int_equal(write(r.port, "h\n", 2), 2);
    await(&r, 0, 'H', 1);
    size_t here = r.count;
    fprintf(r.say, "drop 5\nfire 0.01\n");
    const char *events = await(&r, here, 'E', 7); /* of eight the first lost its beginning */
    assert_contains(events, "E 0001 ");
    fprintf(r.say, "reset\n");
    here = r.count;
    assert_contains(await(&r, here, 'H', 1), " n=0000 ");
    fprintf(r.say, "unplug\n");
    struct pollfd wait = {.fd = r.port, .events = POLLIN};
    while (poll(&wait, 1, 10000) == 1 && !(wait.revents & POLLHUP)) {
        char byte[64];
        if (read(r.port, byte, sizeof byte) <= 0)
            break;
    }
    assert_true(wait.revents & POLLHUP);
    close(r.port);
    fprintf(r.say, "plug\n");
    open_port(&r);
    here = r.count;
    assert_int_equal(write(r.port, "h\n", 2), 2);
    await(&r, here, 'H', 1);
    stop(&r);
}

/* Physics, comparator, firmware, line: a simulated shutter's edges come out as the truth that stands beside. */
static void simulated_edges_play_through_it(void **state)
{
    (void)state;
    cw_error err;
    cw_sim *sim = NULL;
    cw_sim_scenario s;
    cw_sim_focal_plane(&s);
    s.speed_count = 1;
    s.speeds[0] = (cw_sim_speed){.marked_s = 1 / 125.0, .shots = 1};
    s.lead_s = s.pause_s = 0.02;
    s.detector.noise_v = s.detector.hysteresis = 0;
    assert_ok(cw_sim_new(&s, &sim, &err), &err);
    char folder[512], path[600];
    check_folder("bridge", folder, sizeof folder);
    snprintf(path, sizeof path, "%s/edges", folder);
    assert_ok(cw_sim_write_edges(sim, 1e-9, path, &err), &err);
    rig r;
    launch(&r, (char *[]){"gate-on-a-pty", "--edges", path, NULL});
    assert_int_equal(write(r.port, "h\n", 2), 2);
    double ticks[3] = {0};
    exposures(await(&r, 0, 'E', 6), ticks);
    for (int c = 0; c < 3; c++)
        assert_near(ticks[c] / 16e6, cw_sim_truth(sim, 0)->sensors[c].exposure_s, 1.5e-6);
    stop(&r);
    cw_sim_free(sim);
    unlink(path);
    rmdir(folder);
}

int main(void)
{
    signal(SIGPIPE, SIG_IGN);
    const struct CMUnitTest tests[] = {cmocka_unit_test(a_shot_fired_comes_through_the_port),
                                       cmocka_unit_test(faults_can_be_made),
                                       cmocka_unit_test(simulated_edges_play_through_it)};
    return check_main(__FILE__, tests, sizeof tests / sizeof tests[0]);
}
