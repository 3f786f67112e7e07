/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The start a helicoid is on, and the way to the right one. */
#include <math.h>

#include "optics/focus.h"
#include "optics/helicoid.h"
#include "worksheets/focus_fields.h"

static const cw_choice hand_choices[] = {{"right", "right-hand"}, {"left", "left-hand"}, {NULL, NULL}};
static const cw_field table_columns[] = {
    CW_MAY_SHOW("starts", "Starts deeper than now", CW_PLAIN, NULL, 1, "negative: further out"),
    CW_MAY_SHOW("error", "Infinity error then", CW_LENGTH, "mm", 3, "on the film")};

static const cw_field inputs[] = {
    CW_NEED("lead", "Lead", CW_LENGTH, "mm", 0.0001, 0.5, "travel in one whole turn: measure a part turn and scale up"),
    CW_NEED_COUNT("starts", "Thread starts", 1, 64, "count the thread ends at the rim"),
    CW_PICK("hand", "Thread", hand_choices, "right", "right-hand screws in clockwise"),
    CW_MAYBE("error", "Lens stands too far out at the infinity mark by", CW_LENGTH, "mm", -0.3, 0.3,
             "positive: focused too near; negative: beyond infinity. Or give what is sharp instead"),
    CW_MAYBE("sharp-at", "Or: sharp at, with the scale at infinity", CW_LENGTH, "m", 0.05, 1000000.0,
             "only when it focuses too near; needs the focal length"),
    CW_MAYBE("focal-length", "Focal length", CW_LENGTH, "mm", 0.003, 2, "for distances"),
    CW_USUAL("u-error", "Uncertainty of that", CW_LENGTH, "mm", "0.1 mm", 0, 0.05, "one standard deviation"),
    CW_MAYBE("rotation", "Rotation from stop to stop", CW_ANGLE, "deg", 0.01, 40,
             "to tell what the scale should read at the near stop"),
};

static const cw_field outputs[] = {
    CW_SHOW("pitch", "From thread to thread", CW_LENGTH, "mm", 3, "lead / starts: what one start is worth"),
    CW_SHOW("starts-off", "Starts off", CW_PLAIN, NULL, 1, "positive: it must go deeper"),
    CW_SHOW("left", "Remains on the right start", CW_LENGTH, "mm", 3, "for the infinity stop, the scale or shims"),
    CW_JUDGE("sure", "How sure", ""),
    {.key = "advice",
     .label = "What to do",
     .kind = CW_KIND_TEXT,
     .required = true,
     .help = "how to put it together again"},
    CW_SAY("near-stop", "The scale should read at the near stop", "with infinity right at the other"),
    {.key = "table",
     .label = "If it goes together otherwise",
     .kind = CW_KIND_ROWS,
     .required = true,
     .columns = table_columns,
     .column_count = CW_COUNT(table_columns),
     .help = "the same mark, neighbouring starts"},
};

static cw_status infinity_error(const cw_sheet_in *in, double *error_mm, cw_error *err)
{
    if (cw_in_given(in, "error") == cw_in_given(in, "sharp-at"))
        return cw_fail(err, CW_INPUT,
                       "give the infinity error in mm, or what is sharp with the scale at infinity: one of the "
                       "two");
    if (cw_in_given(in, "error")) {
        *error_mm = 1000 * cw_in_number(in, "error");
        return CW_OK;
    }
    if (!cw_in_given(in, "focal-length"))
        return cw_fail(err, CW_INPUT, "give the focal length too, to turn the distance into an error");
    double f = 1000 * cw_in_number(in, "focal-length"), v;
    CW_TRY(cw_image_distance_mm(f, cw_in_number(in, "sharp-at"), &v, err));
    *error_mm = v - f;
    return CW_OK;
}

static cw_status tell_near_stop(const cw_sheet_in *in, const cw_helicoid *thread, cw_sheet_out *out, cw_error *err)
{
    if (!cw_in_given(in, "rotation") || !cw_in_given(in, "focal-length"))
        return CW_OK;
    double f = 1000 * cw_in_number(in, "focal-length"), d;
    double travel = cw_helicoid_travel_mm(thread, cw_in_number(in, "rotation") * 57.29577951308232);
    CW_TRY(cw_subject_distance_m(f, f + travel, &d, err));
    /* scales count from the film: the image distance and the subject distance together */
    cw_out_text(out, "near-stop", "%.3g m from the film, after %.2f mm of travel", d + (f + travel) / 1000, travel);
    return CW_OK;
}

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    double starts = cw_in_number(in, "starts"), error_mm = NAN;
    const cw_helicoid thread = {1000 * cw_in_number(in, "lead"), (size_t)starts, cw_in_is(in, "hand", "left")};
    cw_helicoid_start s;
    char words[300];
    CW_TRY(infinity_error(in, &error_mm, err));
    CW_TRY(cw_helicoid_find_start(&thread, (cw_quantity){error_mm, 1000 * cw_in_number(in, "u-error")}, &s, err));
    cw_out_number(out, "pitch", s.pitch_mm / 1000);
    cw_out_number(out, "starts-off", s.starts_off);
    cw_out_quantity(out, "left", (cw_quantity){s.left_mm.value / 1000, s.left_mm.u / 1000});
    cw_out_verdict(out, "sure", s.chance_wrong < 0.025 ? CW_VERDICT_INSIDE : CW_VERDICT_TOO_CLOSE,
                   "%s%.2g %% chance that the neighbouring start is meant; one start is worth %.2f mm",
                   s.chance_wrong < 1e-3 ? "below " : "", 100 * fmax(s.chance_wrong, 1e-3), s.pitch_mm);
    cw_helicoid_advice(&thread, &s, words, sizeof words);
    cw_out_text(out, "advice", "%s", words);
    for (int k = -2; k <= 2; k++) {
        size_t row = cw_out_row(out, "table");
        cw_out_cell_number(out, "table", row, "starts", k);
        cw_out_cell_number(out, "table", row, "error", (error_mm - k * s.pitch_mm) / 1000);
    }
    cw_out_note(
        out, "scratch a witness mark across both parts where the threads let go, before taking them apart; in a double "
             "helicoid mark both threads");
    return tell_near_stop(in, &thread, out, err);
}

static const char *const sources[] = {"lead = starts x pitch: geometry of a multiple thread",
                                      "thin lens for the distances", NULL};
static const char *const example[] = {"lead",         "30 mm", "starts",   "6",      "sharp-at", "0.3 m",
                                      "focal-length", "50 mm", "rotation", "90 deg", NULL};

extern const cw_worksheet cw_sheet_helicoid;
const cw_worksheet cw_sheet_helicoid = {
    .name = "helicoid",
    .title = "Which thread start is the lens on?",
    .group = "Focus",
    .purpose = "A focusing helicoid has several thread starts and goes together on any of them; only one lets infinity "
               "be sharp at the infinity mark. From the infinity error this finds which start it is on, and which way "
               "and how many starts to go.",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .sources = sources,
    .compute = compute,
    .example = example,
};
