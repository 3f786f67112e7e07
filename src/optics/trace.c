/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "optics/trace.h"

#include <math.h>
#include <stdio.h>

cw_status cw_train_of(const cw_lens *lens, cw_line_name line, bool clip, cw_train *train, cw_error *err)
{
    cw_train t = {.count = lens->count};
    for (size_t i = 0; i < lens->count; i++) {
        const cw_surface *s = &lens->surface[i];
        t.c[i] = s->curvature_per_mm;
        t.k1[i] = 1 + s->conic;
        t.thickness[i] = s->thickness_mm;
        t.ratio[i] = cw_lens_index_before(lens, i, line) / s->n[line];
        if (!isfinite(t.ratio[i]))
            return cw_fail(err, CW_RANGE,
                           "surface %zu: the index at this spectral line is not known; give n_F and n_C, "
                           "or v_d",
                           i + 1);
        t.clear2[i] = clip && isfinite(s->semi_diameter_mm) ? s->semi_diameter_mm * s->semi_diameter_mm : INFINITY;
    }
    *train = t;
    return CW_OK;
}

/* Along the ray s: c (x^2 + y^2 + k1 z^2) - 2 z = 0 becomes a s^2 - 2 b s + q = 0; the crossing next to the vertex is
 * s = q / (b + sqrt(b^2 - a q)), which holds for a plane too. The normal points with the light. */
static cw_ray_fate cross_surface(const cw_train *t, size_t i, cw_ray *r)
{
    double c = t->c[i], k1 = t->k1[i];
    double a = c * (r->l * r->l + r->m * r->m + k1 * r->n * r->n);
    double b = r->n - c * (r->x * r->l + r->y * r->m + k1 * r->z * r->n);
    double q = c * (r->x * r->x + r->y * r->y + k1 * r->z * r->z) - 2 * r->z;
    double root2 = b * b - a * q;
    if (!(root2 >= 0))
        return CW_RAY_MISSED;
    double s = q / (b + sqrt(root2));
    r->x += s * r->l;
    r->y += s * r->m;
    r->z += s * r->n;
    if (r->x * r->x + r->y * r->y > t->clear2[i])
        return CW_RAY_CLIPPED;
    double nx = -c * r->x, ny = -c * r->y, nz = 1 - c * k1 * r->z;
    double scale = 1 / sqrt(nx * nx + ny * ny + nz * nz);
    double cosine = (nx * r->l + ny * r->m + nz * r->n) * scale;
    if (!(nz > 0) || !(cosine > 0))
        return CW_RAY_MISSED; /* the far side of the ball, or past the rim */
    double ratio = t->ratio[i];
    double after2 = 1 - ratio * ratio * (1 - cosine * cosine);
    if (!(after2 >= 0))
        return CW_RAY_REFLECTED;
    double g = (sqrt(after2) - ratio * cosine) * scale;
    r->l = ratio * r->l + g * nx;
    r->m = ratio * r->m + g * ny;
    r->n = ratio * r->n + g * nz;
    return CW_RAY_THROUGH;
}

cw_ray_fate cw_trace_path(const cw_train *train, cw_ray start, double image_mm, cw_ray *at, size_t *reached)
{
    cw_ray r = start;
    for (size_t i = 0; i < train->count; i++) {
        cw_ray_fate fate = cross_surface(train, i, &r);
        *reached = i;
        if (fate != CW_RAY_THROUGH)
            return fate;
        at[i] = r;
        if (i + 1 < train->count)
            r.z -= train->thickness[i];
    }
    *reached = train->count;
    if (!(r.n > 1e-12))
        return CW_RAY_MISSED; /* runs along the image plane, never meets it */
    double s = (image_mm - r.z) / r.n;
    at[train->count] = (cw_ray){r.x + s * r.l, r.y + s * r.m, image_mm, r.l, r.m, r.n};
    *reached = train->count + 1;
    return CW_RAY_THROUGH;
}

cw_ray_fate cw_trace_ray(const cw_train *train, cw_ray start, double image_mm, cw_ray *end, size_t *surface)
{
    cw_ray at[CW_LENS_SURFACES + 1];
    size_t reached;
    cw_ray_fate fate = cw_trace_path(train, start, image_mm, at, &reached);
    *surface = reached < train->count ? reached : train->count - 1;
    if (fate == CW_RAY_THROUGH)
        *end = at[train->count];
    return fate;
}

void cw_ray_fate_text(cw_ray_fate fate, size_t surface, char *out, size_t size)
{
    switch (fate) {
    case CW_RAY_MISSED:
        snprintf(out, size, "misses the glass at surface %zu", surface + 1);
        return;
    case CW_RAY_REFLECTED:
        snprintf(out, size, "is totally reflected inside at surface %zu", surface + 1);
        return;
    case CW_RAY_CLIPPED:
        snprintf(out, size, "is stopped by the rim of surface %zu", surface + 1);
        return;
    case CW_RAY_THROUGH:
        break;
    }
    snprintf(out, size, "comes through");
}
