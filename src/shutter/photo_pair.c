/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shutter/photo_pair.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { COLUMNS = CW_PHOTO_COLUMNS, ROWS = CW_PHOTO_ROWS };
/* the gate's edges are where the reference falls to half of its brightest; the rim next to them is half shadow */
static const double gate_share = 0.5, rim_share = 0.02;
static const double least_ratio = 1e-9;                 /* of light: far under what any sensor tells from nothing */
static const double too_dark = 0.02, too_bright = 0.05; /* of saturation; part of clipped pixels worth a word */

static void warn(cw_photo_result *result, const char *format, ...) __attribute__((format(printf, 2, 3)));

static void warn(cw_photo_result *result, const char *format, ...)
{
    if (result->warning_count == CW_COUNT(result->warnings))
        return;
    va_list args;
    va_start(args, format);
    vsnprintf(result->warnings[result->warning_count++], sizeof result->warnings[0], format, args);
    va_end(args);
}

/* The light that the settings account for: reference seconds times ISO and aperture ratios, and its relative u. */
static cw_status equivalent_reference(const cw_frame_info *r, const cw_frame_info *t, const cw_photo_setup *setup,
                                      cw_photo_result *result, cw_quantity *seconds, cw_error *err)
{
    double base_s = setup->reference_s, u = isnan(setup->u_reference_relative) ? 0.01 : setup->u_reference_relative;
    if (isnan(base_s)) {
        base_s = r->exposure_s;
        u = CW_PHOTO_U_EXIF_TIME;
    }
    if (!(base_s > 0))
        return cw_fail(err, CW_INPUT, "the reference photograph does not say how long it was exposed; give the time");
    if (!isnan(r->iso) && !isnan(t->iso) && r->iso != t->iso) {
        base_s *= r->iso / t->iso;
        u = hypot(u, CW_PHOTO_U_EXIF_STEP * M_LN2);
        warn(result, "the two photographs were taken at ISO %.0f and %.0f; the same ISO for both would be surer",
             r->iso, t->iso);
    }
    if (!isnan(r->f_number) && !isnan(t->f_number) && r->f_number != t->f_number) {
        base_s *= (t->f_number / r->f_number) * (t->f_number / r->f_number);
        u = hypot(u, CW_PHOTO_U_EXIF_STEP * M_LN2);
        warn(result, "the two photographs were taken at f/%.2g and f/%.2g; the same aperture for both would be surer",
             r->f_number, t->f_number);
    }
    if (isnan(r->iso) != isnan(t->iso) || (isnan(r->iso) && isnan(t->iso)))
        warn(result, "ISO is not said in both photographs; they are taken to be at the same");
    if (!(base_s >= 1e-6 && base_s <= 1e6)) /* no camera exposes so; a file that was tampered with, or a wrong time */
        return cw_fail(err, CW_INPUT,
                       "the reference comes to an exposure of %g s; a microsecond to a million can be used", base_s);
    *seconds = (cw_quantity){base_s, base_s * u};
    return CW_OK;
}

/* The gate as the box of cells brighter than half of the bright ones. */
static cw_status find_gate(const cw_frame_cell *cells, cw_photo_result *result, cw_error *err)
{
    double brightest = 0;
    for (size_t i = 0; i < (size_t)COLUMNS * ROWS; i++)
        brightest = fmax(brightest, cells[i].clipped < 0.5 ? cells[i].reference : 1);
    if (!(brightest > too_dark))
        return cw_fail(
            err, CW_INPUT,
            "the reference photograph is dark (%.1f %% of saturation at its brightest); expose it to the middle "
            "of the histogram",
            brightest * 100);
    size_t left = COLUMNS, right = 0, top = ROWS, bottom = 0;
    for (size_t row = 0; row < ROWS; row++)
        for (size_t column = 0; column < COLUMNS; column++) {
            const cw_frame_cell *cell = &cells[row * COLUMNS + column];
            if (cell->clipped < 0.5 && cell->reference < gate_share * brightest)
                continue;
            left = column < left ? column : left;
            right = column >= right ? column + 1 : right;
            top = row < top ? row : top;
            bottom = row >= bottom ? row + 1 : bottom;
        }
    result->left = (double)left / COLUMNS;
    result->right = (double)right / COLUMNS;
    result->top = (double)top / ROWS;
    result->bottom = (double)bottom / ROWS;
    return CW_OK;
}

static cw_status choose_gate(const cw_photo_setup *setup, const cw_frame_cell *cells, cw_photo_result *result,
                             cw_error *err)
{
    if (setup->left == 0 && setup->right == 0 && setup->top == 0 && setup->bottom == 0)
        return find_gate(cells, result, err);
    bool good = setup->left >= 0 && setup->right <= 1 && setup->top >= 0 && setup->bottom <= 1 &&
                setup->right - setup->left > 0.1 && setup->bottom - setup->top > 0.1;
    if (!good)
        return cw_fail(
            err, CW_RANGE,
            "the film gate from %g to %g across and %g to %g down cannot be; parts of the picture from 0 to 1, at "
            "least a tenth wide and high",
            setup->left, setup->right, setup->top, setup->bottom);
    result->left = setup->left;
    result->right = setup->right;
    result->top = setup->top;
    result->bottom = setup->bottom;
    return CW_OK;
}

/* What a box of the picture holds: plain means over its cells, so that a real unevenness is not weighted away. */
typedef struct {
    cw_quantity ratio; /* u: of the pixels alone */
    double reference_level, test_level, clipped, dark;
} box_mean;

static box_mean look_at_box(const cw_frame_cell *cells, double left, double top, double right, double bottom)
{
    double sum = 0, squares = 0, known = 0, count = 0;
    box_mean mean = {.ratio = {NAN, NAN}};
    for (size_t i = 0; i < CW_PHOTO_CELLS; i++) {
        const cw_frame_cell *cell = &cells[i];
        double x = ((double)(i % COLUMNS) + 0.5) / COLUMNS, y = ((double)(i / COLUMNS) + 0.5) / ROWS;
        if (x < left || x >= right || y < top || y >= bottom)
            continue;
        count++;
        mean.clipped += cell->clipped;
        mean.test_level += cell->test;
        mean.reference_level += cell->reference;
        bool seen = isfinite(cell->ratio);
        mean.dark += cell->clipped < 0.5 && !(seen && cell->ratio > 3 * cell->u_ratio);
        if (!seen)
            continue;
        known++;
        sum += cell->ratio;
        squares += cell->u_ratio * cell->u_ratio;
    }
    if (count == 0)
        return (box_mean){.ratio = {NAN, NAN}, .clipped = 1};
    mean.clipped /= count;
    mean.test_level /= count;
    mean.reference_level /= count;
    mean.dark /= count;
    if (known > 0)
        mean.ratio = (cw_quantity){sum / known, sqrt(squares) / known};
    return mean;
}

/* The box of a place at `share` along the travel: a strip across the middle two thirds of the other direction. */
static void place_box(const cw_photo_setup *setup, const cw_photo_result *gate, double share, double half,
                      double box[4])
{
    bool across = setup->travel == CW_TRAVEL_RIGHT || setup->travel == CW_TRAVEL_LEFT;
    double along = setup->travel == CW_TRAVEL_LEFT || setup->travel == CW_TRAVEL_UP ? 1 - share : share;
    double width = gate->right - gate->left, height = gate->bottom - gate->top;
    if (across) {
        box[0] = gate->left + (along - half) * width;
        box[2] = gate->left + (along + half) * width;
        box[1] = gate->top + height / 6;
        box[3] = gate->bottom - height / 6;
    } else {
        box[1] = gate->top + (along - half) * height;
        box[3] = gate->top + (along + half) * height;
        box[0] = gate->left + width / 6;
        box[2] = gate->right - width / 6;
    }
}

/* What all pairs of one kind leave open, relative: tone curve or straightness, black level. */
static double doubt_of(const cw_photo_compared *pair, const box_mean *box)
{
    if (!pair->reference.is_raw)
        return CW_PHOTO_U_JPEG * (1 + fabs(log2(box->ratio.value)));
    double black_test = pair->has_dark ? CW_PHOTO_U_BLACK_DARK : CW_PHOTO_U_BLACK;
    return hypot(CW_PHOTO_U_LINEAR,
                 hypot(black_test / fmax(box->test_level, 1e-6), CW_PHOTO_U_BLACK / fmax(box->reference_level, 1e-6)));
}

static void fill_place(const cw_photo_compared *pair, const box_mean *box, cw_quantity equivalent, double position_mm,
                       cw_sensor_shot *place)
{
    *place = cw_sensor_shot_unknown(position_mm);
    place->seen =
        box->ratio.value > 3 * box->ratio.u && box->ratio.value > least_ratio && box->ratio.value < 1 / least_ratio;
    if (box->clipped > too_bright)
        snprintf(place->remark, sizeof place->remark, "%.0f %% of the pixels here are clipped: expose less",
                 box->clipped * 100);
    else if (box->test_level < too_dark)
        snprintf(place->remark, sizeof place->remark, "the test is dark here (%.1f %% of saturation): more light",
                 box->test_level * 100);
    if (!place->seen)
        return;
    double relative =
        hypot(hypot(box->ratio.u / box->ratio.value, equivalent.u / equivalent.value), doubt_of(pair, box));
    place->method = CW_METHOD_PHOTO;
    place->exposure_s.value = box->ratio.value * equivalent.value;
    place->exposure_s.u = place->exposure_s.value * relative;
    place->u_random_s = box->ratio.u * equivalent.value;
}

static void fill_map(const cw_frame_cell *cells, double middle, cw_photo_result *result)
{
    for (size_t i = 0; i < (size_t)COLUMNS * ROWS; i++) {
        double x = ((double)(i % COLUMNS) + 0.5) / COLUMNS, y = ((double)(i / COLUMNS) + 0.5) / ROWS;
        bool inside = x > result->left + rim_share && x < result->right - rim_share && y > result->top + rim_share &&
                      y < result->bottom - rim_share;
        bool clear = cells[i].ratio > 3 * cells[i].u_ratio;
        result->evenness_ev[i] = inside && clear ? cw_log2_ratio(cells[i].ratio, middle) : NAN;
    }
}

/* The digital shutter must have been open for the whole of the film camera's. */
static void check_times(const cw_photo_compared *pair, cw_photo_result *result)
{
    double open_s = pair->test.exposure_s;
    if (open_s > 0 && open_s < 2 * result->middle_s.value)
        warn(result,
             "the test photograph says it was exposed for %.3g s only, and %.3g s was found: the digital shutter must "
             "stay open in the dark while the film camera's is fired",
             open_s, result->middle_s.value);
    if (pair->reference.is_raw && !pair->has_dark && result->test_level < 0.05)
        warn(result,
             "the test is dark (%.1f %% of saturation) and there is no dark frame; a photograph of the same length "
             "without firing would take the sensor's own glow off",
             result->test_level * 100);
}

static cw_status measure(const cw_photo_compared *pair, const cw_photo_setup *setup, cw_quantity equivalent,
                         cw_photo_result *result, cw_error *err)
{
    size_t places = setup->places > 0 ? setup->places : 5;
    double box[4];
    place_box(setup, result, 0.5, 0.08, box);
    box_mean middle = look_at_box(pair->cells, box[0], box[1], box[2], box[3]),
             whole = look_at_box(pair->cells, result->left, result->top, result->right, result->bottom);
    if (!(middle.ratio.value > 0))
        return cw_fail(err, CW_INPUT, "nothing can be compared at the middle of the frame: %s",
                       middle.clipped > too_bright ? "the pixels are clipped; expose less"
                                                   : "the test photograph is dark there");
    double u_extra = doubt_of(pair, &middle), value = middle.ratio.value * equivalent.value;
    if (!pair->reference.is_raw)
        warn(result,
             "JPEG: the camera's tone curve is not known, so the times are known to about %.0f %% only (k = 1); raw "
             "files tell more",
             u_extra * 100);
    result->clipped = whole.clipped;
    result->dark = whole.dark;
    result->reference_level = whole.reference_level;
    result->test_level = whole.test_level;
    result->u_shared = hypot(equivalent.u / equivalent.value, u_extra);
    result->middle_s = (cw_quantity){value, value * hypot(middle.ratio.u / middle.ratio.value, result->u_shared)};
    result->shot = (cw_shot){.marked_s = NAN, .contact_s = {NAN, NAN}, .contact_opens_s = NAN, .sensor_count = places};
    for (size_t i = 0; i < places; i++) {
        double share = ((double)i + 0.5) / (double)places;
        place_box(setup, result, share, fmin(0.08, 0.4 / (double)places), box);
        box_mean there = look_at_box(pair->cells, box[0], box[1], box[2], box[3]);
        fill_place(pair, &there, equivalent, share * setup->frame_mm, &result->shot.sensors[i]);
    }
    check_times(pair, result);
    fill_map(pair->cells, middle.ratio.value, result);
    return CW_OK;
}

cw_status cw_photo_compare(const cw_frame *reference, const cw_frame *test, const cw_frame *dark, const char *name,
                           cw_photo_compared *compared, cw_error *err)
{
    const cw_frame_info *r = cw_frame_about(reference), *t = cw_frame_about(test);
    if (r->camera[0] != '\0' && t->camera[0] != '\0' && strcmp(r->camera, t->camera) != 0)
        return cw_fail(err, CW_INPUT, "the photographs come from two cameras (\"%s\" and \"%s\"); use one for both",
                       r->camera, t->camera);
    cw_photo_compared *made = malloc(sizeof *made);
    if (made == NULL)
        return cw_fail(err, CW_MEMORY, "no memory to compare photographs");
    cw_status status = cw_frame_compare(reference, test, dark, COLUMNS, ROWS, made->cells, err);
    if (status == CW_OK) {
        made->reference = *r;
        made->test = *t;
        made->has_dark = dark != NULL;
        snprintf(made->name, sizeof made->name, "%s", name);
        *compared = *made;
    }
    free(made);
    return status;
}

cw_status cw_photo_judge(const cw_photo_compared *pair, const cw_photo_setup *setup, cw_photo_result *result,
                         cw_error *err)
{
    if (!(setup->frame_mm >= 5 && setup->frame_mm <= 300) || setup->places > CW_SENSORS_MOST)
        return cw_fail(err, CW_RANGE,
                       "a frame of %g mm with %zu places cannot be used; 5 to 300 mm, up to %d places can",
                       setup->frame_mm, setup->places, CW_SENSORS_MOST);
    cw_photo_result *made = calloc(1, sizeof *made);
    cw_quantity equivalent = {NAN, NAN};
    if (made == NULL)
        return cw_fail(err, CW_MEMORY, "no memory to compare photographs");
    cw_status status = equivalent_reference(&pair->reference, &pair->test, setup, made, &equivalent, err);
    if (status == CW_OK)
        status = choose_gate(setup, pair->cells, made, err);
    if (status == CW_OK)
        status = measure(pair, setup, equivalent, made, err);
    if (status == CW_OK)
        *result = *made;
    free(made);
    return status;
}

cw_status cw_photo_pair(const cw_frame *reference, const cw_frame *test, const cw_frame *dark,
                        const cw_photo_setup *setup, cw_photo_result *result, cw_error *err)
{
    cw_photo_compared *pair = malloc(sizeof *pair);
    if (pair == NULL)
        return cw_fail(err, CW_MEMORY, "no memory to compare photographs");
    cw_status status = cw_photo_compare(reference, test, dark, "", pair, err);
    if (status == CW_OK)
        status = cw_photo_judge(pair, setup, result, err);
    free(pair);
    return status;
}

static const char *const travel_names[] = {
    [CW_TRAVEL_RIGHT] = "right", [CW_TRAVEL_LEFT] = "left", [CW_TRAVEL_DOWN] = "down", [CW_TRAVEL_UP] = "up"};

const char *cw_photo_travel_name(cw_photo_travel travel)
{
    return travel_names[travel];
}

bool cw_photo_travel_find(const char *name, cw_photo_travel *travel)
{
    for (size_t i = 0; i < CW_COUNT(travel_names); i++)
        if (strcmp(travel_names[i], name) == 0) {
            *travel = (cw_photo_travel)i;
            return true;
        }
    return false;
}
