/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Findings from single shots (unsteady, odd, bounce, idle sensor), and the order in which all are asked for. */
#include "shutter/findings.h"

#include <gsl/gsl_cdf.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "base/stats.h"
#include "shutter/marks.h"

/* Single shots of a steady shutter scatter by less than this (sd), or this share of the limit; common practice, no
 * source. */
#define UNSTEADY_EV 0.1
#define UNSTEADY_SHARE 0.35
/* Light that came again counts from this share of the exposure. */
#define BOUNCE_SHARE 0.02
/* A shot this far from the middle of its speed is odd, if the others agree much better. */
#define ODD_EV 0.25

void cw_finding_add(cw_shutter_test *test, const char *code, const char *text, const char *evidence, ...)
{
    if (test->finding_count == CW_FINDINGS_MOST || cw_finding_has(test, code))
        return;
    cw_finding *finding = &test->findings[test->finding_count++];
    snprintf(finding->code, sizeof finding->code, "%s", code);
    snprintf(finding->text, sizeof finding->text, "%s", text);
    va_list args;
    va_start(args, evidence);
    vsnprintf(finding->evidence, sizeof finding->evidence, evidence, args);
    va_end(args);
}

bool cw_finding_has(const cw_shutter_test *test, const char *code)
{
    for (size_t i = 0; i < test->finding_count; i++)
        if (strcmp(test->findings[i].code, code) == 0)
            return true;
    return false;
}

bool cw_speed_known(const cw_speed *speed)
{
    return speed->shots > 0 && isfinite(speed->error_ev.value) && isfinite(speed->error_ev.u);
}

int cw_speed_off(const cw_speed *speed)
{
    if (!cw_speed_known(speed))
        return 0;
    double limit = isfinite(speed->limit_ev) ? CW_OFF_SHARE * speed->limit_ev : 0, error = speed->error_ev.value;
    double least = fmax(fmax(limit, CW_OFF_LEAST_EV), CW_CLEAR * speed->error_ev.u);
    return error > least ? 1 : error < -least ? -1 : 0;
}

/* What the noise of the measurement alone would scatter single shots by, EV. */
static double noise_ev(const cw_shutter_test *test, const cw_shape *shape, double marked_s)
{
    double squares = 0;
    size_t n = 0;
    for (size_t j = 0; j < test->shot_count; j++) {
        if (!cw_shot_counts(&test->shots[j]) || !cw_same_mark(test->shots[j].marked_s, marked_s))
            continue;
        cw_middle middle = cw_shot_middle(&test->setup, shape, &test->shots[j]);
        double u = middle.u_random_s > 0 ? middle.u_random_s : middle.u_stays_s;
        if (middle.value_s > 0) {
            squares += u * u / (middle.value_s * middle.value_s);
            n++;
        }
    }
    return n > 0 ? sqrt(squares / (double)n) / log(2) : 0;
}

/* Where a speed begins to be unsteady: EV, sd of single shots. */
static double steady_limit_ev(const cw_speed *speed)
{
    return fmax(UNSTEADY_EV, isfinite(speed->limit_ev) ? UNSTEADY_SHARE * speed->limit_ev : 0);
}

/* Each speed by itself, and all together: three shots say little, thirty say much. Compared with its limit is the least
 * the true spread can be, 99 %, after what the noise of the measurement explains. */
static void find_unsteady(cw_shutter_test *test, const cw_shape *shape)
{
    const cw_speed *worst = NULL;
    double worst_share = 0, squares = 0, degrees = 0;
    bool clear = false;
    for (size_t k = 0; k < test->speed_count; k++) {
        const cw_speed *speed = &test->speeds[k];
        if (speed->shots < 2 || !isfinite(speed->spread_ev))
            continue;
        double n = (double)(speed->shots - 1), noise = noise_ev(test, shape, speed->marked_s);
        /* a slit that has nearly closed magnifies what is steady in ms: measured against the time that was meant */
        double meant = fmin(1, speed->exposure_s.value / speed->reference_s);
        double beyond = meant * meant * fmax(speed->spread_ev * speed->spread_ev - noise * noise, 0);
        double share = beyond / (steady_limit_ev(speed) * steady_limit_ev(speed));
        squares += n * share;
        degrees += n;
        clear = clear || n * share > gsl_cdf_chisq_Pinv(0.99, n);
        if (share > worst_share) {
            worst_share = share;
            worst = speed;
        }
    }
    if (worst == NULL || !(clear || squares > gsl_cdf_chisq_Pinv(0.99, degrees)))
        return;
    char mark[CW_MARK_TEXT];
    cw_mark_text(worst->marked_s, mark, sizeof mark);
    cw_finding_add(
        test, "unsteady",
        "The shutter is unsteady: the same speed comes out differently from shot to shot. Look first for dirt, "
        "old oil or a dry pivot in what is released last (governor, latch, blade ring or curtain rollers); a "
        "weak spring or a worn latch comes after that. Clean before turning any adjustment: no setting holds "
        "on an unsteady shutter. The camera's own service notes go first.",
        "most at %s: sd %.2f EV over %zu shots, where %.2f EV would be steady; all speeds together %.1f times "
        "that",
        mark, worst->spread_ev, worst->shots, steady_limit_ev(worst), sqrt(squares / degrees));
}

/* One shot against the middle value of its speed. */
static bool is_odd(const cw_shutter_test *test, const cw_shape *shape, size_t j, double *off_ev)
{
    double values[CW_SHOTS_MOST], apart[CW_SHOTS_MOST], own = NAN, u_ev = 0;
    size_t n = 0;
    for (size_t i = 0; i < test->shot_count; i++) {
        if (!cw_shot_counts(&test->shots[i]) || !cw_same_mark(test->shots[i].marked_s, test->shots[j].marked_s))
            continue;
        cw_middle middle = cw_shot_middle(&test->setup, shape, &test->shots[i]);
        if (!(middle.value_s > 0))
            continue;
        values[n++] = log2(middle.value_s);
        if (i == j) {
            own = log2(middle.value_s);
            u_ev = hypot(middle.u_random_s, middle.u_stays_s) / middle.value_s / log(2);
        }
    }
    if (n < 4 || !isfinite(own))
        return false;
    double typical = cw_median(n, values);
    for (size_t i = 0; i < n; i++)
        apart[i] = fabs(values[i] - typical);
    double spread = 1.4826 * cw_median(n, apart);
    *off_ev = own - typical;
    return fabs(*off_ev) > fmax(fmax(8 * spread, ODD_EV), 6 * u_ev);
}

static void find_odd_shots(cw_shutter_test *test, const cw_shape *shape, const bool *odd)
{
    char which[200] = "";
    size_t count = 0, used = 0;
    for (size_t j = 0; j < test->shot_count; j++) {
        double off_ev = 0;
        bool far = cw_shot_counts(&test->shots[j]) && is_odd(test, shape, j, &off_ev);
        if (!far && !odd[j])
            continue;
        if (++count > 4)
            continue;
        int wrote = far ? snprintf(which + used, sizeof which - used, "%sshot %zu by %+.2f EV", used > 0 ? ", " : "",
                                   j + 1, off_ev)
                        : snprintf(which + used, sizeof which - used, "%sshot %zu in its curtain run",
                                   used > 0 ? ", " : "", j + 1);
        used += (size_t)wrote;
    }
    if (count == 0)
        return;
    cw_finding_add(
        test, "odd-shot",
        "Single shots ran unlike the others at the same speed. They are kept in the figures of their speed. "
        "Look at their traces: a double release, a hand in the light or a slip of the list is no fault of the "
        "shutter, and such a shot can be struck out; a shutter that now and then hangs wants cleaning before "
        "any adjustment.",
        "%zu of %zu shots stand apart: %s%s", count, test->shot_count, which, count > 4 ? " and more" : "");
}

static void find_bounce(cw_shutter_test *test)
{
    size_t bounced = 0, counted = 0;
    double most = 0, at_mark = NAN;
    for (size_t j = 0; j < test->shot_count; j++) {
        const cw_shot *shot = &test->shots[j];
        double share = 0;
        if (!cw_shot_counts(shot))
            continue;
        counted++;
        for (size_t i = 0; i < shot->sensor_count; i++) {
            const cw_sensor_shot *sensor = &shot->sensors[i];
            double extra = 0;
            for (size_t b = 0; b < sensor->bounce_count; b++)
                extra += sensor->bounces[b].exposure_s;
            if (sensor->seen && extra > CW_CLEAR * sensor->exposure_s.u)
                share = fmax(share, extra / sensor->exposure_s.value);
        }
        if (share < BOUNCE_SHARE)
            continue;
        bounced++;
        if (share > most) {
            most = share;
            at_mark = shot->marked_s;
        }
    }
    if (bounced == 0)
        return;
    char mark[CW_MARK_TEXT];
    cw_mark_text(at_mark, mark, sizeof mark);
    bool leaf = test->setup.kind == CW_SHUTTER_LEAF;
    cw_finding_add(
        test, "bounce",
        leaf ? "The blades bounce: they open again after they have closed. Look first at the stop and buffer of "
               "the blade ring and for dirt or oil that lets the ring run past its latch; a closing spring set "
               "too strong does it too. The camera's own service notes go first."
             : "A curtain bounces: light comes in again after the second curtain has closed, which leaves a "
               "streak at the edge where the travel ends. Look first at the curtain brake (worn, oily or set "
               "too weak) and at its buffer; tension set too high does it too, then less of it. The camera's "
               "own service notes go first.",
        "%zu of %zu shots bounced; the most at %s: %.0f %% more light (%.2f EV)", bounced, counted, mark, 100 * most,
        log2(1 + most));
}

static void find_idle_sensor(cw_shutter_test *test)
{
    for (size_t i = 0; i < CW_SENSORS_MOST; i++) {
        bool there = false, seen = false, others = false;
        for (size_t j = 0; j < test->shot_count; j++) {
            const cw_shot *shot = &test->shots[j];
            if (i >= shot->sensor_count || !cw_shot_counts(shot))
                continue;
            there = true;
            seen = seen || shot->sensors[i].seen;
            for (size_t m = 0; m < shot->sensor_count; m++)
                others = others || shot->sensors[m].seen;
        }
        if (!there || seen || !others)
            continue;
        cw_finding_add(
            test, "sensor-idle",
            "One sensor never saw light, at any speed, while others did. Look at its lead, its place and its "
            "light before the shutter: only a shutter that stays shut on that side at every speed would do "
            "the same.",
            "sensor %zu: no light in any of %zu shots", i + 1, test->shot_count);
    }
}

void cw_findings_fill(cw_shutter_test *test, const cw_shape *shape, const bool *odd)
{
    if (test->setup.kind == CW_SHUTTER_FOCAL_PLANE)
        cw_findings_curtains(test, shape);
    cw_findings_speeds(test);
    find_unsteady(test, shape);
    find_odd_shots(test, shape, odd);
    find_bounce(test);
    cw_findings_flash(test);
    find_idle_sensor(test);
}
