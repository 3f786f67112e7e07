/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Self-calibration: the lamp's pulses are as long as they are said to be, and the unequal delays of a detector wired
 * between lamp and input come out of them. */
#include "support/check.h"

#include <math.h>
#include <stdio.h>

#include "gate.h"

enum { PULSES = 32 };

static const struct {
    unsigned rise, fall;
} delays[] = {{30, 160}, {45, 500}, {80, 900}}; /* cycles; of A, B, C */

typedef struct {
    double rise, fall, difference, u; /* means, cycles; u: standard uncertainty of the difference */
} result;

/* One command, every line of its answer. The maths is that of the protocol page: r = t_rise - P.t,
 * f = t_fall - (P.t + P.w), b = mean(f) - mean(r). */
static result calibrate(gate *g, unsigned channel, uint32_t width, unsigned count)
{
    char command[32];
    snprintf(command, sizeof command, "c %08x %02x %x\n", width, count, 1u << channel);
    gate_send(g, command);
    gate_line line;
    assert_true(gate_wait(g, 'A', 0.01, &line));
    assert_int_equal(line.number[1], width);
    assert_int_equal(line.number[2], count);
    assert_int_equal(line.number[3], 1u << channel);
    uint32_t edges[2 * PULSES], starts[PULSES];
    unsigned edge_count = 0, pulse_count = 0;
    gate_run_s(g, count * (width / 16e6 + 0.006) + 0.05);
    while (gate_next(g, &line)) {
        assert_true(line.sum_is_right);
        if (line.type == 'E') {
            assert_true(edge_count < 2 * count);
            assert_int_equal(line.number[3], 1u << channel);
            assert_int_equal(line.number[2] >> channel & 1, edge_count % 2 == 0);
            edges[edge_count++] = line.number[1];
        } else if (line.type == 'P') {
            assert_true(pulse_count < count);
            assert_int_equal(line.number[0], pulse_count);
            assert_int_equal(line.number[1], 1u << channel);
            assert_int_equal(line.number[3], width);
            starts[pulse_count++] = line.number[2];
        }
    }
    assert_int_equal(pulse_count, count);
    assert_int_equal(edge_count, 2 * count);
    double r = 0, f = 0, squares = 0;
    for (unsigned k = 0; k < count; k++) {
        r += (double)(int32_t)(edges[2 * k] - starts[k]) / count;
        f += (double)(int32_t)(edges[2 * k + 1] - starts[k] - width) / count;
    }
    for (unsigned k = 0; k < count; k++) {
        double d = (double)(int32_t)(edges[2 * k + 1] - width - edges[2 * k]) - (f - r);
        squares += d * d;
    }
    return (result){r, f, f - r, count > 1 ? sqrt(squares / (count - 1) / count) : NAN};
}

/* The simulator moves an output between two instructions, so up to 4 cycles late; the part does it on the tick. */
static void the_lamp_is_on_for_exactly_so_long(void **state)
{
    (void)state;
    static const uint32_t widths[] = {0x320, 0x640, 0xfa0, 0x3e80, 49999,  50000,
                                      50001, 65535, 65536, 66000,  0xfa00, 0x3e800};
    gate *g = gate_new(1, 0, true);
    size_t seen = 0;
    for (size_t i = 0; i < sizeof widths / sizeof widths[0]; i++) {
        const uint64_t *lamp;
        gate_loop_lamp(g, 0, 30, 30);
        calibrate(g, 0, widths[i], 4);
        size_t count = gate_lamp_changes(g, &lamp);
        assert_int_equal(count - seen, 8);
        for (; seen < count; seen += 2)
            assert_in_range(lamp[seen + 1] - lamp[seen], widths[i] - 4, widths[i] + 4);
    }
    gate_free(g);
}

static void unequal_delays_come_out(void **state)
{
    (void)state;
    static const uint32_t widths[] = {0xfa0, 0x3e80, 0xfa00, 0x3e800};
    gate *g = gate_new(1, 0, true);
    for (size_t w = 0; w < sizeof widths / sizeof widths[0]; w++)
        for (unsigned channel = 0; channel < 3; channel++) {
            gate_loop_lamp(g, channel, delays[channel].rise, delays[channel].fall);
            result b = calibrate(g, channel, widths[w], PULSES);
            double truth = (double)delays[channel].fall - delays[channel].rise;
            print_message("%7.3f ms, channel %c: b %+7.2f (true %+.0f), u %.2f cycles\n", widths[w] / 16e3,
                          "ABC"[channel], b.difference, truth, b.u);
            assert_near(b.difference, truth, 3);
            assert_true(b.u > 0 && b.u < 1.5);
            assert_near(b.rise, delays[channel].rise + 20, 4); /* and the latency of every stamp */
        }
    gate_free(g);
}

/* With A alone under calibration, B and C may move as they like: nothing of them is told until it is over. */
static void other_channels_are_quiet_meanwhile(void **state)
{
    (void)state;
    gate *g = gate_new(1, 0, true);
    gate_line line;
    assert_true(gate_next(g, &line));
    gate_send(g, "c 00003e80 03 1\n");
    uint64_t t = gate_cycle(g) + GATE_HZ / 100;
    gate_edge edges[] = {{t, 1, 1}, {t + 5000, 1, 0}};
    gate_add(g, edges, 2);
    assert_true(gate_wait(g, 'A', 0.01, &line));
    gate_run_s(g, 0.05);
    while (gate_next(g, &line))
        assert_true(line.type != 'E');
    gate_edge after = {gate_cycle(g) + 1000, 2, 1};
    gate_add(g, &after, 1);
    assert_true(gate_wait(g, 'E', 0.01, &line));
    assert_int_equal(line.number[3], 4);
    gate_free(g);
}

/* Beats go on while it calibrates, on time: a host follows the clock by them. */
static void the_beat_goes_on(void **state)
{
    (void)state;
    gate *g = gate_new(1, 0, true);
    gate_line line;
    assert_true(gate_wait(g, 'T', 1.2, &line));
    uint64_t before = line.cycle;
    gate_loop_lamp(g, 0, 30, 160);
    gate_send(g, "c 0003e800 40 1\n"); /* 64 pulses of 16 ms and 3 ms between */
    assert_true(gate_wait(g, 'T', 1.2, &line));
    assert_in_range(line.cycle - before, (1 << 24) - 60000, (1 << 24) + 60000);
    gate_free(g);
}

CHECK_MAIN(cmocka_unit_test(the_lamp_is_on_for_exactly_so_long), cmocka_unit_test(unequal_delays_come_out),
           cmocka_unit_test(other_channels_are_quiet_meanwhile), cmocka_unit_test(the_beat_goes_on))
