/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Between the files of this room only: the steps of an evaluation, in the order evaluate.c takes them. */
#ifndef CW_SHUTTER_INNER_H
#define CW_SHUTTER_INNER_H

#include <stdbool.h>
#include <stddef.h>

#include "shutter/evaluate.h"

/* How one curtain edge goes over the frame: the delay of its arrival at u after its arrival at the first frame edge is
 * root_s r(u) + even_s u + bow_s u (1 - u) + drag_s u^3, r being the run from rest, sqrt(u + rest) - sqrt(rest) over
 * the same at u = 1, or its like where the pull fades along the way. STRAIGHT: even alone. BOWED: even and bow.
 * PHYSICAL: root alone, or root and drag. */
typedef struct {
    cw_curtain_form form;
    double root_s, even_s, bow_s, drag_s;
    double rest; /* x0 over the frame's length; 0 where root_s is 0 */
    double fade; /* what the pull loses from the start of the run to the end of the frame, 0 to less than 1 */
} cw_track;

/* Another pair of runs that the data leave room for. */
typedef struct {
    cw_track first, second;
    double extra_s[2]; /* as in cw_shape */
    double mean_gap_s; /* over the sensors: what it makes the exposure longer by than the chosen runs do */
    double weight;     /* how likely it is; together with the chosen runs 1 */
} cw_other_run;

enum { CW_OTHERS_MOST = 48 };

/* What the joint fit found, shared by every speed of the test. u = place over frame, from the edge that opens first. */
typedef struct {
    bool known;
    bool reversed; /* the places had been given from the other edge; turned round inside, not outside */
    size_t places; /* of sensors, told apart */
    double frame_mm;
    cw_track first, second;
    size_t other_count;
    cw_other_run others[CW_OTHERS_MOST];              /* for the width of the band */
    cw_quantity travel1_s, travel2_s, bow1_s, bow2_s; /* bows: NaN with two places */
    double extra_s[2];              /* u and u (1 - u): what the exposures say beyond the two tracks */
    cw_quantity mismatch_s, drag_s; /* b2 - b1, c2 - c1; drag NaN with two places */
    double covariance[3];           /* of the two above: var, cov, var, s^2 */
    double mean_u, mean_bow;        /* over the sensors: u, u (1 - u) */
    double chord[2], u_bow_s;       /* two places: the line of u (1 - u) through them, and what drag may be */
    double u_misfit_s;              /* what the exposures of four sensors or more show that no form of run explains */
    double chi_squared;
    size_t degrees, shots, left_out;
} cw_shape;

/* The joint fit of design: every counting shot's instants at its sensors, one start per shot and curtain, the shape
 * shared. odd[shot_count] is set where a shot ran unlike the others and was left out of the fit. `told` says what could
 * be known. Without two sensors of known place that saw the same shot, shape->known is false. */
cw_status cw_shape_fit(const cw_shutter_test *test, bool *odd, cw_shape *shape, char told[static CW_FINDING_TEXT],
                       cw_error *err) __attribute__((warn_unused_result));

double cw_track_delay(const cw_track *track, double u);
double cw_track_travel(const cw_track *track); /* delay at the far edge, u = 1 */
double cw_track_bow(const cw_track *track);    /* c of the quadratic form that meets both edges and the middle */

/* What the exposure grows by between two places, by the shape of the curtains, and its standard uncertainty (the fit's
 * and the form's). 0 between a place and itself. In the places of the set-up; from_mm NaN: from the mean of all
 * sensors. Only where shape->known. */
double cw_shape_step(const cw_shape *shape, double from_mm, double to_mm);
double cw_shape_step_u(const cw_shape *shape, double from_mm, double to_mm);

/* The part of that uncertainty that the scatter of the exposures leaves, every form of run aside. */
double cw_shape_step_noise(const cw_shape *shape, double from_mm, double to_mm);

/* What the other runs make the exposure at x longer by than the chosen ones do, both without their release. */
double cw_shape_gap(const cw_shape *shape, const cw_other_run *other, double x_mm);

/* Fills mean_gap_s of every other pair. */
void cw_shape_set_gaps(cw_shape *shape, size_t sensors, const double *u);

/* The shots that count: not struck, not incomplete, with a marked speed. */
bool cw_shot_counts(const cw_shot *shot);
/* Same mark: equal within what a decimal copy of 1/3 loses. */
bool cw_same_mark(double a_s, double b_s);
/* The place of sensor `i` of a shot: the shot's own, else the set-up's; NaN: not given. */
double cw_sensor_place_mm(const cw_test_setup *setup, const cw_shot *shot, size_t i);

/* One shot's exposure where the speed is judged: at the middle of the frame, or over its sensors. */
typedef struct {
    double value_s;    /* NaN: nothing seen */
    double u_random_s; /* differs from shot to shot */
    double u_stays_s;  /* the same in each shot: level, threshold, detector */
    double u_form_s;   /* from carrying the exposure from the sensors to the middle */
} cw_middle;

cw_middle cw_shot_middle(const cw_test_setup *setup, const cw_shape *shape, const cw_shot *shot);

/* Fills every cw_speed's exposure, spread, error, limit and verdict, and its budget. */
void cw_speeds_evaluate(cw_shutter_test *test, const cw_shape *shape);

/* Where no shape is known: the evenness between the sensors themselves, when there are two or more. */
void cw_evenness_from_sensors(cw_shutter_test *test);

/* Every speed's flash contact: delay, against full opening, what is left open. */
void cw_flash_evaluate(cw_shutter_test *test, const cw_shape *shape);

/* What is wrong and where to look first, from everything above. */
void cw_findings_fill(cw_shutter_test *test, const cw_shape *shape, const bool *odd);

/* test->curtains from the shape, the profile over the frame at every speed, and what follows from it for each speed:
 * evenness, travel, slit, full opening. */
cw_status cw_profile_fill(cw_shutter_test *test, const cw_shape *shape, const bool *odd, cw_error *err)
    __attribute__((warn_unused_result));

#endif
