/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The sizes of a thread by its name, or by its diameter and pitch. */
#include <math.h>
#include <stdio.h>

#include "worksheets/fields.h"
#include "workshop/thread.h"

static const cw_choice forms[] = {{"60", "60 degrees: metric, Unified"},
                                  {"55", "55 degrees: Whitworth form"},
                                  {"47.5", "47.5 degrees: British Association"},
                                  {NULL, NULL}};

static const cw_field inputs[] = {
    {.key = "name",
     .label = "Thread",
     .kind = CW_KIND_TEXT,
     .help = "M1.7, M1.7x0.35, #2-56, 1/4-20, 6BA, S0.9, M39x26tpi; or diameter and pitch below"},
    CW_MAYBE("major", "Outside diameter", CW_LENGTH, "mm", 0.2e-3, 0.2, "of the screw, nominal"),
    CW_MAYBE("pitch", "Pitch", CW_LENGTH, "mm", 0.05e-3, 10e-3, ""),
    CW_MAYBE("per-inch", "Threads to the inch", CW_PLAIN, NULL, 2, 500, "instead of the pitch"),
    CW_PICK("form", "Form", forms, "60", "for a thread given by diameter and pitch"),
    CW_USUAL("engagement", "Depth of thread to tap", CW_FRACTION, "%", "75 %", 0.3, 1,
             "of the full thread; 75 usual, 60 in hard metal and small sizes"),
};

static const cw_field outputs[] = {
    CW_SAY("thread", "Thread", ""),
    CW_SAY("family", "Kind", ""),
    CW_SHOW("major", "Outside diameter", CW_LENGTH, "mm", 5, "basic"),
    CW_SHOW("pitch", "Pitch", CW_LENGTH, "mm", 4, ""),
    CW_SHOW("per-inch", "Threads to the inch", CW_PLAIN, NULL, 4, ""),
    CW_SHOW("angle", "Angle of the flanks", CW_ANGLE, "deg", 3, ""),
    CW_SHOW("pitch-diameter", "Pitch diameter", CW_LENGTH, "mm", 5, "basic"),
    CW_SHOW("minor", "Bore of the nut", CW_LENGTH, "mm", 5, "basic minor diameter D1"),
    CW_SHOW("root", "Root of the screw", CW_LENGTH, "mm", 5, "d3, rounded root; of a Unified thread by its own rule"),
    CW_SHOW("tap-drill", "Drill to tap", CW_LENGTH, "mm", 3, "outside diameter less one pitch, the usual drill"),
    CW_SHOW("tap-drill-depth", "Drill for that depth of thread", CW_LENGTH, "mm", 3, "take the next drill made"),
    CW_MAY_SHOW("bore-most", "Bore of the nut at most", CW_LENGTH, "mm", 5, "in tolerance"),
    CW_MAY_SHOW("major-least", "Screw at the least", CW_LENGTH, "mm", 5, "outside, in tolerance"),
    CW_SHOW("stress-area", "Area that pulls", CW_AREA, "mm2", 3,
            "of a circle between pitch diameter and root; Unified: of D - 0.9743 P"),
    CW_SHOW("lead-angle", "Lead angle", CW_ANGLE, "deg", 3, "at the pitch diameter"),
};

/* From diameter and pitch alone: no tolerances, since the kind is not known. */
static cw_status by_sizes(const cw_sheet_in *in, cw_thread *thread, cw_error *err)
{
    double major = cw_in_number(in, "major"), pitch = cw_in_number(in, "pitch"),
           per_inch = cw_in_number(in, "per-inch");
    if (isnan(major) || isnan(pitch) == isnan(per_inch))
        return cw_fail(
            err, CW_INPUT,
            "name the thread (--name M1.7), or give its outside diameter and one of pitch and threads to the "
            "inch");
    if (isnan(pitch))
        pitch = 0.0254 / per_inch;
    double angle = cw_in_is(in, "form", "55") ? 55 : cw_in_is(in, "form", "47.5") ? 47.5 : 60;
    CW_TRY(cw_thread_of(major, pitch, angle * M_PI / 180, thread, err));
    if (angle == 60 && !isnan(per_inch))
        thread->family = CW_THREAD_UNIFIED; /* counted to the inch: its root and area are those of Unified threads */
    return CW_OK;
}

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    cw_thread t;
    const char *name = cw_in_text(in, "name");
    if (name[0] == '\0')
        CW_TRY(by_sizes(in, &t, err));
    else if (!cw_thread_named(name, &t))
        return cw_fail(
            err, CW_INPUT,
            "\"%.40s\" is not in the list of threads; give its outside diameter and pitch instead, or a name "
            "like M1.7x0.35, #2-56, 6BA, S0.9",
            name);
    double P = t.pitch_m, depth = t.major_m - t.minor_m; /* from the crest to the nut's bore, on diameter */
    double root = cw_thread_root_m(&t);
    cw_out_text(out, "thread", "%s", t.name);
    cw_out_text(out, "family", "%s", name[0] == '\0' ? "by its sizes" : cw_thread_family_name(t.family));
    cw_out_number(out, "major", t.major_m);
    cw_out_number(out, "pitch", P);
    cw_out_number(out, "per-inch", 0.0254 / P);
    cw_out_number(out, "angle", t.angle_rad);
    cw_out_number(out, "pitch-diameter", t.pitch_diameter_m);
    cw_out_number(out, "minor", t.minor_m);
    cw_out_number(out, "root", root);
    cw_out_number(out, "tap-drill", t.major_m - P);
    /* percent of thread: over the full sharp-crested height of 1.299 P on 60 degrees, as drill tables reckon it */
    double full = t.angle_rad > 1 ? 1.299038 * P : depth;
    cw_out_number(out, "tap-drill-depth", t.major_m - cw_in_number(in, "engagement") * full);
    cw_out_number(out, "bore-most", t.minor_most_m);
    cw_out_number(out, "major-least", t.major_least_m);
    cw_out_number(out, "stress-area", cw_thread_stress_area_m2(&t));
    cw_out_number(out, "lead-angle", atan(P / (M_PI * t.pitch_diameter_m)));
    return CW_OK;
}

static const char *const sources[] = {
    "d2, D1: ISO 68-1 (60 degrees), BS 84 form (55), BS 93 (47.5); d3 = d - 1.2269 P and the area between: ISO 898-1, "
    "from memory; Unified: d - 1.1908 P by Machinery's Handbook, table 4a, the area by ASME B1.1, from memory",
    "sizes and tolerances: as the sheet that names a screw",
    "drill: outside diameter less one pitch, common practice; by depth of thread d - 1.299 P times the depth: "
    "Machinery's Handbook, tap drills, from memory",
    NULL};
static const char *const example[] = {"name", "M1.7", NULL};

extern const cw_worksheet cw_sheet_thread_sizes;
const cw_worksheet cw_sheet_thread_sizes = {
    .name = "thread-sizes",
    .title = "Sizes of a thread, and the drill to tap it",
    .group = "Parts",
    .purpose = "A screw has to be made or its hole tapped. Pitch, diameters, the drill and the area that pulls, by the "
               "thread's name or its sizes.",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .sources = sources,
    .compute = compute,
    .example = example,
};
