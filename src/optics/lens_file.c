/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The lens form read from JSON. */
#include "optics/lens.h"

#include <jansson.h>
#include <math.h>
#include <string.h>

#include "optics/json_in.h"

enum { LENS_BYTES = 4 * 1024 * 1024 };

static cw_status read_curvature(const json_t *object, cw_surface *s, cw_error *err)
{
    const json_t *radius = json_object_get(object, "radius_mm");
    if (json_object_get(object, "curvature_per_mm") != NULL && radius == NULL)
        return cw_json_number(object, "curvature_per_mm", NAN, &s->curvature_per_mm, err);
    if (radius == NULL)
        return cw_fail(err, CW_INPUT, "\"radius_mm\" is missing; give the radius in mm, or null for a plane");
    if (json_is_null(radius)) {
        s->curvature_per_mm = 0;
        return CW_OK;
    }
    double mm;
    CW_TRY(cw_json_number(object, "radius_mm", NAN, &mm, err));
    if (mm == 0)
        return cw_fail(err, CW_INPUT, "\"radius_mm\" is 0; a plane is written null");
    s->curvature_per_mm = 1 / mm;
    return CW_OK;
}

static cw_status read_indices(const json_t *object, cw_surface *s, cw_error *err)
{
    const char *key = json_object_get(object, "n_d") != NULL ? "n_d" : "n";
    double v;
    CW_TRY(cw_json_number(object, key, NAN, &s->n[CW_LINE_D], err));
    if (isnan(s->n[CW_LINE_D]))
        return cw_fail(err, CW_INPUT, "\"n_d\" is missing: the index of the medium after the surface (1 for air)");
    CW_TRY(cw_json_number(object, "n_F", NAN, &s->n[CW_LINE_F], err));
    CW_TRY(cw_json_number(object, "n_C", NAN, &s->n[CW_LINE_C], err));
    CW_TRY(cw_json_number(object, "v_d", NAN, &v, err));
    if (!isnan(s->n[CW_LINE_F]) && !isnan(s->n[CW_LINE_C]))
        return CW_OK;
    if (s->n[CW_LINE_D] == 1)
        s->n[CW_LINE_F] = s->n[CW_LINE_C] = 1;
    else if (v > 0)
        cw_glass_from_v(s->n[CW_LINE_D], v, s->n);
    else if (!isnan(v))
        return cw_fail(err, CW_INPUT, "\"v_d\" is %g; the V number of a glass is above zero", v);
    return CW_OK;
}

static cw_status read_surface(const json_t *object, bool last, cw_surface *s, bool *stop, cw_error *err)
{
    if (!json_is_object(object))
        return cw_fail(err, CW_INPUT, "not an object with \"radius_mm\", \"thickness_mm\" and \"n_d\"");
    static const char *const other_shapes[] = {"aspheric", "aspheric_coefficients", "coefficients", "a4", "a6"};
    for (size_t i = 0; i < CW_COUNT(other_shapes); i++)
        if (json_is_array(json_object_get(object, other_shapes[i])) ||
            json_number_value(json_object_get(object, other_shapes[i])) != 0)
            return cw_fail(err, CW_INPUT, "\"%s\": only spheres and conics are traced here", other_shapes[i]);
    CW_TRY(read_curvature(object, s, err));
    CW_TRY(cw_json_number(object, "conic", 0, &s->conic, err));
    CW_TRY(cw_json_number(object, "thickness_mm", NAN, &s->thickness_mm, err));
    if (isnan(s->thickness_mm)) {
        if (!last)
            return cw_fail(err, CW_INPUT, "\"thickness_mm\" is missing: the distance to the next surface");
        s->thickness_mm = NAN;
    }
    CW_TRY(read_indices(object, s, err));
    CW_TRY(cw_json_number(object, "semi_diameter_mm", NAN, &s->semi_diameter_mm, err));
    if (isnan(s->semi_diameter_mm)) {
        double diameter;
        CW_TRY(cw_json_number(object, "diameter_mm", NAN, &diameter, err));
        s->semi_diameter_mm = diameter / 2;
    }
    const json_t *mark = json_object_get(object, "stop");
    if (mark != NULL && !json_is_boolean(mark) && !json_is_null(mark))
        return cw_fail(err, CW_INPUT, "\"stop\" must be true or false");
    *stop = json_is_true(mark);
    return CW_OK;
}

static cw_status read_surfaces(const json_t *list, cw_lens *lens, cw_error *err)
{
    if (!json_is_array(list))
        return cw_fail(err, CW_INPUT, "\"surfaces\" is missing: a list of the surfaces from front to back");
    size_t count = json_array_size(list);
    if (count < 1 || count > CW_LENS_SURFACES)
        return cw_fail(err, CW_INPUT, "%zu surfaces; 1 to %d can be read", count, CW_LENS_SURFACES);
    lens->count = lens->stop = count;
    for (size_t i = 0; i < count; i++) {
        bool stop = false;
        if (read_surface(json_array_get(list, i), i + 1 == count, &lens->surface[i], &stop, err) != CW_OK) {
            cw_context(err, "surface %zu", i + 1);
            return err->status;
        }
        if (stop && lens->stop != count)
            return cw_fail(err, CW_INPUT, "surfaces %zu and %zu are both marked as the stop; a lens has one",
                           lens->stop + 1, i + 1);
        if (stop)
            lens->stop = i;
    }
    return CW_OK;
}

/* Heights stand in "heights_mm", or with the rays of "axial_rays" here or in "reference". */
static cw_status read_heights(const json_t *root, cw_lens *lens, cw_error *err)
{
    const json_t *list = json_object_get(root, "heights_mm");
    bool bare = list != NULL;
    if (list == NULL)
        list = json_object_get(root, "axial_rays");
    if (list == NULL)
        list = json_object_get(json_object_get(root, "reference"), "axial_rays");
    if (list == NULL)
        return CW_OK;
    if (!json_is_array(list) || json_array_size(list) > CW_LENS_HEIGHTS)
        return cw_fail(err, CW_INPUT, "the heights of axial rays must be a list of at most %d", CW_LENS_HEIGHTS);
    for (size_t i = 0; i < json_array_size(list); i++) {
        const json_t *item = json_array_get(list, i);
        const json_t *number = bare || json_is_number(item) ? item : json_object_get(item, "height_mm");
        if (!json_is_number(number) || !isfinite(json_number_value(number)))
            return cw_fail(err, CW_INPUT, "axial ray %zu has no \"height_mm\" that is a number", i + 1);
        lens->height_mm[lens->height_count++] = json_number_value(number);
    }
    return CW_OK;
}

static cw_status read_lens(const json_t *root, cw_lens *lens, cw_error *err)
{
    CW_TRY(cw_json_form(root, "camerawright.lens/1", err));
    CW_TRY(cw_json_units_mm(root, err));
    cw_json_text(root, "name", lens->name, sizeof lens->name);
    cw_json_text(root, "source", lens->source, sizeof lens->source);
    CW_TRY(read_surfaces(json_object_get(root, "surfaces"), lens, err));
    CW_TRY(cw_json_number(root, "f_number", NAN, &lens->f_number, err));
    CW_TRY(cw_json_number(root, "half_field_deg", NAN, &lens->half_field_deg, err));
    CW_TRY(cw_json_number(root, "epd_mm", NAN, &lens->beam_mm, err));
    const json_t *reference = json_object_get(root, "reference");
    if (isnan(lens->beam_mm) && json_is_object(reference))
        CW_TRY(cw_json_number(reference, "epd_mm", NAN, &lens->beam_mm, err));
    if (!isnan(lens->beam_mm) && !(lens->beam_mm > 0))
        return cw_fail(err, CW_INPUT, "\"epd_mm\" is %g; the entering beam has a diameter above zero", lens->beam_mm);
    CW_TRY(read_heights(root, lens, err));
    return CW_OK;
}

cw_status cw_lens_from_json(const char *bytes, size_t count, cw_lens *lens, cw_error *err)
{
    json_t *root;
    CW_TRY(cw_json_load(bytes, count, LENS_BYTES, "a lens", &root, err));
    cw_lens read;
    memset(&read, 0, sizeof read);
    cw_status status = read_lens(root, &read, err);
    json_decref(root);
    if (status != CW_OK)
        return status;
    /* a missing last thickness means "wherever the focus is": the faces put the image there */
    bool open = isnan(read.surface[read.count - 1].thickness_mm);
    if (open)
        read.surface[read.count - 1].thickness_mm = 0;
    CW_TRY(cw_lens_check(&read, err));
    if (open)
        read.surface[read.count - 1].thickness_mm = NAN;
    *lens = read;
    return CW_OK;
}
