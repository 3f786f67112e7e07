/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Reference levels as a form or a command line says them, and as JSON. */
#ifndef CW_NOTEBOOK_LEVEL_TEXT_H
#define CW_NOTEBOOK_LEVEL_TEXT_H

#include <jansson.h>

#include "notebook/rack.h"

/* Sets value, u_value and unit. u: standard uncertainty in the same unit, NULL or "": not known. CW_INPUT: a unit other
 * than EV, cd/m2 and lx, a figure that is none, an EV no lamp on a bench has. */
cw_status cw_level_figures(const char *value, const char *u, const char *unit, cw_level *level, cw_error *err)
    __attribute__((warn_unused_result));

/* "camerawright.levels/1"; NULL without memory. */
json_t *cw_level_list_json(const cw_level_list *levels);

#endif
