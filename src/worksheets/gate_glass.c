/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Ground glass for the film gate, and a gasket of the frame's size. */
#include <math.h>

#include "worksheets/fields.h"
#include "worksheets/plan.h"
#include "workshop/sheet.h"

static const cw_field inputs[] = {
    CW_PICK("frame", "Frame", cw_frame_choices, "24x36", "nominal; a gate can differ by half a millimetre"),
    CW_MAYBE("frame-width", "Measured frame, along the film", CW_LENGTH, "mm", 5e-3, 0.3, "left out: nominal"),
    CW_MAYBE("frame-height", "Measured frame, across the film", CW_LENGTH, "mm", 5e-3, 0.3, "left out: nominal"),
    CW_MAYBE("rails", "Between the inner rails", CW_LENGTH, "mm", 5e-3, 0.3,
             "the glass lies on them; left out: frame and 2 mm"),
    CW_MAYBE("outer-rails", "Between the outer rails", CW_LENGTH, "mm", 5e-3, 0.3,
             "the glass has to pass between them"),
    CW_USUAL("ledge", "Overlap at each end", CW_LENGTH, "mm", "6 mm", 0.5e-3, 30e-3, "along the film, to hold it by"),
    CW_USUAL("gasket", "Width of a gasket round the frame", CW_LENGTH, "mm", "2 mm", 0.3e-3, 30e-3,
             "for the second drawing"),
};

static const cw_field outputs[] = {
    CW_SHOW("width", "Glass, along the film", CW_LENGTH, "mm", 4, ""),
    CW_SHOW("height", "Glass, across the film", CW_LENGTH, "mm", 4, ""),
    CW_SAY("side", "Which side", ""),
    CW_DRAWN("template", "Glass, 1:1", "lay the glass on it and score along a steel rule"),
    CW_DRAWN("gasket-template", "Gasket, 1:1", ""),
};

static cw_status draw_glass(const cw_screen *s, const cw_screen_size *size, cw_drawing **drawing, cw_error *err)
{
    cw_drawing *d;
    CW_TRY(cw_drawing_new("Ground glass", "A rectangle of glass with the frame dashed in it.", &d, err));
    cw_plan_box(d, CW_LAYER_CUT, 0, 0, size->width_m, size->height_m);
    cw_plan_box(d, CW_LAYER_HIDDEN, 0, 0, s->frame_width_m, s->frame_height_m);
    cw_plan_cross(d, 0, 0, 8e-3);
    cw_plan_size(d, -size->width_m / 2, size->height_m / 2, size->width_m / 2, size->height_m / 2, 6);
    cw_plan_size(d, size->width_m / 2, size->height_m / 2, size->width_m / 2, -size->height_m / 2, 6);
    cw_plan_note(d, -size->width_m / 2, -size->height_m / 2 - 7e-3,
                 "stone the edges and %.2g mm off the corners; dashed: the frame", size->corner_m * 1e3);
    *drawing = d;
    return CW_OK;
}

static cw_status draw_gasket(const cw_screen *s, double band_m, cw_drawing **drawing, cw_error *err)
{
    cw_drawing *d;
    CW_TRY(cw_drawing_new("Gasket round the frame",
                          "A frame-shaped strip, its opening a little larger than the picture.", &d, err));
    double w = s->frame_width_m + 0.4e-3, h = s->frame_height_m + 0.4e-3; /* clear of the picture by 0.2 mm all round */
    cw_plan_box(d, CW_LAYER_CUT, 0, 0, w, h);
    cw_plan_box(d, CW_LAYER_CUT, 0, 0, w + 2 * band_m, h + 2 * band_m);
    cw_plan_size(d, -w / 2, -h / 2 - band_m, w / 2, -h / 2 - band_m, -6);
    cw_plan_size(d, w / 2 + band_m, h / 2, w / 2 + band_m, -h / 2, 6);
    *drawing = d;
    return CW_OK;
}

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    const cw_frame *frame = cw_frame_find(cw_in_text(in, "frame"));
    cw_screen screen = {cw_in_or(in, "frame-width", frame->width_m), cw_in_or(in, "frame-height", frame->height_m),
                        cw_in_number(in, "rails"), cw_in_number(in, "ledge"), cw_in_number(in, "outer-rails")};
    cw_screen_size size;
    CW_TRY(cw_screen_find(&screen, &size, err));
    cw_drawing *drawing;
    CW_TRY(draw_glass(&screen, &size, &drawing, err));
    cw_out_drawing(out, "template", drawing);
    CW_TRY(draw_gasket(&screen, cw_in_number(in, "gasket"), &drawing, err));
    cw_out_drawing(out, "gasket-template", drawing);
    cw_out_number(out, "width", size.width_m);
    cw_out_number(out, "height", size.height_m);
    cw_out_text(out, "side",
                "Matt side to the lens, lying on the inner rails: that is where the emulsion lies. Press it flat; tape "
                "it at the ends.");
    if (!cw_in_given(in, "rails"))
        cw_out_note(out, "The rails were not measured: cut once, after measuring between them.");
    return CW_OK;
}

static const char *const cautions[] = {"cutting", "dust", NULL};
static const char *const sources[] = {"nominal frames: from memory",
                                      "overlaps and clearances: common practice, no source", NULL};
static const char *const example[] = {"frame", "24x36", "rails", "26.6mm", "outer-rails", "35.3mm", NULL};

extern const cw_worksheet cw_sheet_gate_glass;
const cw_worksheet cw_sheet_gate_glass = {
    .name = "gate-glass",
    .title = "Glass and gasket cut for the film gate",
    .group = "Sheet goods",
    .purpose = "Focus is proved on a ground glass that lies where the film lies. Gives its size for this gate, and a "
               "gasket round the frame, at true size.",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .cautions = cautions,
    .sources = sources,
    .compute = compute,
    .example = example,
};
