/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "exposure/cell.h"

#include <math.h>

#include "support/check.h"

static cw_cell_swap silver(double fixed)
{
    return (cw_cell_swap){CW_METER_SERIES, {1.35, 0}, {1.55, 0}, {0.8, 0}, fixed};
}

/* Solves the circuit itself: the scale is marked with 1.35 V, then the mark is looked up for the current that 1.55 V
 * drives. */
static void a_series_meter_agrees_with_its_circuit(void **state)
{
    (void)state;
    static const double shares[] = {0, 0.17, 0.4};
    for (size_t s = 0; s < 3; s++) {
        double photo = 10e3 * (1 - shares[s]), fixed = 10e3 * shares[s], gamma = 0.8, current = 1.55 / (photo + fixed);
        double low = -8, high = 8; /* EV the needle shows beyond the truth, by halving */
        for (int i = 0; i < 80; i++) {
            double middle = (low + high) / 2, marked = 1.35 / (photo * exp2(-gamma * middle) + fixed);
            *(marked < current ? &low : &high) = middle;
        }
        cw_cell_swap swap = silver(shares[s]);
        cw_quantity error;
        cw_error err;
        assert_ok(cw_cell_swap_error(&swap, &error, &err), &err);
        assert_near(error.value, -low, 1e-9); /* shows more light, so the film gets less */
        assert_true(error.value < 0);
    }
    cw_cell_swap swap = silver(0);
    cw_quantity error;
    cw_error err;
    assert_ok(cw_cell_swap_error(&swap, &error, &err), &err);
    assert_near(error.value, -log2(1.55 / 1.35) / 0.8, 1e-12); /* -0.249 EV, by hand */
    swap.gamma = (cw_quantity){0.8, 0.1};
    assert_ok(cw_cell_swap_error(&swap, &error, &err), &err);
    assert_near(error.u, 0.249 * 0.1 / 0.8, 0.002);
    swap.cell_v.value = 12;
    swap.fixed_share = 0.5;
    assert_fails(cw_cell_swap_error(&swap, &error, &err), CW_RANGE, &err, "off its scale");
    swap.cell_v.value = 0;
    assert_fails(cw_cell_swap_error(&swap, &error, &err), CW_RANGE, &err, "voltage of the cell 0 V");
}

/* blaukatz.com: a bridge reads the same with any cell of the right order. */
static void a_bridge_does_not_mind(void **state)
{
    (void)state;
    cw_cell_swap swap = silver(0.2);
    swap.circuit = CW_METER_BRIDGE;
    cw_quantity error;
    cw_error err;
    assert_ok(cw_cell_swap_error(&swap, &error, &err), &err);
    assert_covers(error, 0, 2, 0.1);
}

/* kT/q = 25.85 mV at 300 K; an ideal diode gains 59.5 mV a decade there (any semiconductor textbook, from memory). */
static void the_diode_law_has_its_textbook_slope(void **state)
{
    (void)state;
    double a = cw_diode_drop_v(1e-14, 1, 1e-5, 300), b = cw_diode_drop_v(1e-14, 1, 1e-4, 300);
    assert_near(b - a, 0.0595, 0.00005);
    assert_near((b - a) / log(10), 0.02585, 0.00001);
    double is = cw_diode_saturation_a(0.153, 30e-6, 1.05, 295);
    assert_near(cw_diode_drop_v(is, 1.05, 30e-6, 295), 0.153, 1e-12);
    /* 0.15 V at tens of microamperes (a forum post), 0.2 to 0.3 V at 0.1 to 1 mA (data-sheet order) */
    const cw_diode *schottky = cw_diode_find("schottky");
    assert_near(cw_diode_drop_v(schottky->saturation_a, schottky->ideality, 30e-6, 298), 0.15, 0.02);
    double tenth = cw_diode_drop_v(schottky->saturation_a, schottky->ideality, 0.1e-3, 298);
    double one = cw_diode_drop_v(schottky->saturation_a, schottky->ideality, 1e-3, 298);
    assert_true(tenth > 0.17 && one > 0.2 && one < 0.3);
    /* 0.20 V is what lies between silver oxide and mercury: 1.55 - 1.35 */
    assert_near(cw_cell_find("SR44")->voltage_v - cw_cell_find("MR9")->voltage_v, 0.20, 1e-9);
}

/* liquisearch.com: meter currents of 10 to 200 uA; the drop follows the current, so a diode is no exact regulator. */
static void a_diode_helps_but_drifts_with_the_light(void **state)
{
    (void)state;
    const cw_diode *d = cw_diode_find("schottky");
    cw_cell_swap swap = silver(0);
    cw_diode_point p[5];
    cw_error err;
    assert_ok(cw_diode_along(&swap, d->saturation_a, d->ideality, 298, 10e-6, 200e-6, 5, p, &err), &err);
    assert_near(p[0].current_a, 10e-6, 1e-12);
    assert_near(p[4].current_a, 200e-6, 1e-12);
    for (size_t i = 0; i < 5; i++) {
        assert_near(p[i].meter_v + p[i].drop_v, 1.55, 1e-12);
        assert_true(fabs(p[i].error_ev) < fabs(p[i].without_ev));
        if (i > 0)
            assert_true(p[i].drop_v > p[i - 1].drop_v && p[i].error_ev > p[i - 1].error_ev);
    }
    d = cw_diode_find("silicon");
    assert_ok(cw_diode_along(&swap, d->saturation_a, d->ideality, 298, 10e-6, 200e-6, 2, p, &err), &err);
    assert_true(p[0].error_ev > fabs(p[0].without_ev)); /* overdone */
    assert_fails(cw_diode_along(&swap, d->saturation_a, d->ideality, 298, 10e-6, 5e-6, 2, p, &err), CW_RANGE, &err,
                 "largest meter current");
    assert_fails(cw_diode_along(&swap, d->saturation_a, d->ideality, 298, 10e-6, 50e-6, 1, p, &err), CW_RANGE, &err,
                 "two at least");
}

/* blaukatz.com, "Mercury Buttons"; liquisearch.com, "Mercury battery substitutes". */
static void cells_have_their_published_voltages(void **state)
{
    (void)state;
    assert_near(cw_cell_find("MR9")->voltage_v, 1.35, 1e-12);
    assert_near(cw_cell_find("SR44")->voltage_v, 1.55, 1e-12);
    const cw_cell *air = cw_cell_find("PR44"), *alkaline = cw_cell_find("LR44");
    assert_covers(((cw_quantity){air->voltage_v, air->u_voltage_v}), 1.40, 2, 0.05);
    assert_covers(((cw_quantity){air->voltage_v, air->u_voltage_v}), 1.35, 2, 0.05);
    assert_covers(((cw_quantity){alkaline->voltage_v, alkaline->u_voltage_v}), 1.5, 2, 0.2);
    assert_null(cw_cell_find("potato"));
}

CHECK_MAIN(cmocka_unit_test(a_series_meter_agrees_with_its_circuit), cmocka_unit_test(a_bridge_does_not_mind),
           cmocka_unit_test(the_diode_law_has_its_textbook_slope),
           cmocka_unit_test(a_diode_helps_but_drifts_with_the_light),
           cmocka_unit_test(cells_have_their_published_voltages))
