/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Self-timer and shutter lag from repeated timings. */
#include <math.h>

#include "base/stats.h"
#include "worksheets/fields.h"

static const cw_choice kinds[] = {{"self-timer", "Self-timer"}, {"lag", "Release to opening"}, {NULL, NULL}};

enum { TIMINGS_MOST = 50 };

static const cw_field timing_columns[] = {
    CW_NEED("time", "Time", CW_TIME, "s", 1e-5, 120, ""),
};

static const cw_field inputs[] = {
    CW_PICK("kind", "What was timed", kinds, "self-timer", ""),
    {.key = "times",
     .label = "Timings",
     .kind = CW_KIND_ROWS,
     .columns = timing_columns,
     .column_count = CW_COUNT(timing_columns),
     .rows_most = TIMINGS_MOST,
     .required = true,
     .help = "one a row; three at least tell the spread"},
    CW_USUAL("clock-u", "How far the clock can be off", CW_TIME, "s", "0.1 s", 0, 5,
             "standard uncertainty of one timing; a thumb on a watch 0.1 s, a recording next to nothing"),
    CW_MAYBE("least", "Should be at least", CW_TIME, "s", 0, 120,
             "left out: self-timer 7 s, common practice, no source"),
    CW_MAYBE("most", "Should be at most", CW_TIME, "s", 1e-4, 120,
             "left out: self-timer 12 s; lag 0.1 s, common practice, no source"),
};

static const cw_field outputs[] = {
    CW_JUDGE("inside", "Within the limits?", "the mean, at k = 2"),
    CW_SHOW("mean", "Mean", CW_TIME, "s", 3, ""),
    CW_MAY_SHOW("spread", "Spread of one", CW_TIME, "s", 2, "standard deviation"),
    CW_SHOW("shortest", "Shortest", CW_TIME, "s", 3, ""),
    CW_SHOW("longest", "Longest", CW_TIME, "s", 3, ""),
    CW_SAY("advice", "Advice", ""),
};

static void say_advice(cw_sheet_out *out, const cw_summary *s, bool timer)
{
    if (!isnan(s->sd) && s->sd > 0.1 * s->mean)
        cw_out_text(out, "advice", "It runs unevenly: dirt or old oil in the %s. Clean before oiling.",
                    timer ? "timer's train" : "release linkage");
    else
        cw_out_text(out, "advice", "It runs evenly.");
}

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    double times[TIMINGS_MOST];
    size_t count = cw_in_rows(in, "times");
    if (count > TIMINGS_MOST)
        return cw_fail(err, CW_RANGE, "%zu timings; %d can be used", count, TIMINGS_MOST);
    for (size_t i = 0; i < count; i++)
        times[i] = cw_in_cell_number(in, "times", i, "time");
    cw_summary s;
    CW_TRY(cw_summarise(count, times, &s, err));
    bool timer = cw_in_is(in, "kind", "self-timer");
    double least = cw_in_or(in, "least", timer ? 7 : 0), most = cw_in_or(in, "most", timer ? 12 : 0.1),
           clock_u = cw_in_number(in, "clock-u");
    if (most <= least)
        return cw_fail(err, CW_RANGE, "limits from %g to %g s; the second must be the larger", least, most);
    /* the spread of the timings already holds the clock's scatter; with one timing the clock alone is known */
    double u = isnan(s.u_mean)
                   ? clock_u
                   : fmax(s.u_mean * cw_student_t(0.9545, (double)(count - 1)) / 2, clock_u / sqrt((double)count));
    cw_quantity mean = {s.mean, u};
    double inside = fmin(s.mean - least, most - s.mean);
    cw_out_verdict(out, "inside", cw_at_least((cw_quantity){inside, u}, 0), "%.3g s against %.3g to %.3g s", s.mean,
                   least, most);
    cw_out_quantity(out, "mean", mean);
    if (!isnan(s.sd))
        cw_out_number(out, "spread", s.sd);
    cw_out_number(out, "shortest", s.least);
    cw_out_number(out, "longest", s.most);
    say_advice(out, &s, timer);
    return CW_OK;
}

static const char *const sources[] = {"mean and its uncertainty: JCGM 100:2008, 4.2 and G.3",
                                      "limits: common practice, no source", NULL};
static const char *const example[] = {"kind", "self-timer", "times", "9.8;10.1;9.9;10.4", NULL};

extern const cw_worksheet cw_sheet_lag_times;
const cw_worksheet cw_sheet_lag_times = {
    .name = "lag-times",
    .title = "Self-timer and shutter lag",
    .group = "Light",
    .purpose = "Repeated timings of the self-timer, or of the lag from release to opening, into a mean, a spread and a "
               "verdict.",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .sources = sources,
    .compute = compute,
    .example = example,
};
