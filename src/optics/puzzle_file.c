/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The puzzle form read from JSON. */
#include "optics/puzzle.h"

#include <jansson.h>
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include "optics/json_in.h"

enum { PUZZLE_BYTES = 1024 * 1024 };

typedef struct {
    double radius_relative, thickness_mm, spacer_mm, n_d;
} spread;

static const cw_quantity unknown = {NAN, NAN};

static cw_status read_u(const json_t *object, const char *key, double fallback, double *u, cw_error *err)
{
    CW_TRY(cw_json_number(object, key, fallback, u, err));
    if (!(*u >= 0))
        return cw_fail(err, CW_INPUT, "\"%s\" is %g; an uncertainty is zero or above", key, *u);
    return CW_OK;
}

/* A value with "u_KEY" beside it; without one, `relative` of the value. */
static cw_status read_measured(const json_t *object, const char *key, double relative, cw_quantity *q, cw_error *err)
{
    char u_key[64];
    snprintf(u_key, sizeof u_key, "u_%s", key);
    *q = unknown;
    double value;
    CW_TRY(cw_json_number(object, key, NAN, &value, err));
    if (isnan(value))
        return CW_OK;
    if (value == 0)
        return cw_fail(err, CW_INPUT, "\"%s\" is 0; leave it out when it is not known", key);
    q->value = value;
    return read_u(object, u_key, relative * fabs(value), &q->u, err);
}

static cw_status list_of(const json_t *object, const char *key, size_t least, size_t most, const json_t **list,
                         cw_error *err)
{
    *list = json_object_get(object, key);
    if (!json_is_array(*list))
        return cw_fail(err, CW_INPUT, "\"%s\" is missing; it is a list", key);
    size_t count = json_array_size(*list);
    if (count < least || count > most)
        return cw_fail(err, CW_INPUT, "\"%s\" holds %zu; expected %zu%s%.0zu", key, count, least,
                       least == most ? "" : " to ", least == most ? 0 : most);
    return CW_OK;
}

static cw_status item_number(const json_t *list, size_t i, const char *key, bool null_allowed, double *value,
                             cw_error *err)
{
    const json_t *item = json_array_get(list, i);
    *value = NAN;
    if (json_is_null(item) && null_allowed)
        return CW_OK;
    if (!json_is_number(item) || !isfinite(json_number_value(item)))
        return cw_fail(err, CW_INPUT, "\"%s\", number %zu: expected a plain number%s", key, i + 1,
                       null_allowed ? " or null" : "");
    *value = json_number_value(item);
    return CW_OK;
}

static cw_status read_glass(const json_t *object, const spread *u, cw_loose_group *g, cw_error *err)
{
    const json_t *radii, *thicknesses, *indices = json_object_get(object, "n_d");
    double value;
    CW_TRY(list_of(object, "radii_mm", 2, CW_GROUP_GLASSES + 1, &radii, err));
    g->glasses = json_array_size(radii) - 1;
    CW_TRY(list_of(object, "thickness_mm", g->glasses, g->glasses, &thicknesses, err));
    for (size_t i = 0; i <= g->glasses; i++) {
        CW_TRY(item_number(radii, i, "radii_mm", true, &value, err));
        if (value == 0)
            return cw_fail(err, CW_INPUT, "\"radii_mm\", number %zu is 0; a plane is written null", i + 1);
        /* a plane looks flat against a straight edge: its uncertainty is that of a sag of about a micrometre, none here
         */
        g->curvature[i] =
            isnan(value) ? (cw_quantity){0, 0} : (cw_quantity){1 / value, u->radius_relative / fabs(value)};
    }
    for (size_t i = 0; i < g->glasses; i++) {
        CW_TRY(item_number(thicknesses, i, "thickness_mm", false, &value, err));
        g->thickness_mm[i] = (cw_quantity){value, u->thickness_mm};
        g->n_d[i] = unknown;
    }
    if (indices == NULL || json_is_null(indices))
        return CW_OK;
    CW_TRY(list_of(object, "n_d", g->glasses, g->glasses, &indices, err));
    for (size_t i = 0; i < g->glasses; i++) {
        CW_TRY(item_number(indices, i, "n_d", true, &value, err));
        g->n_d[i] = (cw_quantity){value, u->n_d};
    }
    return CW_OK;
}

static cw_status read_fixed(const json_t *object, size_t places, cw_loose_group *g, cw_error *err)
{
    const json_t *fixed = json_object_get(object, "fixed");
    g->position = SIZE_MAX;
    g->turned = -1;
    if (fixed == NULL || json_is_null(fixed) || json_is_false(fixed))
        return CW_OK;
    if (!json_is_object(fixed))
        return cw_fail(err, CW_INPUT, "\"fixed\" is an object: {\"position\": 1, \"turned\": false}");
    const json_t *position = json_object_get(fixed, "position"), *turned = json_object_get(fixed, "turned");
    if (position != NULL) {
        json_int_t at = json_integer_value(position);
        if (!json_is_integer(position) || at < 1 || at > (json_int_t)places)
            return cw_fail(err, CW_INPUT, "\"position\" is a whole number from 1 (front) to %zu", places);
        g->position = (size_t)at - 1;
    }
    if (turned != NULL && !json_is_boolean(turned))
        return cw_fail(err, CW_INPUT, "\"turned\" is true or false");
    if (turned != NULL)
        g->turned = json_is_true(turned) ? 1 : 0;
    return CW_OK;
}

static cw_status read_group(const json_t *object, const spread *u, size_t places, cw_loose_group *g, cw_error *err)
{
    if (!json_is_object(object))
        return cw_fail(err, CW_INPUT, "not an object with \"label\", \"radii_mm\", \"thickness_mm\" and \"n_d\"");
    cw_json_text(object, "label", g->label, sizeof g->label);
    if (g->label[0] == '\0')
        return cw_fail(err, CW_INPUT, "\"label\" is missing: a letter to call the piece by");
    CW_TRY(read_glass(object, u, g, err));
    CW_TRY(cw_json_number(object, "diameter_mm", NAN, &g->diameter_mm, err));
    CW_TRY(read_measured(object, "focal_length_mm", 0.01, &g->focal_length_mm, err));
    CW_TRY(read_measured(object, "front_focus_mm", 0.01, &g->front_focus_mm, err));
    CW_TRY(read_measured(object, "back_focus_mm", 0.01, &g->back_focus_mm, err));
    return read_fixed(object, places, g, err);
}

static cw_status settle_index(cw_loose_group *g, cw_error *err)
{
    size_t missing = 0;
    for (size_t i = 0; i < g->glasses; i++)
        missing += isnan(g->n_d[i].value) ? 1 : 0;
    g->inside_known = missing == 0;
    if (missing == 0)
        return CW_OK;
    if (isnan(g->focal_length_mm.value))
        return cw_fail(err, CW_INPUT,
                       "neither \"n_d\" nor \"focal_length_mm\" is given; measure the piece's focal length");
    if (g->glasses == 1) {
        CW_TRY(cw_index_from_focal_length(g->curvature[0], g->curvature[1], g->thickness_mm[0], g->focal_length_mm,
                                          &g->n_d[0], err));
        g->focal_length_mm = unknown; /* used up: the index carries it */
        g->inside_known = true;
        return CW_OK;
    }
    if (isnan(g->front_focus_mm.value) || isnan(g->back_focus_mm.value))
        return cw_fail(err, CW_INPUT,
                       "a cemented piece whose glasses are not known needs \"focal_length_mm\", "
                       "\"front_focus_mm\" and \"back_focus_mm\"");
    return CW_OK;
}

static cw_status read_groups(const json_t *root, const spread *u, cw_puzzle *p, cw_error *err)
{
    const json_t *list;
    CW_TRY(list_of(root, "groups", 2, CW_PUZZLE_GROUPS, &list, err));
    p->group_count = json_array_size(list);
    for (size_t i = 0; i < p->group_count; i++) {
        cw_loose_group *g = &p->group[i];
        cw_status status = read_group(json_array_get(list, i), u, p->group_count, g, err);
        if (status == CW_OK)
            status = settle_index(g, err);
        if (status != CW_OK) {
            cw_context(err, "group %zu%s%s", i + 1, g->label[0] != '\0' ? " " : "", g->label);
            return status;
        }
        for (size_t k = 0; k < i; k++)
            if (strcmp(p->group[k].label, g->label) == 0)
                return cw_fail(err, CW_INPUT, "two groups are both called \"%s\"", g->label);
    }
    return CW_OK;
}

static cw_status read_spacer(const json_t *object, const spread *u, size_t places, cw_spacer *s, cw_error *err)
{
    if (!json_is_object(object))
        return cw_fail(err, CW_INPUT, "not an object with \"label\", \"length_mm\" and \"contact_diameter_mm\"");
    cw_json_text(object, "label", s->label, sizeof s->label);
    double length, position;
    CW_TRY(cw_json_number(object, "length_mm", NAN, &length, err));
    CW_TRY(cw_json_number(object, "contact_diameter_mm", NAN, &s->contact_mm, err));
    CW_TRY(cw_json_number(object, "position", NAN, &position, err));
    if (!(length >= -0.1 && length < 1000)) /* a ring of no length may read a little below zero */
        return cw_fail(err, CW_INPUT, "\"length_mm\" must be given, from 0 to 1000 mm");
    if (!(s->contact_mm > 0 && s->contact_mm < 1000))
        return cw_fail(err, CW_INPUT, "\"contact_diameter_mm\" must be given, above 0: where the ring touches glass");
    s->length_mm = (cw_quantity){length, u->spacer_mm};
    s->position = SIZE_MAX;
    if (!isnan(position)) {
        if (!(position >= 1 && position <= (double)places && floor(position) == position))
            return cw_fail(err, CW_INPUT, "\"position\" is a whole number from 1 (front) to %zu", places);
        s->position = (size_t)position - 1;
    }
    return CW_OK;
}

static cw_status read_spacers(const json_t *root, const spread *u, cw_puzzle *p, cw_error *err)
{
    const json_t *list = json_object_get(root, "spacers");
    size_t need = p->group_count - 1, count = json_array_size(list);
    if (!json_is_array(list))
        return cw_fail(err, CW_INPUT, "\"spacers\" is missing: a list of the rings between the groups");
    if (count != need)
        return cw_fail(err, CW_INPUT, "%zu spacers for %zu groups; %zu stand between them. %s", count, p->group_count,
                       need,
                       count > need ? "Is one from elsewhere, or does one belong before the first glass?"
                                    : "Where glass touches glass give a spacer of length 0 at its contact diameter");
    for (size_t i = 0; i < need; i++) {
        cw_spacer *s = &p->spacer[i];
        if (read_spacer(json_array_get(list, i), u, need, s, err) != CW_OK) {
            cw_context(err, "spacer %zu", i + 1);
            return err->status;
        }
        if (s->label[0] == '\0')
            snprintf(s->label, sizeof s->label, "s%zu", i + 1);
        for (size_t k = 0; k < i; k++)
            if (strcmp(p->spacer[k].label, s->label) == 0)
                return cw_fail(err, CW_INPUT, "two spacers are both called \"%s\"", s->label);
    }
    return CW_OK;
}

static cw_status read_stop(const json_t *root, cw_puzzle *p, cw_error *err)
{
    const json_t *stop = json_object_get(root, "stop");
    if (stop == NULL || json_is_null(stop))
        return CW_OK;
    char label[CW_PUZZLE_LABEL];
    cw_json_text(stop, "in_spacer", label, sizeof label);
    for (size_t i = 0; i + 1 < p->group_count; i++)
        if (strcmp(p->spacer[i].label, label) == 0) {
            p->stop_spacer = i;
            p->stop_known = true;
        }
    if (!p->stop_known)
        return cw_fail(err, CW_INPUT, "\"stop\": \"in_spacer\" is \"%s\", which is none of the spacers", label);
    return cw_json_number(stop, "after_front_contact_mm", p->spacer[p->stop_spacer].length_mm.value / 2,
                          &p->stop_after_mm, err);
}

static cw_status read_barrel(const json_t *root, cw_puzzle *p, cw_error *err)
{
    const json_t *list = json_object_get(root, "barrel");
    for (size_t i = 0; i < CW_PUZZLE_GROUPS; i++)
        p->place[i] = (cw_barrel_place){NAN, NAN};
    if (list == NULL || json_is_null(list))
        return CW_OK;
    CW_TRY(list_of(root, "barrel", p->group_count, p->group_count, &list, err));
    for (size_t i = 0; i < p->group_count; i++) {
        const json_t *place = json_array_get(list, i);
        if (json_is_null(place))
            continue;
        if (!json_is_object(place))
            return cw_fail(err, CW_INPUT, "\"barrel\", place %zu: expected {\"seat_diameter_mm\": ..} or null", i + 1);
        CW_TRY(cw_json_number(place, "seat_diameter_mm", NAN, &p->place[i].seat_mm, err));
        CW_TRY(cw_json_number(place, "bore_diameter_mm", NAN, &p->place[i].bore_mm, err));
    }
    return CW_OK;
}

static cw_status read_known(const json_t *root, cw_puzzle *p, cw_error *err)
{
    const json_t *known = json_object_get(root, "known");
    if (!json_is_object(known))
        return cw_fail(err, CW_INPUT, "\"known\" is missing: at least the focal length or the back focus of the whole");
    CW_TRY(read_measured(known, "focal_length_mm", 0.01, &p->focal_length_mm, err));
    CW_TRY(read_measured(known, "back_focus_mm", 0.005, &p->back_focus_mm, err));
    CW_TRY(cw_json_number(known, "f_number", NAN, &p->f_number, err));
    CW_TRY(cw_json_number(known, "half_field_deg", NAN, &p->half_field_deg, err));
    if (isnan(p->focal_length_mm.value) && isnan(p->back_focus_mm.value))
        return cw_fail(err, CW_INPUT,
                       "\"known\" holds neither \"focal_length_mm\" nor \"back_focus_mm\"; without one there "
                       "is nothing to rank by");
    return CW_OK;
}

static cw_status read_spread(const json_t *root, spread *u, cw_error *err)
{
    const json_t *given = json_object_get(root, "uncertainty");
    if (given != NULL && !json_is_object(given))
        return cw_fail(err, CW_INPUT, "\"uncertainty\" is an object: radius_relative, thickness_mm, spacer_mm, n_d");
    CW_TRY(read_u(given, "radius_relative", 0.005, &u->radius_relative, err));
    CW_TRY(read_u(given, "thickness_mm", 0.02, &u->thickness_mm, err));
    CW_TRY(read_u(given, "spacer_mm", 0.02, &u->spacer_mm, err));
    CW_TRY(read_u(given, "n_d", 0, &u->n_d, err));
    if (u->radius_relative > 0.2 || u->thickness_mm > 5 || u->spacer_mm > 5 || u->n_d > 0.3)
        return cw_fail(err, CW_INPUT,
                       "\"uncertainty\": radius_relative up to 0.2, lengths up to 5 mm and n_d up to 0.3 can "
                       "be used; beyond that nothing can be told apart");
    return CW_OK;
}

static cw_status read_puzzle(const json_t *root, cw_puzzle *p, cw_error *err)
{
    spread u;
    CW_TRY(cw_json_form(root, "camerawright.puzzle/1", err));
    CW_TRY(cw_json_units_mm(root, err));
    cw_json_text(root, "name", p->name, sizeof p->name);
    CW_TRY(read_known(root, p, err));
    CW_TRY(read_spread(root, &u, err));
    CW_TRY(read_groups(root, &u, p, err));
    CW_TRY(read_spacers(root, &u, p, err));
    CW_TRY(read_stop(root, p, err));
    CW_TRY(read_barrel(root, p, err));
    return cw_puzzle_check(p, err);
}

cw_status cw_puzzle_from_json(const char *bytes, size_t count, cw_puzzle *puzzle, cw_error *err)
{
    json_t *root;
    CW_TRY(cw_json_load(bytes, count, PUZZLE_BYTES, "a lens puzzle", &root, err));
    cw_puzzle read;
    memset(&read, 0, sizeof read);
    cw_status status = read_puzzle(root, &read, err);
    json_decref(root);
    if (status == CW_OK)
        *puzzle = read;
    return status;
}
