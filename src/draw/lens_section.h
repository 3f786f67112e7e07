/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A lens cut along its axis, to scale, with light in it. */
#ifndef CW_DRAW_LENS_SECTION_H
#define CW_DRAW_LENS_SECTION_H

#include "base/error.h"
#include "draw/drawing.h"
#include "optics/lens.h"
#include "optics/order.h"

/* Draws the glass, the axis, the stop and the image plane, with three axial rays and, when the half field is known,
 * three from its edge, into `drawing`; the first vertex stands at `origin`. Clear radii that are not known are taken as
 * what the rays need and a tenth more. image_mm: the image plane behind the last vertex. beam_mm: the axial beam's
 * diameter. label (may be NULL) is written underneath. CW_RANGE when even the axial rays do not come through. */
cw_status cw_draw_lens_section(cw_drawing *drawing, const cw_lens *lens, double beam_mm, double image_mm,
                               cw_point origin, const char *label, cw_error *err) __attribute__((warn_unused_result));

/* The three likeliest arrangements under each other, each with its words; one that light does not get through, or whose
 * glass is not known, keeps only the words. The caller frees *drawing. */
cw_status cw_draw_order(const cw_puzzle *puzzle, const cw_order *order, cw_drawing **drawing, cw_error *err)
    __attribute__((warn_unused_result));

#endif
