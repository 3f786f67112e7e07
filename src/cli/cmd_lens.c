/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A lens file in, its figures out; and the section to scale. */
#include <inttypes.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "cli/command.h"
#include "cli/file_out.h"
#include "cli/print.h"
#include "draw/lens_section.h"
#include "optics/lens_report.h"

enum { LENS_FILE_MOST = 4 * 1024 * 1024 };

static cw_status read_lens(const char *path, cw_lens *lens, cw_error *err)
{
    char *bytes;
    size_t count;
    CW_TRY(cw_read_file(path, LENS_FILE_MOST, &bytes, &count, err));
    cw_status status = cw_lens_from_json(bytes, count, lens, err);
    free(bytes);
    if (status != CW_OK)
        cw_context(err, "%s", path);
    return status;
}

static void print_spots(const cw_lens_report *r, FILE *out)
{
    cw_print(out, "\n  field      spot (rms)   image height   best focus at   spot there\n");
    for (size_t i = 0; i < r->spot_count; i++) {
        const cw_spot *s = &r->spot[i];
        cw_print(out, "  %5.2f deg  %7.4f mm   %9.3f mm    %+9.3f mm   %7.4f mm", s->field_deg, s->rms_mm,
                 s->centroid_mm, s->best_shift_mm, s->best_rms_mm);
        cw_print(out, s->lost > 0 ? "   %zu of %zu rays lost\n" : "\n", s->lost, s->rays);
    }
}

static void print_report(const cw_lens *lens, const cw_lens_report *r, FILE *out)
{
    const cw_cardinal *c = &r->cardinal;
    cw_print(out, "%s%s", lens->name, lens->name[0] != '\0' ? "\n" : "");
    cw_print(out, "  focal length           %10.3f mm\n", c->efl_mm);
    cw_print(out, "  back focus             %10.3f mm behind the last glass\n", c->bfl_mm);
    cw_print(out, "  front focus            %10.3f mm before the first glass\n", c->ffl_mm);
    cw_print(out, "  glass, first to last   %10.3f mm\n", c->length_mm);
    cw_print(out, "  principal planes       %10.3f mm from the first glass, %.3f mm from the last\n",
             c->front_principal_mm, c->rear_principal_mm);
    cw_print(out, "  beam                   %10.3f mm wide, f/%.3g\n", r->beam_mm, r->f_number);
    cw_print(out, "  entrance pupil         %10.3f mm from the first glass, %.3f mm wide%s\n",
             r->pupils.entrance.position_mm, r->pupils.entrance.diameter_mm,
             r->pupils.stop_known ? "" : " (stop taken at the first surface)");
    cw_print(out, "  exit pupil             %10.3f mm from the last glass, %.3f mm wide\n", r->pupils.exit.position_mm,
             r->pupils.exit.diameter_mm);
    cw_print(out, "  Petzval sum            %10.6f per mm\n", c->petzval_sum_per_mm);
    cw_print(out, "  sharpest axial spot    %10.4f mm (rms), %.3f mm behind the last glass\n", r->axial_rms_mm,
             r->axial_best_mm);
    cw_print(out, "  third order            S1 %.5f mm", r->seidel.sum.s1);
    if (isfinite(r->seidel.sum.s2))
        cw_print(out, ", S2 %.5f, S3 %.5f, S4 %.5f, S5 %.5f\n", r->seidel.sum.s2, r->seidel.sum.s3, r->seidel.sum.s4,
                 r->seidel.sum.s5);
    else
        cw_print(out, " (no field given: nothing off the axis)\n");
    if (isfinite(r->bfl_line_mm[CW_LINE_F]))
        cw_print(out, "  colour                 %+10.3f mm from the red to the blue focus (C to F)\n",
                 r->bfl_line_mm[CW_LINE_F] - r->bfl_line_mm[CW_LINE_C]);
    cw_print(out, "\n  axial rays onto the plane %.3f mm behind the last glass\n", r->image_mm);
    for (size_t i = 0; i < r->ray_count; i++)
        cw_print(out, "  entering at %8.3f mm: lands at %+9.5f mm, slope %+9.6f\n", r->ray[i].height_mm,
                 r->ray[i].y_image_mm, r->ray[i].m / r->ray[i].n);
    print_spots(r, out);
    for (size_t i = 0; i < r->warning_count; i++)
        cw_print_told(out, "  note: %s\n", r->warning[i]);
}

static cw_status write_section(const char *path, const cw_lens *lens, const cw_lens_report *r, cw_error *err)
{
    char label[CW_LENS_NAME + 96], description[256];
    snprintf(label, sizeof label, "%s%sf %.2f mm, f/%.3g", lens->name, lens->name[0] != '\0' ? ": " : "",
             r->cardinal.efl_mm, r->f_number);
    snprintf(description, sizeof description,
             "Lens cut along its axis, %zu surfaces, with the light of an axial beam of %.2f mm", lens->count,
             r->beam_mm);
    cw_drawing *drawing;
    CW_TRY(cw_drawing_new(lens->name[0] != '\0' ? lens->name : "Lens section", description, &drawing, err));
    cw_status status = cw_draw_lens_section(drawing, lens, r->beam_mm, r->image_mm, (cw_point){0, 0}, label, err);
    if (status == CW_OK)
        status = cw_write_drawing(path, drawing, NULL, "A4", err);
    cw_drawing_free(drawing);
    return status;
}

static cw_status run_lens(size_t count, const char *const *args, FILE *out, bool *outside, cw_error *err)
{
    (void)outside;
    cw_option options[] = {{"json", true, NULL}, {"out", false, NULL}};
    const char *path;
    size_t operands;
    CW_TRY(cw_options_read(count, args, options, CW_COUNT(options), &path, 1, &operands, err));
    if (operands != 1)
        return cw_fail(err, CW_INPUT, "which lens? Give the JSON file that describes it: camerawright lens FILE.json");
    cw_lens lens;
    cw_lens_report report;
    CW_TRY(read_lens(path, &lens, err));
    if (cw_lens_report_of(&lens, &report, err) != CW_OK) {
        cw_context(err, "%s", path);
        return err->status;
    }
    const char *drawing = cw_option_value(options, CW_COUNT(options), "out");
    if (drawing != NULL)
        CW_TRY(write_section(drawing, &lens, &report, err));
    if (cw_option_given(options, CW_COUNT(options), "json"))
        return cw_print_json(out, cw_lens_report_json(&lens, &report), err);
    print_report(&lens, &report, out);
    return CW_OK;
}

const cw_command cw_cmd_lens = {
    "lens", "FILE.json [--json] [--out FILE.svg|.pdf|.dxf]",
    "trace light through a lens: focal length, pupils, spots, a section to scale",
    "FILE.json lists the surfaces from front to back (form camerawright.lens/1): radius_mm (null = plane, positive =\n"
    "centre to the right), thickness_mm and n_d of what follows, and where known v_d, semi_diameter_mm, stop; beside\n"
    "them f_number and half_field_deg.\n\n"
    "  --json        the report as JSON\n"
    "  --out FILE    the section to scale with rays, as .svg, .pdf or .dxf\n",
    run_lens};
