/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The roll that proves a mended camera: which frames show each thing that was touched. SI units. */
#ifndef CW_EXPOSURE_FILM_PLAN_H
#define CW_EXPOSURE_FILM_PLAN_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"

/* What was mended, as bits. */
enum {
    CW_MENDED_SPEEDS = 1 << 0, /* shutter speeds and evenness */
    CW_MENDED_FOCUS = 1 << 1,  /* lens focus, infinity, rangefinder or screen */
    CW_MENDED_METER = 1 << 2,
    CW_MENDED_APERTURE = 1 << 3,
    CW_MENDED_SEALS = 1 << 4,     /* light seals, bellows, back */
    CW_MENDED_TRANSPORT = 1 << 5, /* winding, spacing, counter */
    CW_MENDED_FLASH = 1 << 6,
    CW_MENDED_OPTICS = 1 << 7, /* cleaned or reassembled lens */
    CW_MENDED_ALL = (1 << 8) - 1
};

enum { CW_PLAN_FRAMES_MOST = 72, CW_PLAN_WORDS = 160 };

typedef struct {
    int mended; /* bits above */
    int frames; /* on the roll, 4 to 72 */
    double film_speed;
    double light_ev;                      /* of the scene for the daylight frames, at ISO 100; 15 in full sun */
    double f_number_wide, f_number_small; /* ends of the aperture ring */
    double focal_m, nearest_m;
    double blur_m;         /* acceptable circle of confusion; 0.03 mm for 24 x 36 */
    const double *marks_s; /* marked speeds, any order */
    size_t mark_count;
} cw_plan_need;

typedef struct {
    int number;              /* on the roll, from 1 */
    int shows;               /* which of the things mended: one bit CW_MENDED_... */
    double time_s, aperture; /* NaN: as the words say */
    double distance_m;       /* INFINITY for far; NaN: any */
    double wants_ev;         /* light, EV at ISO 100, that these settings are right for; NaN: not by daylight */
    double error_ev;         /* planned exposure against the scene's light, + = more; NaN: not by daylight */
    double near_m, far_m;    /* depth of field for frames that test focus; NaN elsewhere */
    char proves[CW_PLAN_WORDS], look_for[CW_PLAN_WORDS];
} cw_plan_frame;

typedef struct {
    cw_plan_frame frames[CW_PLAN_FRAMES_MOST];
    size_t frame_count;
    size_t left_over; /* frames of the roll that stay free */
    size_t dropped;   /* wanted frames for which the roll had no room: the last of the list */
} cw_plan;

/* CW_RANGE names the value: no marks, an aperture ring turned round, a nearest distance inside twice the focal length.
 */
cw_status cw_film_plan(const cw_plan_need *need, cw_plan *plan, cw_error *err) __attribute__((warn_unused_result));

/* Limits of sharpness of a thin lens, distances from the lens: where the cone to the film's image is as wide as the
 * blur. Exact; Smith, Modern Optical Engineering, eq. 9.9 and 9.10 are the same to the blur over the pupil. far
 * INFINITY at or beyond f^2/(N c) + f. */
void cw_depth_of_field(double focal_m, double aperture, double blur_m, double distance_m, double *near_m,
                       double *far_m);

#endif
