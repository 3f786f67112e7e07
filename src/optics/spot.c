/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "optics/spot.h"

#include <math.h>

static const double pi = 3.14159265358979323846;

typedef struct {
    double x[CW_SPOT_RAYS], y[CW_SPOT_RAYS], z[CW_SPOT_RAYS], l[CW_SPOT_RAYS], m[CW_SPOT_RAYS], n[CW_SPOT_RAYS];
} bundle;

static cw_rays rays_of(bundle *b)
{
    return (cw_rays){b->x, b->y, b->z, b->l, b->m, b->n};
}

static void start_bundle(bundle *b, const cw_pupil *entrance, double field_deg)
{
    double theta = field_deg * pi / 180, radius = entrance->diameter_mm / 2;
    double lift = -entrance->position_mm * tan(theta); /* so that the pupil's centre is met */
    size_t at = 0;
    for (int ring = 0; ring <= 6; ring++)
        for (int k = 0; k < (ring == 0 ? 1 : 6 * ring); k++, at++) {
            double rho = radius * ring / 6, angle = ring == 0 ? 0 : 2 * pi * k / (6 * ring);
            b->x[at] = rho * sin(angle);
            b->y[at] = rho * cos(angle) + lift;
            b->z[at] = 0;
            b->l[at] = 0;
            b->m[at] = sin(theta);
            b->n[at] = cos(theta);
        }
}

/* Left of the first surface's deepest point, so that a hollow front is met from outside: the start moves back along its
 * own direction, which changes nothing else. */
static void step_back(bundle *b, double distance)
{
    for (size_t i = 0; i < CW_SPOT_RAYS; i++) {
        b->x[i] -= distance * b->l[i];
        b->y[i] -= distance * b->m[i];
        b->z[i] -= distance * b->n[i];
    }
}

cw_status cw_lens_spot(const cw_train *train, const cw_pupil *entrance, double field_deg, double image_mm, cw_spot *out,
                       cw_error *err)
{
    bundle b;
    start_bundle(&b, entrance, field_deg);
    step_back(&b, entrance->diameter_mm);
    cw_trace_rays(train, CW_SPOT_RAYS, rays_of(&b), image_mm);
    cw_spot s = {.field_deg = field_deg, .rays = CW_SPOT_RAYS};
    double mean_x = 0, mean_y = 0, mean_p = 0, mean_q = 0;
    size_t n = 0;
    for (size_t i = 0; i < CW_SPOT_RAYS; i++) {
        if (isnan(b.n[i]))
            continue;
        s.x_mm[n] = b.x[i];
        s.y_mm[n] = b.y[i];
        b.l[n] = b.l[i] / b.n[i];
        b.m[n] = b.m[i] / b.n[i];
        mean_x += s.x_mm[n];
        mean_y += s.y_mm[n];
        mean_p += b.l[n];
        mean_q += b.m[n];
        n++;
    }
    if (n < 3)
        return cw_fail(err, CW_RANGE,
                       "at %g degrees only %zu of %d rays come through the lens; there is no spot to speak "
                       "of. Give a smaller field or beam",
                       field_deg, n, CW_SPOT_RAYS);
    double count = (double)n, xx = 0, xp = 0, pp = 0;
    mean_x /= count;
    mean_y /= count;
    mean_p /= count;
    mean_q /= count;
    for (size_t i = 0; i < n; i++) {
        double dx = s.x_mm[i] - mean_x, dy = s.y_mm[i] - mean_y, dp = b.l[i] - mean_p, dq = b.m[i] - mean_q;
        xx += dx * dx + dy * dy;
        xp += dx * dp + dy * dq;
        pp += dp * dp + dq * dq;
    }
    s.lost = CW_SPOT_RAYS - n;
    s.points = n;
    s.rms_mm = sqrt(xx / count);
    s.centroid_mm = mean_y;
    s.best_shift_mm = pp > 0 ? -xp / pp : 0;
    s.best_rms_mm = sqrt(fmax(0, xx + s.best_shift_mm * xp) / count);
    *out = s;
    return CW_OK;
}

cw_status cw_axial_fan(const cw_train *train, size_t count, const double *heights_mm, double image_mm,
                       cw_axial_ray *out, cw_error *err)
{
    for (size_t i = 0; i < count; i++) {
        cw_ray start = {.y = heights_mm[i], .z = -2 * fabs(heights_mm[i]), .n = 1}, end;
        size_t surface;
        cw_ray_fate fate = cw_trace_ray(train, start, image_mm, &end, &surface);
        if (fate != CW_RAY_THROUGH) {
            char words[96];
            cw_ray_fate_text(fate, surface, words, sizeof words);
            return cw_fail(err, CW_RANGE,
                           "the axial ray at height %g mm %s. Is the beam too wide for this lens, or a "
                           "radius in the wrong unit?",
                           heights_mm[i], words);
        }
        out[i] = (cw_axial_ray){heights_mm[i], end.y, end.m, end.n};
    }
    return CW_OK;
}

cw_status cw_axial_spot(const cw_train *train, double beam_mm, double image_mm, double *rms_mm, double *best_mm,
                        cw_error *err)
{
    double heights[CW_AXIAL_RAYS], yy = 0, yp = 0, pp = 0;
    for (int i = 0; i < CW_AXIAL_RAYS; i++)
        heights[i] = beam_mm / 2 * sqrt((i + 0.5) / CW_AXIAL_RAYS);
    cw_axial_ray rays[CW_AXIAL_RAYS];
    CW_TRY(cw_axial_fan(train, CW_AXIAL_RAYS, heights, image_mm, rays, err));
    for (int i = 0; i < CW_AXIAL_RAYS; i++) {
        double slope = rays[i].m / rays[i].n;
        yy += rays[i].y_image_mm * rays[i].y_image_mm;
        yp += rays[i].y_image_mm * slope;
        pp += slope * slope;
    }
    double shift = pp > 0 ? -yp / pp : 0;
    *rms_mm = sqrt(fmax(0, yy + shift * yp) / CW_AXIAL_RAYS);
    *best_mm = image_mm + shift;
    return CW_OK;
}
