/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which cross-recess driver belongs to a screw. */
#include <math.h>

#include "worksheets/fields.h"
#include "workshop/driver.h"

static const cw_choice threads[] = {
    {"M1.2", "M1.2"}, {"M1.4", "M1.4"}, {"M1.6", "M1.6"}, {"M1.7", "M1.7"}, {"M2", "M2"},   {"M2.3", "M2.3"},
    {"M2.5", "M2.5"}, {"M3", "M3"},     {"M3.5", "M3.5"}, {"M4", "M4"},     {"M5", "M5"},   {"M6", "M6"},
    {"M8", "M8"},     {"M10", "M10"},   {"#0", "#0"},     {"#1", "#1"},     {"#2", "#2"},   {"#3", "#3"},
    {"#4", "#4"},     {"#5", "#5"},     {"#6", "#6"},     {"#8", "#8"},     {"#10", "#10"}, {"#12", "#12"},
    {"1/4", "1/4"},   {"5/16", "5/16"}, {"3/8", "3/8"},   {NULL, NULL}};

static const cw_field inputs[] = {
    CW_PICK("thread", "Thread of the screw", threads, "M1.7", "see the sheet that names a screw"),
    CW_MAYBE("head", "Measured head diameter", CW_LENGTH, "mm", 0.5e-3, 30e-3,
             "a small head can carry a smaller recess"),
};

static const cw_field outputs[] = {
    CW_SHOW("number", "Recess and driver number", CW_PLAIN, NULL, 1, "of the common cross recess, type I (H)"),
    CW_MAY_SHOW("head-usual", "Usual head", CW_LENGTH, "mm", 3, "pan head where a table was found"),
    CW_MAY_SHOW("head-height", "Its height", CW_LENGTH, "mm", 3, ""),
    CW_MAY_SHOW("recess", "Width of the recess", CW_LENGTH, "mm", 3, "across the wings, at the surface"),
    CW_SAY("source", "From", ""),
};

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    const cw_recess *recess = cw_recess_find(cw_in_text(in, "thread"));
    if (recess == NULL)
        return cw_fail(err, CW_NOT_FOUND, "no cross recess is known for %s", cw_in_text(in, "thread"));
    cw_out_number(out, "number", recess->number);
    cw_out_number(out, "head-usual", recess->head_m);
    cw_out_number(out, "head-height", recess->head_height_m);
    cw_out_number(out, "recess", recess->recess_m);
    cw_out_text(out, "source", "%s", recess->source);
    double head = cw_in_number(in, "head");
    if (!isnan(head) && !isnan(recess->head_m) && fabs(head - recess->head_m) > 0.15 * recess->head_m)
        cw_out_note(out,
                    "A head of %.3g mm is not the usual %.3g mm: try the driver by hand, and the next smaller one.",
                    head * 1e3, recess->head_m * 1e3);
    cw_out_note(out, "In older cameras a driver without the cam-out taper, its end ground a little flat, sits deeper: "
                     "common practice, no source.");
    return CW_OK;
}

static const char *const cautions[] = {"force", NULL};
static const char *const sources[] = {"ISO 4757 and ISO 8764-1, from memory",
                                      "JIS B 1012 type S, a screw maker's published table",
                                      "ASME B18.6.3 (boltingspecialist.com)", NULL};
static const char *const example[] = {"thread", "M1.7", "head", "2.5mm", NULL};

extern const cw_worksheet cw_sheet_cross_recess;
const cw_worksheet cw_sheet_cross_recess = {
    .name = "cross-recess",
    .title = "Cross-recess driver for a screw",
    .group = "Tools",
    .purpose = "Says which number of cross-recess driver belongs to a thread, so that the recess is not reamed by one "
               "a size too small.",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .cautions = cautions,
    .sources = sources,
    .compute = compute,
    .example = example,
};
