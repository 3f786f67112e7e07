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

#include <jansson.h>

#include "shutter/plan.h"
#include "signal/frame.h"

/* What EXIF leaves open, standard uncertainties. A time marked 1/60 may be 1/64 (0.093 EV apart, rectangular); ISO and
 * aperture steps of a camera are held to about a tenth of a stop (common practice, no source). */
#define CW_PHOTO_U_EXIF_TIME 0.037
#define CW_PHOTO_U_EXIF_STEP 0.05
/* A sensor's response is straight to about half a per cent below clipping (common practice, no source). */
#define CW_PHOTO_U_LINEAR 0.005
/* Black level of a raw file: known to a five-thousandth of saturation, 3 counts of 14 bits; a dark frame of the same
 * exposure leaves a quarter of it in the test (common practice, no source). All places share it. */
#define CW_PHOTO_U_BLACK 2e-4
#define CW_PHOTO_U_BLACK_DARK 0.5e-4
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

enum { CW_PHOTO_COLUMNS = 48, CW_PHOTO_ROWS = 32, CW_PHOTO_CELLS = CW_PHOTO_COLUMNS * CW_PHOTO_ROWS };
enum { CW_PHOTO_TESTS_MOST = 16, CW_PHOTO_WARNINGS_MOST = 8, CW_PHOTO_TEXT = 240 };

/* What is left of two photographs once they have been compared: a few thousand numbers, from which any setup can be
 * worked out without the files. */
typedef struct {
    cw_frame_info reference, test;
    bool has_dark;
    char name[80]; /* of the test's file */
    cw_frame_cell cells[CW_PHOTO_CELLS];
} cw_photo_compared;

typedef struct {
    cw_shot shot;                       /* one sensor a place along the travel, method "photo"; marked_s NaN */
    double left, top, right, bottom;    /* the area used */
    double evenness_ev[CW_PHOTO_CELLS]; /* against the middle, over the area; NaN: not known */
    cw_quantity middle_s;               /* exposure at the middle of the frame */
    double u_shared;                    /* relative: what all places share (EXIF, JPEG); in each place's u too */
    double clipped, dark;               /* parts of the area left out: its pixels clipped, cells too near to nothing */
    double reference_level;             /* of saturation, mean over the area */
    double test_level;
    size_t warning_count;
    char warnings[CW_PHOTO_WARNINGS_MOST][CW_PHOTO_TEXT];
} cw_photo_result;

/* CW_INPUT: frames that do not belong together. dark may be NULL; name: of the test's file. */
cw_status cw_photo_compare(const cw_frame *reference, const cw_frame *test, const cw_frame *dark, const char *name,
                           cw_photo_compared *compared, cw_error *err) __attribute__((warn_unused_result));
/* CW_INPUT: no light in the reference, no exposure time known; CW_RANGE: an area or frame that cannot be. */
cw_status cw_photo_judge(const cw_photo_compared *compared, const cw_photo_setup *setup, cw_photo_result *result,
                         cw_error *err) __attribute__((warn_unused_result));

/* Both in one. */
cw_status cw_photo_pair(const cw_frame *reference, const cw_frame *test, const cw_frame *dark,
                        const cw_photo_setup *setup, cw_photo_result *result, cw_error *err)
    __attribute__((warn_unused_result));

/* "right", "left", "down", "up". */
const char *cw_photo_travel_name(cw_photo_travel travel);
bool cw_photo_travel_find(const char *name, cw_photo_travel *travel);

/* The setup as texts: how the curtains run ("right"), the gate as parts of the picture ("0.1,0.12,0.9,0.88"), the
 * reference's exposure ("1/2", "0.5 s"), how many places. */
enum { CW_PHOTO_SETUP_KEYS = 4 };
extern const char *const cw_photo_setup_keys[CW_PHOTO_SETUP_KEYS];
/* Sets the field of that key. CW_INPUT: no such key, or a text that cannot be. */
cw_status cw_photo_setup_set(cw_photo_setup *setup, const char *key, const char *text, cw_error *err)
    __attribute__((warn_unused_result));

/* As a test keeps it, with the mark of each pair (NaN: not said); photo_setup.c. NULL without memory. */
json_t *cw_photo_setup_json(const cw_photo_setup *setup, const double *marked_s, size_t count);
/* What is not there is left open; NULL is an empty one. CW_INPUT: a text that cannot be. */
cw_status cw_photo_setup_from_json(const json_t *object, double frame_mm, cw_photo_setup *setup, double *marked_s,
                                   size_t count, cw_error *err) __attribute__((warn_unused_result));

/* {"format":"camerawright.photographs/1","pairs":[{reference, test, cells}]}: photo_json.c. NULL without memory. */
json_t *cw_photo_compared_json(const cw_photo_compared *compared, size_t count);
/* CW_INPUT: another format, or numbers that cannot be. At most `most` pairs. */
cw_status cw_photo_compared_from_json(const json_t *object, cw_photo_compared *compared, size_t most, size_t *count,
                                      cw_error *err) __attribute__((warn_unused_result));

/* The one path: a shot a pair, the mark of each in marked_s (same count), evaluated under the plan with the places of
 * the first as its sensors. */
cw_status cw_photo_run(const cw_photo_result *results, const double *marked_s, size_t count,
                       const cw_shutter_plan *plan, cw_plan_result *result, cw_error *err)
    __attribute__((warn_unused_result));

#endif
