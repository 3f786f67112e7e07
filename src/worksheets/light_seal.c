/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Light-seal strips and mirror cushions. */
#include <math.h>

#include "worksheets/fields.h"
#include "worksheets/plan.h"
#include "workshop/sheet.h"

enum { STRIPS_MOST = 12 };

static const cw_field strip_columns[] = {
    {.key = "name",
     .label = "Place",
     .kind = CW_KIND_TEXT,
     .required = true,
     .help = "upper channel, hinge, mirror cushion"},
    CW_NEED("width", "Width", CW_LENGTH, "mm", 0.5e-3, 30e-3, "of the channel or ledge"),
    CW_NEED("length", "Length", CW_LENGTH, "mm", 2e-3, 1, ""),
    CW_NEED("gap", "Room when shut", CW_LENGTH, "mm", 0.2e-3, 20e-3,
            "from the channel's floor to what closes on it: press a crumb of clay in and measure it"),
    CW_MAYBE("depth", "Depth of the channel", CW_LENGTH, "mm", 0, 20e-3, "left out: as the room"),
    CW_MAYBE("foam", "Foam to hand", CW_LENGTH, "mm", 0.3e-3, 30e-3, "left out: a thickness is proposed"),
};

static const cw_field inputs[] = {
    {.key = "strips",
     .label = "Places",
     .kind = CW_KIND_ROWS,
     .columns = strip_columns,
     .column_count = CW_COUNT(strip_columns),
     .rows_most = STRIPS_MOST,
     .required = true,
     .help = "one a row: place, width, length, room when shut, depth, foam"},
};

static const cw_field result_columns[] = {
    CW_SAY("name", "Place", ""),
    CW_MAY_SHOW("width", "Cut width", CW_LENGTH, "mm", 3, ""),
    CW_MAY_SHOW("length", "Cut length", CW_LENGTH, "mm", 4, ""),
    CW_MAY_SHOW("foam", "Foam", CW_LENGTH, "mm", 2, "thickness"),
    CW_MAY_SHOW("squash", "Squashed by", CW_FRACTION, "%", 2, ""),
    CW_SAY("verdict", "That is", ""),
};

static const cw_field outputs[] = {
    CW_JUDGE("good", "Will they seal and let it shut?", "squashed by 25 to 50 %"),
    CW_TABLE("cut", "To cut", result_columns, ""),
    CW_DRAWN("template", "Strips, 1:1", "stick it on the back of self-adhesive foam"),
};

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    cw_drawing *d;
    CW_TRY(cw_drawing_new("Light-seal strips", "Strips side by side, one for each place.", &d, err));
    size_t count = cw_in_rows(in, "strips");
    double y = 0;
    bool good = true;
    for (size_t i = 0; i < count; i++) {
        const char *name = cw_in_cell_text(in, "strips", i, "name");
        double gap = cw_in_cell_number(in, "strips", i, "gap"), depth = cw_in_cell_number(in, "strips", i, "depth");
        cw_seal seal = {cw_in_cell_number(in, "strips", i, "width"), isnan(depth) ? gap : depth, gap,
                        cw_in_cell_number(in, "strips", i, "length"), cw_in_cell_number(in, "strips", i, "foam")};
        cw_seal_size size;
        cw_status status = cw_seal_find(&seal, &size, err);
        if (status != CW_OK) {
            cw_context(err, "%s", name);
            cw_drawing_free(d);
            return status;
        }
        good = good && size.is_good;
        size_t row = cw_out_row(out, "cut");
        cw_out_cell_text(out, "cut", row, "name", "%s", name);
        cw_out_cell_number(out, "cut", row, "width", size.width_m);
        cw_out_cell_number(out, "cut", row, "length", size.length_m);
        cw_out_cell_number(out, "cut", row, "foam", size.foam_m);
        cw_out_cell_number(out, "cut", row, "squash", size.squash);
        cw_out_cell_text(out, "cut", row, "verdict", "%s", size.why);
        cw_plan_box(d, CW_LAYER_CUT, size.length_m / 2, y - size.width_m / 2, size.length_m, size.width_m);
        cw_plan_note(d, 0, y - size.width_m - 4e-3, "%.60s: %.3g x %.4g mm, foam %.2g mm", name, size.width_m * 1e3,
                     size.length_m * 1e3, size.foam_m * 1e3);
        y -= size.width_m + 8e-3;
    }
    cw_out_drawing(out, "template", d);
    cw_out_verdict(out, "good", good ? CW_VERDICT_INSIDE : CW_VERDICT_OUTSIDE,
                   good ? "every strip is squashed by a quarter to a half"
                        : "look at the last column for the ones that do not");
    cw_out_note(
        out, "Take all of the old foam off first, with a wooden stick and alcohol: what is left turns to tar again.");
    return CW_OK;
}

static const char *const cautions[] = {"solvent", "cutting", NULL};
static const char *const sources[] = {"squash of 25 to 50 %, foam in half millimetres: common practice, no source",
                                      NULL};
static const char *const example[] = {
    "strips", "upper channel,2mm,118mm,1mm;hinge,6mm,24mm,1.3mm;mirror cushion,4mm,34mm,2.2mm,,3mm", NULL};

extern const cw_worksheet cw_sheet_light_seal;
const cw_worksheet cw_sheet_light_seal = {
    .name = "light-seal",
    .title = "Light-seal strips and mirror cushions",
    .group = "Sheet goods",
    .purpose = "Which foam, and cut how, for each channel, hinge and cushion: thick enough to keep the light out, thin "
               "enough that the back shuts.",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .cautions = cautions,
    .sources = sources,
    .compute = compute,
    .example = example,
};
