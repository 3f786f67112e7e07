/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A reference for a meter check without a reference meter: a known lamp, or a digital camera known to be right. */
#include <math.h>

#include "base/propagate.h"
#include "exposure/light.h"
#include "worksheets/fields.h"

static const cw_choice kinds[] = {{"lamp", "A small lamp of known intensity at a distance"},
                                  {"camera", "A digital camera known to be right"},
                                  {NULL, NULL}};

static const cw_field inputs[] = {
    CW_PICK("kind", "Reference", kinds, "lamp", ""),
    CW_MAYBE("flux", "Lamp: luminous flux, lumen", CW_PLAIN, NULL, 0.1, 1e5,
             "printed on the packing; shines all round"),
    CW_MAYBE("intensity", "or its intensity, candela", CW_PLAIN, NULL, 0.01, 1e6, "for a spot lamp, along its axis"),
    CW_USUAL("lamp-u", "How far the lamp can be off", CW_FRACTION, "%", "15 %", 0.001, 1,
             "standard uncertainty; new household lamps 10 to 20 %"),
    CW_MAYBE("distance", "Lamp to meter or card", CW_LENGTH, "m", 0.05, 50, "at least five times the lamp's size"),
    CW_USUAL("distance-u", "How far the distance can be off", CW_LENGTH, "mm", "10 mm", 0, 1, "standard uncertainty"),
    CW_USUAL("reflectance", "Reflectance of the card", CW_FRACTION, "%", "18 %", 0.01, 1,
             "18 % grey card, 90 % white paper; common practice"),
    CW_MAYBE("aperture", "Camera: aperture", CW_PLAIN, NULL, 0.5, 256,
             "of a frame that came out right, on the same card"),
    CW_MAYBE("time", "Camera: time", CW_TIME, "s", 1e-6, 3600, ""),
    CW_MAYBE("film-speed", "Camera: ISO", CW_PLAIN, NULL, 1, 1e6, ""),
    CW_USUAL("camera-u", "How far the camera can be off", CW_EXPOSURE_VALUE, "EV", "0.2 EV", 0.001, 3,
             "standard uncertainty"),
    CW_USUAL("reflected-constant", "Reflected-light constant K", CW_PLAIN, NULL, "12.5", 5, 30, ""),
    CW_USUAL("incident-constant", "Incident-light constant C", CW_PLAIN, NULL, "250", 100, 1000, ""),
};

static const cw_field outputs[] = {
    CW_SHOW("reflected", "Reflected light, EV at ISO 100", CW_EXPOSURE_VALUE, "EV", 3,
            "what a meter that looks at the card should show"),
    CW_MAY_SHOW("incident", "Falling light, EV at ISO 100", CW_EXPOSURE_VALUE, "EV", 3,
                "what a meter in the card's place, facing the lamp, should show"),
    CW_SHOW("luminance", "Luminance of the card", CW_LUMINANCE, "cd/m2", 3, ""),
    CW_MAY_SHOW("illuminance", "Illuminance on it", CW_ILLUMINANCE, "lx", 3, ""),
};

/* values: candela, distance; context: nothing */
static double lamp_model(const double *v, const void *context)
{
    (void)context;
    return cw_illuminance_of_lamp(v[0], v[1]);
}

static cw_status from_lamp(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    double intensity = cw_in_number(in, "intensity"), distance = cw_in_number(in, "distance");
    if (isnan(intensity))
        intensity = cw_in_number(in, "flux") / (4 * M_PI);
    if (isnan(intensity) || isnan(distance))
        return cw_fail(err, CW_INPUT, "a lamp needs its flux or intensity, and its distance; give flux and distance");
    const cw_quantity values[] = {{intensity, intensity * cw_in_number(in, "lamp-u")},
                                  {distance, cw_in_number(in, "distance-u")}};
    cw_quantity lux = cw_propagate(2, values, lamp_model, NULL);
    double reflectance = cw_in_number(in, "reflectance"), luminance = cw_luminance_of_card(lux.value, reflectance);
    double share = lux.u / lux.value, u_ev = share / log(2);
    cw_out_quantity(out, "illuminance", lux);
    cw_out_quantity(out, "luminance",
                    (cw_quantity){luminance, luminance * hypot(share, 0.05)}); /* card: 5 %, judgement */
    cw_out_quantity(out, "incident",
                    (cw_quantity){cw_ev_of_illuminance(lux.value, cw_in_number(in, "incident-constant")), u_ev});
    cw_out_quantity(out, "reflected",
                    (cw_quantity){cw_ev_of_luminance(luminance, cw_in_number(in, "reflected-constant")),
                                  hypot(u_ev, 0.05 / log(2))});
    cw_out_note(out, "The room must be dark otherwise, walls far away or black: light from them adds what the formula "
                     "does not know.");
    return CW_OK;
}

static cw_status from_camera(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    double aperture = cw_in_number(in, "aperture"), time = cw_in_number(in, "time"),
           speed = cw_in_number(in, "film-speed");
    double ev = cw_light_value(aperture, time, speed), u = cw_in_number(in, "camera-u");
    if (isnan(ev))
        return cw_fail(err, CW_INPUT, "a camera needs aperture, time and film-speed");
    double luminance = cw_luminance_at_ev(ev, cw_in_number(in, "reflected-constant"));
    cw_out_quantity(out, "reflected", (cw_quantity){ev, u});
    cw_out_quantity(out, "luminance", (cw_quantity){luminance, luminance * u * log(2)});
    cw_out_note(out, "Expose the card alone, filling the frame, so that its peak stands in the middle of the "
                     "histogram; automatic brightness off.");
    return CW_OK;
}

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    return cw_in_is(in, "kind", "lamp") ? from_lamp(in, out, err) : from_camera(in, out, err);
}

static const char *const cautions[] = {"heat", NULL};
static const char *const sources[] = {"E = I/d^2, L = r E/pi: photometry of a small source and a matt card",
                                      "K and C: ISO 2720:1974", NULL};
static const char *const example[] = {"kind", "lamp", "flux", "806", "distance", "1.5m", NULL};

extern const cw_worksheet cw_sheet_reference_light;
const cw_worksheet cw_sheet_reference_light = {
    .name = "reference-light",
    .title = "A reference light for the meter check",
    .group = "Light",
    .purpose = "No reference meter to hand? A lamp of known output at a measured distance, or a digital camera known "
               "to be right, says what the meter should "
               "show, and how well that is known.",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .cautions = cautions,
    .sources = sources,
    .compute = compute,
    .example = example,
};
