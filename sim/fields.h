/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The keys of a scenario: where each lies in the struct and what it may hold. */
#ifndef CW_SIM_FIELDS_H
#define CW_SIM_FIELDS_H

#include "sim/inside.h"

typedef enum { SIM_NUMBER, SIM_COUNT, SIM_FLAG } sim_field_kind;

typedef struct {
    const char *group, *key; /* "focal.first", "start_mm"; group "" at the top */
    size_t offset;           /* in cw_sim_scenario; double, unsigned or bool by kind */
    sim_field_kind kind;
    double least, most;
} sim_field;

extern const sim_field sim_fields[];
extern const size_t sim_field_count;

#endif
