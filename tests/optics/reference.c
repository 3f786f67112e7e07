/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Published prescriptions (source in each file of tests/data/lenses) against figures of two general-purpose optical
 * libraries (named in each file's "computed_by" and "cross_checked_by"). Tolerance: half a unit of the last stored
 * digit, or 2e-9 relative where ten digits are stored. */
#include "optics/lens_report.h"

#include "optics/support.h"

static double last_digit(const json_t *reference)
{
    return json_object_get(reference, "lines") != NULL ? 2e-9 : 6e-6; /* the four older files hold five decimals */
}

static void focal_lengths_and_petzval_match_the_libraries(void **state)
{
    (void)state;
    for (size_t i = 0; i < CW_COUNT(every_lens); i++) {
        json_t *root = load_reference(every_lens[i]), *reference = json_object_get(root, "reference");
        cw_lens lens = load_lens(every_lens[i]);
        cw_cardinal c;
        cw_error err;
        double rel = last_digit(reference);
        assert_ok(cw_lens_cardinal(&lens, CW_LINE_D, &c, &err), &err);
        assert_near(c.efl_mm, real_at(reference, "efl_mm"), rel * 120);
        assert_near(c.bfl_mm, real_at(reference, "bfl_mm"), rel * 120);
        assert_near(c.petzval_sum_per_mm, real_at(reference, "petzval_sum_per_mm"), rel < 1e-8 ? 1e-11 : 2e-8);
        json_decref(root);
    }
}

static void axial_rays_match_the_libraries(void **state)
{
    (void)state;
    for (size_t i = 0; i < CW_COUNT(every_lens); i++) {
        json_t *root = load_reference(every_lens[i]), *reference = json_object_get(root, "reference");
        cw_lens lens = load_lens(every_lens[i]);
        cw_lens_report report;
        cw_error err;
        assert_ok(cw_lens_report_of(&lens, &report, &err), &err);
        const json_t *rays = json_object_get(reference, "axial_rays");
        assert_int_equal(report.ray_count, json_array_size(rays));
        /* the older files hold six decimals of the surfaces too, and indices, which moves rays by up to 2e-5 mm at f =
         * 100 */
        double tolerance = json_object_get(reference, "lines") != NULL ? 5e-9 : 2e-5;
        for (size_t k = 0; k < report.ray_count; k++) {
            const json_t *ray = json_array_get(rays, k);
            assert_near(report.ray[k].y_image_mm, real_at(ray, "y_image_mm"), tolerance);
            assert_near(report.ray[k].m, real_at(ray, "M"), tolerance);
            assert_near(report.ray[k].n, real_at(ray, "N"), tolerance);
        }
        assert_near(report.axial_rms_mm, real_at(reference, "axial_spot_rms_mm"),
                    fmax(1e-8, 2e-3 * real_at(reference, "axial_spot_rms_mm")));
        json_decref(root);
    }
}

static void check_one_ray(const cw_train *train, const json_t *ray, double image_mm, double tolerance)
{
    const json_t *start = json_object_get(ray, "start_mm"), *direction = json_object_get(ray, "start_direction");
    if (direction == NULL)
        direction = json_object_get(ray, "direction");
    const json_t *out = json_object_get(ray, "image_direction");
    if (out == NULL)
        out = json_object_get(ray, "out");
    const json_t *hit = json_object_get(ray, "image_mm");
#define AT(list, k) json_number_value(json_array_get((list), (k)))
    cw_ray from = {AT(start, 0), AT(start, 1), AT(start, 2), AT(direction, 0), AT(direction, 1), AT(direction, 2)}, to;
    double length = sqrt(from.l * from.l + from.m * from.m + from.n * from.n); /* stored rounded */
    from.l /= length;
    from.m /= length;
    from.n /= length;
    size_t surface;
    assert_int_equal(cw_trace_ray(train, from, image_mm, &to, &surface), CW_RAY_THROUGH);
    assert_near(to.x, AT(hit, 0), tolerance);
    assert_near(to.y, AT(hit, 1), tolerance);
    assert_near(to.l, AT(out, 0), tolerance);
    assert_near(to.m, AT(out, 1), tolerance);
    assert_near(to.n, AT(out, 2), tolerance);
    double x = from.x, y = from.y, z = from.z, l = from.l, m = from.m, n = from.n;
    cw_trace_rays(train, 1, (cw_rays){&x, &y, &z, &l, &m, &n}, image_mm);
    assert_near(x, to.x, 1e-11);
    assert_near(y, to.y, 1e-11);
    assert_near(m, to.m, 1e-12);
#undef AT
}

static void skew_rays_match_the_libraries(void **state)
{
    (void)state;
    size_t checked = 0;
    for (size_t i = 0; i < CW_COUNT(every_lens); i++) {
        json_t *root = load_reference(every_lens[i]), *reference = json_object_get(root, "reference");
        const json_t *rays = json_object_get(reference, "rays");
        double tolerance = rays != NULL ? 5e-8 : 2e-5; /* older files: six decimals of surfaces and starts */
        if (rays == NULL)
            rays = json_object_get(reference, "skew_rays_own_tracer");
        cw_lens lens = load_lens(every_lens[i]);
        cw_train train;
        cw_error err;
        assert_ok(cw_train_of(&lens, CW_LINE_D, false, &train, &err), &err);
        for (size_t k = 0; k < json_array_size(rays); k++, checked++)
            check_one_ray(&train, json_array_get(rays, k), real_at(reference, "image_plane_mm"), tolerance);
        json_decref(root);
    }
    assert_true(checked > 100);
}

static void seidel_sums_and_pupils_match_the_libraries(void **state)
{
    (void)state;
    size_t checked = 0;
    for (size_t i = 0; i < CW_COUNT(every_lens); i++) {
        json_t *root = load_reference(every_lens[i]), *reference = json_object_get(root, "reference");
        const json_t *sums = json_object_get(reference, "seidel");
        if (sums == NULL) {
            json_decref(root);
            continue;
        }
        cw_lens lens = load_lens(every_lens[i]);
        cw_lens_report r;
        cw_error err;
        assert_ok(cw_lens_report_of(&lens, &r, &err), &err);
        assert_near(r.pupils.entrance.position_mm, real_at(reference, "entrance_pupil_mm"), 1e-7);
        assert_near(r.seidel.lagrange_mm, real_at(reference, "lagrange_invariant_mm"), 1e-8);
        assert_near(r.seidel.sum.s1, real_at(sums, "S1"), 1e-8);
        assert_near(r.seidel.sum.s2, real_at(sums, "S2"), 1e-8);
        assert_near(r.seidel.sum.s3, real_at(sums, "S3"), 1e-8);
        assert_near(r.seidel.sum.s4, real_at(sums, "S4"), 1e-8);
        assert_near(r.seidel.sum.s5, real_at(sums, "S5"), 1e-8);
        checked++;
        json_decref(root);
    }
    assert_true(checked >= 10);
}

static void spots_and_lines_match_the_libraries(void **state)
{
    (void)state;
    static const char *const names[CW_LINE_COUNT] = {"F", "d", "C"};
    size_t checked = 0;
    for (size_t i = 0; i < CW_COUNT(every_lens); i++) {
        json_t *root = load_reference(every_lens[i]), *reference = json_object_get(root, "reference");
        const json_t *spots = json_object_get(reference, "spots"), *lines = json_object_get(reference, "lines");
        cw_lens lens = load_lens(every_lens[i]);
        cw_lens_report r;
        cw_error err;
        assert_ok(cw_lens_report_of(&lens, &r, &err), &err);
        for (size_t k = 0; k < json_array_size(spots); k++, checked++) {
            const json_t *spot = json_array_get(spots, k);
            assert_near(r.spot[k].field_deg, real_at(spot, "field_deg"), 1e-6);
            assert_near(r.spot[k].rms_mm, real_at(spot, "rms_radius_mm"), 2e-8);
            assert_near(r.spot[k].centroid_mm,
                        json_number_value(json_array_get(json_object_get(spot, "centroid_mm"), 1)), 2e-7);
            assert_near(r.spot[k].best_shift_mm, real_at(spot, "best_focus_shift_mm"), 1e-6);
            assert_near(r.spot[k].best_rms_mm, real_at(spot, "rms_radius_at_best_focus_mm"), 1e-7);
        }
        for (int line = 0; line < CW_LINE_COUNT && lines != NULL; line++) {
            const json_t *at = json_object_get(lines, names[line]);
            assert_near(r.efl_line_mm[line], real_at(at, "efl_mm"), 1e-6);
            assert_near(r.bfl_line_mm[line], real_at(at, "bfl_mm"), 1e-6);
        }
        json_decref(root);
    }
    assert_true(checked >= 30);
}

CHECK_MAIN(cmocka_unit_test(focal_lengths_and_petzval_match_the_libraries),
           cmocka_unit_test(axial_rays_match_the_libraries), cmocka_unit_test(skew_rays_match_the_libraries),
           cmocka_unit_test(seidel_sums_and_pupils_match_the_libraries),
           cmocka_unit_test(spots_and_lines_match_the_libraries))
