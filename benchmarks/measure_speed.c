/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What measuring a WAV costs against what libsndfile alone takes to read and convert the same file to float. Goal: at
 * most 2. The fastest of several rounds of each, in turn, so that a busy machine hurts both alike. The shots found are
 * checked against those fired. */
#include <gsl/gsl_errno.h>
#include <sndfile.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "shutter/measure.h"
#include "sim/sim.h"

typedef struct {
    const char *name;
    double rate_hz, pause_s, ac_tau_s;
    unsigned bits;
    size_t sensors, shots;
    double slowest_s;
} variant;

static const variant VARIANTS[] = {
    {"3 sensors, 96 kHz, 24 bit, a shot every 3 s", 96000, 3, 0, 24, 3, 4, 0.5},
    {"3 sensors, 96 kHz, 16 bit, a shot every 0.5 s", 96000, 0.5, 0, 16, 3, 12, 0.125},
    {"1 sensor, 48 kHz, 16 bit, a shot every 0.3 s", 48000, 0.3, 0, 16, 1, 20, 0.125},
    {"4 sensors, 192 kHz, 24 bit, a shot every 0.3 s", 192000, 0.3, 0, 24, 4, 12, 0.125},
    {"2 sensors, 96 kHz, 16 bit, AC coupled", 96000, 0.6, 0.03, 16, 2, 10, 0.5},
};

static double now_s(void)
{
    struct timespec t;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t); /* of this process: another one on the machine does not count */
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static double read_only(const char *path, double *checksum)
{
    static float block[1 << 14];
    double start = now_s(), sum = 0;
    SF_INFO info = {0};
    SNDFILE *file = sf_open(path, SFM_READ, &info);
    if (file == NULL)
        return -1;
    sf_count_t at_once = (sf_count_t)(sizeof block / sizeof *block) / info.channels, n;
    while ((n = sf_readf_float(file, block, at_once)) > 0)
        sum += (double)block[0];
    sf_close(file);
    *checksum += sum;
    return now_s() - start;
}

static double measure_it(const char *path, const cw_measure_setup *setup, size_t *shots)
{
    cw_error err;
    cw_source *source;
    cw_measurement *m;
    double start = now_s();
    if (cw_source_open(path, NULL, &source, &err) != CW_OK || cw_measure(source, setup, &m, &err) != CW_OK) {
        fprintf(stderr, "%s\n", err.text);
        return -1;
    }
    *shots = m->shot_count;
    cw_measurement_free(m);
    cw_source_close(source);
    return now_s() - start;
}

static int run(const variant *v, double *checksum)
{
    static const double marks[] = {1 / 30., 1 / 125., 1 / 500., 1 / 1000.};
    cw_sim_scenario scenario;
    cw_sim_focal_plane(&scenario);
    scenario.recorder.rate_hz = v->rate_hz;
    scenario.recorder.bits = v->bits;
    scenario.pause_s = v->pause_s;
    scenario.detector.ac_tau_s = v->ac_tau_s;
    scenario.beam.sensors = v->sensors;
    for (size_t i = 0; i < v->sensors; i++)
        scenario.beam.position_mm[i] = 4 + 28. * (double)i / (double)(v->sensors > 1 ? v->sensors - 1 : 1);
    scenario.speed_count = 5;
    scenario.speeds[0] = (cw_sim_speed){v->slowest_s, v->shots, 0};
    for (size_t i = 0; i < 4; i++)
        scenario.speeds[i + 1] = (cw_sim_speed){marks[i], v->shots, 0};
    char path[] = "/tmp/bench-speed-XXXXXX.wav";
    cw_error err;
    cw_sim *sim = NULL;
    int file = mkstemps(path, 4);
    if (file < 0 || cw_sim_new(&scenario, &sim, &err) != CW_OK || cw_sim_write_wav(sim, path, &err) != CW_OK) {
        fprintf(stderr, "%s: cannot be made\n", v->name);
        return 1;
    }
    close(file);
    cw_measure_setup setup = {.kind = CW_SHUTTER_FOCAL_PLANE, .sensor_count = v->sensors};
    memcpy(setup.sensors_mm, scenario.beam.position_mm, v->sensors * sizeof(double));
    double best_read = 1e9, best_measure = 1e9;
    size_t shots = 0;
    for (int round = 0; round < 9; round++) {
        double t = read_only(path, checksum), u = measure_it(path, &setup, &shots);
        best_read = t < best_read ? t : best_read;
        best_measure = u < best_measure ? u : best_measure;
    }
    unlink(path);
    size_t fired = cw_sim_shot_count(sim);
    printf("%-50s %7.1f s  read %7.2f ms  measure %7.2f ms  ratio %.2f  shots %zu of %zu\n", v->name,
           cw_sim_length_s(sim), best_read * 1e3, best_measure * 1e3, best_measure / best_read, shots, fired);
    cw_sim_free(sim);
    return shots != fired;
}

int main(void)
{
    gsl_set_error_handler_off();
    double checksum = 0;
    int wrong = 0;
    for (size_t i = 0; i < CW_COUNT(VARIANTS); i++)
        wrong += run(&VARIANTS[i], &checksum);
    printf("(checksum %.6g)\n", checksum);
    return wrong > 0;
}
