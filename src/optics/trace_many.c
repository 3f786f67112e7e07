/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The same walk as trace.c for blocks of rays. No branch depends on a ray: a lost ray becomes NaN by itself (the root
 * of a negative number) and stays NaN. One body, compiled for each vector width. */
#include "optics/trace.h"

#include <math.h>

enum { BLOCK = 64, VECTOR = 8 };

typedef struct {
    double x[BLOCK], y[BLOCK], z[BLOCK], l[BLOCK], m[BLOCK], n[BLOCK];
} block;

#define ALWAYS_INLINE static inline __attribute__((always_inline))

/* A sphere: the direction's cosine with the normal is the root of the crossing itself, and the normal has length 1. */
ALWAYS_INLINE void cross_sphere(block *restrict r, int lanes, double c, double ratio, double clear2, double thickness)
{
#pragma omp simd
    for (int i = 0; i < lanes; i++) {
        double x = r->x[i], y = r->y[i], z = r->z[i], l = r->l[i], m = r->m[i], n = r->n[i];
        double b = n - c * (x * l + y * m + z * n);
        double q = c * (x * x + y * y + z * z) - 2 * z;
        double cosine = sqrt(b * b - c * q);
        double s = q / (b + cosine);
        x += s * l;
        y += s * m;
        z += s * n;
        double after2 = 1 - ratio * ratio * (1 - cosine * cosine);
        /* outside the clear rim or beyond the equator: made NaN through the root below */
        after2 = x * x + y * y > clear2 || c * z >= 1 ? -1 : after2;
        double g = sqrt(after2) - ratio * cosine;
        double gc = g * c;
        r->x[i] = x;
        r->y[i] = y;
        r->l[i] = ratio * l - gc * x;
        r->m[i] = ratio * m - gc * y;
        r->n[i] = ratio * n + g - gc * z;
        r->z[i] = z - thickness;
    }
}

ALWAYS_INLINE void cross_conic(block *restrict r, int lanes, double c, double k1, double ratio, double clear2,
                               double thickness)
{
#pragma omp simd
    for (int i = 0; i < lanes; i++) {
        double x = r->x[i], y = r->y[i], z = r->z[i], l = r->l[i], m = r->m[i], n = r->n[i];
        double a = c * (l * l + m * m + k1 * n * n);
        double b = n - c * (x * l + y * m + k1 * z * n);
        double q = c * (x * x + y * y + k1 * z * z) - 2 * z;
        double s = q / (b + sqrt(b * b - a * q));
        x += s * l;
        y += s * m;
        z += s * n;
        double nx = -c * x, ny = -c * y, nz = 1 - c * k1 * z;
        double scale = 1 / sqrt(nx * nx + ny * ny + nz * nz);
        double cosine = (nx * l + ny * m + nz * n) * scale;
        double after2 = 1 - ratio * ratio * (1 - cosine * cosine);
        after2 = x * x + y * y > clear2 || nz <= 0 || cosine <= 0 ? -1 : after2;
        double g = (sqrt(after2) - ratio * cosine) * scale;
        r->x[i] = x;
        r->y[i] = y;
        r->l[i] = ratio * l + g * nx;
        r->m[i] = ratio * m + g * ny;
        r->n[i] = ratio * n + g * nz;
        r->z[i] = z - thickness;
    }
}

/* All surfaces, then the image plane. A ray lost on the way has a NaN direction; its place is made NaN with it. */
ALWAYS_INLINE void walk(const cw_train *t, block *restrict r, int wanted, double image_mm)
{
    int lanes = (wanted + VECTOR - 1) / VECTOR * VECTOR; /* whole vectors, no rest loop */
    for (size_t i = 0; i < t->count; i++) {
        double thickness = i + 1 < t->count ? t->thickness[i] : 0;
        if (t->k1[i] == 1)
            cross_sphere(r, lanes, t->c[i], t->ratio[i], t->clear2[i], thickness);
        else
            cross_conic(r, lanes, t->c[i], t->k1[i], t->ratio[i], t->clear2[i], thickness);
    }
#pragma omp simd
    for (int i = 0; i < lanes; i++) {
        double n = r->n[i] > 1e-12 ? r->n[i] : NAN;
        double s = (image_mm - r->z[i]) / n;
        r->x[i] += s * r->l[i];
        r->y[i] += s * r->m[i];
        r->z[i] = image_mm + 0 * n;
        r->l[i] += 0 * n;
        r->m[i] += 0 * n;
        r->n[i] = n;
    }
}

static void walk_plain(const cw_train *t, block *restrict r, int lanes, double image_mm)
{
    walk(t, r, lanes, image_mm);
}

#if defined(__x86_64__) && defined(__GNUC__)
__attribute__((target("avx2,fma"))) static void walk_avx2(const cw_train *t, block *restrict r, int lanes,
                                                          double image_mm)
{
    walk(t, r, lanes, image_mm);
}

__attribute__((target("avx512f,avx512dq,avx512vl,fma,prefer-vector-width=512"))) static void
walk_avx512(const cw_train *t, block *restrict r, int lanes, double image_mm)
{
    walk(t, r, lanes, image_mm);
}
#endif

typedef void walk_function(const cw_train *t, block *restrict r, int lanes, double image_mm);

static walk_function *choose_walk(const char **name)
{
#if defined(__x86_64__) && defined(__GNUC__)
    if (__builtin_cpu_supports("avx512f") && __builtin_cpu_supports("avx512dq") && __builtin_cpu_supports("avx512vl")) {
        *name = "avx512";
        return walk_avx512;
    }
    if (__builtin_cpu_supports("avx2") && __builtin_cpu_supports("fma")) {
        *name = "avx2";
        return walk_avx2;
    }
#endif
    *name = "plain";
    return walk_plain;
}

const char *cw_trace_kernel(void)
{
    const char *name;
    choose_walk(&name);
    return name;
}

static void load(block *r, cw_rays rays, size_t from, size_t count)
{
    for (size_t i = 0; i < (count + VECTOR - 1) / VECTOR * VECTOR; i++) {
        size_t j = from + (i < count ? i : 0); /* idle lanes repeat the first ray */
        r->x[i] = rays.x[j];
        r->y[i] = rays.y[j];
        r->z[i] = rays.z[j];
        r->l[i] = rays.l[j];
        r->m[i] = rays.m[j];
        r->n[i] = rays.n[j];
    }
}

static void store(const block *r, cw_rays rays, size_t from, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        rays.x[from + i] = r->x[i];
        rays.y[from + i] = r->y[i];
        rays.z[from + i] = r->z[i];
        rays.l[from + i] = r->l[i];
        rays.m[from + i] = r->m[i];
        rays.n[from + i] = r->n[i];
    }
}

void cw_trace_rays(const cw_train *train, size_t count, cw_rays rays, double image_mm)
{
    const char *name;
    walk_function *run = choose_walk(&name);
    block r;
    for (size_t from = 0; from < count; from += BLOCK) {
        size_t lanes = count - from < BLOCK ? count - from : BLOCK;
        load(&r, rays, from, lanes);
        run(train, &r, (int)lanes, image_mm);
        store(&r, rays, from, lanes);
    }
}
