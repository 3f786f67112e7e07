/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A closed solid of triangles in millimetres, for printers. Counter-clockwise seen from outside. It remembers the first
 * failure, as a drawing does. Several closed bodies may share a mesh; printers join them where they overlap. */
#ifndef CW_DRAW_MESH_H
#define CW_DRAW_MESH_H

#include <stddef.h>

#include "base/buf.h"
#include "base/error.h"
#include "draw/drawing.h"

typedef struct {
    double x_mm, y_mm, z_mm;
} cw_vertex;

typedef struct cw_mesh cw_mesh;

/* title: copied; stands in the STL's head. */
cw_status cw_mesh_new(const char *title, cw_mesh **mesh, cw_error *err) __attribute__((warn_unused_result));
void cw_mesh_free(cw_mesh *mesh); /* NULL is fine */

/* One triangle, for shapes that the makers below do not cover; the caller answers for closing the body. */
void cw_mesh_triangle(cw_mesh *mesh, cw_vertex a, cw_vertex b, cw_vertex c);

/* A ring of `sides` (3 to 10000) straight sides between two radii and two heights; inner_mm 0 makes a solid disc. The
 * corners lie on the radii, so a bore of few sides is a little tight: by r (1 - cos(pi / sides)). */
void cw_mesh_ring(cw_mesh *mesh, double inner_mm, double outer_mm, double z0_mm, double z1_mm, size_t sides);

/* A body turned about the z axis from a closed profile (x = radius >= 0, y = z, the third left 0), counter-clockwise,
 * count >= 3. A profile may touch the axis. */
void cw_mesh_turned(cw_mesh *mesh, const cw_vertex *profile, size_t count, size_t sides);

/* A closed outline, either way round, not crossing itself; first and last point are joined. */
typedef struct {
    const cw_point *points;
    size_t count;
} cw_outline;

/* A plate cut along `outline` with holes, between two heights. Holes lie inside the outline and apart from each other;
 * at most 4000 points in all. Anything else is remembered as CW_RANGE with the place in the sentence. */
void cw_mesh_plate(cw_mesh *mesh, cw_outline outline, const cw_outline *holes, size_t hole_count, double z0_mm,
                   double z1_mm);

size_t cw_mesh_triangle_count(const cw_mesh *mesh);

/* Enclosed, in cubic millimetres: mass and material follow from it. */
double cw_mesh_volume_mm3(const cw_mesh *mesh);

/* CW_OK, or the first failure; CW_RANGE also for an empty mesh and for one that is not closed: every edge, rounded as
 * the STL stores it, must be passed equally often both ways. */
cw_status cw_mesh_check(const cw_mesh *mesh, cw_error *err) __attribute__((warn_unused_result));

/* Binary STL, little-endian, millimetres; only of a mesh that passes cw_mesh_check. */
cw_status cw_mesh_stl(const cw_mesh *mesh, cw_buf *out, cw_error *err) __attribute__((warn_unused_result));

#endif
