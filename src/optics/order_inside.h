/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Between the files of the order search only. */
#ifndef CW_OPTICS_ORDER_INSIDE_H
#define CW_OPTICS_ORDER_INSIDE_H

#include "optics/order.h"
#include "optics/trace.h"

enum {
    PIECE_PARAMETERS = 3 * CW_GROUP_GLASSES + 1, /* curvatures, thicknesses, indices */
    ORDER_PARAMETERS = CW_PUZZLE_GROUPS * PIECE_PARAMETERS + CW_PUZZLE_GROUPS,
    ORDER_SURFACES = CW_PUZZLE_GROUPS * (CW_GROUP_GLASSES + 1)
};

typedef struct {
    double y, nu;
} column; /* height and index times slope */

typedef struct {
    double a, b, c, d;
} matrix2; /* [a b; c d] on a column */

/* A piece prepared for the search: its parameters are mean + root z, z standard normal. */
typedef struct {
    size_t parameters, free; /* of them, and the length of its z */
    double mean[PIECE_PARAMETERS];
    double root[PIECE_PARAMETERS][PIECE_PARAMETERS]; /* parameters x free */
    matrix2 m[2], dm[2][PIECE_PARAMETERS];           /* by way round; and by z */
    double c[2][2], dc[2][2][PIECE_PARAMETERS];      /* outer curvatures: way round, front/rear; by z */
    size_t z_at;                                     /* where its z begins in the whole */
    bool symmetric;                                  /* turning changes nothing */
    size_t twin;                                     /* an earlier piece exactly like it, or SIZE_MAX */
} piece;

typedef struct {
    double sag, dsag[PIECE_PARAMETERS]; /* at a ring's contact radius; by z of the piece */
    bool reaches;
} contact;

/* One air gap: piece g way o in front of piece h way p with ring s. */
typedef struct {
    double gap, log_likelihood;
    bool allowed;
} joint;

typedef struct {
    const cw_puzzle *puzzle;
    cw_order_prior prior;
    bool thorough;
    size_t n, z_count;
    piece p[CW_PUZZLE_GROUPS];
    contact touch[CW_PUZZLE_GROUPS][2][2][CW_PUZZLE_GROUPS]; /* piece, way, side, ring */
    joint joint[CW_PUZZLE_GROUPS][2][CW_PUZZLE_GROUPS][2][CW_PUZZLE_GROUPS];
    size_t ring_z[CW_PUZZLE_GROUPS]; /* where a ring's z stands */
    size_t ring_twin[CW_PUZZLE_GROUPS];
    bool place_allowed[CW_PUZZLE_GROUPS][CW_PUZZLE_GROUPS]; /* piece, place */
    double place_log[CW_PUZZLE_GROUPS][CW_PUZZLE_GROUPS];
    bool rays_possible;      /* every piece's inside is known */
    bool diameters_measured; /* and wide enough for the beam to be believed */
    double scale_mm;         /* the known focal length, or back focus in its stead */
    double coarse;           /* the largest relative uncertainty of a curvature, in half per cents, at least 1 */
    double beam_mm, field_deg;
    size_t ruled_narrow, ruled_gap; /* joints ruled out, for the message */
} search;

/* Leaf of the search. */
typedef struct {
    cw_arrangement what;
    double f, b, log_first, misfit;
} leaf;

/* What the first-order optics of an arrangement says: f, b and their derivatives by z. */
typedef struct {
    double f, b;
    double df[ORDER_PARAMETERS], db[ORDER_PARAMETERS];
} first_order;

cw_status cw_inside_prepare(const cw_puzzle *puzzle, const cw_order_prior *prior, bool thorough, search *s,
                            cw_error *err) __attribute__((warn_unused_result));
void cw_inside_first_order(const search *s, const cw_arrangement *what, first_order *out);
/* Covariance of (f, b) from the parts plus the measuring one; inverse in inv[3] = {ff, fb, bb}; returns the log of the
 * determinant. Missing measurements have infinite variance, that is zero inverse. */
double cw_inside_covariance(const search *s, const first_order *o, double part[3], double inverse[3]);

/* The surfaces of an arrangement with its parts at z (NULL: as measured). */
typedef struct {
    size_t count;
    double c[ORDER_SURFACES], t[ORDER_SURFACES], n[ORDER_SURFACES]; /* n after */
    size_t piece_end[CW_PUZZLE_GROUPS];                             /* index of each place's last surface */
    double stop_at[CW_PUZZLE_GROUPS]; /* by place: where a diaphragm in the ring behind it stands, after that surface */
} built;

void cw_inside_build(const search *s, const cw_arrangement *what, const double *z, built *out);

typedef struct {
    double log_rays; /* sharpness and beam together */
    double spot_axis_mm, spot_field_mm;
    double z[ORDER_PARAMETERS];       /* the parts adjusted to the known focal length and back focus */
    double by_stop[CW_PUZZLE_GROUPS]; /* log evidence by the gap the diaphragm may stand in; NaN: not tried */
} ray_verdict;

/* floor: a log evidence below which the exact figure does not matter and an upper bound will do (-INFINITY: always
 * exact).
 */
void cw_inside_rays(const search *s, const cw_arrangement *what, double floor, ray_verdict *out);
/* Spot at the edge of the field of an arrangement whose parts are at z; NaN when rays are lost. */
double cw_inside_field_spot(const search *s, const cw_arrangement *what, const double *z);
/* The chance, 0 to 1, that two arrangements are the same glass in the same place: they differ only in pieces or rings
 * that measure the same, or in a turned piece whose faces do. */
double cw_inside_alike(const search *s, const cw_arrangement *a, const cw_arrangement *b);
void cw_inside_next(const search *s, cw_order *order);

#endif
