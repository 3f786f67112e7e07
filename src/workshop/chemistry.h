/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Small chemistry of the bench: thinning alcohol, what a solvent harms, what grease belongs where, leaked cells.
 * None of it replaces the safety data sheet of what is in the bottle. SI units. */
#ifndef CW_WORKSHOP_CHEMISTRY_H
#define CW_WORKSHOP_CHEMISTRY_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"

/* Flash point of ethanol in water by volume fraction, kelvin: straight lines between the figures of ilpi.com, dchas
 * 2015; isopropyl mixes are of the same order (no table found). NaN below 20 %. */
double cw_ethanol_flash_point_k(double by_volume);

typedef enum { CW_HARM_NONE, CW_HARM_CARE, CW_HARM_HARMS, CW_HARM_UNKNOWN } cw_harm;

size_t cw_solvent_count(void);
size_t cw_surface_count(void);
const char *cw_solvent_key(size_t index);   /* "isopropyl"; "" past the end */
const char *cw_solvent_label(size_t index); /* "isopropyl alcohol" */
const char *cw_surface_key(size_t index);   /* "abs" */
const char *cw_surface_label(size_t index); /* "ABS, polystyrene" */
/* By keys; UNKNOWN when either is not known. Common practice and general resistance charts, from memory: try a hidden
 * spot. */
cw_harm cw_solvent_harm(const char *solvent, const char *surface);

typedef struct {
    const char *key, *label;
    const char *what; /* kind of lubricant, or "nothing" */
    const char *how;  /* where and how little */
    bool is_dry;      /* nothing belongs there */
} cw_lubricant;

/* By kind of point. Common practice, no source. */
const cw_lubricant *cw_lubricants(size_t *count);
const cw_lubricant *cw_lubricant_find(const char *key);

typedef struct {
    const char *key, *label;
    const char *residue; /* what lies there */
    const char *step1, *step2, *step3;
    const char *never;
} cw_leak;

/* Clean-up by kind of cell. From memory, common practice. */
const cw_leak *cw_leaks(size_t *count);
const cw_leak *cw_leak_find(const char *key);

#endif
