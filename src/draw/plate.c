/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Plates with holes. Each hole is joined to the outline by a bridge, which leaves one closed ring of points; its ears
 * (corners whose triangle holds no other point) are clipped one after the other. After D. Eberly, "Triangulation by Ear
 * Clipping" (2002), written from the method. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "draw/mesh.h"
#include "draw/mesh_model.h"

enum { PLATE_POINTS_MOST = 4000, HOLES_MOST = 500 };

typedef struct {
    cw_point *points;
    size_t count;
} ring;

/* Twice the signed area of a, b, c: positive when they turn left. */
static double turn(cw_point a, cw_point b, cw_point c)
{
    return (b.x_mm - a.x_mm) * (c.y_mm - a.y_mm) - (b.y_mm - a.y_mm) * (c.x_mm - a.x_mm);
}

static bool same(cw_point a, cw_point b)
{
    return a.x_mm == b.x_mm && a.y_mm == b.y_mm;
}

static double signed_area(const ring *r)
{
    double twice = 0;
    for (size_t i = 0; i < r->count; i++) {
        cw_point a = r->points[i], b = r->points[(i + 1) % r->count];
        twice += a.x_mm * b.y_mm - b.x_mm * a.y_mm;
    }
    return twice / 2;
}

/* A copy without repeated points and points on a straight run, counter-clockwise (or clockwise for a hole). Points
 * closer than the rounding of STL count as one. Count 0 when nothing is enclosed. */
static ring tidy_ring(cw_outline outline, bool clockwise, cw_point *room)
{
    static const double CLOSE_MM = 1e-4, FLAT = 1e-9;
    ring r = {room, 0};
    for (size_t i = 0; i < outline.count; i++) {
        cw_point p = outline.points[i];
        if (r.count == 0 || hypot(p.x_mm - room[r.count - 1].x_mm, p.y_mm - room[r.count - 1].y_mm) > CLOSE_MM)
            room[r.count++] = p;
    }
    while (r.count > 1 &&
           hypot(room[0].x_mm - room[r.count - 1].x_mm, room[0].y_mm - room[r.count - 1].y_mm) <= CLOSE_MM)
        r.count--;
    for (size_t i = 0; r.count >= 3 && i < r.count;) {
        cw_point a = room[(i + r.count - 1) % r.count], b = room[i], c = room[(i + 1) % r.count];
        double scale = hypot(b.x_mm - a.x_mm, b.y_mm - a.y_mm) * hypot(c.x_mm - b.x_mm, c.y_mm - b.y_mm);
        if (fabs(turn(a, b, c)) > FLAT * scale) {
            i++;
            continue;
        }
        memmove(room + i, room + i + 1, (r.count - i - 1) * sizeof *room);
        r.count--;
        i = i > 0 ? i - 1 : 0;
    }
    if (r.count < 3 || signed_area(&r) == 0)
        return (ring){room, 0};
    if ((signed_area(&r) < 0) != clockwise)
        for (size_t i = 0, j = r.count - 1; i < j; i++, j--) {
            cw_point kept = room[i];
            room[i] = room[j];
            room[j] = kept;
        }
    return r;
}

static bool between(double a, double b, double value)
{
    return value >= fmin(a, b) && value <= fmax(a, b);
}

/* Whether two segments share a point. */
static bool segments_meet(cw_point a, cw_point b, cw_point c, cw_point d)
{
    double abc = turn(a, b, c), abd = turn(a, b, d), cda = turn(c, d, a), cdb = turn(c, d, b);
    if (((abc > 0 && abd < 0) || (abc < 0 && abd > 0)) && ((cda > 0 && cdb < 0) || (cda < 0 && cdb > 0)))
        return true;
    const struct {
        double turned;
        cw_point from, to, point;
    } touches[] = {{abc, a, b, c}, {abd, a, b, d}, {cda, c, d, a}, {cdb, c, d, b}};
    for (int i = 0; i < 4; i++)
        if (touches[i].turned == 0 && between(touches[i].from.x_mm, touches[i].to.x_mm, touches[i].point.x_mm) &&
            between(touches[i].from.y_mm, touches[i].to.y_mm, touches[i].point.y_mm))
            return true;
    return false;
}

static bool inside(const ring *r, cw_point p)
{
    bool in = false;
    for (size_t i = 0, j = r->count - 1; i < r->count; j = i++) {
        cw_point a = r->points[i], b = r->points[j];
        if ((a.y_mm > p.y_mm) != (b.y_mm > p.y_mm) &&
            p.x_mm < (b.x_mm - a.x_mm) * (p.y_mm - a.y_mm) / (b.y_mm - a.y_mm) + a.x_mm)
            in = !in;
    }
    return in;
}

/* No two edges of the rings meet, neighbours in one ring aside; holes lie in the outline and not in one another. */
static bool check_rings(cw_mesh *mesh, const ring *rings, size_t count)
{
    for (size_t p = 0; p < count; p++) {
        for (size_t i = 0; i < rings[p].count; i++) {
            cw_point a = rings[p].points[i], b = rings[p].points[(i + 1) % rings[p].count];
            for (size_t q = p; q < count; q++) {
                for (size_t j = q == p ? i + 2 : 0; j < rings[q].count; j++) {
                    if (q == p && (j + 1) % rings[q].count == i)
                        continue;
                    cw_point c = rings[q].points[j], d = rings[q].points[(j + 1) % rings[q].count];
                    if (!segments_meet(a, b, c, d))
                        continue;
                    cw_mesh_refuse(
                        mesh,
                        "the outline of the plate and its holes cross or touch near (%.2f, %.2f) mm; move them "
                        "apart",
                        c.x_mm, c.y_mm);
                    return false;
                }
            }
        }
    }
    for (size_t p = 1; p < count; p++) {
        bool in_outline = inside(&rings[0], rings[p].points[0]), in_hole = false;
        for (size_t q = 1; q < count; q++)
            in_hole = in_hole || (q != p && inside(&rings[q], rings[p].points[0]));
        if (!in_outline || in_hole) {
            cw_mesh_refuse(mesh, "the hole at (%.2f, %.2f) mm lies %s", rings[p].points[0].x_mm,
                           rings[p].points[0].y_mm, in_outline ? "inside another hole" : "outside the plate");
            return false;
        }
    }
    return true;
}

static bool in_triangle(cw_point a, cw_point b, cw_point c, cw_point p)
{
    return turn(a, b, p) >= 0 && turn(b, c, p) >= 0 && turn(c, a, p) >= 0;
}

/* Whether p lies within the inner angle at corner i. */
static bool opens_towards(const ring *r, size_t i, cw_point p)
{
    cw_point a = r->points[(i + r->count - 1) % r->count], b = r->points[i], c = r->points[(i + 1) % r->count];
    bool left_in = turn(a, b, p) > 0, left_out = turn(b, c, p) > 0;
    return turn(a, b, c) > 0 ? left_in && left_out : left_in || left_out;
}

/* The corner of `outer` that `from` (inside it) can see when looking along +x. */
static size_t visible_corner(const ring *outer, cw_point from)
{
    double nearest = INFINITY;
    size_t best = 0;
    for (size_t i = 0; i < outer->count; i++) {
        cw_point a = outer->points[i], b = outer->points[(i + 1) % outer->count];
        /* Counter-clockwise: the edges that face `from` from the right run upwards. */
        if (!(a.y_mm <= from.y_mm && b.y_mm >= from.y_mm) || a.y_mm == b.y_mm)
            continue;
        double x = a.x_mm + (b.x_mm - a.x_mm) * (from.y_mm - a.y_mm) / (b.y_mm - a.y_mm);
        if (x >= from.x_mm && x < nearest) {
            nearest = x;
            best = a.x_mm > b.x_mm ? i : (i + 1) % outer->count;
        }
    }
    /* A reflex corner inside the triangle from-hit-best hides it: then the one nearest to the line of sight is seen. */
    cw_point hit = {nearest, from.y_mm}, seen = outer->points[best];
    bool above = seen.y_mm > from.y_mm;
    double flattest = INFINITY, distance = INFINITY;
    for (size_t i = 0; i < outer->count; i++) {
        cw_point p = outer->points[i], before = outer->points[(i + outer->count - 1) % outer->count],
                 after = outer->points[(i + 1) % outer->count];
        if (same(p, seen) || turn(before, p, after) > 0 || p.x_mm <= from.x_mm)
            continue;
        if (!(above ? in_triangle(from, hit, seen, p) : in_triangle(from, seen, hit, p)))
            continue;
        double dx = p.x_mm - from.x_mm, slope = fabs(p.y_mm - from.y_mm) / dx;
        if (slope < flattest || (slope == flattest && dx < distance)) {
            flattest = slope;
            distance = dx;
            best = i;
        }
    }
    /* A corner that carries bridges already stands in the ring several times: the one that opens towards `from`. */
    for (size_t i = 0; i < outer->count; i++)
        if (same(outer->points[i], outer->points[best]) && opens_towards(outer, i, from))
            return i;
    return best;
}

/* Joins a hole to the ring by a bridge from the hole's rightmost point: ... corner, hole from there and back, corner
 * ...
 */
static void join_hole(ring *outer, const ring *hole)
{
    size_t right = 0;
    for (size_t i = 1; i < hole->count; i++)
        if (hole->points[i].x_mm > hole->points[right].x_mm)
            right = i;
    size_t corner = visible_corner(outer, hole->points[right]), added = hole->count + 2;
    memmove(outer->points + corner + 1 + added, outer->points + corner + 1,
            (outer->count - corner - 1) * sizeof *outer->points);
    for (size_t i = 0; i <= hole->count; i++)
        outer->points[corner + 1 + i] = hole->points[(right + i) % hole->count];
    outer->points[corner + added] = outer->points[corner];
    outer->count += added;
}

static int by_right_edge(const void *left, const void *right)
{
    double most[2] = {-INFINITY, -INFINITY};
    const ring *rings[] = {left, right};
    for (int k = 0; k < 2; k++)
        for (size_t i = 0; i < rings[k]->count; i++)
            most[k] = fmax(most[k], rings[k]->points[i].x_mm);
    return most[0] > most[1] ? -1 : most[0] < most[1];
}

static bool is_ear(const ring *r, size_t i)
{
    cw_point a = r->points[(i + r->count - 1) % r->count], b = r->points[i], c = r->points[(i + 1) % r->count];
    if (!(turn(a, b, c) > 0))
        return false;
    for (size_t k = 0; k < r->count; k++) {
        cw_point p = r->points[k];
        if (!same(p, a) && !same(p, b) && !same(p, c) && in_triangle(a, b, c, p))
            return false;
    }
    return true;
}

static void cap_triangle(cw_mesh *mesh, const ring *r, size_t i, double z0_mm, double z1_mm)
{
    cw_point a = r->points[(i + r->count - 1) % r->count], b = r->points[i], c = r->points[(i + 1) % r->count];
    cw_mesh_triangle(mesh, (cw_vertex){a.x_mm, a.y_mm, z1_mm}, (cw_vertex){b.x_mm, b.y_mm, z1_mm},
                     (cw_vertex){c.x_mm, c.y_mm, z1_mm});
    cw_mesh_triangle(mesh, (cw_vertex){c.x_mm, c.y_mm, z0_mm}, (cw_vertex){b.x_mm, b.y_mm, z0_mm},
                     (cw_vertex){a.x_mm, a.y_mm, z0_mm});
}

/* Clips ears until nothing is left; both faces at once. */
static void caps(cw_mesh *mesh, ring *r, double z0_mm, double z1_mm)
{
    size_t at = 0, tried = 0;
    while (r->count >= 3 && mesh->failure.status == CW_OK) {
        if (tried > r->count) {
            cw_mesh_refuse(mesh, "the plate near (%.2f, %.2f) mm is too thin to be cut into triangles",
                           r->points[0].x_mm, r->points[0].y_mm);
            return;
        }
        at %= r->count;
        if (r->count > 3 && !is_ear(r, at)) {
            at++;
            tried++;
            continue;
        }
        cap_triangle(mesh, r, at, z0_mm, z1_mm);
        memmove(r->points + at, r->points + at + 1, (r->count - at - 1) * sizeof *r->points);
        r->count = r->count == 3 ? 0 : r->count - 1;
        at++; /* a fan from one corner would be all needles */
        tried = 0;
    }
}

static void wall(cw_mesh *mesh, const ring *r, double z0_mm, double z1_mm)
{
    for (size_t i = 0; i < r->count; i++) {
        cw_point a = r->points[i], b = r->points[(i + 1) % r->count];
        cw_vertex a0 = {a.x_mm, a.y_mm, z0_mm}, b0 = {b.x_mm, b.y_mm, z0_mm}, a1 = {a.x_mm, a.y_mm, z1_mm},
                  b1 = {b.x_mm, b.y_mm, z1_mm};
        cw_mesh_triangle(mesh, a0, b0, b1);
        cw_mesh_triangle(mesh, a0, b1, a1);
    }
}

static void build(cw_mesh *mesh, ring *rings, size_t count, ring *joined, double z0_mm, double z1_mm)
{
    if (!check_rings(mesh, rings, count))
        return;
    for (size_t i = 0; i < count; i++)
        wall(mesh, &rings[i], z0_mm, z1_mm);
    qsort(rings + 1, count - 1, sizeof *rings, by_right_edge);
    memcpy(joined->points, rings[0].points, rings[0].count * sizeof *joined->points);
    joined->count = rings[0].count;
    for (size_t i = 1; i < count; i++)
        join_hole(joined, &rings[i]);
    caps(mesh, joined, z0_mm, z1_mm);
}

/* Everything the plate needs while it is cut, in one place to free. */
typedef struct {
    cw_outline *all; /* the outline, then its holes */
    ring *rings;
    size_t count;
    cw_point *room, *joined;
} workbench;

static bool sizes_are_possible(cw_mesh *mesh, const workbench *bench, double z0_mm, double z1_mm, size_t *total)
{
    *total = 0;
    for (size_t i = 0; i < bench->count; i++) {
        *total += bench->all[i].count;
        if (*total > PLATE_POINTS_MOST) {
            cw_mesh_refuse(mesh, "a plate of more than %d points; draw its curves with fewer", PLATE_POINTS_MOST);
            return false;
        }
        for (size_t k = 0; k < bench->all[i].count; k++)
            if (!isfinite(bench->all[i].points[k].x_mm) || !isfinite(bench->all[i].points[k].y_mm)) {
                cw_mesh_refuse(mesh, "a point of the plate's outline is not a number");
                return false;
            }
    }
    if (!(z1_mm > z0_mm))
        cw_mesh_refuse(mesh, "a plate from %g to %g mm has no thickness", z0_mm, z1_mm);
    return z1_mm > z0_mm;
}

static bool tidy_all(cw_mesh *mesh, workbench *bench)
{
    cw_point *room = bench->room;
    for (size_t i = 0; i < bench->count; i++) {
        bench->rings[i] = tidy_ring(bench->all[i], i > 0, room);
        room += bench->all[i].count;
        if (bench->rings[i].count == 0) {
            cw_mesh_refuse(mesh, "%s of the plate encloses nothing", i == 0 ? "the outline" : "a hole");
            return false;
        }
    }
    return true;
}

static void no_memory(cw_mesh *mesh)
{
    if (mesh->failure.status == CW_OK)
        mesh->failure.status = cw_fail(&mesh->failure, CW_MEMORY, "no memory for the plate \"%s\"", mesh->title);
}

static void cut_plate(cw_mesh *mesh, workbench *bench, double z0_mm, double z1_mm)
{
    size_t total;
    if (!sizes_are_possible(mesh, bench, z0_mm, z1_mm, &total))
        return;
    bench->room = calloc(total + 1, sizeof *bench->room);
    bench->joined = calloc(total + 2 * bench->count, sizeof *bench->joined);
    if (bench->room == NULL || bench->joined == NULL) {
        no_memory(mesh);
        return;
    }
    if (tidy_all(mesh, bench))
        build(mesh, bench->rings, bench->count, &(ring){bench->joined, 0}, z0_mm, z1_mm);
}

void cw_mesh_plate(cw_mesh *mesh, cw_outline outline, const cw_outline *holes, size_t hole_count, double z0_mm,
                   double z1_mm)
{
    if (hole_count > HOLES_MOST) {
        cw_mesh_refuse(mesh, "a plate with %zu holes; %d at most", hole_count, HOLES_MOST);
        return;
    }
    workbench bench = {.count = hole_count + 1};
    bench.all = calloc(bench.count, sizeof *bench.all);
    bench.rings = calloc(bench.count, sizeof *bench.rings);
    if (bench.all == NULL || bench.rings == NULL) {
        no_memory(mesh);
    } else {
        bench.all[0] = outline;
        for (size_t i = 0; i < hole_count; i++)
            bench.all[i + 1] = holes[i];
        cut_plate(mesh, &bench, z0_mm, z1_mm);
    }
    free(bench.all);
    free(bench.rings);
    free(bench.room);
    free(bench.joined);
}
