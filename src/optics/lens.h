/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A centred lens as a row of surfaces, and the plain facts about it.
 *
 * Light runs from left to right along z, object at infinity on the left, air before the first surface. A radius is
 * positive when the centre of curvature lies to the right; curvature 0 is a plane. A thickness and the indices describe
 * the medium after the surface; the last thickness reaches to the image plane. Lengths in mm, curvatures in 1/mm. */
#ifndef CW_OPTICS_LENS_H
#define CW_OPTICS_LENS_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"

enum { CW_LENS_SURFACES = 64, CW_LENS_HEIGHTS = 64, CW_LENS_NAME = 128, CW_LENS_SOURCE = 512 };

/* The three lines glass is named by: F 486.1 nm, d 587.6 nm, C 656.3 nm. */
typedef enum { CW_LINE_F, CW_LINE_D, CW_LINE_C, CW_LINE_COUNT } cw_line_name;

typedef struct {
    double curvature_per_mm;
    double conic;            /* 0 sphere, -1 paraboloid; sag = c h^2 / (1 + sqrt(1 - (1 + conic) c^2 h^2)) */
    double thickness_mm;     /* >= 0 to the next vertex, any finite value on the last surface */
    double n[CW_LINE_COUNT]; /* after the surface; F and C are NaN when the glass's dispersion is not known */
    double semi_diameter_mm; /* of the clear glass; NaN when not known */
} cw_surface;

typedef struct {
    char name[CW_LENS_NAME], source[CW_LENS_SOURCE];
    size_t count; /* of surfaces, 1 to CW_LENS_SURFACES */
    size_t stop;  /* index of the surface at which the diaphragm stands; == count when not known */
    cw_surface surface[CW_LENS_SURFACES];
    double f_number;       /* NaN when not known */
    double half_field_deg; /* NaN when not known */
    double beam_mm;        /* diameter of the entering axial beam; NaN when only the f-number tells */
    size_t height_count;   /* of axial rays asked for; 0: the default fan */
    double height_mm[CW_LENS_HEIGHTS];
} cw_lens;

/* Sag of a conic surface at height h: distance along z from the vertex plane. NaN where the surface does not reach. */
double cw_sag_mm(double curvature_per_mm, double conic, double height_mm);

/* Index after surface i; air before the first (i = SIZE_MAX is not allowed: see cw_lens_index_before). */
double cw_lens_index_before(const cw_lens *lens, size_t surface, cw_line_name line);
/* True when every medium's F and C indices are known. */
bool cw_lens_has_dispersion(const cw_lens *lens);
/* First to last vertex. */
double cw_lens_length_mm(const cw_lens *lens);

/* Holds a lens to what can exist. CW_RANGE, with the surface's number from 1: no surfaces, a number that is not finite,
 * an index outside 1 to 5, a thickness below 0 (elements that overlap), a curvature too strong for the clear diameter,
 * neighbours that run into each other at the rim by more than 0.2 mm and 2 % of the diameter. */
cw_status cw_lens_check(const cw_lens *lens, cw_error *err) __attribute__((warn_unused_result));

/* The deepest overlap of neighbouring surfaces at the smaller of their clear edges, mm (0: none or diameters unknown),
 * and behind which surface (index). */
double cw_lens_rim_overlap_mm(const cw_lens *lens, size_t *surface);

/* The same glass turned end for end; the last thickness (to the image) is set to 0 and the stop follows. A stop that
 * stands on a glass surface stays on that surface. */
cw_lens cw_lens_reversed(const cw_lens *lens);
/* Every length times `factor` (> 0). */
cw_lens cw_lens_scaled(const cw_lens *lens, double factor);

/* n_F and n_C from n_d and the number V = (n_d - 1)/(n_F - n_C), by n = a + b/w^2 through n_d (a two-term Cauchy form;
 * exact in n_F - n_C, a few 1e-4 off a catalogue's n_F). V > 0. */
void cw_glass_from_v(double n_d, double v_d, double n[CW_LINE_COUNT]);
/* V, or NaN for air and for unknown dispersion. */
double cw_glass_v(const double n[CW_LINE_COUNT]);

/* Reads the form "camerawright.lens/1": an object with "surfaces", front to back, each with "radius_mm" (null = plane)
 * or "curvature_per_mm", "thickness_mm", "n_d" (or "n") of the medium after it, and, where known, "n_F", "n_C", "v_d",
 * "conic", "semi_diameter_mm" or "diameter_mm", "stop". Beside: "f_number", "half_field_deg", "epd_mm", "units" (must
 * be mm when given), "heights_mm", or the heights of "axial_rays", there or in "reference". Other keys are left alone.
 *
 * bytes, count   the text, not terminated needed; at most 4 MB
 * lens           written only on CW_OK, checked by cw_lens_check
 * CW_NOT_MINE    JSON of another form (the sentence says which), CW_INPUT everything else, with line or surface */
cw_status cw_lens_from_json(const char *bytes, size_t count, cw_lens *lens, cw_error *err)
    __attribute__((warn_unused_result));

#endif
