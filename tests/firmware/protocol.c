/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The gate's lines, to the letter: the worked examples of the protocol page with their sums, every command and refusal,
 * overflow of the ring, and time through its wraps. */
#include "support/check.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "gate.h"

static void expect_line(gate *g, const char *text)
{
    gate_line line;
    assert_true(gate_next(g, &line));
    assert_true(line.sum_is_right);
    assert_string_equal(line.text, text);
}

static void the_hello_is_the_one_of_the_protocol_page(void **state)
{
    (void)state;
    gate *g = gate_new(1, 0, true);
    expect_line(g, "H clg/1 fw=0.1 hz=16000000 ch=ABCX pol=1 st=0 n=0000 *2233");
    gate_send(g, "h\n");
    gate_run_s(g, 0.01);
    expect_line(g, "H clg/1 fw=0.1 hz=16000000 ch=ABCX pol=1 st=0 n=0000 *2233");
    gate_free(g);
    g = gate_new(0, 15, true);
    gate_line line;
    assert_true(gate_next(g, &line));
    assert_contains(line.text, "H clg/1 fw=0.1 hz=16000000 ch=ABCX pol=0 st=f n=0000 *");
    gate_free(g);
}

/* Every line with a sum in the documents carries the right one. */
static void the_documents_lines_have_the_right_sums(void **state)
{
    (void)state;
    char path[1024], row[1024];
    check_path("docs/light-gate.md", path, sizeof path);
    FILE *file = fopen(path, "r");
    assert_non_null(file);
    unsigned seen = 0;
    while (fgets(row, sizeof row, file) != NULL) {
        char *star = strchr(row, '*'), *from = row[0] == '|' ? strchr(row, '`') : row;
        if (star == NULL || from == NULL || strspn(star + 1, "0123456789abcdef") != 4)
            continue;
        star[5] = '\0';
        gate_line line;
        gate_line_read(from == row ? row : from + 1, &line);
        assert_true(line.sum_is_right);
        seen++;
    }
    fclose(file);
    assert_int_equal(seen, 7);
}

/* An edge is told as number, ticks, pins after, pins changed. */
static void edges_are_told_in_order(void **state)
{
    (void)state;
    gate *g = gate_new(1, 0, true);
    gate_line line;
    assert_true(gate_next(g, &line));
    uint64_t t = gate_cycle(g) + 5000;
    gate_edge edges[] = {{t, 0, 1}, {t + 83016, 1, 1}, {t + 96448, 0, 0}, {t + 200000, 3, 1}};
    const unsigned after[] = {1, 3, 2, 10}, changed[] = {1, 2, 1, 8};
    gate_add(g, edges, 4);
    gate_run_s(g, 0.02);
    for (unsigned i = 0; i < 4; i++) {
        assert_true(gate_next(g, &line));
        assert_true(line.type == 'E' && line.sum_is_right);
        assert_int_equal(strlen(line.text), 25); /* and the end of line */
        assert_int_equal(line.number[0], i);
        int64_t late = (int64_t)line.number[1] - (int64_t)(edges[i].cycle - gate_epoch(g));
        assert_in_range(late, 10, 40);
        assert_int_equal(line.number[2], after[i]);
        assert_int_equal(line.number[3], changed[i]);
    }
    assert_false(gate_next(g, &line));
    gate_free(g);
}

/* Every 2^24 ticks, 1.048576 s: number, ticks with the low 24 bits 0, next event, pins. */
static void the_beat_comes_each_second(void **state)
{
    (void)state;
    gate *g = gate_new(1, 4, true);
    gate_line line;
    uint64_t before = 0;
    for (unsigned i = 1; i <= 5; i++) {
        assert_true(gate_wait(g, 'T', 1.1, &line));
        assert_true(line.sum_is_right);
        assert_int_equal(line.number[0], i);
        assert_int_equal(line.number[1], i << 24);
        assert_int_equal(line.number[2], 0);
        assert_int_equal(line.number[3], 4);
        if (i > 1) /* it leaves within a byte time or two of when it is due */
            assert_in_range(line.cycle - before, (1 << 24) - 3000, (1 << 24) + 3000);
        before = line.cycle;
    }
    gate_free(g);
}

static void commands_are_obeyed_or_refused(void **state)
{
    (void)state;
    static const struct {
        const char *command, *answer;
    } cases[] = {
        {"h\r\n", "H clg/1 fw=0.1"},
        {"l\n", "L 0000 0000 0000 0000 *"},
        {"x\n", "X 01 "},
        {"hello\n", "X 01 "},
        {"c\n", "X 02 "},
        {"c 00000fa0 08\n", "X 02 "},
        {"c 00000fA0 08 1\n", "X 02 "},
        {"c 00000fa0 08 1 \n", "X 02 "},
        {"c 0000031f 08 1\n", "X 04 "},
        {"c 01000001 08 1\n", "X 04 "},
        {"c 00000fa0 00 1\n", "X 04 "},
        {"c 00000fa0 41 1\n", "X 04 "},
        {"c 00000fa0 08 3\n", "X 04 "},
        {"c 00000fa0 08 8\n", "X 04 "},
        {"this line is longer than any command can be\n", "X 01 "},
    };
    gate *g = gate_new(1, 0, true);
    gate_line line;
    assert_true(gate_next(g, &line));
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        gate_send(g, cases[i].command);
        gate_run_s(g, 0.02);
        assert_true(gate_next(g, &line));
        assert_true(line.sum_is_right);
        assert_contains(line.text, cases[i].answer);
        assert_true(strlen(line.text) < 80);
        assert_false(gate_next(g, &line));
    }
    gate_send(g, "\n\r\n"); /* empty lines are nothing */
    gate_run_s(g, 0.01);
    assert_false(gate_next(g, &line));
    gate_free(g);
}

/* Each input to its own place, 03ff being the supply, right to one step. */
static void levels_are_those_of_the_inputs(void **state)
{
    (void)state;
    const double volts[4] = {0.512, 1.731, 3.019, 4.998};
    gate *g = gate_new(1, 0, true);
    gate_volts(g, volts);
    gate_line line;
    gate_send(g, "l\n");
    assert_true(gate_wait(g, 'L', 0.02, &line));
    assert_int_equal(line.field_count, 4);
    for (int i = 0; i < 4; i++)
        assert_near(line.number[i], volts[i] / 5 * 1023.5, 1.5);
    gate_free(g);
}

static void while_calibrating_it_is_busy_and_says_so(void **state)
{
    (void)state;
    gate *g = gate_new(1, 0, true);
    gate_line line;
    gate_send(g, "c 00003e80 20 2\n");
    assert_true(gate_wait(g, 'A', 0.01, &line));
    assert_contains(line.text, "A c 00003e80 20 2 *");
    gate_send(g, "l\n");
    assert_true(gate_wait(g, 'X', 0.02, &line));
    assert_contains(line.text, "X 03 ");
    gate_send(g, "c 00003e80 20 2\n");
    assert_true(gate_wait(g, 'X', 0.02, &line));
    assert_contains(line.text, "X 03 ");
    gate_send(g, "h\n");
    assert_true(gate_wait(g, 'H', 0.02, &line));
    do /* all 32 pulses in the end, whatever was asked meanwhile */
        assert_true(gate_wait(g, 'P', 0.1, &line));
    while (line.number[0] < 31);
    gate_run_s(g, 0.01);
    gate_send(g, "l\n");
    assert_true(gate_wait(g, 'L', 0.02, &line));
    gate_free(g);
}

typedef struct {
    size_t events;
    uint32_t next_number, lost;
    bool sums_right, gaps_told;
} tally;

/* Counts what arrives; a jump in the numbers must have been told by an O line just before it. */
static void count(gate *g, tally *t)
{
    gate_line line;
    t->sums_right = t->gaps_told = true;
    while (gate_next(g, &line)) {
        t->sums_right &= line.sum_is_right;
        if (line.type == 'O') {
            t->gaps_told &= line.number[0] == t->next_number;
            t->lost += line.number[1];
            t->next_number = (t->next_number + line.number[1]) & 0xffff;
        } else if (line.type == 'E') {
            t->gaps_told &= line.number[0] == t->next_number;
            t->next_number = (line.number[0] + 1) & 0xffff;
            t->events++;
        } else if (line.type == 'T') {
            t->gaps_told &= line.number[2] == t->next_number;
        }
    }
}

/* `n` edges on A every `period` cycles. */
static tally burst(size_t n, uint64_t period, gate **out)
{
    gate *g = gate_new(1, 0, true);
    gate_line line;
    assert_true(gate_next(g, &line));
    uint64_t t = gate_cycle(g) + 3001;
    for (size_t i = 0; i < n; i++) {
        gate_edge edge = {t + i * period, 0, i % 2 == 0};
        gate_add(g, &edge, 1);
    }
    gate_run(g, t + n * period + GATE_HZ / 2);
    tally result = {0};
    count(g, &result);
    *out = g;
    return result;
}

/* Two sensors' ten bounces each way and the contact's come to 166 edges: 255 fit. */
static void a_burst_that_fits_loses_nothing(void **state)
{
    (void)state;
    gate *g;
    tally t = burst(150, 40, &g);
    assert_int_equal(t.events, 150);
    assert_int_equal(t.lost, 0);
    assert_true(t.sums_right && t.gaps_told);
    gate_free(g);
}

static void what_the_line_can_carry_goes_on_for_ever(void **state)
{
    (void)state;
    gate *g;
    tally t = burst(2000, 24000, &g); /* 667 a second; the line carries 873 at this simulator's 11 bits a byte */
    assert_int_equal(t.events, 2000);
    assert_int_equal(t.lost, 0);
    assert_true(t.sums_right && t.gaps_told);
    gate_free(g);
}

static void a_full_ring_says_exactly_what_it_lost(void **state)
{
    (void)state;
    static const struct {
        size_t edges;
        uint64_t period;
    } cases[] = {{300, 96}, {2000, 1600}, {700, 120}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        gate *g;
        tally t = burst(cases[i].edges, cases[i].period, &g);
        assert_true(t.lost > 0);
        assert_int_equal(t.events + t.lost, cases[i].edges);
        assert_true(t.sums_right && t.gaps_told);
        gate_free(g);
    }
}

/* 70 ms of edges every 2.5 us, faster than anything that is light: the ring overflows at once, main is starved, and yet
 * the clock loses no turn: an edge afterwards is where it was put. */
static void a_flood_does_not_stop_the_clock(void **state)
{
    (void)state;
    gate *g;
    tally t = burst(28000, 40, &g);
    assert_true(t.lost > 0);
    assert_true(t.sums_right && t.gaps_told);
    uint64_t at = gate_cycle(g) + 100000;
    gate_edge edge = {at, 2, 1};
    gate_add(g, &edge, 1);
    gate_run_s(g, 0.05);
    gate_line line;
    assert_true(gate_wait(g, 'E', 0.01, &line));
    assert_int_equal(line.number[3] & 4, 4);
    assert_in_range((int64_t)line.number[1] - (int64_t)(at - gate_epoch(g)), 10, 40);
    assert_true(gate_worst_overflow(g) < 32768);
    gate_free(g);
}

/* The two edges of a pulse are told from 20 cycles on; shorter ones leave a record without a changed bit. */
static void a_pulse_too_short_to_time_is_not_hidden(void **state)
{
    (void)state;
    gate *g = gate_new(1, 0, true);
    gate_line line;
    assert_true(gate_next(g, &line));
    for (unsigned width = 2; width <= 60; width++) {
        uint64_t t = gate_cycle(g) + 7919;
        gate_edge edges[] = {{t, 1, 1}, {t + width, 1, 0}};
        gate_add(g, edges, 2);
        gate_run_s(g, 0.01);
        unsigned lines = 0, with_change = 0;
        while (gate_next(g, &line))
            if (line.type == 'E') {
                lines++;
                with_change += line.number[3] == 2;
            }
        if (width >= 24)
            assert_int_equal(with_change, 2);
        assert_true(lines >= 1);
    }
    gate_free(g);
}

/* Through two wraps of the 32-bit clock (268.4 s each), edges close to every one of them. */
static void time_goes_through_its_wraps(void **state)
{
    (void)state;
    gate *g = gate_new(1, 0, true);
    uint64_t wrap = gate_epoch(g) + (UINT64_C(1) << 32);
    int offsets[] = {-70000, -65537, -300, -21, -20, -19, -10, -1, 0, 5, 40, 300, 65536};
    uint64_t truth[2 * sizeof offsets / sizeof offsets[0]];
    size_t n = 0;
    for (int turn = 0; turn < 2; turn++, wrap += UINT64_C(1) << 32)
        for (size_t i = 0; i < sizeof offsets / sizeof offsets[0]; i++) {
            gate_edge edge = {(uint64_t)((int64_t)wrap + offsets[i]), 0, n % 2 == 0};
            /* Too close ones would share a record: every other goes to another pin. */
            edge.pin = (uint8_t)(n % 3);
            edge.level = n / 3 % 2 == 0;
            truth[n++] = edge.cycle - gate_epoch(g);
            gate_add(g, &edge, 1);
        }
    gate_run(g, wrap - (UINT64_C(1) << 32) + GATE_HZ);
    gate_line line;
    uint64_t high = 0, last = 0;
    unsigned seen = 0, beats = 0;
    while (gate_next(g, &line)) {
        if (line.type == 'T') {
            beats++;
            assert_int_equal(line.number[0], beats & 0xff);
            assert_int_equal(line.number[1], beats << 24);
        }
        if (line.type != 'E' && line.type != 'T')
            continue;
        int32_t step = (int32_t)(line.number[1] - (uint32_t)last);
        high = last + (uint64_t)(int64_t)step;
        last = high;
        if (line.type != 'E')
            continue;
        bool found = false;
        for (size_t i = 0; i < n; i++)
            found |= high >= truth[i] && high < truth[i] + 60;
        assert_true(found);
        seen++;
    }
    assert_in_range(seen, n / 2, n);
    assert_int_equal(beats, 512);
    assert_true(gate_worst_overflow(g) < 32768);
    print_message("overflow flag pending for %llu cycles at most\n", (unsigned long long)gate_worst_overflow(g));
    gate_free(g);
}

static void a_second_gate_starts_from_nothing(void **state)
{
    (void)state;
    gate *g = gate_new(1, 5, true);
    gate_edge edge = {gate_cycle(g) + 1000, 0, 0};
    gate_add(g, &edge, 1);
    gate_run_s(g, 0.01);
    gate_send(g, "h\n");
    gate_line line;
    assert_true(gate_wait(g, 'H', 0.01, &line) && gate_wait(g, 'H', 0.01, &line));
    assert_contains(line.text, "st=4 n=0001 *");
    gate_free(g);
}

CHECK_MAIN(cmocka_unit_test(the_hello_is_the_one_of_the_protocol_page),
           cmocka_unit_test(the_documents_lines_have_the_right_sums), cmocka_unit_test(edges_are_told_in_order),
           cmocka_unit_test(the_beat_comes_each_second), cmocka_unit_test(commands_are_obeyed_or_refused),
           cmocka_unit_test(levels_are_those_of_the_inputs), cmocka_unit_test(while_calibrating_it_is_busy_and_says_so),
           cmocka_unit_test(a_burst_that_fits_loses_nothing),
           cmocka_unit_test(what_the_line_can_carry_goes_on_for_ever),
           cmocka_unit_test(a_full_ring_says_exactly_what_it_lost), cmocka_unit_test(a_flood_does_not_stop_the_clock),
           cmocka_unit_test(a_pulse_too_short_to_time_is_not_hidden), cmocka_unit_test(time_goes_through_its_wraps),
           cmocka_unit_test(a_second_gate_starts_from_nothing))
