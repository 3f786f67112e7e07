/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "optics/lens.h"

#include <math.h>
#include <string.h>

double cw_sag_mm(double curvature_per_mm, double conic, double height_mm)
{
    double c = curvature_per_mm, h2 = height_mm * height_mm;
    return c * h2 / (1 + sqrt(1 - (1 + conic) * c * c * h2));
}

double cw_lens_index_before(const cw_lens *lens, size_t surface, cw_line_name line)
{
    return surface == 0 ? 1.0 : lens->surface[surface - 1].n[line];
}

bool cw_lens_has_dispersion(const cw_lens *lens)
{
    for (size_t i = 0; i < lens->count; i++)
        if (!isfinite(lens->surface[i].n[CW_LINE_F]) || !isfinite(lens->surface[i].n[CW_LINE_C]))
            return false;
    return true;
}

double cw_lens_length_mm(const cw_lens *lens)
{
    double length = 0;
    for (size_t i = 0; i + 1 < lens->count; i++)
        length += lens->surface[i].thickness_mm;
    return length;
}

double cw_lens_rim_overlap_mm(const cw_lens *lens, size_t *surface)
{
    double deepest = 0;
    *surface = 0;
    for (size_t i = 0; i + 1 < lens->count; i++) {
        const cw_surface *a = &lens->surface[i], *b = a + 1;
        double h = fmin(a->semi_diameter_mm, b->semi_diameter_mm);
        if (!isfinite(a->semi_diameter_mm) || !isfinite(b->semi_diameter_mm))
            continue;
        double gap =
            a->thickness_mm + cw_sag_mm(b->curvature_per_mm, b->conic, h) - cw_sag_mm(a->curvature_per_mm, a->conic, h);
        if (-gap > deepest) {
            deepest = -gap;
            *surface = i;
        }
    }
    return deepest;
}

static cw_status check_surface(const cw_lens *lens, size_t i, cw_error *err)
{
    const cw_surface *s = &lens->surface[i];
    size_t number = i + 1;
    if (!isfinite(s->curvature_per_mm) || !isfinite(s->conic) || !isfinite(s->thickness_mm))
        return cw_fail(err, CW_RANGE, "surface %zu: radius, conic constant and thickness must be finite numbers",
                       number);
    for (int line = 0; line < CW_LINE_COUNT; line++)
        if ((line == CW_LINE_D || !isnan(s->n[line])) && !(s->n[line] >= 1 && s->n[line] <= 5))
            return cw_fail(err, CW_RANGE, "surface %zu: index %g; glass and air have an index between 1 and 5", number,
                           s->n[line]);
    if (s->thickness_mm < 0 && i + 1 < lens->count)
        return cw_fail(err, CW_RANGE,
                       "surfaces %zu and %zu overlap: the distance between them is %g mm, below zero. "
                       "Is a spacer missing or a sign lost?",
                       number, number + 1, s->thickness_mm);
    if (isnan(s->semi_diameter_mm))
        return CW_OK;
    if (!(s->semi_diameter_mm > 0))
        return cw_fail(err, CW_RANGE, "surface %zu: clear radius %g mm; it must be above zero", number,
                       s->semi_diameter_mm);
    if (!isfinite(cw_sag_mm(s->curvature_per_mm, s->conic, s->semi_diameter_mm)))
        return cw_fail(err, CW_RANGE,
                       "surface %zu: a radius of curvature of %g mm cannot reach a clear diameter of %g mm. "
                       "Are the units mixed up?",
                       number, 1 / s->curvature_per_mm, 2 * s->semi_diameter_mm);
    return CW_OK;
}

cw_status cw_lens_check(const cw_lens *lens, cw_error *err)
{
    if (lens->count == 0 || lens->count > CW_LENS_SURFACES)
        return cw_fail(err, CW_RANGE, "%zu surfaces; a lens of 1 to %d can be computed", lens->count, CW_LENS_SURFACES);
    for (size_t i = 0; i < lens->count; i++)
        CW_TRY(check_surface(lens, i, err));
    size_t at;
    double overlap = cw_lens_rim_overlap_mm(lens, &at);
    double diameter =
        2 * fmin(lens->surface[at].semi_diameter_mm, lens->surface[(at + 1) % lens->count].semi_diameter_mm);
    if (overlap > 0.2 && overlap > 0.02 * diameter)
        return cw_fail(err, CW_RANGE,
                       "surfaces %zu and %zu run %.2f mm into each other at their edge (diameter %g mm). "
                       "Is a thickness too small or a radius turned round?",
                       at + 1, at + 2, overlap, diameter);
    if (!isnan(lens->f_number) && !(lens->f_number >= 0.5 && lens->f_number <= 1000))
        return cw_fail(err, CW_RANGE, "f-number %g; 0.5 to 1000 can be used", lens->f_number);
    if (!isnan(lens->half_field_deg) && !(lens->half_field_deg >= 0 && lens->half_field_deg <= 80))
        return cw_fail(err, CW_RANGE, "half field %g degrees; 0 to 80 can be used", lens->half_field_deg);
    return CW_OK;
}

cw_lens cw_lens_reversed(const cw_lens *lens)
{
    cw_lens turned = *lens;
    for (size_t i = 0; i < lens->count; i++) {
        size_t from = lens->count - 1 - i;
        turned.surface[i] = lens->surface[from];
        turned.surface[i].curvature_per_mm = -lens->surface[from].curvature_per_mm;
        turned.surface[i].thickness_mm = from > 0 ? lens->surface[from - 1].thickness_mm : 0;
        for (int line = 0; line < CW_LINE_COUNT; line++)
            turned.surface[i].n[line] = cw_lens_index_before(lens, from, (cw_line_name)line);
    }
    if (lens->stop < lens->count)
        turned.stop = lens->count - 1 - lens->stop;
    return turned;
}

cw_lens cw_lens_scaled(const cw_lens *lens, double factor)
{
    cw_lens scaled = *lens;
    for (size_t i = 0; i < lens->count; i++) {
        scaled.surface[i].curvature_per_mm /= factor;
        scaled.surface[i].thickness_mm *= factor;
        scaled.surface[i].semi_diameter_mm *= factor;
    }
    scaled.beam_mm *= factor;
    for (size_t i = 0; i < lens->height_count; i++)
        scaled.height_mm[i] *= factor;
    return scaled;
}

/* Wavelengths in micrometres: hydrogen F, helium d, hydrogen C. */
static const double wavelength_um[CW_LINE_COUNT] = {0.4861327, 0.5875618, 0.6562725};

void cw_glass_from_v(double n_d, double v_d, double n[CW_LINE_COUNT])
{
    double inverse2[CW_LINE_COUNT];
    for (int line = 0; line < CW_LINE_COUNT; line++)
        inverse2[line] = 1 / (wavelength_um[line] * wavelength_um[line]);
    double b = (n_d - 1) / v_d / (inverse2[CW_LINE_F] - inverse2[CW_LINE_C]);
    for (int line = 0; line < CW_LINE_COUNT; line++)
        n[line] = n_d + b * (inverse2[line] - inverse2[CW_LINE_D]);
}

double cw_glass_v(const double n[CW_LINE_COUNT])
{
    double spread = n[CW_LINE_F] - n[CW_LINE_C];
    return spread > 0 ? (n[CW_LINE_D] - 1) / spread : NAN;
}
