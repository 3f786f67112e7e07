/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "workshop/thread.h"

#include <math.h>
#include <stdio.h>

#include "support/check.h"

#define MM 1e-3
#define IN 0.0254

static cw_thread find(const char *name)
{
    cw_thread thread;
    if (!cw_thread_find(name, &thread))
        fail_msg("no thread %s", name);
    return thread;
}

/* BS 93:1951, Machinery's Handbook 31st ed., p. 2115. To the printed digit. */
static void british_association_follows_its_table(void **state)
{
    (void)state;
    static const double rows[17][4] = {{1.00, 6.00, 5.400, 4.80}, {0.90, 5.30, 4.760, 4.22}, {0.81, 4.70, 4.215, 3.73},
                                       {0.73, 4.10, 3.660, 3.22}, {0.66, 3.60, 3.205, 2.81}, {0.59, 3.20, 2.845, 2.49},
                                       {0.53, 2.80, 2.480, 2.16}, {0.48, 2.50, 2.210, 1.92}, {0.43, 2.20, 1.940, 1.68},
                                       {0.39, 1.90, 1.665, 1.43}, {0.35, 1.70, 1.490, 1.28}, {0.31, 1.50, 1.315, 1.13},
                                       {0.28, 1.30, 1.130, 0.96}, {0.25, 1.20, 1.050, 0.90}, {0.23, 1.00, 0.860, 0.72},
                                       {0.21, 0.90, 0.775, 0.65}, {0.19, 0.79, 0.675, 0.56}};
    for (int n = 0; n <= 16; n++) {
        char name[16];
        snprintf(name, sizeof name, "%dBA", n);
        cw_thread t = find(name);
        assert_near(t.pitch_m, rows[n][0] * MM, 1e-9);
        assert_near(t.major_m, rows[n][1] * MM, 1e-9);
        assert_near(t.pitch_diameter_m, rows[n][2] * MM,
                    0.0051 * MM); /* the table rounds the effective diameter to 0.005 */
        assert_near(t.minor_m, rows[n][3] * MM, 0.0051 * MM);
        assert_near(t.major_m - t.major_least_m, (n >= 11 ? 0.25 : 0.20) * rows[n][0] * MM,
                    1e-9); /* same page, normal class */
    }
}

/* ASME B1.10M: Machinery's Handbook 31st ed., table 5. Within half of the last digit, 0.0005 mm, plus rounding of the
 * rule. */
static void miniature_threads_follow_their_table(void **state)
{
    (void)state;
    static const double rows[14][5] = {
        {0.30, 0.080, 0.284, 0.217, 0.254}, {0.35, 0.090, 0.333, 0.256, 0.297}, {0.40, 0.100, 0.382, 0.296, 0.340},
        {0.45, 0.100, 0.432, 0.346, 0.390}, {0.50, 0.125, 0.479, 0.370, 0.422}, {0.55, 0.125, 0.529, 0.420, 0.472},
        {0.60, 0.150, 0.576, 0.444, 0.504}, {0.70, 0.175, 0.673, 0.518, 0.586}, {0.80, 0.200, 0.770, 0.592, 0.668},
        {0.90, 0.225, 0.867, 0.666, 0.750}, {1.00, 0.250, 0.964, 0.740, 0.832}, {1.10, 0.250, 1.064, 0.840, 0.932},
        {1.20, 0.250, 1.164, 0.940, 1.032}, {1.40, 0.300, 1.358, 1.088, 1.196}};
    static const double pitch_diameter_most[14] = {0.248, 0.292, 0.335, 0.385, 0.419, 0.469, 0.503,
                                                   0.586, 0.670, 0.754, 0.838, 0.938, 1.038, 1.205};
    static const double bolt_minor_most[14] = {0.204, 0.242, 0.280, 0.330, 0.350, 0.400, 0.420,
                                               0.490, 0.560, 0.630, 0.700, 0.800, 0.900, 1.040};
    for (size_t i = 0; i < 14; i++) {
        char name[32];
        snprintf(name, sizeof name, "S%.2fx%g", rows[i][0], rows[i][1]);
        cw_thread t = find(name);
        assert_near(t.major_least_m, rows[i][2] * MM, 0.00061 * MM);
        assert_near(t.minor_m, rows[i][3] * MM, 0.00061 * MM);
        assert_near(t.minor_most_m, rows[i][4] * MM, 0.0012 * MM);
        assert_near(t.pitch_diameter_m, pitch_diameter_most[i] * MM, 0.00061 * MM);
        assert_near(cw_thread_root_m(&t), bolt_minor_most[i] * MM, 0.00061 * MM);
    }
}

/* The forms by their geometry: a triangle of the flank angle as high as H, cut by H/8 at the crest and H/4 at the bore
 * (60 degrees, ISO 68-1), by H/6 at both (55, Whitworth); BA is 0.6 p deep. */
static void depths_follow_the_triangle_of_the_form(void **state)
{
    (void)state;
    static const struct {
        double angle_deg, crest, bore;
    } forms[] = {{60, 1.0 / 8, 1.0 / 4}, {55, 1.0 / 6, 1.0 / 6}};
    double P = 0.7 * MM, d = 5 * MM;
    cw_thread t;
    cw_error err;
    for (size_t i = 0; i < CW_COUNT(forms); i++) {
        double H = P / 2 / tan(forms[i].angle_deg / 2 * M_PI / 180);
        assert_ok(cw_thread_of(d, P, forms[i].angle_deg * M_PI / 180, &t, &err), &err);
        assert_near(d - t.pitch_diameter_m, 2 * (0.5 - forms[i].crest) * H, 1e-6 * P);
        assert_near(d - t.minor_m, 2 * (1 - forms[i].crest - forms[i].bore) * H, 1e-6 * P);
    }
    assert_ok(cw_thread_of(d, P, 47.5 * M_PI / 180, &t, &err), &err);
    assert_near((d - t.minor_m) / 2, 0.6 * P, 1e-9);
    assert_near(d - t.pitch_diameter_m, 0.6 * P, 1e-9);
}

/* UNC: Machinery's Handbook 31st ed., p. 1978, table 4a (inches, four digits); diameters in mm: Mechanical Engineer's
 * Data Handbook, p. 301. Largest bore of class 2B and area that pulls: the same tables, from memory. */
static void unified_threads_follow_their_table(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        double pitch_diameter_in, internal_minor_in, external_minor_in, bore_most_in, area_in2;
    } rows[] = {{"#1-64 UNC", 0.0629, 0.0561, 0.0544, 0.0623, 0.00263},
                {"#2-56 UNC", 0.0744, 0.0667, 0.0648, 0.0737, 0.00370},
                {"#3-48 UNC", 0.0855, 0.0764, 0.0741, 0.0845, 0.00487},
                {"#4-40 UNC", 0.0958, 0.0849, 0.0822, 0.0939, 0.00604},
                {"#5-40 UNC", 0.1088, 0.0979, 0.0952, 0.1062, 0.00796}};
    for (size_t i = 0; i < CW_COUNT(rows); i++) {
        cw_thread t = find(rows[i].name);
        assert_near(t.pitch_diameter_m, rows[i].pitch_diameter_in * IN, 0.000051 * IN);
        assert_near(t.minor_m, rows[i].internal_minor_in * IN, 0.000051 * IN);
        /* the page takes its roots from diameters that were rounded before */
        assert_near(cw_thread_root_m(&t), rows[i].external_minor_in * IN, 0.0001 * IN);
        assert_near(t.minor_most_m, rows[i].bore_most_in * IN, 0.00011 * IN);
        assert_near(cw_thread_stress_area_m2(&t), rows[i].area_in2 * IN * IN, 0.00001 * IN * IN);
    }
    cw_thread tripod = find("1/4-20 UNC (tripod)"); /* 0.196 to 0.207 in, three digits; 0.0318 in^2: from memory */
    assert_near(tripod.minor_most_m, 0.207 * IN, 0.0006 * IN);
    assert_near(cw_thread_stress_area_m2(&tripod), 0.0318 * IN * IN, 0.00005 * IN * IN);
    assert_near(find("#0-80 UNF").major_m, 1.524 * MM, 0.0005 * MM);
    assert_near(find("#1-72 UNF").major_m, 1.854 * MM, 0.0005 * MM);
    assert_near(find("#3-48 UNC").major_m, 2.515 * MM, 0.0005 * MM);
    assert_near(find("#4-40 UNC").major_m, 2.845 * MM, 0.0005 * MM);
    assert_near(find("1/4-20 UNC (tripod)").major_m, 6.350 * MM, 1e-9); /* ISO 1222 */
    assert_near(find("3/8-16 UNC (tripod)").pitch_m, 25.4 / 16 * MM, 1e-9);
}

/* ISO 965: M1.6 pitch diameter 1.373 basic (rideout-sw.co.uk table). M39x26tpi: 25.4/26 = 0.9769 mm. */
static void metric_sizes_and_the_old_mount(void **state)
{
    (void)state;
    assert_near(find("M1.6 x 0.35").pitch_diameter_m, 1.373 * MM, 0.0005 * MM);
    assert_near(find("m2.5x0.45").major_m - find("M2.5x0.45").minor_m, 1.0825 * 0.45 * MM, 1e-7);
    /* ISO 965-2 6g, M1.6: 1.581 to 1.496; from memory, as printed in every screw table */
    assert_near(find("M1.6x0.35").major_least_m, 1.496 * MM, 0.0015 * MM); /* the standard rounds Td to 85 um */
    assert_near(find("M39x26tpi (mount)").pitch_m, 0.9769 * MM, 0.00005 * MM);
    assert_near(find("M39x26tpi (mount)").angle_rad, 55 * M_PI / 180, 1e-12);
    assert_near(find("M1.7x0.35").pitch_m, 0.35 * MM, 1e-12);
    assert_near(find("M2.6x0.45").pitch_m, 0.45 * MM, 1e-12);
    assert_near(find("M52x0.75(filter)").major_m, 52 * MM, 1e-12);
    cw_thread none;
    assert_false(cw_thread_find("M1.65", &none));
}

static void measured(bool internal, double d_mm, double ud_mm, double p_mm, double up_mm, cw_thread_match *m,
                     size_t *count, double *none)
{
    cw_thread_measured in = {internal, {d_mm * MM, ud_mm * MM}, {p_mm * MM, up_mm * MM}, NULL};
    cw_error err;
    assert_ok(cw_thread_identify(&in, m, 8, count, none, &err), &err);
}

static void a_measured_screw_is_named_with_its_doubt(void **state)
{
    (void)state;
    cw_thread_match m[8];
    size_t count;
    double none;
    /* M1.7 x 0.35 and 10 BA share diameter and pitch and differ in the flank only: both are named, and nothing else */
    measured(false, 1.65, 0.01, 0.35, 0.005, m, &count, &none);
    assert_near(m[0].thread.major_m, 1.7 * MM, 1e-9);
    assert_near(m[1].thread.major_m, 1.7 * MM, 1e-9);
    assert_true(m[0].probability + m[1].probability > 0.9 && m[1].probability > 0.3);
    static const double metric[CW_THREAD_FAMILY_COUNT] = {1, 1, 1, 1, 0.1, 0.02, 1, 1};
    cw_thread_measured in = {false, {1.65 * MM, 0.01 * MM}, {0.35 * MM, 0.005 * MM}, metric};
    cw_error err;
    assert_ok(cw_thread_identify(&in, m, 8, &count, &none, &err), &err);
    assert_string_equal(m[0].thread.name, "M1.7 x 0.35");
    assert_true(m[0].probability > 0.9);
    measured(false, 1.67, 0.03, NAN, NAN, m, &count, &none); /* without a pitch: M1.7, 10 BA and more are left */
    assert_true(count >= 3 && m[0].probability < 0.8);
    measured(false, 2.46, 0.01, 0.45, 0.004, m, &count, &none); /* M2.5, not 7 BA at 0.48 */
    assert_string_equal(m[0].thread.name, "M2.5 x 0.45");
    measured(false, 2.46, 0.01, 0.48, 0.004, m, &count, &none);
    assert_string_equal(m[0].thread.name, "7 BA");
    measured(false, 38.9, 0.03, 0.977, 0.004, m, &count, &none);
    assert_string_equal(m[0].thread.name, "M39x26tpi (mount)");
    assert_true(m[0].probability > 0.9);
    measured(false, 38.9, 0.03, 0.985, 0.015, m, &count, &none); /* a coarse pitch reading cannot tell 0.977 from 1 */
    assert_true(m[1].probability > 0.15);
    measured(true, 1.60, 0.01, 0.4, 0.004, m, &count, &none); /* bore of an M2 hole: 1.567 to 1.679 */
    assert_string_equal(m[0].thread.name, "M2 x 0.4");
    measured(false, 3.3, 0.01, 0.9, 0.004, m, &count, &none); /* nothing of the kind */
    assert_true(none > 0.9);
    measured(false, 6.30, 0.01, 1.27, 0.005, m, &count, &none);
    assert_string_equal(m[0].thread.name, "1/4-20 UNC (tripod)");
}

/* Over many screws made to their table, the stated chances come true: calibration, seed fixed. */
static void the_stated_chances_come_true(void **state)
{
    (void)state;
    cw_thread all[CW_THREADS_MOST];
    size_t threads = cw_threads(all, CW_THREADS_MOST);
    check_random random = {20240611};
    double promised = 0, kept = 0;
    int tried = 1500;
    for (int i = 0; i < tried; i++) {
        const cw_thread *t = &all[(size_t)(check_uniform(&random) * (double)threads) % threads];
        double d = t->major_least_m + check_uniform(&random) * (t->major_m - t->major_least_m) +
                   0.02e-3 * check_gaussian(&random);
        double p = t->pitch_m + 0.012e-3 * check_gaussian(&random);
        cw_thread_measured in = {false, {d, 0.02e-3}, {p, 0.012e-3}, NULL};
        cw_thread_match m[8];
        size_t count;
        double none;
        cw_error err;
        assert_ok(cw_thread_identify(&in, m, 8, &count, &none, &err), &err);
        if (count == 0)
            continue;
        promised += m[0].probability;
        kept += m[0].thread.major_m == t->major_m && m[0].thread.pitch_m == t->pitch_m;
    }
    /* binomial: sd about sqrt(n/4) = 19 at most; every drawn screw is listed, so the promise, which keeps a tenth for
     * the unlisted, may lie a little low */
    assert_true(kept >= promised - 3 * 19);
    assert_true(kept <= promised + 0.08 * tried + 3 * 19);
    assert_true(promised > 0.5 * tried);
}

static void what_is_no_screw_is_refused(void **state)
{
    (void)state;
    cw_thread_match m[8];
    size_t count;
    double none;
    cw_error err;
    cw_thread_measured in = {false, {0, 1e-5}, {NAN, NAN}, NULL};
    assert_fails(cw_thread_identify(&in, m, 8, &count, &none, &err), CW_RANGE, &err, "measured diameter 0 mm");
    in.diameter_m = (cw_quantity){2e-3, 0};
    assert_fails(cw_thread_identify(&in, m, 8, &count, &none, &err), CW_RANGE, &err, "uncertainty of the diameter");
    in.diameter_m.u = 1e-5;
    in.pitch_m = (cw_quantity){2e-3, 1e-5};
    assert_fails(cw_thread_identify(&in, m, 8, &count, &none, &err), CW_RANGE, &err, "divided by their number");
    static const double nothing[CW_THREAD_FAMILY_COUNT] = {0};
    in.pitch_m = (cw_quantity){NAN, NAN};
    in.family_weight = nothing;
    assert_fails(cw_thread_identify(&in, m, 8, &count, &none, &err), CW_RANGE, &err, "ruled out");
}

CHECK_MAIN(cmocka_unit_test(depths_follow_the_triangle_of_the_form),
           cmocka_unit_test(british_association_follows_its_table),
           cmocka_unit_test(miniature_threads_follow_their_table), cmocka_unit_test(unified_threads_follow_their_table),
           cmocka_unit_test(metric_sizes_and_the_old_mount), cmocka_unit_test(a_measured_screw_is_named_with_its_doubt),
           cmocka_unit_test(the_stated_chances_come_true), cmocka_unit_test(what_is_no_screw_is_refused))
