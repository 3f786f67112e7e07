/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Bad puzzles, each beside the words its refusal must hold. */
#include "optics/order.h"

#include "optics/support.h"

#define KNOWN "\"known\":{\"focal_length_mm\":50,\"back_focus_mm\":42,\"f_number\":5}"
#define A "{\"label\":\"A\",\"radii_mm\":[22,-430],\"thickness_mm\":[3.2],\"n_d\":[1.62],\"diameter_mm\":11}"
#define B "{\"label\":\"B\",\"radii_mm\":[-22,20],\"thickness_mm\":[1],\"n_d\":[1.62],\"diameter_mm\":11}"
#define S1 "{\"label\":\"s1\",\"length_mm\":5,\"contact_diameter_mm\":10}"
#define S2 "{\"label\":\"s2\",\"length_mm\":4,\"contact_diameter_mm\":10}"
#define PUZZLE(known, groups, spacers, more)                                                                           \
    "{\"form\":\"camerawright.puzzle/1\"," known ",\"groups\":[" groups "],\"spacers\":[" spacers "]" more "}"

static cw_status answer(const char *text, cw_error *err)
{
    cw_puzzle puzzle;
    cw_order *order;
    cw_order_prior prior = cw_order_prior_default();
    CW_TRY(cw_puzzle_from_json(text, strlen(text), &puzzle, err));
    CW_TRY(cw_order_rank(&puzzle, &prior, false, &order, err));
    cw_order_free(order);
    return CW_OK;
}

static void bad_puzzles_are_refused_in_words(void **state)
{
    (void)state;
    static const struct {
        const char *text, *words;
    } cases[] = {
        {"{", "not JSON"},
        {"{\"form\":\"camerawright.lens/1\"}", "expected \"camerawright.puzzle/1\""},
        {PUZZLE("\"known\":{}", A "," B, S1, ""), "holds neither"},
        {PUZZLE("\"known\":{\"focal_length_mm\":0}", A "," B, S1, ""), "\"focal_length_mm\" is 0"},
        {PUZZLE("\"known\":{\"focal_length_mm\":50,\"u_focal_length_mm\":-1}", A "," B, S1, ""), "zero or above"},
        {PUZZLE(KNOWN, A "," B, S1 "," S2, ""), "2 spacers for 2 groups"},
        {PUZZLE(KNOWN, A "," B, "", ""), "0 spacers for 2 groups"},
        {PUZZLE(KNOWN, A, S1, ""), "expected 2 to 7"},
        {PUZZLE(KNOWN, A "," A, S1, ""), "both called \"A\""},
        {PUZZLE(KNOWN, A "," B, S1, ",\"units\":\"inch\""), "mm throughout"},
        {PUZZLE(KNOWN, A "," B, S1, ",\"stop\":{\"in_spacer\":\"s9\"}"), "none of the spacers"},
        {PUZZLE(KNOWN, A "," B, S1, ",\"uncertainty\":{\"radius_relative\":2}"), "up to 0.2"},
        {PUZZLE(KNOWN, A "," B, S1, ",\"barrel\":[null]"), "\"barrel\" holds 1"},
        {PUZZLE(KNOWN, A ",{\"label\":\"B\",\"radii_mm\":[-22],\"thickness_mm\":[1],\"n_d\":[1.62]}", S1, ""),
         "\"radii_mm\" holds 1"},
        {PUZZLE(KNOWN, A ",{\"label\":\"B\",\"radii_mm\":[-22,20],\"thickness_mm\":[1]}", S1, ""),
         "measure the piece's focal"},
        {PUZZLE(KNOWN, A ",{\"label\":\"B\",\"radii_mm\":[-22,20],\"thickness_mm\":[1],\"n_d\":[16.2]}", S1, ""),
         "index 16.2"},
        {PUZZLE(KNOWN,
                A ",{\"label\":\"B\",\"radii_mm\":[-2.2,20],\"thickness_mm\":[1],\"n_d\":[1.62],\"diameter_mm\":11}",
                S1, ""),
         "cannot reach a diameter of 11 mm"},
        {PUZZLE(KNOWN,
                A ",{\"label\":\"B\",\"radii_mm\":[12,-12],\"thickness_mm\":[1],\"n_d\":[1.62],\"diameter_mm\":20}", S1,
                ""),
         "its faces cross"},
        {PUZZLE(KNOWN, A ",{\"label\":\"B\",\"radii_mm\":[-22,20],\"thickness_mm\":[-1],\"n_d\":[1.62]}", S1, ""),
         "group B: thickness -1 mm"},
        {PUZZLE(
             KNOWN,
             A
             ",{\"label\":\"B\",\"radii_mm\":[-22,20],\"thickness_mm\":[1],\"n_d\":[1.62],\"fixed\":{\"position\":3}}",
             S1, ""),
         "from 1 (front) to 2"},
        {PUZZLE(KNOWN, A "," B, "{\"label\":\"s1\",\"length_mm\":5,\"contact_diameter_mm\":16}", ""),
         "no arrangement can be put"},
        {PUZZLE(KNOWN, A "," B, "{\"label\":\"s1\",\"length_mm\":\"5 mm\",\"contact_diameter_mm\":10}", ""),
         "without quotes or unit"},
        {PUZZLE("\"known\":{\"focal_length_mm\":0.05}", A "," B, S1, ""), "unit or a sign"},
    };
    for (size_t i = 0; i < CW_COUNT(cases); i++) {
        cw_error err = {0};
        cw_status status = answer(cases[i].text, &err);
        if (status == CW_OK)
            fail_msg("accepted: %s", cases[i].text);
        if (strstr(err.text, cases[i].words) == NULL)
            fail_msg("%s\n gives: %s\n without: %s", cases[i].text, err.text, cases[i].words);
        assert_int_equal(cw_exit_status(status), 2);
    }
}

/* A positive and a negative element with a ring: the least puzzle, without diameters, f-number, labels on rings. */
static void little_is_enough(void **state)
{
    (void)state;
    const char *text = PUZZLE("\"known\":{\"back_focus_mm\":58.3}",
                              "{\"label\":\"A\",\"radii_mm\":[31,-48],\"thickness_mm\":[5],\"n_d\":[1.517]},"
                              "{\"label\":\"B\",\"radii_mm\":[-46,null],\"thickness_mm\":[2],\"n_d\":[1.62]}",
                              "{\"length_mm\":1.5,\"contact_diameter_mm\":20}", "");
    cw_puzzle puzzle;
    cw_order *order;
    cw_order_prior prior = cw_order_prior_default();
    cw_error err;
    assert_ok(cw_puzzle_from_json(text, strlen(text), &puzzle, &err), &err);
    assert_ok(cw_order_rank(&puzzle, &prior, false, &order, &err), &err);
    json_t *json = cw_order_json(&puzzle, order);
    char *dumped = json_dumps(json, 0);
    assert_non_null(dumped); /* jansson refuses NaN: every number is finite or null */
    assert_true(order->count >= 1 && order->count <= 8);
    assert_contains(dumped, "\"s1\"");
    free(dumped);
    json_decref(json);
    cw_order_free(order);
}

CHECK_MAIN(cmocka_unit_test(bad_puzzles_are_refused_in_words), cmocka_unit_test(little_is_enough))
