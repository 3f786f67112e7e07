/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which marks were fired, worked out from the measured times: a path through the dial in one direction that costs
 * least. Dynamic programming over shots (or groups of equally many shots) and marks. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/quantity.h"
#include "shutter/marks.h"

/* A shot this far from its mark costs 1: what a shutter in need of repair is typically off by. */
#define TYPICAL_OFF_EV 0.3
/* What it costs to pass over a mark of the dial, and to fire unequal numbers of shots at the marks. */
#define SKIP_COST 1.0
#define UNEQUAL_COST 20.0
/* Two shots at one mark this far apart cost 1: a shutter repeats itself better than it is right. */
#define REPEAT_EV 0.2
/* Marks longer than a second are on few dials, the old series on old cameras only. */
#define LONG_COST 2.0
#define OLD_COST 10.0
/* Another reading this little worse leaves the matter open. */
#define CLOSE_COST 4.0
#define CERTAIN_EV (1.0 / 3)

enum { DIAL_MOST = 40 };

typedef struct {
    size_t count;
    double marked_s[DIAL_MOST]; /* slowest first */
} dial;

typedef struct {
    size_t shots;
    const double *ev; /* log2 of the time; NaN: not known */
} times;

typedef struct {
    double cost;
    size_t repeats; /* 0: unequal */
    bool rising;    /* from fast to slow */
    unsigned char mark[CW_SHOTS_MOST];
} reading_of;

static const double modern_marks[] = {60,        30,        15,         8,          4,          2,         1,
                                      1.0 / 2,   1.0 / 4,   1.0 / 8,    1.0 / 15,   1.0 / 30,   1.0 / 60,  1.0 / 125,
                                      1.0 / 250, 1.0 / 500, 1.0 / 1000, 1.0 / 2000, 1.0 / 4000, 1.0 / 8000};
static const double old_marks[] = {1,        1.0 / 2,   1.0 / 5,   1.0 / 10,  1.0 / 25,
                                   1.0 / 50, 1.0 / 100, 1.0 / 200, 1.0 / 300, 1.0 / 500};

static dial dial_of(const double *marks, size_t count)
{
    dial made = {.count = count};
    memcpy(made.marked_s, marks, count * sizeof *marks);
    return made;
}

static int slowest_first(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x < y) - (x > y);
}

static cw_status dial_from_list(const cw_mark_list *list, dial *d, cw_error *err)
{
    dial made = {0};
    for (size_t i = 0; i < list->count; i++) {
        bool again = !(list->marked_s[i] > 0);
        for (size_t k = 0; k < made.count; k++)
            again = again || fabs(made.marked_s[k] - list->marked_s[i]) < 1e-6 * list->marked_s[i];
        if (again)
            continue;
        if (made.count == DIAL_MOST)
            return cw_fail(err, CW_INPUT, "more than %d different speeds on one dial", DIAL_MOST);
        made.marked_s[made.count++] = list->marked_s[i];
    }
    qsort(made.marked_s, made.count, sizeof made.marked_s[0], slowest_first);
    if (made.count == 0)
        return cw_fail(err, CW_INPUT, "the dial given has no timed mark; write it like 1,1/2,1/4");
    *d = made;
    return CW_OK;
}

static double distance_cost(double ev, double marked_s)
{
    double off = isnan(ev) ? 0 : (ev - log2(marked_s)) / TYPICAL_OFF_EV;
    return off * off + (marked_s > 1 ? LONG_COST : 0);
}

/* Two shots in a row at the same mark. */
static double repeat_cost(double ev, double before_ev)
{
    double off = isnan(ev) || isnan(before_ev) ? 0 : (ev - before_ev) / REPEAT_EV;
    return off * off;
}

/* Shot number `i` in the direction of slow to fast. */
static double ev_at(const times *t, bool rising, size_t i)
{
    return t->ev[rising ? t->shots - 1 - i : i];
}

/* The cheapest path with `each` shots at every mark, marks strictly faster from group to group; each = 0: any number of
 * shots at a mark. Costs INFINITY where there is none. `best` and `from` are scratch: shots x marks. */
static double cheapest(const times *t, const dial *d, bool rising, size_t each, double *best, unsigned char *from,
                       unsigned char *mark)
{
    size_t group = each > 0 ? each : 1, groups = t->shots / group, last = 0;
    for (size_t g = 0; g < groups; g++)
        for (size_t m = 0; m < d->count; m++) {
            double here = 0, before = INFINITY;
            unsigned char came = 0;
            for (size_t i = 0; i < group; i++)
                here += distance_cost(ev_at(t, rising, g * group + i), d->marked_s[m]);
            for (size_t i = 1; i < group; i++)
                here += repeat_cost(ev_at(t, rising, g * group + i), ev_at(t, rising, g * group + i - 1));
            for (size_t p = 0; p < (each > 0 ? m : m + 1) && g > 0; p++) {
                double skipped = m > p + 1 ? SKIP_COST * (double)(m - p - 1) : 0;
                double repeated = p == m ? repeat_cost(ev_at(t, rising, g), ev_at(t, rising, g - 1)) : 0;
                double cost = best[(g - 1) * d->count + p] + skipped + repeated;
                if (cost < before) {
                    before = cost;
                    came = (unsigned char)p;
                }
            }
            best[g * d->count + m] = here + (g > 0 ? before : 0);
            from[g * d->count + m] = came;
        }
    for (size_t m = 1; m < d->count; m++)
        if (best[(groups - 1) * d->count + m] < best[(groups - 1) * d->count + last])
            last = m;
    double cost = best[(groups - 1) * d->count + last] + (each > 0 ? 0 : UNEQUAL_COST);
    if (isinf(cost))
        return cost;
    for (size_t g = groups; g-- > 0;) {
        for (size_t i = 0; i < group; i++) {
            size_t at = g * group + i;
            mark[rising ? t->shots - 1 - at : at] = (unsigned char)last;
        }
        last = from[g * d->count + last];
    }
    return cost;
}

/* Tries both directions and every number of repeats that divides the shots; keeps the cheapest and what the next cost.
 */
static void try_dial(const times *t, const dial *d, double handicap, reading_of *kept, double *next, double *best,
                     unsigned char *from)
{
    reading_of trial;
    for (int rising = 0; rising < 2; rising++)
        for (size_t each = 0; each <= t->shots; each++) {
            if (each > 0 && (t->shots % each != 0 || t->shots / each > d->count))
                continue;
            trial.rising = rising != 0;
            trial.repeats = each;
            trial.cost = handicap + cheapest(t, d, trial.rising, each, best, from, trial.mark);
            if (isinf(trial.cost))
                continue;
            bool same = memcmp(trial.mark, kept->mark, t->shots) == 0;
            if (trial.cost < kept->cost) {
                if (!same)
                    *next = kept->cost;
                *kept = trial;
            } else if (!same) {
                *next = fmin(*next, trial.cost);
            }
        }
}

/* The whole reading one mark up or down the dial, at the same shots. */
static double shifted_cost(const times *t, const dial *d, const reading_of *kept)
{
    double least = INFINITY;
    for (int by = -1; by <= 1; by += 2) {
        double cost = kept->repeats > 0 ? 0 : UNEQUAL_COST;
        for (size_t j = 0; j < t->shots; j++) {
            int m = kept->mark[j] + by;
            cost += j > 0 && kept->mark[j] == kept->mark[j - 1] ? repeat_cost(t->ev[j], t->ev[j - 1]) : 0;
            cost += m < 0 || m >= (int)d->count ? INFINITY : distance_cost(t->ev[j], d->marked_s[m]);
        }
        least = fmin(least, cost);
    }
    return least;
}

static void describe(const times *t, const dial *d, const reading_of *kept, double next, cw_mark_proposal *p)
{
    double squares = 0;
    size_t known = 0, farthest = 0, slowest = DIAL_MOST, fastest = 0;
    bool used[DIAL_MOST] = {false};
    *p = (cw_mark_proposal){.repeats = kept->repeats};
    for (size_t j = 0; j < t->shots; j++) {
        used[kept->mark[j]] = true;
        slowest = kept->mark[j] < slowest ? kept->mark[j] : slowest;
        fastest = kept->mark[j] > fastest ? kept->mark[j] : fastest;
        if (isnan(t->ev[j]))
            continue;
        double off = t->ev[j] - log2(d->marked_s[kept->mark[j]]);
        squares += off * off;
        known++;
        if (fabs(off) > fabs(p->farthest_ev)) {
            p->farthest_ev = off;
            farthest = j;
        }
    }
    for (size_t m = 0; m < d->count; m++)
        p->speeds += used[m];
    p->typical_ev = sqrt(squares / (double)known);
    double apart = fmin(next, shifted_cost(t, d, kept)) - kept->cost;
    p->certain = fabs(p->farthest_ev) <= CERTAIN_EV && apart > CLOSE_COST && known == t->shots;
    char slow[CW_MARK_TEXT], fast[CW_MARK_TEXT], far[CW_MARK_TEXT], shots[48];
    cw_mark_text(d->marked_s[slowest], slow, sizeof slow);
    cw_mark_text(d->marked_s[fastest], fast, sizeof fast);
    cw_mark_text(d->marked_s[kept->mark[farthest]], far, sizeof far);
    if (kept->repeats > 0)
        snprintf(shots, sizeof shots, "%zu shots at each", kept->repeats);
    else
        snprintf(shots, sizeof shots, "unequal numbers of shots");
    snprintf(p->text, sizeof p->text,
             "Proposed from the measured times, to be confirmed: %zu speeds, %s, %s to %s. Typically %.2f EV from the "
             "mark; the farthest is shot %zu at %s by %+.2f EV. %s",
             p->speeds, shots, kept->rising ? fast : slow, kept->rising ? slow : fast, p->typical_ev, farthest + 1, far,
             p->farthest_ev,
             p->certain ? "No other run through the dial comes near."
                        : "It is not certain: a speed that is off by half a stop or more looks like its neighbour, so "
                          "give the marks as a list if this is not what was fired.");
}

/* The time of a shot: the mean over the sensors that saw light. */
static double shot_ev(const cw_shot *shot)
{
    double sum = 0;
    size_t n = 0;
    for (size_t i = 0; i < shot->sensor_count; i++)
        if (shot->sensors[i].seen && shot->sensors[i].exposure_s.value > 0) {
            sum += shot->sensors[i].exposure_s.value;
            n++;
        }
    return n == 0 || shot->struck || shot->incomplete ? NAN : log2(sum / (double)n);
}

static void search(const times *t, const dial *own, dial *chosen, reading_of *kept, double *next, double *best,
                   unsigned char *from)
{
    kept->cost = INFINITY;
    *next = INFINITY;
    if (own->count > 0) {
        *chosen = *own;
        try_dial(t, chosen, 0, kept, next, best, from);
        return;
    }
    dial modern = dial_of(modern_marks, CW_COUNT(modern_marks)), old = dial_of(old_marks, CW_COUNT(old_marks));
    reading_of other = {.cost = INFINITY};
    double other_next = INFINITY;
    *chosen = modern;
    try_dial(t, &modern, 0, kept, next, best, from);
    try_dial(t, &old, OLD_COST, &other, &other_next, best, from);
    if (other.cost < kept->cost) {
        *next = fmin(kept->cost, other_next);
        *kept = other;
        *chosen = old;
    } else {
        *next = fmin(*next, other.cost);
    }
}

cw_status cw_marks_propose(const cw_mark_list *list, cw_shot *shots, size_t shot_count, cw_mark_proposal *proposal,
                           cw_error *err)
{
    if (shot_count == 0 || shot_count > CW_SHOTS_MOST)
        return cw_fail(err, CW_RANGE, "%zu shots; marks can be proposed for 1 to %d", shot_count, CW_SHOTS_MOST);
    dial own = {0};
    if (list != NULL)
        CW_TRY(dial_from_list(list, &own, err));
    double *ev = malloc(shot_count * sizeof *ev), *best = malloc(shot_count * DIAL_MOST * sizeof *best);
    unsigned char *from = malloc(shot_count * DIAL_MOST);
    cw_status status = CW_OK;
    size_t known = 0;
    if (ev == NULL || best == NULL || from == NULL) {
        status = cw_fail(err, CW_MEMORY, "no memory to propose marks for %zu shots", shot_count);
        goto done;
    }
    for (size_t j = 0; j < shot_count; j++) {
        ev[j] = shot_ev(&shots[j]);
        known += isnan(ev[j]) ? 0 : 1;
    }
    if (known == 0) {
        status = cw_fail(err, CW_RANGE,
                         "none of the %zu shots has a measured time to tell its mark from; give the "
                         "marks as a list",
                         shot_count);
        goto done;
    }
    times t = {shot_count, ev};
    dial d;
    reading_of kept = {0};
    double next;
    search(&t, &own, &d, &kept, &next, best, from);
    for (size_t j = 0; j < shot_count; j++)
        shots[j].marked_s = d.marked_s[kept.mark[j]];
    describe(&t, &d, &kept, next, proposal);
done:
    free(ev);
    free(best);
    free(from);
    return status;
}
