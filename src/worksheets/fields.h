/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Short forms for the rows of a worksheet's table, and fields that many sheets share: materials and friction. */
#ifndef CW_WORKSHEETS_FIELDS_H
#define CW_WORKSHEETS_FIELDS_H

#include "worksheets/worksheet.h"
#include "workshop/material.h"

/* An input number that must be given; least and most in SI. */
#define CW_NEED(k, l, dim, u, lo, hi, h)                                                                               \
    {                                                                                                                  \
        .key = k, .label = l, .kind = CW_KIND_NUMBER, .dimension = dim, .unit = u, .required = true, .least = lo,      \
        .most = hi, .help = h                                                                                          \
    }
/* One with a usual value, as typed. */
#define CW_USUAL(k, l, dim, u, usual, lo, hi, h)                                                                       \
    {                                                                                                                  \
        .key = k, .label = l, .kind = CW_KIND_NUMBER, .dimension = dim, .unit = u, .fallback = usual, .least = lo,     \
        .most = hi, .help = h                                                                                          \
    }
/* One that may be left out. */
#define CW_MAYBE(k, l, dim, u, lo, hi, h)                                                                              \
    {                                                                                                                  \
        .key = k, .label = l, .kind = CW_KIND_NUMBER, .dimension = dim, .unit = u, .least = lo, .most = hi, .help = h  \
    }
/* The same three for what is counted. */
#define CW_NEED_COUNT(k, l, lo, hi, h)                                                                                 \
    {                                                                                                                  \
        .key = k, .label = l, .kind = CW_KIND_NUMBER, .whole = true, .required = true, .least = lo, .most = hi,        \
        .help = h                                                                                                      \
    }
#define CW_USUAL_COUNT(k, l, usual, lo, hi, h)                                                                         \
    {                                                                                                                  \
        .key = k, .label = l, .kind = CW_KIND_NUMBER, .whole = true, .fallback = usual, .least = lo, .most = hi,       \
        .help = h                                                                                                      \
    }
#define CW_MAYBE_COUNT(k, l, lo, hi, h)                                                                                \
    {                                                                                                                  \
        .key = k, .label = l, .kind = CW_KIND_NUMBER, .whole = true, .least = lo, .most = hi, .help = h                \
    }
/* A choice with its usual one. */
#define CW_PICK(k, l, list, usual, h)                                                                                  \
    {                                                                                                                  \
        .key = k, .label = l, .kind = CW_KIND_CHOICE, .choices = list, .fallback = usual, .help = h                    \
    }
/* An output number that must come out; one that may be "not known". */
#define CW_SHOW(k, l, dim, u, digits, h)                                                                               \
    {                                                                                                                  \
        .key = k, .label = l, .kind = CW_KIND_NUMBER, .dimension = dim, .unit = u, .required = true,                   \
        .figures = digits, .help = h                                                                                   \
    }
#define CW_MAY_SHOW(k, l, dim, u, digits, h)                                                                           \
    {                                                                                                                  \
        .key = k, .label = l, .kind = CW_KIND_NUMBER, .dimension = dim, .unit = u, .figures = digits, .help = h        \
    }
#define CW_SAY(k, l, h)                                                                                                \
    {                                                                                                                  \
        .key = k, .label = l, .kind = CW_KIND_TEXT, .help = h                                                          \
    }
#define CW_JUDGE(k, l, h)                                                                                              \
    {                                                                                                                  \
        .key = k, .label = l, .kind = CW_KIND_VERDICT, .required = true, .help = h                                     \
    }
#define CW_DRAWN(k, l, h)                                                                                              \
    {                                                                                                                  \
        .key = k, .label = l, .kind = CW_KIND_DRAWING, .required = true, .help = h                                     \
    }
#define CW_SOLID(k, l, h)                                                                                              \
    {                                                                                                                  \
        .key = k, .label = l, .kind = CW_KIND_MESH, .required = true, .help = h                                        \
    }
#define CW_TABLE(k, l, cols, h)                                                                                        \
    {                                                                                                                  \
        .key = k, .label = l, .kind = CW_KIND_ROWS, .columns = cols, .column_count = CW_COUNT(cols), .help = h         \
    }

/* Materials as choices, ended by "own": the person's own figures, given in the fields `own-...` beside it. */
extern const cw_choice cw_material_choices[];
extern const cw_choice cw_friction_choices[];
extern const cw_choice cw_spring_wire_choices[];
extern const cw_choice cw_frame_choices[];

/* The four fields of an own material; at most one own material on a sheet. */
#define CW_OWN_MATERIAL_FIELDS                                                                                         \
    CW_MAYBE("own-yield", "Own material: yield stress", CW_STRESS, "MPa", 1e6, 4e9,                                    \
             "from its data sheet; only where a material above is \"your own figures\""),                              \
        CW_MAYBE("own-modulus", "Own material: modulus", CW_STRESS, "GPa", 1e6, 700e9, "modulus of elasticity, E"),    \
        CW_USUAL("own-poisson", "Own material: Poisson's ratio", CW_PLAIN, NULL, "0.3", 0, 0.5,                        \
                 "0.3 for most metals"),                                                                               \
        CW_MAYBE("own-expansion", "Own material: expansion", CW_EXPANSION, "1e-6/K", 0, 300e-6,                        \
                 "linear, for each kelvin")

/* The material chosen in field `key`; "own" reads the fields above (uncertainty: 5 % of each figure, judgement). needs:
 * CW_NEEDS_ of own_material.h. CW_INPUT when a figure is missing that is needed. It lives as long as `in`. */
cw_status cw_in_material(const cw_sheet_in *in, const char *key, unsigned needs, cw_material *material, cw_error *err)
    __attribute__((warn_unused_result));
/* The same for a cell of a table, by what was chosen there. */
cw_status cw_in_material_named(const cw_sheet_in *in, const char *chosen, unsigned needs, cw_material *material,
                               cw_error *err) __attribute__((warn_unused_result));
/* How well its expansion is known: standard uncertainty over value. */
double cw_in_expansion_share(const cw_sheet_in *in, const char *key);

/* The spring wire chosen in field `key`, the program's or the person's own material drawn to wire. */
typedef struct {
    cw_spring_wire wire;
    double modulus_share; /* of E and G: standard uncertainty over value */
} cw_wire_found;
cw_status cw_in_wire(const cw_sheet_in *in, const char *key, unsigned needs, cw_wire_found *found, cw_error *err)
    __attribute__((warn_unused_result));

/* Friction from the choice "surfaces", or from the number "friction" when it is given (u: a tenth of it, judgement). */
#define CW_FRICTION_FIELDS(usual)                                                                                      \
    CW_PICK("surfaces", "What rubs on what", cw_friction_choices, usual, "sets the friction where none is measured"),  \
        CW_MAYBE("friction", "Measured friction", CW_PLAIN, NULL, 0.02, 3,                                             \
                 "tilt the face till the piece slides: friction is the tangent of that angle")
cw_quantity cw_in_friction(const cw_sheet_in *in);

/* The input or, when it is not given, another value. */
double cw_in_or(const cw_sheet_in *in, const char *key, double otherwise);

/* The TEXT output "stop": the torque to stop at, why there ("half of what the weakest place stands"), how far the hands
 * have then turned (windup_rad_n_m 0: not said), and what to try before more force. */
void cw_out_stop(cw_sheet_out *out, double stop_n_m, const char *why, double windup_rad_n_m);

/* NaN for what is not finite, so that "for ever" is shown as not known. */
double cw_finite(double value);

/* An outside, inside or too-close verdict of a quantity that should be at least `wanted`, at k = 2. */
cw_verdict cw_at_least(cw_quantity value, double wanted);

#endif
