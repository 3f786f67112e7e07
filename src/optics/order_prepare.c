/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The parts made ready for the search: matrices, sags, joints and their derivatives, once each. */
#include <math.h>
#include <stdint.h>
#include <string.h>

#include "optics/order_inside.h"

/* ---- one piece ---- */

static matrix2 times(matrix2 l, matrix2 r)
{
    return (matrix2){l.a * r.a + l.b * r.c, l.a * r.b + l.b * r.d, l.c * r.a + l.d * r.c, l.c * r.b + l.d * r.d};
}

/* parameters: curvatures, thicknesses, indices; or, inside unknown: f, front focus, back focus, c front, c rear, depth
 */
static matrix2 piece_matrix(const cw_loose_group *g, const double *p)
{
    if (!g->inside_known) {
        double a = p[2] / p[0], d = p[1] / p[0], c = -1 / p[0];
        return (matrix2){a, (a * d - 1) / c, c, d};
    }
    const double *c = p, *t = p + g->glasses + 1, *n = t + g->glasses;
    matrix2 m = {1, 0, 0, 1};
    double before = 1;
    for (size_t i = 0; i <= g->glasses; i++) {
        double after = i < g->glasses ? n[i] : 1;
        m = times((matrix2){1, 0, -c[i] * (after - before), 1}, m);
        if (i < g->glasses)
            m = times((matrix2){1, t[i] / after, 0, 1}, m);
        before = after;
    }
    return m;
}

static void fill_parameters(const cw_loose_group *g, piece *p)
{
    cw_quantity q[PIECE_PARAMETERS];
    size_t k = 0;
    if (!g->inside_known) {
        q[k++] = g->focal_length_mm;
        q[k++] = g->front_focus_mm;
        q[k++] = g->back_focus_mm;
        q[k++] = g->curvature[0];
        q[k++] = g->curvature[g->glasses];
    } else {
        for (size_t i = 0; i <= g->glasses; i++)
            q[k++] = g->curvature[i];
        for (size_t i = 0; i < g->glasses; i++)
            q[k++] = g->thickness_mm[i];
        for (size_t i = 0; i < g->glasses; i++)
            q[k++] = g->n_d[i];
    }
    p->parameters = k;
    for (size_t i = 0; i < k; i++) {
        p->mean[i] = q[i].value;
        p->root[i][i] = isfinite(q[i].u) ? q[i].u : 0;
    }
    p->free = k;
}

/* Which of focal length, front focus, back focus: 0, 1, 2. */
static double piece_focus(const cw_loose_group *g, const double *p, int which)
{
    matrix2 m = piece_matrix(g, p);
    return which == 0 ? -1 / m.c : which == 1 ? -m.d / m.c : -m.a / m.c;
}

/* A measurement of the piece alone narrows its parameters: one scalar update of mean and covariance root. */
static void narrow(const cw_loose_group *g, piece *p, int which, cw_quantity measured)
{
    double h[PIECE_PARAMETERS], hr[PIECE_PARAMETERS] = {0}, variance = measured.u * measured.u;
    double now = piece_focus(g, p->mean, which);
    for (size_t i = 0; i < p->parameters; i++) {
        double q[PIECE_PARAMETERS], step = 1e-6 * (fabs(p->mean[i]) + 1e-3);
        memcpy(q, p->mean, sizeof q);
        q[i] += step;
        h[i] = (piece_focus(g, q, which) - now) / step;
    }
    for (size_t k = 0; k < p->free; k++) {
        for (size_t i = 0; i < p->parameters; i++)
            hr[k] += h[i] * p->root[i][k];
        variance += hr[k] * hr[k];
    }
    if (!(variance > 0))
        return;
    /* Potter's square-root form: root -= gain-scaled outer product, exact for one scalar */
    double share = 1 / (variance * (1 + sqrt(measured.u * measured.u / variance)));
    for (size_t i = 0; i < p->parameters; i++) {
        double along = 0;
        for (size_t k = 0; k < p->free; k++)
            along += p->root[i][k] * hr[k];
        p->mean[i] += along / variance * (measured.value - now);
        for (size_t k = 0; k < p->free; k++)
            p->root[i][k] -= share * along * hr[k];
    }
}

/* Columns of the root that are zero say nothing and cost time. */
static void drop_idle_columns(piece *p)
{
    size_t kept = 0;
    for (size_t k = 0; k < p->free; k++) {
        double size = 0;
        for (size_t i = 0; i < p->parameters; i++)
            size += p->root[i][k] * p->root[i][k];
        if (size == 0)
            continue;
        for (size_t i = 0; i < p->parameters; i++)
            p->root[i][kept] = p->root[i][k];
        kept++;
    }
    p->free = kept;
}

static void at_z(const piece *p, size_t k, double step, double *q)
{
    for (size_t i = 0; i < p->parameters; i++)
        q[i] = p->mean[i] + (k < p->free ? step * p->root[i][k] : 0);
}

static matrix2 turned_matrix(matrix2 m)
{
    return (matrix2){m.d, m.b, m.c, m.a};
}

static void differentiate(const cw_loose_group *g, piece *p)
{
    enum { STEPS = 2 };
    size_t front = g->inside_known ? 0 : 3, rear = g->inside_known ? g->glasses : 4;
    p->m[0] = piece_matrix(g, p->mean);
    p->m[1] = turned_matrix(p->m[0]);
    p->c[0][0] = p->mean[front];
    p->c[0][1] = p->mean[rear];
    p->c[1][0] = -p->mean[rear];
    p->c[1][1] = -p->mean[front];
    for (size_t k = 0; k < p->free; k++) {
        double low[PIECE_PARAMETERS], high[PIECE_PARAMETERS], step = 1e-3;
        at_z(p, k, -step, low);
        at_z(p, k, step, high);
        matrix2 l = piece_matrix(g, low), h = piece_matrix(g, high);
        double s = 1 / (STEPS * step);
        p->dm[0][k] = (matrix2){(h.a - l.a) * s, (h.b - l.b) * s, (h.c - l.c) * s, (h.d - l.d) * s};
        p->dm[1][k] = turned_matrix(p->dm[0][k]);
        p->dc[0][0][k] = p->root[front][k];
        p->dc[0][1][k] = p->root[rear][k];
        p->dc[1][0][k] = -p->root[rear][k];
        p->dc[1][1][k] = -p->root[front][k];
    }
}

static bool same(cw_quantity a, cw_quantity b)
{
    return a.value == b.value || (isnan(a.value) && isnan(b.value));
}

/* Exactly the same glass, piece h lying as g (or turned against it). */
static bool same_glass(const cw_loose_group *g, const cw_loose_group *h, bool turned)
{
    size_t last = g->glasses;
    if (g->glasses != h->glasses ||
        !(g->diameter_mm == h->diameter_mm || (isnan(g->diameter_mm) && isnan(h->diameter_mm))))
        return false;
    for (size_t i = 0; i <= last; i++)
        if (g->curvature[i].value != (turned ? -h->curvature[last - i].value : h->curvature[i].value))
            return false;
    for (size_t i = 0; i < last; i++) {
        size_t k = turned ? last - 1 - i : i;
        if (g->thickness_mm[i].value != h->thickness_mm[k].value || !same(g->n_d[i], h->n_d[k]))
            return false;
    }
    return same(g->focal_length_mm, h->focal_length_mm) &&
           same(g->front_focus_mm, turned ? h->back_focus_mm : h->front_focus_mm) &&
           same(g->back_focus_mm, turned ? h->front_focus_mm : h->back_focus_mm);
}

static void prepare_piece(search *s, size_t i)
{
    const cw_loose_group *g = &s->puzzle->group[i];
    piece *p = &s->p[i];
    fill_parameters(g, p);
    if (g->inside_known) {
        if (isfinite(g->focal_length_mm.value))
            narrow(g, p, 0, g->focal_length_mm);
        if (isfinite(g->front_focus_mm.value))
            narrow(g, p, 1, g->front_focus_mm);
        if (isfinite(g->back_focus_mm.value))
            narrow(g, p, 2, g->back_focus_mm);
    }
    drop_idle_columns(p);
    differentiate(g, p);
    p->symmetric = g->turned < 0 && same_glass(g, g, true);
    p->twin = SIZE_MAX;
    for (size_t k = 0; k < i && p->twin == SIZE_MAX; k++) {
        const cw_loose_group *h = &s->puzzle->group[k];
        bool free_both = g->position == SIZE_MAX && h->position == SIZE_MAX && g->turned < 0 && h->turned < 0;
        if (free_both && (same_glass(g, h, false) || same_glass(g, h, true)))
            p->twin = k;
    }
    p->z_at = s->z_count;
    s->z_count += p->free;
}

/* ---- joints ---- */

static contact touch(const piece *p, int way, int side, double radius)
{
    contact t = {.reaches = true};
    double c = p->c[way][side], h2 = radius * radius, root2 = 1 - c * c * h2;
    if (root2 < 0) {
        t.reaches = false;
        return t;
    }
    double root = sqrt(root2);
    t.sag = c * h2 / (1 + root);
    double by_c = h2 / (root * (1 + root)); /* d/dc of (1 - sqrt(1 - c^2 h^2))/c */
    for (size_t k = 0; k < p->free; k++)
        t.dsag[k] = fmin(by_c, 50 * h2) * p->dc[way][side][k];
    return t;
}

static double log_normal_above(double z)
{
    return z < -30 ? -0.5 * z * z - log(-z) - 0.918938533 : log(0.5 * erfc(-z / sqrt(2)));
}

/* Common practice, no source: a ring bears near the rim of the smaller neighbour, never on a slope beyond 45 degrees.
 * Student's t of 3 degrees of freedom in contact / rim, middle 0.95, scale 0.05, relative to its peak. */
static double log_ring_fits(const search *s, size_t g, int o, size_t h, int p, double contact_mm)
{
    double rim = fmin(s->puzzle->group[g].diameter_mm, s->puzzle->group[h].diameter_mm);
    if (isnan(rim))
        return 0;
    double steep = fmax(fabs(s->p[g].c[o][1]), fabs(s->p[h].c[p][0]));
    if (steep > 0)
        rim = fmin(rim, sqrt(2) / steep);
    double away = (contact_mm / rim - 0.95) / 0.05;
    return -2 * log1p(away * away / 3);
}

static void prepare_joint(search *s, size_t g, int o, size_t h, int p, size_t r)
{
    const cw_spacer *ring = &s->puzzle->spacer[r];
    const contact *rear = &s->touch[g][o][1][r], *front = &s->touch[h][p][0][r];
    joint *j = &s->joint[g][o][h][p][r];
    *j = (joint){0};
    double narrow_one = fmin(s->puzzle->group[g].diameter_mm, s->puzzle->group[h].diameter_mm);
    if (!rear->reaches || !front->reaches || ring->contact_mm > 1.01 * narrow_one) {
        s->ruled_narrow++;
        return;
    }
    j->gap = ring->length_mm.value + rear->sag - front->sag;
    double variance = ring->length_mm.u * ring->length_mm.u + 1e-4; /* 0.01 mm: seats and burrs, common practice */
    for (size_t k = 0; k < s->p[g].free; k++)
        variance += rear->dsag[k] * rear->dsag[k];
    for (size_t k = 0; k < s->p[h].free; k++)
        variance += front->dsag[k] * front->dsag[k];
    double away = j->gap / sqrt(variance);
    j->log_likelihood = log_normal_above(away) + log_ring_fits(s, g, o, h, p, ring->contact_mm);
    j->allowed = away > -7;
    s->ruled_gap += j->allowed ? 0 : 1;
}

static void prepare_joints(search *s)
{
    for (size_t g = 0; g < s->n; g++)
        for (int o = 0; o < 2; o++)
            for (int side = 0; side < 2; side++)
                for (size_t r = 0; r + 1 < s->n; r++)
                    s->touch[g][o][side][r] = touch(&s->p[g], o, side, s->puzzle->spacer[r].contact_mm / 2);
    for (size_t g = 0; g < s->n; g++)
        for (size_t h = 0; h < s->n; h++)
            for (int ways = 0; ways < 4 && g != h; ways++)
                for (size_t r = 0; r + 1 < s->n; r++)
                    prepare_joint(s, g, ways & 1, h, ways >> 1, r);
}

static void prepare_places(search *s)
{
    for (size_t g = 0; g < s->n; g++)
        for (size_t place = 0; place < s->n; place++) {
            const cw_loose_group *group = &s->puzzle->group[g];
            const cw_barrel_place *at = &s->puzzle->place[place];
            double d = group->diameter_mm, away = (d - at->seat_mm) / 0.1; /* 0.1 mm: fit and caliper together */
            s->place_allowed[g][place] = group->position == SIZE_MAX || group->position == place;
            if (d > at->bore_mm + 0.1)
                s->place_allowed[g][place] = false;
            /* glass sits in its seat with up to 0.3 mm of play; another diameter can only be a misread seat */
            s->place_log[g][place] = isnan(away) ? 0 : away > 0 ? -0.5 * away * away : -2 * log1p(away * away / 27);
        }
}

static void prepare_rings(search *s)
{
    for (size_t r = 0; r + 1 < s->n; r++) {
        const cw_spacer *ring = &s->puzzle->spacer[r];
        s->ring_z[r] = s->z_count++;
        s->ring_twin[r] = SIZE_MAX;
        for (size_t k = 0; k < r; k++) {
            const cw_spacer *other = &s->puzzle->spacer[k];
            bool special = s->puzzle->stop_known && (s->puzzle->stop_spacer == r || s->puzzle->stop_spacer == k);
            if (!special && ring->position == SIZE_MAX && other->position == SIZE_MAX &&
                ring->length_mm.value == other->length_mm.value && ring->contact_mm == other->contact_mm)
                s->ring_twin[r] = k;
        }
    }
}

cw_status cw_inside_prepare(const cw_puzzle *puzzle, const cw_order_prior *prior, bool thorough, search *s,
                            cw_error *err)
{
    CW_TRY(cw_puzzle_check(puzzle, err));
    memset(s, 0, sizeof *s);
    s->puzzle = puzzle;
    s->prior = *prior;
    s->thorough = thorough;
    s->n = puzzle->group_count;
    s->rays_possible = true;
    s->coarse = 1;
    double widest = 0, narrowest = INFINITY;
    bool all_measured = true;
    for (size_t i = 0; i < s->n; i++) {
        prepare_piece(s, i);
        s->rays_possible = s->rays_possible && puzzle->group[i].inside_known;
        for (size_t k = 0; k <= puzzle->group[i].glasses; k++)
            if (puzzle->group[i].curvature[k].value != 0)
                s->coarse = fmax(s->coarse,
                                 puzzle->group[i].curvature[k].u / fabs(puzzle->group[i].curvature[k].value) / 0.005);
        widest = fmax(widest, puzzle->group[i].diameter_mm);
        narrowest = fmin(narrowest, puzzle->group[i].diameter_mm);
        all_measured = all_measured && isfinite(puzzle->group[i].diameter_mm);
    }
    prepare_rings(s);
    prepare_joints(s);
    prepare_places(s);
    double f = isfinite(puzzle->focal_length_mm.value) ? puzzle->focal_length_mm.value : puzzle->back_focus_mm.value;
    s->scale_mm = fabs(f);
    s->beam_mm = fabs(f) / (isnan(puzzle->f_number) ? prior->f_number_unknown : puzzle->f_number);
    s->field_deg = isnan(puzzle->half_field_deg) ? prior->field_unknown_deg : puzzle->half_field_deg;
    /* one width for all that the stated beam does not pass was not measured at the glass: no evidence then */
    double enough = narrowest > 0.99 * widest ? s->beam_mm : 0.93 * s->beam_mm;
    s->diameters_measured = all_measured && isfinite(puzzle->f_number) && widest >= enough;
    return CW_OK;
}
