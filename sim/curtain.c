/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/inside.h"

#include <math.h>
#include <stdlib.h>

/* 5 us: with accelerations of a few hundred m/s2 the cubic between two steps is right to well under a nanometre. */
static const double STEP_S = 5e-6;
static const double LONGEST_S = 1.0;      /* a curtain that is still under way then is stuck, not slow */
static const double AT_REST_MM_S = 20;    /* a rebound slower than this is over */
static const size_t POINTS_MOST = 200002; /* LONGEST_S / STEP_S and the ends */

double cw_sim_acceleration(double travel_s, double frame_mm, double start_mm)
{
    double root = (sqrt(frame_mm + start_mm) - sqrt(start_mm)) / travel_s;
    return 2e-3 * root * root;
}

/* Whether the dry friction acts is settled for a whole step, so that no step straddles the place where it begins. */
static double acceleration(const cw_sim_curtain *c, double frame_mm, bool rubs, double x, double v)
{
    double run_down = 1 - c->relaxation * (x + c->start_mm) / (frame_mm + c->start_mm);
    double a = 1e3 * c->acceleration_m_s2 * run_down - c->drag_per_s * v;
    if (rubs && v != 0)
        a -= copysign(1e3 * c->friction_m_s2, v);
    return a;
}

/* One step of the classical fourth-order Runge-Kutta scheme. */
static void runge_kutta(const cw_sim_curtain *c, double frame_mm, bool rubs, double h, double *x, double *v)
{
    double a1 = acceleration(c, frame_mm, rubs, *x, *v), v1 = *v;
    double v2 = *v + h / 2 * a1, a2 = acceleration(c, frame_mm, rubs, *x + h / 2 * v1, v2);
    double v3 = *v + h / 2 * a2, a3 = acceleration(c, frame_mm, rubs, *x + h / 2 * v2, v3);
    double v4 = *v + h * a3, a4 = acceleration(c, frame_mm, rubs, *x + h * v3, v4);
    *x += h / 6 * (v1 + 2 * v2 + 2 * v3 + v4);
    *v += h / 6 * (a1 + 2 * a2 + 2 * a3 + a4);
}

static void step(const cw_sim_curtain *c, double frame_mm, double h, double *x, double *v)
{
    bool rubs = *x >= c->friction_from_mm, turned = false;
    double part = h, low = 0, high = h, px = *x, pv = *v;
    runge_kutta(c, frame_mm, rubs, h, &px, &pv);
    turned = (px >= c->friction_from_mm) != rubs && c->friction_m_s2 > 0;
    for (int i = 0; i < 40 && turned; i++) {
        part = (low + high) / 2;
        px = *x;
        pv = *v;
        runge_kutta(c, frame_mm, rubs, part, &px, &pv);
        *((px >= c->friction_from_mm) == rubs ? &low : &high) = part;
    }
    if (turned)
        runge_kutta(c, frame_mm, !rubs, h - part, &px, &pv);
    *x = px;
    *v = pv;
}

/* Steps over one rebound: to the stop, turned, and on for the rest of the step. */
static void rebound(const cw_sim_curtain *c, double frame_mm, double stop, double *x, double *v)
{
    double x0 = *x, v0 = *v, part = STEP_S / 2, low = 0, high = STEP_S;
    for (int i = 0; i < 50; i++) {
        double px = x0, pv = v0;
        part = (low + high) / 2;
        step(c, frame_mm, part, &px, &pv);
        *(px < stop ? &low : &high) = part;
    }
    step(c, frame_mm, part, &x0, &v0);
    *x = stop;
    *v = -c->restitution * v0;
    if (fabs(*v) > AT_REST_MM_S)
        step(c, frame_mm, STEP_S - part, x, v);
    else
        *v = 0;
}

cw_status sim_path_new(const cw_sim_curtain *c, double frame_mm, const char *which, sim_path *path, cw_error *err)
{
    *path = (sim_path){.step_s = STEP_S, .stop_mm = frame_mm + c->overrun_mm};
    path->x_mm = malloc(POINTS_MOST * sizeof *path->x_mm);
    path->v_mm_s = malloc(POINTS_MOST * sizeof *path->v_mm_s);
    if (path->x_mm == NULL || path->v_mm_s == NULL) {
        sim_path_free(path);
        return cw_fail(err, CW_MEMORY, "no memory for the way of the %s curtain", which);
    }
    double x = -c->start_mm, v = 0, highest = x;
    bool stopped = false;
    while (path->count < POINTS_MOST - 1 && !stopped) {
        path->x_mm[path->count] = x;
        path->v_mm_s[path->count++] = v;
        double next_x = x, next_v = v;
        step(c, frame_mm, STEP_S, &next_x, &next_v);
        if (next_x >= path->stop_mm) {
            rebound(c, frame_mm, path->stop_mm, &x, &v);
            stopped = v == 0;
        } else {
            x = next_x;
            v = next_v;
        }
        if (x > highest)
            highest = x;
    }
    if (!stopped) {
        sim_path_free(path);
        return cw_fail(err, CW_RANGE,
                       "the %s curtain gets to %.1f mm in %g s and not to its stop at %.1f mm; less drag or friction, "
                       "or more acceleration, lets it run",
                       which, highest, LONGEST_S, frame_mm + c->overrun_mm);
    }
    path->x_mm[path->count] = path->stop_mm;
    path->v_mm_s[path->count++] = 0;
    double *x_cut = realloc(path->x_mm, path->count * sizeof *x_cut);
    path->x_mm = x_cut != NULL ? x_cut : path->x_mm;
    double *v_cut = realloc(path->v_mm_s, path->count * sizeof *v_cut);
    path->v_mm_s = v_cut != NULL ? v_cut : path->v_mm_s;
    return CW_OK;
}

void sim_path_free(sim_path *path)
{
    free(path->x_mm);
    free(path->v_mm_s);
    *path = (sim_path){.count = 0};
}

/* The cubic through both ends of a step with their speeds. */
static double between(const sim_path *p, size_t i, double part)
{
    double h = p->step_s, q = 1 - part;
    return p->x_mm[i] * q * q * (1 + 2 * part) + p->x_mm[i + 1] * part * part * (3 - 2 * part) +
           h * part * q * (p->v_mm_s[i] * q - p->v_mm_s[i + 1] * part);
}

double sim_path_at(const sim_path *p, double t_s)
{
    if (t_s <= 0)
        return p->x_mm[0];
    double place = t_s / p->step_s;
    if (place >= (double)(p->count - 1))
        return p->stop_mm;
    size_t i = (size_t)place;
    return between(p, i, place - (double)i);
}

size_t sim_path_crossings(const sim_path *p, double x_mm, size_t most, double *times_s)
{
    size_t found = 0;
    for (size_t i = 0; i + 1 < p->count && found < most; i++) {
        bool before = p->x_mm[i] >= x_mm, after = p->x_mm[i + 1] >= x_mm;
        if (before == after)
            continue;
        double low = 0, high = 1;
        for (int k = 0; k < 48; k++) {
            double middle = (low + high) / 2;
            *((between(p, i, middle) >= x_mm) == before ? &low : &high) = middle;
        }
        times_s[found++] = ((double)i + (low + high) / 2) * p->step_s;
    }
    return found;
}

double sim_path_passes(const sim_path *p, double x_mm)
{
    double t_s = NAN;
    return sim_path_crossings(p, x_mm, 1, &t_s) == 1 ? t_s : NAN;
}
