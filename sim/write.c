/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Recordings as files: sampled (WAV, CSV) and digital (VCD, edge list). */
#include "sim/inside.h"

#include <errno.h>
#include <inttypes.h>
#include <math.h>
#include <sndfile.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"

enum { BLOCK = 4096 };

static int wav_format(unsigned bits)
{
    if (bits == 0)
        return SF_FORMAT_WAV | SF_FORMAT_FLOAT;
    return SF_FORMAT_WAV | (bits <= 16 ? SF_FORMAT_PCM_16 : SF_FORMAT_PCM_24);
}

static bool write_block(SNDFILE *file, unsigned bits, const float *samples, size_t frames, size_t channels)
{
    if (bits == 0)
        return sf_writef_float(file, samples, (sf_count_t)frames) == (sf_count_t)frames;
    int whole[BLOCK];
    for (size_t done = 0; done < frames * channels;) {
        size_t count = 0;
        for (; count < BLOCK / channels * channels && done < frames * channels; count++, done++)
            whole[count] = (int)fmin(2147483647.0, rint((double)samples[done] * 2147483648.0));
        if (sf_write_int(file, whole, (sf_count_t)count) != (sf_count_t)count)
            return false;
    }
    return true;
}

cw_status cw_sim_write_wav(cw_sim *sim, const char *path, cw_error *err)
{
    const cw_sim_recorder *rec = &sim->scenario.recorder;
    size_t channels = cw_sim_channels(sim);
    if (rec->rate_hz != rint(rec->rate_hz))
        return cw_fail(err, CW_RANGE, "a WAV file holds whole sample rates, not %g Hz", rec->rate_hz);
    cw_new_file out;
    CW_TRY(cw_new_file_open(path, &out, err));
    SF_INFO info = {.samplerate = (int)rec->rate_hz, .channels = (int)channels, .format = wav_format(rec->bits)};
    SNDFILE *file = sf_open_fd(fileno(out.stream), SFM_WRITE, &info, 0);
    float *block = malloc(BLOCK * channels * sizeof *block);
    bool fine = file != NULL && block != NULL;
    cw_sim_rewind(sim);
    for (size_t got = 1; fine && got > 0;) {
        got = cw_sim_read(sim, BLOCK, block);
        fine = write_block(file, rec->bits, block, got, channels);
    }
    free(block);
    if (file != NULL && sf_close(file) != 0)
        fine = false;
    if (fine)
        return cw_new_file_commit(&out, err);
    cw_new_file_abandon(&out);
    return cw_fail(err, CW_FILE, "%s could not be written as WAV: %s", path, strerror(errno));
}

/* "1.2345", or "1,2345" when asked for. */
static void print_number(FILE *out, int decimals, double value, bool comma)
{
    char text[64];
    int length = snprintf(text, sizeof text, "%.*f", decimals, value);
    char *point = length > 0 ? strchr(text, '.') : NULL;
    if (comma && point != NULL)
        *point = ',';
    fputs(text, out);
}

static const char *const names[] = {"A", "B", "C", "D"};

static const char *channel_name(const cw_sim *sim, size_t index)
{
    return index < sim->scenario.beam.sensors ? names[index] : "X";
}

static void csv_head(const cw_sim *sim, cw_sim_csv_dialect dialect, FILE *out)
{
    size_t channels = cw_sim_channels(sim);
    double rate_hz = sim->scenario.recorder.rate_hz;
    switch (dialect) {
    case CW_SIM_CSV_PLAIN:
        fputs("time_s", out);
        for (size_t i = 0; i < channels; i++)
            fprintf(out, ",%s", channel_name(sim, i));
        fputs("\n", out);
        return;
    case CW_SIM_CSV_PREAMBLE:
        fprintf(out, "Record Length,%" PRIu64 "\nSample Interval,%.9e,s\nVertical Units,V\n", cw_sim_frames(sim),
                1 / rate_hz);
        fputs("Trigger Level,0.400\nNotes,shutter on the bench\n\n", out);
        for (size_t i = 0; i < channels; i++)
            fprintf(out, "%sCH%zu", i > 0 ? "," : "", i + 1);
        fputs("\n", out);
        return;
    case CW_SIM_CSV_DECIMAL_COMMA:
        fputs("Zeit (ms)", out);
        for (size_t i = 0; i < channels; i++)
            fprintf(out, ";Kanal %s (mV)", channel_name(sim, i));
        fputs("\r\n", out);
        return;
    case CW_SIM_CSV_TABS:
    case CW_SIM_CSV_DIALECTS:
        break;
    }
    fputs("\"Time\"", out);
    for (size_t i = 0; i < channels; i++)
        fprintf(out, "\t\"Channel %s\"", channel_name(sim, i));
    fputs("\n(us)", out);
    for (size_t i = 0; i < channels; i++)
        fputs("\t(V)", out);
    fputs("\n\n", out);
}

static void csv_row(const cw_sim *sim, cw_sim_csv_dialect dialect, double t_s, const float *samples, FILE *out)
{
    bool comma = dialect == CW_SIM_CSV_DECIMAL_COMMA;
    const char *separator = comma ? ";" : dialect == CW_SIM_CSV_TABS ? "\t" : ",";
    if (dialect == CW_SIM_CSV_PLAIN)
        print_number(out, 9, t_s, false);
    else if (comma)
        print_number(out, 6, 1e3 * t_s, true);
    else if (dialect == CW_SIM_CSV_TABS)
        print_number(out, 3, 1e6 * t_s, false);
    for (size_t i = 0; i < cw_sim_channels(sim); i++) {
        if (i > 0 || dialect != CW_SIM_CSV_PREAMBLE)
            fputs(separator, out);
        double volts = (double)samples[i] * sim->scenario.recorder.full_scale_v;
        print_number(out, comma ? 3 : 6, comma ? 1e3 * volts : volts, comma);
    }
    fputs(comma ? "\r\n" : "\n", out);
}

static cw_status finish(cw_new_file *out, cw_error *err)
{
    if (!ferror(out->stream))
        return cw_new_file_commit(out, err);
    cw_status status = cw_fail(err, CW_FILE, "%s could not be written: %s", out->goal, strerror(errno));
    cw_new_file_abandon(out);
    return status;
}

cw_status cw_sim_write_csv(cw_sim *sim, cw_sim_csv_dialect dialect, const char *path, cw_error *err)
{
    cw_new_file out;
    CW_TRY(cw_new_file_open(path, &out, err));
    float samples[CW_SIM_SENSORS_MOST + 1];
    csv_head(sim, dialect, out.stream);
    cw_sim_rewind(sim);
    for (uint64_t k = 0; cw_sim_read(sim, 1, samples) == 1; k++)
        csv_row(sim, dialect, (double)k / sim->scenario.recorder.rate_hz, samples, out.stream);
    return finish(&out, err);
}

static double tick_of(const char *timescale)
{
    static const struct {
        const char *unit;
        double s;
    } units[] = {{"ns", 1e-9}, {"us", 1e-6}, {"ms", 1e-3}, {"s", 1}};
    char *rest;
    long count = strtol(timescale, &rest, 10);
    while (*rest == ' ')
        rest++;
    for (size_t i = 0; i < sizeof units / sizeof units[0]; i++)
        if (strcmp(rest, units[i].unit) == 0 && (count == 1 || count == 10 || count == 100))
            return (double)count * units[i].s;
    return NAN;
}

cw_status cw_sim_write_vcd(cw_sim *sim, const char *timescale, const char *path, cw_error *err)
{
    double tick_s = tick_of(timescale);
    if (!(tick_s > 0))
        return cw_fail(err, CW_INPUT, "timescale \"%s\"; 1, 10 or 100 of s, ms, us or ns", timescale);
    cw_sim_edge *edges = NULL;
    size_t count = 0;
    CW_TRY(cw_sim_edges(sim, tick_s, &edges, &count, err));
    cw_new_file out;
    cw_status status = cw_new_file_open(path, &out, err);
    if (status != CW_OK) {
        free(edges);
        return status;
    }
    FILE *f = out.stream;
    fprintf(f, "$comment light at a shutter $end\n$timescale %s $end\n$scope module bench $end\n", timescale);
    for (size_t i = 0; i < cw_sim_channels(sim); i++)
        fprintf(f, "$var wire 1 %c %s $end\n", (int)('!' + i), channel_name(sim, i));
    fputs("$upscope $end\n$enddefinitions $end\n#0\n$dumpvars\n", f);
    for (size_t i = 0; i < cw_sim_channels(sim); i++)
        fprintf(f, "0%c\n", (int)('!' + i));
    fputs("$end\n", f);
    for (size_t i = 0; i < count; i++) {
        if (i == 0 || edges[i].at_s != edges[i - 1].at_s)
            fprintf(f, "#%.0f\n", rint(edges[i].at_s / tick_s));
        fprintf(f, "%d%c\n", edges[i].level, (int)('!' + edges[i].channel));
    }
    fprintf(f, "#%.0f\n", rint(cw_sim_length_s(sim) / tick_s));
    free(edges);
    return finish(&out, err);
}

cw_status cw_sim_write_edges(cw_sim *sim, double resolution_s, const char *path, cw_error *err)
{
    cw_sim_edge *edges = NULL;
    size_t count = 0;
    CW_TRY(cw_sim_edges(sim, resolution_s, &edges, &count, err));
    cw_new_file out;
    cw_status status = cw_new_file_open(path, &out, err);
    if (status == CW_OK) {
        for (size_t i = 0; i < count; i++)
            fprintf(out.stream, "%.9f %s %d\n", edges[i].at_s, channel_name(sim, edges[i].channel), edges[i].level);
        status = finish(&out, err);
    }
    free(edges);
    return status;
}
