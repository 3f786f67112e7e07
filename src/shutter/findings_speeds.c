/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Findings from the pattern of the errors over the speeds. */
#include <math.h>
#include <stdio.h>

#include "shutter/findings.h"
#include "shutter/marks.h"

/* Speeds that a governor (slow-speed train) may time: 1/60 s and slower in a leaf shutter, 1/30 s and slower where
 * curtains follow; common practice, no source. */
#define LEAF_GOVERNED_S (1.0 / 61)
#define GOVERNED_S (1.0 / 31)
/* Speeds a leaf shutter's blades and main spring alone decide: 1/100 s and faster; common practice, no source. */
#define FAST_S (1.0 / 99)
/* How much two groups of speeds must differ to be two groups. */
#define APART_EV 0.2
/* Two speeds nearer than this run on one step of the cam. */
#define SAME_EV 0.2
/* Each speed of a healthy shutter may sit this far from one law over all of them: cams are filed by hand. */
#define CAM_SCATTER 0.05

typedef struct {
    size_t count;
    size_t at[CW_SPEEDS_MOST]; /* the known speeds, slowest first */
    bool explained[CW_SPEEDS_MOST];
} pattern;

static const cw_speed *speed_at(const cw_shutter_test *test, const pattern *p, size_t i)
{
    return &test->speeds[p->at[i]];
}

static void marks_text(const cw_shutter_test *test, const pattern *p, size_t from, size_t to, char *out, size_t size)
{
    char first[CW_MARK_TEXT], last[CW_MARK_TEXT];
    cw_mark_text(speed_at(test, p, from)->marked_s, first, sizeof first);
    cw_mark_text(speed_at(test, p, to - 1)->marked_s, last, sizeof last);
    if (to - from == 1)
        snprintf(out, size, "%s", first);
    else
        snprintf(out, size, "%s to %s", first, last);
}

/* Mean error of the speeds from..to - 1. The parts of u common to all (level, clock) do not average out: the mean u. */
static cw_quantity group_error(const cw_shutter_test *test, const pattern *p, size_t from, size_t to)
{
    cw_quantity mean = {0, 0};
    double n = (double)(to - from);
    for (size_t i = from; i < to; i++) {
        mean.value += speed_at(test, p, i)->error_ev.value / n;
        mean.u += speed_at(test, p, i)->error_ev.u / n;
    }
    return mean;
}

static size_t count_off(const cw_shutter_test *test, const pattern *p, size_t from, size_t to, int sign)
{
    size_t off = 0;
    for (size_t i = from; i < to; i++)
        off += cw_speed_off(speed_at(test, p, i)) == sign;
    return off;
}

static void explain(pattern *p, size_t from, size_t to)
{
    for (size_t i = from; i < to; i++)
        p->explained[i] = true;
}

/* Two neighbours whose times are each other's. */
static void find_swapped(cw_shutter_test *test, pattern *p)
{
    for (size_t i = 0; i + 1 < p->count; i++) {
        const cw_speed *slow = speed_at(test, p, i), *fast = speed_at(test, p, i + 1);
        double now = fabs(slow->error_ev.value) + fabs(fast->error_ev.value);
        double changed = fabs(cw_log2_ratio(slow->exposure_s.value, fast->reference_s)) +
                         fabs(cw_log2_ratio(fast->exposure_s.value, slow->reference_s));
        if (cw_speed_off(slow) != -1 || cw_speed_off(fast) != 1 || changed > 0.5 * now)
            continue;
        char a[CW_MARK_TEXT], b[CW_MARK_TEXT];
        cw_mark_text(slow->marked_s, a, sizeof a);
        cw_mark_text(fast->marked_s, b, sizeof b);
        explain(p, i, i + 2);
        cw_finding_add(
            test, "speeds-swapped",
            "Two neighbouring speeds gave each other's times. First make sure they were fired in the order of "
            "the list. If they were, the dial or the speed cam sits one step off, or was put back turned.",
            "%s gave 1/%.0f s and %s gave 1/%.0f s; changed over, both are off by %.2f EV together instead of "
            "%.2f",
            a, 1 / slow->exposure_s.value, b, 1 / fast->exposure_s.value, changed, now);
        i++;
    }
}

/* Two neighbours that give one and the same time. */
static void find_repeated(cw_shutter_test *test, pattern *p)
{
    for (size_t i = 0; i + 1 < p->count; i++) {
        const cw_speed *slow = speed_at(test, p, i), *fast = speed_at(test, p, i + 1);
        double measured = cw_log2_ratio(slow->exposure_s.value, fast->exposure_s.value);
        double marked = cw_log2_ratio(slow->reference_s, fast->reference_s);
        double u = hypot(slow->error_ev.u, fast->error_ev.u);
        if (fabs(measured) > fmax(SAME_EV, 2 * u) || marked - fabs(measured) < fmax(0.6, CW_CLEAR * u) ||
            p->explained[i] || p->explained[i + 1])
            continue;
        char a[CW_MARK_TEXT], b[CW_MARK_TEXT];
        cw_mark_text(slow->marked_s, a, sizeof a);
        cw_mark_text(fast->marked_s, b, sizeof b);
        explain(p, i, i + 2);
        cw_finding_add(
            test, "speed-repeats",
            "Two neighbouring speeds give the same time. Look first whether the follower drops onto the next "
            "step of the speed cam: dirt under it, a bent follower or a slipped dial keep it on the same "
            "step. At the fast end it can also be all the springs still give.",
            "%s and %s differ by %.2f EV where the marks differ by %.2f EV", a, b, measured, marked);
    }
}

static void find_all(cw_shutter_test *test, pattern *p)
{
    enum { ENOUGH = 3 };
    double least = INFINITY, most = -INFINITY;
    if (p->count < ENOUGH)
        return;
    for (size_t i = 0; i < p->count; i++) {
        least = fmin(least, speed_at(test, p, i)->error_ev.value);
        most = fmax(most, speed_at(test, p, i)->error_ev.value);
    }
    size_t slow = count_off(test, p, 0, p->count, 1), fast = count_off(test, p, 0, p->count, -1);
    cw_quantity mean = group_error(test, p, 0, p->count);
    bool leaf = test->setup.kind == CW_SHUTTER_LEAF;
    if (slow * 10 >= p->count * 7 && least > 0.05) {
        explain(p, 0, p->count);
        cw_finding_add(
            test, "all-slow",
            leaf ? "All speeds are slow. Old oil or dirt on the blades, the blade ring and its pivots is by far "
                   "the commonest cause: clean first and measure again, before any adjustment. A tired main "
                   "spring comes after that. The camera's own service notes go first."
                 : "All speeds are slow. Old oil or dirt in the curtain rollers and the release comes first: "
                   "clean and measure again before any adjustment. Only then the timing of the second "
                   "curtain's release, in the direction that lets it go earlier. The camera's own service "
                   "notes go first.",
            "%zu of %zu speeds clearly slow, on average by %+.2f EV (from %+.2f to %+.2f)", slow, p->count, mean.value,
            least, most);
    } else if (fast * 10 >= p->count * 7 && most < -0.05) {
        explain(p, 0, p->count);
        cw_finding_add(
            test, "all-fast",
            "All speeds are fast. Check the set-up first: a wrong sample rate or time base does exactly this. "
            "Then a main or governor spring set stronger than it was, or a governor that does not engage. "
            "The camera's own service notes go first.",
            "%zu of %zu speeds clearly fast, on average by %+.2f EV (from %+.2f to %+.2f)", fast, p->count, mean.value,
            least, most);
    }
}

/* The slow speeds off together, the rest in order. */
static void find_governor(cw_shutter_test *test, pattern *p)
{
    size_t best = 0;
    double best_apart = 0, slowest_free_s = test->setup.kind == CW_SHUTTER_LEAF ? LEAF_GOVERNED_S : GOVERNED_S;
    /* two speeds that were changed over are not the governor's doing */
    for (size_t m = 1; m < p->count && speed_at(test, p, m - 1)->marked_s >= slowest_free_s && !p->explained[m - 1];
         m++) {
        cw_quantity slow = group_error(test, p, 0, m), fast = group_error(test, p, m, p->count);
        double apart = fabs(slow.value - fast.value), u = hypot(slow.u, fast.u);
        int sign = slow.value > fast.value ? 1 : -1;
        bool together = count_off(test, p, 0, m, sign) == m;
        /* the first speed without the governor is in order; what comes at the fast end is another matter */
        bool rest_fine = fabs(fast.value) < 0.5 * fabs(slow.value) && cw_speed_off(speed_at(test, p, m)) != sign &&
                         2 * count_off(test, p, m, p->count, sign) < p->count - m;
        if (together && rest_fine && apart > fmax(APART_EV, CW_CLEAR * u) && apart > best_apart) {
            best = m;
            best_apart = apart;
        }
    }
    if (best == 0)
        return;
    char marks[64];
    cw_quantity slow = group_error(test, p, 0, best), fast = group_error(test, p, best, p->count);
    bool rest_fine = count_off(test, p, best, p->count, 1) + count_off(test, p, best, p->count, -1) == 0;
    marks_text(test, p, 0, best, marks, sizeof marks);
    explain(p, 0, best);
    cw_finding_add(
        test, "slow-governor",
        slow.value > 0
            ? rest_fine ? "Only the slow speeds are slow, so the governor (slow-speed train) holds too long: dirt, old "
                          "oil or a tired pivot in its wheels and pallet. Clean it first; then let its engagement be "
                          "set a little shallower. Leave the curtains, blades and main spring alone: the fast speeds "
                          "are in order. The camera's own service notes go first."
                        : "The slow speeds are slow together, and the speeds next to them are not, so the governor "
                          "(slow-speed train) holds too long: dirt, old oil or a tired pivot in its wheels and pallet. "
                          "Clean it first; then let its engagement be set a little shallower. What the faster speeds "
                          "show has another cause. The camera's own service notes go first."
            : "Only the slow speeds are fast, so the governor (slow-speed train) does not hold long enough: it "
              "engages too little, its pallet skips, or it was oiled where it should be dry. Look at its "
              "engagement first, and let it be set a little deeper. The camera's own service notes go first.",
        "%s: %+.2f EV on average (k = 2: %.2f); the faster speeds %+.2f EV", marks, slow.value, 2 * slow.u, fast.value);
}

/* Faults of the curtains shift the middle of the frame too; they come first, and what they explain is not said twice.
 */
static bool curtains_at_fault(const cw_shutter_test *test)
{
    return cw_finding_has(test, "tension-mismatch") || cw_finding_has(test, "drag") || cw_finding_has(test, "capping");
}

/* What one law over the fast speeds leaves: chi-squared about a constant time, a constant ratio, and nothing. */
typedef struct {
    size_t count;
    cw_quantity offset_s;
    double none, by_offset, by_ratio;
} fast_law;

static fast_law fit_fast(const cw_shutter_test *test, const pattern *p)
{
    fast_law law = {0};
    double w = 0, wd = 0, wr = 0, wrr = 0, wdr = 0, wdd = 0;
    bool by_release = curtains_at_fault(test);
    for (size_t i = 0; i < p->count; i++) {
        const cw_speed *speed = speed_at(test, p, i);
        double off = speed->exposure_s.value - speed->reference_s, u = speed->exposure_s.u;
        if (speed->marked_s >= GOVERNED_S || p->explained[i])
            continue;
        /* unequal curtains shift the middle too: then the release is read at the first edge, where both start */
        if (by_release && isfinite(speed->fully_open_s)) {
            off = speed->fully_open_s + test->curtains.travel1_s.value - speed->reference_s;
            u = speed->u_fully_open_s;
        }
        double s = hypot(u, CAM_SCATTER * speed->reference_s), weight = 1 / (s * s), r = speed->reference_s;
        w += weight;
        wd += weight * off;
        wdd += weight * off * off;
        wr += weight * r;
        wrr += weight * r * r;
        wdr += weight * off * r;
        law.count++;
    }
    if (law.count < 2)
        return law;
    law.offset_s = (cw_quantity){wd / w, 1 / sqrt(w)};
    law.none = wdd;
    law.by_offset = wdd - wd * wd / w;
    law.by_ratio = wdd - wdr * wdr / wrr;
    return law;
}

static void find_release(cw_shutter_test *test, pattern *p)
{
    fast_law law = fit_fast(test, p);
    if (law.count < 2)
        return;
    const cw_speed *fastest = speed_at(test, p, p->count - 1);
    double effect = fabs(log2(fmax(1 + law.offset_s.value / fastest->reference_s, 0.01)));
    double limit = fmax(CW_OFF_LEAST_EV, isfinite(fastest->limit_ev) ? CW_OFF_SHARE * fastest->limit_ev : 0);
    bool clear = fabs(law.offset_s.value) > CW_CLEAR * law.offset_s.u && effect > limit;
    bool one_law = law.by_offset < 4 * (double)(law.count - 1) && law.by_offset < law.by_ratio;
    /* unequal curtains already part on their way to the frame, by up to as much as over it */
    bool by_curtains = curtains_at_fault(test) && !(fabs(law.offset_s.value) > fabs(test->curtains.mismatch_s.value));
    if (!clear || !one_law || by_curtains)
        return;
    bool one_place = test->curtains.form == CW_CURTAINS_NONE;
    for (size_t i = 0; i < p->count; i++)
        p->explained[i] = p->explained[i] || speed_at(test, p, i)->marked_s < GOVERNED_S;
    cw_finding_add(
        test, "release-delay",
        law.offset_s.value > 0
            ? "The second curtain is let go too late by the same time at every fast speed, which the fastest "
              "feel most: timing cam or release delay. Look at the second curtain's latch and its eccentric "
              "first, and set it to let go earlier, a little at a time. Tension is not the cure: it changes "
              "the evenness. The camera's own service notes go first."
            : "The second curtain is let go too early by the same time at every fast speed, which the fastest "
              "feel most: timing cam or release delay. Look at the second curtain's latch and its eccentric "
              "first, and set it to let go later, a little at a time. Tension is not the cure: it changes the "
              "evenness. The camera's own service notes go first.",
        "release off by %+.3f ms (k = 2: %.3f) over %zu speeds; at the fastest that is %.2f EV%s",
        1e3 * law.offset_s.value, 2e3 * law.offset_s.u, law.count, effect,
        one_place ? "; measured at one place, so unequal curtains could do the same" : "");
}

/* Of curtains and of blades; the slow speeds in order, or with a finding of their own. */
static const char *const fast_end_words[2][2] = {
    {
        "Only the fastest speeds are slow. Look first whether the follower reaches the last steps of the speed "
        "cam, then at the second curtain's latch. The slow speeds are in order, so leave the governor alone. "
        "The camera's own service notes go first.",
        "The fastest speeds are slow too, by a cause of their own. Look first whether the follower reaches the "
        "last steps of the speed cam, then at the second curtain's latch. The camera's own service notes go "
        "first.",
    },
    {
        "Only the fast speeds are slow: the blades no longer move fast enough, and the marks beyond what they "
        "can do run into each other. Clean blades and blade ring of oil first; then look at the main spring and "
        "at the extra spring some shutters use for the top speed. The slow speeds are in order, so leave the "
        "governor alone. The camera's own service notes go first.",
        "The fastest speeds are slow too, by a cause of their own: the blades no longer move fast enough, and "
        "the marks beyond what they can do run into each other. Clean blades and blade ring of oil first; then "
        "look at the main spring and at the extra spring some shutters use for the top speed. The camera's own "
        "service notes go first.",
    },
};

/* The fast end slow, the rest in order. */
static void find_fast_end(cw_shutter_test *test, pattern *p)
{
    size_t m = p->count;
    while (m > 0 && speed_at(test, p, m - 1)->marked_s <= FAST_S && cw_speed_off(speed_at(test, p, m - 1)) == 1 &&
           !p->explained[m - 1])
        m--;
    if (m == p->count || m == 0)
        return;
    size_t from = 0; /* the rest: what the governor times wrongly has had its finding */
    while (from < m && p->explained[from])
        from++;
    if (from == m)
        return;
    cw_quantity fast = group_error(test, p, m, p->count), rest = group_error(test, p, from, m);
    if (fabs(rest.value) > 0.5 * fast.value ||
        fast.value - rest.value < fmax(APART_EV, CW_CLEAR * hypot(fast.u, rest.u)))
        return;
    char marks[64];
    bool leaf = test->setup.kind == CW_SHUTTER_LEAF;
    marks_text(test, p, m, p->count, marks, sizeof marks);
    explain(p, m, p->count);
    cw_finding_add(test, "fast-limited", fast_end_words[leaf][from > 0],
                   "%s: %+.2f EV on average (k = 2: %.2f); the next slower ones %+.2f EV", marks, fast.value,
                   2 * fast.u, rest.value);
}

static void find_single(cw_shutter_test *test, const pattern *p)
{
    char which[240] = "";
    size_t used = 0, count = 0;
    for (size_t i = 0; i < p->count; i++) {
        const cw_speed *speed = speed_at(test, p, i);
        /* alone, and surely within its limit: nothing to be done about */
        if (p->explained[i] || cw_speed_off(speed) == 0 || speed->verdict == CW_SPEED_INSIDE)
            continue;
        if (++count > 5)
            continue;
        char mark[CW_MARK_TEXT];
        cw_mark_text(speed->marked_s, mark, sizeof mark);
        used += (size_t)snprintf(which + used, sizeof which - used, "%s%s by %+.2f EV", used > 0 ? ", " : "", mark,
                                 speed->error_ev.value);
    }
    if (count == 0)
        return;
    if (p->count == 1)
        cw_finding_add(test, "speed-off",
                       "This speed is off. One speed alone does not tell the cause: measure the slow and the fast ones "
                       "too, and the pattern will.",
                       "%s", which);
    else
        cw_finding_add(test, "speed-off",
                       "Speeds are off that follow no common pattern with the rest. Look first at what belongs to each "
                       "alone: its step on the speed cam, its pin or its lever, and dirt on them. The camera's own "
                       "service notes go first.",
                       "%s%s", which, count > 5 ? " and more" : "");
}

static void find_half_open(cw_shutter_test *test)
{
    double least = 1, at_mark = NAN;
    size_t shots = 0;
    if (test->setup.kind != CW_SHUTTER_LEAF)
        return;
    for (size_t j = 0; j < test->shot_count; j++)
        for (size_t i = 0; cw_shot_counts(&test->shots[j]) && i < test->shots[j].sensor_count; i++) {
            double peak = test->shots[j].sensors[i].peak_fraction;
            if (!(test->shots[j].sensors[i].seen && peak < 0.9))
                continue;
            shots++;
            if (peak < least) {
                least = peak;
                at_mark = test->shots[j].marked_s;
            }
        }
    if (shots < 2)
        return;
    char mark[CW_MARK_TEXT];
    cw_mark_text(at_mark, mark, sizeof mark);
    cw_finding_add(
        test, "not-fully-open",
        "The blades turn back before they are fully open. At the top speed of some leaf shutters that is how "
        "they are made; at slower speeds look for oil on the blades, a bent blade or an opening spring that is "
        "too weak.",
        "%zu sensor readings stay below 90 %% of full light, the lowest %.0f %% at %s", shots, 100 * least, mark);
}

void cw_findings_speeds(cw_shutter_test *test)
{
    pattern p = {0};
    for (size_t k = 0; k < test->speed_count; k++)
        if (cw_speed_known(&test->speeds[k]))
            p.at[p.count++] = k;
    find_swapped(test, &p);
    find_governor(test, &p);
    if (!cw_finding_has(test, "slow-governor"))
        find_all(test, &p);
    if (!cw_finding_has(test, "all-slow") && !cw_finding_has(test, "all-fast")) {
        if (test->setup.kind == CW_SHUTTER_FOCAL_PLANE)
            find_release(test, &p);
        for (size_t i = 0; i < p.count && curtains_at_fault(test); i++)
            p.explained[i] = p.explained[i] || speed_at(test, &p, i)->marked_s < GOVERNED_S;
        find_fast_end(test, &p);
    }
    find_repeated(test, &p);
    find_single(test, &p);
    find_half_open(test);
}
