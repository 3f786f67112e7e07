/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "optics/paraxial.h"

#include <math.h>

void cw_paraxial_ray(const cw_lens *lens, cw_line_name line, double y0_mm, double u0, double *y, double *u)
{
    double height = y0_mm, slope = u0, n = 1;
    for (size_t i = 0; i < lens->count; i++) {
        const cw_surface *s = &lens->surface[i];
        double after = s->n[line];
        slope = (n * slope - height * s->curvature_per_mm * (after - n)) / after;
        y[i] = height;
        u[i] = slope;
        height += slope * s->thickness_mm;
        n = after;
    }
}

cw_status cw_lens_cardinal(const cw_lens *lens, cw_line_name line, cw_cardinal *out, cw_error *err)
{
    double y[CW_LENS_SURFACES], u[CW_LENS_SURFACES];
    size_t last = lens->count - 1;
    cw_paraxial_ray(lens, line, 1, 0, y, u);
    if (!isfinite(u[last]))
        return cw_fail(err, CW_RANGE, "the glass's index at this line is not known; give n_F and n_C, or v_d");
    double n_after = lens->surface[last].n[line];
    double a = y[last], power = -n_after * u[last];
    if (fabs(power) < 1e-9)
        return cw_fail(err, CW_RANGE,
                       "the set has no focal length: parallel light comes out parallel (power %.1e per mm)", power);
    double y2[CW_LENS_SURFACES], u2[CW_LENS_SURFACES];
    cw_paraxial_ray(lens, line, 0, 1, y2, u2);
    double d = n_after * u2[last];
    double efl = n_after / power, bfl = a * efl, ffl = d / power;
    double petzval = 0;
    for (size_t i = 0; i < lens->count; i++) {
        double n0 = cw_lens_index_before(lens, i, line), n1 = lens->surface[i].n[line];
        petzval += lens->surface[i].curvature_per_mm * (n1 - n0) / (n0 * n1);
    }
    *out = (cw_cardinal){.efl_mm = efl,
                         .bfl_mm = bfl,
                         .ffl_mm = ffl,
                         .front_principal_mm = 1 / power - ffl,
                         .rear_principal_mm = bfl - efl,
                         .petzval_sum_per_mm = petzval,
                         .length_mm = cw_lens_length_mm(lens)};
    return CW_OK;
}

cw_status cw_lens_beam_mm(const cw_lens *lens, const cw_cardinal *cardinal, double *beam_mm, cw_error *err)
{
    if (lens->beam_mm > 0)
        *beam_mm = lens->beam_mm;
    else if (lens->f_number > 0)
        *beam_mm = fabs(cardinal->efl_mm) / lens->f_number;
    else if (lens->surface[0].semi_diameter_mm > 0)
        *beam_mm = 2 * lens->surface[0].semi_diameter_mm;
    else
        return cw_fail(err, CW_RANGE,
                       "nothing tells how wide the beam is; give \"f_number\", \"epd_mm\" or the first "
                       "surface's \"semi_diameter_mm\"");
    return CW_OK;
}

/* The stop seen from the front: a ray is carried from its centre leftward through surfaces stop-1 .. 0. */
static cw_status entrance_pupil(const cw_lens *lens, size_t stop, cw_pupil *pupil, cw_error *err)
{
    double y = 0, u = 1; /* u: slope dy/dz in the space left of the stop, traced backwards */
    for (size_t i = stop; i-- > 0;) {
        const cw_surface *s = &lens->surface[i];
        double after = s->n[CW_LINE_D], before = cw_lens_index_before(lens, i, CW_LINE_D);
        y -= u * s->thickness_mm;
        u = (after * u + y * s->curvature_per_mm * (after - before)) / before;
    }
    if (fabs(u) < 1e-9)
        return cw_fail(err, CW_RANGE,
                       "the entrance pupil lies at infinity (the stop stands in the focus of the glass "
                       "before it); fields cannot be traced");
    double n_stop = cw_lens_index_before(lens, stop, CW_LINE_D);
    /* by the Lagrange invariant n u y at the stop and its image */
    *pupil = (cw_pupil){.position_mm = -y / u, .magnification = n_stop / u};
    return CW_OK;
}

static cw_status exit_pupil(const cw_lens *lens, size_t stop, cw_pupil *pupil, cw_error *err)
{
    double y = 0, u = 1, n = cw_lens_index_before(lens, stop, CW_LINE_D), n_stop = n;
    for (size_t i = stop; i < lens->count; i++) {
        const cw_surface *s = &lens->surface[i];
        u = (n * u - y * s->curvature_per_mm * (s->n[CW_LINE_D] - n)) / s->n[CW_LINE_D];
        n = s->n[CW_LINE_D];
        if (i + 1 < lens->count)
            y += u * s->thickness_mm;
    }
    if (fabs(u) < 1e-9)
        return cw_fail(err, CW_RANGE,
                       "the exit pupil lies at infinity (the stop stands in the focus of the glass behind "
                       "it)");
    *pupil = (cw_pupil){.position_mm = -y / u, .magnification = n_stop / (n * u)};
    return CW_OK;
}

cw_status cw_lens_pupils(const cw_lens *lens, double beam_mm, cw_pupils *out, cw_error *err)
{
    cw_pupils pupils = {.stop_known = lens->stop < lens->count};
    size_t stop = pupils.stop_known ? lens->stop : 0;
    CW_TRY(entrance_pupil(lens, stop, &pupils.entrance, err));
    CW_TRY(exit_pupil(lens, stop, &pupils.exit, err));
    pupils.entrance.diameter_mm = beam_mm;
    pupils.stop_diameter_mm = beam_mm / fabs(pupils.entrance.magnification);
    pupils.exit.diameter_mm = pupils.stop_diameter_mm * fabs(pupils.exit.magnification);
    *out = pupils;
    return CW_OK;
}
