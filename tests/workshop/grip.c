/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "workshop/grip.h"

#include <math.h>

#include "support/check.h"

#define DEG (M_PI / 180)

/* Jindal, Machine Design, ex. 22-1: ring of radii 70 and 110 mm, mu 0.28, even wear, p 0.1 MPa at the inner edge:
 * F = 2 pi p r (R - r) = 1759.3 N, T 44.33 N m for one face. */
static void friction_ring_of_jindal(void **state)
{
    (void)state;
    double r = 70e-3, R = 110e-3, F = 2 * M_PI * 0.1e6 * r * (R - r);
    assert_near(F, 1759.3, 0.05);
    assert_near(cw_ring_torque_even_wear_n_m(0.28, F, r, R), 44.33, 0.005);
}

/* The disc clutch formulas by adding up rings of the face. */
static void friction_ring_agrees_with_its_integral(void **state)
{
    (void)state;
    double r = 11e-3, R = 17.3e-3, mu = 0.71, F = 23, even = 0, wear = 0, wear_force = 0;
    int steps = 100000;
    for (int i = 0; i < steps; i++) {
        double x = r + (R - r) * (i + 0.5) / steps, dx = (R - r) / steps;
        even += mu * F / (M_PI * (R * R - r * r)) * 2 * M_PI * x * x * dx;
        wear += mu * (1 / x) * 2 * M_PI * x * x * dx; /* pressure falls as 1/radius */
        wear_force += (1 / x) * 2 * M_PI * x * dx;
    }
    assert_near(cw_ring_torque_even_pressure_n_m(mu, F, r, R), even, 1e-8);
    assert_near(cw_ring_torque_even_wear_n_m(mu, F, r, R), wear * F / wear_force, 1e-8);
    assert_near(cw_ring_torque_even_pressure_n_m(mu, F, 0, R), 2.0 / 3 * mu * F * R, 1e-12); /* a full disc */
}

static void friction_ring_keeps_off_the_glass(void **state)
{
    (void)state;
    cw_friction_ring ring = {22e-3, 34e-3, 2e-3, 0.2, 20e-3, 3e-3, 44e-3, 25, 0.8};
    cw_friction_ring_result r;
    cw_error err;
    assert_ok(cw_friction_ring_find(&ring, &r, &err), &err);
    assert_true(r.torque_worn_n_m < r.torque_n_m);
    assert_near(r.push_per_n_m * r.torque_worn_n_m, 25, 1e-9);
    assert_near(r.recess_m, 3e-3 - 1.6e-3 + 1e-3, 1e-12);
    ring.glass_rise_m = 0.5e-3;
    assert_ok(cw_friction_ring_find(&ring, &r, &err), &err);
    assert_near(r.recess_m, 0, 0);
    ring.glass_m = 22e-3;
    assert_fails(cw_friction_ring_find(&ring, &r, &err), CW_RANGE, &err,
                 "lies on glass of 22 mm; 22.5 mm keeps it free");
    ring.glass_m = 0;
    ring.inner_m = 33.5e-3;
    assert_fails(cw_friction_ring_find(&ring, &r, &err), CW_RANGE, &err, "too narrow to cut");
    ring.inner_m = 20e-3;
    ring.grip_m = 30e-3;
    assert_fails(cw_friction_ring_find(&ring, &r, &err), CW_RANGE, &err, "make it 38 mm");
    ring.grip_m = 44e-3;
    ring.push_n = 4000;
    assert_fails(cw_friction_ring_find(&ring, &r, &err), CW_RANGE, &err, "push 4000 N");
}

static cw_collar collar(void)
{
    return (cw_collar){28e-3,
                       2.5e-3,
                       1.2e-3,
                       1.5e-3,
                       3e-3,
                       120,
                       60e-3,
                       0.45,
                       cw_material_find("brass-hard"),
                       cw_material_find("aluminium-6061-t6")};
}

/* Even pressure p = P/(b r) balances P at the split: the half ring's pressure summed across must be 2 P. */
static void collar_agrees_with_its_integral(void **state)
{
    (void)state;
    cw_collar c = collar();
    cw_collar_result r;
    cw_error err;
    assert_ok(cw_collar_find(&c, 0, &r, &err), &err);
    double across = 0, torque = 0, radius = 14e-3;
    int steps = 20000;
    for (int i = 0; i < steps; i++) {
        double a = M_PI * (i + 0.5) / steps, dA = c.edge_m * radius * M_PI / steps;
        across += r.pressure_pa * sin(a) * dA;
        torque += 2 * c.mu * r.pressure_pa * radius * dA;
    }
    assert_near(across, 2 * 120, 1e-3);
    assert_near(r.torque_n_m, torque, 1e-6);
    assert_near(r.torque_least_n_m, 0.45 * 14e-3 * 4 * 120, 1e-9);
    assert_near(r.cap_hoop_pa, r.pressure_pa * 14e-3 / 1.2e-3, 1);
    assert_near(r.closes_m, 3e-3 / M_PI, 1e-12);
}

/* A ring cut once, by virtual work, added up: gap closes by P R^3/(E I) * integral of (1 - cos)^2 over the turn. */
static void bending_the_collar_round_costs_force(void **state)
{
    (void)state;
    cw_collar c = collar();
    cw_collar_result r;
    cw_error err;
    double play = 0.2e-3;
    assert_ok(cw_collar_find(&c, play, &r, &err), &err);
    double sum = 0, R = 14.75e-3, I = 2.5e-3 * pow(1.5e-3, 3) / 12;
    for (int i = 0; i < 20000; i++) {
        double a = 2 * M_PI * (i + 0.5) / 20000;
        sum += pow(1 - cos(a), 2) * 2 * M_PI / 20000;
    }
    assert_near(r.bend_n, M_PI * play * 103e9 * I / (sum * pow(R, 3)), 1e-6 * r.bend_n);
    assert_fails(cw_collar_find(&c, 1.2e-3, &r, &err), CW_RANGE, &err, "a split of 3.77 mm would close it");
    c.collar_m = 6e-3;
    assert_fails(cw_collar_find(&c, 0.5e-3, &r, &err), CW_RANGE, &err, "only bends this collar round");
    c = collar();
    c.lever_m = 5e-3;
    assert_fails(cw_collar_find(&c, 0, &r, &err), CW_RANGE, &err, "lever 5 mm");
}

static cw_clamp clamp(const cw_cutout *cutouts, size_t count)
{
    return (cw_clamp){.length_m = 110e-3,
                      .width_m = 70e-3,
                      .thickness_m = 18e-3,
                      .bore_m = 44e-3,
                      .lining_m = 1e-3,
                      .kerf_m = 2e-3,
                      .screw_m = 5e-3,
                      .screw_at_m = 40e-3,
                      .screw_n = 300,
                      .mu = 0.6,
                      .cutouts = cutouts,
                      .cutout_count = count,
                      .board = cw_material_find("birch-plywood")};
}

static void clamp_without_cutouts_grips_like_a_ring(void **state)
{
    (void)state;
    cw_clamp c = clamp(NULL, 0);
    c.kerf_m = 0.2e-3;
    cw_clamp_result r;
    cw_error err;
    assert_ok(cw_clamp_find(&c, &r, &err), &err);
    /* almost the whole circle: 2 pi mu P r, with P a screw */
    assert_near(r.torque_n_m, 2 * M_PI * 0.6 * 300 * 21e-3, 0.006 * r.torque_n_m);
    assert_near(r.held_m, 42e-3, 1e-12);
    assert_true(r.torque_least_n_m < r.torque_n_m);
}

/* Cutouts take arcs away; the even pressure on the rest must still balance the screws. Closed form, cutout at the
 * crown: arc from a0 (saw cut) to pi/2 - a1, twice; across = 2 (cos a0 - cos(pi/2 - a1)). */
static void clamp_with_cutouts_agrees_with_the_closed_form(void **state)
{
    (void)state;
    cw_cutout cut[] = {{90 * DEG, 12e-3, 5e-3}, {270 * DEG, 12e-3, 5e-3}};
    cw_clamp c = clamp(cut, 2);
    cw_clamp_result r;
    cw_error err;
    assert_ok(cw_clamp_find(&c, &r, &err), &err);
    double a0 = asin(1e-3 / 22e-3), a1 = asin(6e-3 / 22e-3), arc = 2 * (M_PI / 2 - a1 - a0),
           across = 2 * (cos(a0) - cos(M_PI / 2 - a1));
    assert_near(r.contact_rad, 2 * arc, 4 * M_PI / 2000 * 2); /* four edges, a step each */
    assert_near(r.torque_n_m, 2 * 2 * 300 * arc / across * 0.6 * 21e-3, 0.01 * r.torque_n_m);
    assert_near(r.least_wall_m, 35e-3 - 27e-3, 1e-9);
    double board = 8e-3;
    assert_near(r.bending_pa, 6 * 300 * (40e-3 - 10.5e-3) / (18e-3 * board * board), 1);
}

static void clamps_cut_in_two_are_refused(void **state)
{
    (void)state;
    cw_clamp_result r;
    cw_error err;
    cw_cutout deep[] = {{90 * DEG, 10e-3, 12e-3}};
    cw_clamp c = clamp(deep, 1);
    assert_fails(cw_clamp_find(&c, &r, &err), CW_RANGE, &err,
                 "the cutout at 90 degrees, 12 mm deep, cuts the clamp in two; 9 mm leaves about 4 mm");
    deep[0] = (cw_cutout){0, 10e-3, 20e-3};
    assert_fails(cw_clamp_find(&c, &r, &err), CW_RANGE, &err, "runs into a screw hole");
    deep[0] = (cw_cutout){45 * DEG, 60e-3, 2e-3};
    assert_fails(cw_clamp_find(&c, &r, &err), CW_RANGE, &err, "60 mm wide");
    cw_cutout many[] = {{30 * DEG, 20e-3, 2e-3}, {90 * DEG, 30e-3, 2e-3}, {150 * DEG, 20e-3, 2e-3}};
    c = clamp(many, 3);
    assert_fails(cw_clamp_find(&c, &r, &err), CW_RANGE, &err, "of the upper half to grip with");
    c = clamp(NULL, 0);
    c.width_m = 48e-3;
    assert_fails(cw_clamp_find(&c, &r, &err), CW_RANGE, &err, "a width of 52 mm leaves 4 mm");
    c = clamp(NULL, 0);
    c.screw_at_m = 23e-3;
    assert_fails(cw_clamp_find(&c, &r, &err), CW_RANGE, &err, "26.5 to 50.5 mm works");
    c = clamp(NULL, 0);
    c.lining_m = 21.5e-3;
    c.bore_m = 44e-3;
    assert_fails(cw_clamp_find(&c, &r, &err), CW_RANGE, &err, "lining");
    c = clamp(NULL, 0);
    c.bore_m = NAN;
    assert_fails(cw_clamp_find(&c, &r, &err), CW_RANGE, &err, "bore is not known");
}

/* Each by adding up small pieces: shear strain times lever over the face, the barrel, the bent lever. */
static void what_winds_up_agrees_with_its_integral(void **state)
{
    (void)state;
    double r = 11e-3, R = 17e-3, t = 1.7e-3, G = 0.8e6, torque = 0;
    for (int i = 0; i < 100000; i++) { /* turned by 1 rad: strain x/t at radius x */
        double x = r + (R - r) * (i + 0.5) / 100000;
        torque += G * x / t * x * 2 * M_PI * x * (R - r) / 100000;
    }
    assert_near(cw_rubber_ring_windup_rad_n_m(r, R, t, G), 1 / torque, 1e-6 / torque);
    torque = 0;
    for (int i = 0; i < 1000; i++) /* lining 1 mm round a barrel of 21 mm radius, 18 mm high, over 5 rad */
        torque += G * 21e-3 / 1e-3 * 21e-3 * (21e-3 * 5.0 / 1000) * 18e-3;
    assert_near(cw_lining_windup_rad_n_m(21e-3, 18e-3, 5, 1e-3, G), 1 / torque, 1e-9 / torque);
    double slope = 0, sag = 0, L = 60e-3, I = M_PI * pow(5e-3, 4) / 64;
    for (int i = 0; i < 100000; i++) { /* force 1/L at the end: 1 N m at the collar */
        double z = L * (i + 0.5) / 100000, dz = L / 100000;
        slope += (L - z) / L / (103e9 * I) * dz;
        sag += slope * dz;
    }
    /* stress y/I of 1 N m at the rim: yield over it */
    assert_near(cw_lever_yield_n_m(5e-3, 393e6), 393e6 / (2.5e-3 / I), 1e-9);
    assert_near(cw_lever_windup_rad_n_m(L, 5e-3, 103e9), sag / L, 1e-4 * sag / L);
}

static void screw_force_by_the_nut_factor(void **state)
{
    (void)state;
    assert_near(cw_screw_force_n(1.2, 5e-3, 0.2), 1200, 1e-9); /* T = K F d, Shigley, from memory */
}

CHECK_MAIN(cmocka_unit_test(friction_ring_of_jindal), cmocka_unit_test(friction_ring_agrees_with_its_integral),
           cmocka_unit_test(friction_ring_keeps_off_the_glass), cmocka_unit_test(collar_agrees_with_its_integral),
           cmocka_unit_test(bending_the_collar_round_costs_force),
           cmocka_unit_test(clamp_without_cutouts_grips_like_a_ring),
           cmocka_unit_test(clamp_with_cutouts_agrees_with_the_closed_form),
           cmocka_unit_test(clamps_cut_in_two_are_refused), cmocka_unit_test(what_winds_up_agrees_with_its_integral),
           cmocka_unit_test(screw_force_by_the_nut_factor))
