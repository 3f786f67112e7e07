/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Reading glasses worn over each other. */
#include <math.h>

#include "optics/bench_glass.h"
#include "worksheets/worksheet.h"

static const cw_field glass_columns[] = {{.key = "power",
                                          .label = "Power",
                                          .kind = CW_KIND_NUMBER,
                                          .dimension = CW_DIOPTRE,
                                          .unit = "D",
                                          .required = true,
                                          .least = -20,
                                          .most = 20,
                                          .help = "as printed on the temple, +1 to +4"}};

static const cw_field inputs[] = {
    {.key = "glasses",
     .label = "Pairs worn",
     .kind = CW_KIND_ROWS,
     .required = true,
     .columns = glass_columns,
     .column_count = CW_COUNT(glass_columns),
     .rows_most = 4,
     .help = "from the one nearest the work to the one nearest the eye"},
    {.key = "gap",
     .label = "Between one pair and the next",
     .kind = CW_KIND_NUMBER,
     .dimension = CW_LENGTH,
     .unit = "mm",
     .fallback = "10 mm",
     .least = 0,
     .most = 0.1,
     .help = ""},
    {.key = "pupils",
     .label = "Between the eyes",
     .kind = CW_KIND_NUMBER,
     .dimension = CW_LENGTH,
     .unit = "mm",
     .fallback = "63 mm",
     .least = 0.045,
     .most = 0.08,
     .help = "pupil to pupil, 58 to 70 mm"},
};

static const cw_field outputs[] = {
    {.key = "power",
     .label = "Power together",
     .kind = CW_KIND_NUMBER,
     .dimension = CW_DIOPTRE,
     .unit = "D",
     .required = true,
     .figures = 3,
     .help = "P1 + P2 - d P1 P2"},
    {.key = "distance",
     .label = "Work stands at",
     .kind = CW_KIND_NUMBER,
     .dimension = CW_LENGTH,
     .unit = "mm",
     .required = true,
     .figures = 3,
     .help = "sharp to a relaxed eye"},
    {.key = "relaxed",
     .label = "Magnification, relaxed eye",
     .kind = CW_KIND_NUMBER,
     .required = true,
     .figures = 3,
     .help = "P x 250 mm"},
    {.key = "near-point",
     .label = "Magnification, focused at 250 mm",
     .kind = CW_KIND_NUMBER,
     .required = true,
     .figures = 3,
     .help = "one more, and more strain"},
    {.key = "convergence",
     .label = "The eyes turn in by",
     .kind = CW_KIND_NUMBER,
     .dimension = CW_ANGLE,
     .unit = "deg",
     .required = true,
     .figures = 3,
     .help = "both together, to meet at the work"},
    {.key = "verdict", .label = "Both eyes?", .kind = CW_KIND_VERDICT, .required = true, .help = ""},
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
