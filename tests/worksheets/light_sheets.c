/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The sheets of light and power, against figures worked by hand from published ones. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "support/check.h"
#include "worksheets/worksheet.h"

static cw_status run(const char *name, const char *const *pairs, json_t **json, cw_error *err)
{
    const cw_worksheet *sheet = cw_worksheet_find(name);
    assert_non_null(sheet);
    cw_sheet_in *in;
    cw_sheet_out *out;
    CW_TRY(cw_sheet_in_from_pairs(sheet, pairs, &in, err));
    cw_status status = cw_sheet_run(sheet, in, &out, err);
    if (status == CW_OK) {
        *json = cw_sheet_json(sheet, in, out);
        cw_sheet_out_free(out);
    }
    cw_sheet_in_free(in);
    return status;
}

static cw_quantity quantity(const json_t *json, const char *key)
{
    const json_t *output = json_object_get(json_object_get(json, "outputs"), key);
    const json_t *number = json_object_get(output, "value"), *u = json_object_get(output, "u");
    if (!json_is_number(number))
        fail_msg("no number \"%s\"", key);
    return (cw_quantity){json_number_value(number), json_is_number(u) ? json_number_value(u) : NAN};
}

#define PAIRS(...) ((const char *const[]){__VA_ARGS__, NULL})

/* ISO 2720, K 12.5: 4 cd/m2 is EV 5, 128 is EV 10, 4096 is EV 15. A meter that shows a stop less everywhere. */
static void a_meter_against_known_luminances(void **state)
{
    (void)state;
    json_t *json;
    cw_error err;
    assert_ok(run("meter-check", PAIRS("reference", "luminance", "levels", "4,4;128,9;4096,14"), &json, &err), &err);
    assert_near(quantity(json, "offset").value, 1, 1e-9);
    assert_covers(quantity(json, "slope"), 1, 2, 0.1);
    json_decref(json);
    assert_fails(run("meter-check", PAIRS("reference", "luminance", "levels", "0,4"), &json, &err), CW_RANGE, &err,
                 "light level 1");
}

/* 806 lm all round is 64.14 cd; at 1.5 m 28.5 lx (E = I/d^2); EV = log2(28.5 / 2.5) = 3.51 (ISO 2720, C 250). */
static void a_lamp_of_known_flux(void **state)
{
    (void)state;
    json_t *json;
    cw_error err;
    assert_ok(run("reference-light", PAIRS("flux", "806", "distance", "1.5m"), &json, &err), &err);
    assert_near(quantity(json, "illuminance").value, 28.506, 0.001);
    assert_near(quantity(json, "incident").value, 3.511, 0.001);
    assert_near(quantity(json, "incident").u, 0.15 / log(2), 0.01); /* 15 % of the lamp */
    json_decref(json);
    /* sunny 16 (common practice, no source): f/16, 1/100, ISO 100 is EV 14.64 */
    assert_ok(run("reference-light", PAIRS("kind", "camera", "aperture", "16", "time", "1/100", "film-speed", "100"),
                  &json, &err),
              &err);
    assert_near(quantity(json, "reflected").value, log2(25600), 1e-9);
    json_decref(json);
    assert_fails(run("reference-light", PAIRS("flux", "806"), &json, &err), CW_INPUT, &err, "flux and distance");
}

/* Silver oxide 1.55 V for 1.35 V (blaukatz.com; liquisearch.com): 0.20 V to drop; series, gamma 0.8, no fixed
 * resistance: log2(1.55/1.35)/0.8 = 0.249 EV less light on the film. */
static void silver_oxide_in_a_mercury_meter(void **state)
{
    (void)state;
    json_t *json;
    cw_error err;
    assert_ok(run("cell-substitute", PAIRS("fixed", "0"), &json, &err), &err);
    assert_near(quantity(json, "error").value, -0.249, 0.0005);
    assert_near(quantity(json, "to-drop").value, 0.20, 1e-9);
    json_decref(json);
    assert_ok(run("cell-substitute", PAIRS("circuit", "bridge"), &json, &err), &err);
    assert_near(quantity(json, "error").value, 0, 1e-12);
    json_decref(json);
    /* a diode measured at exactly 0.20 V leaves nothing at that current */
    assert_ok(run("cell-substitute",
                  PAIRS("fixed", "0", "diode", "measured", "drop", "0.2", "drop-current", "50 uA", "current-least",
                        "50 uA", "current-most", "50 uA"),
                  &json, &err),
              &err);
    const json_t *row = json_array_get(json_object_get(json_object_get(json, "outputs"), "diode-table"), 0);
    assert_non_null(row);
    assert_near(json_number_value(json_object_get(json_object_get(row, "error"), "value")), 0, 1e-9);
    json_decref(json);
    assert_fails(run("cell-substitute", PAIRS("diode", "measured"), &json, &err), CW_INPUT, &err,
                 "its drop and the current");
}

static void flash_capacitor_and_times(void **state)
{
    (void)state;
    json_t *json;
    cw_error err;
    /* arithmetic of the safety table: 5.1 J, 0.48 s, 51 W */
    assert_ok(run("capacitor-bleed", PAIRS("capacitance", "100uF", "voltage", "320V"), &json, &err), &err);
    assert_near(quantity(json, "energy").value, 5.1, 0.05);
    assert_near(quantity(json, "time").value, 0.48, 0.01);
    assert_near(quantity(json, "first-power").value, 51, 0.5);
    json_decref(json);
    assert_ok(run("flash-contact", PAIRS("contact", "2.6ms", "open", "2.1ms", "close", "6.3ms"), &json, &err), &err);
    assert_near(quantity(json, "late").value, 2.2e-3, 1e-9);
    json_decref(json);
    assert_fails(run("flash-contact", PAIRS("contact", "2.6ms", "open", "2.1ms", "close", "2.0ms"), &json, &err),
                 CW_RANGE, &err, "slower speed");
    /* NIST StRD NumAcc1 in small: mean 10000001, 10000003, 10000002 has sd 1; here 9.1, 9.3, 9.2 -> mean 9.2, sd 0.1 */
    assert_ok(run("lag-times", PAIRS("times", "9.1;9.3;9.2"), &json, &err), &err);
    assert_near(quantity(json, "mean").value, 9.2, 1e-9);
    assert_near(quantity(json, "spread").value, 0.1, 1e-9);
    /* Student t for 2 degrees of freedom, 95.45 %: 4.53 (JCGM 100 table G.2); half of it times 0.1/sqrt(3) */
    assert_near(quantity(json, "mean").u, 4.53 / 2 * 0.1 / sqrt(3), 0.001);
    json_decref(json);
    assert_ok(run("speed-dial", PAIRS("film-speed", "100", "error", "1 EV"), &json, &err), &err);
    assert_near(quantity(json, "dial").value, 200, 1e-9);
    json_decref(json);
}

static void a_roll_is_planned(void **state)
{
    (void)state;
    json_t *json;
    cw_error err;
    assert_ok(run("film-test-plan", PAIRS("frames", "24"), &json, &err), &err);
    size_t rows = json_array_size(json_object_get(json_object_get(json, "outputs"), "plan"));
    size_t left =
        (size_t)strtoul(json_string_value(json_object_get(json_object_get(json, "outputs"), "free")), NULL, 10);
    assert_int_equal(rows + left, 24);
    assert_true(rows >= 10);
    json_decref(json);
    assert_fails(
        run("film-test-plan", PAIRS("speeds", "no", "focus", "no", "optics", "no", "seals", "no"), &json, &err),
        CW_RANGE, &err, "nothing is marked");
    assert_fails(run("film-test-plan", PAIRS("wide", "8", "small", "4"), &json, &err), CW_RANGE, &err,
                 "smallest aperture 4");
}

CHECK_MAIN(cmocka_unit_test(a_meter_against_known_luminances), cmocka_unit_test(a_lamp_of_known_flux),
           cmocka_unit_test(silver_oxide_in_a_mercury_meter), cmocka_unit_test(flash_capacitor_and_times),
           cmocka_unit_test(a_roll_is_planned))
