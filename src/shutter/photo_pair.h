/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The shutter's exposure from two photographs of the same evenly lit panel, taken by a digital camera through the open
 * shutter and camera back. Reference: the film camera's shutter held open (B or T), the digital camera's own exposure
 * known. Test: the digital shutter stays open in the dark while the film camera's shutter is fired once.
 *
 *   exposure = ratio of light * reference exposure * (ISO reference / ISO test) * (f test / f reference)^2
 *
 * from H = E t and the exposure equation of ISO 2720 (E proportional to 1/N^2, counts proportional to H S). */
#ifndef CW_SHUTTER_PHOTO_PAIR_H
#define CW_SHUTTER_PHOTO_PAIR_H

#include "shutter/shot.h"
#include "signal/frame.h"

/* What EXIF leaves open, standard uncertainties. A time marked 1/60 may be 1/64 (0.093 EV apart, rectangular); ISO and
 * aperture steps of a camera are held to about a tenth of a stop (common practice, no source). */
#define CW_PHOTO_U_EXIF_TIME 0.037
#define CW_PHOTO_U_EXIF_STEP 0.05
/* A sensor's response is straight to about half a per cent below clipping (common practice, no source). */
#define CW_PHOTO_U_LINEAR 0.005
/* A JPEG's tone curve is not that of sRGB: a tenth, and as much again for each stop between the two frames. */
#define CW_PHOTO_U_JPEG 0.1

typedef enum { CW_TRAVEL_RIGHT, CW_TRAVEL_LEFT, CW_TRAVEL_DOWN, CW_TRAVEL_UP } cw_photo_travel;

typedef struct {
    double frame_mm;                 /* film gate along the travel, seen from edge to edge of the area */
    cw_photo_travel travel;          /* which way the curtains run in the picture */
    double left, top, right, bottom; /* the film gate in the picture, 0 to 1; all 0: found by its light */
    double reference_s;              /* instead of EXIF; NaN: EXIF */
    double u_reference_relative;     /* of reference_s when it is given; NaN: 0.01 */
    size_t places;                   /* along the travel, 1 to CW_SENSORS_MOST; 0: 5 */
} cw_photo_setup;

enum { CW_PHOTO_COLUMNS = 48, CW_PHOTO_ROWS = 32 };

typedef struct {
    cw_shot shot;                    /* one sensor a place along the travel, method "photo"; marked_s NaN */
    double left, top, right, bottom; /* the area used */
    double evenness_ev[CW_PHOTO_COLUMNS * CW_PHOTO_ROWS]; /* against the middle, over the area; NaN: not known */
    cw_quantity middle_s;                                 /* exposure at the middle of the frame */
    double u_shared; /* relative: what all places share (EXIF, JPEG); in each place's u too */
    size_t warning_count;
    char warnings[8][240];
} cw_photo_result;

/* CW_INPUT: no light in the reference, frames that do not belong together, no exposure time known; CW_RANGE: an area or
 * frame that cannot be. dark may be NULL. */
cw_status cw_photo_pair(const cw_frame *reference, const cw_frame *test, const cw_frame *dark,
                        const cw_photo_setup *setup, cw_photo_result *result, cw_error *err)
    __attribute__((warn_unused_result));

#endif
