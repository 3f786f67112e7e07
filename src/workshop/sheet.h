/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Things cut from sheet: ground glass, gaskets, light seals, coverings, curtains, shims. SI units.
 * Where a proportion is a habit of the trade it says so: common practice, no source. */
#ifndef CW_WORKSHOP_SHEET_H
#define CW_WORKSHOP_SHEET_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"

typedef struct {
    const char *key, *label;
    double width_m, height_m; /* nominal image, along the film first */
    double film_m;            /* width of the film or plate */
} cw_frame;

/* 35 mm, 126, 127, 120, 110 ... Nominal sizes; a gate may be half a millimetre off: measure it. From memory. */
const cw_frame *cw_frames(size_t *count);
const cw_frame *cw_frame_find(const char *key); /* NULL when there is none */

/* A focusing screen that lies where the film lies. */
typedef struct {
    double frame_width_m, frame_height_m;
    double rail_gap_m; /* between the inner film rails, across the film: the glass lies on them; NaN: frame height + 2
                          mm */
    double ledge_m;    /* by how much it overlaps at the ends */
    double channel_m;  /* width between the outer rails, which it must pass; NaN: film + 0.2 mm, not checked */
} cw_screen;

typedef struct {
    double width_m, height_m;
    double corner_m; /* to stone off each corner */
} cw_screen_size;

/* CW_RANGE: a glass that falls through the rails or does not pass the outer ones. */
cw_status cw_screen_find(const cw_screen *screen, cw_screen_size *size, cw_error *err)
    __attribute__((warn_unused_result));

/* A foam strip in a channel. */
typedef struct {
    double channel_width_m, channel_depth_m;
    double gap_m;    /* from the channel's floor to what closes on it, shut */
    double length_m; /* of the channel */
    double foam_m;   /* thickness of foam to hand; NaN: propose */
} cw_seal;

typedef struct {
    double width_m, length_m;         /* to cut */
    double foam_m;                    /* thickness used or proposed */
    double squash;                    /* 1 - gap / foam */
    double least_foam_m, most_foam_m; /* squash 0.25 to 0.5 */
    bool is_good;                     /* squash within that */
    const char *why;                  /* "lets light by", "holds the door open", "right" */
} cw_seal_size;

cw_status cw_seal_find(const cw_seal *seal, cw_seal_size *size, cw_error *err) __attribute__((warn_unused_result));

/* A covering that wraps a body with two round ends: flat front and half rounds. */
typedef struct {
    double flat_m;       /* straight length between the rounds, one side */
    double end_radius_m; /* of the body's ends; 0 for a square box */
    double height_m;     /* of the covered band */
    double thickness_m;  /* of the covering */
    double overlap_m;    /* at the joint; 0 to butt */
    bool wraps_round;    /* front, both ends and back; otherwise front and half of each end */
} cw_covering;

/* *length_m: of the blank, on the covering's middle layer. */
cw_status cw_covering_find(const cw_covering *covering, double *length_m, double *height_m, cw_error *err)
    __attribute__((warn_unused_result));

/* One curtain of a cloth focal-plane shutter. */
typedef struct {
    double frame_width_m, frame_height_m; /* width along the travel */
    double side_m;                        /* cloth beyond the frame on each side, in the light trap */
    double lath_m;                        /* width of the metal edge */
    double overlap_m;                     /* of the two curtains when wound, each */
    double drum_m;                        /* diameter of the drum it winds on */
    double drum_turns;                    /* turns that stay on the drum at the far end of travel */
    double cloth_m;                       /* thickness */
    double glue_m;                        /* width of each glued seam: at the drum and at the lath */
} cw_curtain;

typedef struct {
    double width_m;      /* of the cloth: across the travel */
    double length_m;     /* cut length, seams included */
    double free_m;       /* without the seams */
    double drum_build_m; /* diameter of the drum with all cloth wound on */
    double travel_turns; /* turns of the drum for the frame's travel */
} cw_curtain_size;

cw_status cw_curtain_find(const cw_curtain *curtain, cw_curtain_size *size, cw_error *err)
    __attribute__((warn_unused_result));

/* A stack of shims from what is to hand. */
enum { CW_SHIMS_MOST = 12, CW_SHIM_STACKS_MOST = 5, CW_SHIM_PIECES_MOST = 8 };

typedef struct {
    double thickness_m;
    int available; /* pieces; up to CW_SHIM_PIECES_MOST are used of any */
} cw_shim;

typedef struct {
    int pieces[CW_SHIMS_MOST]; /* of each kind */
    int piece_count;
    double total_m, off_m; /* total - wanted */
} cw_shim_stack;

/* Every stack of up to CW_SHIM_PIECES_MOST pieces is looked at; the nearest come first, fewer pieces where equally near
 * (0.2 um). CW_RANGE: no kinds, a thickness or wanted size that makes no sense. *count 0 is not possible on CW_OK:
 * nothing is a stack. */
cw_status cw_shims_find(double wanted_m, const cw_shim *kinds, size_t kind_count, cw_shim_stack *stacks, size_t *count,
                        cw_error *err) __attribute__((warn_unused_result));

#endif
