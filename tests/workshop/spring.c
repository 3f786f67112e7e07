/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "workshop/spring.h"

#include <math.h>

#include "support/check.h"

#define IN 0.0254
#define LBF 4.4482216152605
#define PSI 6894.757293168361

/* Mott, Machine Elements in Mechanical Design 4th ed., p. 751; printed figures, half a unit of the last place. */
static void a_compression_spring_of_mott(void **state)
{
    (void)state;
    const cw_spring_wire *wire = cw_spring_wire_find("music");
    double d = 0.0625 * IN, D = 0.60 * IN, rate = 8.0 * LBF / IN;
    double coils = pow(d, 4) * (11.2e6 * PSI) / (8 * pow(D, 3) * rate);
    assert_near(coils, 12.36, 0.005);
    cw_spring s = {.kind = CW_SPRING_COMPRESSION,
                   .wire_m = d,
                   .mean_coil_m = D,
                   .active_coils = coils,
                   .total_coils = coils + 2,
                   .free_length_m = 2.75 * IN,
                   .hook_radius_m = NAN,
                   .load_n = 12 * LBF,
                   .wire = wire,
                   .own_shear_pa = 11.2e6 * PSI};
    cw_spring_result r;
    cw_error err;
    assert_ok(cw_spring_find(&s, &r, &err), &err);
    assert_near(r.rate_n_m, rate, 1e-9 * rate);
    assert_near(r.index, 9.6, 1e-9);
    assert_near(r.solid_m / IN, 0.898, 0.0005);
    assert_near(r.solid_force_n / LBF, 14.8, 0.05);
    assert_near(r.stress_pa / PSI, 86450, 10);        /* the book rounds K to 1.15; the inputs give 86 459 */
    assert_near(r.solid_stress_pa / PSI, 106750, 60); /* it takes the force at solid as 14.8 */
    assert_near(r.outer_m / IN, 0.663, 0.0006);
    assert_near(r.inner_m / IN, 0.538, 0.0006);
    assert_near(r.deflection_m / IN, 1.5, 1e-9);
}

/* Jindal, Machine Design, ex. 8-1 (inputs seen, figures recomputed): k 16.20 N/mm, 18.51 mm, Ks 1.0833, Kw 1.2525. */
static void a_compression_spring_of_jindal(void **state)
{
    (void)state;
    cw_spring s = {.kind = CW_SPRING_COMPRESSION,
                   .wire_m = 5e-3,
                   .mean_coil_m = 30e-3,
                   .active_coils = 15,
                   .total_coils = 17,
                   .free_length_m = NAN,
                   .hook_radius_m = NAN,
                   .load_n = 300,
                   .wire = cw_spring_wire_find("music"),
                   .own_shear_pa = 84e9};
    cw_spring_result r;
    cw_error err;
    assert_ok(cw_spring_find(&s, &r, &err), &err);
    assert_near(r.rate_n_m / 1e3, 16.20, 0.005);
    assert_near(r.deflection_m * 1e3, 18.51, 0.01);
    assert_near(r.shear_factor, 1.0833, 0.00005);
    assert_near(r.wahl, 1.2525, 0.00005);
}

/* Shigley, Mechanical Engineering Design, example 10-1, from memory: music wire 0.037 in, outside 7/16 in, squared
 * ends, 12 1/2 turns: Sut 324 kpsi, Ssy 0.45 of it 146, rate 4.13 lbf/in (G 11.85 Mpsi by its table 10-5), solid 0.4995
 * in, KB 1.124, yields at 6.46 lbf when KB is taken. */
static void a_music_wire_spring_of_shigley(void **state)
{
    (void)state;
    const cw_spring_wire *wire = cw_spring_wire_find("music");
    double d = 0.037 * IN;
    assert_near(cw_spring_tensile_pa(wire, d) / PSI / 1e3, 324, 1);
    assert_near(cw_spring_shear_pa(wire, d) / PSI / 1e6, 11.85, 1e-6);
    cw_spring s = {.kind = CW_SPRING_COMPRESSION,
                   .wire_m = d,
                   .mean_coil_m = 0.4375 * IN - d,
                   .active_coils = 10.5,
                   .total_coils = 12.5,
                   .solid_coils = 13.5,
                   .free_length_m = 2.06 * IN,
                   .hook_radius_m = NAN,
                   .load_n = 6.46 * LBF,
                   .wire = wire};
    cw_spring_result r;
    cw_error err;
    assert_ok(cw_spring_find(&s, &r, &err), &err);
    assert_near(r.rate_n_m / (LBF / IN), 4.13, 0.02); /* the book rounds the mean coil to 0.400 in */
    assert_near(r.solid_m / IN, 0.4995, 0.00005);
    assert_near(r.bergstraesser, 1.124, 0.0005);
    assert_near(r.deflection_m / IN, 1.56, 0.012);
    assert_near(r.stress_pa / r.wahl * r.bergstraesser / r.allowed_pa, 1, 0.005);
}

/* Shigley, tables 10-4 and 10-5, from memory: a wire of several strengths takes the piece of its diameter. */
static void strength_and_moduli_go_by_the_diameter(void **state)
{
    (void)state;
    const cw_spring_wire *stainless = cw_spring_wire_find("stainless"), *music = cw_spring_wire_find("music");
    assert_near(cw_spring_tensile_pa(stainless, 1e-3) / 1e6, 1867, 0.01);
    assert_near(cw_spring_tensile_pa(stainless, 4e-3) / 1e6, 2065 / pow(4, 0.263), 0.01);
    assert_near(cw_spring_tensile_pa(stainless, 8e-3) / 1e6, 2911 / pow(8, 0.478), 0.01);
    assert_true(isnan(cw_spring_tensile_pa(stainless, 21e-3)));
    assert_near(cw_spring_shear_pa(music, 0.5e-3) / 1e9, 82.7, 0.05);
    assert_near(cw_spring_shear_pa(music, 2e-3) / 1e9, 81.0, 0.05);
    assert_near(cw_spring_elastic_pa(music, 4e-3) / 1e9, 193, 0.1);
    assert_near(cw_spring_tensile_pa(cw_spring_wire_find("chrome-vanadium"), 2e-3) / 1e6, 2005 / pow(2, 0.168), 0.01);
}

/* What holds of any metal, whatever the table says: E = 2 G (1 + nu) with Poisson's ratio between 0.2 and 0.4, a
 * strength that falls as the wire grows thicker, and pieces of it that meet where one takes over from the other. */
static void the_tables_do_not_contradict_themselves(void **state)
{
    (void)state;
    size_t count;
    const cw_spring_wire *wires = cw_spring_wires(&count);
    for (size_t i = 0; i < count; i++) {
        const cw_spring_wire *w = &wires[i];
        print_message("%s\n", w->label);
        for (size_t k = 0; k < CW_WIRE_PIECES && w->moduli[k].most_m > 0; k++) {
            double poisson = w->moduli[k].elastic_pa / (2 * w->moduli[k].shear_pa) - 1;
            assert_true(poisson > 0.2 && poisson < 0.41);
        }
        for (size_t k = 0; k + 1 < CW_WIRE_PIECES && w->strength[k + 1].most_m > 0; k++) {
            double joint_m = w->strength[k].most_m, from = cw_spring_tensile_pa(w, joint_m * 0.9999);
            assert_near(cw_spring_tensile_pa(w, joint_m * 1.0001) / from, 1, 0.08);
        }
        double before = INFINITY;
        for (double d = w->least_m; d < cw_spring_most_m(w); d *= 1.07) {
            assert_true(cw_spring_tensile_pa(w, d) <= before * 1.0001);
            before = cw_spring_tensile_pa(w, d);
        }
    }
}

/* Jindal, ex. 8-6: hard-drawn d 1.219, OD 12.5, 13.5 turns squared (11.5 work), tau 0.4 Sut: 686.9 MPa; with the direct
 * shear factor F 41.1 N, 30.457 mm, solid 15.2375 mm by 12.5 coils of wire. */
static void a_hard_drawn_spring_of_jindal(void **state)
{
    (void)state;
    const cw_spring_wire *wire = cw_spring_wire_find("hard-drawn");
    assert_near(0.4 * cw_spring_tensile_pa(wire, 1.219e-3) / 1e6, 686.9, 0.05);
    cw_spring s = {.kind = CW_SPRING_COMPRESSION,
                   .wire_m = 1.219e-3,
                   .mean_coil_m = 11.281e-3,
                   .active_coils = 11.5,
                   .total_coils = 12.5,
                   .free_length_m = 50.26e-3,
                   .hook_radius_m = NAN,
                   .load_n = 41.1,
                   .wire = wire,
                   .own_shear_pa = 80.7e9};
    cw_spring_result r;
    cw_error err;
    assert_ok(cw_spring_find(&s, &r, &err), &err);
    assert_near(r.solid_m * 1e3, 15.2375, 0.0001);
    assert_near(r.deflection_m * 1e3, 30.457, 0.04); /* 41.1 N is itself rounded to 0.1 */
    assert_near(r.stress_pa / r.wahl * r.shear_factor / 1e6, 686.9, 1.0);
}

/* Jindal, ex. 8-3: d 1.626, hook bend radius 3 mm, music wire: Sut 2060.5 MPa, fails at 211.3 N. */
static void a_hook_of_jindal(void **state)
{
    (void)state;
    const cw_spring_wire *wire = cw_spring_wire_find("music");
    assert_near(cw_spring_tensile_pa(wire, 1.626e-3) / 1e6, 2060.5, 0.05);
    cw_spring s = {.kind = CW_SPRING_EXTENSION,
                   .wire_m = 1.626e-3,
                   .mean_coil_m = 12e-3,
                   .active_coils = 10,
                   .hook_radius_m = 3e-3,
                   .load_n = 211.3,
                   .wire = wire};
    cw_spring_result r;
    cw_error err;
    assert_ok(cw_spring_find(&s, &r, &err), &err);
    assert_near(r.hook_stress_pa / 1e6, 2060.5, 2060.5 * 0.0005);
}

/* Jindal, ex. 8-9: music wire d 1.5, OD 16, 4.25 turns, legs 20 + 20: Ki 1.0836, M 497.2 N mm, body 0.327 turn, total
 * 0.349, coil 14.5 to 13.46, clearance to an 11.5 mm pin 0.75 to 0.23. */
static void a_torsion_spring_of_jindal(void **state)
{
    (void)state;
    const cw_spring_wire *wire = cw_spring_wire_find("music");
    cw_spring s = {.kind = CW_SPRING_TORSION,
                   .wire_m = 1.5e-3,
                   .mean_coil_m = 14.5e-3,
                   .active_coils = 4.25,
                   .leg1_m = 20e-3,
                   .leg2_m = 20e-3,
                   .torque_n_m = 0.4972,
                   .free_length_m = NAN,
                   .hook_radius_m = NAN,
                   .wire = wire,
                   .own_elastic_pa = 200e9};
    cw_spring_result r;
    cw_error err;
    assert_ok(cw_spring_find(&s, &r, &err), &err);
    assert_near(r.inner_factor, 1.0836, 0.00005);
    assert_near(r.reserve, 1, 0.0005); /* the book's M is the one that reaches 0.78 Sut */
    assert_near(r.body_turn_rad / (2 * M_PI), 0.327, 0.0005);
    assert_near(r.total_turn_rad / (2 * M_PI), 0.349, 0.0005);
    assert_near(r.wound_mean_m * 1e3, 13.46, 0.005);
    assert_near((r.wound_mean_m - 1.5e-3 - 11.5e-3) / 2 * 1e3, 0.23, 0.005);
    /* Machinery's Handbook 31st ed., p. 334, table 13: T = E d^4 F/(4000 N D), F in degrees: its 4000 is 3 % above 360
     * * 10.8 */
    double handbook = 200e9 * pow(1.5e-3, 4) * (r.body_turn_rad * 180 / M_PI) / (4000 * 4.25 * 14.5e-3);
    assert_near(handbook, 0.4972, 0.03 * 0.4972);
    double legs = r.total_turn_rad - r.body_turn_rad; /* beam: M L/(3 E I) each */
    assert_near(legs, 0.4972 * 0.040 / (3 * 200e9 * M_PI * pow(1.5e-3, 4) / 64), 0.07 * legs);
}

static void a_replacement_meets_the_need_it_was_asked_for(void **state)
{
    (void)state;
    cw_spring_need need = {CW_SPRING_COMPRESSION, 250, 1.5, 6e-3, 2e-3, 12e-3, cw_spring_wire_find("music")};
    cw_spring_choice found[4];
    size_t count;
    cw_error err;
    assert_ok(cw_spring_replace(&need, found, 4, &count, &err), &err);
    assert_true(count >= 1 && count <= 4);
    for (size_t i = 0; i < count; i++) {
        cw_spring s = {.kind = CW_SPRING_COMPRESSION,
                       .wire_m = found[i].wire_m,
                       .mean_coil_m = found[i].mean_coil_m,
                       .active_coils = found[i].active_coils,
                       .total_coils = found[i].active_coils + 2,
                       .free_length_m = NAN,
                       .hook_radius_m = NAN,
                       .load_n = 1.5,
                       .wire = need.wire};
        cw_spring_result r;
        assert_ok(cw_spring_find(&s, &r, &err), &err);
        assert_near(r.rate_n_m, 250, 1e-6);
        assert_true(r.outer_m <= 6e-3 && r.inner_m >= 2e-3 && r.solid_m <= 12e-3 && r.reserve >= 1.1);
        if (i > 0)
            assert_true(found[i].misfit >= found[i - 1].misfit);
    }
    need.load_n = 400; /* stronger than any wire that fits */
    assert_ok(cw_spring_replace(&need, found, 4, &count, &err), &err);
    assert_int_equal(count, 0);
    need.inner_least_m = 7e-3;
    assert_fails(cw_spring_replace(&need, found, 4, &count, &err), CW_RANGE, &err, "rod of 7 mm");
}

static void springs_that_cannot_be_are_refused(void **state)
{
    (void)state;
    cw_spring s = {.kind = CW_SPRING_COMPRESSION,
                   .wire_m = 1e-3,
                   .mean_coil_m = 2e-3,
                   .active_coils = 5,
                   .total_coils = 7,
                   .free_length_m = NAN,
                   .hook_radius_m = NAN,
                   .wire = cw_spring_wire_find("music")};
    cw_spring_result r;
    cw_error err;
    assert_fails(cw_spring_find(&s, &r, &err), CW_RANGE, &err, "2.5 to 40 mm");
    s.mean_coil_m = 8e-3;
    s.total_coils = 4;
    assert_fails(cw_spring_find(&s, &r, &err), CW_RANGE, &err, "4 coils in all with 5");
    s.total_coils = 7;
    s.free_length_m = 6e-3;
    assert_fails(cw_spring_find(&s, &r, &err), CW_RANGE, &err, "lying solid, 7 mm");
    s.free_length_m = NAN;
    s.wire = cw_spring_wire_find("chrome-silicon"); /* half of its finest size is 0.8 mm */
    s.wire_m = 0.7e-3;
    assert_fails(cw_spring_find(&s, &r, &err), CW_RANGE, &err, "not covered");
    assert_null(cw_spring_wire_find("cheese"));
}

CHECK_MAIN(cmocka_unit_test(a_compression_spring_of_mott), cmocka_unit_test(a_compression_spring_of_jindal),
           cmocka_unit_test(a_music_wire_spring_of_shigley), cmocka_unit_test(strength_and_moduli_go_by_the_diameter),
           cmocka_unit_test(the_tables_do_not_contradict_themselves), cmocka_unit_test(a_hard_drawn_spring_of_jindal),
           cmocka_unit_test(a_hook_of_jindal), cmocka_unit_test(a_torsion_spring_of_jindal),
           cmocka_unit_test(a_replacement_meets_the_need_it_was_asked_for),
           cmocka_unit_test(springs_that_cannot_be_are_refused))
