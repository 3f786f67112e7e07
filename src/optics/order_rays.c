/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How much an arrangement looks like a designed lens: the beam through its glass, and real rays on and off the axis. */
#include <math.h>
#include <stdint.h>
#include <string.h>

#include "optics/order_inside.h"

enum { AXIS_RAYS = 3, FIELD_RAYS = 3, FIELDS = 2, ERRORS = AXIS_RAYS + FIELDS * (FIELD_RAYS + 2) };

static const double lost_ray_log = -30;

/* ---- the parts adjusted to the known focal length and back focus ---- */

static void adjust(const search *s, const first_order *o, const double inverse[3], double *z)
{
    double df = s->puzzle->focal_length_mm.value - o->f, db = s->puzzle->back_focus_mm.value - o->b;
    df = isnan(df) ? 0 : df;
    db = isnan(db) ? 0 : db;
    double wf = inverse[0] * df + inverse[1] * db, wb = inverse[1] * df + inverse[2] * db;
    for (size_t k = 0; k < s->z_count; k++)
        z[k] = o->df[k] * wf + o->db[k] * wb;
}

/* ---- paraxial rays through built surfaces ---- */

static void paraxial(const built *b, double y, double u, double *heights, double *slope)
{
    double n = 1;
    for (size_t i = 0; i < b->count; i++) {
        heights[i] = y;
        u = (n * u - y * b->c[i] * (b->n[i] - n)) / b->n[i];
        n = b->n[i];
        if (i + 1 < b->count)
            y += u * b->t[i];
    }
    *slope = u;
}

/* Where the entrance pupil stands, from the first vertex, for a stop behind `place`; NaN at infinity. */
static double entrance_pupil(const built *b, size_t place)
{
    size_t last = b->piece_end[place];
    double y = -b->stop_at[place], u = 1; /* slope 1 through the stop's centre, carried leftward */
    for (size_t i = last + 1; i-- > 0;) {
        double before = i > 0 ? b->n[i - 1] : 1;
        u = (b->n[i] * u + y * b->c[i] * (b->n[i] - before)) / before;
        if (i > 0)
            y -= u * b->t[i - 1];
    }
    return fabs(u) > 1e-6 ? -y / u : NAN;
}

/* ---- the beam through the glass ---- */

/* Where diameters were measured: too narrow for the axial beam is near impossible (3 % free and 2 % more for a rounded
 * f-number and focal length), much wider than beam and field together is unusual (a factor 1.2 free, then 20 %). Common
 * practice, no source. */
static double log_beam(const search *s, const cw_arrangement *what, const built *b, double pupil, bool with_field)
{
    double y[ORDER_SURFACES], yc[ORDER_SURFACES], slope, sum = 0;
    double field = tan(s->field_deg * 0.017453292519943295);
    paraxial(b, s->beam_mm / 2, 0, y, &slope);
    paraxial(b, -pupil * field, field, yc, &slope);
    size_t i = 0;
    for (size_t place = 0; place < s->n; place++) {
        double half = s->puzzle->group[what->group[place]].diameter_mm / 2, need = 0, all = 0;
        for (; i <= b->piece_end[place]; i++) {
            need = fmax(need, fabs(y[i]));
            all = fmax(all, fabs(y[i]) + fabs(yc[i]));
        }
        double lack = fmax(0, need / half - 1.03) / 0.02,
               excess = with_field ? fmax(0, log(half / (1.2 * all))) / 0.2 : 0;
        sum -= 0.5 * (fmin(lack * lack, 60) + fmin(excess * excess, 16));
    }
    return sum;
}

/* ---- real rays ---- */

typedef struct {
    double error[ERRORS]; /* in focal lengths, NaN where a ray is lost */
    double slope[ERRORS]; /* how each changes with the plane, per focal length */
    bool lost_axis;
} landing;

static cw_train train_of(const built *b)
{
    cw_train t = {.count = b->count};
    double n = 1;
    for (size_t i = 0; i < b->count; i++) {
        t.c[i] = b->c[i];
        t.k1[i] = 1;
        t.thickness[i] = b->t[i];
        t.ratio[i] = n / b->n[i];
        t.clear2[i] = INFINITY;
        n = b->n[i];
    }
    return t;
}

static const double axis_part[AXIS_RAYS] = {0.6, 0.85, 1};
static const double field_part[FIELDS] = {0.7, 1};
static const double pupil_x[FIELD_RAYS] = {0, 0, 0.7}, pupil_y[FIELD_RAYS] = {0.7, -0.7, 0};

/* Each field's first ray is the chief; then the three. */
static size_t start_rays(const search *s, double pupil, double back, double *block)
{
    enum { RAYS = AXIS_RAYS + FIELDS * (FIELD_RAYS + 1) };
    double *x = block, *y = x + RAYS, *z = y + RAYS, *l = z + RAYS, *m = l + RAYS, *n = m + RAYS;
    size_t k = 0;
    for (size_t i = 0; i < AXIS_RAYS; i++, k++) {
        x[k] = l[k] = m[k] = 0;
        y[k] = axis_part[i] * s->beam_mm / 2;
        z[k] = -back;
        n[k] = 1;
    }
    for (size_t f = 0; f < FIELDS; f++) {
        double angle = atan(field_part[f] * tan(s->field_deg * 0.017453292519943295));
        for (size_t i = 0; i <= FIELD_RAYS; i++, k++) {
            double px = i == 0 ? 0 : pupil_x[i - 1], py = i == 0 ? 0 : pupil_y[i - 1];
            x[k] = px * s->beam_mm / 2;
            y[k] = py * s->beam_mm / 2 - (pupil + back) * tan(angle);
            z[k] = -back;
            l[k] = 0;
            m[k] = sin(angle);
            n[k] = cos(angle);
        }
    }
    return k;
}

static void land(const search *s, const cw_train *train, double pupil, double plane, landing *out)
{
    enum { RAYS = AXIS_RAYS + FIELDS * (FIELD_RAYS + 1) };
    double block[6 * RAYS], f = s->scale_mm;
    start_rays(s, pupil, s->beam_mm, block);
    cw_trace_rays(
        train, RAYS,
        (cw_rays){block, block + RAYS, block + 2 * RAYS, block + 3 * RAYS, block + 4 * RAYS, block + 5 * RAYS}, plane);
    const double *x = block, *y = x + RAYS, *l = block + 3 * RAYS, *m = l + RAYS, *n = m + RAYS;
    size_t e = 0;
    out->lost_axis = false;
    for (size_t k = 0; k < AXIS_RAYS; k++, e++) {
        out->error[e] = y[k] / f;
        out->slope[e] = m[k] / n[k];
        out->lost_axis = out->lost_axis || isnan(y[k]);
    }
    for (size_t field = 0; field < FIELDS; field++) {
        size_t chief = AXIS_RAYS + field * (FIELD_RAYS + 1);
        double ideal = f * field_part[field] * tan(s->field_deg * 0.017453292519943295);
        out->error[e] = (y[chief] - ideal) / ideal;
        out->slope[e++] = 0;
        for (size_t i = 1; i <= FIELD_RAYS; i++) {
            out->error[e] = (y[chief + i] - y[chief]) / f;
            out->slope[e++] = m[chief + i] / n[chief + i] - m[chief] / n[chief];
        }
        size_t sagittal = chief + FIELD_RAYS;
        out->error[e] = x[sagittal] / f;
        out->slope[e++] = l[sagittal] / n[sagittal];
    }
}

static double tolerance_of(const search *s, size_t e)
{
    /* faster lenses are made less sharp at full aperture: third order grows as the aperture squared or cubed and is
     * partly balanced; the power 1.5 below f/4 is a choice */
    double wide = fmax(1, pow(4 * s->beam_mm / s->scale_mm, 1.5));
    if (e < AXIS_RAYS)
        return s->prior.axis_ray * wide;
    size_t field = (e - AXIS_RAYS) / (FIELD_RAYS + 2), which = (e - AXIS_RAYS) % (FIELD_RAYS + 2);
    double part = field_part[field];
    return which == 0 ? s->prior.distortion * part * part : s->prior.field_ray * part * wide;
}

/* log of N(error; 0, spread + tolerance) against that of a perfect lens without spread, at `loose` times the tolerance
 * but with the perfect lens held at 1: never above zero. */
static double log_gaussian(const search *s, const landing *at, double spread[ERRORS][ERRORS], const size_t *index,
                           size_t m, double loose)
{
    double w[ERRORS][ERRORS], w0[ERRORS][ERRORS], e[ERRORS], value = 0;
    for (size_t i = 0; i < m; i++) {
        e[i] = at->error[index[i]];
        for (size_t k = 0; k <= i; k++) {
            double t = i == k ? tolerance_of(s, index[i]) : 0, focus = s->prior.focus_shift;
            double shift = focus * focus * at->slope[index[i]] * at->slope[index[k]];
            w0[i][k] = t * t + shift;
            w[i][k] = loose * loose * t * t + shift + spread[index[i]][index[k]];
        }
    }
    for (size_t i = 0; i < m; i++) { /* two Cholesky factors side by side, and the forward solve */
        for (size_t k = 0; k <= i; k++) {
            double sum = w[i][k], sum0 = w0[i][k];
            for (size_t q = 0; q < k; q++) {
                sum -= w[i][q] * w[k][q];
                sum0 -= w0[i][q] * w0[k][q];
            }
            w[i][k] = i == k ? sqrt(sum) : sum / w[k][k];
            w0[i][k] = i == k ? sqrt(sum0) : sum0 / w0[k][k];
        }
        for (size_t q = 0; q < i; q++)
            e[i] -= w[i][q] * e[q];
        e[i] /= w[i][i];
        value -= 0.5 * e[i] * e[i] + log(w[i][i] / w0[i][i]);
    }
    return value;
}

/* Nothing is gained by being sharper than the tolerance: the rival of a true lens is often sharper on the axis by
 * chance. Four lenses in five keep to the tolerances, one in five to three times them. Rays that are lost drop out and
 * cost a fixed 2 each; a lost axial ray all but rules the arrangement out. */
static double log_sharp(const search *s, const landing *at, double spread[ERRORS][ERRORS])
{
    size_t index[ERRORS], m = 0;
    if (at->lost_axis)
        return lost_ray_log;
    for (size_t i = 0; i < ERRORS; i++)
        if (isfinite(at->error[i]) && isfinite(at->slope[i]))
            index[m++] = i;
    double tight = log_gaussian(s, at, spread, index, m, 1) + log(0.8);
    double loose = log_gaussian(s, at, spread, index, m, 3) + log(0.2);
    double value = fmax(tight, loose) + log1p(exp(-fabs(tight - loose))) - 2 * (double)(ERRORS - m);
    return value > 2 * lost_ray_log ? value : 2 * lost_ray_log;
}

/* Covariance of the errors from what is left of the parts' uncertainty after f and b are known: E (1 - J' S^-1 J) E'.
 */
static void spread_of(const search *s, const first_order *o, const double inverse[3], double (*by_z)[ERRORS],
                      double spread[ERRORS][ERRORS])
{
    double ef[ERRORS] = {0}, eb[ERRORS] = {0};
    for (size_t k = 0; k < s->z_count; k++)
        for (size_t i = 0; i < ERRORS; i++) {
            ef[i] += by_z[k][i] * o->df[k];
            eb[i] += by_z[k][i] * o->db[k];
        }
    for (size_t i = 0; i < ERRORS; i++)
        for (size_t j = 0; j < ERRORS; j++) {
            double sum = 0;
            for (size_t k = 0; k < s->z_count; k++)
                sum += by_z[k][i] * by_z[k][j];
            spread[i][j] = sum - inverse[0] * ef[i] * ef[j] - inverse[1] * (ef[i] * eb[j] + eb[i] * ef[j]) -
                           inverse[2] * eb[i] * eb[j];
        }
}

/* The paraxial focus of the built lens behind its last vertex. */
static double focus_of(const built *b)
{
    double y[ORDER_SURFACES], slope;
    paraxial(b, 1, 0, y, &slope);
    return -y[b->count - 1] / slope;
}

/* Root mean square of the errors that are ray distances, with the plane where the axial (or these) rays meet best. */
static double best_rms(const landing *at, size_t from, size_t to, double f)
{
    double ee = 0, es = 0, ss = 0;
    size_t n = 0;
    for (size_t i = from; i < to; i++) {
        if (!isfinite(at->error[i]))
            continue;
        ee += at->error[i] * at->error[i];
        es += at->error[i] * at->slope[i];
        ss += at->slope[i] * at->slope[i];
        n++;
    }
    return n > 0 && ss > 0 ? f * sqrt(fmax(0, ee - es * es / ss) / (double)n) : NAN;
}

/* The places the diaphragm may stand, and what is known of each. */
typedef struct {
    size_t place;
    double pupil, value;
    bool alive;
    landing at;
    double by_z[ORDER_PARAMETERS][ERRORS];
} stop_trial;

/* What the landing's evidence cannot exceed, at a glance: tolerances at their loosest and a spread of the parts six
 * times the tolerance, which is two to three times the largest seen at half a per cent on the radii; it grows with
 * theirs. */
static double quick_bound(const search *s, const landing *at)
{
    double ee = 0, es = 0, ss = 0, lost = 0, cap = 36 * s->coarse * s->coarse;
    if (at->lost_axis)
        return lost_ray_log;
    for (size_t i = 0; i < ERRORS; i++) {
        if (!isfinite(at->error[i]) || !isfinite(at->slope[i])) {
            lost += 2;
            continue;
        }
        double t = tolerance_of(s, i), weight = 1 / ((9 + cap) * t * t);
        ee += weight * at->error[i] * at->error[i];
        es += weight * at->error[i] * at->slope[i];
        ss += weight * at->slope[i] * at->slope[i];
    }
    double focus2 = s->prior.focus_shift * s->prior.focus_shift;
    return -0.5 * (ee - es * es / (1 / focus2 + ss)) - lost;
}

static size_t first_look(const search *s, const cw_arrangement *what, const built *b, double floor, stop_trial *trials,
                         size_t *alive)
{
    size_t count = 0;
    double plane = focus_of(b);
    cw_train train = train_of(b);
    *alive = 0;
    for (size_t place = 0; place + 1 < s->n; place++) {
        if (s->puzzle->stop_known && s->puzzle->stop_spacer != what->spacer[place])
            continue;
        stop_trial *t = &trials[count++];
        t->place = place;
        t->pupil = entrance_pupil(b, place);
        t->value = lost_ray_log;
        t->alive = isfinite(t->pupil) && fabs(t->pupil) < 20 * s->scale_mm;
        if (!t->alive)
            continue;
        land(s, &train, t->pupil, plane, &t->at);
        t->value = quick_bound(s, &t->at);
        t->alive = s->thorough || t->value >= floor;
        *alive += t->alive ? 1 : 0;
    }
    return count;
}

/* How the landings move with each of the parts' z, by steps of half a standard deviation. */
static void differentiate(const search *s, const cw_arrangement *what, double plane, const double *z,
                          stop_trial *trials, size_t count)
{
    double moved_z[ORDER_PARAMETERS];
    const double step = 0.5;
    memcpy(moved_z, z, s->z_count * sizeof *z);
    for (size_t k = 0; k < s->z_count; k++) {
        built other;
        landing moved;
        moved_z[k] = z[k] + step;
        cw_inside_build(s, what, moved_z, &other);
        moved_z[k] = z[k];
        cw_train train = train_of(&other);
        for (size_t i = 0; i < count; i++) {
            if (!trials[i].alive)
                continue;
            land(s, &train, trials[i].pupil, plane, &moved);
            for (size_t e = 0; e < ERRORS; e++) {
                double d = (moved.error[e] - trials[i].at.error[e]) / step;
                trials[i].by_z[k][e] = isfinite(d) ? d : 0;
            }
        }
    }
}

double cw_inside_field_spot(const search *s, const cw_arrangement *what, const double *z)
{
    built b;
    landing at;
    double least = NAN;
    cw_inside_build(s, what, z, &b);
    for (size_t place = 0; place + 1 < s->n; place++) {
        if (s->puzzle->stop_known && s->puzzle->stop_spacer != what->spacer[place])
            continue;
        double pupil = entrance_pupil(&b, place);
        if (isnan(pupil))
            continue;
        cw_train train = train_of(&b);
        land(s, &train, pupil, focus_of(&b), &at);
        least = fmin(least, best_rms(&at, ERRORS - FIELD_RAYS - 1, ERRORS, s->scale_mm));
    }
    return least;
}

void cw_inside_rays(const search *s, const cw_arrangement *what, double floor, ray_verdict *out)
{
    first_order o;
    double part[3], inverse[3], spread[ERRORS][ERRORS], best = -INFINITY, sum = 0;
    cw_inside_first_order(s, what, &o);
    cw_inside_covariance(s, &o, part, inverse);
    adjust(s, &o, inverse, out->z);
    out->log_rays = 0;
    out->spot_axis_mm = out->spot_field_mm = NAN;
    for (size_t place = 0; place < CW_PUZZLE_GROUPS; place++)
        out->by_stop[place] = NAN;
    if (!s->rays_possible)
        return;
    built b;
    stop_trial trials[CW_PUZZLE_GROUPS];
    cw_inside_build(s, what, out->z, &b);
    size_t alive, count = first_look(s, what, &b, floor, trials, &alive);
    if (alive > 0)
        differentiate(s, what, focus_of(&b), out->z, trials, count);
    bool with_field = s->puzzle->stop_known && isfinite(s->puzzle->half_field_deg);
    for (size_t i = 0; i < count; i++) {
        stop_trial *t = &trials[i];
        if (t->alive) {
            spread_of(s, &o, inverse, t->by_z, spread);
            t->value = log_sharp(s, &t->at, spread);
        }
        if (s->diameters_measured)
            t->value += log_beam(s, what, &b, t->pupil, with_field);
        out->by_stop[t->place] = t->value;
        if (t->alive && t->value > best) {
            out->spot_axis_mm = best_rms(&t->at, 0, AXIS_RAYS, s->scale_mm);
            out->spot_field_mm = best_rms(&t->at, ERRORS - FIELD_RAYS - 1, ERRORS, s->scale_mm);
        }
        best = fmax(best, t->value);
    }
    for (size_t i = 0; i < count; i++)
        sum += exp(trials[i].value - best);
    out->log_rays = best + log(sum / (double)count);
}
