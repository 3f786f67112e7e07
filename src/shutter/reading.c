/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shutter/reading.h"

#include <ctype.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/unit.h"

#define SHORTEST_S 1e-6
#define LONGEST_S 1000.0

/* One step of the last digit of the number at `text`: 0.01 for "4.43", 1 for "226", 10 for "2e1". */
static double last_digit_step(const char *text)
{
    double step = 1;
    bool after_point = false;
    const char *c = text + strspn(text, " \t+-");
    for (; isdigit((unsigned char)*c) || *c == '.' || *c == ','; c++) {
        if (!isdigit((unsigned char)*c))
            after_point = true;
        else if (after_point)
            step /= 10;
    }
    if ((*c == 'e' || *c == 'E') && (isdigit((unsigned char)c[1]) || c[1] == '-' || c[1] == '+')) {
        long exponent = strtol(c + 1, NULL, 10); /* cw_parse_measure has seen the number: it is finite */
        step *= pow(10, (double)exponent);
    }
    return step;
}

cw_status cw_reading_parse(const char *text, double *seconds, double *resolution_s, cw_error *err)
{
    double value, one;
    CW_TRY(cw_parse_measure(text, CW_TIME, "s", &value, err));
    if (!(value >= SHORTEST_S && value <= LONGEST_S))
        return cw_fail(err, CW_INPUT, "\"%s\" is %g s; a shutter's time lies between 1 us and 1000 s", text, value);
    const char *slash = strchr(text, '/');
    if (slash != NULL) {
        double below = strtod(slash + 1, NULL);
        if (!(below > 0))
            return cw_fail(err, CW_INPUT, "\"%s\" is not read as a fraction of a second; write it like 1/226", text);
        *resolution_s = value * last_digit_step(slash + 1) / below;
    } else {
        /* the unit's size in seconds, by reading 1 of it */
        const char *unit = text + strspn(text, " \t+-0123456789.,");
        if ((*unit == 'e' || *unit == 'E') && unit[1] != '\0')
            unit += 1 + strspn(unit + 1, "+-0123456789");
        char number[64] = "1";
        if (strlen(unit) + 2 > sizeof number)
            return cw_fail(err, CW_INPUT, "\"%.40s...\" is too long for a time", text);
        memcpy(number + 1, unit, strlen(unit) + 1);
        CW_TRY(cw_parse_measure(number, CW_TIME, "s", &one, err));
        *resolution_s = last_digit_step(text) * one;
    }
    *seconds = value;
    return CW_OK;
}

cw_shot cw_reading_shot(double marked_s, double seconds, double resolution_s)
{
    cw_quantity unknown = {NAN, NAN};
    cw_shot shot = {
        .at_s = 0,
        .marked_s = marked_s,
        .sensor_count = 1,
        .contact_s = unknown,
        .contact_opens_s = NAN,
    };
    cw_sensor_shot *sensor = &shot.sensors[0];
    *sensor = cw_sensor_shot_unknown(NAN);
    sensor->seen = true;
    sensor->method = CW_METHOD_READING;
    sensor->exposure_s = (cw_quantity){seconds, resolution_s / sqrt(12)};
    sensor->u_random_s = resolution_s / sqrt(12); /* rounding falls anew at every shot */
    return shot;
}

cw_status cw_reading_evaluate(const cw_test_setup *setup, double marked_s, double seconds, double resolution_s,
                              cw_shutter_test **test, cw_error *err)
{
    if (!(seconds > 0) || !(resolution_s >= 0) || !isfinite(seconds) || !isfinite(resolution_s))
        return cw_fail(err, CW_RANGE, "a reading of %g s, shown in steps of %g s; the time must be longer than nothing",
                       seconds, resolution_s);
    cw_test_setup bare = *setup;
    bare.sensor_count = 0;
    cw_shot shot = cw_reading_shot(marked_s, seconds, resolution_s);
    return cw_shutter_evaluate(&bare, &shot, 1, test, err);
}
