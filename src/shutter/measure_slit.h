/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Within this room: the full-open level of a sensor, from pulses that never rest on it. */
#ifndef CW_SHUTTER_MEASURE_SLIT_H
#define CW_SHUTTER_MEASURE_SLIT_H

#include "base/quantity.h"
#include "shutter/measure_parts.h"

/* A slit draws the profile of the beam out over the exposure: the light is the beam's own pulse, as long as the curtain
 * takes to cross it, spread evenly over the exposure t. In such a sum variances add, beam^2 + lag^2 + t^2/12, and the
 * area is F t, so that over shots of different exposure the variance rises with the square of the area by 1/(12 F^2),
 * whatever the beam is like, how fast the curtain runs and whether the slit is wider than the beam.
 *
 * The level F from all whole shots of a channel; NaN where they are too much alike (one speed alone) or too noisy to
 * tell it to CW_SLIT_TOLD. Only for curtains: blades open for a changing part of the beam. */
cw_quantity cw_slit_level(const cw_measuring *m, size_t channel);

/* A flat top with flanks is a beam in an open slit or, the other way round, a slit in a wider beam, and looks the same
 * at one sensor. Between sensors the curtain gains speed: its time across the beam differs, the exposure hardly. True
 * where it is the long one of both that differs from sensor to sensor, and so the slit is the narrower. */
bool cw_slit_is_narrower(const cw_measuring *m);

/* A level known worse than this (relative, k = 1) is not told. */
#define CW_SLIT_TOLD 0.2

#endif
