/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which one measurement would tell the leading arrangements apart best. */
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include "optics/order_inside.h"

enum { GRID = 400 };

static const double weak_bits = 0.25; /* below this a reading is hardly worth taking */

typedef struct {
    double mean, u; /* what this hypothesis expects to be read, with the reading's own error */
    bool known;
} expectation;

typedef struct {
    size_t count;
    double weight[CW_ORDER_SHOWN]; /* sum to 1 */
    const cw_order_candidate *candidate[CW_ORDER_SHOWN];
    first_order o[CW_ORDER_SHOWN];
    double inverse[CW_ORDER_SHOWN][3];
    ray_verdict rays[CW_ORDER_SHOWN];
} hypotheses;

static double density(expectation e, double x)
{
    double z = (x - e.mean) / e.u;
    return exp(-0.5 * z * z) / (e.u * 2.5066282746);
}

/* Mutual information of the reading with the hypotheses, in bits: the mean over each hypothesis, on a grid of its own,
 * of log2(its density / density of the mixture). */
static double information(const hypotheses *h, const expectation *e)
{
    double bits = 0;
    for (size_t i = 0; i < h->count; i++)
        if (!e[i].known)
            return 0;
    for (size_t i = 0; i < h->count; i++)
        for (int k = 0; k < GRID; k++) {
            double z = -5 + 10 * (k + 0.5) / GRID, x = e[i].mean + z * e[i].u, mixture = 0;
            for (size_t j = 0; j < h->count; j++)
                mixture += h->weight[j] * density(e[j], x);
            double own = density(e[i], x);
            bits += h->weight[i] * own * e[i].u * (10.0 / GRID) * log2(own / mixture);
        }
    return fmax(0, bits);
}

static void offer(cw_order *order, double bits, const char *what, const char *why)
{
    if (!(bits > order->next_bits))
        return;
    order->next_bits = bits;
    snprintf(order->next_what, sizeof order->next_what, "%s", what);
    snprintf(order->next_why, sizeof order->next_why, "%s", why);
}

/* The first two hypotheses' expectations as a sentence. */
static void explain(const hypotheses *h, const expectation *e, const char *unit, char *out, size_t size)
{
    size_t other = 1;
    for (size_t i = 1; i < h->count; i++)
        if (fabs(e[i].mean - e[0].mean) > 2 * e[0].u) {
            other = i;
            break;
        }
    snprintf(
        out, size,
        "if the first candidate is right it reads %.2f \xc2\xb1 %.2f %s; were it candidate %zu, %.2f \xc2\xb1 %.2f %s",
        e[0].mean, 2 * e[0].u, unit, other + 1, e[other].mean, 2 * e[other].u, unit);
}

/* ---- the seats in the barrel ---- */

static void offer_seats(const search *s, const hypotheses *h, cw_order *order)
{
    for (size_t place = 0; place < s->n; place++) {
        expectation e[CW_ORDER_SHOWN];
        if (isfinite(s->puzzle->place[place].seat_mm))
            continue;
        for (size_t i = 0; i < h->count; i++) {
            double d = s->puzzle->group[h->candidate[i]->what.group[place]].diameter_mm;
            e[i] = (expectation){d + 0.05, 0.1, isfinite(d)};
        }
        double bits = information(h, e);
        char what[CW_ORDER_TEXT], why[CW_ORDER_TEXT];
        if (bits <= order->next_bits)
            continue;
        snprintf(what, sizeof what,
                 "measure the diameter of the barrel's seat number %zu from the front, to 0.1 mm, and give "
                 "it as \"seat_diameter_mm\"",
                 place + 1);
        explain(h, e, "mm", why, sizeof why);
        offer(order, bits, what, why);
    }
}

/* ---- put together as the first candidate, and looked through ---- */

/* Under "the first is right" the stack shows what is known of the whole lens; under any other it shows what the parts
 * say, adjusted to that other's reading of the known figures. */
static void offer_stack(const search *s, const hypotheses *h, bool back_focus, cw_order *order)
{
    cw_quantity known = back_focus ? s->puzzle->back_focus_mm : s->puzzle->focal_length_mm;
    const double *slope = back_focus ? h->o[0].db : h->o[0].df;
    double reading = back_focus ? 0.1 : 0.005 * fabs(h->o[0].f); /* bench: 0.1 mm on the focus, 0.5 % of focal length */
    expectation e[CW_ORDER_SHOWN];
    if (isnan(known.value))
        return;
    e[0] = (expectation){known.value, hypot(known.u, reading), true};
    for (size_t i = 1; i < h->count; i++) {
        double mean = back_focus ? h->o[0].b : h->o[0].f, f = 0, b = 0, variance = 0;
        for (size_t k = 0; k < s->z_count; k++) {
            mean += slope[k] * h->rays[i].z[k];
            f += slope[k] * h->o[i].df[k];
            b += slope[k] * h->o[i].db[k];
            variance += slope[k] * slope[k];
        }
        const double *v = h->inverse[i];
        variance -= v[0] * f * f + 2 * v[1] * f * b + v[2] * b * b; /* what is left once i's figures are met */
        e[i] = (expectation){mean, sqrt(fmax(0, variance) + reading * reading), true};
    }
    char what[CW_ORDER_TEXT], why[CW_ORDER_TEXT], words[200];
    cw_arrangement_text(s->puzzle, &h->candidate[0]->what, words, sizeof words);
    snprintf(what, sizeof what, "put it together as the first candidate (%s) and measure its %s on a far object", words,
             back_focus ? "back focus, last glass to the sharp image," : "focal length");
    explain(h, e, "mm", why, sizeof why);
    offer(order, information(h, e), what, why);
}

/* Sharpness of the first candidate's stack at the edge of the field: sharp if right; as the parts say if not. */
static void offer_field(const search *s, const hypotheses *h, cw_order *order)
{
    double f = fabs(h->o[0].f), reading = 0.02, sharp = s->prior.field_ray * f * 0.7;
    expectation e[CW_ORDER_SHOWN];
    if (!s->rays_possible || isnan(h->rays[0].spot_field_mm))
        return;
    e[0] = (expectation){fmin(h->rays[0].spot_field_mm, sharp), hypot(reading, 0.5 * sharp), true};
    for (size_t i = 1; i < h->count; i++) {
        double blur = cw_inside_field_spot(s, &h->candidate[0]->what, h->rays[i].z);
        /* the stack of the first, with the parts as hypothesis i makes them */
        e[i] = (expectation){blur, hypot(reading, 0.5 * sharp), isfinite(blur)};
    }
    char what[CW_ORDER_TEXT], why[CW_ORDER_TEXT];
    snprintf(what, sizeof what,
             "put it together as the first candidate and look at a far point %.0f degrees off the axis on "
             "the ground glass",
             s->field_deg);
    explain(h, e, "mm of blur", why, sizeof why);
    offer(order, information(h, e), what, why);
}

/* ---- a piece's own focal length, measured better ---- */

static void offer_piece(const search *s, const hypotheses *h, size_t g, cw_order *order)
{
    const piece *p = &s->p[g];
    double f = -1 / p->m[0].c, reading = 0.002 * fabs(f);
    expectation e[CW_ORDER_SHOWN];
    for (size_t i = 0; i < h->count; i++) {
        double mean = f, along_f = 0, along_b = 0, variance = 0;
        for (size_t k = 0; k < p->free; k++) {
            double by = f * f * p->dm[0][k].c;
            size_t at = p->z_at + k;
            mean += by * h->rays[i].z[at];
            along_f += by * h->o[i].df[at];
            along_b += by * h->o[i].db[at];
            variance += by * by;
        }
        const double *v = h->inverse[i];
        variance -= v[0] * along_f * along_f + 2 * v[1] * along_f * along_b + v[2] * along_b * along_b;
        e[i] = (expectation){mean, sqrt(fmax(0, variance) + reading * reading), true};
    }
    char what[CW_ORDER_TEXT], why[CW_ORDER_TEXT];
    snprintf(what, sizeof what, "measure the focal length of group %s alone, to 0.2 %%", s->puzzle->group[g].label);
    explain(h, e, "mm", why, sizeof why);
    offer(order, information(h, e), what, why);
}

/* ---- the length of the stack, glass to glass ---- */

static void offer_length(const search *s, const hypotheses *h, cw_order *order)
{
    expectation e[CW_ORDER_SHOWN];
    if (!s->rays_possible)
        return;
    for (size_t i = 0; i < h->count; i++) {
        built b;
        double length = 0;
        cw_inside_build(s, &h->candidate[i]->what, h->rays[i].z, &b);
        for (size_t k = 0; k + 1 < b.count; k++)
            length += b.t[k];
        e[i] = (expectation){length, 0.1, true};
    }
    char why[CW_ORDER_TEXT];
    explain(h, e, "mm", why, sizeof why);
    offer(order, information(h, e),
          "find the length of the whole stack, middle of the front glass to middle of the rear glass, "
          "from where the retaining rings sat in the barrel, to 0.1 mm",
          why);
}

/* Where the diaphragm stands, when that is not known: a yes-or-no for each gap. */
static void offer_stop(const search *s, const hypotheses *h, cw_order *order)
{
    if (s->puzzle->stop_known || s->n < 3)
        return;
    double bits = 0, share[CW_PUZZLE_GROUPS] = {0}, own[CW_ORDER_SHOWN][CW_PUZZLE_GROUPS];
    for (size_t i = 0; i < h->count; i++) {
        double best = -INFINITY, sum = 0;
        for (size_t k = 0; k + 1 < s->n; k++)
            best = fmax(best, isnan(h->rays[i].by_stop[k]) ? -INFINITY : h->rays[i].by_stop[k]);
        if (!isfinite(best))
            return;
        for (size_t k = 0; k + 1 < s->n; k++)
            sum += own[i][k] = isnan(h->rays[i].by_stop[k]) ? 0 : exp(h->rays[i].by_stop[k] - best);
        for (size_t k = 0; k + 1 < s->n; k++) {
            own[i][k] /= sum;
            share[k] += h->weight[i] * own[i][k];
        }
    }
    for (size_t i = 0; i < h->count; i++)
        for (size_t k = 0; k + 1 < s->n; k++)
            if (own[i][k] > 0)
                bits += h->weight[i] * own[i][k] * log2(own[i][k] / share[k]);
    offer(order, bits, "note between which two places of the barrel the diaphragm stands, and give it as \"stop\"",
          "the leading arrangements are sharp off the axis only with the diaphragm in different gaps");
}

/* One piece with two nearly equal faces: a spherometer set on one face and moved to the other shows a difference far
 * finer than it measures either radius. */
static bool compare_faces(const search *s, const hypotheses *h, cw_order *order)
{
    const cw_arrangement *a = &h->candidate[0]->what, *b = &h->candidate[1]->what;
    size_t differ = SIZE_MAX;
    for (size_t i = 0; i < s->n; i++) {
        if (a->group[i] != b->group[i] || (i + 1 < s->n && a->spacer[i] != b->spacer[i]))
            return false;
        if (a->turned[i] != b->turned[i]) {
            if (differ != SIZE_MAX)
                return false;
            differ = a->group[i];
        }
    }
    if (differ == SIZE_MAX)
        return false;
    const cw_loose_group *g = &s->puzzle->group[differ];
    double front = fabs(g->curvature[0].value), rear = fabs(g->curvature[g->glasses].value);
    if (g->glasses != 1 || !(fmin(front, rear) > 0) || fabs(front - rear) > 0.02 * fmax(front, rear))
        return false;
    snprintf(order->next_what, sizeof order->next_what,
             "compare the two faces of group %s with the spherometer, one straight after the other, to 0.1 %%",
             g->label);
    snprintf(order->next_why, sizeof order->next_why,
             "the first two candidates differ only in group %s being turned, and its faces measure alike (%.2f and "
             "%.2f mm); "
             "if no difference shows, either way round is right",
             g->label, 1 / front, 1 / rear);
    order->next_bits = 1;
    return true;
}

/* Nothing single tells: both stacks meet the known figures, so the eye decides, off the axis. */
static void compare_both(const search *s, cw_order *order)
{
    const cw_order_candidate *a = &order->candidate[0], *b = &order->candidate[1];
    char first[160], second[160];
    cw_arrangement_text(s->puzzle, &a->what, first, sizeof first);
    cw_arrangement_text(s->puzzle, &b->what, second, sizeof second);
    snprintf(
        order->next_what, sizeof order->next_what,
        "put it together both ways, %s and %s, and compare a far point at the edge of the picture on the ground glass; "
        "keep the sharper",
        first, second);
    if (!isfinite(a->spot_field_mm) || !isfinite(b->spot_field_mm)) {
        snprintf(order->next_why, sizeof order->next_why,
                 "both meet the known focal length and back focus; by the parts not enough light comes through at %.0f "
                 "degrees to foretell which is the sharper, and no single reading tells more than %.2f bit",
                 s->field_deg, order->next_bits);
        return;
    }
    snprintf(
        order->next_why, sizeof order->next_why,
        "both meet the known focal length and back focus; by the parts the first blurs %.3f mm at %.0f degrees, the "
        "second %.3f mm, and no single reading tells more than %.2f bit",
        a->spot_field_mm, s->field_deg, b->spot_field_mm, order->next_bits);
}

void cw_inside_next(const search *s, cw_order *order)
{
    hypotheses h = {0};
    double sum = 0;
    for (size_t i = 0; i < order->count; i++) {
        const cw_order_candidate *c = &order->candidate[i];
        if (c->probability < 1e-3)
            continue;
        h.candidate[h.count] = c;
        h.weight[h.count] = c->probability;
        sum += c->probability;
        double part[3];
        cw_inside_first_order(s, &c->what, &h.o[h.count]);
        cw_inside_covariance(s, &h.o[h.count], part, h.inverse[h.count]);
        cw_inside_rays(s, &c->what, -INFINITY, &h.rays[h.count]);
        h.count++;
    }
    if (h.count < 2) {
        snprintf(order->next_what, sizeof order->next_what, "measure the radii again, each to 0.2 %%");
        snprintf(order->next_why, sizeof order->next_why,
                 "no second arrangement is near, but the best does not fit well "
                 "enough to be sure of it");
        return;
    }
    for (size_t i = 0; i < h.count; i++)
        h.weight[i] /= sum;
    if (compare_faces(s, &h, order))
        return;
    offer_seats(s, &h, order);
    offer_stack(s, &h, true, order);
    offer_stack(s, &h, false, order);
    offer_field(s, &h, order);
    offer_length(s, &h, order);
    offer_stop(s, &h, order);
    for (size_t g = 0; g < s->n; g++)
        offer_piece(s, &h, g, order);
    if (order->next_bits < weak_bits)
        compare_both(s, order);
}
