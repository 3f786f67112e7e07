/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Camera settings to the light they stand for: ISO 2720:1974, N^2/t = L S/K = E S/C. */
#include <math.h>

#include "worksheets/worksheet.h"

static const cw_field inputs[] = {
    {.key = "aperture",
     .label = "Aperture (f-number)",
     .kind = CW_KIND_NUMBER,
     .required = true,
     .least = 0.5,
     .most = 256,
     .help = "the f-number set, such as 5.6"},
    {.key = "time",
     .label = "Shutter time",
     .kind = CW_KIND_NUMBER,
     .dimension = CW_TIME,
     .unit = "s",
     .required = true,
     .least = 1e-6,
     .most = 86400,
     .help = "the time set, such as 1/125"},
    {.key = "film-speed",
     .label = "Film speed (ISO)",
     .kind = CW_KIND_NUMBER,
     .fallback = "100",
     .least = 0.1,
     .most = 1e6,
     .help = "arithmetic ISO speed"},
    {.key = "reflected-constant",
     .label = "Reflected-light constant K",
     .kind = CW_KIND_NUMBER,
     .fallback = "12.5",
     .least = 10.6,
     .most = 13.4,
     .help = "12.5 is customary; ISO 2720 recommends 10.6 to 13.4 cd s/m2"},
    {.key = "incident-constant",
     .label = "Incident-light constant C",
     .kind = CW_KIND_NUMBER,
     .fallback = "250",
     .least = 240,
     .most = 540,
     .help = "250 is customary for a flat receptor"},
};

static const cw_field outputs[] = {
    {.key = "ev",
     .label = "Exposure value of the settings",
     .kind = CW_KIND_NUMBER,
     .dimension = CW_EXPOSURE_VALUE,
     .required = true,
     .figures = 4,
     .help = "log2(N^2/t)"},
    {.key = "ev-iso-100",
     .label = "The same light at ISO 100",
     .kind = CW_KIND_NUMBER,
     .dimension = CW_EXPOSURE_VALUE,
     .required = true,
     .figures = 4,
     .help = "light value: what a hand meter set to ISO 100 shows"},
    {.key = "luminance",
     .label = "Luminance of the subject",
     .kind = CW_KIND_NUMBER,
     .dimension = CW_LUMINANCE,
     .required = true,
     .figures = 3,
     .help = "L = K N^2/(t S)"},
    {.key = "illuminance",
     .label = "Light falling on it",
     .kind = CW_KIND_NUMBER,
     .dimension = CW_ILLUMINANCE,
     .required = true,
     .figures = 3,
     .help = "E = C N^2/(t S)"},
};

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    (void)err;
    double aperture = cw_in_number(in, "aperture"), speed = cw_in_number(in, "film-speed");
    double settings = aperture * aperture / cw_in_number(in, "time");
    cw_out_number(out, "ev", log2(settings));
    cw_out_number(out, "ev-iso-100", log2(settings * 100 / speed));
    cw_out_number(out, "luminance", cw_in_number(in, "reflected-constant") * settings / speed);
    cw_out_number(out, "illuminance", cw_in_number(in, "incident-constant") * settings / speed);
    return CW_OK;
}

static const char *const sources[] = {"ISO 2720:1974, exposure equations; K and C within the ranges it recommends",
                                      NULL};
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
