/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "draw/mesh.h"

#include <math.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/utf8.h"
#include "draw/mesh_model.h"

enum { TRIANGLES_MOST = 2000000, SIDES_MOST = 10000 };

static const double FARTHEST_MM = 5000; /* far beyond any printer; a slip of the unit */

cw_status cw_mesh_new(const char *title, cw_mesh **mesh, cw_error *err)
{
    cw_mesh *made = calloc(1, sizeof *made);
    if (made == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for a solid");
    /* The head of an STL is 80 bytes of plain text; what is not ASCII becomes a question mark. */
    size_t used = 0, step, most = sizeof made->title - 1;
    for (uint32_t code; (step = cw_utf8_next(title, &code)) > 0 && used < most; title += step)
        made->title[used++] = code >= 0x20 && code < 0x7f ? (char)code : '?';
    *mesh = made;
    return CW_OK;
}

void cw_mesh_free(cw_mesh *mesh)
{
    if (mesh == NULL)
        return;
    free(mesh->corners);
    free(mesh);
}

void cw_mesh_refuse(cw_mesh *mesh, const char *format, ...)
{
    if (mesh->failure.status != CW_OK)
        return;
    char reason[400];
    va_list args;
    va_start(args, format);
    vsnprintf(reason, sizeof reason, format, args);
    va_end(args);
    mesh->failure.status = cw_fail(&mesh->failure, CW_RANGE, "the solid \"%s\": %s", mesh->title, reason);
}

/* Adding 0 turns a negative zero into a positive one, so that equal places have equal bytes. */
static cw_corner round_corner(cw_vertex v)
{
    return (cw_corner){{(float)v.x_mm + 0.0f, (float)v.y_mm + 0.0f, (float)v.z_mm + 0.0f}};
}

static int compare_corners(const cw_corner *a, const cw_corner *b)
{
    for (int i = 0; i < 3; i++)
        if (a->at[i] != b->at[i])
            return a->at[i] < b->at[i] ? -1 : 1;
    return 0;
}

void cw_mesh_triangle(cw_mesh *mesh, cw_vertex a, cw_vertex b, cw_vertex c)
{
    if (mesh->failure.status != CW_OK)
        return;
    const cw_vertex corners[] = {a, b, c};
    for (int i = 0; i < 3; i++) {
        cw_vertex v = corners[i];
        if (!(fabs(v.x_mm) <= FARTHEST_MM && fabs(v.y_mm) <= FARTHEST_MM && fabs(v.z_mm) <= FARTHEST_MM)) {
            cw_mesh_refuse(mesh, "a corner at (%g, %g, %g) mm; sizes up to %g mm can be made", v.x_mm, v.y_mm, v.z_mm,
                           FARTHEST_MM);
            return;
        }
    }
    cw_corner p = round_corner(a), q = round_corner(b), r = round_corner(c);
    if (compare_corners(&p, &q) == 0 || compare_corners(&q, &r) == 0 || compare_corners(&r, &p) == 0) {
        cw_mesh_refuse(mesh, "two corners fall together at (%g, %g, %g) mm", a.x_mm, a.y_mm, a.z_mm);
        return;
    }
    cw_status status = cw_grow(&mesh->corners, &mesh->corner_capacity, mesh->corner_count + 3, sizeof *mesh->corners,
                               3 * (size_t)TRIANGLES_MOST, "corners of a solid", &mesh->failure);
    mesh->failure.status = status;
    if (status != CW_OK)
        return;
    mesh->corners[mesh->corner_count++] = p;
    mesh->corners[mesh->corner_count++] = q;
    mesh->corners[mesh->corner_count++] = r;
}

/* The place of a profile point at one of the sides; the last side is the first again, to the bit. */
static cw_vertex turned_vertex(cw_vertex p, size_t side, size_t sides)
{
    double angle = 2 * M_PI * (double)(side % sides) / (double)sides;
    return (cw_vertex){p.x_mm * cos(angle), p.x_mm * sin(angle), p.y_mm};
}

/* Walks once round the axis with one edge of the profile; corners on the axis make triangles instead of quadrangles. */
static void turn_edge(cw_mesh *mesh, cw_vertex from, cw_vertex to, size_t sides)
{
    for (size_t j = 0; j < sides && mesh->failure.status == CW_OK; j++) {
        cw_vertex a = turned_vertex(from, j, sides), b = turned_vertex(from, j + 1, sides),
                  c = turned_vertex(to, j + 1, sides), d = turned_vertex(to, j, sides);
        if (from.x_mm > 0)
            cw_mesh_triangle(mesh, a, b, c);
        if (to.x_mm > 0)
            cw_mesh_triangle(mesh, a, c, d);
    }
}

void cw_mesh_turned(cw_mesh *mesh, const cw_vertex *profile, size_t count, size_t sides)
{
    if (count < 3 || sides < 3 || sides > SIDES_MOST) {
        cw_mesh_refuse(mesh, "a profile of %zu points turned into %zu sides; 3 points and 3 to %d sides are needed",
                       count, sides, SIDES_MOST);
        return;
    }
    double area = 0;
    for (size_t i = 0; i < count; i++) {
        cw_vertex p = profile[i], q = profile[(i + 1) % count];
        area += (p.x_mm * q.y_mm - q.x_mm * p.y_mm) / 2;
        if (!(p.x_mm >= 0)) {
            cw_mesh_refuse(mesh, "a radius of %g mm in a profile", p.x_mm);
            return;
        }
    }
    if (!(area > 0)) {
        cw_mesh_refuse(mesh, "a profile that encloses nothing, or runs clockwise");
        return;
    }
    for (size_t i = 0; i < count; i++) {
        cw_vertex from = profile[i], to = profile[(i + 1) % count];
        if (from.x_mm > 0 || to.x_mm > 0)
            turn_edge(mesh, from, to, sides);
    }
}

void cw_mesh_ring(cw_mesh *mesh, double inner_mm, double outer_mm, double z0_mm, double z1_mm, size_t sides)
{
    if (!(inner_mm >= 0 && outer_mm > inner_mm && z1_mm > z0_mm)) {
        cw_mesh_refuse(mesh, "a ring from radius %g to %g mm and from %g to %g mm in height encloses nothing", inner_mm,
                       outer_mm, z0_mm, z1_mm);
        return;
    }
    const cw_vertex profile[] = {
        {inner_mm, z0_mm, 0}, {outer_mm, z0_mm, 0}, {outer_mm, z1_mm, 0}, {inner_mm, z1_mm, 0}};
    cw_mesh_turned(mesh, profile, CW_COUNT(profile), sides);
}

size_t cw_mesh_triangle_count(const cw_mesh *mesh)
{
    return mesh->corner_count / 3;
}

/* The sum of the tetrahedra between each triangle and the origin (divergence theorem). */
double cw_mesh_volume_mm3(const cw_mesh *mesh)
{
    double six = 0;
    for (size_t i = 0; i + 2 < mesh->corner_count; i += 3) {
        const float *a = mesh->corners[i].at, *b = mesh->corners[i + 1].at, *c = mesh->corners[i + 2].at;
        six += (double)a[0] * ((double)b[1] * c[2] - (double)b[2] * c[1]) +
               (double)a[1] * ((double)b[2] * c[0] - (double)b[0] * c[2]) +
               (double)a[2] * ((double)b[0] * c[1] - (double)b[1] * c[0]);
    }
    return six / 6;
}

/* An edge without its direction, and +1 or -1 for the way it was passed. */
typedef struct {
    cw_corner low, high;
    int way;
} edge;

static int compare_edges(const void *left, const void *right)
{
    const edge *a = left, *b = right;
    int first = compare_corners(&a->low, &b->low);
    return first != 0 ? first : compare_corners(&a->high, &b->high);
}

static cw_status check_closed(const cw_mesh *mesh, edge *edges, cw_error *err)
{
    size_t count = mesh->corner_count;
    for (size_t i = 0; i < count; i++) {
        const cw_corner *from = &mesh->corners[i], *to = &mesh->corners[i % 3 == 2 ? i - 2 : i + 1];
        bool up = compare_corners(from, to) < 0;
        edges[i] = (edge){up ? *from : *to, up ? *to : *from, up ? 1 : -1};
    }
    qsort(edges, count, sizeof *edges, compare_edges);
    for (size_t i = 0; i < count;) {
        int sum = 0;
        size_t first = i;
        for (; i < count && compare_edges(&edges[first], &edges[i]) == 0; i++)
            sum += edges[i].way;
        const float *at = edges[first].low.at;
        if (sum != 0)
            return cw_fail(err, CW_RANGE, "the solid \"%s\" is not closed: it has an open edge at (%g, %g, %g) mm",
                           mesh->title, (double)at[0], (double)at[1], (double)at[2]);
    }
    return CW_OK;
}

cw_status cw_mesh_check(const cw_mesh *mesh, cw_error *err)
{
    if (mesh->failure.status != CW_OK)
        return cw_fail(err, mesh->failure.status, "%s", mesh->failure.text);
    if (mesh->corner_count == 0)
        return cw_fail(err, CW_RANGE, "the solid \"%s\" is empty", mesh->title);
    edge *edges = calloc(mesh->corner_count, sizeof *edges);
    if (edges == NULL)
        return cw_fail(err, CW_MEMORY, "no memory to check the solid \"%s\"", mesh->title);
    cw_status status = check_closed(mesh, edges, err);
    free(edges);
    return status;
}

static void put_u32(cw_buf *out, uint32_t value)
{
    const char bytes[] = {(char)(value & 0xff), (char)(value >> 8 & 0xff), (char)(value >> 16 & 0xff),
                          (char)(value >> 24)};
    cw_buf_add(out, bytes, sizeof bytes);
}

static void put_float(cw_buf *out, float value)
{
    uint32_t bits;
    memcpy(&bits, &value, sizeof bits);
    put_u32(out, bits);
}

static void put_normal(cw_buf *out, const cw_corner *t)
{
    double u[3], v[3];
    for (int i = 0; i < 3; i++) {
        u[i] = (double)t[1].at[i] - (double)t[0].at[i];
        v[i] = (double)t[2].at[i] - (double)t[0].at[i];
    }
    double n[] = {u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]},
           length = sqrt(n[0] * n[0] + n[1] * n[1] + n[2] * n[2]);
    for (int i = 0; i < 3; i++)
        put_float(out, length > 0 ? (float)(n[i] / length) : 0);
}

cw_status cw_mesh_stl(const cw_mesh *mesh, cw_buf *out, cw_error *err)
{
    CW_TRY(cw_mesh_check(mesh, err));
    /* 80 bytes that must not begin with "solid", or readers take it for the text form. */
    char head[80] = {0};
    snprintf(head, sizeof head, "mm; %.70s", mesh->title);
    cw_buf_add(out, head, sizeof head);
    put_u32(out, (uint32_t)cw_mesh_triangle_count(mesh));
    for (size_t i = 0; i < mesh->corner_count; i += 3) {
        put_normal(out, mesh->corners + i);
        for (size_t k = 0; k < 9; k++)
            put_float(out, mesh->corners[i + k / 3].at[k % 3]);
        cw_buf_add(out, "\0\0", 2);
    }
    return cw_buf_check(out, "the STL", err);
}
