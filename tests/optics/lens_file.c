/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Bad lens files, each beside the words its refusal must hold; and what is forgiven. */
#include "optics/lens_report.h"

#include "optics/support.h"

static cw_status read_text(const char *text, cw_lens *lens, cw_error *err)
{
    return cw_lens_from_json(text, strlen(text), lens, err);
}

static cw_status report_text(const char *text, cw_error *err)
{
    cw_lens lens;
    cw_lens_report report;
    CW_TRY(read_text(text, &lens, err));
    return cw_lens_report_of(&lens, &report, err);
}

#define LENS(surfaces) "{\"form\":\"camerawright.lens/1\",\"units\":\"mm\",\"f_number\":4,\"surfaces\":[" surfaces "]}"
#define SURFACE(r, t, n) "{\"radius_mm\":" r ",\"thickness_mm\":" t ",\"n_d\":" n "}"

static void bad_files_are_refused_in_words(void **state)
{
    (void)state;
    static const struct {
        const char *text, *words;
    } cases[] = {
        {"", "not JSON"},
        {"radius 22", "line 1"},
        {"[1,2]", "one JSON object"},
        {"{\"surfaces\":[]}", "\"form\""},
        {"{\"form\":\"camerawright.puzzle/1\"}", "expected \"camerawright.lens/1\""},
        {"{\"form\":\"camerawright.lens/1\"}", "\"surfaces\" is missing"},
        {"{\"form\":\"camerawright.lens/1\",\"surfaces\":[]}", "0 surfaces"},
        {"{\"form\":\"camerawright.lens/1\",\"units\":\"in\",\"surfaces\":[]}", "\"units\" is \"in\""},
        {LENS("{\"thickness_mm\":1,\"n_d\":1.5}"), "surface 1: \"radius_mm\" is missing"},
        {LENS(SURFACE("0", "1", "1.5")), "a plane is written null"},
        {LENS(SURFACE("\"22mm\"", "1", "1.5")), "without quotes or unit"},
        {LENS("{\"radius_mm\":20,\"thickness_mm\":1}"), "\"n_d\" is missing"},
        {LENS("{\"radius_mm\":20,\"n_d\":1.5}," SURFACE("null", "9", "1")), "\"thickness_mm\" is missing"},
        {LENS(SURFACE("20", "3", "0.5") "," SURFACE("-20", "9", "1")), "index 0.5"},
        {LENS(SURFACE("20", "-3", "1.5") "," SURFACE("-20", "9", "1")), "surfaces 1 and 2 overlap"},
        {LENS("{\"radius_mm\":20,\"thickness_mm\":3,\"n_d\":1.5,\"semi_diameter_mm\":24}," SURFACE("-20", "9", "1")),
         "cannot reach a clear diameter of 48 mm"},
        {LENS("{\"radius_mm\":20,\"thickness_mm\":1,\"n_d\":1.5,\"semi_diameter_mm\":12},"
              "{\"radius_mm\":-20,\"thickness_mm\":9,\"n_d\":1,\"semi_diameter_mm\":12}"),
         "run 7.00 mm into each other"},
        {LENS("{\"radius_mm\":20,\"thickness_mm\":1,\"n_d\":1.5,\"stop\":true},"
              "{\"radius_mm\":-20,\"thickness_mm\":9,\"n_d\":1,\"stop\":true}"),
         "both marked as the stop"},
        {LENS("{\"radius_mm\":20,\"thickness_mm\":1,\"n_d\":1.5,\"stop\":\"yes\"}"), "true or false"},
        {LENS("{\"radius_mm\":20,\"thickness_mm\":1,\"n_d\":1.5,\"coefficients\":[1e-5]}"), "only spheres and conics"},
        {LENS("{\"radius_mm\":20,\"thickness_mm\":1,\"n_d\":1.5,\"v_d\":-3}"), "above zero"},
        {LENS(SURFACE("20", "3", "1.5") "," SURFACE("20", "9", "1")), "height 25 mm misses the glass"},
        {LENS(SURFACE("null", "3", "1.5") "," SURFACE("null", "9", "1")), "has no focal length"},
        {"{\"form\":\"camerawright.lens/1\",\"surfaces\":[" SURFACE("50", "3", "1.5") "," SURFACE("null", "9",
                                                                                                  "1") "]}",
         "how wide the beam is"},
        /* metres typed where millimetres are meant: the beam of f/4 is far wider than the glass is round */
        {"{\"form\":\"camerawright.lens/1\",\"epd_mm\":12,\"surfaces\":[" SURFACE("0.022", "0.003", "1.62") "," SURFACE(
             "-0.4", "0.04", "1") "]}",
         "misses the glass at surface 1"},
        /* a strong meniscus turned so that the rim ray meets glass-air too steeply */
        {"{\"form\":\"camerawright.lens/1\",\"epd_mm\":19,\"surfaces\":[" SURFACE("null", "12", "1.7") "," SURFACE(
             "-10", "20", "1") "]}",
         "totally reflected inside at surface 2"},
        {"{\"form\":\"camerawright.lens/1\",\"f_number\":0,\"surfaces\":[" SURFACE("50", "3", "1.5") "]}",
         "f-number 0"},
        {"{\"form\":\"camerawright.lens/1\",\"f_number\":4,\"f_number\":5,\"surfaces\":[]}", "duplicate"},
    };
    for (size_t i = 0; i < CW_COUNT(cases); i++) {
        cw_error err = {0};
        cw_status status = report_text(cases[i].text, &err);
        if (status == CW_OK)
            fail_msg("accepted: %s", cases[i].text);
        if (strstr(err.text, cases[i].words) == NULL)
            fail_msg("%s\n gives: %s\n without: %s", cases[i].text, err.text, cases[i].words);
        assert_int_equal(cw_exit_status(status), 2);
    }
}

static void a_huge_list_is_refused(void **state)
{
    (void)state;
    enum { MANY = 40000 };
    cw_buf text = cw_buf_new(8u << 20);
    cw_buf_text(&text, "{\"form\":\"camerawright.lens/1\",\"surfaces\":[");
    for (int i = 0; i < MANY; i++)
        cw_buf_printf(&text, "%s" SURFACE("20", "1", "1.5"), i > 0 ? "," : "");
    cw_buf_text(&text, "]}");
    cw_lens lens;
    cw_error err;
    assert_fails(read_text(cw_buf_string(&text), &lens, &err), CW_INPUT, &err, "40000 surfaces; 1 to 64");
    while (text.length < 5u << 20)
        cw_buf_text(&text, "                                                                ");
    assert_fails(read_text(cw_buf_string(&text), &lens, &err), CW_RANGE, &err, "at most");
    cw_buf_free(&text);
}

/* V = (n_d - 1)/(n_F - n_C) exactly, and n_d is passed through. */
static void glass_by_v_number_keeps_its_definition(void **state)
{
    (void)state;
    double n[CW_LINE_COUNT];
    cw_glass_from_v(1.5168, 64.17, n);
    assert_near(n[CW_LINE_D], 1.5168, 0);
    assert_near((n[CW_LINE_D] - 1) / (n[CW_LINE_F] - n[CW_LINE_C]), 64.17, 1e-9);
    assert_near(cw_glass_v(n), 64.17, 1e-9);
    /* a maker's data sheet, from memory: n_F 1.52238, n_C 1.51432; a two-term form is good to 1e-4 there */
    assert_near(n[CW_LINE_F], 1.52238, 1e-4);
    assert_near(n[CW_LINE_C], 1.51432, 1e-4);
}

static void a_missing_last_thickness_puts_the_image_at_the_focus(void **state)
{
    (void)state;
    const char *text = "{\"form\":\"camerawright.lens/1\",\"f_number\":5.6,\"surfaces\":[" SURFACE(
        "31", "2.5", "1.523") ","
                              "{\"radius_mm\":-48,\"n_d\":1}]}";
    cw_lens lens;
    cw_lens_report r;
    cw_error err;
    assert_ok(read_text(text, &lens, &err), &err);
    assert_ok(cw_lens_report_of(&lens, &r, &err), &err);
    assert_near(r.image_mm, r.cardinal.bfl_mm, 0);
    assert_int_equal(r.ray_count, 5);
    assert_near(r.ray[4].height_mm, r.cardinal.efl_mm / 5.6 / 2, 1e-12);
    assert_true(r.warning_count > 0); /* the stop's place is not given */
}

CHECK_MAIN(cmocka_unit_test(bad_files_are_refused_in_words), cmocka_unit_test(a_huge_list_is_refused),
           cmocka_unit_test(glass_by_v_number_keeps_its_definition),
           cmocka_unit_test(a_missing_last_thickness_puts_the_image_at_the_focus))
