/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "notebook/part_line.h"

#include "support/check.h"

static void parts_are_understood_as_they_are_said(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        int64_t pieces;
        const char *kind, *size, *length;
        int64_t tray;
    } rows[] = {
        {"3 screws M1.7 3.2mm into tray 2", 3, "screw", "M1.7", "3.2 mm", 2},
        {"3x screws 3,2 mm tray 12", 3, "screw", "", "3,2 mm", 12},
        {"2 x washers -> 4", 2, "washer", "", "", 4},
        {"click spring", 1, "click spring", "", "", 0},
        {"four brass screws 8BA in 7", 4, "brass screw", "8BA", "", 7},
        {"front glass tray 1", 1, "front glass", "", "", 1},
        {"2 glass", 2, "glass", "", "", 0},
        {"#0-80 screw", 1, "screw", "#0-80", "", 0},
        {"shutter blade 3", 1, "shutter blade 3", "", "", 0}, /* a name, no tray */
        {"5 mm ball", 1, "ball", "", "5 mm", 0},
    };
    for (size_t i = 0; i < CW_COUNT(rows); i++) {
        cw_error err;
        cw_part_line line;
        assert_ok(cw_part_line_parse(rows[i].text, &line, &err), &err);
        assert_int_equal(line.pieces, rows[i].pieces);
        assert_string_equal(line.kind, rows[i].kind);
        assert_string_equal(line.size, rows[i].size);
        assert_string_equal(line.length, rows[i].length);
        assert_int_equal(line.tray, rows[i].tray);
    }
}

static void what_names_no_part_is_refused(void **state)
{
    (void)state;
    cw_error err;
    cw_part_line line;
    assert_fails(cw_part_line_parse("", &line, &err), CW_INPUT, &err, "names no part");
    assert_fails(cw_part_line_parse("into tray 2", &line, &err), CW_INPUT, &err, "names no part");
    assert_fails(cw_part_line_parse("0 screws", &line, &err), CW_INPUT, &err, "1 to 9999");
    assert_fails(cw_part_line_parse("screw tray 0", &line, &err), CW_INPUT, &err, "tray 0");
    char flood[1000];
    for (size_t i = 0; i < sizeof flood; i++)
        flood[i] = i % 2 == 0 ? 'a' : ' ';
    flood[298] = '\0';
    assert_fails(cw_part_line_parse(flood, &line, &err), CW_INPUT, &err, "more than 40 words");
    flood[298] = 'a';
    flood[sizeof flood - 1] = '\0';
    assert_fails(cw_part_line_parse(flood, &line, &err), CW_INPUT, &err, "longer than 299");
}

CHECK_MAIN(cmocka_unit_test(parts_are_understood_as_they_are_said), cmocka_unit_test(what_names_no_part_is_refused))
