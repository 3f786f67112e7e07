/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "optics/lens_report.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>

__attribute__((format(printf, 2, 3))) static void warn(cw_lens_report *r, const char *format, ...)
{
    if (r->warning_count == CW_REPORT_WARNINGS)
        return;
    va_list args;
    va_start(args, format);
    vsnprintf(r->warning[r->warning_count++], CW_REPORT_WARNING, format, args);
    va_end(args);
}

static void report_lines(const cw_lens *lens, cw_lens_report *r)
{
    for (int line = 0; line < CW_LINE_COUNT; line++) {
        cw_cardinal at_line;
        cw_error unknown;
        r->efl_line_mm[line] = r->bfl_line_mm[line] = NAN;
        if (line != CW_LINE_D && !cw_lens_has_dispersion(lens))
            continue;
        if (cw_lens_cardinal(lens, (cw_line_name)line, &at_line, &unknown) != CW_OK)
            continue; /* afocal at this line only: shown as not known */
        r->efl_line_mm[line] = at_line.efl_mm;
        r->bfl_line_mm[line] = at_line.bfl_mm;
    }
}

/* Off the axis a lost ray is no failure: real lenses cut their corners. */
static void report_field(const cw_lens *lens, const cw_train *train, cw_lens_report *r)
{
    bool has_field = lens->half_field_deg > 0;
    static const double part[CW_REPORT_FIELDS] = {0, 0.7, 1};
    for (int i = 0; i < (has_field ? CW_REPORT_FIELDS : 1); i++) {
        cw_error lost;
        cw_spot *spot = &r->spot[r->spot_count];
        double field = part[i] * (has_field ? lens->half_field_deg : 0);
        if (cw_lens_spot(train, &r->pupils.entrance, field, r->image_mm, spot, &lost) != CW_OK) {
            warn(r, "%.180s", lost.text);
            continue;
        }
        if (spot->lost > 0)
            warn(r, "at %g degrees %zu of %zu rays are lost", field, spot->lost, spot->rays);
        r->spot_count++;
    }
}

cw_status cw_lens_report_of(const cw_lens *lens, cw_lens_report *report, cw_error *err)
{
    static const double fan[] = {0.25, 0.5, 0.70710678118654752, 0.9, 1};
    cw_lens_report *r = report;
    *r = (cw_lens_report){.ray_count = lens->height_count};
    CW_TRY(cw_lens_cardinal(lens, CW_LINE_D, &r->cardinal, err));
    CW_TRY(cw_lens_beam_mm(lens, &r->cardinal, &r->beam_mm, err));
    r->f_number = fabs(r->cardinal.efl_mm) / r->beam_mm;
    double last = lens->surface[lens->count - 1].thickness_mm;
    r->image_mm = isfinite(last) && last != 0 ? last : r->cardinal.bfl_mm;
    cw_train train;
    CW_TRY(cw_train_of(lens, CW_LINE_D, false, &train, err));
    double heights[CW_LENS_HEIGHTS];
    for (size_t i = 0; i < lens->height_count; i++)
        heights[i] = lens->height_mm[i];
    if (lens->height_count == 0)
        for (r->ray_count = 0; r->ray_count < CW_COUNT(fan); r->ray_count++)
            heights[r->ray_count] = fan[r->ray_count] * r->beam_mm / 2;
    CW_TRY(cw_axial_fan(&train, r->ray_count, heights, r->image_mm, r->ray, err));
    CW_TRY(cw_axial_spot(&train, r->beam_mm, r->image_mm, &r->axial_rms_mm, &r->axial_best_mm, err));
    CW_TRY(cw_lens_pupils(lens, r->beam_mm, &r->pupils, err));
    if (!r->pupils.stop_known)
        warn(r, "the stop's place is not given: taken at the first surface, which changes everything off the axis");
    double field = lens->half_field_deg > 0 ? lens->half_field_deg : 0;
    CW_TRY(cw_lens_seidel(lens, r->beam_mm, field, &r->seidel, err));
    if (!(field > 0)) /* without a field there is no chief ray, and no sums of it */
        r->seidel.sum.s2 = r->seidel.sum.s3 = r->seidel.sum.s4 = r->seidel.sum.s5 = r->seidel.sum.c2 =
            r->seidel.lagrange_mm = NAN;
    report_lines(lens, r);
    report_field(lens, &train, r);
    size_t at;
    double overlap = cw_lens_rim_overlap_mm(lens, &at);
    if (overlap > 0.005)
        warn(r, "surfaces %zu and %zu meet before their edges: %.3f mm overlap at the rim", at + 1, at + 2, overlap);
    return CW_OK;
}

static json_t *number(double value)
{
    return isfinite(value) ? json_real(value) : json_null();
}

static json_t *seidel_json(const cw_seidel *s)
{
    return json_pack("{s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o}", "S1", number(s->sum.s1), "S2", number(s->sum.s2), "S3",
                     number(s->sum.s3), "S4", number(s->sum.s4), "S5", number(s->sum.s5), "C1", number(s->sum.c1), "C2",
                     number(s->sum.c2), "lagrange_invariant_mm", number(s->lagrange_mm));
}

static json_t *pupil_json(const cw_pupil *p)
{
    return json_pack("{s:o,s:o}", "position_mm", number(p->position_mm), "diameter_mm", number(p->diameter_mm));
}

static json_t *spots_json(const cw_lens_report *r)
{
    json_t *list = json_array();
    for (size_t i = 0; i < r->spot_count; i++) {
        const cw_spot *s = &r->spot[i];
        json_array_append_new(list,
                              json_pack("{s:o,s:I,s:I,s:o,s:o,s:o,s:o}", "field_deg", number(s->field_deg), "rays",
                                        (json_int_t)s->rays, "lost", (json_int_t)s->lost, "rms_mm", number(s->rms_mm),
                                        "image_height_mm", number(s->centroid_mm), "best_focus_shift_mm",
                                        number(s->best_shift_mm), "rms_at_best_focus_mm", number(s->best_rms_mm)));
    }
    return list;
}

static json_t *lines_json(const cw_lens_report *r)
{
    static const char *const names[CW_LINE_COUNT] = {"F", "d", "C"};
    json_t *lines = json_object();
    for (int i = 0; i < CW_LINE_COUNT; i++)
        json_object_set_new(
            lines, names[i],
            json_pack("{s:o,s:o}", "efl_mm", number(r->efl_line_mm[i]), "bfl_mm", number(r->bfl_line_mm[i])));
    return lines;
}

json_t *cw_lens_report_json(const cw_lens *lens, const cw_lens_report *r)
{
    json_t *rays = json_array(), *warnings = json_array();
    for (size_t i = 0; i < r->ray_count; i++)
        json_array_append_new(rays, json_pack("{s:o,s:o,s:o,s:o}", "height_mm", number(r->ray[i].height_mm),
                                              "y_image_mm", number(r->ray[i].y_image_mm), "M", number(r->ray[i].m), "N",
                                              number(r->ray[i].n)));
    for (size_t i = 0; i < r->warning_count; i++)
        json_array_append_new(warnings, json_string(r->warning[i]));
    const cw_cardinal *c = &r->cardinal;
    return json_pack(
        "{s:s,s:s,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:b,s:o,s:o,s:o,s:o}", "format",
        "camerawright.lens-report/1", "name", lens->name, "efl_mm", number(c->efl_mm), "bfl_mm", number(c->bfl_mm),
        "ffl_mm", number(c->ffl_mm), "front_principal_mm", number(c->front_principal_mm), "rear_principal_mm",
        number(c->rear_principal_mm), "length_mm", number(c->length_mm), "petzval_sum_per_mm",
        number(c->petzval_sum_per_mm), "f_number", number(r->f_number), "beam_mm", number(r->beam_mm), "image_plane_mm",
        number(r->image_mm), "axial_spot_rms_mm", number(r->axial_rms_mm), "axial_best_focus_mm",
        number(r->axial_best_mm), "axial_rays", rays, "entrance_pupil", pupil_json(&r->pupils.entrance), "exit_pupil",
        pupil_json(&r->pupils.exit), "stop_diameter_mm", number(r->pupils.stop_diameter_mm), "half_field_deg",
        number(lens->half_field_deg), "stop_known", r->pupils.stop_known, "seidel", seidel_json(&r->seidel), "spots",
        spots_json(r), "lines", lines_json(r), "warnings", warnings);
}
