/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A closed solid of triangles in millimetres, for printers. Counter-clockwise seen from outside. */
#ifndef CW_DRAW_MESH_H
#define CW_DRAW_MESH_H

#include <stddef.h>

#include "base/buf.h"
#include "base/error.h"

typedef struct {
    double x_mm, y_mm, z_mm;
} cw_vertex;

typedef struct cw_mesh cw_mesh;

cw_status cw_mesh_new(const char *title, cw_mesh **mesh, cw_error *err) __attribute__((warn_unused_result));
void cw_mesh_free(cw_mesh *mesh); /* NULL is fine */

void cw_mesh_triangle(cw_mesh *mesh, cw_vertex a, cw_vertex b, cw_vertex c);

/* A ring of `sides` straight sides between two radii and two heights; inner_mm 0 makes a solid disc. */
void cw_mesh_ring(cw_mesh *mesh, double inner_mm, double outer_mm, double z0_mm, double z1_mm, size_t sides);

/* A body turned about the z axis from a closed profile (x = radius > 0, y = z), counter-clockwise, count >= 3. */
void cw_mesh_turned(cw_mesh *mesh, const cw_vertex *profile, size_t count, size_t sides);

cw_status cw_mesh_check(const cw_mesh *mesh, cw_error *err) __attribute__((warn_unused_result));

/* Binary STL, little-endian. */
cw_status cw_mesh_stl(const cw_mesh *mesh, cw_buf *out, cw_error *err) __attribute__((warn_unused_result));

#endif
