/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "optics/paraxial.h"

#include <math.h>

/* What one surface adds. y, u: marginal ray; yb, ub: chief ray; slopes before and after. */
static cw_seidel_terms surface_terms(const cw_lens *lens, size_t i, const cw_seidel *rays, double u0, double ub0)
{
    const cw_surface *s = &lens->surface[i];
    double c = s->curvature_per_mm, n0 = cw_lens_index_before(lens, i, CW_LINE_D), n1 = s->n[CW_LINE_D];
    double y = rays->marginal_y[i], yb = rays->chief_y[i], u1 = rays->marginal_u[i], h = rays->lagrange_mm;
    double a = n0 * (u0 + y * c), ab = n0 * (ub0 + yb * c);
    double step = u1 / n1 - u0 / n0, over_n = 1 / n1 - 1 / n0, over_n2 = 1 / (n1 * n1) - 1 / (n0 * n0);
    cw_seidel_terms t = {.s1 = -a * a * y * step,
                         .s2 = -a * ab * y * step,
                         .s3 = -ab * ab * y * step,
                         .s4 = -h * h * c * over_n,
                         /* the form without a division by a, which is zero at an aplanatic or cemented plane */
                         .s5 = -ab * (ab * ab * over_n2 * y - (h + ab * y) * yb * c * over_n)};
    double conic = s->conic * c * c * c * (n1 - n0) * y;
    t.s1 += conic * y * y * y;
    t.s2 += conic * y * y * yb;
    t.s3 += conic * y * yb * yb;
    t.s5 += conic * yb * yb * yb;
    double spread0 = cw_lens_index_before(lens, i, CW_LINE_F) - cw_lens_index_before(lens, i, CW_LINE_C);
    double spread1 = s->n[CW_LINE_F] - s->n[CW_LINE_C];
    t.c1 = a * y * (spread1 / n1 - spread0 / n0);
    t.c2 = ab * y * (spread1 / n1 - spread0 / n0);
    return t;
}

cw_status cw_lens_seidel(const cw_lens *lens, double beam_mm, double half_field_deg, cw_seidel *out, cw_error *err)
{
    cw_pupils pupils;
    CW_TRY(cw_lens_pupils(lens, beam_mm, &pupils, err));
    cw_seidel r = {.sum = {0}};
    double slope = tan(half_field_deg * M_PI / 180), chief0 = -pupils.entrance.position_mm * slope;
    cw_paraxial_ray(lens, CW_LINE_D, beam_mm / 2, 0, r.marginal_y, r.marginal_u);
    cw_paraxial_ray(lens, CW_LINE_D, chief0, slope, r.chief_y, r.chief_u);
    r.lagrange_mm = slope * beam_mm / 2;
    for (size_t i = 0; i < lens->count; i++) {
        double u0 = i == 0 ? 0 : r.marginal_u[i - 1], ub0 = i == 0 ? slope : r.chief_u[i - 1];
        cw_seidel_terms t = surface_terms(lens, i, &r, u0, ub0);
        r.surface[i] = t;
        r.sum.s1 += t.s1;
        r.sum.s2 += t.s2;
        r.sum.s3 += t.s3;
        r.sum.s4 += t.s4;
        r.sum.s5 += t.s5;
        r.sum.c1 += t.c1;
        r.sum.c2 += t.c2;
    }
    *out = r;
    return CW_OK;
}
