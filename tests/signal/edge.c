/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Edge instants against the Cramer-Rao bound, which is worked out here from the edge itself:
 * var >= sigma^2 / (f_s integral s'^2 dt) (Kay, Fundamentals of Statistical Signal Processing I, chapter 3). */
#include "signal/edge.h"

#include <math.h>

#include "support/check.h"

enum { SAMPLES = 400, TRIES = 300 };
static const double RATE_HZ = 96000;

typedef enum { RAMP, BELL, POLE, DISC } edge_kind;

/* Straight ramp of length 100 us, bell curve of sd 30 us, one pole of 40 us, a disc of 150 us across. */
static double edge_value(edge_kind kind, double t)
{
    if (kind == RAMP)
        return fmin(fmax(t / 100e-6 + 0.5, 0), 1);
    if (kind == BELL)
        return 0.5 * erfc(-t / 30e-6 / sqrt(2));
    if (kind == POLE)
        return t < 0 ? 0 : -expm1(-t / 40e-6);
    double z = fmin(fmax(t / 75e-6, -1), 1); /* area of a unit disc left of z, over pi */
    return 0.5 + (asin(z) + z * sqrt(1 - z * z)) / M_PI;
}

static double bound(edge_kind kind, double sigma)
{
    double sum = 0, h = 1e-8;
    for (double t = -400e-6; t < 800e-6; t += h) {
        double slope = (edge_value(kind, t + h) - edge_value(kind, t)) / h;
        sum += slope * slope * h;
    }
    return sigma / sqrt(RATE_HZ * sum);
}

/* rms error of the mid instant over the bound, and rms of error over the stated u. */
static void try_edges(edge_kind kind, double snr_db, bool falling, double *over_bound, double *over_u)
{
    check_random random = {.state = 20481 + (uint64_t)kind};
    double sigma = pow(10, -snr_db / 20), squares = 0, squares_u = 0;
    double mid = kind == POLE ? 40e-6 * log(2) : 0; /* true 50 % instant, from the edge's start */
    for (int n = 0; n < TRIES; n++) {
        double at[SAMPLES], value[SAMPLES], frames[SAMPLES], place = 2e-3 + check_uniform(&random) / RATE_HZ;
        for (int i = 0; i < SAMPLES; i++) {
            at[i] = i / RATE_HZ;
            double e = edge_value(kind, at[i] - place);
            value[i] = (falling ? 1 - e : e) + sigma * check_gaussian(&random);
            frames[i] = 1;
        }
        cw_edge_data data = {.count = SAMPLES,
                             .at_s = at,
                             .frames = frames,
                             .value = value,
                             .interval_s = 1 / RATE_HZ,
                             .noise = sigma,
                             .colour = 1,
                             .before = {falling, INFINITY},
                             .after = {!falling, INFINITY},
                             .near_s = 2e-3 + mid,
                             .about_s = 90e-6};
        cw_edge_fit fit;
        cw_error err;
        assert_ok(cw_edge_find(&data, &fit, &err), &err);
        double off = fit.mid_s.value - place - mid;
        squares += off * off;
        squares_u += off * off / (fit.mid_s.u * fit.mid_s.u);
    }
    *over_bound = sqrt(squares / TRIES) / bound(kind, sigma);
    *over_u = sqrt(squares_u / TRIES);
}

static void symmetric_edges_come_near_the_bound(void **state)
{
    (void)state;
    static const double snr_db[] = {30, 40, 50};
    for (size_t k = 0; k < CW_COUNT(snr_db); k++)
        for (int kind = RAMP; kind <= DISC; kind++) {
            if (kind == POLE)
                continue;
            double over_bound, over_u;
            try_edges((edge_kind)kind, snr_db[k], k % 2 == 1, &over_bound, &over_u);
            print_message("kind %d, %.0f dB: %.3f of the bound, rms(error/u) %.2f\n", kind, snr_db[k], over_bound,
                          over_u);
            /* the goal; 300 tries know an rms to 4 %, so below 0.88 the bound
             * itself would be wrong */
            assert_true(over_bound > 0.88 && over_bound < 1.3);
            assert_true(over_u > 0.6 && over_u < 1.35);
        }
}

/* The kink where a pole begins is sharper than any detector's; its 50 % instant is not its start, and the stated u must
 * cover that. */
static void the_uncertainty_of_a_lagging_edge_is_honest(void **state)
{
    (void)state;
    double over_bound, over_u;
    try_edges(POLE, 40, false, &over_bound, &over_u);
    print_message("pole: %.3f of the bound of its start, rms(error/u) %.2f\n", over_bound, over_u);
    assert_true(over_u > 0.5 && over_u < 1.5);
}

CHECK_MAIN(cmocka_unit_test(symmetric_edges_come_near_the_bound),
           cmocka_unit_test(the_uncertainty_of_a_lagging_edge_is_honest))
