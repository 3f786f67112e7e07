/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The plots a repairer looks at after a shutter test. */
#ifndef CW_DRAW_PLOT_SHUTTER_H
#define CW_DRAW_PLOT_SHUTTER_H

#include "base/buf.h"
#include "base/error.h"
#include "shutter/evaluate.h"

/* Exposure error in EV by marked speed, slowest to the left, with k = 2 bars and the tolerance as a shaded band; before
 * against after where both are given. Either test may be NULL, not both. The tolerance shown is that of `after` where
 * it is given. The description names each speed outside, or too close to call. `width_px` as in cw_plot: 0 suits a
 * laptop and paper, 330 a phone, where text must not shrink with the picture. CW_RANGE: no test, or tests without
 * speeds. */
cw_status cw_plot_speed_errors(const cw_shutter_test *before, const cw_shutter_test *after, double width_px,
                               cw_buf *out, cw_error *err) __attribute__((warn_unused_result));

/* Whether the test says anything about places across the frame. */
bool cw_plot_has_profile(const cw_shutter_test *test);

/* Exposure across the frame against its reference, in EV, a small plot for each marked speed (`columns` side by side,
 * 2 suits page and paper): the fitted curve with its k = 2 band, and the mean of each sensor as a marker with a k = 2
 * bar. All share one scale. CW_RANGE when cw_plot_has_profile is false. */
cw_status cw_plot_profiles(const cw_shutter_test *test, size_t columns, cw_buf *out, cw_error *err)
    __attribute__((warn_unused_result));

/* The same with two tests in each small plot: before (dashed, squares) and after (full line, dots). Either may be NULL
 * or without a profile, not both. */
cw_status cw_plot_profile_pair(const cw_shutter_test *before, const cw_shutter_test *after, size_t columns, cw_buf *out,
                               cw_error *err) __attribute__((warn_unused_result));

#endif
