/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "live/gate_protocol.h"

#include <stdio.h>
#include <string.h>

#include "support/check.h"

/* CRC-16/IBM-3740 (polynomial 1021, start ffff): its published check value is 29b1 for "123456789". */
static void the_crc_gives_its_check_value(void **state)
{
    (void)state;
    assert_int_equal(cw_gate_crc("123456789", 9), 0x29b1);
}

static void with_crc(const char *body, char *out, size_t size)
{
    snprintf(out, size, "%s *", body);
    size_t length = strlen(out) - 1;
    snprintf(out + strlen(out), size - strlen(out), "%04x", cw_gate_crc(out, length));
}

static cw_status parse(const char *body, cw_gate_line *line, cw_error *err)
{
    char text[200];
    with_crc(body, text, sizeof text);
    return cw_gate_parse(text, strlen(text), line, err);
}

static void every_type_is_read(void **state)
{
    (void)state;
    cw_error err;
    cw_gate_line line;
    assert_ok(parse("H clg/1 fw=0.1 hz=16000000 ch=ABCX pol=1 st=0 n=0a0b later=7", &line, &err), &err);
    assert_int_equal(line.kind, CW_GATE_HELLO);
    assert_near(line.tick_hz, 16e6, 0);
    assert_string_equal(line.text, "0.1");
    assert_int_equal(line.number, 0x0a0b);
    assert_ok(parse("E 0003 0126309a 6 4", &line, &err), &err);
    assert_int_equal(line.kind, CW_GATE_EDGE);
    assert_int_equal(line.number, 3);
    assert_int_equal(line.ticks, 0x0126309a);
    assert_int_equal(line.state, 6);
    assert_int_equal(line.changed, 4);
    assert_ok(parse("T 07 08000000 0006 0", &line, &err), &err);
    assert_int_equal(line.kind, CW_GATE_BEAT);
    assert_int_equal(line.beat, 7);
    assert_int_equal(line.number, 6);
    assert_ok(parse("O 0102 002c", &line, &err), &err);
    assert_int_equal(line.count, 0x2c);
    assert_ok(parse("A c 00003e80 20 2", &line, &err), &err);
    assert_int_equal(line.kind, CW_GATE_ANSWER);
    assert_int_equal(line.width_ticks, 16000);
    assert_int_equal(line.mask, 2);
    assert_ok(parse("P 1f 4 00112233 00003e80", &line, &err), &err);
    assert_int_equal(line.count, 31);
    assert_int_equal(line.ticks, 0x112233);
    assert_ok(parse("L 0200 01ff 0123 0100", &line, &err), &err);
    assert_int_equal(line.levels[3], 0x100);
    assert_ok(parse("X 04 out of range", &line, &err), &err);
    assert_int_equal(line.code, 4);
    assert_string_equal(line.text, "out of range");
    assert_ok(parse("Z something later", &line, &err), &err);
    assert_int_equal(line.kind, CW_GATE_UNKNOWN);
}

static void another_version_and_wrong_forms_are_refused(void **state)
{
    (void)state;
    cw_error err;
    cw_gate_line line;
    assert_fails(parse("H clg/2 fw=9", &line, &err), CW_INPUT, &err, "speaks clg/2, this program knows clg/1");
    assert_fails(parse("H modem ready", &line, &err), CW_INPUT, &err, "no light gate");
    assert_fails(parse("H clg/1 hz=0", &line, &err), CW_INPUT, &err, "0 Hz");
    assert_fails(parse("E 003 0126309a 6 4", &line, &err), CW_INPUT, &err, "form is not");
    assert_fails(parse("E 0003 0126309A 6 4", &line, &err), CW_INPUT, &err, "form is not");
    assert_fails(parse("E 0003 0126309a 6 4 5", &line, &err), CW_INPUT, &err, "form is not");
    assert_fails(cw_gate_parse("E 0003 0126309a 6 4 *0000", 25, &line, &err), CW_NOT_MINE, &err, "damaged");
}

typedef struct {
    size_t count;
    cw_gate_line lines[16];
} taken;

static cw_status take(void *context, const cw_gate_line *line, cw_error *err)
{
    (void)err;
    taken *all = context;
    assert_true(all->count < CW_COUNT(all->lines));
    all->lines[all->count++] = *line;
    return CW_OK;
}

/* Cut in pieces of every size, with garbage between: whole lines come through, the rest is counted. */
static void a_stream_in_pieces_with_garbage_is_sorted_out(void **state)
{
    (void)state;
    char a[100], b[100], stream[1000];
    with_crc("E 0000 0123a000 1 1", a, sizeof a);
    with_crc("E 0001 0124e848 3 2", b, sizeof b);
    int length = snprintf(stream, sizeof stream,
                          "%s\r\n\xff\xfe"
                          "garbage\n%s\n\n%0100d\nE 0002 012518c0 2 1 *0000\n%s\n",
                          a, b, 7, a);
    for (size_t piece = 1; piece < 30; piece++) {
        cw_gate_reader reader = {0};
        taken all = {0};
        cw_error err;
        for (size_t at = 0; at < (size_t)length; at += piece) {
            size_t count = (size_t)length - at < piece ? (size_t)length - at : piece;
            assert_ok(cw_gate_feed(&reader, stream + at, count, take, &all, &err), &err);
        }
        assert_int_equal(all.count, 3);
        assert_int_equal(all.lines[1].changed, 2);
        assert_int_equal(reader.lines, 3);
        assert_int_equal(reader.dropped, 3);
        assert_int_equal(reader.dropped_in_row, 0);
    }
}

static void commands_have_the_form_the_gate_reads(void **state)
{
    (void)state;
    cw_error err;
    char command[CW_GATE_COMMAND];
    assert_ok(cw_gate_calibrate_command(0x3e80, 32, 1, command, &err), &err);
    assert_string_equal(command, "c 00003e80 20 2\n");
    assert_fails(cw_gate_calibrate_command(799, 32, 1, command, &err), CW_RANGE, &err, "799 ticks");
    assert_fails(cw_gate_calibrate_command(16000, 41, 1, command, &err), CW_RANGE, &err, "41 pulses");
    assert_fails(cw_gate_calibrate_command(16000, 4, 3, command, &err), CW_RANGE, &err, "sensor 3");
}

CHECK_MAIN(cmocka_unit_test(the_crc_gives_its_check_value), cmocka_unit_test(every_type_is_read),
           cmocka_unit_test(another_version_and_wrong_forms_are_refused),
           cmocka_unit_test(a_stream_in_pieces_with_garbage_is_sorted_out),
           cmocka_unit_test(commands_have_the_form_the_gate_reads))
