/* SPDX-License-Identifier: GPL-3.0-or-later */
/* "Have I something for a 23.4 mm ring with 1.2 mm slots?" Ranks the tools on the rack against a need. SI units. */
#ifndef CW_WORKSHOP_RACK_H
#define CW_WORKSHOP_RACK_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"

typedef enum {
    CW_RACK_TWO_BLADE,  /* fixed span, two flat tips */
    CW_RACK_TWO_PIN,    /* fixed span, two round or square pins */
    CW_RACK_ADJUSTABLE, /* span from span_m to span_most_m, flat tips */
    CW_RACK_COLLAR,     /* grips a diameter: span_m to span_most_m */
    CW_RACK_RUBBER,     /* friction ring: span_m inside, span_most_m outside diameter */
    CW_RACK_CLAMP,      /* bore span_m to span_most_m */
    CW_RACK_KIND_COUNT
} cw_rack_kind;

typedef struct {
    cw_rack_kind kind;
    double span_m, span_most_m; /* see the kinds; span_most_m NaN where there is one size */
    double tip_m;               /* tip thickness or pin diameter; NaN: none, or not known */
    double tip_width_m;         /* radial; NaN: not known */
    double reach_m;             /* NaN: not known */
    double clears_m;            /* diameter that passes between the tips; NaN: not known */
} cw_rack_tool;

typedef struct {
    cw_rack_kind kind;    /* two-blade and adjustable tools answer for each other's needs */
    double span_m;        /* between slots or holes, or the diameter to grip */
    double slot_m;        /* slot width or hole diameter; NaN for gripping kinds */
    double slot_length_m; /* radial length of the slot; NaN: not known */
    double reach_m;       /* needed depth; NaN: not needed */
    double barrel_m;      /* diameter to clear; NaN or 0: nothing */
} cw_rack_need;

typedef enum {
    CW_RACK_FITS,  /* as it is */
    CW_RACK_FILE,  /* after taking off material */
    CW_RACK_LOOSE, /* goes in, but is slack: may slip */
    CW_RACK_CANNOT /* material is missing: too short, wrong span, wrong kind */
} cw_rack_state;

enum { CW_RACK_WORDS = 320 };

typedef struct {
    size_t index; /* of the tool in the caller's array */
    cw_rack_state state;
    double filing_m3;          /* material to take off, estimated; 0 when it fits */
    double play_m;             /* slot less tip, as it is after filing */
    char words[CW_RACK_WORDS]; /* "fits, 0.06 mm of play", "file both tips from 1.5 to 1.15 mm" */
} cw_rack_match;

/* Ranks: what fits (least play first), then what would fit after filing (least material first), then what goes in
 * loosely (least play first); what cannot serve comes last, with the reason, nearest first. Limits, common practice, no
 * source: a tip may be 0.02 mm to an eighth of the slot (0.1 mm at least) thinner than it; a span may be off by a tenth
 * of the slot's length, or 0.15 mm when that is not known, and filing the tips' flanks can shift it by up to a third of
 * the tip's width.
 *
 * matches   room for tool_count; *count = tool_count on CW_OK
 * CW_RANGE  a need without a span, a tool without one ("tool 3 has no span") */
cw_status cw_rack_rank(const cw_rack_tool *tools, size_t tool_count, const cw_rack_need *need, cw_rack_match *matches,
                       cw_error *err) __attribute__((warn_unused_result));

const char *cw_rack_kind_name(cw_rack_kind kind); /* "two-blade wrench" */
const char *cw_rack_kind_key(cw_rack_kind kind);  /* "two-blade", as it is typed */
/* The kind a word stands for: its key, its name, or the worksheet that makes such a tool ("flat-wrench"); case, blanks
 * and hyphens do not matter. False for any other word: a screwdriver is a tool, but no size decides whether it fits. */
bool cw_rack_kind_find(const char *word, cw_rack_kind *kind);

#endif
