/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How well the gate stamps: edges injected at known cycles, reported ticks less those, less a constant latency.
 * Prints the table of docs/light-gate.md. By hand, for the long run: test-firmware-timing 20000. */
#include "support/check.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "gate.h"

enum {
    LATENCY = 20, /* cycles from an edge to the stamp when nothing else is going on; the same for every edge */
    COMPANY = 64, /* ticks: with another stamp this near, or one stamp for several pins, a report has company */
    MATCH = 4000  /* cycles within which a report belongs to an edge */
};

static unsigned long random_cases = 2000;

typedef struct {
    int *items;
    size_t count, capacity;
} errors;

static void add(errors *e, int64_t value)
{
    if (e->count == e->capacity) {
        e->capacity = e->capacity > 0 ? 2 * e->capacity : 4096;
        e->items = realloc(e->items, e->capacity * sizeof *e->items);
        assert_non_null(e->items);
    }
    e->items[e->count++] = (int)value;
}

static int by_value(const void *a, const void *b)
{
    return *(const int *)a - *(const int *)b;
}

static int by_size(const void *a, const void *b)
{
    return abs(*(const int *)a) - abs(*(const int *)b);
}

typedef struct {
    size_t n;
    double mean, sd;
    int size_999, least, most; /* |error| not exceeded by 99.9 %; extremes; cycles */
} summary;

static summary summarise(errors *e)
{
    summary s = {.n = e->count};
    if (e->count == 0)
        return s;
    double sum = 0, squares = 0;
    for (size_t i = 0; i < e->count; i++) {
        sum += e->items[i];
        squares += (double)e->items[i] * e->items[i];
    }
    s.mean = sum / (double)e->count;
    s.sd = sqrt(fmax(0, squares / (double)e->count - s.mean * s.mean));
    qsort(e->items, e->count, sizeof *e->items, by_value);
    s.least = e->items[0];
    s.most = e->items[e->count - 1];
    qsort(e->items, e->count, sizeof *e->items, by_size);
    s.size_999 = abs(e->items[(size_t)(0.999 * (double)(e->count - 1))]);
    return s;
}

static void print_row(const char *what, const summary *s)
{
    print_message("%-34s n %6zu  mean %+5.2f  sd %5.2f  99.9 %% %3d  %+d to %+d cycles\n", what, s->n, s->mean, s->sd,
                  s->size_999, s->least, s->most);
}

/* Everything the tests below found, over all kinds of shots, for the split by what a host can see. */
static errors alone, in_company;

typedef struct {
    gate *g;
    check_random random;
    gate_edge *edges; /* everything injected, in order */
    size_t count, capacity;
    uint64_t next; /* cycle of the next shot */
    bool bouncing; /* pulses shorter than the gate can tell may be among them */
} bench;

static bench start(uint64_t seed)
{
    bench b = {.g = gate_new(1, 0, true), .random = {seed}};
    b.next = gate_cycle(b.g) + 50000;
    return b;
}

static int by_cycle(const void *a, const void *b)
{
    const gate_edge *x = a, *y = b;
    return x->cycle < y->cycle ? -1 : x->cycle > y->cycle;
}

static uint64_t whole(bench *b, double most)
{
    return (uint64_t)(check_uniform(&b->random) * most);
}

/* One shot's edges, relative to its start: sorted, shifted by a random part of a loop, run, kept. */
static void shoot(bench *b, gate_edge *edges, size_t n)
{
    uint64_t start_cycle = b->next + whole(b, 5000);
    for (size_t i = 0; i < n; i++)
        edges[i].cycle += start_cycle;
    qsort(edges, n, sizeof *edges, by_cycle);
    gate_add(b->g, edges, n);
    while (b->count + n > b->capacity) {
        b->capacity = b->capacity > 0 ? 2 * b->capacity : 4096;
        b->edges = realloc(b->edges, b->capacity * sizeof *b->edges);
        assert_non_null(b->edges);
    }
    memcpy(b->edges + b->count, edges, n * sizeof *edges);
    b->count += n;
    b->next = edges[n - 1].cycle + GATE_HZ / 200 + n * 20000;
    gate_run(b->g, b->next);
}

/* Three sensors under two curtains: all in seconds; shaken by `rough` so that no two shots are alike. */
static void curtain_shot(bench *b, double exposure_s, double travel_s, double rough)
{
    gate_edge edges[6];
    double mismatch = 1 + rough * (check_uniform(&b->random) - 0.5);
    for (unsigned i = 0; i < 3; i++) {
        double open_s = travel_s * (0.1 + 0.4 * i), close_s = exposure_s + mismatch * travel_s * (0.1 + 0.4 * i);
        open_s *= 1 + 0.01 * rough * check_uniform(&b->random);
        if (close_s < open_s + 20e-6)
            close_s = open_s + 20e-6;
        edges[2 * i] = (gate_edge){(uint64_t)(open_s * GATE_HZ), (uint8_t)i, 1};
        edges[2 * i + 1] = (gate_edge){(uint64_t)(close_s * GATE_HZ), (uint8_t)i, 0};
    }
    shoot(b, edges, 6);
}

/* A leaf shutter: all three sensors nearly at once, within `skew_s`, less than the exposure. */
static void leaf_shot(bench *b, double exposure_s, double skew_s)
{
    gate_edge edges[6];
    for (unsigned i = 0; i < 3; i++) {
        double open_s = skew_s * check_uniform(&b->random), close_s = exposure_s + skew_s * check_uniform(&b->random);
        edges[2 * i] = (gate_edge){(uint64_t)(open_s * GATE_HZ), (uint8_t)i, 1};
        edges[2 * i + 1] = (gate_edge){(uint64_t)(close_s * GATE_HZ), (uint8_t)i, 0};
    }
    shoot(b, edges, 6);
}

typedef struct {
    int64_t tick;
    unsigned pins, changed;
    bool company;
} report;

static size_t read_reports(bench *b, report **out)
{
    report *list = NULL;
    size_t n = 0, capacity = 0;
    int64_t now = 0;
    uint32_t next_number = 0;
    gate_line line;
    while (gate_next(b->g, &line)) {
        assert_true(line.sum_is_right);
        assert_true(line.type != 'O');
        if (line.type == 'T' || line.type == 'E')
            now += (int32_t)(line.number[1] - (uint32_t)now);
        if (line.type != 'E')
            continue;
        assert_int_equal(line.number[0], next_number);
        next_number = (next_number + 1) & 0xffff;
        if (n == capacity) {
            capacity = capacity > 0 ? 2 * capacity : 4096;
            list = realloc(list, capacity * sizeof *list);
            assert_non_null(list);
        }
        list[n++] = (report){.tick = now, .pins = line.number[2], .changed = line.number[3]};
    }
    for (size_t i = 0; i < n; i++) {
        bool several = (list[i].changed & (list[i].changed - 1)) != 0;
        bool before = i > 0 && list[i].tick - list[i - 1].tick <= COMPANY;
        bool after = i + 1 < n && list[i + 1].tick - list[i].tick <= COMPANY;
        list[i].company = several || before || after;
    }
    *out = list;
    return n;
}

/* Every injected edge of a pin must be reported, in order, with its level. Gives the summary of edges; exposures (close
 * less open of a pin) go to `exposures` when it is not NULL. */
static summary match(bench *b, const char *what, errors *exposures)
{
    report *reports;
    size_t n = read_reports(b, &reports);
    errors all = {0};
    for (unsigned pin = 0; pin < GATE_PINS; pin++) {
        size_t r = 0;
        int64_t open_error = 0;
        for (size_t i = 0; i < b->count; i++) {
            if (b->edges[i].pin != pin)
                continue;
            while (r < n && !(reports[r].changed >> pin & 1))
                r++;
            if (r == n)
                print_error("%s: edge %zu of pin %u is missing\n", what, i, pin);
            assert_true(r < n);
            int64_t error = reports[r].tick - (int64_t)(b->edges[i].cycle - gate_epoch(b->g)) - LATENCY;
            assert_true(error > -MATCH && error < MATCH);
            assert_int_equal(reports[r].pins >> pin & 1, b->edges[i].level);
            add(&all, error);
            add(reports[r].company ? &in_company : &alone, error);
            if (b->edges[i].level)
                open_error = error;
            else if (exposures != NULL)
                add(exposures, error - open_error);
            r++;
        }
        while (r < n && !(reports[r].changed >> pin & 1))
            r++;
        assert_true(r == n); /* nothing reported that was not there */
    }
    summary s = summarise(&all);
    print_row(what, &s);
    assert_true(gate_worst_overflow(b->g) < 32768);
    free(all.items);
    free(reports);
    free(b->edges);
    gate_free(b->g);
    return s;
}

static errors curtain_exposures;

static void curtains_at_every_speed(void **state)
{
    (void)state;
    static const struct {
        double exposure_s, travel_s;
        unsigned shots;
        const char *what;
    } speeds[] = {{0.5, 0.014, 20, "curtain 1/2 s"},
                  {1 / 30.0, 0.014, 120, "curtain 1/30 s"},
                  {1 / 250.0, 0.012, 350, "curtain 1/250 s"},
                  {1 / 1000.0, 0.010, 350, "curtain 1/1000 s"},
                  {1 / 4000.0, 0.0028, 350, "curtain 1/4000 s"}};
    for (size_t i = 0; i < sizeof speeds / sizeof speeds[0]; i++) {
        bench b = start(100 + i);
        for (unsigned shot = 0; shot < speeds[i].shots; shot++)
            curtain_shot(&b, speeds[i].exposure_s * (0.9 + 0.2 * check_uniform(&b.random)), speeds[i].travel_s, 0.2);
        summary s = match(&b, speeds[i].what, &curtain_exposures);
        assert_true(fabs(s.mean) < 1 && s.sd < 1.5 && abs(s.least) <= 20 && s.most <= 20);
    }
    summary s = summarise(&curtain_exposures);
    print_row("exposure, curtain", &s);
    assert_true(fabs(s.mean) < 0.2 && s.sd < 1.5 && s.size_999 <= 16 && abs(s.least) <= 32 && s.most <= 32);
    free(curtain_exposures.items);
    curtain_exposures = (errors){0};
}

static void edges_on_the_same_cycle_share_a_stamp(void **state)
{
    (void)state;
    bench b = start(200);
    for (int shot = 0; shot < 400; shot++) {
        gate_edge edges[6];
        for (unsigned i = 0; i < 6; i++)
            edges[i] = (gate_edge){i / 3 * 48211, (uint8_t)(i % 3), i < 3};
        shoot(&b, edges, 6);
    }
    summary s = match(&b, "three sensors, same cycle", NULL);
    assert_true(s.least >= 0 && s.most <= 8);
}

static void edges_close_together_stay_apart(void **state)
{
    (void)state;
    static const unsigned us[] = {1, 2, 3, 4, 8, 16};
    for (size_t k = 0; k < sizeof us / sizeof us[0]; k++) {
        bench b = start(300 + k);
        for (int shot = 0; shot < 250; shot++) {
            gate_edge edges[6];
            for (unsigned i = 0; i < 6; i++)
                edges[i] = (gate_edge){i / 3 * 64123 + i % 3 * us[k] * 16, (uint8_t)(i % 3), i < 3};
            shoot(&b, edges, 6);
        }
        char what[64];
        snprintf(what, sizeof what, "edges %u us apart", us[k]);
        summary s = match(&b, what, NULL);
        assert_true(abs(s.least) <= 24 && s.most <= 24);
        if (us[k] >= 4)
            assert_true(s.least >= 0 && s.most <= 12);
    }
}

/* Around the instant at which the low 16 bits wrap. */
static void edges_at_an_overflow_are_counted_once(void **state)
{
    (void)state;
    bench b = start(400);
    for (int shot = 0; shot < 500; shot++) {
        uint64_t turn = (b.next - gate_epoch(b.g)) / 65536 + 2;
        gate_edge edges[6];
        for (unsigned i = 0; i < 6; i++) {
            uint64_t wrap = gate_epoch(b.g) + (turn + i / 3 * 2) * 65536;
            edges[i] = (gate_edge){wrap - 120 + whole(&b, 240) - b.next, (uint8_t)(i % 3), i < 3};
        }
        /* shoot() shifts by chance, here the chance is above. */
        for (unsigned i = 0; i < 6; i++)
            edges[i].cycle += b.next;
        qsort(edges, 6, sizeof edges[0], by_cycle);
        gate_add(b.g, edges, 6);
        b.edges = realloc(b.edges, (b.count + 6) * sizeof *b.edges);
        assert_non_null(b.edges);
        memcpy(b.edges + b.count, edges, sizeof edges);
        b.count += 6;
        b.next = edges[5].cycle + 200000;
        gate_run(b.g, b.next);
    }
    summary s = match(&b, "within 120 cycles of an overflow", NULL);
    assert_true(abs(s.least) <= 24 && s.most <= 24);
}

static void three_edges_within_four_microseconds(void **state)
{
    (void)state;
    bench b = start(500);
    for (int shot = 0; shot < 1000; shot++) {
        gate_edge edges[6];
        for (unsigned i = 0; i < 6; i++)
            edges[i] = (gate_edge){i / 3 * 51377 + whole(&b, 64), (uint8_t)(i % 3), i < 3};
        shoot(&b, edges, 6);
    }
    summary s = match(&b, "three edges within 4 us", NULL);
    assert_true(abs(s.least) <= 32 && s.most <= 32);
}

static void random_shots_of_both_kinds(void **state)
{
    (void)state;
    bench b = start(600);
    errors exposures = {0};
    for (unsigned long i = 0; i < random_cases; i++) {
        double exposure_s = exp2(-12 + 8 * check_uniform(&b.random));
        if (check_uniform(&b.random) < 0.6)
            curtain_shot(&b, exposure_s, 2.5e-3 + 15e-3 * check_uniform(&b.random), 0.6);
        else
            leaf_shot(&b, exposure_s, fmin(400e-6, 0.4 * exposure_s) * check_uniform(&b.random));
    }
    char what[64];
    snprintf(what, sizeof what, "%lu random shots", random_cases);
    summary s = match(&b, what, &exposures);
    assert_true(fabs(s.mean) < 1 && s.sd < 3 && abs(s.least) <= 32 && s.most <= 32);
    s = summarise(&exposures);
    print_row("exposure, random shots", &s);
    assert_true(fabs(s.mean) < 0.2 && s.sd < 4 && abs(s.least) <= 48 && s.most <= 48);
    free(exposures.items);
}

/* What a host can tell from the report alone; from this the host's uncertainties are taken: 0.1 us alone, 0.6 us in
 * company. Runs last: it is about all of the above. */
static void a_report_that_stands_alone_is_better(void **state)
{
    (void)state;
    summary s = summarise(&alone);
    print_row("stands alone", &s);
    assert_true(s.n > 10000 && s.sd * 62.5e-9 < 0.1e-6 && s.least >= 0 && s.most <= 12);
    s = summarise(&in_company);
    print_row("has company", &s);
    assert_true(s.n > 3000 && s.sd * 62.5e-9 < 0.6e-6 && abs(s.least) <= 32 && s.most <= 32);
    free(alone.items);
    free(in_company.items);
}

/* Skipping idle cycles must not change what is measured: the same shots with and without. */
static void skipping_changes_nothing(void **state)
{
    (void)state;
    int most[2], least[2];
    double sd[2];
    errors kept_alone = alone, kept_company = in_company;
    for (int fast = 0; fast < 2; fast++) {
        alone = in_company = (errors){0};
        bench b = start(700);
        gate_free(b.g);
        b.g = gate_new(1, 0, fast);
        for (int shot = 0; shot < 60; shot++)
            curtain_shot(&b, 0.001, 0.005, 0.3);
        match(&b, fast ? "60 curtain shots, skipping" : "60 curtain shots, every cycle", NULL);
        summary s = summarise(&alone);
        most[fast] = s.most;
        least[fast] = s.least;
        sd[fast] = s.sd;
        free(alone.items);
        free(in_company.items);
    }
    alone = kept_alone;
    in_company = kept_company;
    assert_true(most[0] <= 12 && most[1] <= 12 && least[0] >= 0 && least[1] >= 0);
    assert_near(sd[0], sd[1], 0.4);
}

int main(int argc, char **argv)
{
    if (argc == 2)
        random_cases = strtoul(argv[1], NULL, 10);
    const struct CMUnitTest tests[] = {cmocka_unit_test(curtains_at_every_speed),
                                       cmocka_unit_test(edges_on_the_same_cycle_share_a_stamp),
                                       cmocka_unit_test(edges_close_together_stay_apart),
                                       cmocka_unit_test(edges_at_an_overflow_are_counted_once),
                                       cmocka_unit_test(three_edges_within_four_microseconds),
                                       cmocka_unit_test(random_shots_of_both_kinds),
                                       cmocka_unit_test(skipping_changes_nothing),
                                       cmocka_unit_test(a_report_that_stands_alone_is_better)};
    return check_main(__FILE__, tests, sizeof tests / sizeof tests[0]);
}
