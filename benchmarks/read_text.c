/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What reading a recording from text costs against the plainest program that could: the whole file by one fread, each
 * number by strtod, nothing found out and nothing checked. The fastest of several rounds of each, in turn. Both have to
 * see the same numbers, bit for bit. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "signal/source.h"

enum { ROUNDS = 7, ROWS = 200000, CHANGES = 1000000, FRAMES_AT_ONCE = 4096 };

typedef struct {
    const char *name, *head;
    int time_digits, value_digits; /* behind the point; time_digits 0: no column of time */
    size_t head_lines, channels;
    double time_unit_s, value_unit;
    char separator;
    bool comma, scientific, digital, changes_only; /* changes_only: VCD */
} recording;

static const recording RECORDINGS[] = {
    {"CSV, time and 3 channels", "time_s,A (V),B (V),C (V)\n", 7, 4, 1, 3, 1, 1, ',', .comma = false},
    {"CSV, time and 2 channels, scientific", "Second,Volt,Volt\n", 9, 6, 1, 2, 1, 1, ',', .scientific = true},
    {"CSV, time and 3 channels, 17 digits", "time_s,A (V),B (V),C (V)\n", 16, 16, 1, 3, 1, 1, ',', .scientific = true},
    {"CSV, semicolons, decimal commas, mV", "Time (ms);A (mV);B (mV)\n", 4, 3, 1, 2, 1e-3, 1e-3, ';', .comma = true},
    {"CSV, one column, rate above it", "#Sample Rate: 100kS/s\n#Channel: A (V)\n", 0, 5, 2, 1, 1, 1, ',',
     .comma = false},
    {"CSV, 8 digital channels sampled", "Time [s],D0,D1,D2,D3,D4,D5,D6,D7\n", 6, 0, 1, 8, 1, 1, ',', .digital = true},
    {"VCD, 8 channels", "$timescale 1 us $end\n", 0, 0, 0, 8, 1e-6, 1, '\n', .digital = true, .changes_only = true},
};

/* What a reading saw: the sum of the values as floats, or of the instants of all changes. */
typedef struct {
    double sum;
    size_t count;
} seen;

/* What the processor did for this program alone: other work on the machine does not count. */
static double spent_s(void)
{
    struct timespec t;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static void must(bool fine, const char *what)
{
    if (fine)
        return;
    fprintf(stderr, "%s\n", what);
    exit(3);
}

/* ---- the file ---- */

/* 0 to 1, without a pattern, the same in every run (the finaliser of SplitMix64: Steele, Lea, Flood 2014). */
static double noise(size_t row, size_t channel)
{
    uint64_t x = (row * 8 + channel + 1) * 0x9e3779b97f4a7c15u;
    x = (x ^ x >> 30) * 0xbf58476d1ce4e5b9u;
    x = (x ^ x >> 27) * 0x94d049bb133111ebu;
    return (double)((x ^ x >> 31) >> 11) * 0x1p-53;
}

static void put_number(FILE *file, const recording *r, int digits, double value)
{
    char text[64];
    snprintf(text, sizeof text, r->scientific ? "%.*e" : "%.*f", digits, value);
    char *point = r->comma ? strchr(text, '.') : NULL;
    if (point != NULL)
        *point = ',';
    fputs(text, file);
}

static void put_table(FILE *file, const recording *r)
{
    for (size_t row = 0; row < ROWS; row++) {
        if (r->time_digits > 0)
            put_number(file, r, r->time_digits, (double)row * 1e-5 / r->time_unit_s);
        for (size_t c = 0; c < r->channels; c++) {
            if (c > 0 || r->time_digits > 0)
                putc(r->separator, file);
            double value = noise(row, c) * 5 - 1;
            put_number(file, r, r->value_digits, r->digital ? value > 1.5 : value / r->value_unit);
        }
        putc('\n', file);
    }
}

static void put_changes(FILE *file, const recording *r)
{
    uint64_t now = 0;
    for (size_t c = 0; c < r->channels; c++)
        fprintf(file, "$var wire 1 %c D%zu $end\n", (int)('!' + c), c);
    fputs("$enddefinitions $end\n#0\n", file);
    for (size_t c = 0; c < r->channels; c++)
        fprintf(file, "0%c\n", (int)('!' + c));
    for (size_t i = 0; i < CHANGES; i++) {
        now += 1 + (uint64_t)(noise(i, 0) * 1000);
        fprintf(file, "#%llu\n%c%c\n", (unsigned long long)now, i / r->channels % 2 == 0 ? '1' : '0',
                (int)('!' + i % r->channels));
    }
}

/* ---- the plain program ---- */

static char *behind_head(char *at, size_t lines)
{
    for (size_t i = 0; i < lines; i++)
        at = strchr(at, '\n') + 1;
    return at;
}

static seen plain_table(char *at, const char *end, const recording *r)
{
    seen s = {0};
    double value, time = 0, before[CW_CHANNELS_MOST];
    for (size_t row = 0; at < end; row++) {
        if (r->time_digits > 0) {
            time = strtod(at, &at) * r->time_unit_s;
            at++;
        }
        for (size_t c = 0; c < r->channels; c++, at++) {
            value = strtod(at, &at);
            if (!r->digital)
                s.sum += (float)(value * r->value_unit);
            else if (row == 0 || value != before[c])
                s.sum += row == 0 ? 0 : time;
            s.count += !r->digital || row == 0 || value != before[c];
            before[c] = value;
        }
    }
    return s;
}

static seen plain_changes(char *at, const char *end, const recording *r)
{
    seen s = {0};
    double time = 0;
    at = strstr(at, "$enddefinitions $end\n") + 21;
    while (at < end) {
        if (*at == '#') {
            time = strtod(at + 1, &at) * r->time_unit_s;
        } else {
            s.sum += time;
            s.count++;
            at = strchr(at, '\n');
        }
        at++;
    }
    return s;
}

static seen read_plainly(const char *path, const recording *r, size_t bytes)
{
    FILE *file = fopen(path, "rb");
    char *text = malloc(bytes + 1);
    must(file != NULL && text != NULL && fread(text, 1, bytes, file) == bytes, "the file cannot be read");
    fclose(file);
    text[bytes] = '\0';
    char *at = behind_head(text, r->head_lines);
    if (r->comma)
        for (char *c = at; *c != '\0'; c++)
            *c = *c == ',' ? '.' : *c;
    seen s = r->changes_only ? plain_changes(at, text + bytes, r) : plain_table(at, text + bytes, r);
    free(text);
    return s;
}

/* ---- the reader ---- */

static void add_samples(cw_source *source, size_t channels, seen *s)
{
    static float block[FRAMES_AT_ONCE * CW_CHANNELS_MOST];
    cw_error err;
    for (size_t got = 1; got > 0; s->count += got * channels) {
        must(cw_source_read(source, FRAMES_AT_ONCE, block, &got, &err) == CW_OK, err.text);
        for (size_t i = 0; i < got * channels; i++)
            s->sum += block[i];
    }
}

static seen read_well(const char *path)
{
    seen s = {0};
    cw_error err = {.text = ""};
    cw_source *source;
    must(cw_source_open(path, NULL, &source, &err) == CW_OK, err.text);
    const cw_source_info *info = cw_source_about(source);
    if (info->form == CW_SOURCE_SAMPLED)
        add_samples(source, info->channels, &s);
    for (size_t c = 0; info->form == CW_SOURCE_EDGES && c < info->channels; c++) {
        size_t count;
        const cw_edge *edges = cw_source_edges(source, c, &count);
        for (size_t i = 0; i < count; i++)
            s.sum += edges[i].at_s;
        s.count += count;
    }
    cw_source_close(source);
    return s;
}

/* Samples bit for bit. Changes between two samples are put half an interval early, and added in another order. */
static bool same(const recording *r, seen plain, seen well)
{
    double early_s = r->digital && !r->changes_only ? 0.5e-5 * (double)(plain.count - r->channels) : 0;
    return plain.count == well.count &&
           (r->digital ? fabs(plain.sum - early_s - well.sum) < 1e-9 * plain.sum : plain.sum == well.sum);
}

static bool run(const recording *r)
{
    char path[] = "/tmp/bench-text-XXXXXX";
    int handle = mkstemp(path);
    FILE *file = handle < 0 ? NULL : fdopen(handle, "wb");
    must(file != NULL, "no file can be made in /tmp");
    fputs(r->head, file);
    if (r->changes_only)
        put_changes(file, r);
    else
        put_table(file, r);
    long bytes = ftell(file);
    must(fclose(file) == 0 && bytes > 0, "the file cannot be written");
    double best_plain_s = INFINITY, best_well_s = INFINITY;
    seen plain = {0}, well = {0};
    for (int round = 0; round < ROUNDS; round++) {
        double start_s = spent_s();
        plain = read_plainly(path, r, (size_t)bytes);
        double between_s = spent_s();
        well = read_well(path);
        best_plain_s = fmin(best_plain_s, between_s - start_s);
        best_well_s = fmin(best_well_s, spent_s() - between_s);
    }
    unlink(path);
    bool alike = same(r, plain, well);
    double megabytes = (double)bytes * 1e-6;
    printf("%-38s %6.1f MB  plain %6.1f MB/s  reader %6.1f MB/s  ratio of times %.2f  numbers %s\n", r->name, megabytes,
           megabytes / best_plain_s, megabytes / best_well_s, best_well_s / best_plain_s, alike ? "alike" : "DIFFER");
    return alike;
}

int main(void)
{
    size_t wrong = 0;
    for (size_t i = 0; i < CW_COUNT(RECORDINGS); i++)
        wrong += !run(&RECORDINGS[i]);
    return wrong > 0;
}
