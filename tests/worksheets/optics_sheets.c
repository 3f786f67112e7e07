/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The focus and lens sheets from typed values to answers: units, signs and words arrive right. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "support/check.h"
#include "worksheets/worksheet.h"

static cw_status run_pairs(const char *name, const char *const *pairs, cw_sheet_out **out, cw_sheet_in **in,
                           cw_error *err)
{
    const cw_worksheet *sheet = cw_worksheet_find(name);
    assert_non_null(sheet);
    CW_TRY(cw_sheet_in_from_pairs(sheet, pairs, in, err));
    cw_status status = cw_sheet_run(sheet, *in, out, err);
    if (status != CW_OK)
        cw_sheet_in_free(*in);
    return status;
}

static json_t *answer(const char *name, const char *const *pairs)
{
    cw_sheet_in *in;
    cw_sheet_out *out;
    cw_error err;
    assert_ok(run_pairs(name, pairs, &out, &in, &err), &err);
    json_t *json = cw_sheet_json(cw_worksheet_find(name), in, out);
    assert_non_null(json);
    cw_sheet_out_free(out);
    cw_sheet_in_free(in);
    return json;
}

static double number(const json_t *json, const char *key, const char *part)
{
    const json_t *value = json_object_get(json_object_get(json_object_get(json, "outputs"), key), part);
    if (!json_is_number(value))
        fail_msg("no number %s of \"%s\"", part, key);
    return json_number_value(value);
}

static void assert_refused(const char *name, const char *const *pairs, const char *words)
{
    cw_sheet_in *in;
    cw_sheet_out *out;
    cw_error err = {0};
    cw_status status = run_pairs(name, pairs, &out, &in, &err);
    if (status == CW_OK)
        fail_msg("%s accepted it", name);
    assert_contains(err.text, words);
    assert_int_equal(cw_exit_status(status), 2);
}

#define PAIRS(...) ((const char *const[]){__VA_ARGS__, NULL})

/* US Army lesson SS0507 (armycommunications.tpub.com): 2 in, f/8, 0.002 in: 20.8 ft; typed in inches. */
static void hyperfocal_in_inches(void **state)
{
    (void)state;
    json_t *json = answer("depth-of-field",
                          PAIRS("focal-length", "2 in", "aperture", "8", "circle", "0.002 in", "distance", "20 ft"));
    assert_near(number(json, "hyperfocal-short", "value") / 0.3048, 20.83, 0.01);
    json_decref(json);
}

/* Focused at its 3 m mark the lens was sharp at 3.25 m: it sits too near, and a shim goes in. By hand, from the film:
 * v(3) = 50.8779, v(3.25) = 50.8077. */
static void a_lens_that_focuses_beyond_wants_a_shim(void **state)
{
    (void)state;
    json_t *json = answer("focus-error", PAIRS("focal-length", "50", "aperture", "2", "marked", "3", "true", "3.25"));
    assert_near(number(json, "error", "value"), 0.0702e-3, 0.003e-3);
    assert_near(number(json, "allowed", "value"), 0.06e-3, 1e-9);
    json_decref(json);
    json = answer("focus-error", PAIRS("focal-length", "50", "aperture", "2", "true", "20"));
    assert_true(number(json, "error", "value") < -0.1e-3); /* at infinity's mark sharp at 20 m: take away */
    json_decref(json);
    assert_refused("focus-error", PAIRS("focal-length", "50", "aperture", "2", "marked", "3 s"), "length");
    assert_refused("focus-error", PAIRS("focal-length", "50", "aperture", "2", "marked", "0.1"), "four focal lengths");
}

/* 2 mm of glass, ground side away: the plane shown is t/n = 1.316 mm behind. */
static void the_wrong_side_of_a_ground_glass(void **state)
{
    (void)state;
    json_t *json =
        answer("ground-glass", PAIRS("aperture", "2", "thickness", "2 mm", "ground-side", "away", "index", "1.52"));
    assert_near(number(json, "shift", "value"), 2e-3 / 1.52, 1e-9);
    /* a right register seems 1.316 mm too long over this glass, an error of -1.316: adding the shift gives the true 0
     */
    assert_contains(json_string_value(json_array_get(json_object_get(json, "notes"), 0)), "add 1.316 mm");
    json_decref(json);
    json = answer("ground-glass", PAIRS("aperture", "2", "thickness", "2 mm"));
    assert_near(number(json, "shift", "value"), 0, 0);
    json_decref(json);
    assert_refused("ground-glass", PAIRS("aperture", "2", "thickness", "2 mm", "rests-on", "outer-rails"), "\"step\"");
}

/* Readings made with 0.04 dioptres and a gain of 0.97. */
static void a_rangefinder_is_taken_apart_into_its_two_errors(void **state)
{
    (void)state;
    json_t *json = answer("rangefinder", PAIRS("focal-length", "50 mm", "aperture", "2", "pairs",
                                               "0,25;2,1.9048;1,0.990099", "u-reading", "0.002"));
    assert_near(number(json, "alpha", "value"), 0.04, 1e-4);
    assert_near(number(json, "beta", "value"), 0.97, 1e-4);
    assert_near(number(json, "film-error", "value"), 0.04 * 2.5e-3, 1e-6);
    json_decref(json);
    assert_refused("rangefinder", PAIRS("focal-length", "50 mm", "aperture", "2", "pairs", "2,2;2,2.1;2,1.9"),
                   "one far and one near");
    assert_refused("rangefinder", PAIRS("focal-length", "50 mm", "aperture", "2", "pairs", "2,0.04;1,1;0,0"),
                   "inside the focal");
}

static void a_helicoid_on_the_wrong_start(void **state)
{
    (void)state;
    json_t *json =
        answer("helicoid", PAIRS("lead", "30 mm", "starts", "6", "sharp-at", "0.3 m", "focal-length", "50 mm"));
    assert_near(number(json, "starts-off", "value"), 2, 0); /* v(0.3 m) - f = 10 mm, two pitches of 5 */
    json_decref(json);
    assert_refused("helicoid", PAIRS("lead", "30 mm", "starts", "6"), "one of the two");
    assert_refused("helicoid", PAIRS("lead", "30 mm", "starts", "2.5", "error", "1 mm"), "whole");
}

static void registers_and_collimators(void **state)
{
    (void)state;
    json_t *json = answer("mount-register", PAIRS("mount", "m42", "measured", "45.49 mm"));
    assert_near(number(json, "error", "value"), 0.03e-3, 1e-9);
    json_decref(json);
    /* 0.1 mm off in a 135 mm collimator: (50/135)^2 of it on the film */
    json = answer("collimator",
                  PAIRS("focal-length", "50", "aperture", "2", "collimator-focal-length", "135", "setting", "0.1"));
    assert_near(number(json, "error", "value"), 1e-4 * (50.0 / 135) * (50.0 / 135), 1e-12);
    json_decref(json);
    json = answer("collimator", PAIRS("focal-length", "50", "aperture", "2", "method", "auto", "seen", "0.06"));
    assert_near(number(json, "error", "value"), 0.03e-3, 1e-12);
    json_decref(json);
    assert_refused("collimator", PAIRS("focal-length", "50", "aperture", "2"), "collimator's focal length");
}

/* The published triplet of tests/data/lenses/triplet-f5.puzzle.json, typed into the form: its answer first. */
static void loose_elements_typed_into_the_form(void **state)
{
    (void)state;
    json_t *json = answer("element-order", cw_worksheet_find("element-order")->example);
    const json_t *rows = json_object_get(json_object_get(json, "outputs"), "answer");
    char *text = json_dumps(rows, 0);
    const char *truth = strstr(text, "A (turned) - s2 - C (turned) - s1 - B");
    const char *rival = strstr(text, "A (turned) - s2 - C - s1 - B");
    assert_non_null(truth);
    assert_non_null(rival);
    assert_true(truth < rival);
    free(text);
    json_decref(json);
    assert_refused(
        "element-order",
        PAIRS("groups", "A,40,-40,3,1.6,20;B,-40,40,3,1.6,20", "spacers", "s,1,19;t,2,19", "focal-length", "50"),
        "2 spacers for 2 pieces");
    assert_refused("element-order",
                   PAIRS("groups", "A,40,-40,3,,20;B,-40,40,3,1.6,20", "spacers", "s,1,19", "focal-length", "50"),
                   "neither an index nor a focal length");
    assert_refused("lens-section", PAIRS("surfaces", "20,3,1.5;20,0,1", "aperture", "0.5"), "misses the glass");
    assert_refused("glass-index", PAIRS("front-radius", "50", "thickness", "3", "focal-length", "-90"),
                   "no glass between");
}

CHECK_MAIN(cmocka_unit_test(hyperfocal_in_inches), cmocka_unit_test(a_lens_that_focuses_beyond_wants_a_shim),
           cmocka_unit_test(the_wrong_side_of_a_ground_glass),
           cmocka_unit_test(a_rangefinder_is_taken_apart_into_its_two_errors),
           cmocka_unit_test(a_helicoid_on_the_wrong_start), cmocka_unit_test(registers_and_collimators),
           cmocka_unit_test(loose_elements_typed_into_the_form))
