/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "draw/drawing.h"

#include <math.h>
#include <string.h>

#include "draw/sheet.h"
#include "support/check.h"

static cw_drawing *empty(void)
{
    cw_error err;
    cw_drawing *d;
    assert_ok(cw_drawing_new("Test plate", "A plate for the test.", &d, &err), &err);
    return d;
}

static void bounds_of_an_arc_reach_only_the_quarters_it_passes(void **state)
{
    (void)state;
    cw_point least, most;
    cw_drawing *d = empty();
    assert_false(cw_drawing_bounds(d, &least, &most));
    /* From 30 to 120 degrees about (3, 5), radius 2: passes the top only. */
    cw_draw_arc(d, CW_LAYER_CUT, (cw_point){3, 5}, 2, M_PI / 6, 2 * M_PI / 3);
    assert_true(cw_drawing_bounds(d, &least, &most));
    assert_near(least.x_mm, 3 + 2 * cos(2 * M_PI / 3), 1e-12);
    assert_near(most.x_mm, 3 + 2 * cos(M_PI / 6), 1e-12);
    assert_near(least.y_mm, 5 + 2 * sin(M_PI / 6), 1e-12);
    assert_near(most.y_mm, 7, 1e-12);
    /* Given the long way round, past 0: reaches the right edge too, and angles of many turns mean the same. */
    cw_draw_arc(d, CW_LAYER_CUT, (cw_point){3, 5}, 2, -M_PI / 6 + 6 * M_PI, M_PI / 6);
    assert_true(cw_drawing_bounds(d, &least, &most));
    assert_near(most.x_mm, 5, 1e-12);
    assert_near(least.y_mm, 4, 1e-12);
    cw_drawing_free(d);
}

static void the_first_failure_is_kept_and_said_by_every_writer(void **state)
{
    (void)state;
    cw_error err;
    cw_buf out = cw_buf_new(1 << 20);
    cw_drawing *d = empty();
    cw_draw_line(d, CW_LAYER_CUT, (cw_point){0, 0}, (cw_point){NAN, 1});
    cw_draw_circle(d, CW_LAYER_CUT, (cw_point){0, 0}, -4);
    assert_fails(cw_drawing_check(d, &err), CW_RANGE, &err, "a coordinate of nan");
    assert_fails(cw_drawing_svg(d, &out, &err), CW_RANGE, &err, "Test plate");
    assert_fails(cw_drawing_pdf(d, "A4", &out, &err), CW_RANGE, &err, "coordinate");
    assert_fails(cw_drawing_dxf(d, &out, &err), CW_RANGE, &err, "coordinate");
    assert_fails(cw_drawing_png(d, 100, &out, &err), CW_RANGE, &err, "coordinate");
    assert_int_equal(out.length, 0);
    cw_drawing_free(d);
    cw_buf_free(&out);
}

static void bad_sizes_are_refused(void **state)
{
    (void)state;
    static const double bad[] = {0, -1, NAN, INFINITY, 1e9};
    cw_error err;
    for (size_t i = 0; i < CW_COUNT(bad); i++) {
        cw_drawing *d = empty();
        cw_draw_circle(d, CW_LAYER_CUT, (cw_point){0, 0}, bad[i]);
        assert_fails(cw_drawing_check(d, &err), CW_RANGE, &err, "radius");
        cw_drawing_free(d);
        d = empty();
        cw_draw_text(d, CW_LAYER_NOTE, (cw_point){0, 0}, bad[i], CW_TEXT_START, 0, "x");
        assert_fails(cw_drawing_check(d, &err), CW_RANGE, &err, "text height");
        cw_drawing_free(d);
    }
    cw_drawing *d = empty();
    cw_draw_dimension(d, (cw_point){1, 1}, (cw_point){1, 1}, 5, "0");
    assert_fails(cw_drawing_check(d, &err), CW_RANGE, &err, "a dimension of 0");
    cw_drawing_free(d);
}

static void an_empty_drawing_has_no_picture(void **state)
{
    (void)state;
    cw_error err;
    cw_buf out = cw_buf_new(1 << 20);
    cw_drawing *d = empty();
    assert_fails(cw_drawing_svg(d, &out, &err), CW_RANGE, &err, "empty");
    assert_fails(cw_drawing_pdf(d, "A4", &out, &err), CW_RANGE, &err, "empty");
    assert_fails(cw_drawing_dxf(d, &out, &err), CW_RANGE, &err, "empty");
    assert_fails(cw_drawing_png(d, 100, &out, &err), CW_RANGE, &err, "empty");
    cw_drawing_free(d);
}

static void plate(cw_drawing *d, double width_mm, double height_mm)
{
    cw_point corners[] = {{0, 0}, {width_mm, 0}, {width_mm, height_mm}, {0, height_mm}};
    cw_draw_path(d, CW_LAYER_CUT, corners, 4, true);
}

static void a_drawing_too_large_is_tiled_or_a_larger_paper_named(void **state)
{
    (void)state;
    cw_error err;
    cw_tiling t;
    static const struct {
        double w, h;
        const char *paper;
        size_t pages;
        bool landscape;
        const char *larger;
    } rows[] = {
        {100, 60, "A4", 1, false, NULL},           {230, 100, "A4", 1, true, NULL},
        {230, 230, "A4", 2, false, "A3"},          {230, 330, "a4", 3, true, "A3"},
        {650, 20, "Letter", 3, true, NULL},        {600, 500, "A4", 12, false, NULL},
        {380, 200, "Letter", 3, false, "Tabloid"}, {500, 350, "Letter", 6, false, "A2"},
    };
    for (size_t i = 0; i < CW_COUNT(rows); i++) {
        cw_drawing *d = empty();
        plate(d, rows[i].w, rows[i].h);
        assert_ok(cw_drawing_tiling(d, rows[i].paper, &t, &err), &err);
        if (t.across * t.down != rows[i].pages || t.landscape != rows[i].landscape ||
            (t.larger == NULL) != (rows[i].larger == NULL) ||
            (t.larger != NULL && strcmp(t.larger->name, rows[i].larger) != 0))
            fail_msg("%g x %g on %s: %zu x %zu, landscape %d, larger %s", rows[i].w, rows[i].h, rows[i].paper, t.across,
                     t.down, t.landscape, t.larger != NULL ? t.larger->name : "none");
        /* The pages together cover the drawing: each new one adds its window less the overlap. */
        assert_true(t.window_w_mm + (double)(t.across - 1) * (t.window_w_mm - t.overlap_mm) >= rows[i].w);
        assert_true(t.window_h_mm + (double)(t.down - 1) * (t.window_h_mm - t.overlap_mm) >= rows[i].h);
        cw_drawing_free(d);
    }
    cw_drawing *d = empty();
    plate(d, 4000, 3000);
    assert_fails(cw_drawing_tiling(d, "A4", &t, &err), CW_RANGE, &err, "4002 x 3002 mm and would take");
    assert_fails(cw_drawing_tiling(d, "A7", &t, &err), CW_INPUT, &err, "\"A7\" is not known");
    cw_drawing_free(d);
}

static void svg_escapes_and_keeps_the_page_colour(void **state)
{
    (void)state;
    cw_error err;
    cw_buf out = cw_buf_new(1 << 20);
    cw_drawing *d;
    assert_ok(cw_drawing_new("Ring <23.4> & \"spanner\"", "It's \xff broken.", &d, &err), &err);
    plate(d, 23.4, 25);
    cw_draw_text(d, CW_LAYER_NOTE, (cw_point){12, 12}, 2, CW_TEXT_MIDDLE, M_PI_2, "a<b>\n&\tc");
    assert_ok(cw_drawing_svg(d, &out, &err), &err);
    assert_contains(out.text, "<title>Ring &lt;23.4&gt; &amp; &quot;spanner&quot;</title>");
    assert_contains(out.text, "<desc>It&#39;s \xef\xbf\xbd broken.</desc>");
    assert_contains(out.text, "class=\"cw-cut\" fill=\"none\" stroke=\"currentColor\"");
    assert_contains(out.text, ">a&lt;b&gt; &amp; c</text>");
    assert_contains(out.text, "width=\"27.4mm\" height=\"29mm\" viewBox=\"0 0 27.4 29\"");
    /* A content security policy without 'unsafe-inline' must not break the look. */
    assert_null(strstr(out.text, "<style"));
    assert_null(strstr(out.text, "style=\""));
    assert_null(strstr(out.text, " id=\""));
    cw_drawing_free(d);
    cw_buf_free(&out);
}

static void a_full_buffer_is_told(void **state)
{
    (void)state;
    cw_error err;
    cw_drawing *d = empty();
    plate(d, 20, 20);
    cw_buf small = cw_buf_new(64);
    assert_fails(cw_drawing_svg(d, &small, &err), CW_MEMORY, &err, "picture");
    cw_buf_free(&small);
    small = cw_buf_new(64);
    assert_fails(cw_drawing_dxf(d, &small, &err), CW_MEMORY, &err, "DXF");
    cw_buf_free(&small);
    small = cw_buf_new(64);
    assert_fails(cw_drawing_pdf(d, "A4", &small, &err), CW_MEMORY, &err, "sheet");
    cw_buf_free(&small);
    small = cw_buf_new(64);
    assert_fails(cw_drawing_png(d, 100, &small, &err), CW_MEMORY, &err, "painting");
    cw_buf_free(&small);
    assert_fails(cw_drawing_png(d, 5000, &small, &err), CW_RANGE, &err, "5000 dots");
    cw_drawing_free(d);
}

CHECK_MAIN(cmocka_unit_test(bounds_of_an_arc_reach_only_the_quarters_it_passes),
           cmocka_unit_test(the_first_failure_is_kept_and_said_by_every_writer),
           cmocka_unit_test(bad_sizes_are_refused), cmocka_unit_test(an_empty_drawing_has_no_picture),
           cmocka_unit_test(a_drawing_too_large_is_tiled_or_a_larger_paper_named),
           cmocka_unit_test(svg_escapes_and_keeps_the_page_colour), cmocka_unit_test(a_full_buffer_is_told))
