/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What to set on the film-speed dial. */
#include <math.h>

#include "exposure/light.h"
#include "worksheets/fields.h"

static const cw_field inputs[] = {
    CW_NEED("film-speed", "Speed of the film", CW_PLAIN, NULL, 0.5, 25600, "ISO, as on its box"),
    CW_USUAL("error", "Exposure error of the meter", CW_EXPOSURE_STEP, "EV", "0", -10, 10,
             "+ = it gives too much light; from the meter check"),
    CW_USUAL("shutter-error", "Exposure error of the shutter", CW_EXPOSURE_STEP, "EV", "0", -10, 10,
             "+ = slow; at the speeds that are used most"),
    CW_USUAL("filter-factor", "Filter factor", CW_PLAIN, NULL, "1", 1, 1e5,
             "for a meter that does not look through the filter; 2 = one stop"),
    CW_USUAL("extra", "More exposure wanted", CW_EXPOSURE_STEP, "EV", "0", -10, 10,
             "for old film: a stop for each ten years is common practice, no source"),
};

static const cw_field outputs[] = {
    CW_SHOW("dial", "Set the dial to ISO", CW_PLAIN, NULL, 3, "nearest mark in thirds of a stop"),
    CW_SHOW("exact", "Exactly", CW_PLAIN, NULL, 3, ""),
    CW_SHOW("degrees", "In degrees", CW_PLAIN, NULL, 3, "ISO 100 is 21 degrees"),
    CW_SHOW("left", "Error that is left", CW_EXPOSURE_STEP, "EV", 2, "from the mark; + = more light"),
    CW_SHOW("filter-stops", "The filter takes", CW_EXPOSURE_VALUE, "EV", 2, ""),
};

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    cw_speed_setting s;
    CW_TRY(cw_speed_setting_find(cw_in_number(in, "film-speed"),
                                 cw_in_number(in, "error") + cw_in_number(in, "shutter-error"),
                                 cw_in_number(in, "filter-factor"), cw_in_number(in, "extra"), &s, err));
    cw_out_number(out, "dial", s.dial_mark);
    cw_out_number(out, "exact", s.dial_exact);
    cw_out_number(out, "degrees", cw_film_degrees(s.dial_mark));
    cw_out_number(out, "left", s.left_ev);
    cw_out_number(out, "filter-stops", s.filter_ev);
    if (fabs(s.left_ev) > 0.25)
        cw_out_note(
            out,
            "The wanted setting, ISO %.3g, lies beyond the marks looked at (6 to 6400): correct with aperture or time.",
            s.dial_exact);
    return CW_OK;
}

static const char *const sources[] = {"dial = speed * 2^(error - extra) / factor: the exposure equation of ISO 2720",
                                      "degrees: ISO 5800, 1 + 10 log10(S)", NULL};
static const char *const example[] = {"film-speed", "100", "error", "0.7 EV", NULL};

extern const cw_worksheet cw_sheet_speed_dial;
const cw_worksheet cw_sheet_speed_dial = {
    .name = "speed-dial",
    .title = "Film-speed dial that takes up an error",
    .group = "Light",
    .purpose =
        "Takes up what the meter gives too much or too little, a filter or old film, by the film-speed dial alone.",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .sources = sources,
    .compute = compute,
    .example = example,
};
