/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The exposure room against figures from outside. What no page was found for says "from memory". */
#include <math.h>

#include "exposure/cell.h"
#include "exposure/flash.h"
#include "exposure/light.h"
#include "support/check.h"

/* The table of exposure values on every hand meter: EV = Av + Tv, Av 0 to 10 from f/1 to f/32, Tv 0 to 10 from 1 s to
 * 1/1000 (ASA PH2.5-1960; speedylook.com and de.zxc.wiki, "APEX"). Marks are rounded: f/11 by 0.08 EV, 1/15 by 0.09. */
static void marks_give_the_table_of_exposure_values(void **state)
{
    (void)state;
    static const double apertures[] = {1, 1.4, 2, 2.8, 4, 5.6, 8, 11, 16, 22, 32},
                        parts[] = {1, 2, 4, 8, 15, 30, 60, 125, 250, 500, 1000};
    for (int a = 0; a <= 10; a++)
        for (int t = 0; t <= 10; t++)
            assert_near(cw_ev_of_settings(apertures[a], 1 / parts[t]), a + t, 0.18);
}

/* ISO 2720: K 10.6 to 13.4 recommended (basiccamera.blogspot.com, "Exposure Meter Calibration"), C 240 to 400 for a
 * flat receptor (from memory). Both kinds of meter agree on a card of pi K/C = 15.7 % (from memory). */
static void constants_are_those_of_the_standard(void **state)
{
    (void)state;
    assert_true(CW_REFLECTED_K >= 10.6 && CW_REFLECTED_K <= 13.4);
    assert_true(CW_INCIDENT_C >= 240 && CW_INCIDENT_C <= 400);
    double falls = cw_illuminance_at_ev(11, CW_INCIDENT_C);
    assert_near(cw_ev_of_luminance(cw_luminance_of_card(falls, 0.157), CW_REFLECTED_K), 11, 0.001);
    /* the grey card of 18 % comes out a fifth of a stop lighter */
    assert_near(cw_ev_of_luminance(cw_luminance_of_card(falls, 0.18), CW_REFLECTED_K), 11.2, 0.01);
    /* full sun: about 100 000 lx, EV 15 (from memory) */
    assert_near(cw_ev_of_illuminance(1e5, CW_INCIDENT_C), 15, 0.5);
}

/* ISO 5800, as on boxes of film: 25/15 to 3200/36, from memory. */
static void film_speeds_have_the_degrees_of_their_boxes(void **state)
{
    (void)state;
    static const double rows[][2] = {{25, 15},  {32, 16},  {50, 18},  {64, 19},  {80, 20},   {100, 21}, {125, 22},
                                     {160, 23}, {200, 24}, {400, 27}, {800, 30}, {1600, 33}, {3200, 36}};
    for (size_t i = 0; i < CW_COUNT(rows); i++) {
        assert_near(cw_film_degrees(rows[i][0]), rows[i][1], 0.07);
        assert_near(cw_film_speed_mark(rows[i][0]), rows[i][0], 0);
    }
}

/* IEC 60086: what a cell's letter says of its voltage, the largest size, and capacities of data sheets, mAh; from
 * memory but for the voltages of mercury and silver (blaukatz.com, "Mercury Buttons"). */
static void cells_are_those_of_the_lists(void **state)
{
    (void)state;
    static const struct {
        const char *key;
        double fresh_v, diameter_mm, height_mm, capacity_least, capacity_most;
    } rows[] = {{"MR9", 1.35, 16.0, 6.2, 350, 450},  {"MR52", 1.35, 16.4, 11.4, 450, 550},
                {"MR44", 1.35, 11.6, 5.4, 180, 230}, {"SR44", 1.55, 11.6, 5.4, 150, 200},
                {"LR44", 1.5, 11.6, 5.4, 105, 150},  {"PR44", 1.4, 11.6, 5.4, 580, 650},
                {"LR9", 1.5, 16.0, 6.2, 175, 200},   {"CR-1/3N", 3.0, 11.6, 10.8, 140, 170}};
    size_t count;
    cw_cells(&count);
    assert_int_equal(count, CW_COUNT(rows)); /* none that is not held here */
    for (size_t i = 0; i < CW_COUNT(rows); i++) {
        const cw_cell *cell = cw_cell_find(rows[i].key);
        assert_non_null(cell);
        assert_covers(((cw_quantity){cell->voltage_v, cell->u_voltage_v}), rows[i].fresh_v, 2, 0.2);
        assert_true(cell->diameter_m * 1e3 <= rows[i].diameter_mm + 0.001 &&
                    cell->diameter_m * 1e3 > rows[i].diameter_mm - 0.6);
        assert_true(cell->height_m * 1e3 <= rows[i].height_mm + 0.001 &&
                    cell->height_m * 1e3 > rows[i].height_mm - 0.4);
        assert_true(cell->capacity_c / 3.6 >= rows[i].capacity_least - 0.001 &&
                    cell->capacity_c / 3.6 <= rows[i].capacity_most + 0.001);
        assert_true(cell->end_v < cell->voltage_v);
    }
}

/* Forward drops as data sheets of small diodes print them, from memory: silicon 0.62 to 0.72 V at 5 mA, a Schottky up
 * to 0.24 V at 0.1 mA and 0.32 V at 1 mA, germanium 0.2 to 0.3 V at 1 mA. Silicon at 10 uA, where a meter works: 0.35
 * to 0.45 V. */
static void diodes_drop_what_data_sheets_print(void **state)
{
    (void)state;
    static const struct {
        const char *key;
        double current_a, least_v, most_v;
    } rows[] = {{"silicon", 5e-3, 0.62, 0.72},  {"silicon", 10e-6, 0.35, 0.45},  {"schottky", 0.1e-3, 0.14, 0.24},
                {"schottky", 1e-3, 0.20, 0.32}, {"germanium", 1e-3, 0.20, 0.30}, {"germanium", 50e-6, 0.08, 0.2}};
    for (size_t i = 0; i < CW_COUNT(rows); i++) {
        const cw_diode *d = cw_diode_find(rows[i].key);
        assert_non_null(d);
        double drop = cw_diode_drop_v(d->saturation_a, d->ideality, rows[i].current_a, 298.15);
        if (!(drop >= rows[i].least_v && drop <= rows[i].most_v))
            fail_msg("%s drops %g V at %g A", rows[i].key, drop, rows[i].current_a);
    }
}

/* Bulbs reach their peak after 5 ms (F), 13 (MF), 20 (M) and 30 ms (S), from memory; M synchronisation closes its
 * contact so much before the blades are open. */
static void bulbs_peak_when_their_class_says(void **state)
{
    (void)state;
    static const struct {
        const char *key;
        double peak_ms;
    } rows[] = {{"class-f", 5}, {"class-mf", 13}, {"class-m", 20}, {"class-s", 30}};
    for (size_t i = 0; i < CW_COUNT(rows); i++) {
        const cw_flash_source *bulb = cw_flash_source_find(rows[i].key);
        assert_non_null(bulb);
        assert_near(bulb->peak_s * 1e3, rows[i].peak_ms, 1);
        assert_true(bulb->start_s < bulb->peak_s && bulb->peak_s < bulb->end_s);
    }
}

CHECK_MAIN(cmocka_unit_test(marks_give_the_table_of_exposure_values),
           cmocka_unit_test(constants_are_those_of_the_standard),
           cmocka_unit_test(film_speeds_have_the_degrees_of_their_boxes),
           cmocka_unit_test(cells_are_those_of_the_lists), cmocka_unit_test(diodes_drop_what_data_sheets_print),
           cmocka_unit_test(bulbs_peak_when_their_class_says))
