/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Within this room: findings, each only where the measurement stands well clear of its own uncertainty. */
#ifndef CW_SHUTTER_FINDINGS_H
#define CW_SHUTTER_FINDINGS_H

#include "shutter/inner.h"

/* An error counts as off from here: 0.6 of the limit, at least 0.15 EV, and three times its standard uncertainty. Below
 * that a shutter is left in peace. Common practice, no source. */
#define CW_OFF_SHARE 0.6
#define CW_OFF_LEAST_EV 0.15
#define CW_CLEAR 3.0

/* Adds a finding; every code comes at most once. */
void cw_finding_add(cw_shutter_test *test, const char *code, const char *text, const char *evidence, ...)
    __attribute__((format(printf, 4, 5)));
bool cw_finding_has(const cw_shutter_test *test, const char *code);

/* +1: clearly slow, -1: clearly fast, 0: neither, or not known. */
int cw_speed_off(const cw_speed *speed);
bool cw_speed_known(const cw_speed *speed);

/* The three groups: the pattern of errors over the speeds, the curtains, the flash contact. */
void cw_findings_speeds(cw_shutter_test *test);
void cw_findings_curtains(cw_shutter_test *test, const cw_shape *shape);
void cw_findings_flash(cw_shutter_test *test);

#endif
