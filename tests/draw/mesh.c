/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "draw/mesh.h"

#include <math.h>
#include <string.h>

#include "support/check.h"

static cw_mesh *empty(void)
{
    cw_error err;
    cw_mesh *mesh;
    assert_ok(cw_mesh_new("test body", &mesh, &err), &err);
    return mesh;
}

static double polygon(double radius, double sides)
{
    return sides / 2 * radius * radius * sin(2 * M_PI / sides);
}

static void volumes_are_those_of_the_prisms(void **state)
{
    (void)state;
    cw_error err;
    cw_mesh *mesh = empty();
    cw_mesh_ring(mesh, 7.3, 11.9, -2.1, 5.6, 37);
    assert_ok(cw_mesh_check(mesh, &err), &err);
    assert_near(cw_mesh_volume_mm3(mesh), 7.7 * (polygon(11.9, 37) - polygon(7.3, 37)), 1e-3);
    assert_int_equal(cw_mesh_triangle_count(mesh), 37 * 8);
    cw_mesh_free(mesh);
    mesh = empty();
    cw_mesh_ring(mesh, 0, 11.9, 0, 1, 12);
    assert_ok(cw_mesh_check(mesh, &err), &err);
    assert_near(cw_mesh_volume_mm3(mesh), polygon(11.9, 12), 1e-4);
    cw_mesh_free(mesh);
}

/* A comb whose teeth hide each other, with holes that must be bridged past them; area by hand: 24 * 10 for the back,
 * four teeth of 3 x 12, holes of 4 and 1. */
static void a_comb_with_holes_is_closed_and_keeps_its_area(void **state)
{
    (void)state;
    cw_error err;
    cw_point comb[] = {{0, 0},   {24, 0},  {24, 22}, {21, 22}, {21, 10}, {17, 10}, {17, 22}, {14, 22}, {14, 10},
                       {10, 10}, {10, 22}, {7, 22},  {7, 10},  {3, 10},  {3, 22},  {0, 22},  {0, 11},  {0, 11}};
    cw_point first[] = {{8, 12}, {9, 12}, {9, 13}, {8, 13}}, second[] = {{11, 4}, {13, 4}, {13, 6}, {11, 6}},
             third[] = {{5, 4}, {7, 4}, {7, 6}, {5, 6}}, fourth[] = {{1, 12}, {2, 12}, {2, 20}, {1, 20}};
    const cw_outline holes[] = {{first, 4}, {second, 4}, {third, 4}, {fourth, 4}};
    for (int way = 0; way < 2; way++) {
        cw_mesh *mesh = empty();
        cw_mesh_plate(mesh, (cw_outline){comb, CW_COUNT(comb)}, holes, CW_COUNT(holes), 1, 3);
        assert_ok(cw_mesh_check(mesh, &err), &err);
        assert_near(cw_mesh_volume_mm3(mesh), 2 * (24 * 10 + 4 * 3 * 12 - 1 - 4 - 4 - 8), 1e-3);
        cw_mesh_free(mesh);
        for (size_t i = 0, j = CW_COUNT(comb) - 1; i < j; i++, j--) { /* clockwise must do as well */
            cw_point kept = comb[i];
            comb[i] = comb[j];
            comb[j] = kept;
        }
    }
}

/* Law: whatever the star and wherever its holes, the plate is closed and weighs what the outlines say. */
static void random_stars_with_holes_are_closed(void **state)
{
    (void)state;
    check_random random = {20260301};
    for (int round = 0; round < 60; round++) {
        cw_error err;
        cw_point star[90], rounds[16][9];
        cw_outline holes[16];
        size_t corners = 7 + (size_t)(check_uniform(&random) * 83), hole_count = 0;
        double twice = 0;
        for (size_t i = 0; i < corners; i++) {
            double r = 41 + 19 * check_uniform(&random), a = 2 * M_PI * (double)i / (double)corners;
            star[i] = (cw_point){r * cos(a), r * sin(a)};
        }
        for (size_t i = 0; i < corners; i++) {
            cw_point p = star[i], q = star[(i + 1) % corners];
            twice += p.x_mm * q.y_mm - q.x_mm * p.y_mm;
        }
        for (int k = 0; k < 16; k++) {
            double x = -12 + 8 * (k % 4), y = -12 + 8 * (k / 4), r = 0.7 + 2.9 * check_uniform(&random);
            if (check_uniform(&random) < 0.3)
                continue;
            for (int i = 0; i < 9; i++) /* clockwise and counter-clockwise by turns */
                rounds[hole_count][i] =
                    (cw_point){x + r * cos((k % 2 ? i : -i) * M_PI / 4.5), y + r * sin((k % 2 ? i : -i) * M_PI / 4.5)};
            holes[hole_count] = (cw_outline){rounds[hole_count], 9};
            twice -= 2 * polygon(r, 9);
            hole_count++;
        }
        cw_mesh *mesh = empty();
        cw_mesh_plate(mesh, (cw_outline){star, corners}, holes, hole_count, 0, 4);
        if (cw_mesh_check(mesh, &err) != CW_OK)
            fail_msg("round %d, %zu corners, %zu holes: %s", round, corners, hole_count, err.text);
        assert_near(cw_mesh_volume_mm3(mesh), 2 * twice, 2e-3);
        cw_mesh_free(mesh);
    }
}

static void bad_solids_are_refused(void **state)
{
    (void)state;
    cw_error err;
    cw_buf out = cw_buf_new(1 << 20);
    cw_point square[] = {{0, 0}, {10, 0}, {10, 10}, {0, 10}}, far[] = {{20, 0}, {21, 0}, {21, 1}},
             crossing[] = {{5, 5}, {15, 5}, {15, 6}}, bow[] = {{0, 0}, {10, 10}, {10, 1}, {0, 9.5}},
             flat[] = {{0, 0}, {5, 0}, {10, 0}}, odd[] = {{0, 0}, {NAN, 0}, {1, 1}}, small[] = {{2, 2}, {3, 2}, {3, 3}},
             around[] = {{1, 1}, {4, 1}, {4, 4}, {1, 4}};
    const struct {
        cw_outline outline, holes[2];
        size_t hole_count;
        double z1_mm;
        const char *words;
    } plates[] = {
        {{square, 4}, {{far, 3}}, 1, 1, "outside the plate"},
        {{square, 4}, {{crossing, 3}}, 1, 1, "cross or touch near"},
        {{square, 4}, {{small, 3}, {around, 4}}, 2, 1, "inside another hole"},
        {{bow, 4}, {{0}}, 0, 1, "cross or touch"},
        {{flat, 3}, {{0}}, 0, 1, "encloses nothing"},
        {{odd, 3}, {{0}}, 0, 1, "not a number"},
        {{square, 4}, {{0}}, 0, 0, "no thickness"},
        {{square, 4}, {{0}}, 0, NAN, "no thickness"},
        {{square, 4}, {{0}}, 0, 1e7, "sizes up to 5000 mm"},
    };
    for (size_t i = 0; i < CW_COUNT(plates); i++) {
        cw_mesh *mesh = empty();
        cw_mesh_plate(mesh, plates[i].outline, plates[i].holes, plates[i].hole_count, 0, plates[i].z1_mm);
        assert_fails(cw_mesh_check(mesh, &err), CW_RANGE, &err, plates[i].words);
        assert_fails(cw_mesh_stl(mesh, &out, &err), CW_RANGE, &err, "test body");
        cw_mesh_free(mesh);
    }
    cw_mesh *mesh = empty();
    assert_fails(cw_mesh_check(mesh, &err), CW_RANGE, &err, "empty");
    cw_mesh_triangle(mesh, (cw_vertex){0, 0, 0}, (cw_vertex){1, 0, 0}, (cw_vertex){0, 1, 0});
    assert_fails(cw_mesh_stl(mesh, &out, &err), CW_RANGE, &err, "not closed");
    cw_mesh_ring(mesh, 5, 5, 0, 1, 12);
    assert_fails(cw_mesh_check(mesh, &err), CW_RANGE, &err, "encloses nothing");
    cw_mesh_free(mesh);
    mesh = empty();
    cw_mesh_ring(mesh, 2, 5, 0, 1, 2);
    assert_fails(cw_mesh_check(mesh, &err), CW_RANGE, &err, "3 to 10000 sides");
    cw_mesh_free(mesh);
    assert_int_equal(out.length, 0);
    cw_buf_free(&out);
}

CHECK_MAIN(cmocka_unit_test(volumes_are_those_of_the_prisms),
           cmocka_unit_test(a_comb_with_holes_is_closed_and_keeps_its_area),
           cmocka_unit_test(random_stars_with_holes_are_closed), cmocka_unit_test(bad_solids_are_refused))
