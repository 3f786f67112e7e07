/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/inside.h"

#include <math.h>
#include <stdlib.h>

/* Distance of the star's outline from the axis at s = 1, full radius = 1, in the direction phi.
 * One half point is a straight line from the inner corner (radius 1, angle 0) to the tip (radius tip, angle pi/n). */
static double outline(const cw_sim_leaf *leaf, double phi)
{
    if (leaf->blades == 0)
        return 1;
    double half = M_PI / leaf->blades, tip = leaf->star / cos(half);
    double a = fmod(fabs(phi), 2 * half);
    if (a > half)
        a = 2 * half - a;
    return tip * sin(half) / (sin(a) + tip * sin(half - a));
}

/* The s at which a point of the aperture comes free. The opening grows by a factor, so that is its distance over the
 * outline's. */
static double frees(const cw_sim_leaf *leaf, double x, double y)
{
    return hypot(x, y) / outline(leaf, atan2(y, x));
}

static int by_size(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Evenly scattered points of the disc of the beam, each moved by one of the disc of the penumbra: additive recurrences
 * of irrational step (Roberts 2018, the R4 sequence: 1/g, 1/g2, .. with g5 = g + 1). */
enum { POINTS = 40000 };

cw_status sim_cover_beam(const cw_sim_leaf *leaf, double position_mm, double width_mm, double penumbra_mm,
                         sim_cover *cover, cw_error *err)
{
    static const double g = 1.1673039782614187;
    double radius = leaf->aperture_mm / 2;
    double *s = malloc(POINTS * sizeof *s);
    if (s == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for the beam through the blades");
    size_t inside = 0;
    for (size_t i = 0; i < POINTS; i++) {
        double n = (double)i + 0.5, whole;
        double u1 = modf(n / g, &whole), u2 = modf(n / (g * g), &whole);
        double u3 = modf(n / (g * g * g), &whole), u4 = modf(n / (g * g * g * g), &whole);
        double r = width_mm / 2 * sqrt(u1), q = penumbra_mm / 2 * sqrt(u3);
        double x = (position_mm + r * cos(2 * M_PI * u2) + q * cos(2 * M_PI * u4)) / radius;
        double y = (r * sin(2 * M_PI * u2) + q * sin(2 * M_PI * u4)) / radius;
        if (hypot(x, y) <= 1) /* light that misses even the full aperture belongs to nobody's full level */
            s[inside++] = frees(leaf, x, y);
    }
    if (inside == 0) {
        free(s);
        return cw_fail(err, CW_RANGE, "the beam at %g mm misses the aperture of %g mm altogether", position_mm,
                       leaf->aperture_mm);
    }
    qsort(s, inside, sizeof *s, by_size);
    size_t free_points = 0;
    for (size_t i = 0; i <= SIM_COVER_STEPS; i++) {
        while (free_points < inside && s[free_points] <= (double)i / SIM_COVER_STEPS)
            free_points++;
        cover->fraction[i] = (double)free_points / (double)inside;
    }
    free(s);
    return CW_OK;
}

/* The whole aperture in closed form per direction: the part of each sector inside min(s outline, 1) of the radius. */
void sim_cover_whole(const cw_sim_leaf *leaf, sim_cover *cover)
{
    enum { DIRECTIONS = 720 };
    double half = leaf->blades == 0 ? M_PI : M_PI / leaf->blades;
    for (size_t i = 0; i <= SIM_COVER_STEPS; i++) {
        double s = (double)i / SIM_COVER_STEPS, area = 0;
        for (int k = 0; k < DIRECTIONS; k++) {
            double r = s * outline(leaf, half * (k + 0.5) / DIRECTIONS);
            area += r < 1 ? r * r : 1;
        }
        cover->fraction[i] = area / DIRECTIONS;
    }
}

double sim_cover_at(const sim_cover *cover, double s)
{
    if (s <= 0)
        return 0;
    if (s >= 1)
        return cover->fraction[SIM_COVER_STEPS];
    double place = s * SIM_COVER_STEPS;
    size_t i = (size_t)place;
    double part = place - (double)i;
    return cover->fraction[i] + part * (cover->fraction[i + 1] - cover->fraction[i]);
}

static double main_motion(double opening_s, double closing_s, double law, double interval_s, double t_s)
{
    if (t_s <= 0)
        return 0;
    double up = t_s >= opening_s ? 1 : pow(t_s / opening_s, law);
    double closing = t_s - interval_s;
    if (closing <= 0)
        return up;
    double down = closing >= closing_s ? 0 : 1 - pow(closing / closing_s, law);
    return up < down ? up : down;
}

double sim_blades_at(const cw_sim_leaf *leaf, double interval_s, double t_s)
{
    double s = main_motion(leaf->opening_s, leaf->closing_s, leaf->law, interval_s, t_s);
    double height = leaf->bounce_fraction, after = t_s - interval_s - leaf->closing_s - leaf->bounce_delay_s;
    for (unsigned i = 0; i < leaf->bounces && after > 0; i++) {
        double part = after / leaf->bounce_s;
        if (part < 1)
            s = 4 * height * part * (1 - part);
        after -= leaf->bounce_s + leaf->bounce_delay_s;
        height /= 2;
    }
    return s;
}

static double effective(const cw_sim_leaf *leaf, const sim_cover *whole, double interval_s)
{
    enum { PANELS = 4000 };
    double opening_s = leaf->set_opening_s > 0 ? leaf->set_opening_s : leaf->opening_s;
    double closing_s = leaf->set_closing_s > 0 ? leaf->set_closing_s : leaf->closing_s;
    /* With the blades fully open in between, only the two ramps need integrating. */
    double flat = interval_s > opening_s ? interval_s - opening_s : 0;
    double end = interval_s - flat + closing_s, sum = 0;
    for (int i = 0; i < PANELS; i++) {
        double t = end * (i + 0.5) / PANELS;
        sum += sim_cover_at(whole, main_motion(opening_s, closing_s, leaf->law, interval_s - flat, t));
    }
    return flat + sum * end / PANELS;
}

double sim_blades_interval(const cw_sim_leaf *leaf, const sim_cover *whole, double effective_s)
{
    double low = leaf->least_interval_s, high = effective_s + leaf->opening_s + leaf->set_opening_s + low;
    if (effective(leaf, whole, low) >= effective_s)
        return low;
    for (int i = 0; i < 50; i++) {
        double middle = (low + high) / 2;
        *(effective(leaf, whole, middle) < effective_s ? &low : &high) = middle;
    }
    return (low + high) / 2;
}

size_t sim_blades_breaks(const cw_sim_leaf *leaf, double interval_s, double *times_s)
{
    size_t n = 0;
    times_s[n++] = 0;
    if (interval_s > leaf->opening_s) {
        times_s[n++] = leaf->opening_s;
        times_s[n++] = interval_s;
    } else {
        /* Where the rising motion meets the falling one. */
        double low = interval_s, high = interval_s + leaf->closing_s;
        for (int i = 0; i < 50; i++) {
            double t = (low + high) / 2;
            double up = t >= leaf->opening_s ? 1 : pow(t / leaf->opening_s, leaf->law);
            *(up < 1 - pow((t - interval_s) / leaf->closing_s, leaf->law) ? &low : &high) = t;
        }
        times_s[n++] = (low + high) / 2;
    }
    double t = interval_s + leaf->closing_s;
    times_s[n++] = t;
    for (unsigned i = 0; i < leaf->bounces; i++) {
        t += leaf->bounce_delay_s;
        times_s[n++] = t;
        times_s[n++] = t + leaf->bounce_s / 2;
        t += leaf->bounce_s;
        times_s[n++] = t;
    }
    return n;
}
