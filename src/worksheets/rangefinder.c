/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Rangefinder pairs to the two adjusters. */
#include <math.h>

#include "optics/focus.h"
#include "optics/rangefinder.h"
#include "worksheets/chart.h"
#include "worksheets/focus_fields.h"

static const cw_field pair_columns[] = {
    CW_NEED("true", "True distance", CW_LENGTH, "m", 0, 1000000.0, "0 = infinity"),
    CW_NEED("indicated", "Rangefinder reads", CW_LENGTH, "m", 0, 1000000.0, "0 = infinity")};
static const cw_field table_columns[] = {
    CW_SAY("true", "True distance", "where the target stood"),
    CW_MAY_SHOW("now", "Error now", CW_LENGTH, "mm", 3, "on the film; positive: focused too near"),
    CW_MAY_SHOW("left", "Remains", CW_LENGTH, "mm", 3, "with both adjusters right")};

static const cw_field inputs[] = {
    CW_FIELD_FOCAL,
    CW_FIELD_APERTURE,
    CW_FIELD_CIRCLE,
    {.key = "pairs",
     .label = "Readings",
     .kind = CW_KIND_ROWS,
     .required = true,
     .columns = pair_columns,
     .column_count = CW_COUNT(pair_columns),
     .rows_most = CW_RANGE_PAIRS,
     .help = "far and near at least; three or more show the scatter; 0 = infinity"},
    CW_MAYBE("u-reading", "Uncertainty of one reading", CW_DIOPTRE, "D", 1e-06, 1,
             "in dioptres, 1/m; left out: from the scatter of three or more pairs"),
};

static const cw_field outputs[] = {
    CW_SHOW("alpha", "Infinity error", CW_DIOPTRE, "D", 3, "what it reads in 1/m at infinity; 0 when right"),
    CW_SHOW("beta", "Near gain", CW_PLAIN, NULL, 4, "1 when right; above 1 it runs ahead at near distances"),
    CW_SHOW("film-error", "Infinity error on the film", CW_LENGTH, "mm", 3,
            "a lens set by it stands this much too far out at infinity"),
    CW_SHOW("allowed", "Allowed either way", CW_LENGTH, "mm", 3, "half the depth of focus, N c"),
    {.key = "table",
     .label = "Each distance",
     .kind = CW_KIND_ROWS,
     .required = true,
     .columns = table_columns,
     .column_count = CW_COUNT(table_columns),
     .help = "now, and with both adjusters right"},
    CW_JUDGE("now", "As it is", "worst distance against the depth of focus at full aperture"),
    CW_JUDGE("after", "With both adjusters right", "what remains, worst distance, with its uncertainty"),
    {.key = "advice", .label = "What to do", .kind = CW_KIND_TEXT, .required = true, .help = "in this order"},
    {.key = "chart",
     .label = "Error against distance",
     .kind = CW_KIND_DRAWING,
     .help = "error on the film over 1/distance; dashed: the depth of focus"},
};

static double metres(double given)
{
    return given == 0 ? INFINITY : given;
}

static double per_metre(double metres_or_infinity)
{
    return isinf(metres_or_infinity) ? 0 : 1 / metres_or_infinity;
}

typedef struct {
    size_t count;
    cw_range_pair pairs[CW_RANGE_PAIRS];
    cw_rangefinder fit;
    double focal_mm, allowed_mm;
    double x[CW_RANGE_PAIRS], now_mm[CW_RANGE_PAIRS], left_mm[CW_RANGE_PAIRS];
} reading;

static cw_status evaluate(reading *r, cw_error *err)
{
    for (size_t i = 0; i < r->count; i++) {
        r->x[i] = per_metre(r->pairs[i].true_m);
        CW_TRY(cw_range_defocus_mm(r->focal_mm, r->x[i], per_metre(r->pairs[i].indicated_m), &r->now_mm[i], err));
        CW_TRY(cw_range_defocus_mm(r->focal_mm, r->x[i], r->x[i] + r->fit.left_per_m[i], &r->left_mm[i], err));
    }
    return CW_OK;
}

static double worst(const double *values, size_t count)
{
    double most = 0;
    for (size_t i = 0; i < count; i++)
        most = fabs(values[i]) > fabs(most) ? values[i] : most;
    return most;
}

static void fill_table(const reading *r, cw_sheet_out *out)
{
    for (size_t i = 0; i < r->count; i++) {
        size_t row = cw_out_row(out, "table");
        if (isinf(r->pairs[i].true_m))
            cw_out_cell_text(out, "table", row, "true", "infinity");
        else
            cw_out_cell_text(out, "table", row, "true", "%.3g m", r->pairs[i].true_m);
        cw_out_cell_number(out, "table", row, "now", r->now_mm[i] / 1000);
        cw_out_cell_number(out, "table", row, "left", r->left_mm[i] / 1000);
    }
}

static void advise(const reading *r, cw_sheet_out *out)
{
    const cw_quantity a = r->fit.alpha_per_m, b = r->fit.beta;
    bool alpha_off = fabs(a.value) > 2 * a.u, beta_off = fabs(b.value - 1) > 2 * b.u;
    if (!alpha_off && !beta_off)
        cw_out_text(out, "advice",
                    "neither error stands out of the reading's own uncertainty: leave both adjusters alone");
    else if (!beta_off)
        cw_out_text(out, "advice",
                    "turn the infinity adjuster until the images meet on a far target; leave the near one");
    else
        cw_out_text(
            out, "advice",
            "first the near adjuster (arm or cam): at %.3g m it must read %.3g m with infinity as it now "
            "is; then the infinity adjuster on a far target; then read both again, since each moves the other a little",
            1.0, 1 / fmax(1e-6, a.value + 1.0));
}

static cw_status draw_errors(const reading *r, cw_sheet_out *out, cw_error *err)
{
    enum { CURVE = 41 };
    double most = worst(r->x, r->count), x[CURVE], y[CURVE];
    size_t points = 0;
    for (int i = 0; i < CURVE; i++) {
        double at = most * i / (CURVE - 1), defocus;
        cw_error beyond;
        if (cw_range_defocus_mm(r->focal_mm, at, r->fit.alpha_per_m.value + r->fit.beta.value * at, &defocus,
                                &beyond) != CW_OK)
            continue; /* the fitted line asks for the inside of the focal length there: no point */
        x[points] = at;
        y[points++] = defocus;
    }
    const cw_chart_series series[] = {{points, x, y, true, false, CW_LAYER_RAY},
                                      {r->count, r->x, r->now_mm, false, true, CW_LAYER_CUT}};
    const cw_chart chart = {.title = "Rangefinder error on the film",
                            .description =
                                "Circles: the readings. Line: infinity error and near gain fitted. Dashed: depth of "
                                "focus at full aperture, over one over the distance",
                            .x_label = "1/distance, 1/m",
                            .y_label = "error on the film, mm",
                            .series = series,
                            .series_count = CW_COUNT(series),
                            .band = r->allowed_mm,
                            .band_label = "depth of focus"};
    cw_drawing *drawing;
    CW_TRY(cw_chart_draw(&chart, &drawing, err));
    cw_out_drawing(out, "chart", drawing);
    return CW_OK;
}

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    double number = cw_in_number(in, "aperture"), u = cw_in_or(in, "u-reading", NAN);
    reading r = {.count = cw_in_rows(in, "pairs"), .focal_mm = 1000 * cw_in_number(in, "focal-length")};
    r.allowed_mm = cw_depth_of_focus_mm(number, 1000 * cw_in_number(in, "circle"));
    if (r.count > CW_RANGE_PAIRS)
        return cw_fail(err, CW_INPUT, "%zu pairs; %d at most", r.count, CW_RANGE_PAIRS);
    for (size_t i = 0; i < r.count; i++)
        r.pairs[i] = (cw_range_pair){metres(cw_in_cell_number(in, "pairs", i, "true")),
                                     metres(cw_in_cell_number(in, "pairs", i, "indicated"))};
    CW_TRY(cw_rangefinder_fit(r.count, r.pairs, u, &r.fit, err));
    CW_TRY(evaluate(&r, err));
    double to_film = r.focal_mm * r.focal_mm * 1e-6; /* m per dioptre at infinity */
    cw_out_quantity(out, "alpha", r.fit.alpha_per_m);
    cw_out_quantity(out, "beta", r.fit.beta);
    cw_out_quantity(out, "film-error", (cw_quantity){r.fit.alpha_per_m.value * to_film, r.fit.alpha_per_m.u * to_film});
    cw_out_number(out, "allowed", r.allowed_mm / 1000);
    fill_table(&r, out);
    double one = fmax(isnan(u) ? 0 : u, isnan(r.fit.scatter_per_m) ? 0 : r.fit.scatter_per_m) * to_film * 1000;
    double now = worst(r.now_mm, r.count), left = worst(r.left_mm, r.count);
    cw_verdict v = cw_within(now, one, r.allowed_mm);
    cw_out_verdict(out, "now", v, "worst %.3f mm on the film, %s the depth of focus at f/%.3g", fabs(now),
                   cw_verdict_word(v), number);
    v = cw_within(left, one, r.allowed_mm);
    cw_out_verdict(out, "after", v, "worst %.3f mm, %s the depth of focus%s", fabs(left), cw_verdict_word(v),
                   v == CW_VERDICT_OUTSIDE ? "; that is wear or play, which no adjuster takes out" : "");
    advise(&r, out);
    return draw_errors(&r, out, err);
}

static const char *const sources[] = {"1/indicated = alpha + beta/true, least squares; thin-lens images",
                                      "W. J. Smith, Modern Optical Engineering, eq. 9.8: depth of focus +- N c", NULL};
static const char *const example[] = {
    "focal-length", "50 mm", "aperture", "2", "pairs", "0,24;4,3.6;2,1.92;1,0.99", NULL};

extern const cw_worksheet cw_sheet_rangefinder;
const cw_worksheet cw_sheet_rangefinder = {
    .name = "rangefinder",
    .title = "Set a rangefinder from what it reads",
    .group = "Focus",
    .purpose = "Reads the coupled rangefinder at known distances and tells its two errors apart: the infinity adjuster "
               "and the near one. It says what each wants, what remains, and whether that is inside the depth of focus "
               "of the lens.",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .sources = sources,
    .compute = compute,
    .example = example,
};
