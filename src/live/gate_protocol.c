/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "live/gate_protocol.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

uint16_t cw_gate_crc(const char *bytes, size_t count)
{
    uint16_t crc = 0xffff;
    for (size_t i = 0; i < count; i++) {
        crc = (uint16_t)(crc ^ ((unsigned)(unsigned char)bytes[i] << 8));
        for (int bit = 0; bit < 8; bit++)
            crc = (uint16_t)((crc & 0x8000) != 0 ? (crc << 1) ^ 0x1021 : crc << 1);
    }
    return crc;
}

/* A hexadecimal number of exactly `digits` lower-case digits at *at, with a blank or the end behind it. */
static bool take_hex(const char **at, size_t digits, uint32_t *value)
{
    uint32_t number = 0;
    const char *s = *at;
    for (size_t i = 0; i < digits; i++, s++) {
        if (*s >= '0' && *s <= '9')
            number = number << 4 | (uint32_t)(*s - '0');
        else if (*s >= 'a' && *s <= 'f')
            number = number << 4 | (uint32_t)(*s - 'a' + 10);
        else
            return false;
    }
    if (*s == ' ')
        s++;
    else if (*s != '\0')
        return false;
    *at = s;
    *value = number;
    return true;
}

/* A table of what a type's fields are: digits and where they go. */
typedef struct {
    size_t digits;
    size_t offset;
    size_t size;
} hex_field;

#define FIELD(digits, member)                                                                                          \
    {                                                                                                                  \
        digits, offsetof(cw_gate_line, member), sizeof(((cw_gate_line *)0)->member)                                    \
    }

static bool take_fields(const char *at, const hex_field *fields, size_t count, cw_gate_line *parsed)
{
    for (size_t i = 0; i < count; i++) {
        uint32_t value;
        if (!take_hex(&at, fields[i].digits, &value))
            return false;
        char *target = (char *)parsed + fields[i].offset;
        uint8_t byte = (uint8_t)value;
        uint16_t half = (uint16_t)value;
        if (fields[i].size == sizeof byte)
            memcpy(target, &byte, sizeof byte);
        else if (fields[i].size == sizeof half)
            memcpy(target, &half, sizeof half);
        else
            memcpy(target, &value, sizeof value);
    }
    return *at == '\0';
}

static const hex_field edge_fields[] = {FIELD(4, number), FIELD(8, ticks), FIELD(1, state), FIELD(1, changed)};
static const hex_field beat_fields[] = {FIELD(2, beat), FIELD(8, ticks), FIELD(4, number), FIELD(1, state)};
static const hex_field lost_fields[] = {FIELD(4, number), FIELD(4, count)};
static const hex_field answer_fields[] = {FIELD(8, width_ticks), FIELD(2, count), FIELD(1, mask)};
static const hex_field pulse_fields[] = {FIELD(2, count), FIELD(1, mask), FIELD(8, ticks), FIELD(8, width_ticks)};
static const hex_field level_fields[] = {FIELD(4, levels[0]), FIELD(4, levels[1]), FIELD(4, levels[2]),
                                         FIELD(4, levels[3])};

/* "key=value" words after the version; unknown keys are left alone. */
static cw_status take_hello(char *at, cw_gate_line *parsed, cw_error *err)
{
    char *version = strsep(&at, " ");
    if (strncmp(version, "clg/", 4) != 0)
        return cw_fail(err, CW_INPUT, "what answers on this port is no light gate of ours: \"%.40s\"", version);
    if (strcmp(version, "clg/1") != 0)
        return cw_fail(err, CW_INPUT,
                       "the gate speaks %.20s, this program knows clg/1; load the firmware that came with "
                       "this program",
                       version);
    parsed->tick_hz = 16e6;
    parsed->light_is_high = true;
    for (char *word; (word = strsep(&at, " ")) != NULL;) {
        const char *value = strchr(word, '=');
        if (value == NULL)
            continue;
        value++;
        uint32_t number;
        if (strncmp(word, "fw=", 3) == 0)
            snprintf(parsed->text, sizeof parsed->text, "%s", value);
        else if (strncmp(word, "hz=", 3) == 0)
            parsed->tick_hz = strtod(value, NULL);
        else if (strncmp(word, "pol=", 4) == 0)
            parsed->light_is_high = *value != '0';
        else if (strncmp(word, "st=", 3) == 0 && take_hex(&value, 1, &number))
            parsed->state = (uint8_t)number;
        else if (strncmp(word, "n=", 2) == 0 && take_hex(&value, 4, &number))
            parsed->number = (uint16_t)number;
    }
    if (!(parsed->tick_hz >= 1e5 && parsed->tick_hz <= 1e9))
        return cw_fail(err, CW_INPUT, "the gate says its clock runs at %g Hz; 100 kHz to 1 GHz can be used",
                       parsed->tick_hz);
    return CW_OK;
}

static cw_status take_refusal(const char *at, cw_gate_line *parsed)
{
    char code[3] = {at[0], at[0] != '\0' ? at[1] : '\0', '\0'};
    const char *digits = code;
    uint32_t number = 0;
    if (take_hex(&digits, 2, &number))
        parsed->code = (uint8_t)number;
    snprintf(parsed->text, sizeof parsed->text, "%.*s", CW_GATE_TEXT - 1, strlen(at) > 3 ? at + 3 : "");
    return CW_OK;
}

/* Checks the CRC and cuts it off. */
static bool check_crc(const char *line, size_t length, size_t *body)
{
    if (length < 8 || length > CW_GATE_LINE_MOST || line[length - 5] != '*' || line[1] != ' ')
        return false;
    char digits[5];
    memcpy(digits, line + length - 4, 4);
    digits[4] = '\0';
    const char *at = digits;
    uint32_t crc;
    if (!take_hex(&at, 4, &crc) || crc != cw_gate_crc(line, length - 5))
        return false;
    *body = length - 5;
    while (*body > 0 && line[*body - 1] == ' ')
        --*body;
    return true;
}

cw_status cw_gate_parse(const char *line, size_t length, cw_gate_line *parsed, cw_error *err)
{
    static const struct {
        char letter;
        cw_gate_kind kind;
        const hex_field *fields;
        size_t count;
    } types[] = {
        {'E', CW_GATE_EDGE, edge_fields, CW_COUNT(edge_fields)},
        {'T', CW_GATE_BEAT, beat_fields, CW_COUNT(beat_fields)},
        {'O', CW_GATE_LOST, lost_fields, CW_COUNT(lost_fields)},
        {'P', CW_GATE_PULSE, pulse_fields, CW_COUNT(pulse_fields)},
        {'L', CW_GATE_LEVELS, level_fields, CW_COUNT(level_fields)},
    };
    size_t body;
    if (!check_crc(line, length, &body))
        return cw_fail(err, CW_NOT_MINE, "a line from the gate is damaged (%zu bytes)", length);
    char text[CW_GATE_LINE_MOST + 1];
    memcpy(text, line, body);
    text[body] = '\0';

    cw_gate_line made = {.kind = CW_GATE_UNKNOWN};
    if (text[0] == 'H') {
        made.kind = CW_GATE_HELLO;
        CW_TRY(take_hello(text + 2, &made, err));
    } else if (text[0] == 'X') {
        made.kind = CW_GATE_REFUSAL;
        CW_TRY(take_refusal(text + 2, &made));
    } else if (text[0] == 'A') {
        made.kind = CW_GATE_ANSWER;
        if (strncmp(text, "A c ", 4) != 0 || !take_fields(text + 4, answer_fields, CW_COUNT(answer_fields), &made))
            return cw_fail(err, CW_INPUT, "the gate sent \"%s\", whose form is not that of clg/1", text);
    } else {
        for (size_t i = 0; i < CW_COUNT(types); i++)
            if (types[i].letter == text[0]) {
                made.kind = types[i].kind;
                if (!take_fields(text + 2, types[i].fields, types[i].count, &made))
                    return cw_fail(err, CW_INPUT, "the gate sent \"%s\", whose form is not that of clg/1", text);
            }
    }
    *parsed = made;
    return CW_OK;
}

/* One whole line, without its end. */
static cw_status take_line(cw_gate_reader *reader, cw_status (*take)(void *, const cw_gate_line *, cw_error *),
                           void *context, cw_error *err)
{
    size_t length = reader->used;
    if (length > 0 && reader->held[length - 1] == '\r')
        length--;
    reader->used = 0;
    if (length == 0)
        return CW_OK;
    cw_gate_line line;
    cw_status status = cw_gate_parse(reader->held, length, &line, err);
    if (status == CW_NOT_MINE) {
        reader->dropped++;
        reader->dropped_in_row++;
        return CW_OK;
    }
    if (status != CW_OK)
        return status;
    reader->lines++;
    reader->dropped_in_row = 0;
    return take(context, &line, err);
}

cw_status cw_gate_feed(cw_gate_reader *reader, const char *bytes, size_t count,
                       cw_status (*take)(void *context, const cw_gate_line *line, cw_error *err), void *context,
                       cw_error *err)
{
    cw_status first = CW_OK;
    cw_error scratch;
    reader->bytes += count;
    for (size_t i = 0; i < count; i++) {
        char c = bytes[i];
        if (c == '\n') {
            bool was_skipping = reader->skipping;
            reader->skipping = false;
            if (was_skipping) {
                reader->used = 0;
                continue;
            }
            /* what follows in this block must not be lost because one line was refused */
            cw_status status = take_line(reader, take, context, first == CW_OK ? err : &scratch);
            if (first == CW_OK)
                first = status;
            continue;
        }
        bool fits = reader->used < CW_GATE_LINE_MOST + 1 && ((c >= 0x20 && c <= 0x7e) || c == '\r');
        if (!reader->skipping && !fits) {
            reader->skipping = true;
            reader->dropped++;
            reader->dropped_in_row++;
        }
        if (!reader->skipping)
            reader->held[reader->used++] = c;
    }
    return first;
}

void cw_gate_hello_command(char out[static CW_GATE_COMMAND])
{
    snprintf(out, CW_GATE_COMMAND, "h\n");
}

void cw_gate_levels_command(char out[static CW_GATE_COMMAND])
{
    snprintf(out, CW_GATE_COMMAND, "l\n");
}

cw_status cw_gate_calibrate_command(uint32_t width_ticks, unsigned count, unsigned sensor,
                                    char out[static CW_GATE_COMMAND], cw_error *err)
{
    if (width_ticks < 0x320 || width_ticks > 0x7fffffff || count < 1 || count > 40 || sensor >= CW_GATE_SENSORS)
        return cw_fail(
            err, CW_RANGE,
            "calibration of sensor %u with %u pulses of %u ticks: 1 to 40 pulses of at least 800 ticks (50 us) "
            "on sensor 0, 1 or 2 can be made",
            sensor, count, width_ticks);
    snprintf(out, CW_GATE_COMMAND, "c %08x %02x %x\n", width_ticks, count, 1u << sensor);
    return CW_OK;
}
