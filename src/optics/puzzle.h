/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A lens fallen apart: loose groups of glass, loose spacer rings, and what is known of the whole. */
#ifndef CW_OPTICS_PUZZLE_H
#define CW_OPTICS_PUZZLE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/quantity.h"

enum { CW_PUZZLE_GROUPS = 7, CW_GROUP_GLASSES = 5, CW_PUZZLE_LABEL = 32 };

/* One loose piece: a single lens, or lenses cemented together. Radii as it lies now, front to back, positive when the
 * centre of curvature lies to the right. Every measured value carries its standard uncertainty. */
typedef struct {
    char label[CW_PUZZLE_LABEL];
    size_t glasses;                              /* 1 single, 2 or more cemented; surfaces = glasses + 1 */
    cw_quantity curvature[CW_GROUP_GLASSES + 1]; /* 1/mm */
    cw_quantity thickness_mm[CW_GROUP_GLASSES];
    cw_quantity n_d[CW_GROUP_GLASSES];         /* NaN: not known */
    double diameter_mm;                        /* NaN: not measured */
    cw_quantity focal_length_mm;               /* of the piece alone, NaN: not measured */
    cw_quantity front_focus_mm, back_focus_mm; /* glass to focus on either side, as it lies now; NaN: not measured */
    bool inside_known;                         /* every index known or to be had from the focal length */
    size_t position;                           /* fixed place from 0, or SIZE_MAX */
    int turned;                                /* fixed way round: 0 as it lies, 1 turned, -1 free */
} cw_loose_group;

typedef struct {
    char label[CW_PUZZLE_LABEL];
    cw_quantity length_mm;
    double contact_mm; /* diameter at which the ring touches glass, both sides */
    size_t position;   /* fixed place from 0 (behind the group of that number), or SIZE_MAX */
} cw_spacer;

typedef struct {
    double seat_mm; /* the seat's own diameter: the glass that belongs here fits it; NaN: not known */
    double bore_mm; /* nothing wider gets here; NaN: not known */
} cw_barrel_place;

typedef struct {
    char name[128];
    size_t group_count; /* 2 to CW_PUZZLE_GROUPS */
    cw_loose_group group[CW_PUZZLE_GROUPS];
    cw_spacer spacer[CW_PUZZLE_GROUPS]; /* group_count - 1 of them */
    cw_barrel_place place[CW_PUZZLE_GROUPS];
    cw_quantity focal_length_mm, back_focus_mm; /* of the whole lens; NaN: not known; at least one is */
    double f_number, half_field_deg;            /* NaN: not known */
    bool stop_known;
    size_t stop_spacer;   /* index of the spacer that holds the diaphragm */
    double stop_after_mm; /* from the plane where that spacer touches the group in front of it */
} cw_puzzle;

/* Reads the form "camerawright.puzzle/1".
 *
 * "known": focal_length_mm, back_focus_mm with u_..., f_number, half_field_deg. "uncertainty": radius_relative,
 * thickness_mm, spacer_mm, n_d (defaults 0.005, 0.02, 0.02, 0). "groups": label, radii_mm (null = plane), thickness_mm,
 * n_d (null = not known), diameter_mm and, where measured, focal_length_mm, front_focus_mm, back_focus_mm with u_...,
 * and "fixed": {"position": 1, "turned": false}. "spacers": label, length_mm, contact_diameter_mm, "position". "stop":
 * {"in_spacer", "after_front_contact_mm"}. "barrel": a list, one for each place from the front, of {"seat_diameter_mm",
 * "bore_diameter_mm"} or null. Other keys are left alone, "answer" among them.
 *
 * A single lens whose index is not given gets it from its focal length, with the uncertainty that follows. A cemented
 * piece without indices needs its focal length and both focal distances. A piece measured in both ways has both used.
 * CW_NOT_MINE, CW_INPUT, CW_RANGE as in lens.h; the sentence names the piece. */
cw_status cw_puzzle_from_json(const char *bytes, size_t count, cw_puzzle *puzzle, cw_error *err)
    __attribute__((warn_unused_result));

/* What cw_puzzle_from_json ends with: counts, finite values, curvatures that reach the diameter, glass with an edge. */
cw_status cw_puzzle_check(const cw_puzzle *puzzle, cw_error *err) __attribute__((warn_unused_result));

/* The index of a single lens from its measured focal length: solves 1/f = (n-1)(c1 - c2 + (n-1) t c1 c2 / n).
 * CW_RANGE when no index between 1.05 and 4 gives that focal length. */
cw_status cw_index_from_focal_length(cw_quantity c1, cw_quantity c2, cw_quantity thickness_mm, cw_quantity focal_mm,
                                     cw_quantity *index, cw_error *err) __attribute__((warn_unused_result));

#endif
