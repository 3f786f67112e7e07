/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A light meter against a reference at several levels. */
#include <math.h>

#include "exposure/light.h"
#include "exposure/meter.h"
#include "worksheets/fields.h"

static const cw_choice references[] = {{"meter", "A reference meter: EV at ISO 100"},
                                       {"luminance", "Known luminance, cd/m2"},
                                       {"illuminance", "Known illuminance, lx, on a meter for falling light"},
                                       {NULL, NULL}};

static const cw_field point_columns[] = {
    CW_NEED("reference", "Reference", CW_PLAIN, NULL, -1e7, 1e7, "EV, cd/m2 or lx, as chosen above"),
    CW_NEED("shown", "Meter shows", CW_EXPOSURE_VALUE, "EV", -10, 25,
            "as EV at ISO 100; or give aperture and time instead, in the sheet for settings"),
};

static const cw_field inputs[] = {
    CW_PICK("reference", "Reference", references, "meter", "a digital camera known to be right counts as a meter"),
    {.key = "levels",
     .label = "Light levels",
     .kind = CW_KIND_ROWS,
     .columns = point_columns,
     .column_count = CW_COUNT(point_columns),
     .rows_most = CW_METER_POINTS_MOST,
     .required = true,
     .help = "reference, shown; three at least, from dim to bright"},
    CW_USUAL("reference-u", "How far the reference can be off", CW_EXPOSURE_VALUE, "EV", "0.1 EV", 0.001, 3,
             "standard uncertainty"),
    CW_USUAL("shown-u", "How far the reading can be off", CW_EXPOSURE_VALUE, "EV", "0.15 EV", 0.001, 3,
             "standard uncertainty; a needle a sixth of a stop"),
    CW_USUAL("limit", "What counts as right", CW_EXPOSURE_VALUE, "EV", "1/3 EV", 0.05, 5, "common practice, no source"),
    CW_USUAL("reflected-constant", "Reflected-light constant K", CW_PLAIN, NULL, "12.5", 5, 30,
             "with a known luminance"),
    CW_USUAL("incident-constant", "Incident-light constant C", CW_PLAIN, NULL, "250", 100, 1000,
             "with a known illuminance"),
};

static const cw_field error_columns[] = {
    CW_MAY_SHOW("reference", "Light", CW_EXPOSURE_VALUE, "EV", 4, "at ISO 100"),
    CW_MAY_SHOW("shown", "Shown", CW_EXPOSURE_VALUE, "EV", 4, ""),
    CW_MAY_SHOW("error", "Exposure error", CW_EXPOSURE_STEP, "EV", 3, "+ = more light on the film"),
};

static const cw_field outputs[] = {
    CW_JUDGE("right", "Is it right?", "largest error against the limit, at k = 2"),
    CW_SHOW("offset", "Offset", CW_EXPOSURE_STEP, "EV", 3,
            "exposure error in the middle of the levels; + = more light on the film"),
    CW_MAY_SHOW("slope", "Slope", CW_PLAIN, NULL, 3, "EV shown for each EV of light; 1 is right"),
    CW_MAY_SHOW("linearity", "Largest departure from the line", CW_EXPOSURE_STEP, "EV", 2, "with three levels or more"),
    CW_TABLE("errors", "Level by level", error_columns, ""),
    CW_SAY("advice", "Advice", "in general terms"),
};

static cw_status read_points(const cw_sheet_in *in, cw_meter_point *points, size_t count, cw_error *err)
{
    bool luminance = cw_in_is(in, "reference", "luminance"), illuminance = cw_in_is(in, "reference", "illuminance");
    double u = cw_in_number(in, "reference-u");
    for (size_t i = 0; i < count; i++) {
        double given = cw_in_cell_number(in, "levels", i, "reference");
        double ev = luminance     ? cw_ev_of_luminance(given, cw_in_number(in, "reflected-constant"))
                    : illuminance ? cw_ev_of_illuminance(given, cw_in_number(in, "incident-constant"))
                                  : given;
        if (!isfinite(ev))
            return cw_fail(err, CW_RANGE, "light level %zu: %g is no %s; it must be above 0", i + 1, given,
                           luminance ? "luminance" : "illuminance");
        points[i] = (cw_meter_point){{ev, u}, cw_in_cell_number(in, "levels", i, "shown")};
    }
    return CW_OK;
}

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    cw_meter_point points[CW_METER_POINTS_MOST];
    size_t count = cw_in_rows(in, "levels");
    if (count > CW_METER_POINTS_MOST)
        return cw_fail(err, CW_RANGE, "%zu light levels; %d can be used", count, CW_METER_POINTS_MOST);
    CW_TRY(read_points(in, points, count, err));
    double limit = cw_in_number(in, "limit");
    cw_meter_result r;
    CW_TRY(cw_meter_check(count, points, cw_in_number(in, "shown-u"), limit, &r, err));
    cw_quantity margin = {limit - fabs(r.worst_ev),
                          hypot(cw_in_number(in, "reference-u"), cw_in_number(in, "shown-u"))};
    cw_out_verdict(out, "right", cw_at_least(margin, 0),
                   "%+.2f EV at EV %.3g is the largest error; %.2f EV counts as right", r.worst_ev, r.worst_at_ev,
                   limit);
    cw_out_quantity(out, "offset", r.offset_ev);
    if (!isnan(r.slope.value))
        cw_out_quantity(out, "slope", r.slope);
    if (!isnan(r.linearity_ev.value))
        cw_out_quantity(out, "linearity", r.linearity_ev);
    for (size_t i = 0; i < count; i++) {
        size_t row = cw_out_row(out, "errors");
        cw_out_cell_number(out, "errors", row, "reference", points[i].reference.value);
        cw_out_cell_number(out, "errors", row, "shown", points[i].shown);
        cw_out_cell_quantity(out, "errors", row, "error", (cw_quantity){r.error_ev[i], r.u_error_ev[i]});
    }
    cw_out_text(out, "advice", "%s", r.advice);
    return CW_OK;
}

static const char *const cautions[] = {"battery", NULL};
static const char *const sources[] = {"weighted line, uncertainty after JCGM 100:2008", "K and C: ISO 2720:1974",
                                      "limit: common practice, no source", NULL};
static const char *const example[] = {"levels", "5,4.3;8,7.2;11,10.1;13,12.2;15,14.2", NULL};

extern const cw_worksheet cw_sheet_meter_check;
const cw_worksheet cw_sheet_meter_check = {
    .name = "meter-check",
    .title = "Light meter against a reference",
    .group = "Light",
    .purpose = "Is the meter shifted, is its scale stretched, or is it bent at one end? From readings at several light "
               "levels, with what to do about it.",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .cautions = cautions,
    .sources = sources,
    .compute = compute,
    .example = example,
};
