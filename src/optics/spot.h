/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where the light of one far point lands: spots on and off the axis, and the fan of axial rays. */
#ifndef CW_OPTICS_SPOT_H
#define CW_OPTICS_SPOT_H

#include "base/error.h"
#include "optics/lens.h"
#include "optics/paraxial.h"
#include "optics/trace.h"

enum { CW_SPOT_RAYS = 127, CW_AXIAL_RAYS = 12 };

/* Rays lost are left out and counted. rms_mm: root mean square distance from the centroid at the image plane; best_*:
 * where the plane is shifted along the axis (positive: away from the lens) until that is least. */
typedef struct {
    double field_deg;
    size_t rays, lost;
    double rms_mm, centroid_mm; /* centroid: image height, y; 0 on the axis */
    double best_shift_mm, best_rms_mm;
    size_t points; /* of x, y below: the rays that came through */
    double x_mm[CW_SPOT_RAYS], y_mm[CW_SPOT_RAYS];
} cw_spot;

/* The centre and six rings of 6, 12 .. 36 rays over the entrance pupil, first of each ring at +y; a far point at
 * field_deg above the axis below the horizon, that is light coming up with direction (0, sin, cos). entrance: where the
 * paraxial entrance pupil stands and how wide it is. CW_RANGE when fewer than three rays come through. */
cw_status cw_lens_spot(const cw_train *train, const cw_pupil *entrance, double field_deg, double image_mm, cw_spot *out,
                       cw_error *err) __attribute__((warn_unused_result));

/* The axial beam's root mean square distance from the axis at the best focus, from 12 heights that share the beam's
 * area equally; best_mm: that focus behind the last vertex. CW_RANGE when a ray is lost, with its height and surface.
 */
cw_status cw_axial_spot(const cw_train *train, double beam_mm, double image_mm, double *rms_mm, double *best_mm,
                        cw_error *err) __attribute__((warn_unused_result));

typedef struct {
    double height_mm, y_image_mm, m, n;
} cw_axial_ray;

/* Rays parallel to the axis at the given heights. CW_RANGE when one is lost: its height, why and where. */
cw_status cw_axial_fan(const cw_train *train, size_t count, const double *heights_mm, double image_mm,
                       cw_axial_ray *out, cw_error *err) __attribute__((warn_unused_result));

#endif
