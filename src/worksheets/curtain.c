/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Cloth for one curtain of a focal-plane shutter. */
#include <math.h>

#include "worksheets/fields.h"
#include "worksheets/plan.h"
#include "workshop/sheet.h"

static const cw_field inputs[] = {
    CW_USUAL("frame-width", "Frame along the travel", CW_LENGTH, "mm", "36 mm", 10e-3, 0.2, ""),
    CW_USUAL("frame-height", "Frame across the travel", CW_LENGTH, "mm", "24 mm", 10e-3, 0.2, ""),
    CW_USUAL("side", "Cloth beside the frame", CW_LENGTH, "mm", "3 mm", 0.5e-3, 20e-3,
             "on each side, in the light trap; measure the old one"),
    CW_USUAL("edge", "Width of the metal edge", CW_LENGTH, "mm", "2 mm", 0.5e-3, 10e-3, ""),
    CW_USUAL("overlap", "Overlap beyond the frame", CW_LENGTH, "mm", "3 mm", 0.5e-3, 20e-3,
             "at each end of the travel"),
    CW_NEED("drum", "Diameter of its drum", CW_LENGTH, "mm", 3e-3, 80e-3, ""),
    CW_USUAL("stays", "Turns that stay on the drum", CW_PLAIN, NULL, "0.5", 0, 5, "at the far end of the travel"),
    CW_USUAL("cloth", "Thickness of the cloth", CW_LENGTH, "mm", "0.25 mm", 0.05e-3, 1.5e-3,
             "folded sixteen times and divided"),
    CW_USUAL("seam", "Width of each glued seam", CW_LENGTH, "mm", "5 mm", 0.5e-3, 20e-3,
             "at the drum and at the metal edge"),
};

static const cw_field outputs[] = {
    CW_SHOW("width", "Cloth, across the travel", CW_LENGTH, "mm", 4, ""),
    CW_SHOW("length", "Cloth, along it", CW_LENGTH, "mm", 4, "seams included"),
    CW_SHOW("free", "Between the seams", CW_LENGTH, "mm", 4, "what must agree with the old curtain"),
    CW_SHOW("build", "Drum with all cloth on it", CW_LENGTH, "mm", 3, "look whether it clears the body"),
    CW_SHOW("turns", "Turns of the drum for the frame", CW_PLAIN, NULL, 3, ""),
    CW_DRAWN("template", "Curtain, 1:1", ""),
};

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    cw_curtain c = {cw_in_number(in, "frame-width"), cw_in_number(in, "frame-height"), cw_in_number(in, "side"),
                    cw_in_number(in, "edge"),        cw_in_number(in, "overlap"),      cw_in_number(in, "drum"),
                    cw_in_number(in, "stays"),       cw_in_number(in, "cloth"),        cw_in_number(in, "seam")};
    cw_curtain_size size;
    CW_TRY(cw_curtain_find(&c, &size, err));
    cw_drawing *d;
    CW_TRY(cw_drawing_new("Shutter curtain", "A rectangle of cloth with its two seams.", &d, err));
    cw_plan_box(d, CW_LAYER_CUT, size.length_m / 2, 0, size.length_m, size.width_m);
    cw_draw_line(d, CW_LAYER_FOLD, cw_plan_at(c.glue_m, -size.width_m / 2), cw_plan_at(c.glue_m, size.width_m / 2));
    cw_draw_line(d, CW_LAYER_FOLD, cw_plan_at(size.length_m - c.glue_m, -size.width_m / 2),
                 cw_plan_at(size.length_m - c.glue_m, size.width_m / 2));
    cw_plan_size(d, 0, size.width_m / 2, size.length_m, size.width_m / 2, 10);
    cw_plan_size(d, c.glue_m, size.width_m / 2, size.length_m - c.glue_m, size.width_m / 2, 4);
    cw_plan_size(d, size.length_m, size.width_m / 2, size.length_m, -size.width_m / 2, 6);
    cw_plan_note(d, 0, -size.width_m / 2 - 7e-3,
                 "left seam to the drum, right seam under the metal edge (%.2g mm); rubber side to the lens",
                 c.lath_m * 1e3);
    cw_out_drawing(out, "template", d);
    cw_out_number(out, "width", size.width_m);
    cw_out_number(out, "length", size.length_m);
    cw_out_number(out, "free", size.free_m);
    cw_out_number(out, "build", size.drum_build_m);
    cw_out_number(out, "turns", size.travel_turns);
    cw_out_note(out, "The old curtain decides: measure it before it is thrown away, and set both metal edges parallel "
                     "to the frame before the glue is dry.");
    return CW_OK;
}

static const char *const cautions[] = {"spring", "solvent", NULL};
static const char *const sources[] = {"winding: length times thickness fills the ring round the drum; geometry",
                                      "side, overlap and seams: common practice, no source", NULL};
static const char *const example[] = {"drum", "8mm", NULL};

extern const cw_worksheet cw_sheet_curtain;
const cw_worksheet cw_sheet_curtain = {
    .name = "curtain",
    .title = "Cloth for a shutter curtain",
    .group = "Sheet goods",
    .purpose =
        "Size of the cloth for one curtain of a focal-plane shutter, with its seams, and how thick it makes the drum.",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .cautions = cautions,
    .sources = sources,
    .compute = compute,
    .example = example,
};
