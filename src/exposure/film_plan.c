/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "exposure/film_plan.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>

#include "base/range.h"
#include "exposure/light.h"

void cw_depth_of_field(double focal_m, double aperture, double blur_m, double distance_m, double *near_m, double *far_m)
{
    /* in dioptres the two limits lie alike to either side: 1/near, 1/far = 1/D +- (1/f - 1/D) blur/pupil */
    double here = isinf(distance_m) ? 0 : 1 / distance_m;
    double off = (1 / focal_m - here) * blur_m * aperture / focal_m;
    *near_m = 1 / (here + off);
    *far_m = here > off ? 1 / (here - off) : INFINITY;
}

static cw_status check_need(const cw_plan_need *n, cw_error *err)
{
    CW_TRY(cw_check_within("frames on the roll", n->frames, CW_PLAIN, NULL, 4, CW_PLAN_FRAMES_MOST, err));
    CW_TRY(cw_check_within("film speed", n->film_speed, CW_PLAIN, NULL, 3, 6400, err));
    CW_TRY(cw_check_within("light of the scene", n->light_ev, CW_EXPOSURE_VALUE, "EV", 4, 17, err));
    CW_TRY(cw_check_within("widest aperture", n->f_number_wide, CW_PLAIN, NULL, 0.9, 32, err));
    CW_TRY(cw_check_within("smallest aperture", n->f_number_small, CW_PLAIN, NULL, n->f_number_wide, 128, err));
    CW_TRY(cw_check_within("focal length", n->focal_m, CW_LENGTH, "mm", 5e-3, 1, err));
    CW_TRY(cw_check_within("circle of confusion", n->blur_m, CW_LENGTH, "mm", 2e-6, 0.5e-3, err));
    CW_TRY(cw_check_within("nearest distance", n->nearest_m, CW_LENGTH, "m", 2 * n->focal_m, 100, err));
    if ((n->mended & CW_MENDED_ALL) == 0)
        return cw_fail(err, CW_RANGE, "nothing is marked as mended; tick what was touched, and the roll will show it");
    if (n->mark_count < 1 || n->mark_count > 24)
        return cw_fail(err, CW_RANGE, "%zu marked speeds; give 1 to 24, such as 1/500, 1/250, 1/125", n->mark_count);
    for (size_t i = 0; i < n->mark_count; i++)
        CW_TRY(cw_check_within("marked speed", n->marks_s[i], CW_TIME, "s", 1e-5, 60, err));
    return CW_OK;
}

/* Takes one more frame, or counts it as dropped. */
static cw_plan_frame *next_frame(const cw_plan_need *need, cw_plan *plan, int shows)
{
    if (plan->frame_count == (size_t)need->frames) {
        plan->dropped++;
        return NULL;
    }
    cw_plan_frame *frame = &plan->frames[plan->frame_count++];
    *frame = (cw_plan_frame){(int)plan->frame_count, shows, NAN, NAN, NAN, NAN, NAN, NAN, NAN, "", ""};
    return frame;
}

static void say(cw_plan_frame *frame, const char *proves, const char *look_for)
{
    snprintf(frame->proves, sizeof frame->proves, "%s", proves);
    snprintf(frame->look_for, sizeof frame->look_for, "%s", look_for);
}

/* Settings, what light they are right for, and the error against the scene's, + = more light. */
static void expose_at(const cw_plan_need *need, double time_s, double aperture, cw_plan_frame *frame)
{
    frame->time_s = time_s;
    frame->aperture = fmin(fmax(aperture, need->f_number_wide), need->f_number_small);
    frame->wants_ev = cw_light_value(frame->aperture, time_s, need->film_speed);
    frame->error_ev = need->light_ev - frame->wants_ev;
}

/* The aperture on the ring, in half stops, that suits the time. */
static void expose(const cw_plan_need *need, double time_s, cw_plan_frame *frame)
{
    double exact = sqrt(exp2(need->light_ev) * need->film_speed / 100 * time_s);
    expose_at(need, time_s, exp2(round(4 * log2(exact)) / 4), frame);
}

/* The mark whose aperture comes nearest to the wanted one. */
static double time_for_aperture(const cw_plan_need *need, double aperture)
{
    double ev = need->light_ev + log2(need->film_speed / 100), wanted = aperture * aperture / exp2(ev),
           best = need->marks_s[0];
    for (size_t i = 1; i < need->mark_count; i++)
        if (fabs(log2(need->marks_s[i] / wanted)) < fabs(log2(best / wanted)))
            best = need->marks_s[i];
    return best;
}

static int slowest_first(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x < y) - (x > y);
}

static void plan_speeds(const cw_plan_need *need, cw_plan *plan)
{
    double marks[24];
    for (size_t i = 0; i < need->mark_count; i++)
        marks[i] = need->marks_s[i];
    qsort(marks, need->mark_count, sizeof marks[0], slowest_first);
    for (size_t i = 0; i < need->mark_count; i++) {
        cw_plan_frame *f = next_frame(need, plan, CW_MENDED_SPEEDS);
        if (f == NULL)
            continue;
        expose(need, marks[i], f);
        bool off = fabs(f->error_ev) > 0.6;
        say(f, "speeds: one frame a mark, the same even grey wall or clear sky",
            off ? "darker or lighter by the planned amount only, even from edge to edge; brighter or dimmer light "
                  "would bring it level"
                : "the same density as its neighbours, even from edge to edge; a band or a dark side means the "
                  "curtains");
    }
}

static void focus_frame(const cw_plan_need *need, cw_plan *plan, double distance_m, const char *proves,
                        const char *look_for)
{
    cw_plan_frame *f = next_frame(need, plan, CW_MENDED_FOCUS);
    if (f == NULL)
        return;
    expose_at(need, time_for_aperture(need, need->f_number_wide), need->f_number_wide, f);
    f->distance_m = distance_m;
    cw_depth_of_field(need->focal_m, f->aperture, need->blur_m, distance_m, &f->near_m, &f->far_m);
    say(f, proves, look_for);
}

static void plan_focus(const cw_plan_need *need, cw_plan *plan)
{
    double middle = sqrt(need->nearest_m * 10);
    focus_frame(need, plan, INFINITY, "infinity stop, wide open, from a tripod",
                "twigs against the sky are sharp in the middle and in all four corners");
    focus_frame(need, plan, need->nearest_m, "nearest distance, wide open: a ruler lying at a slant",
                "the mark that was focused on is the sharpest, not one in front or behind");
    if (middle > 1.5 * need->nearest_m)
        focus_frame(need, plan, middle, "middle distance, wide open: a fence in perspective",
                    "the post that was focused on is the sharpest");
}

static void plan_optics(const cw_plan_need *need, cw_plan *plan)
{
    static const char *const proves[] = {"lens: a flat brick wall, wide open, square to the camera",
                                         "lens: the same wall, stopped down",
                                         "lens: a street lamp or window against dark, near a corner"};
    static const char *const look_for[] = {
        "corners alike; one soft corner means a tilted element, all soft a wrong order or spacing", "everything sharp",
        "no haze, no bright ring round it"};
    for (int i = 0; i < 3; i++) {
        cw_plan_frame *f = next_frame(need, plan, CW_MENDED_OPTICS);
        if (f == NULL)
            continue;
        double aperture = i == 0 ? need->f_number_wide : fmin(8, need->f_number_small);
        if (i < 2)
            expose_at(need, time_for_aperture(need, aperture), aperture, f);
        say(f, proves[i], look_for[i]);
    }
}

static void plan_aperture(const cw_plan_need *need, cw_plan *plan)
{
    static const char *const proves[] = {"aperture: a grey wall, wide open", "aperture: the same wall at a middle stop",
                                         "aperture: the same wall at the smallest stop"};
    double wide = need->f_number_wide, small = need->f_number_small;
    const double stops[] = {wide, exp2(round(2 * log2(wide * small)) / 4),
                            small}; /* the middle one a half stop on the ring */
    for (int i = 0; i < 3; i++) {
        cw_plan_frame *f = next_frame(need, plan, CW_MENDED_APERTURE);
        if (f == NULL)
            continue;
        expose_at(need, time_for_aperture(need, stops[i]), stops[i], f);
        say(f, proves[i],
            "the same density in all three, but for the planned differences; too dense at small stops means blades "
            "that close late or not far enough");
    }
}

static void plan_meter(const cw_plan_need *need, cw_plan *plan)
{
    static const char *const proves[] = {"meter: full sun, as the meter says", "meter: open shade, as the meter says",
                                         "meter: lamp-lit room, as the meter says"};
    for (int i = 0; i < 3; i++) {
        cw_plan_frame *f = next_frame(need, plan, CW_MENDED_METER);
        if (f != NULL)
            say(f, proves[i], "shadows with detail, the three alike; write down what a second meter said");
    }
}

static void plan_rest(const cw_plan_need *need, cw_plan *plan)
{
    if ((need->mended & CW_MENDED_FLASH) != 0)
        for (int i = 0; i < 2; i++) {
            cw_plan_frame *f = next_frame(need, plan, CW_MENDED_FLASH);
            if (f == NULL)
                continue;
            f->aperture = fmin(fmax(8, need->f_number_wide), need->f_number_small);
            say(f,
                i == 0 ? "flash at the fastest speed meant for it, in a dark room"
                       : "flash one speed slower, in a dark room",
                "the whole frame lit evenly; a dark band or dark corners mean the contact is early or late");
        }
    if ((need->mended & CW_MENDED_SEALS) != 0)
        for (int i = 0; i < 3; i++) {
            cw_plan_frame *f = next_frame(need, plan, CW_MENDED_SEALS);
            if (f != NULL)
                say(f,
                    i == 0   ? "seals: lens cap on, a minute in full sun, turned to all sides"
                    : i == 1 ? "seals: one frame in the dark, as a neighbour to compare"
                             : "seals: film left on this frame overnight near a lamp",
                    "clear film; a streak points to the hinge, the door's end or the bellows it starts from");
        }
    if ((need->mended & CW_MENDED_TRANSPORT) != 0) {
        cw_plan_frame *f = next_frame(need, plan, CW_MENDED_TRANSPORT);
        if (f != NULL)
            say(f, "transport: count the strokes on every frame of the roll",
                "gaps alike within a millimetre, no overlap, no scratches along the film");
    }
}

cw_status cw_film_plan(const cw_plan_need *need, cw_plan *plan, cw_error *err)
{
    CW_TRY(check_need(need, err));
    plan->frame_count = plan->dropped = 0;
    if ((need->mended & CW_MENDED_FOCUS) != 0)
        plan_focus(need, plan);
    if ((need->mended & CW_MENDED_OPTICS) != 0)
        plan_optics(need, plan);
    if ((need->mended & CW_MENDED_METER) != 0)
        plan_meter(need, plan);
    if ((need->mended & CW_MENDED_APERTURE) != 0)
        plan_aperture(need, plan);
    plan_rest(need, plan);
    if ((need->mended & CW_MENDED_SPEEDS) != 0)
        plan_speeds(need, plan);
    plan->left_over = (size_t)need->frames - plan->frame_count;
    return CW_OK;
}
