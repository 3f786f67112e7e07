/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Lines in, shots and sentences out. The lines are made here as the protocol says, not by the program's own code. */
#include "live/gate_session.h"

#include <math.h>
#include <string.h>

#include "support/check.h"

typedef struct {
    cw_gate_session *session;
    uint16_t number;
    uint8_t pins;
    double now_s;
} bench;

static bench new_bench(const cw_gate_setup *setup)
{
    cw_error err;
    bench made = {.pins = 8, .now_s = 100}; /* dark, contact open (pulled high) */
    assert_ok(cw_gate_session_new(setup, &made.session, &err), &err);
    cw_gate_line hello = {.kind = CW_GATE_HELLO, .tick_hz = 16e6, .light_is_high = true, .state = 8, .text = "0.1"};
    cw_gate_session_take(made.session, &hello, made.now_s);
    return made;
}

static cw_gate_setup plain_setup(void)
{
    cw_gate_setup setup = {.sensors_mm = {4, 18, 32}, .mask_slit_mm = NAN, .threshold = {NAN, NAN, NAN}};
    return setup;
}

/* An edge at gate time s that leaves the pins at `pins`. */
static void edge(bench *b, double gate_s, uint8_t pins)
{
    cw_gate_line line = {.kind = CW_GATE_EDGE,
                         .number = b->number++,
                         .ticks = (uint32_t)(int64_t)llround(gate_s * 16e6),
                         .state = pins,
                         .changed = b->pins ^ pins};
    b->pins = pins;
    b->now_s += 0.001;
    cw_gate_session_take(b->session, &line, b->now_s);
}

static void settle(bench *b)
{
    b->now_s += 0.1;
    cw_gate_session_pass(b->session, b->now_s);
}

static bool notice(bench *b, cw_gate_notice_code code, cw_gate_notice *found)
{
    while (cw_gate_session_next_notice(b->session, found))
        if (found->code == code)
            return true;
    return false;
}

/* The worked example of the protocol's description: A open 0x0123a000, B 5.188 ms later, A closes after 6.028 ms. */
static void a_curtain_shot_becomes_three_exposures(void **state)
{
    (void)state;
    cw_gate_setup setup = plain_setup();
    bench b = new_bench(&setup);
    edge(&b, 0x0123a000 / 16e6, 9);
    edge(&b, 0x0124e400 / 16e6, 11);
    edge(&b, 0x012518c0 / 16e6, 10);
    edge(&b, 0x0126309a / 16e6, 14);
    edge(&b, 0x01265cc0 / 16e6, 12);
    edge(&b, 0x0127a95a / 16e6, 8);
    cw_shot shot;
    assert_false(cw_gate_session_next_shot(b.session, &shot)); /* not before it settled */
    settle(&b);
    assert_true(cw_gate_session_next_shot(b.session, &shot));
    assert_int_equal(shot.sensor_count, 3);
    assert_false(shot.incomplete);
    double u_clock = 0.005 / sqrt(3); /* no beats yet: the clock may be a ceramic resonator */
    assert_near(shot.sensors[0].exposure_s.value, 96448 / 16e6, 1e-12);
    assert_near(shot.sensors[0].exposure_s.u, 96448 / 16e6 * u_clock, 1e-7);
    assert_near(shot.sensors[1].open_s.value - shot.sensors[0].open_s.value, 0x14400 / 16e6, 1e-12);
    assert_near(shot.sensors[2].exposure_s.value, (0x0127a95a - 0x0126309a) / 16e6, 1e-12);
    assert_int_equal(shot.sensors[0].method, CW_METHOD_EDGES);
    assert_false(shot.contact_seen);
    cw_gate_session_free(b.session);
}

static void bounce_is_no_second_shot_and_the_contact_is_told(void **state)
{
    (void)state;
    cw_gate_setup setup = plain_setup();
    bench b = new_bench(&setup);
    edge(&b, 1.0000, 9);
    edge(&b, 1.0080, 1); /* contact closes: bit 8 low */
    edge(&b, 1.0081, 9); /* it bounces */
    edge(&b, 1.0082, 1);
    edge(&b, 1.0160, 0);
    edge(&b, 1.0190, 1); /* the second curtain bounces: 0.5 ms of light */
    edge(&b, 1.0195, 0);
    edge(&b, 1.0300, 8);
    settle(&b);
    cw_shot shot, second;
    assert_true(cw_gate_session_next_shot(b.session, &shot));
    assert_false(cw_gate_session_next_shot(b.session, &second));
    assert_near(shot.sensors[0].exposure_s.value, 0.016, 1e-9);
    assert_int_equal(shot.sensors[0].bounce_count, 1);
    assert_near(shot.sensors[0].bounces[0].exposure_s, 0.0005, 1e-9);
    assert_true(shot.contact_seen);
    assert_near(shot.contact_s.value - shot.sensors[0].open_s.value, 0.008, 1e-9);
    assert_near(shot.contact_opens_s, shot.sensors[0].open_s.value + 0.030, 1e-9);
    assert_false(shot.sensors[1].seen);
    cw_gate_session_free(b.session);
}

static void time_wraps_every_268_seconds_and_nobody_notices(void **state)
{
    (void)state;
    cw_gate_setup setup = plain_setup();
    bench b = new_bench(&setup);
    double wrap_s = 4294967296.0 / 16e6;
    edge(&b, wrap_s - 0.002, 9);
    edge(&b, wrap_s + 0.0035, 8);
    settle(&b);
    cw_shot shot;
    assert_true(cw_gate_session_next_shot(b.session, &shot));
    assert_near(shot.sensors[0].exposure_s.value, 0.0055, 1e-9);
    cw_gate_session_free(b.session);
}

static void a_lost_event_spoils_its_shot_and_is_said(void **state)
{
    (void)state;
    cw_gate_setup setup = plain_setup();
    bench b = new_bench(&setup);
    edge(&b, 1.000, 9);
    b.number = (uint16_t)(b.number + 2); /* two lines never came */
    edge(&b, 1.010, 8);
    settle(&b);
    cw_shot shot;
    cw_gate_notice said;
    assert_true(cw_gate_session_next_shot(b.session, &shot));
    assert_true(shot.incomplete);
    assert_contains(shot.remark, "lost on the serial line");
    assert_true(notice(&b, CW_GATE_SAYS_SERIAL_LOSS, &said));
    assert_contains(said.text, "lost 2 events");
    cw_gate_session_free(b.session);
}

static void an_overflow_is_told_apart_from_a_line_loss(void **state)
{
    (void)state;
    cw_gate_setup setup = plain_setup();
    bench b = new_bench(&setup);
    edge(&b, 1.000, 9);
    cw_gate_line lost = {.kind = CW_GATE_LOST, .number = b.number, .count = 44};
    cw_gate_session_take(b.session, &lost, b.now_s);
    b.number = (uint16_t)(b.number + 44);
    edge(&b, 1.010, 8);
    settle(&b);
    cw_gate_notice said;
    cw_shot shot;
    assert_true(cw_gate_session_next_shot(b.session, &shot));
    assert_true(shot.incomplete);
    while (cw_gate_session_next_notice(b.session, &said))
        assert_int_not_equal(said.code, CW_GATE_SAYS_SERIAL_LOSS);
    cw_gate_session_free(b.session);
}

static void silence_reset_and_a_pulled_cable_have_their_sentences(void **state)
{
    (void)state;
    cw_gate_setup setup = plain_setup();
    cw_gate_notice said;
    cw_shot shot;
    bench b = new_bench(&setup);
    edge(&b, 1.000, 9);
    b.now_s += 3.5;
    cw_gate_session_pass(b.session, b.now_s);
    assert_true(notice(&b, CW_GATE_SAYS_SILENCE, &said));
    assert_contains(said.text, "plugged in");
    edge(&b, 4.6, 8);
    assert_true(notice(&b, CW_GATE_SAYS_ALIVE, &said));
    settle(&b);
    assert_true(cw_gate_session_next_shot(b.session, &shot));
    assert_true(shot.incomplete);

    edge(&b, 5.0, 9);
    cw_gate_line hello = {.kind = CW_GATE_HELLO, .tick_hz = 16e6, .light_is_high = true, .state = 8, .number = 0};
    cw_gate_session_take(b.session, &hello, b.now_s += 0.01);
    assert_true(notice(&b, CW_GATE_SAYS_RESET, &said));
    assert_true(cw_gate_session_next_shot(b.session, &shot));
    assert_contains(shot.remark, "reset");

    b.number = 0;
    b.pins = 8;
    edge(&b, 0.5, 9);
    cw_gate_session_unplugged(b.session, b.now_s += 0.01);
    assert_true(cw_gate_session_next_shot(b.session, &shot));
    assert_contains(shot.remark, "cable was pulled");
    cw_gate_session_free(b.session);
}

static void flicker_a_dark_lamp_and_noise_are_said_once(void **state)
{
    (void)state;
    cw_gate_setup setup = plain_setup();
    cw_gate_notice said;
    bench b = new_bench(&setup);
    for (int i = 0; i < 700; i++)
        edge(&b, 1 + i * 0.001, i % 2 == 0 ? 9 : 8);
    assert_true(notice(&b, CW_GATE_SAYS_FLICKER, &said));
    assert_false(notice(&b, CW_GATE_SAYS_FLICKER, &said));
    settle(&b);

    edge(&b, 3.0, 0); /* the contact alone */
    edge(&b, 3.02, 8);
    settle(&b);
    assert_true(notice(&b, CW_GATE_SAYS_NO_LIGHT, &said));
    assert_contains(said.text, "lamp on");

    cw_gate_line noise = {.kind = CW_GATE_EDGE, .number = b.number++, .ticks = (uint32_t)(3.5 * 16e6), .state = 8};
    cw_gate_session_take(b.session, &noise, b.now_s);
    assert_true(notice(&b, CW_GATE_SAYS_TOO_SHORT, &said));
    cw_gate_session_free(b.session);
}

/* A gate 4000 ppm fast: its second is 1/1.004 of ours. 60 beats with 1 ms of jitter must tell it, with an honest u. */
static void the_clock_is_told_from_the_beats(void **state)
{
    (void)state;
    cw_gate_setup setup = plain_setup();
    bench b = new_bench(&setup);
    check_random random = {2385};
    for (int i = 0; i < 60; i++) {
        double gate_s = i * 1.048576;
        cw_gate_line beat = {.kind = CW_GATE_BEAT, .ticks = (uint32_t)(gate_s * 16e6), .number = 0, .state = 8};
        cw_gate_session_take(b.session, &beat, 200 + gate_s / 1.004 + 0.001 * check_uniform(&random));
    }
    cw_quantity rate = cw_gate_session_clock(b.session);
    assert_covers(rate, 1 / 1.004, 2, 60e-6);
    assert_true(rate.u > 25e-6); /* the computer's own clock is no better */
    cw_gate_session_free(b.session);
}

/* Threshold at 0.3 of full light, slit 0.5 mm, edge at 2.5 m/s: each exposure comes out 0.4 * 200 us = 80 us too long.
 */
static void the_threshold_is_corrected_with_the_speed_from_the_sensors(void **state)
{
    (void)state;
    cw_gate_setup setup = plain_setup();
    setup.mask_slit_mm = 0.5;
    for (int i = 0; i < 3; i++)
        setup.threshold[i] = 0.3;
    bench b = new_bench(&setup);
    double travel_s = 14e-3 / 2.5; /* between neighbours, 14 mm apart */
    double exposure_s = 2e-3, too_long_s = 80e-6;
    for (int i = 0; i < 3; i++) {
        edge(&b, 1 + i * travel_s, (uint8_t)(8 | 1 << i));
        edge(&b, 1 + i * travel_s + exposure_s + too_long_s, 8);
    }
    settle(&b);
    cw_shot shot;
    assert_true(cw_gate_session_next_shot(b.session, &shot));
    for (int i = 0; i < 3; i++) {
        assert_near(shot.sensors[i].exposure_s.value, exposure_s, 1e-6);
        assert_true(shot.sensors[i].exposure_s.u > 12e-6 &&
                    shot.sensors[i].exposure_s.u < 20e-6); /* 2 u(f) T = 12 us */
    }

    setup.threshold[0] = NAN; /* not measured: no correction, but it must be said and be in u */
    bench c = new_bench(&setup);
    edge(&c, 1, 9);
    edge(&c, 1.002, 8);
    edge(&c, 1 + travel_s, 10);
    edge(&c, 1.002 + travel_s, 8);
    settle(&c);
    assert_true(cw_gate_session_next_shot(c.session, &shot));
    assert_contains(shot.sensors[0].remark, "was not measured");
    assert_true(shot.sensors[0].exposure_s.u > 50e-6);

    bench d = new_bench(&setup); /* a slit of 0.25 ms x 2.5 m/s = 0.63 mm before a mask of 0.5 mm */
    edge(&d, 1, 9);
    edge(&d, 1.00025, 8);
    edge(&d, 1 + travel_s, 10);
    edge(&d, 1.00025 + travel_s, 8);
    settle(&d);
    assert_true(cw_gate_session_next_shot(d.session, &shot));
    assert_true(isnan(shot.sensors[0].exposure_s.value));
    assert_contains(shot.sensors[0].remark, "hardly wider than the mask");
    cw_gate_session_free(b.session);
    cw_gate_session_free(c.session);
    cw_gate_session_free(d.session);
}

/* A detector 30 cycles late on opening and 160 on closing: b = 130 cycles = 8.125 us, whatever the width. */
static void self_calibration_finds_the_detectors_asymmetry(void **state)
{
    (void)state;
    cw_gate_setup setup = plain_setup();
    bench b = new_bench(&setup);
    check_random random = {4711};
    cw_gate_calibration_begin(b.session, 0);
    double at = 1;
    for (int w = 0; w < 2; w++)
        for (int i = 0; i < 32; i++, at += 0.05) {
            double width_s = w == 0 ? 1e-3 : 4e-3;
            double jitter = 1e-7 * check_gaussian(&random);
            edge(&b, at + 30 / 16e6 + jitter, 9);
            edge(&b, at + width_s + 160 / 16e6 - jitter, 8);
            cw_gate_line pulse = {.kind = CW_GATE_PULSE,
                                  .ticks = (uint32_t)llround(at * 16e6),
                                  .width_ticks = (uint32_t)llround(width_s * 16e6),
                                  .mask = 1};
            cw_gate_session_take(b.session, &pulse, b.now_s);
        }
    cw_error err;
    cw_gate_sensor_calibration found;
    assert_ok(cw_gate_calibration_end(b.session, &found, &err), &err);
    assert_covers(found.asymmetry_s, 130 / 16e6, 2, 0.5e-6);
    assert_near(found.open_delay_s, 30 / 16e6, 0.1e-6);
    assert_false(found.uneven);

    setup.calibration[0] = found;
    bench c = new_bench(&setup);
    edge(&c, 2 + 30 / 16e6, 9);
    edge(&c, 2.004 + 160 / 16e6, 8);
    settle(&c);
    cw_shot shot;
    assert_true(cw_gate_session_next_shot(c.session, &shot));
    assert_near(shot.sensors[0].exposure_s.value, 0.004, 0.3e-6);

    cw_gate_calibration_begin(b.session, 1); /* no light came back */
    assert_fails(cw_gate_calibration_end(b.session, &found, &err), CW_RANGE, &err, "no calibration pulse");
    cw_gate_session_free(b.session);
    cw_gate_session_free(c.session);
}

CHECK_MAIN(cmocka_unit_test(a_curtain_shot_becomes_three_exposures),
           cmocka_unit_test(bounce_is_no_second_shot_and_the_contact_is_told),
           cmocka_unit_test(time_wraps_every_268_seconds_and_nobody_notices),
           cmocka_unit_test(a_lost_event_spoils_its_shot_and_is_said),
           cmocka_unit_test(an_overflow_is_told_apart_from_a_line_loss),
           cmocka_unit_test(silence_reset_and_a_pulled_cable_have_their_sentences),
           cmocka_unit_test(flicker_a_dark_lamp_and_noise_are_said_once),
           cmocka_unit_test(the_clock_is_told_from_the_beats),
           cmocka_unit_test(the_threshold_is_corrected_with_the_speed_from_the_sensors),
           cmocka_unit_test(self_calibration_finds_the_detectors_asymmetry))
