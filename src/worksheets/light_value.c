/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Camera settings to the light they stand for: ISO 2720:1974, N^2/t = L S/K = E S/C. */
#include <math.h>

#include "worksheets/fields.h"

static const cw_field inputs[] = {
    CW_MAYBE("aperture", "Aperture (f-number)", CW_PLAIN, NULL, 0.5, 256, "the f-number set, such as 5.6"),
    CW_MAYBE("time", "Shutter time", CW_TIME, "s", 1e-6, 86400, "the time set, such as 1/125"),
    CW_MAYBE("ev", "or: exposure value", CW_EXPOSURE_VALUE, "EV", -20, 40,
             "of the settings, instead of both or of one"),
    CW_MAYBE("given-luminance", "or: luminance of the subject", CW_LUMINANCE, "cd/m2", 1e-6, 1e9, "measured"),
    CW_MAYBE("given-illuminance", "or: light falling on it", CW_ILLUMINANCE, "lx", 1e-5, 1e9, "measured"),
    CW_USUAL("film-speed", "Film speed (ISO)", CW_PLAIN, NULL, "100", 0.1, 1e6, "arithmetic ISO speed"),
    CW_USUAL("reflected-constant", "Reflected-light constant K", CW_PLAIN, NULL, "12.5", 5, 30,
             "12.5 is customary, 14 in use too; ISO 2720 recommends 10.6 to 13.4 cd s/m2"),
    CW_USUAL("incident-constant", "Incident-light constant C", CW_PLAIN, NULL, "250", 100, 1000,
             "250 is customary for a flat receptor, 320 to 540 for a dome"),
};

static const cw_field outputs[] = {
    CW_SHOW("ev", "Exposure value of the settings", CW_EXPOSURE_VALUE, "EV", 4, "log2(N^2/t)"),
    CW_SHOW("ev-iso-100", "The same light at ISO 100", CW_EXPOSURE_VALUE, "EV", 4,
            "light value: what a hand meter set to ISO 100 shows"),
    CW_SHOW("luminance", "Luminance of the subject", CW_LUMINANCE, "cd/m2", 3, "L = K N^2/(t S)"),
    CW_SHOW("illuminance", "Light falling on it", CW_ILLUMINANCE, "lx", 3, "E = C N^2/(t S)"),
    CW_MAY_SHOW("time-for", "Time for that aperture", CW_TIME, "s", 3, ""),
    CW_MAY_SHOW("aperture-for", "Aperture for that time", CW_PLAIN, NULL, 3, ""),
};

/* N^2/t from whatever says it: settings, exposure value, or measured light. */
static cw_status read_settings(const cw_sheet_in *in, double *settings, cw_error *err)
{
    double aperture = cw_in_number(in, "aperture"), time = cw_in_number(in, "time"), ev = cw_in_number(in, "ev");
    double luminance = cw_in_number(in, "given-luminance"), illuminance = cw_in_number(in, "given-illuminance");
    double speed = cw_in_number(in, "film-speed");
    bool both = !isnan(aperture) && !isnan(time);
    int given = both + !isnan(ev) + !isnan(luminance) + !isnan(illuminance);
    if (given == 0)
        return cw_fail(err, CW_INPUT, "%s; give --aperture and --time, or --ev, or a measured luminance or illuminance",
                       !isnan(aperture) ? "Shutter time is missing"
                       : !isnan(time)   ? "Aperture is missing"
                                        : "nothing is given that says how much light");
    if (given > 1)
        return cw_fail(
            err, CW_INPUT,
            "aperture with time, exposure value, luminance and illuminance each say how much light; give one");
    *settings = both                ? aperture * aperture / time
                : !isnan(ev)        ? exp2(ev)
                : !isnan(luminance) ? luminance * speed / cw_in_number(in, "reflected-constant")
                                    : illuminance * speed / cw_in_number(in, "incident-constant");
    return CW_OK;
}

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    double aperture = cw_in_number(in, "aperture"), time = cw_in_number(in, "time"), settings = NAN;
    double speed = cw_in_number(in, "film-speed"), k = cw_in_number(in, "reflected-constant");
    CW_TRY(read_settings(in, &settings, err));
    cw_out_number(out, "ev", log2(settings));
    cw_out_number(out, "ev-iso-100", log2(settings * 100 / speed));
    cw_out_number(out, "luminance", k * settings / speed);
    cw_out_number(out, "illuminance", cw_in_number(in, "incident-constant") * settings / speed);
    if (isnan(time) && !isnan(aperture))
        cw_out_number(out, "time-for", aperture * aperture / settings);
    if (isnan(aperture) && !isnan(time))
        cw_out_number(out, "aperture-for", sqrt(settings * time));
    if (k < 10.6 || k > 13.4)
        cw_out_note(out, "K is outside 10.6 to 13.4, which ISO 2720 recommends; some meters are built so.");
    return CW_OK;
}

static const char *const sources[] = {"ISO 2720:1974, exposure equations; EV = log2(N^2/t)", NULL};
static const char *const example[] = {"aperture", "16", "time", "1/100", NULL};

extern const cw_worksheet cw_sheet_light_value;
const cw_worksheet cw_sheet_light_value = {
    .name = "light-value",
    .title = "What light do these settings stand for?",
    .group = "Light",
    .purpose =
        "Turns aperture, time and film speed into an exposure value and into the luminance and illuminance they are "
        "right for, to set up a lamp or a light panel for a meter check.",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .sources = sources,
    .compute = compute,
    .example = example,
};
