/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A pseudo terminal stands in for the gate's port: lines, garbage, a pulled cable, plugged in again. */
#include "live/gate_link.h"

#include <fcntl.h>
#include <math.h>
#include <pthread.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/buf.h"
#include "support/check.h"

typedef struct {
    char path[100];
    atomic_bool stop;
    pthread_mutex_t lock;
    size_t shot_count;
    cw_shot shots[8];
    cw_buf said;
    cw_status status;
    cw_error err;
} desk;

static void on_shot(void *context, const cw_shot *shot)
{
    desk *d = context;
    pthread_mutex_lock(&d->lock);
    if (d->shot_count < CW_COUNT(d->shots))
        d->shots[d->shot_count++] = *shot;
    pthread_mutex_unlock(&d->lock);
}

static void on_say(void *context, const char *sentence)
{
    desk *d = context;
    pthread_mutex_lock(&d->lock);
    cw_buf_printf(&d->said, "%s\n", sentence);
    pthread_mutex_unlock(&d->lock);
}

static bool on_stop(void *context)
{
    return atomic_load(&((desk *)context)->stop);
}

static void *listen_to_gate(void *context)
{
    desk *d = context;
    cw_gate_link_options options = {
        .port = d->path, .setup = {.sensors_mm = {4, 18, 32}, .mask_slit_mm = NAN, .threshold = {NAN, NAN, NAN}}};
    cw_gate_listener listener = {.context = d, .shot = on_shot, .say = on_say, .stop = on_stop};
    d->status = cw_gate_link_run(&options, &listener, &d->err);
    return NULL;
}

static int new_terminal(const char *link)
{
    int master = posix_openpt(O_RDWR | O_NOCTTY);
    assert_true(master >= 0 && grantpt(master) == 0 && unlockpt(master) == 0);
    unlink(link);
    assert_int_equal(symlink(ptsname(master), link), 0);
    return master;
}

static void send_line(int fd, const char *body)
{
    char line[120];
    snprintf(line, sizeof line, "%s *", body);
    snprintf(line + strlen(line), sizeof line - strlen(line), "%04x\r\n", cw_gate_crc(line, strlen(line) - 1));
    assert_int_equal(write(fd, line, strlen(line)), strlen(line));
}

/* Up to five seconds for what must come; how long it really takes is not judged here. */
static bool wait_for(desk *d, size_t shots, const char *words)
{
    for (int i = 0; i < 500; i++) {
        pthread_mutex_lock(&d->lock);
        bool there = d->shot_count >= shots && strstr(cw_buf_string(&d->said), words) != NULL;
        pthread_mutex_unlock(&d->lock);
        if (there)
            return true;
        usleep(10000);
    }
    print_error("waited for %zu shots and \"%s\"; %zu came, said: %s\n", shots, words, d->shot_count,
                cw_buf_string(&d->said));
    return false;
}

static void a_gate_may_come_go_and_come_again(void **state)
{
    (void)state;
    desk d = {.said = cw_buf_new(10000)};
    pthread_mutex_init(&d.lock, NULL);
    snprintf(d.path, sizeof d.path, "/tmp/cw-gate-%d", (int)getpid());
    unlink(d.path);
    pthread_t thread;
    assert_int_equal(pthread_create(&thread, NULL, listen_to_gate, &d), 0);
    assert_true(wait_for(&d, 0, "plug the gate in"));

    int gate = new_terminal(d.path);
    usleep(300000);
    send_line(gate, "H clg/1 fw=0.1 hz=16000000 ch=ABCX pol=1 st=8 n=0000");
    assert_true(wait_for(&d, 0, "light gate found, firmware 0.1"));
    send_line(gate, "E 0000 0123a000 9 1");
    assert_int_equal(write(gate,
                           "gar\xff"
                           "bage\n",
                           9),
                     9);
    send_line(gate, "E 0001 012518c0 8 1");
    assert_true(wait_for(&d, 1, ""));
    assert_near(d.shots[0].sensors[0].exposure_s.value, 96448 / 16e6, 1e-12);

    send_line(gate, "E 0002 0223a000 9 1");
    usleep(100000);
    close(gate); /* the cable is pulled with the shutter open */
    assert_true(wait_for(&d, 2, "unplugged"));
    assert_true(d.shots[1].incomplete);

    gate = new_terminal(d.path);
    usleep(1500000);
    send_line(gate, "H clg/2 fw=3");
    assert_true(wait_for(&d, 2, "speaks clg/2"));
    send_line(gate, "H clg/1 fw=0.1 hz=16000000 ch=ABCX pol=1 st=8 n=0000");
    send_line(gate, "E 0000 0123a000 9 1");
    send_line(gate, "E 0001 0123e000 8 1");
    assert_true(wait_for(&d, 3, ""));
    assert_near(d.shots[2].sensors[0].exposure_s.value, 0x4000 / 16e6, 1e-12);
    char noise[4000];
    memset(noise, 0x81, sizeof noise);
    assert_int_equal(write(gate, noise, sizeof noise), sizeof noise);

    atomic_store(&d.stop, true);
    pthread_join(thread, NULL);
    assert_int_equal(d.status, CW_OK);
    close(gate);
    unlink(d.path);
    cw_buf_free(&d.said);
}

static void a_port_that_is_no_port_is_refused(void **state)
{
    (void)state;
    desk d = {.said = cw_buf_new(10000), .path = "/dev/null"};
    pthread_mutex_init(&d.lock, NULL);
    listen_to_gate(&d);
    assert_int_equal(d.status, CW_DEVICE);
    assert_contains(d.err.text, "/dev/null is no serial port");
    cw_buf_free(&d.said);
}

CHECK_MAIN(cmocka_unit_test(a_gate_may_come_go_and_come_again), cmocka_unit_test(a_port_that_is_no_port_is_refused))
