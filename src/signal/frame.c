/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/frame.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "signal/frame_inside.h"

enum { CELLS_MOST = 4000000, CELL_LEAST = 8, CELL_PIXELS_MOST = 1000000 };
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
        status =
            cw_fail(err, CW_INPUT,
                    "this is neither a JPEG nor a raw photograph that can be read; take raw, or JPEG where the camera "
                    "has no raw");
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

/* Pixels are summed in lanes, so that the compiler can do several at once: lane k of a row holds the pixels k, k +
 * LANES
 * ... of its cell. LANES is a multiple of every pattern's period, so a lane has one colour. A cell of the largest
 * photograph has under 60,000 pixels a lane: 32 bits are enough for its sums. */
enum { LANES = 24, SCATTER_EVERY = 4 };

typedef struct {
    uint32_t reference[LANES], test[LANES], dark[LANES], count[LANES];
    /* the scatter is had from one repeat of the pattern in SCATTER_EVERY; it says nothing new in the others */
    uint64_t reference_2[LANES], test_2[LANES];
    double reference_1[LANES], test_1[LANES]; /* of the same pixels */
    uint32_t count_2[LANES];
} lane_sums;

/* Sums of one colour in one cell, in counts above black. */
typedef struct {
    double reference, test, count;
    double reference_1, reference_2, test_1, test_2, count_2; /* where the scatter was looked at */
} colour_sum;

typedef struct {
    colour_sum colours[CW_FRAME_COLOURS];
    size_t clipped, pixels;
} cell_sum;

/* The smallest number of rows and columns after which colours and black levels of both frames repeat. */
static size_t pattern_period(const cw_frame *r, const cw_frame *t, const cw_frame *d)
{
    const cw_frame *frames[] = {r, t, d};
    for (size_t period = 1; period < CW_FRAME_PATTERN; period++) {
        bool repeats = CW_FRAME_PATTERN % period == 0;
        for (size_t i = 0; i < CW_FRAME_PATTERN * CW_FRAME_PATTERN; i++) {
            size_t y = i / CW_FRAME_PATTERN, x = i % CW_FRAME_PATTERN;
            for (size_t f = 0; f < CW_COUNT(frames) && frames[f] != NULL; f++)
                repeats = repeats && frames[f]->colour[y][x] == frames[f]->colour[y % period][x % period] &&
                          frames[f]->black[y][x] == frames[f]->black[y % period][x % period];
        }
        if (repeats)
            return period;
    }
    return CW_FRAME_PATTERN;
}

static void add_lanes(const uint16_t *restrict rp, const uint16_t *restrict tp, uint16_t r_clip, uint16_t t_clip,
                      lane_sums *restrict sum)
{
#pragma omp simd
    for (size_t k = 0; k < LANES; k++) {
        uint16_t good = (uint16_t) - (rp[k] < r_clip && tp[k] < t_clip);
        sum->reference[k] += rp[k] & good;
        sum->test[k] += tp[k] & good;
        sum->count[k] += good & 1;
    }
}

static void add_scatter(const uint16_t *restrict rp, const uint16_t *restrict tp, uint16_t r_clip, uint16_t t_clip,
                        size_t lanes, lane_sums *restrict sum)
{
    for (size_t k = 0; k < lanes; k++) {
        if (rp[k] >= r_clip || tp[k] >= t_clip)
            continue;
        sum->reference_1[k] += rp[k];
        sum->test_1[k] += tp[k];
        sum->reference_2[k] += (uint64_t)rp[k] * rp[k];
        sum->test_2[k] += (uint64_t)tp[k] * tp[k];
        sum->count_2[k]++;
    }
}

typedef struct {
    const cw_frame *reference, *test, *dark;
} trio;

/* One row of pixels between two columns. */
static void add_row(const trio *f, size_t y, size_t from, size_t to, bool scatter, lane_sums *sum)
{
    const uint16_t *rp = f->reference->pixels + y * f->reference->pitch, *tp = f->test->pixels + y * f->test->pitch;
    uint16_t r_clip = f->reference->clip, t_clip = f->test->clip;
    size_t x = from;
    for (; x + LANES <= to; x += LANES)
        add_lanes(rp + x, tp + x, r_clip, t_clip, sum);
    for (size_t k = 0; x + k < to; k++) {
        bool good = rp[x + k] < r_clip && tp[x + k] < t_clip;
        sum->reference[k] += good ? rp[x + k] : 0;
        sum->test[k] += good ? tp[x + k] : 0;
        sum->count[k] += good;
    }
    for (x = from; scatter && x < to; x += LANES)
        add_scatter(rp + x, tp + x, r_clip, t_clip, to - x < LANES ? to - x : LANES, sum);
    if (f->dark == NULL)
        return;
    const uint16_t *dp = f->dark->pixels + y * f->dark->pitch;
    for (x = from; x < to; x++)
        if (rp[x] < r_clip && tp[x] < t_clip)
            sum->dark[(x - from) % LANES] += dp[x];
}

/* Lanes of the rows of one phase of the pattern into the cell's colours, black taken off. */
static void fold(const trio *f, const lane_sums *sum, size_t y_phase, size_t from, cell_sum *cell)
{
    for (size_t k = 0; k < LANES; k++) {
        size_t x_phase = (from + k) % CW_FRAME_PATTERN;
        colour_sum *colour = &cell->colours[f->reference->colour[y_phase][x_phase]];
        double r_black = (double)f->reference->black[y_phase][x_phase],
               t_black = (double)f->test->black[y_phase][x_phase], n = sum->count[k], m = sum->count_2[k];
        double dark = f->dark == NULL ? 0 : sum->dark[k] - n * (double)f->dark->black[y_phase][x_phase];
        colour->reference += sum->reference[k] - n * r_black;
        colour->test += sum->test[k] - n * t_black - dark;
        colour->count += n;
        colour->reference_1 += sum->reference_1[k] - m * r_black;
        colour->test_1 += sum->test_1[k] - m * t_black;
        colour->reference_2 += (double)sum->reference_2[k] - 2 * r_black * sum->reference_1[k] + m * r_black * r_black;
        colour->test_2 += (double)sum->test_2[k] - 2 * t_black * sum->test_1[k] + m * t_black * t_black;
        colour->count_2 += m;
    }
}

static double variance(double sum, double squares, double n)
{
    double mean = sum / n;
    return n > 1 ? fmax(squares / n - mean * mean, 0) * n / (n - 1) : INFINITY;
}

/* The ratio of each colour has its own uncertainty; they are joined by weight. */
static cw_frame_cell join(const cell_sum *sum, double r_saturation, double t_saturation)
{
    cw_frame_cell cell = {NAN, NAN, 0, 0, sum->pixels > 0 ? (double)sum->clipped / (double)sum->pixels : 0};
    double weights = 0, weighted = 0, counted = 0;
    for (size_t c = 0; c < CW_FRAME_COLOURS; c++) {
        const colour_sum *colour = &sum->colours[c];
        double n = colour->count;
        if (n < 8 || colour->count_2 < 4)
            continue;
        double reference = colour->reference / n, test = colour->test / n;
        cell.reference += colour->reference / r_saturation;
        cell.test += colour->test / t_saturation;
        counted += n;
        if (reference < darkest)
            continue;
        double ratio = test / reference;
        double v_r = variance(colour->reference_1, colour->reference_2, colour->count_2),
               v_t = variance(colour->test_1, colour->test_2, colour->count_2);
        /* no less than the rounding of one count, for frames without noise */
        double u = sqrt(fmax(v_t + ratio * ratio * v_r, 1.0 / 12) / n) / reference;
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
        height / rows < CELL_LEAST || (width / columns + 1) * (height / rows + 1) > CELL_PIXELS_MOST)
        return cw_fail(
            err, CW_RANGE,
            "a grid of %zu x %zu cells does not suit a photograph of %zu x %zu pixels; a cell wants 8 pixels each way",
            columns, rows, width, height);
    const trio frames = {reference, test, dark};
    size_t period = pattern_period(reference, test, dark);
    lane_sums *lanes = malloc(columns * period * sizeof *lanes);
    if (lanes == NULL)
        return cw_fail(err, CW_MEMORY, "no memory to compare photographs");
    for (size_t row = 0; row < rows; row++) {
        memset(lanes, 0, columns * period * sizeof *lanes);
        for (size_t y = row * height / rows; y < (row + 1) * height / rows; y++)
            for (size_t column = 0; column < columns; column++)
                add_row(&frames, y, column * width / columns, (column + 1) * width / columns,
                        y / period % SCATTER_EVERY == 0, &lanes[column * period + y % period]);
        for (size_t column = 0; column < columns; column++) {
            size_t from = column * width / columns;
            cell_sum sum = {.pixels = ((column + 1) * width / columns - from) *
                                      ((row + 1) * height / rows - row * height / rows)};
            double counted = 0;
            for (size_t phase = 0; phase < period; phase++)
                fold(&frames, &lanes[column * period + phase], phase, from, &sum);
            for (size_t c = 0; c < CW_FRAME_COLOURS; c++)
                counted += sum.colours[c].count;
            sum.clipped = sum.pixels - (size_t)counted;
            cells[row * columns + column] = join(&sum, reference->info.saturation, test->info.saturation);
        }
    }
    free(lanes);
    return CW_OK;
}
