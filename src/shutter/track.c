/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How a curtain edge runs, and what the exposure grows by between two places because of it. */
#include <math.h>

#include "shutter/inner.h"

/* sqrt(u + rest) - sqrt(rest), written so that a long run-up (rest large: nearly even speed) costs no digits. */
static double root_step(double u, double rest)
{
    return u / (sqrt(u + rest) + sqrt(rest));
}

/* The run from rest up to u, in a unit of its own. A pull that falls by the share `fade` from start to end of the way
 * makes it a piece of a swing: s = (1 - cos(w t)) L / fade. */
static double run_to(const cw_track *track, double u)
{
    double share = track->fade / (1 + track->rest) / 2;
    if (!(track->fade > 0))
        return root_step(u, track->rest);
    return asin(sqrt(share * (u + track->rest))) - asin(sqrt(share * track->rest));
}

double cw_track_delay(const cw_track *track, double u)
{
    double root = track->root_s != 0 && u > 0 ? run_to(track, u) / run_to(track, 1) : 0;
    return track->root_s * root + track->even_s * u + track->bow_s * u * (1 - u) + track->drag_s * u * u * u;
}

double cw_track_travel(const cw_track *track)
{
    return track->root_s + track->even_s + track->drag_s;
}

double cw_track_bow(const cw_track *track)
{
    return 4 * (cw_track_delay(track, 0.5) - cw_track_travel(track) / 2);
}

static double difference(const cw_track *first, const cw_track *second, const double extra_s[2], double u)
{
    return cw_track_delay(second, u) - cw_track_delay(first, u) + extra_s[0] * u + extra_s[1] * u * (1 - u);
}

static double inside_u(const cw_shape *shape, double x_mm)
{
    double u = x_mm / shape->frame_mm;
    return shape->reversed ? 1 - u : u;
}

double cw_shape_step(const cw_shape *shape, double from_mm, double to_mm)
{
    double from = inside_u(shape, from_mm), to = inside_u(shape, to_mm);
    return difference(&shape->first, &shape->second, shape->extra_s, to) -
           difference(&shape->first, &shape->second, shape->extra_s, from);
}

double cw_shape_gap(const cw_shape *shape, const cw_other_run *other, double x_mm)
{
    double u = inside_u(shape, x_mm);
    return difference(&other->first, &other->second, other->extra_s, u) -
           difference(&shape->first, &shape->second, shape->extra_s, u);
}

void cw_shape_set_gaps(cw_shape *shape, size_t sensors, const double *u)
{
    for (size_t k = 0; k < shape->other_count; k++) {
        cw_other_run *other = &shape->others[k];
        other->mean_gap_s = 0;
        for (size_t i = 0; i < sensors; i++)
            other->mean_gap_s += (difference(&other->first, &other->second, other->extra_s, u[i]) -
                                  difference(&shape->first, &shape->second, shape->extra_s, u[i])) /
                                 (double)sensors;
    }
}

double cw_shape_step_noise(const cw_shape *shape, double from_mm, double to_mm)
{
    bool from_all = isnan(from_mm);
    double to = inside_u(shape, to_mm), from = from_all ? shape->mean_u : inside_u(shape, from_mm);
    double v = to - from, w = to * (1 - to) - (from_all ? shape->mean_bow : from * (1 - from));
    const double *c = shape->covariance;
    return sqrt(fmax(v * v * c[0] + 2 * v * w * c[1] + w * w * c[2], 0));
}

double cw_shape_step_u(const cw_shape *shape, double from_mm, double to_mm)
{
    bool from_all = isnan(from_mm);
    double to = inside_u(shape, to_mm), form = 0;
    for (size_t k = 0; k < shape->other_count; k++) {
        const cw_other_run *other = &shape->others[k];
        double gap =
            cw_shape_gap(shape, other, to_mm) - (from_all ? other->mean_gap_s : cw_shape_gap(shape, other, from_mm));
        form += other->weight * gap * gap;
    }
    if (from_mm != to_mm)
        form += shape->u_misfit_s * shape->u_misfit_s;
    double fit = cw_shape_step_noise(shape, from_mm, to_mm);
    double bow = shape->u_bow_s * (to * (1 - to) - shape->chord[0] - shape->chord[1] * to);
    return sqrt(fit * fit + form + bow * bow);
}
