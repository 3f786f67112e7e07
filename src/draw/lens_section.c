/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "draw/lens_section.h"

#include <math.h>
#include <stdio.h>

#include "optics/paraxial.h"
#include "optics/trace.h"

enum { ARC_POINTS = 33, RAYS = 6, DRAWN = 3 };

typedef struct {
    cw_drawing *drawing;
    const cw_lens *lens;
    cw_train train;
    cw_point origin;
    double z[CW_LENS_SURFACES + 1];     /* vertices and the image plane, from the first vertex */
    double clear[CW_LENS_SURFACES + 1]; /* drawn half heights */
    double image_mm;
    size_t ray_count, axial_count;
    cw_ray start[RAYS], path[RAYS][CW_LENS_SURFACES + 1];
} section;

static cw_point place(const section *s, double z, double y)
{
    return (cw_point){s->origin.x_mm + z, s->origin.y_mm + y};
}

/* One ray through the pupil at `y`, kept as number ray_count when it comes through `train`. */
static bool trace_one(section *s, const cw_train *train, double y, double angle_rad, double lift)
{
    cw_ray start = {.y = y + lift, .m = sin(angle_rad), .n = cos(angle_rad)};
    double back = 0.25 * s->z[s->lens->count] / start.n;
    start.y -= back * start.m;
    start.z -= back * start.n;
    size_t k = s->ray_count, reached;
    s->start[k] = start;
    if (cw_trace_path(train, start, s->image_mm, s->path[k], &reached) != CW_RAY_THROUGH)
        return false;
    s->ray_count++;
    return true;
}

/* The outermost ray of a field on one side of the pupil that the clear edges let pass, in steps of a tenth. */
static void trace_outermost(section *s, const cw_train *clipped, double radius, double angle, double lift)
{
    for (int tenth = 10; tenth > 0; tenth--)
        if (trace_one(s, clipped, radius * tenth / 10, angle, lift))
            return;
}

static cw_status trace_all(section *s, double beam_mm, cw_error *err)
{
    for (int side = -1; side <= 1; side++)
        if (!trace_one(s, &s->train, side * beam_mm / 2, 0, 0))
            return cw_fail(err, CW_RANGE,
                           "the axial beam of %g mm does not come through this lens; it cannot be drawn with its light",
                           beam_mm);
    s->axial_count = s->ray_count;
    cw_pupils pupils;
    cw_train clipped;
    cw_error none;
    if (!(s->lens->half_field_deg > 0) || cw_lens_pupils(s->lens, beam_mm, &pupils, &none) != CW_OK)
        return CW_OK; /* without a field, or with a pupil at infinity, the axial rays are the picture */
    CW_TRY(cw_train_of(s->lens, CW_LINE_D, true, &clipped, err));
    double angle = s->lens->half_field_deg * 3.14159265358979323846 / 180,
           lift = -pupils.entrance.position_mm * tan(angle);
    trace_one(s, &clipped, 0, angle, lift);
    trace_outermost(s, &clipped, beam_mm / 2, angle, lift);
    trace_outermost(s, &clipped, -beam_mm / 2, angle, lift);
    return CW_OK;
}

/* Half heights: the clear radius where known, else what the rays need; an element's two faces share the larger. */
static void choose_heights(section *s)
{
    for (size_t i = 0; i < s->lens->count; i++) {
        const cw_surface *surface = &s->lens->surface[i];
        double need = 0;
        for (size_t k = 0; k < s->ray_count; k++)
            need = fmax(need, fabs(s->path[k][i].y));
        double h = isfinite(surface->semi_diameter_mm) ? surface->semi_diameter_mm : 1.1 * need;
        double reach = surface->curvature_per_mm != 0 ? 0.98 / fabs(surface->curvature_per_mm) : INFINITY;
        s->clear[i] = fmin(h, surface->conic > -1 ? reach / sqrt(1 + surface->conic) : h);
    }
}

static bool is_glass(const cw_lens *lens, size_t i)
{
    return lens->surface[i].n[CW_LINE_D] > 1.01;
}

static void add_arc(const section *s, size_t i, double rim, bool upward, cw_point *points, size_t *count)
{
    const cw_surface *surface = &s->lens->surface[i];
    points[(*count)++] =
        place(s, s->z[i] + cw_sag_mm(surface->curvature_per_mm, surface->conic, s->clear[i]), upward ? -rim : rim);
    for (int k = 0; k < ARC_POINTS; k++) {
        double part = 2.0 * k / (ARC_POINTS - 1) - 1, y = s->clear[i] * (upward ? part : -part);
        points[(*count)++] = place(s, s->z[i] + cw_sag_mm(surface->curvature_per_mm, surface->conic, y), y);
    }
    points[(*count)++] =
        place(s, s->z[i] + cw_sag_mm(surface->curvature_per_mm, surface->conic, s->clear[i]), upward ? rim : -rim);
}

static void draw_glass(const section *s)
{
    for (size_t i = 0; i + 1 < s->lens->count; i++) {
        if (!is_glass(s->lens, i))
            continue;
        cw_point points[2 * ARC_POINTS + 4];
        size_t count = 0;
        double rim = fmax(s->clear[i], s->clear[i + 1]);
        add_arc(s, i, rim, true, points, &count);
        add_arc(s, i + 1, rim, false, points, &count);
        cw_draw_path(s->drawing, CW_LAYER_GLASS, points, count, true);
    }
}

static void draw_rays(const section *s)
{
    for (size_t k = 0; k < s->ray_count; k++) {
        cw_point points[CW_LENS_SURFACES + 2];
        size_t count = 0;
        points[count++] = place(s, s->start[k].z, s->start[k].y);
        for (size_t i = 0; i < s->lens->count; i++)
            points[count++] = place(s, s->z[i] + s->path[k][i].z, s->path[k][i].y);
        points[count++] = place(s, s->z[s->lens->count], s->path[k][s->lens->count].y);
        cw_draw_path(s->drawing, CW_LAYER_RAY, points, count, false);
    }
}

static void draw_stop(const section *s, double tallest)
{
    size_t i = s->lens->stop;
    if (i >= s->lens->count)
        return;
    double open = 0;
    for (size_t k = 0; k < s->axial_count; k++)
        open = fmax(open, fabs(s->path[k][i].y));
    double z = s->z[i] + (s->lens->surface[i].curvature_per_mm != 0 ? s->path[0][i].z : 0);
    for (int sign = -1; sign <= 1; sign += 2)
        cw_draw_line(s->drawing, CW_LAYER_CUT, place(s, z, sign * open), place(s, z, sign * fmax(open, tallest)));
}

cw_status cw_draw_lens_section(cw_drawing *drawing, const cw_lens *lens, double beam_mm, double image_mm,
                               cw_point origin, const char *label, cw_error *err)
{
    section s = {.drawing = drawing, .lens = lens, .origin = origin, .image_mm = image_mm};
    CW_TRY(cw_train_of(lens, CW_LINE_D, false, &s.train, err));
    for (size_t i = 0; i < lens->count; i++)
        s.z[i + 1] = s.z[i] + (i + 1 < lens->count ? lens->surface[i].thickness_mm : image_mm);
    CW_TRY(trace_all(&s, beam_mm, err));
    choose_heights(&s);
    double tallest = 0;
    for (size_t i = 0; i < lens->count; i++)
        tallest = fmax(tallest, s.clear[i]);
    double image_y = 0.1 * tallest;
    for (size_t k = 0; k < s.ray_count; k++)
        image_y = fmax(image_y, fabs(s.path[k][lens->count].y));
    double end = s.z[lens->count], margin = 0.05 * fmax(end, 1);
    cw_draw_line(drawing, CW_LAYER_CENTRE, place(&s, -0.25 * end, 0), place(&s, end + margin, 0));
    draw_glass(&s);
    draw_stop(&s, 1.1 * tallest);
    draw_rays(&s);
    cw_draw_line(drawing, CW_LAYER_DIMENSION, place(&s, end, -image_y), place(&s, end, 1.05 * image_y));
    if (label != NULL)
        cw_draw_text(drawing, CW_LAYER_NOTE, place(&s, 0, -1.25 * tallest - 2.5), 2.5, CW_TEXT_START, 0, label);
    return CW_OK;
}

/* One candidate's section; an arrangement no light gets through, or with unknown glass, is left out and said. */
static double draw_candidate(cw_drawing *drawing, const cw_puzzle *puzzle, const cw_order *order, size_t i, double y)
{
    const cw_order_candidate *c = &order->candidate[i];
    char words[256], label[400];
    cw_arrangement_text(puzzle, &c->what, words, sizeof words);
    snprintf(label, sizeof label, "%zu. %s   %.1f %%", i + 1, words, 100 * c->probability);
    cw_error lost;
    cw_cardinal cardinal;
    double tall = 10;
    for (size_t g = 0; g < puzzle->group_count; g++)
        tall = fmax(tall, isnan(puzzle->group[g].diameter_mm) ? 0 : puzzle->group[g].diameter_mm);
    double beam = NAN;
    bool drawn =
        c->has_lens && cw_lens_cardinal(&c->lens, CW_LINE_D, &cardinal, &lost) == CW_OK &&
        cw_lens_beam_mm(&c->lens, &cardinal, &beam, &lost) == CW_OK &&
        cw_draw_lens_section(drawing, &c->lens, beam, cardinal.bfl_mm, (cw_point){0, y}, label, &lost) == CW_OK;
    if (!drawn)
        cw_draw_text(drawing, CW_LAYER_NOTE, (cw_point){0, y}, 2.5, CW_TEXT_START, 0, label);
    return y - 1.6 * tall - 20;
}

cw_status cw_draw_order(const cw_puzzle *puzzle, const cw_order *order, cw_drawing **drawing, cw_error *err)
{
    cw_drawing *made;
    CW_TRY(cw_drawing_new(puzzle->name[0] != '\0' ? puzzle->name : "Lens order",
                          "The likeliest arrangements of the loose glass, each cut along its axis, to scale", &made,
                          err));
    double y = 0;
    for (size_t i = 0; i < order->count && i < DRAWN; i++)
        y = draw_candidate(made, puzzle, order, i, y);
    *drawing = made;
    return CW_OK;
}
