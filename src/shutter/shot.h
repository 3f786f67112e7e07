/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One firing of the shutter as the sensors saw it. Recordings, the light gate, photographs, sound and typed readings
 * all become shots; from there on there is one path (evaluate.h). Instants are seconds from the start of the recording.
 */
#ifndef CW_SHUTTER_SHOT_H
#define CW_SHUTTER_SHOT_H

#include <stdbool.h>
#include <stddef.h>

#include "base/quantity.h"

enum { CW_SENSORS_MOST = 8, CW_BOUNCES_MOST = 16, CW_REMARK_TEXT = 200, CW_SHOTS_MOST = 4096, CW_SPEEDS_MOST = 32 };

/* How an exposure was had. */
typedef enum {
    CW_METHOD_NONE,      /* not known */
    CW_METHOD_AREA,      /* integral of the light over the full-open level */
    CW_METHOD_MID_LEVEL, /* difference of the two mid-reference instants (IEEE Std 181) */
    CW_METHOD_EDGES,     /* comparator edges: light gate, logic analyser */
    CW_METHOD_READING,   /* a number copied from a timer */
    CW_METHOD_SOUND,     /* picked from the sound of the shutter */
    CW_METHOD_PHOTO      /* from the ratio of two photographs */
} cw_exposure_method;

const char *cw_exposure_method_name(cw_exposure_method method); /* "area", "mid-level", ... as in JSON; "none" */

/* The method of that name; false, and nothing written, when there is none. */
bool cw_exposure_method_find(const char *name, cw_exposure_method *method);

/* Light that came again after the shutter had closed. */
typedef struct {
    double at_s;       /* its opening instant */
    double exposure_s; /* what it adds, as equivalent full-open time */
} cw_bounce;

typedef struct {
    double position_mm;              /* along the travel from the edge that opens first; NaN: not given */
    bool seen;                       /* false: this sensor saw no light in this shot (capped, misplaced, idle) */
    cw_quantity open_s, close_s;     /* mid-reference instants; NaN where not known */
    cw_quantity area_s, mid_level_s; /* the exposure both ways; NaN where it cannot be had */
    cw_exposure_method method;       /* the one chosen for exposure_s, by the rule in measure.h */
    cw_quantity exposure_s;          /* NaN when not seen */
    double u_random_s; /* the part of exposure_s.u that differs from shot to shot (noise, sampling) and so averages out
                        * over repeats; the rest (level, threshold, detector) stays. 0: none is known to average out */
    double peak_fraction;        /* highest light over the full-open level, 1 = fully open; NaN: level not known */
    double total_s;              /* first to last light, ISO 516 total time; NaN: not known */
    double opening_s, closing_s; /* transition durations 10 to 90 %; NaN: not known */
    size_t bounce_count;
    cw_bounce bounces[CW_BOUNCES_MOST];
    char remark[CW_REMARK_TEXT]; /* what a person should know about this number, "" for nothing */
} cw_sensor_shot;

/* A sensor of which nothing is known yet: not seen, every quantity NaN, no remark. position_mm NaN: not given. */
cw_sensor_shot cw_sensor_shot_unknown(double position_mm);

typedef struct {
    double at_s;     /* first light (or first click), for finding the place again */
    double marked_s; /* the engraved speed as a number, 0.004 for 1/250; NaN while not assigned */
    size_t sensor_count;
    cw_sensor_shot sensors[CW_SENSORS_MOST];
    bool contact_seen;
    cw_quantity contact_s;  /* flash contact closes; NaN when not seen */
    double contact_opens_s; /* NaN when not seen */
    bool incomplete;        /* something was lost (serial line, end of file): kept, shown, left out of the figures */
    bool struck;            /* struck out by the person: kept, shown, left out of the figures */
    char remark[CW_REMARK_TEXT]; /* why incomplete or struck */
} cw_shot;

#endif
