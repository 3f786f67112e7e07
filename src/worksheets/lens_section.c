/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Faces in, a section to scale with figures out. */
#include <math.h>
#include <stdio.h>

#include "draw/lens_section.h"
#include "optics/lens_report.h"
#include "worksheets/focus_fields.h"

static const cw_field surface_columns[] = {
    CW_NEED("radius", "Radius", CW_LENGTH, "mm", -100, 100, "centre to the rear positive; 0 = flat"),
    CW_NEED("thickness", "To the next", CW_LENGTH, "mm", 0, 2, "glass or air behind this face; the last may be 0"),
    CW_NEED("index", "Index behind", CW_PLAIN, NULL, 1, 4, "1 for air"),
    CW_MAYBE("diameter", "Clear diameter", CW_LENGTH, "mm", 0.0001, 1, "may be left out")};
static const cw_field spot_columns[] = {
    CW_MAY_SHOW("field", "Field", CW_ANGLE, "deg", 3, "from the axis"),
    CW_MAY_SHOW("height", "Image height", CW_LENGTH, "mm", 3, "of the spot's middle"),
    CW_MAY_SHOW("spot", "Spot", CW_LENGTH, "um", 3, "root mean square"),
    CW_MAY_SHOW("best", "At its own best plane", CW_LENGTH, "um", 3, "root mean square")};

static const cw_field inputs[] = {
    {.key = "surfaces",
     .label = "Faces, front to back",
     .kind = CW_KIND_ROWS,
     .required = true,
     .columns = surface_columns,
     .column_count = CW_COUNT(surface_columns),
     .rows_most = 24,
     .help = "one row a face; the stop may be a flat row with index 1"},
    CW_NEED("aperture", "F-number", CW_PLAIN, NULL, 0.5, 256, "sets the beam"),
    CW_MAYBE("half-field", "Half field", CW_ANGLE, "deg", 0, 1.2,
             "angle from the axis to the corner; left out: axis only"),
    CW_MAYBE("stop", "Stop stands at row", CW_PLAIN, NULL, 1, 24, "number of the row; left out: the first"),
};

static const cw_field outputs[] = {
    CW_SHOW("focal-length", "Focal length", CW_LENGTH, "mm", 5, ""),
    CW_SHOW("back-focus", "Back focus", CW_LENGTH, "mm", 5, "last face to the focus"),
    CW_SHOW("front-focus", "Front focus", CW_LENGTH, "mm", 5, "first face to the front focus"),
    CW_MAY_SHOW("petzval", "Petzval radius", CW_LENGTH, "mm", 3, "of the field's natural curve; flat when large"),
    CW_SHOW("spot", "Axial spot", CW_LENGTH, "um", 3, "root mean square, best plane"),
    {.key = "spots",
     .label = "Spots",
     .kind = CW_KIND_ROWS,
     .columns = spot_columns,
     .column_count = CW_COUNT(spot_columns),
     .help = "at the paraxial focus"},
    CW_DRAWN("section", "Section", "to scale"),
};

static cw_lens read_lens(const cw_sheet_in *in)
{
    cw_lens lens = {.count = cw_in_rows(in, "surfaces"), .f_number = cw_in_number(in, "aperture"), .beam_mm = NAN};
    lens.half_field_deg = cw_in_given(in, "half-field") ? cw_in_number(in, "half-field") * 57.29577951308232 : NAN;
    lens.count = lens.count > 24 ? 24 : lens.count;
    for (size_t i = 0; i < lens.count; i++) {
        double radius = 1000 * cw_in_cell_number(in, "surfaces", i, "radius");
        double n = cw_in_cell_number(in, "surfaces", i, "index"), d = cw_in_cell_number(in, "surfaces", i, "diameter");
        double air = n == 1 ? 1 : NAN;
        lens.surface[i] = (cw_surface){.curvature_per_mm = radius == 0 ? 0 : 1 / radius,
                                       .thickness_mm = 1000 * cw_in_cell_number(in, "surfaces", i, "thickness"),
                                       .n = {air, n, air},
                                       .semi_diameter_mm = 500 * d};
    }
    double stop = cw_in_given(in, "stop") ? cw_in_number(in, "stop") : NAN;
    lens.stop = stop >= 1 && stop <= (double)lens.count ? (size_t)stop - 1 : lens.count;
    if (lens.count > 0)
        lens.surface[lens.count - 1].thickness_mm = 0; /* the image stands at the paraxial focus */
    return lens;
}

static void fill_spots(const cw_lens_report *r, cw_sheet_out *out)
{
    for (size_t i = 0; i < r->spot_count; i++) {
        size_t row = cw_out_row(out, "spots");
        cw_out_cell_number(out, "spots", row, "field", r->spot[i].field_deg / 57.29577951308232);
        cw_out_cell_number(out, "spots", row, "height", r->spot[i].centroid_mm / 1000);
        cw_out_cell_number(out, "spots", row, "spot", r->spot[i].rms_mm / 1000);
        cw_out_cell_number(out, "spots", row, "best", r->spot[i].best_rms_mm / 1000);
    }
    for (size_t i = 0; i < r->warning_count; i++)
        cw_out_note(out, "%s", r->warning[i]);
}

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    cw_lens lens = read_lens(in);
    cw_lens_report r;
    cw_drawing *drawing;
    char label[80];
    if (cw_in_given(in, "stop") &&
        (lens.stop == lens.count || floor(cw_in_number(in, "stop")) != cw_in_number(in, "stop")))
        return cw_fail(err, CW_INPUT, "the stop's row %g is none of the %zu rows", cw_in_number(in, "stop"),
                       lens.count);
    CW_TRY(cw_lens_check(&lens, err));
    CW_TRY(cw_lens_report_of(&lens, &r, err));
    cw_out_number(out, "focal-length", r.cardinal.efl_mm / 1000);
    cw_out_number(out, "back-focus", r.cardinal.bfl_mm / 1000);
    cw_out_number(out, "front-focus", r.cardinal.ffl_mm / 1000);
    if (fabs(r.cardinal.petzval_sum_per_mm) > 1e-7)
        cw_out_number(out, "petzval", -1 / r.cardinal.petzval_sum_per_mm / 1000);
    cw_out_number(out, "spot", r.axial_rms_mm / 1000);
    fill_spots(&r, out);
    snprintf(label, sizeof label, "f %.2f mm, f/%.3g", r.cardinal.efl_mm, r.f_number);
    CW_TRY(cw_drawing_new("Lens section", "The faces given, cut along the axis, with light", &drawing, err));
    cw_status status = cw_draw_lens_section(drawing, &lens, r.beam_mm, r.image_mm, (cw_point){0, 0}, label, err);
    if (status != CW_OK) {
        cw_drawing_free(drawing);
        return status;
    }
    cw_out_drawing(out, "section", drawing);
    return CW_OK;
}

static const char *const sources[] = {"exact rays through spheres (Welford, Aberrations of Optical Systems, chapter 4, "
                                      "from memory); figures held to two optical libraries in the tests",
                                      NULL};
static const char *const example[] = {
    "surfaces",
    "22.014,3.259,1.6204,;-435.76,6.008,1,;-22.213,1,1.62,;20.292,4.75,1,;79.684,2.952,1.6204,;-18.395,0,1,",
    "aperture",
    "5",
    "half-field",
    "15 deg",
    "stop",
    "4",
    NULL};

extern const cw_worksheet cw_sheet_lens_section;
const cw_worksheet cw_sheet_lens_section = {
    .name = "lens-section",
    .title = "A lens to scale, with its light",
    .group = "Lens",
    .purpose = "From its faces, front to back, a lens's focal length, back focus, pupils and spots, and a drawing to "
               "scale with light in it. The lens command does the same from a file, with more figures.",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .sources = sources,
    .compute = compute,
    .example = example,
};
