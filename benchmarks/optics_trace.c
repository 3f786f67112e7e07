/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Ray-surface crossings a second on one core: the block tracer against a plain loop over the same rays with the single
 * tracer, and against the floating-point peak measured in the same run. The answers are compared. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#include "optics/support.h"

#include "optics/trace.h"

enum { RAYS = 1024, LANES = 8, CHAINS = 12 };

/* Additions, multiplications, divisions and roots of one crossing of a sphere in trace_many.c, each counted once. */
static const double operations_a_crossing = 49;

static double now_s(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

typedef double lanes __attribute__((vector_size(LANES * sizeof(double))));

/* Independent chains of a x + b, enough to hide the latency: nothing but the multiply-add units is in the way. */
#define PEAK_BODY                                                                                                      \
    lanes a[CHAINS], x = {0}, y = {0};                                                                                 \
    for (int k = 0; k < LANES; k++) {                                                                                  \
        x[k] = 0.999999;                                                                                               \
        y[k] = 1e-9;                                                                                                   \
    }                                                                                                                  \
    for (int c = 0; c < CHAINS; c++)                                                                                   \
        a[c] = x * (double)(c + 1);                                                                                    \
    for (long i = 0; i < rounds; i++)                                                                                  \
        for (int c = 0; c < CHAINS; c++)                                                                               \
            a[c] = a[c] * x + y;                                                                                       \
    double sum = 0;                                                                                                    \
    for (int c = 0; c < CHAINS; c++)                                                                                   \
        for (int k = 0; k < LANES; k++)                                                                                \
            sum += a[c][k];                                                                                            \
    return sum;

static double peak_plain(long rounds)
{
    PEAK_BODY
}
#if defined(__x86_64__)
__attribute__((target("avx2,fma"), optimize("unroll-loops"))) static double peak_avx2(long rounds)
{
    PEAK_BODY
}
__attribute__((target("avx512f,fma,prefer-vector-width=512"), optimize("unroll-loops"))) static double
peak_avx512(long rounds)
{
    PEAK_BODY
}
#endif

static double peak_flops(volatile double *sink)
{
    double (*run)(long) = peak_plain;
#if defined(__x86_64__)
    if (strcmp(cw_trace_kernel(), "avx512") == 0)
        run = peak_avx512;
    else if (strcmp(cw_trace_kernel(), "avx2") == 0)
        run = peak_avx2;
#endif
    long rounds = 1000000;
    double best = 0;
    for (int k = 0; k < 5; k++) {
        double start = now_s();
        *sink += run(rounds);
        best = fmax(best, 2.0 * (double)rounds * CHAINS * LANES / (now_s() - start));
    }
    return best;
}

typedef struct {
    double x[RAYS], y[RAYS], z[RAYS], l[RAYS], m[RAYS], n[RAYS];
} bundle;

static void fill(bundle *b, double radius)
{
    for (size_t i = 0; i < RAYS; i++) {
        double u = 2 * (double)(i % 32) / 31 - 1, v = 2 * (double)(i / 32) / 31 - 1, s = 0.08;
        b->x[i] = 0.7 * radius * u;
        b->y[i] = 0.7 * radius * v;
        b->z[i] = -5;
        b->l[i] = 0;
        b->m[i] = s;
        b->n[i] = sqrt(1 - s * s);
    }
}

static double best_rate(const cw_train *train, const bundle *from, bool blocks, double *check)
{
    static bundle b;
    double best = 0;
    for (int k = 0; k < 7; k++) {
        long crossings = 0;
        double start = now_s(), used;
        do {
            b = *from;
            if (blocks) {
                cw_trace_rays(train, RAYS, (cw_rays){b.x, b.y, b.z, b.l, b.m, b.n}, 40);
            } else {
                for (size_t i = 0; i < RAYS; i++) {
                    cw_ray end;
                    size_t at;
                    cw_trace_ray(train, (cw_ray){b.x[i], b.y[i], b.z[i], b.l[i], b.m[i], b.n[i]}, 40, &end, &at);
                    b.y[i] = end.y;
                }
            }
            crossings += (long)(RAYS * train->count);
            used = now_s() - start;
        } while (used < 0.15);
        best = fmax(best, (double)crossings / used);
    }
    *check = 0;
    for (size_t i = 0; i < RAYS; i++)
        *check += b.y[i];
    return best;
}

int main(void)
{
    cw_lens lens = load_lens("double-gauss-f5");
    cw_train train;
    cw_error err;
    static bundle rays;
    volatile double sink = 0;
    if (cw_train_of(&lens, CW_LINE_D, false, &train, &err) != CW_OK)
        return 1;
    fill(&rays, 8);
    double check_one, check_blocks, peak = peak_flops(&sink);
    double one = best_rate(&train, &rays, false, &check_one), blocks = best_rate(&train, &rays, true, &check_blocks);
    if (!(fabs(check_one - check_blocks) < 1e-7)) {
        fprintf(stderr, "the two tracers disagree: %.12g and %.12g\n", check_one, check_blocks);
        return 1;
    }
    printf("double Gauss, %zu surfaces, %d rays, one core, kernel %s\n", train.count, RAYS, cw_trace_kernel());
    printf("  plain loop            %8.1f million crossings a second\n", one / 1e6);
    printf("  blocks                %8.1f million crossings a second, %.1f times the plain loop\n", blocks / 1e6,
           blocks / one);
    printf("  floating-point peak   %8.1f billion operations a second (multiply-add counted as two)\n", peak / 1e9);
    printf("  blocks at             %8.1f billion, %.0f %% of the peak (%.0f operations a crossing, a division or a "
           "root as one)\n",
           blocks * operations_a_crossing / 1e9, 100 * blocks * operations_a_crossing / peak, operations_a_crossing);
    return 0;
}
