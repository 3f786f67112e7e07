/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/unit.h"

#include <ctype.h>
#include <errno.h>
#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/buf.h"

#define PI 3.14159265358979323846

enum { UNITS_MOST = 14 };

/* SI (factor 1) first. Conventional factors: kgf 9.80665 N, in 0.0254 m, psi = lbf/in2 (NIST SP 811, appendix B). */
static const struct {
    const char *word;
    cw_unit units[UNITS_MOST];
} dimensions[CW_DIMENSION_COUNT] = {
    [CW_PLAIN] = {"plain number", {{"", 1, 0}}},
    [CW_FRACTION] = {"fraction", {{"", 1, 0}, {"%", 0.01, 0}, {"ppm", 1e-6, 0}}},
    [CW_LENGTH] = {"length",
                   {{"m", 1, 0},
                    {"mm", 1e-3, 0},
                    {"um", 1e-6, 0},
                    {"nm", 1e-9, 0},
                    {"cm", 1e-2, 0},
                    {"in", 0.0254, 0},
                    {"\"", 0.0254, 0},
                    {"inch", 0.0254, 0},
                    {"thou", 25.4e-6, 0},
                    {"mil", 25.4e-6, 0},
                    {"ft", 0.3048, 0},
                    {"km", 1e3, 0}}},
    [CW_AREA] = {"area", {{"m2", 1, 0}, {"mm2", 1e-6, 0}, {"cm2", 1e-4, 0}, {"in2", 6.4516e-4, 0}}},
    [CW_VOLUME] =
        {"volume",
         {{"m3", 1, 0}, {"ml", 1e-6, 0}, {"l", 1e-3, 0}, {"cm3", 1e-6, 0}, {"mm3", 1e-9, 0}, {"ul", 1e-9, 0}}},
    [CW_TIME] = {"time",
                 {{"s", 1, 0},
                  {"ms", 1e-3, 0},
                  {"us", 1e-6, 0},
                  {"ns", 1e-9, 0},
                  {"min", 60, 0},
                  {"h", 3600, 0},
                  {"sec", 1, 0}}},
    [CW_FREQUENCY] =
        {"frequency",
         {{"Hz", 1, 0}, {"kHz", 1e3, 0}, {"MHz", 1e6, 0}, {"rpm", 1.0 / 60, 0}, {"1/s", 1, 0}, {"1/min", 1.0 / 60, 0}}},
    [CW_SPEED] = {"speed", {{"m/s", 1, 0}, {"mm/ms", 1, 0}, {"mm/s", 1e-3, 0}, {"ft/min", 0.00508, 0}}},
    [CW_ANGLE] = {"angle",
                  {{"rad", 1, 0},
                   {"deg", PI / 180, 0},
                   {"\xc2\xb0", PI / 180, 0},
                   {"arcmin", PI / 10800, 0},
                   {"turn", 2 * PI, 0},
                   {"turns", 2 * PI, 0}}},
    [CW_MASS] = {"mass", {{"kg", 1, 0}, {"g", 1e-3, 0}, {"mg", 1e-6, 0}}},
    [CW_DENSITY] = {"density", {{"kg/m3", 1, 0}, {"g/cm3", 1e3, 0}, {"g/ml", 1e3, 0}}},
    [CW_FORCE] = {"force",
                  {{"N", 1, 0},
                   {"kN", 1e3, 0},
                   {"gf", 9.80665e-3, 0},
                   {"kgf", 9.80665, 0},
                   {"lbf", 4.4482216152605, 0},
                   {"lb", 4.4482216152605, 0},
                   {"ozf", 0.27801385095378125, 0}}},
    [CW_TORQUE] = {"torque",
                   {{"N m", 1, 0},
                    {"Nm", 1, 0},
                    {"N mm", 1e-3, 0},
                    {"Nmm", 1e-3, 0},
                    {"N cm", 1e-2, 0},
                    {"Ncm", 1e-2, 0},
                    {"kgf cm", 0.0980665, 0},
                    {"lbf in", 0.1129848290276167, 0},
                    {"in lbf", 0.1129848290276167, 0},
                    {"lbf ft", 1.3558179483314004, 0},
                    {"ft lbf", 1.3558179483314004, 0},
                    {"kN m", 1e3, 0}}},
    [CW_STIFFNESS] = {"spring rate",
                      {{"N/m", 1, 0},
                       {"N/mm", 1e3, 0},
                       {"gf/mm", 9.80665, 0},
                       {"lbf/in", 175.12683524647636, 0},
                       {"lb/in", 175.12683524647636, 0}}},
    [CW_TORSION_STIFFNESS] =
        {"torsion rate",
         {{"N m/rad", 1, 0}, {"N mm/rad", 1e-3, 0}, {"N mm/deg", 0.18 / PI, 0}, {"N mm/turn", 1e-3 / (2 * PI), 0}}},
    [CW_WINDUP] = {"wind-up", {{"rad/(N m)", 1, 0}, {"deg/(N m)", PI / 180, 0}}},
    [CW_STRESS] = {"stress",
                   {{"Pa", 1, 0},
                    {"kPa", 1e3, 0},
                    {"MPa", 1e6, 0},
                    {"N/mm2", 1e6, 0},
                    {"GPa", 1e9, 0},
                    {"psi", 6894.757293168361, 0},
                    {"ksi", 6894757.293168361, 0},
                    {"kpsi", 6894757.293168361, 0},
                    {"Mpsi", 6894757293.168361, 0},
                    {"bar", 1e5, 0}}},
    [CW_ENERGY] = {"energy", {{"J", 1, 0}, {"mJ", 1e-3, 0}}},
    [CW_POWER] = {"power", {{"W", 1, 0}, {"mW", 1e-3, 0}, {"kW", 1e3, 0}}},
    [CW_TEMPERATURE] = {"temperature",
                        {{"K", 1, 0},
                         {"degC", 1, 273.15},
                         {"\xc2\xb0"
                          "C",
                          1, 273.15},
                         {"C", 1, 273.15},
                         {"degF", 5.0 / 9, 273.15 - 160.0 / 9},
                         {"\xc2\xb0"
                          "F",
                          5.0 / 9, 273.15 - 160.0 / 9},
                         {"F", 5.0 / 9, 273.15 - 160.0 / 9}}},
    [CW_TEMPERATURE_STEP] = {"temperature difference",
                             {{"K", 1, 0}, {"degC", 1, 0}, {"C", 1, 0}, {"degF", 5.0 / 9, 0}, {"F", 5.0 / 9, 0}}},
    [CW_EXPANSION] = {"expansion",
                      {{"1/K", 1, 0},
                       {"1e-6/K", 1e-6, 0},
                       {"ppm/K", 1e-6, 0},
                       {"1/C", 1, 0},
                       {"1/degC", 1, 0},
                       {"1/F", 1.8, 0},
                       {"1/degF", 1.8, 0}}},
    [CW_VOLTAGE] = {"voltage", {{"V", 1, 0}, {"mV", 1e-3, 0}, {"kV", 1e3, 0}}},
    [CW_CURRENT] = {"current", {{"A", 1, 0}, {"mA", 1e-3, 0}, {"uA", 1e-6, 0}}},
    [CW_RESISTANCE] = {"resistance", {{"ohm", 1, 0}, {"kohm", 1e3, 0}, {"Mohm", 1e6, 0}}},
    [CW_CAPACITANCE] = {"capacitance",
                        {{"F", 1, 0}, {"mF", 1e-3, 0}, {"uF", 1e-6, 0}, {"nF", 1e-9, 0}, {"pF", 1e-12, 0}}},
    [CW_CHARGE] = {"charge", {{"C", 1, 0}, {"mAh", 3.6, 0}, {"Ah", 3600, 0}}},
    [CW_LUMINANCE] = {"luminance", {{"cd/m2", 1, 0}}},
    [CW_ILLUMINANCE] = {"illuminance", {{"lx", 1, 0}, {"klx", 1e3, 0}, {"fc", 10.763910416709722, 0}}},
    [CW_EXPOSURE_VALUE] = {"exposure value", {{"EV", 1, 0}, {"stops", 1, 0}, {"stop", 1, 0}}},
    [CW_EXPOSURE_STEP] = {"exposure difference", {{"EV", 1, 0}, {"stops", 1, 0}, {"stop", 1, 0}}},
    [CW_DIOPTRE] = {"dioptres", {{"D", 1, 0}, {"1/m", 1, 0}}},
    [CW_MONEY] = {"money", {{"", 1, 0}}},
};

/* Folds the spellings people type into ours: both micro signs to "u", spaces and middle dots to one space,
 * superscripts to digits. */
static void fold_name(const char *name, char *out, size_t size)
{
    static const struct {
        const char *from, *to;
    } folds[] = {{"\xc2\xb5", "u"},   {"\xce\xbc", "u"},       {"\xc2\xb7", " "}, {"\xc2\xb2", "2"}, {"\xc2\xb3", "3"},
                 {"\xce\xa9", "ohm"}, {"\xe2\x84\xa6", "ohm"}, {"*", " "},        {"^", ""}};
    size_t used = 0;
    while (*name != '\0' && used + 4 < size) {
        size_t i = 0;
        while (i < CW_COUNT(folds) && strncmp(name, folds[i].from, strlen(folds[i].from)) != 0)
            i++;
        if (i < CW_COUNT(folds)) {
            name += strlen(folds[i].from);
            memcpy(out + used, folds[i].to, strlen(folds[i].to));
            used += strlen(folds[i].to);
        } else {
            out[used++] = *name++;
        }
    }
    while (used > 0 && out[used - 1] == ' ')
        used--;
    out[used] = '\0';
}

const cw_unit *cw_unit_find(cw_dimension dimension, const char *name)
{
    const cw_unit *units = dimensions[dimension].units;
    if (name == NULL || *name == '\0')
        return &units[0];
    char folded[32];
    fold_name(name, folded, sizeof folded);
    for (int pass = 0; pass < 2; pass++) /* as written first, then without regard to case where that is unambiguous */
        for (size_t i = 0; i < UNITS_MOST && units[i].name != NULL; i++) {
            bool same = pass == 0 ? strcmp(units[i].name, folded) == 0
                                  : strlen(folded) > 1 && folded[0] != 'M' && folded[0] != 'm' &&
                                        strcasecmp(units[i].name, folded) == 0;
            if (same)
                return &units[i];
        }
    return NULL;
}

const char *cw_dimension_name(cw_dimension dimension)
{
    return dimensions[dimension].word;
}

void cw_unit_names(cw_dimension dimension, char *out, size_t size)
{
    size_t used = 0;
    if (size > 0)
        out[0] = '\0';
    for (size_t i = 0; i < UNITS_MOST && dimensions[dimension].units[i].name != NULL && used < size; i++) {
        const char *name = dimensions[dimension].units[i].name;
        if (*name == '\0')
            continue;
        int wrote = snprintf(out + used, size - used, "%s%s", used > 0 ? ", " : "", name);
        used += wrote > 0 ? (size_t)wrote : 0;
    }
}

double cw_to_unit(double si, const cw_unit *unit)
{
    return (si - unit->offset) / unit->factor;
}

double cw_from_unit(double value, const cw_unit *unit)
{
    return value * unit->factor + unit->offset;
}

/* One plain decimal number at *at; moves *at behind it. Hex, inf and nan are not numbers a person types here. */
static bool read_decimal(const char **at, double *value)
{
    const char *s = *at;
    if (*s == '+' || *s == '-')
        s++;
    if (!isdigit((unsigned char)*s) && !(*s == '.' && isdigit((unsigned char)s[1])))
        return false;
    if (s[0] == '0' && (s[1] == 'x' || s[1] == 'X'))
        return false;
    char *end;
    errno = 0;
    *value = strtod(*at, &end);
    if (end == *at || !isfinite(*value))
        return false;
    *at = end;
    return true;
}

static const char *skip_space(const char *s)
{
    while (isspace((unsigned char)*s))
        s++;
    return s;
}

/* number := decimal ["/" decimal] | decimal space decimal "/" decimal */
static bool read_number(const char **at, double *value, bool *zero_divisor)
{
    *zero_divisor = false;
    double first, second, third;
    bool negative = **at == '-';
    if (!read_decimal(at, &first))
        return false;
    *value = first;
    const char *s = skip_space(*at);
    if (*s == '/' && isdigit((unsigned char)*skip_space(s + 1))) {
        s = skip_space(s + 1);
        if (!read_decimal(&s, &second))
            return false;
        *zero_divisor = second == 0;
        *value = first / second;
        *at = s;
    } else if (s > *at && isdigit((unsigned char)*s) && read_decimal(&s, &second)) {
        s = skip_space(s);
        if (*s != '/')
            return false;
        s = skip_space(s + 1);
        if (!read_decimal(&s, &third))
            return false;
        *zero_divisor = third == 0;
        *value = negative ? first - second / third : first + second / third;
        *at = s;
    }
    return true;
}

/* A decimal comma becomes a point; anything with two commas, or with both, is left for the refusal. */
static bool fold_comma(const char *text, char *out, size_t size)
{
    size_t length = strlen(text);
    if (length >= size)
        return false;
    memcpy(out, text, length + 1);
    char *comma = strchr(out, ',');
    if (comma == NULL)
        return true;
    if (strchr(comma + 1, ',') != NULL || strchr(out, '.') != NULL)
        return false;
    *comma = '.';
    return true;
}

static cw_status refuse(const char *text, cw_dimension dimension, const char *bare_unit, cw_error *err)
{
    char names[160];
    cw_unit_names(dimension, names, sizeof names);
    const char *bare = bare_unit != NULL ? bare_unit : dimensions[dimension].units[0].name;
    if (names[0] == '\0')
        return cw_fail(err, CW_INPUT, "\"%.60s\" is not a number; write it like 2.5, 2,5 or 1/250", text);
    return cw_fail(err, CW_INPUT, "\"%.60s\" is not a %s; write it like 2.5 %s (units: %s)", text,
                   dimensions[dimension].word, bare, names);
}

cw_status cw_parse_measure(const char *text, cw_dimension dimension, const char *bare_unit, double *si, cw_error *err)
{
    char folded[96];
    const char *start = skip_space(text);
    if (*start == '\0')
        return cw_fail(err, CW_INPUT, "nothing was entered where a %s is wanted", dimensions[dimension].word);
    if (!fold_comma(start, folded, sizeof folded))
        return refuse(text, dimension, bare_unit, err);

    const char *at = folded;
    double value;
    bool zero_divisor;
    if (!read_number(&at, &value, &zero_divisor))
        return refuse(text, dimension, bare_unit, err);
    if (zero_divisor)
        return cw_fail(err, CW_INPUT, "\"%.60s\" divides by zero", text);

    at = skip_space(at);
    const char *name = *at == '\0' ? bare_unit : at;
    const cw_unit *unit = cw_unit_find(dimension, name);
    if (unit == NULL)
        return refuse(text, dimension, bare_unit, err);
    double converted = cw_from_unit(value, unit);
    if (!isfinite(converted))
        return refuse(text, dimension, bare_unit, err);
    *si = converted;
    return CW_OK;
}

cw_status cw_parse_whole(const char *text, long least, long most, long *value, cw_error *err)
{
    const char *start = skip_space(text);
    char *end;
    errno = 0;
    long number = strtol(start, &end, 10);
    if (end == start || *skip_space(end) != '\0' || errno == ERANGE || number < least || number > most)
        return cw_fail(err, CW_INPUT, "\"%.60s\" is not a whole number from %ld to %ld", text, least, most);
    *value = number;
    return CW_OK;
}
