/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which thread a measured screw has. */
#include <math.h>

#include "worksheets/fields.h"
#include "workshop/thread.h"

static const cw_choice sides[] = {
    {"screw", "A screw: over its crests"}, {"hole", "A tapped hole: its bore"}, {NULL, NULL}};
static const cw_choice origins[] = {{"unknown", "Not known"},
                                    {"metric", "Metric country"},
                                    {"inch", "Inch country"},
                                    {"british", "Britain, instrument work"},
                                    {NULL, NULL}};

static const cw_field inputs[] = {
    CW_PICK("side", "What was measured", sides, "screw", ""),
    CW_NEED("diameter", "Diameter", CW_LENGTH, "mm", 0.2e-3, 0.12,
            "over the crests of the screw, or the bore of the hole"),
    CW_USUAL("diameter-u", "How far it can be off", CW_LENGTH, "mm", "0.02 mm", 1e-6, 1e-3,
             "standard uncertainty; a caliper 0.02 mm, a micrometer 0.005 mm"),
    CW_MAYBE("pitch", "Pitch", CW_LENGTH, "mm", 0.05e-3, 4e-3,
             "length over many turns, divided by them; from a photograph beside a scale"),
    CW_MAYBE("per-inch", "or turns to the inch", CW_PLAIN, NULL, 6, 400, ""),
    CW_USUAL("pitch-u", "How far the pitch can be off", CW_LENGTH, "mm", "0.01 mm", 1e-7, 0.3e-3,
             "standard uncertainty"),
    CW_PICK("origin", "Where the camera was made", origins, "unknown",
            "shifts the chances only a little; no thread is ruled out"),
};

static const cw_field match_columns[] = {
    CW_SAY("thread", "Thread", ""),
    CW_SAY("family", "Family", ""),
    CW_MAY_SHOW("probability", "Chance", CW_FRACTION, "%", 2, "among all listed, and none of them"),
    CW_MAY_SHOW("major", "Major diameter", CW_LENGTH, "mm", 4, ""),
    CW_MAY_SHOW("pitch", "Pitch", CW_LENGTH, "mm", 4, ""),
    CW_MAY_SHOW("angle", "Flank angle", CW_ANGLE, "deg", 3, ""),
    CW_MAY_SHOW("tap-drill", "Bore to tap", CW_LENGTH, "mm", 3, "basic minor diameter"),
};

static const cw_field outputs[] = {
    CW_TABLE("threads", "It could be", match_columns, "likeliest first"),
    CW_SHOW("none", "None of the listed", CW_FRACTION, "%", 2, ""),
    CW_SAY("next", "What would decide it", ""),
};

static void set_weights(const cw_sheet_in *in, double weights[CW_THREAD_FAMILY_COUNT])
{
    for (int i = 0; i < CW_THREAD_FAMILY_COUNT; i++)
        weights[i] = 1;
    bool metric = cw_in_is(in, "origin", "metric"), inch = cw_in_is(in, "origin", "inch"),
         british = cw_in_is(in, "origin", "british");
    /* common practice, no source: a stray thread of another system is met in one screw of ten */
    if (metric)
        weights[CW_THREAD_UNIFIED] = weights[CW_THREAD_BA] = 0.1;
    if (inch)
        weights[CW_THREAD_ISO_COARSE] = weights[CW_THREAD_ISO_FINE] = weights[CW_THREAD_OLD_METRIC] =
            weights[CW_THREAD_BA] = 0.1;
    if (british)
        weights[CW_THREAD_ISO_COARSE] = weights[CW_THREAD_ISO_FINE] = weights[CW_THREAD_OLD_METRIC] =
            weights[CW_THREAD_UNIFIED] = 0.2;
}

static void say_next(cw_sheet_out *out, const cw_thread_match *m, size_t count, double none, bool has_pitch)
{
    if (count == 0 || none > 0.5)
        cw_out_text(out, "next",
                    "Measure again: worn crests read small, and a bent screw reads large. If it stands, the thread is "
                    "a special one: chase or make a pair.");
    else if (count == 1 || m[0].probability > 0.9)
        cw_out_text(out, "next",
                    "%s is likely; prove it by turning in a known screw or nut by hand, three turns without force.",
                    m[0].thread.name);
    else if (!has_pitch)
        cw_out_text(out, "next", "Measure the pitch: lay the screw beside a scale and photograph it, count ten turns.");
    else if (fabs(m[0].thread.pitch_m - m[1].thread.pitch_m) < 1e-6)
        cw_out_text(
            out, "next",
            "%s and %s differ in the flank angle only: compare the profile with a known screw against the light.",
            m[0].thread.name, m[1].thread.name);
    else
        cw_out_text(out, "next", "%s and %s differ by %.3f mm of pitch: measure over as many turns as there are.",
                    m[0].thread.name, m[1].thread.name, fabs(m[0].thread.pitch_m - m[1].thread.pitch_m) * 1e3);
}

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    double weights[CW_THREAD_FAMILY_COUNT], pitch = cw_in_number(in, "pitch"), per_inch = cw_in_number(in, "per-inch");
    if (!isnan(pitch) && !isnan(per_inch))
        return cw_fail(err, CW_INPUT, "give the pitch or the turns to the inch, not both");
    if (!isnan(per_inch))
        pitch = 0.0254 / per_inch;
    set_weights(in, weights);
    cw_thread_measured measured = {cw_in_is(in, "side", "hole"),
                                   {cw_in_number(in, "diameter"), cw_in_number(in, "diameter-u")},
                                   {pitch, isnan(pitch) ? NAN : cw_in_number(in, "pitch-u")},
                                   weights};
    cw_thread_match m[8];
    size_t count;
    double none;
    CW_TRY(cw_thread_identify(&measured, m, CW_COUNT(m), &count, &none, err));
    for (size_t i = 0; i < count; i++) {
        size_t row = cw_out_row(out, "threads");
        cw_out_cell_text(out, "threads", row, "thread", "%s", m[i].thread.name);
        cw_out_cell_text(out, "threads", row, "family", "%s", cw_thread_family_name(m[i].thread.family));
        cw_out_cell_number(out, "threads", row, "probability", m[i].probability);
        cw_out_cell_number(out, "threads", row, "major", m[i].thread.major_m);
        cw_out_cell_number(out, "threads", row, "pitch", m[i].thread.pitch_m);
        cw_out_cell_number(out, "threads", row, "angle", m[i].thread.angle_rad);
        cw_out_cell_number(out, "threads", row, "tap-drill", m[i].thread.minor_m);
    }
    cw_out_number(out, "none", none);
    say_next(out, m, count, none, !isnan(pitch));
    return CW_OK;
}

static const char *const sources[] = {"ISO 261/262, ISO 68-1, ISO 965-1 (metric); ASME B1.1 (Unified); BS 93:1951 "
                                      "(BA); ASME B1.10M / ISO 1501 (miniature)",
                                      "M1.7, M2.3, M2.6: deepri.com and a published metric size table",
                                      "filter and mount threads: trade practice, from memory", NULL};
static const char *const example[] = {"diameter", "1.65mm", "pitch", "0.35mm", "origin", "metric", NULL};

extern const cw_worksheet cw_sheet_which_screw;
const cw_worksheet cw_sheet_which_screw = {
    .name = "which-screw",
    .title = "Which thread is this screw?",
    .group = "Parts",
    .purpose = "Ranks the threads a measured screw or hole could have, with their chances, so that a spare is not "
               "forced into a thread that is nearly the same.",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .sources = sources,
    .compute = compute,
    .example = example,
};
