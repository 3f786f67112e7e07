/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Exact (skew) rays through a centred lens: one at a time with a reason when one is lost, or many at a time. */
#ifndef CW_OPTICS_TRACE_H
#define CW_OPTICS_TRACE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "optics/lens.h"

/* What the tracer needs of a lens at one spectral line. */
typedef struct {
    size_t count;
    double c[CW_LENS_SURFACES];         /* curvature, 1/mm */
    double k1[CW_LENS_SURFACES];        /* 1 + conic constant */
    double thickness[CW_LENS_SURFACES]; /* to the next vertex; the last is not used */
    double ratio[CW_LENS_SURFACES];     /* index before / index after */
    double clear2[CW_LENS_SURFACES];    /* clear radius squared, INFINITY where rays are not clipped */
} cw_train;

/* clip: rays outside the clear radius of a surface are lost, where that radius is known. CW_RANGE when an index at this
 * line is not known. */
cw_status cw_train_of(const cw_lens *lens, cw_line_name line, bool clip, cw_train *train, cw_error *err)
    __attribute__((warn_unused_result));

/* A place and direction cosines. z counts from the vertex of the surface named by the function. */
typedef struct {
    double x, y, z, l, m, n;
} cw_ray;

typedef enum { CW_RAY_THROUGH, CW_RAY_MISSED, CW_RAY_REFLECTED, CW_RAY_CLIPPED } cw_ray_fate;

/* Start: anywhere left of the first surface, z from the first vertex, n > 0. End: on the plane image_mm behind the last
 * vertex (z = image_mm from it). *surface: where it was lost. end is written only when it came through. */
cw_ray_fate cw_trace_ray(const cw_train *train, cw_ray start, double image_mm, cw_ray *end, size_t *surface);

/* The same, keeping the way: at[i] is the ray just behind surface i (z from that surface's vertex), at[count] the end.
 * at holds train->count + 1 rays; *reached of them are written, all when it came through. */
cw_ray_fate cw_trace_path(const cw_train *train, cw_ray start, double image_mm, cw_ray *at, size_t *reached);

/* "totally reflected inside at surface 3", for messages. */
void cw_ray_fate_text(cw_ray_fate fate, size_t surface, char *out, size_t size);

/* Many rays, in place: six arrays of `count`. The start and end are those of cw_trace_ray; a lost ray ends as NaN in
 * all six. Blocks of rays walk each surface together, so that the compiler fills the machine's widest vectors; the
 * widest one this machine has is chosen at run time. */
typedef struct {
    double *x, *y, *z, *l, *m, *n;
} cw_rays;

void cw_trace_rays(const cw_train *train, size_t count, cw_rays rays, double image_mm);

/* The name of the vector kernel this machine gets: "avx512", "avx2", "plain". */
const char *cw_trace_kernel(void);

/* Snell's law and a conic's nearest crossing follow W. T. Welford, Aberrations of Optical Systems, chapter 4 (from
 * memory; the tests hold them to rays of two optical libraries). */
#endif
