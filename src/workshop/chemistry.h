/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Small chemistry of the bench: thinning alcohol, what a solvent harms, what grease belongs where, leaked cells.
 * None of it replaces the safety data sheet of what is in the bottle. SI units. */
#ifndef CW_WORKSHOP_CHEMISTRY_H
#define CW_WORKSHOP_CHEMISTRY_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"

/* Isopropyl alcohol and water. Fractions by volume are parts measured before mixing, as the trade means "70 to 30"; the
 * mix shrinks by up to about 3 % (from memory), so the volumes poured together come out a little short. By mass is
 * exact. Densities at 20 degrees C: alcohol 785.5, water 998.2 kg/m3 (handbook, from memory). */
typedef struct {
    double stock_m3, water_m3; /* to pour together */
    double stock_kg, water_kg; /* the same by weight */
    double by_volume, by_mass; /* of the result: alcohol over alcohol and water */
    double poured_m3;          /* sum before mixing */
} cw_dilution;

/* stock        fraction of alcohol in the bottle, wanted: in the mix; both by volume or both by mass
 * total_m3     volume poured, sum of both, 1 ml to 100 l
 * CW_RANGE     wanted above the stock ("cannot be made stronger by water"), fractions outside 0 to 1 */
cw_status cw_dilute(double stock, double wanted, bool by_mass, double total_m3, cw_dilution *dilution, cw_error *err)
    __attribute__((warn_unused_result));

double cw_alcohol_mass_fraction(double by_volume);
double cw_alcohol_volume_fraction(double by_mass);

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
