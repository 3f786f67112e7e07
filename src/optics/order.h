/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which piece goes where, which way round, with which spacer: every arrangement ranked by how well it explains what was
 * measured and how much it looks like a lens somebody designed.
 *
 * Model. Hypothesis a: the lens was arrangement a of these parts. The parts' true values are z standard normal away
 * from the measured ones (radii, thicknesses, indices, ring lengths; a piece's own focal length, where measured,
 * narrows them).
 *   1. Focal length and back focus of the whole, measured: N(measured; computed, J J' + R), J the derivatives by z, R
 * the measuring covariance. No gate on the bare difference: half a per cent on the radii alone moves the computed back
 *      focus by millimetres.
 *   2. Axial gaps cannot be negative: the probability of a gap above zero under its own uncertainty. A ring cannot
 * touch glass narrower than its contact diameter, and by common practice (no source) bears near the rim of the smaller
 * of its two pieces: a wide-tailed density of contact diameter over that rim.
 *   3. The axial beam f / f-number must pass the glass: where diameters were measured, each must admit the marginal
 * ray; glass far wider than the full field needs is unusual.
 *   4. Design prior: a lens as made is sharp. Real rays at full aperture on the axis, and at 0.7 and 1 of the field
 *      through 0.7 of the aperture, land within stated tolerances (cw_order_prior) of one point on one plane near the
 *      measured focus, and the image is not badly distorted; the parts' uncertainty, after 1, widens the tolerance.
 *   5. Exactly equal pieces, rings and faces are never told apart. Those that only measure the same may be the same:
 * the odds say how likely, and that share of the probability goes to the likelier of the two arrangements.
 *   6. Places where the diaphragm may stand are averaged over when it is not known; every arrangement is equally likely
 *      beforehand; a share is kept for "none of these", as likely as an arrangement that misses by the 99.9 % point.
 * The tolerances and priors are a choice, not published values; they were adjusted while looking at noisy draws of the
 * published lenses in tests/data/lenses, so the calibration measured on those is in-sample. */
#ifndef CW_OPTICS_ORDER_H
#define CW_OPTICS_ORDER_H

#include <jansson.h>
#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "optics/lens.h"
#include "optics/puzzle.h"

enum { CW_ORDER_SHOWN = 12, CW_ORDER_WARNINGS = 6, CW_ORDER_TEXT = 600 };

/* Tolerances as fractions of the focal length unless said otherwise; one standard deviation. */
typedef struct {
    double axis_ray;          /* of an axial ray at the best plane */
    double field_ray;         /* of an off-axis ray from its chief ray at the edge of the field */
    double focus_shift;       /* of the working plane from the paraxial focus */
    double distortion;        /* of the image height, relative */
    double decided;           /* probability the best must reach to be called decided */
    double field_unknown_deg; /* half field assumed when none is given */
    double f_number_unknown;  /* likewise */
} cw_order_prior;

cw_order_prior cw_order_prior_default(void);

typedef struct {
    size_t group[CW_PUZZLE_GROUPS];  /* index of the piece in each place, front to back */
    bool turned[CW_PUZZLE_GROUPS];   /* by place: against how the piece lies in the puzzle */
    size_t spacer[CW_PUZZLE_GROUPS]; /* index of the ring behind each place but the last */
} cw_arrangement;

typedef struct {
    cw_arrangement what;
    cw_quantity focal_length_mm, back_focus_mm; /* computed from the parts as measured; u from the parts alone */
    double spot_axis_mm,
        spot_field_mm;          /* rms at best focus with the parts adjusted to the known focus; NaN: not computed */
    double probability;         /* of this arrangement, or one that is the same glass in the same place */
    double log_first, log_rays; /* the pieces of the logarithm of its likelihood */
    double misfit;              /* of focal length and back focus, squared standard deviations */
    /* Index of an earlier candidate that is most likely the same glass in the same place (twin pieces, rings cut alike,
     * a piece with two equal faces turned) and has taken that share of the probability; SIZE_MAX: none. */
    size_t alike;
    bool has_lens; /* lens below is set */
    cw_lens lens;  /* the adjusted lens, for drawing */
} cw_order_candidate;

typedef struct {
    double arrangements; /* orders x ways round x distinct ring orders */
    double possible;     /* of them, kept after the glass and rings fit */
    size_t evaluated_rays;
    size_t count; /* candidates below, best first */
    cw_order_candidate candidate[CW_ORDER_SHOWN];
    double none_probability; /* of "none of these"; the rest is with candidates not shown */
    double other_probability;
    bool decided;
    char next_what[CW_ORDER_TEXT], next_why[CW_ORDER_TEXT]; /* "none needed" when decided */
    double next_bits;                                       /* expected information of that measurement */
    size_t warning_count;
    char warning[CW_ORDER_WARNINGS][CW_ORDER_TEXT];
} cw_order;

/* Ranks. `thorough` switches every shortcut off (for tests and benchmarks; the ranking is the same).
 * The caller frees *order with cw_order_free. CW_RANGE when no arrangement can be assembled at all, with the reason
 * that ruled out most. */
cw_status cw_order_rank(const cw_puzzle *puzzle, const cw_order_prior *prior, bool thorough, cw_order **order,
                        cw_error *err) __attribute__((warn_unused_result));
void cw_order_free(cw_order *order);

/* The form "camerawright.lens-order/1". NULL without memory. */
json_t *cw_order_json(const cw_puzzle *puzzle, const cw_order *order);

/* The lens an arrangement makes of the measured parts; a negative gap is closed to zero. The stop follows when known.
 */
cw_status cw_order_lens(const cw_puzzle *puzzle, const cw_arrangement *what, cw_lens *lens, cw_error *err)
    __attribute__((warn_unused_result));

/* "B A(turned) C with s2, s1". */
void cw_arrangement_text(const cw_puzzle *puzzle, const cw_arrangement *what, char *out, size_t size);

#endif
