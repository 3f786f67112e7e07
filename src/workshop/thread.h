/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Screw threads met in cameras: their sizes, and which one a measured screw is. SI units. */
#ifndef CW_WORKSHOP_THREAD_H
#define CW_WORKSHOP_THREAD_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/quantity.h"

typedef enum {
    CW_THREAD_ISO_COARSE,
    CW_THREAD_ISO_FINE,
    CW_THREAD_MINIATURE,  /* ISO 1501 / ASME B1.10M */
    CW_THREAD_OLD_METRIC, /* M1.7, M2.3, M2.6: in older cameras */
    CW_THREAD_UNIFIED,
    CW_THREAD_BA,
    CW_THREAD_FILTER,
    CW_THREAD_MOUNT, /* M39x26tpi, M42 and their like */
    CW_THREAD_FAMILY_COUNT
} cw_thread_family;

typedef struct {
    char name[48]; /* "M1.7 x 0.35", "#2-56 UNC", "6 BA", "1/4-20 UNC (tripod)" */
    cw_thread_family family;
    double major_m, pitch_m; /* basic */
    double angle_rad;        /* of the flanks, included: 60, 55 or 47.5 degrees */
    double pitch_diameter_m; /* basic effective diameter d2 */
    double minor_m;          /* basic minor diameter of the internal thread D1 (BA, Whitworth form: of both) */
    double major_least_m;    /* an external thread in tolerance lies between this and major_m */
    double minor_most_m;     /* an internal thread's bore lies between minor_m and this */
} cw_thread;

enum { CW_THREADS_MOST = 160 };

/* Every thread known here. d2 and D1: ISO 68-1 (60 degrees), BS 84 form (55), BS 93 (47.5). Bands: ISO 965-1 6g and 6H
 * formulas for metric, filter and mount threads; ASME B1.1 class 2A for Unified, from memory; BS 93:1951 for BA; ASME
 * B1.10M for miniature threads. */
size_t cw_threads(cw_thread *threads, size_t most);

/* By name, spaces and case aside: "m1.7x0.35", "6BA". False when there is none. */
bool cw_thread_find(const char *name, cw_thread *thread);

/* By the beginning of a name too, where no more digits follow: "M1.7" is "M1.7 x 0.35", "1/4-20" the tripod's. */
bool cw_thread_named(const char *name, cw_thread *thread);

/* A thread by its basic sizes: angle 60, 55 or 47.5 degrees; its bands are not known (NaN). CW_RANGE: a pitch too
 * coarse for the diameter. */
cw_status cw_thread_of(double major_m, double pitch_m, double angle_rad, cw_thread *thread, cw_error *err)
    __attribute__((warn_unused_result));

/* Root diameter of the screw: d - 1.2269 P of ISO metric threads (rounded root), d - 1.1908 P of Unified ones (table 4a
 * of Machinery's Handbook 31st ed., p. 1978), d - 1.2 P of miniature ones (ASME B1.10M); the basic minor diameter where
 * the flanks have another angle. */
double cw_thread_root_m(const cw_thread *thread);

/* The area that pulls: of a circle between pitch diameter and root (ISO 898-1), of D - 0.9743 P for Unified threads
 * (ASME B1.1); both from memory. */
double cw_thread_stress_area_m2(const cw_thread *thread);

const char *cw_thread_family_name(cw_thread_family family);

typedef struct {
    cw_thread thread;
    double probability;
    double diameter_deviation_m; /* measured - middle of the band */
    double pitch_deviation_m;    /* NaN when the pitch was not measured */
} cw_thread_match;

typedef struct {
    bool is_internal;       /* a tapped hole: diameter is its bore */
    cw_quantity diameter_m; /* over the crests, with u > 0 */
    cw_quantity pitch_m;    /* value NaN: not measured */
    /* What is known beforehand, per family; NULL: all threads alike. 0 rules a family out. */
    const double *family_weight;
} cw_thread_measured;

/* Ranks the table by likelihood: the diameter anywhere in its tolerance band, seen through the uncertainty of the
 * measurement; the pitch likewise (0.3 % for its own error). One in ten is taken to be a thread that is not listed.
 * matches: best first; *count at most `most`. CW_RANGE names the value that cannot be used. */
cw_status cw_thread_identify(const cw_thread_measured *measured, cw_thread_match *matches, size_t most, size_t *count,
                             double *none_probability, cw_error *err) __attribute__((warn_unused_result));

/* British Association by rule: p = 0.9^n mm, d = 6 p^1.2 mm, rounded as in BS 93. n 0 to 16. */
void cw_thread_ba(int n, double *pitch_m, double *major_m);

#endif
