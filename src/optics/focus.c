/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "optics/focus.h"

#include <math.h>

static cw_status check_focal(double focal_mm, cw_error *err)
{
    if (!(focal_mm > 0 && isfinite(focal_mm)))
        return cw_fail(err, CW_RANGE, "a focal length of %g mm cannot form an image on film; it must be above zero",
                       focal_mm);
    return CW_OK;
}

cw_status cw_image_distance_mm(double focal_mm, double distance_m, double *image_mm, cw_error *err)
{
    CW_TRY(check_focal(focal_mm, err));
    double d = distance_m * 1000;
    if (!(d > focal_mm))
        return cw_fail(err, CW_RANGE,
                       "a subject %.0f mm away is inside the focal length of %g mm; it has no image on film", d,
                       focal_mm);
    *image_mm = isinf(d) ? focal_mm : focal_mm * d / (d - focal_mm);
    return CW_OK;
}

cw_status cw_image_distance_from_film_mm(double focal_mm, double distance_m, double *image_mm, cw_error *err)
{
    CW_TRY(check_focal(focal_mm, err));
    double d = distance_m * 1000;
    if (!(d >= 4 * focal_mm))
        return cw_fail(err, CW_RANGE,
                       "%.0f mm from the film is nearer than four focal lengths (%.0f mm); no lens of %g mm "
                       "focuses there",
                       d, 4 * focal_mm, focal_mm);
    /* 2 D f / (D + sqrt(D^2 - 4 D f)), the root without the loss of digits far away */
    *image_mm = isinf(d) ? focal_mm : 2 * focal_mm / (1 + sqrt(1 - 4 * focal_mm / d));
    return CW_OK;
}

cw_status cw_subject_distance_m(double focal_mm, double image_mm, double *distance_m, cw_error *err)
{
    CW_TRY(check_focal(focal_mm, err));
    if (!(image_mm >= focal_mm))
        return cw_fail(err, CW_RANGE,
                       "the lens sits %.3f mm nearer the film than infinity needs; nothing before it is sharp",
                       focal_mm - image_mm);
    *distance_m = image_mm == focal_mm ? INFINITY : focal_mm * image_mm / (image_mm - focal_mm) / 1000;
    return CW_OK;
}

double cw_depth_of_focus_mm(double f_number, double circle_mm)
{
    return f_number * circle_mm;
}

double cw_blur_mm(double defocus_mm, double f_number)
{
    return fabs(defocus_mm) / f_number;
}

double cw_glass_shift_mm(double thickness_mm, double index)
{
    return thickness_mm * (1 - 1 / index);
}

cw_status cw_depth_of_field_m(double focal_mm, double f_number, double circle_mm, double distance_m,
                              cw_depth_of_field *out, cw_error *err)
{
    CW_TRY(check_focal(focal_mm, err));
    double s = distance_m * 1000, f = focal_mm;
    if (!(s > f))
        return cw_fail(err, CW_RANGE, "a subject %.0f mm away is inside the focal length of %g mm", s, f);
    if (!(f_number > 0 && circle_mm > 0))
        return cw_fail(err, CW_RANGE, "f-number %g and circle %g mm must both be above zero", f_number, circle_mm);
    double h = f * f / (f_number * circle_mm) + f;
    out->hyperfocal_m = h / 1000;
    out->hyperfocal_short_m = (h - f) / 1000;
    out->near_m = (isinf(s) ? h - f : s * (h - f) / (h + s - 2 * f)) / 1000;
    out->far_m = s >= h ? INFINITY : s * (h - f) / (h - s) / 1000;
    return CW_OK;
}

double cw_infinity_distance_m(double focal_mm, double f_number, double circle_mm, double part)
{
    return (focal_mm + focal_mm * focal_mm / (part * f_number * circle_mm)) / 1000;
}

static cw_status image_of(const cw_focus_reading *r, double focal_mm, double distance_m, double *v, cw_error *err)
{
    return r->from_film ? cw_image_distance_from_film_mm(focal_mm, distance_m, v, err)
                        : cw_image_distance_mm(focal_mm, distance_m, v, err);
}

cw_status cw_register_error_mm(const cw_focus_reading *r, cw_quantity *error_mm, cw_error *err)
{
    double marked, seen, marked_f, seen_f;
    CW_TRY(image_of(r, r->focal_mm, r->marked_m, &marked, err));
    CW_TRY(image_of(r, r->focal_mm, r->true_m, &seen, err));
    /* v hardly moves with its arguments at a bench, so differences over a small step are enough for the uncertainty */
    double step = 1 + 1e-6, f = r->focal_mm, by_marked = 0, by_true = 0;
    CW_TRY(image_of(r, f * (1 - 1e-6), r->marked_m, &marked_f, err));
    CW_TRY(image_of(r, f * (1 - 1e-6), r->true_m, &seen_f, err));
    double by_focal = ((marked - marked_f) - (seen - seen_f)) / 1e-6; /* per relative change */
    if (isfinite(r->marked_m)) {
        CW_TRY(image_of(r, f, r->marked_m * step, &marked_f, err));
        by_marked = (marked_f - marked) / (r->marked_m * 1e-6);
    }
    if (isfinite(r->true_m)) {
        CW_TRY(image_of(r, f, r->true_m * step, &seen_f, err));
        by_true = (seen_f - seen) / (r->true_m * 1e-6);
    }
    double u2 = pow(by_focal * r->u_focal_relative, 2) + pow(by_marked * r->u_marked_m, 2) +
                pow(by_true * r->u_true_m, 2) + r->u_sharp_mm * r->u_sharp_mm;
    *error_mm = (cw_quantity){marked - seen, sqrt(u2)};
    return CW_OK;
}
