/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Reading glasses worn over each other. */
#include <math.h>

#include "optics/bench_glass.h"
#include "worksheets/fields.h"

static const cw_field glass_columns[] = {
    CW_NEED("power", "Power", CW_DIOPTRE, "D", -20, 20, "as printed on the temple, +1 to +4")};

static const cw_field inputs[] = {
    {.key = "glasses",
     .label = "Pairs worn",
     .kind = CW_KIND_ROWS,
     .required = true,
     .columns = glass_columns,
     .column_count = CW_COUNT(glass_columns),
     .rows_most = 4,
     .help = "from the one nearest the work to the one nearest the eye"},
    CW_USUAL("gap", "Between one pair and the next", CW_LENGTH, "mm", "10 mm", 0, 0.1, ""),
    CW_USUAL("pupils", "Between the eyes", CW_LENGTH, "mm", "63 mm", 0.045, 0.08, "pupil to pupil, 58 to 70 mm"),
};

static const cw_field outputs[] = {
    CW_SHOW("power", "Power together", CW_DIOPTRE, "D", 3, "P1 + P2 - d P1 P2"),
    CW_SHOW("distance", "Work stands at", CW_LENGTH, "mm", 3, "sharp to a relaxed eye"),
    CW_SHOW("relaxed", "Magnification, relaxed eye", CW_PLAIN, NULL, 3, "P x 250 mm"),
    CW_SHOW("near-point", "Magnification, focused at 250 mm", CW_PLAIN, NULL, 3, "one more, and more strain"),
    CW_SHOW("convergence", "The eyes turn in by", CW_ANGLE, "deg", 3, "both together, to meet at the work"),
    CW_JUDGE("verdict", "Both eyes?", ""),
};

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    double powers[4];
    size_t count = cw_in_rows(in, "glasses");
    if (count > CW_COUNT(powers))
        return cw_fail(err, CW_INPUT, "%zu pairs on one nose; four at most", count);
    for (size_t i = 0; i < count; i++)
        powers[i] = cw_in_cell_number(in, "glasses", i, "power");
    cw_magnifier m;
    CW_TRY(cw_stack_glasses(count, powers, 1000 * cw_in_number(in, "gap"), 1000 * cw_in_number(in, "pupils"), &m, err));
    cw_out_number(out, "power", m.power_per_m);
    cw_out_number(out, "distance", m.working_distance_m);
    cw_out_number(out, "relaxed", m.relaxed);
    cw_out_number(out, "near-point", m.near_point);
    cw_out_number(out, "convergence", m.convergence_deg / 57.29577951308232);
    bool easy = m.convergence_deg <= 18;
    cw_out_verdict(out, "verdict", easy ? CW_VERDICT_INSIDE : CW_VERDICT_OUTSIDE,
                   easy ? "both eyes can meet at the work for a while"
                        : "too near for two eyes: cover one, or use a head magnifier with prisms");
    return CW_OK;
}

static const char *const cautions[] = {"eye-strain", NULL};
static const char *const sources[] = {"thin lenses in contact and apart; magnification P x 0.25 m: textbook",
                                      "18 degrees of turn as the end of comfort: common practice, no source", NULL};
static const char *const example[] = {"glasses", "3;2.5", NULL};

extern const cw_worksheet cw_sheet_reading_glasses;
const cw_worksheet cw_sheet_reading_glasses = {
    .name = "reading-glasses",
    .title = "Stack reading glasses into a magnifier",
    .group = "Bench",
    .purpose = "Two pairs of cheap reading glasses worn over each other add their powers: what that magnifies, how "
               "near the work then is, and how hard the eyes must turn in.",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .cautions = cautions,
    .sources = sources,
    .compute = compute,
    .example = example,
};
