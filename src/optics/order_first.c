/* SPDX-License-Identifier: GPL-3.0-or-later */
/* First-order optics of an arrangement, its derivatives, and the lens an arrangement makes. */
#include <math.h>
#include <string.h>

#include "optics/order_inside.h"

static column apply(matrix2 m, column v)
{
    return (column){m.a * v.y + m.b * v.nu, m.c * v.y + m.d * v.nu};
}

/* Forward: the parallel ray entering each piece and leaving it. Backward: what turns a state before or after a piece
 * into the state behind the last. Then every derivative is two small products. */
void cw_inside_first_order(const search *s, const cw_arrangement *what, first_order *out)
{
    size_t n = s->n;
    column in[CW_PUZZLE_GROUPS], leave[CW_PUZZLE_GROUPS], v = {1, 0};
    double gap[CW_PUZZLE_GROUPS] = {0};
    for (size_t j = 0; j < n; j++) {
        size_t g = what->group[j];
        int o = what->turned[j];
        in[j] = v;
        leave[j] = v = apply(s->p[g].m[o], v);
        if (j + 1 < n) {
            gap[j] = s->joint[g][o][what->group[j + 1]][what->turned[j + 1]][what->spacer[j]].gap;
            v.y += gap[j] * v.nu;
        }
    }
    double f = -1 / v.nu, b = v.y * f;
    out->f = f;
    out->b = b;
    memset(out->df, 0, s->z_count * sizeof *out->df);
    memset(out->db, 0, s->z_count * sizeof *out->db);
    matrix2 after = {1, 0, 0, 1}; /* from behind piece j to the end */
    for (size_t j = n; j-- > 0;) {
        size_t g = what->group[j];
        int o = what->turned[j];
        const piece *p = &s->p[g];
        matrix2 before = {after.a * p->m[o].a + after.b * p->m[o].c, after.a * p->m[o].b + after.b * p->m[o].d,
                          after.c * p->m[o].a + after.d * p->m[o].c, after.c * p->m[o].b + after.d * p->m[o].d};
        for (size_t k = 0; k < p->free; k++) {
            column d = apply(after, apply(p->dm[o][k], in[j]));
            if (j + 1 < n) { /* the gap behind grows with this rear face's sag; `after` begins with that gap */
                double lift = s->touch[g][o][1][what->spacer[j]].dsag[k] * leave[j].nu;
                d.y += after.a * lift;
                d.nu += after.c * lift;
            }
            if (j > 0) {
                double lift = -s->touch[g][o][0][what->spacer[j - 1]].dsag[k] * leave[j - 1].nu;
                d.y += before.a * lift;
                d.nu += before.c * lift;
            }
            out->df[p->z_at + k] = f * f * d.nu;
            out->db[p->z_at + k] = f * (d.y + b * d.nu);
        }
        if (j > 0) {
            size_t r = what->spacer[j - 1];
            double lift = s->puzzle->spacer[r].length_mm.u * leave[j - 1].nu;
            out->df[s->ring_z[r]] = f * f * before.c * lift;
            out->db[s->ring_z[r]] = f * (before.a * lift + b * before.c * lift);
            after = (matrix2){before.a, before.b + before.a * gap[j - 1], before.c, before.d + before.c * gap[j - 1]};
        }
    }
}

double cw_inside_covariance(const search *s, const first_order *o, double part[3], double inverse[3])
{
    double ff = 0, fb = 0, bb = 0;
    for (size_t k = 0; k < s->z_count; k++) {
        ff += o->df[k] * o->df[k];
        fb += o->df[k] * o->db[k];
        bb += o->db[k] * o->db[k];
    }
    part[0] = ff;
    part[1] = fb;
    part[2] = bb;
    const cw_puzzle *p = s->puzzle;
    double floor2 = pow(2e-4 * o->f, 2); /* readings are written rounded; no measurement is exact */
    ff += p->focal_length_mm.u * p->focal_length_mm.u + floor2;
    bb += p->back_focus_mm.u * p->back_focus_mm.u + floor2;
    if (isnan(p->focal_length_mm.value)) {
        inverse[0] = inverse[1] = 0;
        inverse[2] = 1 / bb;
        return log(bb);
    }
    if (isnan(p->back_focus_mm.value)) {
        inverse[1] = inverse[2] = 0;
        inverse[0] = 1 / ff;
        return log(ff);
    }
    double determinant = ff * bb - fb * fb;
    inverse[0] = bb / determinant;
    inverse[1] = -fb / determinant;
    inverse[2] = ff / determinant;
    return log(determinant);
}

/* ---- surfaces ---- */

static void piece_values(const search *s, size_t g, const double *z, double *q)
{
    const piece *p = &s->p[g];
    for (size_t i = 0; i < p->parameters; i++) {
        q[i] = p->mean[i];
        for (size_t k = 0; z != NULL && k < p->free; k++)
            q[i] += p->root[i][k] * z[p->z_at + k];
    }
}

static void add_piece(const search *s, const cw_arrangement *what, size_t place, const double *z, built *out)
{
    size_t g = what->group[place], m = s->puzzle->group[g].glasses;
    double q[PIECE_PARAMETERS];
    piece_values(s, g, z, q);
    const double *c = q, *t = q + m + 1, *n = t + m;
    bool turned = what->turned[place];
    for (size_t i = 0; i <= m; i++) {
        size_t at = out->count++;
        out->c[at] = turned ? -c[m - i] : c[i];
        if (i < m) {
            out->t[at] = turned ? t[m - 1 - i] : t[i];
            out->n[at] = turned ? n[m - 1 - i] : n[i];
        } else {
            out->t[at] = 0;
            out->n[at] = 1;
        }
    }
    out->piece_end[place] = out->count - 1;
}

void cw_inside_build(const search *s, const cw_arrangement *what, const double *z, built *out)
{
    out->count = 0;
    for (size_t place = 0; place < s->n; place++) {
        size_t first = out->count;
        add_piece(s, what, place, z, out);
        if (place == 0)
            continue;
        size_t r = what->spacer[place - 1];
        const cw_spacer *ring = &s->puzzle->spacer[r];
        double length = ring->length_mm.value + (z != NULL ? z[s->ring_z[r]] * ring->length_mm.u : 0);
        double rear = cw_sag_mm(out->c[first - 1], 0, ring->contact_mm / 2);
        double gap = length + rear - cw_sag_mm(out->c[first], 0, ring->contact_mm / 2);
        out->t[first - 1] = isfinite(gap) && gap > 0 ? gap : 0;
        bool here = s->puzzle->stop_known && s->puzzle->stop_spacer == r;
        out->stop_at[place - 1] = here ? rear + s->puzzle->stop_after_mm : out->t[first - 1] / 2;
    }
}
