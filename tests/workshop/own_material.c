/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "workshop/own_material.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "support/check.h"

/* A gauge plate whose data sheet says little; figures from memory, of the order of annealed tool steel. */
static cw_own_material plate(void)
{
    cw_own_material m = cw_own_material_none();
    m.name = "plate from the drawer";
    m.source = "its wrapper";
    m.yield_pa = (cw_quantity){412e6, 17e6};
    m.elastic_pa = (cw_quantity){207e9, NAN};
    m.poisson = (cw_quantity){0.287, NAN};
    return m;
}

static void a_material_becomes_a_row_of_the_table(void **state)
{
    (void)state;
    cw_own_material own = plate();
    cw_material m;
    cw_error err;
    assert_ok(cw_own_material_check(&own, &err), &err);
    assert_ok(cw_own_material_as(&own, CW_NEEDS_YIELD | CW_NEEDS_MODULUS | CW_NEEDS_SHEAR, &m, &err), &err);
    assert_string_equal(m.label, "plate from the drawer");
    assert_string_equal(m.source, "its wrapper");
    assert_near(m.yield_pa.u, 17e6, 0);
    assert_near(m.elastic_pa.u, 0.05 * 207e9, 1); /* nobody stated it */
    /* Gere, Mechanics of Materials: G = E / (2 (1 + nu)) */
    assert_near(cw_material_shear_modulus_pa(&m), 207e9 / 2.574, 1);
    assert_true(isnan(m.expansion_per_k));
}

static void a_stated_shear_modulus_comes_out_again(void **state)
{
    (void)state;
    cw_own_material own = plate();
    cw_material m;
    cw_error err;
    own.poisson.value = NAN;
    own.elastic_pa.value = 11.7e9; /* wood: no isotropic material has this pair */
    own.shear_pa = (cw_quantity){0.83e9, 0.07e9};
    assert_ok(cw_own_material_check(&own, &err), &err);
    assert_ok(cw_own_material_as(&own, CW_NEEDS_SHEAR, &m, &err), &err);
    assert_near(cw_material_shear_modulus_pa(&m), 0.83e9, 1);
    assert_near(m.elastic_pa.value, 11.7e9, 1);
    assert_fails(cw_own_material_as(&own, CW_NEEDS_POISSON, &m, &err), CW_INPUT, &err, "has no Poisson's ratio");
    own.elastic_pa.value = NAN; /* G alone does for twisting */
    assert_ok(cw_own_material_as(&own, CW_NEEDS_SHEAR, &m, &err), &err);
    assert_near(cw_material_shear_modulus_pa(&m), 0.83e9, 1);
    assert_near(m.elastic_pa.u / m.elastic_pa.value, 0.07 / 0.83, 1e-12);
    assert_fails(cw_own_material_as(&own, CW_NEEDS_MODULUS, &m, &err), CW_INPUT, &err, "no modulus of elasticity");
    own.poisson.value = 0.31; /* and with nu, E = 2 G (1 + nu) */
    assert_ok(cw_own_material_as(&own, CW_NEEDS_MODULUS, &m, &err), &err);
    assert_near(m.elastic_pa.value, 2.62 * 0.83e9, 1);
}

static void what_is_missing_is_named(void **state)
{
    (void)state;
    cw_own_material own = plate();
    cw_material m;
    cw_spring_wire wire;
    cw_error err;
    assert_fails(cw_own_material_as(&own, CW_NEEDS_EXPANSION, &m, &err), CW_INPUT, &err,
                 "\"plate from the drawer\" has no expansion");
    assert_contains(err.text, "change \"plate from the drawer\" --expansion");
    assert_fails(cw_own_material_wire(&own, CW_NEEDS_TENSILE, &wire, &err), CW_INPUT, &err, "has no tensile strength");
    own.yield_pa.value = NAN;
    assert_fails(cw_own_material_as(&own, CW_NEEDS_YIELD, &m, &err), CW_INPUT, &err, "has no yield stress");
    own.poisson.value = NAN;
    assert_fails(cw_own_material_as(&own, CW_NEEDS_SHEAR, &m, &err), CW_INPUT, &err, "has no shear modulus");
}

/* The figures of a wire do not depend on its diameter; what is allowed of them is the least of the table. */
static void a_wire_is_careful(void **state)
{
    (void)state;
    cw_own_material own = plate();
    cw_spring_wire wire;
    cw_error err;
    size_t count;
    own.tensile_pa = (cw_quantity){1730e6, NAN};
    assert_ok(cw_own_material_wire(&own, CW_NEEDS_TENSILE | CW_NEEDS_SHEAR | CW_NEEDS_MODULUS, &wire, &err), &err);
    assert_near(cw_spring_tensile_pa(&wire, 0.23e-3), 1730e6, 1);
    assert_near(cw_spring_tensile_pa(&wire, 3.1e-3), 1730e6, 1);
    assert_near(cw_spring_elastic_pa(&wire, 0.23e-3), 207e9, 1);
    assert_near(cw_spring_shear_pa(&wire, 0.23e-3), 207e9 / 2.574, 1);
    const cw_spring_wire *wires = cw_spring_wires(&count);
    for (size_t i = 0; i < count; i++)
        assert_true(wire.shear_share <= wires[i].shear_share && wire.bending_share <= wires[i].bending_share);
    assert_near(wire.shear_share, 0.35, 0);
}

static void slips_are_refused(void **state)
{
    (void)state;
    static char long_name[10241];
    memset(long_name, 'x', sizeof long_name - 1);
    const struct {
        const char *name;
        cw_quantity yield, elastic, shear;
        double poisson;
        const char *words;
    } rows[] = {
        {"plate", {-412e6, NAN}, {NAN, NAN}, {NAN, NAN}, NAN, "yield or proof stress -412 MPa; 1 MPa to 4000 MPa"},
        {"plate", {412e9, NAN}, {NAN, NAN}, {NAN, NAN}, NAN, "4000 MPa can be used"},
        {"plate", {412e6, -3e6}, {NAN, NAN}, {NAN, NAN}, NAN, "412 MPa give or take -3 MPa"},
        {"plate", {412e6, 430e6}, {NAN, NAN}, {NAN, NAN}, NAN, "give or take 430 MPa"},
        {"plate", {NAN, 17e6}, {207e9, NAN}, {NAN, NAN}, NAN, "an uncertainty but no value"},
        {"plate", {412e6, NAN}, {207e6, NAN}, {NAN, NAN}, NAN, "Are the two exchanged?"},
        {"plate", {NAN, NAN}, {79e9, NAN}, {207e9, NAN}, NAN, "shear modulus is the smaller"},
        {"plate", {NAN, NAN}, {207e9, NAN}, {65e9, NAN}, 0.29, "do not go together"},
        {"plate", {NAN, NAN}, {207e9, NAN}, {NAN, NAN}, 0.7, "Poisson's ratio 0.7"},
        {"plate", {NAN, NAN}, {NAN, NAN}, {NAN, NAN}, NAN, "has no figure"},
        {"", {412e6, NAN}, {NAN, NAN}, {NAN, NAN}, NAN, "has no name"},
        {" ", {412e6, NAN}, {NAN, NAN}, {NAN, NAN}, NAN, "has no name"},
        {" plate", {412e6, NAN}, {NAN, NAN}, {NAN, NAN}, NAN, "begins or ends with a space"},
        {"a;b", {412e6, NAN}, {NAN, NAN}, {NAN, NAN}, NAN, "part values on the command line"},
        {"Mild-Steel", {412e6, NAN}, {NAN, NAN}, {NAN, NAN}, NAN, "one of the program's own"},
        {"mild steel, as bought", {412e6, NAN}, {NAN, NAN}, {NAN, NAN}, NAN, "one of the program's own"},
        {"MUSIC", {412e6, NAN}, {NAN, NAN}, {NAN, NAN}, NAN, "one of the program's own"},
        {"leather-metal", {412e6, NAN}, {NAN, NAN}, {NAN, NAN}, NAN, "one of the program's own"},
        {"own", {412e6, NAN}, {NAN, NAN}, {NAN, NAN}, NAN, "one of the program's own"},
        {long_name, {412e6, NAN}, {NAN, NAN}, {NAN, NAN}, NAN, "10240 bytes; 80 can be kept"},
    };
    for (size_t i = 0; i < CW_COUNT(rows); i++) {
        cw_own_material m = cw_own_material_none();
        cw_error err = {0};
        m.name = rows[i].name;
        m.yield_pa = rows[i].yield;
        m.elastic_pa = rows[i].elastic;
        m.shear_pa = rows[i].shear;
        m.poisson.value = rows[i].poisson;
        cw_status status = cw_own_material_check(&m, &err);
        assert_true(status == CW_INPUT || status == CW_RANGE);
        assert_contains(err.text, rows[i].words);
    }
    cw_own_material m = plate();
    cw_error err;
    m.tensile_pa = (cw_quantity){390e6, NAN};
    assert_fails(cw_own_material_check(&m, &err), CW_RANGE, &err, "yields at 412 MPa and breaks at 390 MPa");
}

CHECK_MAIN(cmocka_unit_test(a_material_becomes_a_row_of_the_table),
           cmocka_unit_test(a_stated_shear_modulus_comes_out_again), cmocka_unit_test(what_is_missing_is_named),
           cmocka_unit_test(a_wire_is_careful), cmocka_unit_test(slips_are_refused))
