/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/frame.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "signal/frame_inside.h"

enum { CELLS_MOST = 4000000, CELL_LEAST = 8 };
/* a black level is known to about a count; rectangular over one */
static const double u_black = 0.5;
/* below so many counts above black (mean of a cell) in the reference there is nothing to divide by */
static const double darkest = 4;

cw_status cw_frame_open(const char *path, cw_frame **frame, cw_error *err)
{
    cw_frame *made = calloc(1, sizeof *made);
    if (made == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for a photograph");
    cw_status status = cw_frame_open_jpeg(path, made, err);
    if (status == CW_NOT_MINE)
        status = cw_frame_open_raw(path, made, err);
    if (status == CW_NOT_MINE)
        status = cw_fail(
            err, CW_INPUT,
            "\"%s\" is neither a JPEG nor a raw photograph that can be read; take raw, or JPEG where the camera "
            "has no raw",
            path);
    if (status != CW_OK) {
        cw_frame_close(made);
        return status;
    }
    *frame = made;
    return CW_OK;
}

void cw_frame_close(cw_frame *frame)
{
    if (frame == NULL)
        return;
    if (frame->release != NULL)
        frame->release(frame->held);
    free(frame);
}

const cw_frame_info *cw_frame_about(const cw_frame *frame)
{
    return &frame->info;
}

/* Sums of one colour in one cell. The frames are compared in counts above black. */
typedef struct {
    double reference, test, reference_2, test_2;
    size_t count;
} colour_sum;

typedef struct {
    colour_sum colours[CW_FRAME_COLOURS];
    size_t clipped, pixels;
} cell_sum;

/* One row of pixels between two columns into a cell. Partial sums in integers: a cell's row is short enough. */
static void add_row(const cw_frame *r, const cw_frame *t, const cw_frame *d, size_t y, size_t from, size_t to,
                    cell_sum *sum)
{
    const uint16_t *rp = r->pixels + y * r->pitch, *tp = t->pixels + y * t->pitch;
    const uint16_t *dp = d != NULL ? d->pixels + y * d->pitch : NULL;
    const uint8_t *colours = r->colour[y % CW_FRAME_PATTERN];
    const float *r_black = r->black[y % CW_FRAME_PATTERN], *t_black = t->black[y % CW_FRAME_PATTERN];
    const float *d_black = d != NULL ? d->black[y % CW_FRAME_PATTERN] : NULL;
    for (size_t x = from; x < to; x++) {
        if (rp[x] >= r->clip || tp[x] >= t->clip) {
            sum->clipped++;
            continue;
        }
        size_t phase = x % CW_FRAME_PATTERN;
        double reference = (double)rp[x] - (double)r_black[phase], test = (double)tp[x] - (double)t_black[phase];
        if (dp != NULL)
            test -= (double)dp[x] - (double)d_black[phase];
        colour_sum *colour = &sum->colours[colours[phase]];
        colour->reference += reference;
        colour->test += test;
        colour->reference_2 += reference * reference;
        colour->test_2 += test * test;
        colour->count++;
    }
    sum->pixels += to - from;
}

static double variance_of_mean(double sum, double squares, double n)
{
    double mean = sum / n;
    return n > 1 ? fmax(squares / n - mean * mean, 0) / (n - 1) : INFINITY;
}

/* The ratio of each colour has its own uncertainty; they are joined by weight. */
static cw_frame_cell join(const cell_sum *sum, double r_saturation, double t_saturation)
{
    cw_frame_cell cell = {NAN, NAN, 0, 0, sum->pixels > 0 ? (double)sum->clipped / (double)sum->pixels : 0};
    double weights = 0, weighted = 0, counted = 0;
    for (size_t c = 0; c < CW_FRAME_COLOURS; c++) {
        const colour_sum *colour = &sum->colours[c];
        double n = (double)colour->count;
        if (colour->count < 8)
            continue;
        double reference = colour->reference / n, test = colour->test / n;
        cell.reference += colour->reference / r_saturation;
        cell.test += colour->test / t_saturation;
        counted += n;
        if (reference < darkest)
            continue;
        double ratio = test / reference;
        double u_r = hypot(sqrt(variance_of_mean(colour->reference, colour->reference_2, n)), u_black / sqrt(3));
        double u_t = hypot(sqrt(variance_of_mean(colour->test, colour->test_2, n)), u_black / sqrt(3));
        double u = hypot(u_t, ratio * u_r) / reference;
        weights += 1 / (u * u);
        weighted += ratio / (u * u);
    }
    if (counted > 0) {
        cell.reference /= counted;
        cell.test /= counted;
    }
    if (weights > 0 && cell.clipped < 0.5) {
        cell.ratio = weighted / weights;
        cell.u_ratio = 1 / sqrt(weights);
    }
    return cell;
}

static cw_status check_pair(const cw_frame *a, const cw_frame *b, const char *what, cw_error *err)
{
    if (a->info.width != b->info.width || a->info.height != b->info.height)
        return cw_fail(err, CW_INPUT,
                       "the reference has %zu x %zu pixels and the %s %zu x %zu; both must come from the same "
                       "camera at the same setting",
                       a->info.width, a->info.height, what, b->info.width, b->info.height);
    if (a->info.is_raw != b->info.is_raw)
        return cw_fail(err, CW_INPUT, "one photograph is raw and the %s is not; take both as raw, or both as JPEG",
                       what);
    return CW_OK;
}

cw_status cw_frame_compare(const cw_frame *reference, const cw_frame *test, const cw_frame *dark, size_t columns,
                           size_t rows, cw_frame_cell *cells, cw_error *err)
{
    CW_TRY(check_pair(reference, test, "test", err));
    if (dark != NULL)
        CW_TRY(check_pair(reference, dark, "dark frame", err));
    size_t width = reference->info.width, height = reference->info.height;
    if (columns == 0 || rows == 0 || columns * rows > CELLS_MOST || width / columns < CELL_LEAST ||
        height / rows < CELL_LEAST)
        return cw_fail(err, CW_RANGE, "a grid of %zu x %zu cells does not suit a photograph of %zu x %zu pixels",
                       columns, rows, width, height);
    cell_sum *sums = malloc(columns * sizeof *sums);
    if (sums == NULL)
        return cw_fail(err, CW_MEMORY, "no memory to compare photographs");
    for (size_t row = 0; row < rows; row++) {
        memset(sums, 0, columns * sizeof *sums);
        for (size_t y = row * height / rows; y < (row + 1) * height / rows; y++)
            for (size_t column = 0; column < columns; column++)
                add_row(reference, test, dark, y, column * width / columns, (column + 1) * width / columns,
                        &sums[column]);
        for (size_t column = 0; column < columns; column++)
            cells[row * columns + column] = join(&sums[column], reference->info.saturation, test->info.saturation);
    }
    free(sums);
    return CW_OK;
}
