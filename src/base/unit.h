/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Dimensions and units: what a person types ("23.4mm", "0.92 in", "1/250", "4 ms", "12,5") into SI and back.
 * Inside the program every number is in the SI unit of its dimension (m, s, N, Pa, rad, K ...) unless its name says
 * otherwise (`_mm`, `_ev`). Factors: the SI brochure and NIST SP 811; 1 in = 0.0254 m exactly. */
#ifndef CW_BASE_UNIT_H
#define CW_BASE_UNIT_H

#include <stddef.h>

#include "base/error.h"

typedef enum {
    CW_PLAIN, /* a pure number, a count or a ratio */
    CW_FRACTION,
    CW_LENGTH,
    CW_AREA,
    CW_VOLUME,
    CW_TIME,
    CW_FREQUENCY,
    CW_SPEED,
    CW_ANGLE,
    CW_MASS,
    CW_DENSITY,
    CW_FORCE,
    CW_TORQUE,
    CW_STIFFNESS,         /* N/m */
    CW_TORSION_STIFFNESS, /* N m/rad */
    CW_WINDUP,            /* rad/(N m) */
    CW_STRESS,
    CW_ENERGY,
    CW_POWER,
    CW_TEMPERATURE,      /* a point on the scale; SI value in kelvin */
    CW_TEMPERATURE_STEP, /* a difference, in kelvin */
    CW_EXPANSION,        /* 1/K */
    CW_VOLTAGE,
    CW_CURRENT,
    CW_RESISTANCE,
    CW_CAPACITANCE,
    CW_CHARGE,
    CW_LUMINANCE,      /* cd/m2 */
    CW_ILLUMINANCE,    /* lx */
    CW_EXPOSURE_VALUE, /* EV, a point on the scale */
    CW_EXPOSURE_STEP,  /* EV, a difference or an error: shown with its sign, + = more light */
    CW_DIOPTRE,        /* 1/m */
    CW_MONEY,          /* in the person's own currency, no conversion */
    CW_DIMENSION_COUNT
} cw_dimension;

/* The SI factor and offset of a unit: si = value * factor + offset. */
typedef struct {
    const char *name; /* as typed and printed: "mm", "1/s", "N mm" */
    double factor, offset;
} cw_unit;

/* The unit named `name` in this dimension, NULL when it does not belong there. "" or NULL gives the SI unit.
 * Spelling: case matters only where it must (mm/Mm, mPa/MPa); "us" and a micro sign both mean microsecond. */
const cw_unit *cw_unit_find(cw_dimension dimension, const char *name);

/* A word for messages: "length", "time". */
const char *cw_dimension_name(cw_dimension dimension);

/* Every unit's name of the dimension, comma separated, for messages and help; SI first. Written to out (cut at size).
 */
void cw_unit_names(cw_dimension dimension, char *out, size_t size);

/* Reads a number with an optional unit.
 *
 * text       "23.4mm", "0,92 in", "1/250", "1/250 s", "2 1/2 in", "-0.3", "1e-3 m"; space around is ignored. One comma
 *            and no point is a decimal comma; commas as thousands marks are refused rather than guessed.
 * bare_unit  the unit a bare number is in, a unit of the dimension; NULL means the SI unit
 * si         the value in SI, finite; written only on CW_OK
 * CW_INPUT   empty, not a number, trailing text, a unit of another dimension, division by zero, not finite; the
 *            sentence shows what came and what would be understood. */
cw_status cw_parse_measure(const char *text, cw_dimension dimension, const char *bare_unit, double *si, cw_error *err)
    __attribute__((warn_unused_result));

/* A whole number, written in digits, in [least, most]. CW_INPUT otherwise, with the limits in the sentence. */
cw_status cw_parse_whole(const char *text, long least, long most, long *value, cw_error *err)
    __attribute__((warn_unused_result));

double cw_to_unit(double si, const cw_unit *unit);
double cw_from_unit(double value, const cw_unit *unit);

#endif
