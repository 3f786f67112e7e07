/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "workshop/sheet.h"

#include <math.h>

#include "support/check.h"

static void a_screen_lies_on_its_rails(void **state)
{
    (void)state;
    cw_screen s = {36e-3, 24e-3, 26.6e-3, 6e-3, 35.3e-3};
    cw_screen_size size;
    cw_error err;
    assert_ok(cw_screen_find(&s, &size, &err), &err);
    assert_near(size.width_m, 48e-3, 1e-12);
    assert_true(size.height_m > s.rail_gap_m && size.height_m < s.channel_m);
    s.channel_m = NAN;
    assert_ok(cw_screen_find(&s, &size, &err), &err);
    assert_near(size.height_m, 28.6e-3, 1e-12);
    s.channel_m = 26.7e-3;
    assert_fails(cw_screen_find(&s, &size, &err), CW_RANGE, &err, "falls through inner rails");
    s.rail_gap_m = 20e-3;
    assert_fails(cw_screen_find(&s, &size, &err), CW_RANGE, &err, "would cover a frame");
    s.frame_width_m = 0;
    assert_fails(cw_screen_find(&s, &size, &err), CW_RANGE, &err, "frame width 0 mm");
}

static void foam_is_squashed_by_a_third(void **state)
{
    (void)state;
    cw_seal seal = {3e-3, 1.2e-3, 1.3e-3, 118e-3, NAN};
    cw_seal_size size;
    cw_error err;
    assert_ok(cw_seal_find(&seal, &size, &err), &err);
    assert_near(size.foam_m, 2e-3, 1e-12);
    assert_near(size.squash, 0.35, 1e-9);
    assert_true(size.is_good);
    for (double gap = 0.4e-3; gap < 6e-3; gap += 0.1e-3) { /* the proposal is always one that works, above 0.4 mm */
        seal.gap_m = gap;
        assert_ok(cw_seal_find(&seal, &size, &err), &err);
        assert_true(size.is_good || gap < 0.6e-3);
    }
    seal.gap_m = 1.3e-3;
    seal.foam_m = 1.5e-3;
    assert_ok(cw_seal_find(&seal, &size, &err), &err);
    assert_contains(size.why, "light");
    seal.foam_m = 3e-3;
    assert_ok(cw_seal_find(&seal, &size, &err), &err);
    assert_contains(size.why, "door open");
    seal.gap_m = 15e-3;
    assert_fails(cw_seal_find(&seal, &size, &err), CW_RANGE, &err, "measure from the channel's floor");
}

static void a_covering_goes_round_the_ends(void **state)
{
    (void)state;
    cw_covering c = {100e-3, 13e-3, 42e-3, 0.6e-3, 0, true};
    double length, height;
    cw_error err;
    assert_ok(cw_covering_find(&c, &length, &height, &err), &err);
    assert_near(length, 0.2 + 2 * M_PI * 13.3e-3, 1e-12); /* circumference of both half rounds */
    c.wraps_round = false;
    assert_ok(cw_covering_find(&c, &length, &height, &err), &err);
    assert_near(length, 0.1 + M_PI * 13.3e-3, 1e-12);
    c.height_m = 0;
    assert_fails(cw_covering_find(&c, &length, &height, &err), CW_RANGE, &err, "height 0 mm");
}

/* Winding by laps of growing radius, one full turn at a time: the spiral by addition. */
static void curtain_winding_agrees_with_a_lap_count(void **state)
{
    (void)state;
    cw_curtain c = {36e-3, 24e-3, 3e-3, 2e-3, 3e-3, 8e-3, 0.5, 0.25e-3, 5e-3};
    cw_curtain_size s;
    cw_error err;
    assert_ok(cw_curtain_find(&c, &s, &err), &err);
    assert_near(s.width_m, 30e-3, 1e-12);
    assert_near(s.length_m - s.free_m, 10e-3, 1e-12);
    double left = s.free_m, laps = 0;
    for (double radius = 4.125e-3; left > 0; radius += 0.25e-3) { /* each lap lies on the one below */
        double lap = fmin(1, left / (2 * M_PI * radius));
        laps += lap;
        left -= lap * 2 * M_PI * radius;
    }
    assert_near(s.drum_build_m, 2 * (4e-3 + 0.25e-3 * laps), 0.01e-3); /* the ring is smooth where laps are steps */
    assert_true(s.travel_turns > 1 && s.travel_turns < 36.0 / (M_PI * 8));
    c.drum_m = 0;
    assert_fails(cw_curtain_find(&c, &s, &err), CW_RANGE, &err, "drum diameter");
}

static void shims_make_the_nearest_stack(void **state)
{
    (void)state;
    static const cw_shim kinds[] = {{0.02e-3, 3}, {0.05e-3, 2}, {0.10e-3, 2}, {0.20e-3, 1}};
    cw_shim_stack stacks[CW_SHIM_STACKS_MOST];
    size_t count;
    cw_error err;
    assert_ok(cw_shims_find(0.27e-3, kinds, 4, stacks, &count, &err), &err);
    assert_int_equal(count, CW_SHIM_STACKS_MOST);
    assert_near(stacks[0].off_m, 0, 1e-9); /* 0.20 + 0.05 + 0.02 */
    assert_int_equal(stacks[0].piece_count, 3);
    for (size_t i = 0; i < count; i++) {
        double total = 0;
        for (size_t k = 0; k < 4; k++) {
            assert_true(stacks[i].pieces[k] <= kinds[k].available);
            total += stacks[i].pieces[k] * kinds[k].thickness_m;
        }
        assert_near(total, stacks[i].total_m, 1e-12);
        assert_near(stacks[i].off_m, total - 0.27e-3, 1e-12);
    }
    /* nearest of all, by going through every one of the 4*3*3*2 stacks */
    double best = 1, wanted = 0.331e-3;
    for (int a = 0; a <= 3; a++)
        for (int b = 0; b <= 2; b++)
            for (int c = 0; c <= 2; c++)
                for (int d = 0; d <= 1; d++)
                    if (a + b + c + d > 0)
                        best = fmin(best, fabs(a * 0.02e-3 + b * 0.05e-3 + c * 0.1e-3 + d * 0.2e-3 - wanted));
    assert_ok(cw_shims_find(wanted, kinds, 4, stacks, &count, &err), &err);
    assert_near(fabs(stacks[0].off_m), best, 0.2e-6);
    assert_fails(cw_shims_find(0, kinds, 4, stacks, &count, &err), CW_RANGE, &err, "wanted thickness 0 mm");
    static const cw_shim none[] = {{0.02e-3, 0}};
    assert_fails(cw_shims_find(0.1e-3, none, 1, stacks, &count, &err), CW_RANGE, &err, "no shim");
    assert_fails(cw_shims_find(0.1e-3, none, 0, stacks, &count, &err), CW_RANGE, &err, "0 kinds of shim");
}

static void many_kinds_stay_quick(void **state)
{
    (void)state;
    cw_shim kinds[CW_SHIMS_MOST];
    for (size_t i = 0; i < CW_SHIMS_MOST; i++)
        kinds[i] = (cw_shim){(0.011 + 0.017 * (double)i) * 1e-3, 8};
    cw_shim_stack stacks[CW_SHIM_STACKS_MOST];
    size_t count;
    cw_error err;
    assert_ok(cw_shims_find(0.4567e-3, kinds, CW_SHIMS_MOST, stacks, &count, &err), &err); /* 125 970 stacks at most */
    assert_true(fabs(stacks[0].off_m) < 2e-6);
    assert_non_null(cw_frame_find("24x36"));
    assert_null(cw_frame_find("25x36"));
}

CHECK_MAIN(cmocka_unit_test(a_screen_lies_on_its_rails), cmocka_unit_test(foam_is_squashed_by_a_third),
           cmocka_unit_test(a_covering_goes_round_the_ends), cmocka_unit_test(curtain_winding_agrees_with_a_lap_count),
           cmocka_unit_test(shims_make_the_nearest_stack), cmocka_unit_test(many_kinds_stay_quick))
