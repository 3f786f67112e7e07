/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "exposure/flash.h"

#include <math.h>
#include <string.h>

#include "base/range.h"

#define MS 1e-3

/* Bulbs by class. From memory: no published figures were found; a bulb of unknown age can be off by several
 * milliseconds. */
static const cw_flash_source sources[] = {
    {"electronic", "Electronic flash", 0, 0.3 * MS, 1.5 * MS, "from memory; full power of a small unit"},
    {"electronic-large", "Large electronic flash", 0, 1 * MS, 4 * MS, "from memory"},
    {"class-f", "Bulb, class F (fast)", 3 * MS, 5 * MS, 9 * MS, "from memory"},
    {"class-mf", "Bulb, class MF", 8 * MS, 13 * MS, 20 * MS, "from memory"},
    {"class-m", "Bulb, class M", 13 * MS, 20 * MS, 27 * MS, "from memory"},
    {"class-s", "Bulb, class S (slow)", 20 * MS, 30 * MS, 42 * MS, "from memory"},
    {"class-fp", "Bulb, class FP (long, even, for curtains)", 10 * MS, 20 * MS, 38 * MS, "from memory"},
};

const cw_flash_source *cw_flash_sources(size_t *count)
{
    *count = CW_COUNT(sources);
    return sources;
}

const cw_flash_source *cw_flash_source_find(const char *key)
{
    for (size_t i = 0; i < CW_COUNT(sources); i++)
        if (strcmp(sources[i].key, key) == 0)
            return &sources[i];
    return NULL;
}

static cw_status check_timing(const cw_flash_timing *t, cw_error *err)
{
    CW_TRY(cw_check_within("contact", t->contact_s.value, CW_TIME, "ms", -0.2, 10, err));
    CW_TRY(cw_check_within("fully open from", t->full_open_s.value, CW_TIME, "ms", 0, 10, err));
    CW_TRY(cw_check_within("fully open until", t->full_close_s.value, CW_TIME, "ms", 0, 100, err));
    if (!(t->contact_s.u >= 0 && t->full_open_s.u >= 0 && t->full_close_s.u >= 0))
        return cw_fail(err, CW_RANGE, "an uncertainty below 0 or not known; give how far each time can be off");
    if (!(t->source_end_s > t->source_start_s))
        return cw_fail(err, CW_RANGE,
                       "a flash that ends %.3g ms after its contact and begins at %.3g ms; the end comes later",
                       t->source_end_s / MS, t->source_start_s / MS);
    if (!(t->full_close_s.value > t->full_open_s.value))
        return cw_fail(err, CW_RANGE,
                       "the frame is never fully open at this speed: open from %.4g ms, closing from %.4g ms. Flash "
                       "needs a slower speed",
                       t->full_open_s.value / MS, t->full_close_s.value / MS);
    return CW_OK;
}

cw_status cw_flash_check(const cw_flash_timing *t, cw_flash_result *result, cw_error *err)
{
    CW_TRY(check_timing(t, err));
    double start = t->contact_s.value + t->source_start_s, end = t->contact_s.value + t->source_end_s;
    double open = t->full_open_s.value, close = t->full_close_s.value;
    cw_quantity early = {start - open, hypot(t->contact_s.u, t->full_open_s.u)};
    cw_quantity late = {close - end, hypot(t->contact_s.u, t->full_close_s.u)};
    double inside = fmax(0, fmin(end, close) - fmax(start, open));
    double margin = early.value - 2 * early.u < late.value - 2 * late.u ? early.value : late.value;
    double u = early.value - 2 * early.u < late.value - 2 * late.u ? early.u : late.u;
    *result = (cw_flash_result){
        .early_s = early,
        .late_s = late,
        .window_s = close - open,
        .share = inside / (end - start),
        .contact_best_s = (open + close) / 2 - (t->source_start_s + t->source_end_s) / 2,
        .verdict = margin >= 2 * u    ? 1
                   : margin <= -2 * u ? -1
                                      : 0,
    };
    return CW_OK;
}

cw_status cw_bleed_find(const cw_bleed *b, cw_bleed_result *result, cw_error *err)
{
    CW_TRY(cw_check_within("capacitance", b->capacitance_f, CW_CAPACITANCE, "uF", 1e-9, 0.1, err));
    CW_TRY(cw_check_within("voltage", b->voltage_v, CW_VOLTAGE, "V", 1, 2000, err));
    CW_TRY(cw_check_within("resistor", b->resistance_ohm, CW_RESISTANCE, "ohm", 10, 100e6, err));
    CW_TRY(cw_check_within("rating of the resistor", b->rating_w, CW_POWER, "W", 0.05, 1000, err));
    CW_TRY(cw_check_within("safe voltage", b->safe_v, CW_VOLTAGE, "V", 1, 60, err));
    double tau = b->resistance_ohm * b->capacitance_f, ratio = b->voltage_v / b->safe_v;
    double energy = b->capacitance_f * b->voltage_v * b->voltage_v / 2, pulse = 25 * b->rating_w;
    *result = (cw_bleed_result){
        .energy_j = energy,
        .time_s = ratio > 1 ? tau * log(ratio) : 0,
        .first_power_w = b->voltage_v * b->voltage_v / b->resistance_ohm,
        .first_current_a = b->voltage_v / b->resistance_ohm,
        .time_constant_s = tau,
        .pulse_most_j = pulse,
        .resistor_stands = energy <= pulse,
        .resistance_best_ohm = ratio > 1 ? 3 / (b->capacitance_f * log(ratio)) : NAN,
    };
    return CW_OK;
}
