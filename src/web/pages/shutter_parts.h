/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A shutter test on a page: plots, each with its table. */
#ifndef CW_WEB_SHUTTER_PARTS_H
#define CW_WEB_SHUTTER_PARTS_H

#include "shutter/evaluate.h"
#include "shutter/plan.h"
#include "web/request.h"

/* "inside", "outside", "too close to call", "not known" with its class. */
void cw_write_verdict(cw_html *h, cw_speed_verdict verdict);
/* In EV (`unit`: written after it, or ""), k = 2; a narrow column breaks it before the uncertainty and nowhere else. */
void cw_write_error_ev(cw_html *h, cw_quantity error_ev, const char *unit);
/* One sentence over all speeds: "6 of 9 speeds are inside, 2 outside, 1 too close to call." */
void cw_write_summary(cw_html *h, const cw_shutter_test *test);
/* Error by speed with tolerance and k = 2 bars; either may be NULL, not both. */
void cw_write_speed_plot(cw_html *h, const cw_shutter_test *before, const cw_shutter_test *after);
/* The same as a table of one test, with spread and evenness when `full` ... */
void cw_write_speed_table(cw_html *h, const cw_shutter_test *test, bool full);
/* ... or of both side by side. */
void cw_write_compare_table(cw_html *h, const cw_shutter_test *before, const cw_shutter_test *after);
/* Exposure across the frame, where the test tells anything about it. */
void cw_write_profiles(cw_html *h, const cw_shutter_test *test);
void cw_write_findings(cw_html *h, const cw_shutter_test *test);
/* How it was compared and where the uncertainty comes from, in plain words. */
void cw_write_method(cw_html *h, const cw_shutter_test *test);

#endif
