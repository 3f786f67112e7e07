/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a mesh is made of, for this room only. */
#ifndef CW_DRAW_MESH_MODEL_H
#define CW_DRAW_MESH_MODEL_H

#include "draw/mesh.h"

/* A corner as STL stores it. */
typedef struct {
    float at[3];
} cw_corner;

struct cw_mesh {
    char title[81];
    cw_corner *corners; /* three a triangle */
    size_t corner_count, corner_capacity;
    cw_error failure; /* .status CW_OK while all is well */
};

/* Remembers the first failure. */
void cw_mesh_refuse(cw_mesh *mesh, const char *format, ...) __attribute__((format(printf, 2, 3)));

#endif
