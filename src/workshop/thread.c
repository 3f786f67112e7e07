/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "workshop/thread.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/range.h"

#define MM 1e-3
#define IN 0.0254
#define DEG (M_PI / 180)

/* ISO 261/262 coarse: deepri.com, "Metric (Coarse/Fine)"; from M3.5 on from memory. */
static const double coarse_mm[][2] = {{1, 0.25},   {1.1, 0.25}, {1.2, 0.25}, {1.4, 0.3}, {1.6, 0.35}, {1.8, 0.35},
                                      {2, 0.4},    {2.2, 0.45}, {2.5, 0.45}, {3, 0.5},   {3.5, 0.6},  {4, 0.7},
                                      {4.5, 0.75}, {5, 0.8},    {6, 1},      {7, 1},     {8, 1.25},   {10, 1.5},
                                      {12, 1.75},  {14, 2},     {16, 2},     {18, 2.5},  {20, 2.5},   {24, 3}};
/* ISO 261 fine: tameson.com, metric thread chart; M8x1, M10x1 and larger from memory. */
static const double fine_mm[][2] = {
    {1, 0.2},  {1.1, 0.2},  {1.2, 0.2}, {1.4, 0.2}, {1.6, 0.2}, {1.8, 0.2}, {2, 0.25}, {2.2, 0.25}, {2.5, 0.35},
    {3, 0.35}, {3.5, 0.35}, {4, 0.5},   {4.5, 0.5}, {5, 0.5},   {5.5, 0.5}, {6, 0.75}, {7, 0.75},   {8, 0.75},
    {9, 0.75}, {8, 1},      {10, 1},    {10, 1.25}, {12, 1.25}, {12, 1.5},  {14, 1.5}, {16, 1.5},   {20, 1.5}};
/* Sizes still met in older cameras: deepri.com; a metric size table (cdn.shopify.com file 9982dbdd) for M2.6. */
static const double old_mm[][2] = {{1.7, 0.35}, {2.3, 0.4}, {2.6, 0.45}};
/* ASME B1.10M, endorsed sizes of ISO 1501: Machinery's Handbook 31st ed., table 5. */
static const double miniature_mm[][2] = {{0.30, 0.080}, {0.35, 0.090}, {0.40, 0.100}, {0.45, 0.100}, {0.50, 0.125},
                                         {0.55, 0.125}, {0.60, 0.150}, {0.70, 0.175}, {0.80, 0.200}, {0.90, 0.225},
                                         {1.00, 0.250}, {1.10, 0.250}, {1.20, 0.250}, {1.40, 0.300}};
/* ASME B1.1: Mechanical Engineer's Data Handbook, p. 301 (#0 to #4 and fractions); #5 to #12, 5/16, 7/16 and 1/2 from
 * memory. Diameter: number n (0.060 + 0.013 n in), or negative: minus the inches. */
static const struct {
    double size;
    int per_inch;
    const char *name;
} unified[] = {{0, 80, "#0-80 UNF"},         {1, 64, "#1-64 UNC"},
               {1, 72, "#1-72 UNF"},         {2, 56, "#2-56 UNC"},
               {2, 64, "#2-64 UNF"},         {3, 48, "#3-48 UNC"},
               {3, 56, "#3-56 UNF"},         {4, 40, "#4-40 UNC"},
               {4, 48, "#4-48 UNF"},         {5, 40, "#5-40 UNC"},
               {5, 44, "#5-44 UNF"},         {6, 32, "#6-32 UNC"},
               {6, 40, "#6-40 UNF"},         {8, 32, "#8-32 UNC"},
               {8, 36, "#8-36 UNF"},         {10, 24, "#10-24 UNC"},
               {10, 32, "#10-32 UNF"},       {12, 24, "#12-24 UNC"},
               {12, 28, "#12-28 UNF"},       {-0.3125, 18, "5/16-18 UNC"},
               {-0.3125, 24, "5/16-24 UNF"}, {-0.4375, 14, "7/16-14 UNC"},
               {-0.4375, 20, "7/16-20 UNF"}, {-0.5, 13, "1/2-13 UNC"},
               {-0.5, 20, "1/2-20 UNF"},     {-0.25, 20, "1/4-20 UNC (tripod)"},
               {-0.25, 28, "1/4-28 UNF"},    {-0.375, 16, "3/8-16 UNC (tripod)"},
               {-0.375, 24, "3/8-24 UNF"}};
/* Trade practice, from memory. */
static const double filter_mm[][2] = {{25, 0.5},  {27, 0.5},  {28, 0.5},   {30.5, 0.5}, {34, 0.5},  {35.5, 0.5},
                                      {37, 0.75}, {39, 0.5},  {40.5, 0.5}, {43, 0.75},  {46, 0.75}, {48, 0.75},
                                      {49, 0.75}, {52, 0.75}, {55, 0.75},  {58, 0.75},  {62, 0.75}, {67, 0.75},
                                      {72, 0.75}, {77, 0.75}, {82, 0.75},  {86, 1},     {95, 1},    {105, 1}};
/* Lens mounts by trade designation; M39x26tpi is of Whitworth form, from memory; M42x1, M39x1, T2: trade table. */
static const struct {
    const char *name;
    double major_m, pitch_m, angle_deg;
} mounts[] = {{"M39x26tpi (mount)", 39 * MM, IN / 26, 55},
              {"M42x1 (mount)", 42 * MM, 1 * MM, 60},
              {"M39x1 (mount)", 39 * MM, 1 * MM, 60},
              {"M42x0.75 (T2)", 42 * MM, 0.75 * MM, 60},
              {"1-32 UN (C-mount)", IN, IN / 32, 60}};

const char *cw_thread_family_name(cw_thread_family family)
{
    static const char *const names[CW_THREAD_FAMILY_COUNT] = {
        "ISO metric coarse", "ISO metric fine",     "ISO miniature", "older metric",
        "Unified",           "British Association", "filter thread", "lens mount"};
    return (unsigned)family < CW_THREAD_FAMILY_COUNT ? names[family] : "unknown";
}

void cw_thread_ba(int n, double *pitch_m, double *major_m)
{
    double pitch_mm = pow(0.9, n), major_mm = 6 * pow(pitch_mm, 1.2);
    *pitch_m = round(pitch_mm * 100) / 100 * MM;
    /* BS 93 gives the diameters to 0.1 mm, but 16 BA to 0.01 */
    *major_m = n == 16 ? round(major_mm * 100) / 100 * MM : round(major_mm * 10) / 10 * MM;
}

/* ISO 965-1: position g 15 + 11 P, Td(6) 180 P^(2/3) - 3.15 P^(-1/2), TD1(6) 433 P - 190 P^1.22 below 1 mm, 230 P^0.7
 * from there; P in mm, micrometres. A screw of tolerance 6h fills the gap up to the basic size. */
static void metric_bands(cw_thread *t)
{
    double P = t->pitch_m / MM;
    double bore = P < 1 ? 433 * P - 190 * pow(P, 1.22) : 230 * pow(P, 0.7);
    t->major_least_m = t->major_m - (15 + 11 * P + 180 * pow(P, 2.0 / 3) - 3.15 / sqrt(P)) * 1e-6;
    t->minor_most_m = t->minor_m + bore * 1e-6;
}

/* ASME B1.1, inches, from memory. Class 2A: tolerance of the major diameter 0.060 p^(2/3), allowance 0.3 of the pitch
 * diameter's tolerance 0.0015 (D^(1/3) + L^(1/2)) + 0.015 p^(2/3), L taken as one diameter. Class 2B: tolerance of the
 * bore 0.05 p^(2/3) + 0.03 p/D - 0.002 below 1/4 in, no less than 0.25 p - 0.4 p^2, which holds from there on, and no
 * more than 0.394 p. */
static void unified_bands(cw_thread *t)
{
    double p = t->pitch_m / IN, D = t->major_m / IN, coarse = 0.25 * p - 0.4 * p * p;
    double pitch_tolerance = 0.0015 * (cbrt(D) + sqrt(D)) + 0.015 * pow(p, 2.0 / 3);
    double bore = D < 0.2499 ? fmax(coarse, 0.05 * pow(p, 2.0 / 3) + 0.03 * p / D - 0.002) : coarse;
    t->major_least_m = t->major_m - (0.060 * pow(p, 2.0 / 3) + 0.3 * pitch_tolerance) * IN;
    t->minor_most_m = t->minor_m + fmin(bore, 0.394 * p) * IN;
}

static cw_thread basic(cw_thread_family family, double major_m, double pitch_m, double angle_deg)
{
    /* d - d2 and d - D1 over the pitch */
    double effective = angle_deg == 60 ? 0.649519 : angle_deg == 55 ? 0.640327 : 0.6;
    double minor = angle_deg == 60 ? 1.082532 : angle_deg == 55 ? 1.280654 : 1.2;
    cw_thread t = {.family = family,
                   .major_m = major_m,
                   .pitch_m = pitch_m,
                   .angle_rad = angle_deg * DEG,
                   .pitch_diameter_m = major_m - effective * pitch_m,
                   .minor_m = major_m - minor * pitch_m};
    metric_bands(&t);
    return t;
}

/* BS 93:1951 (Machinery's Handbook 31st ed., p. 2115): bolts, normal class, 0.20 p on the major diameter, 0.25 p from
 * 11 BA on; nuts 0.375 p on the minor diameter. */
static cw_thread ba_thread(int n)
{
    double pitch, major;
    cw_thread_ba(n, &pitch, &major);
    cw_thread t = basic(CW_THREAD_BA, major, pitch, 47.5);
    t.major_least_m = major - (n >= 11 ? 0.25 : 0.20) * pitch;
    t.minor_most_m = t.minor_m + 0.375 * pitch;
    return t;
}

/* ASME B1.10M: internal minor d - 1.04 p, tolerances 0.12 p + 0.006 (major) and 0.32 p + 0.012 (bore), mm; these give
 * every row of the printed table to its last digit. */
static cw_thread miniature_thread(const double row[2])
{
    cw_thread t = basic(CW_THREAD_MINIATURE, row[0] * MM, row[1] * MM, 60);
    t.minor_m = t.major_m - 1.04 * t.pitch_m;
    t.major_least_m = t.major_m - (0.12 * row[1] + 0.006) * MM;
    t.minor_most_m = t.minor_m + (0.32 * row[1] + 0.012) * MM;
    return t;
}

static size_t add_metric(cw_thread_family family, const double (*rows)[2], size_t rows_count, cw_thread *out,
                         size_t used, size_t most)
{
    for (size_t i = 0; i < rows_count && used < most; i++) {
        cw_thread t = basic(family, rows[i][0] * MM, rows[i][1] * MM, 60);
        snprintf(t.name, sizeof t.name, "M%g x %g%s", rows[i][0], rows[i][1],
                 family == CW_THREAD_FILTER ? " (filter)" : "");
        out[used++] = t;
    }
    return used;
}

size_t cw_threads(cw_thread *out, size_t most)
{
    size_t n = 0;
    n = add_metric(CW_THREAD_ISO_COARSE, coarse_mm, CW_COUNT(coarse_mm), out, n, most);
    n = add_metric(CW_THREAD_ISO_FINE, fine_mm, CW_COUNT(fine_mm), out, n, most);
    n = add_metric(CW_THREAD_OLD_METRIC, old_mm, CW_COUNT(old_mm), out, n, most);
    for (size_t i = 0; i < CW_COUNT(miniature_mm) && n < most; i++) {
        out[n] = miniature_thread(miniature_mm[i]);
        snprintf(out[n].name, sizeof out[n].name, "S%.2f x %g", miniature_mm[i][0], miniature_mm[i][1]);
        n++;
    }
    for (size_t i = 0; i < CW_COUNT(unified) && n < most; i++) {
        double size = unified[i].size;
        out[n] = basic(CW_THREAD_UNIFIED, (size < 0 ? -size : 0.060 + 0.013 * size) * IN, IN / unified[i].per_inch, 60);
        unified_bands(&out[n]);
        snprintf(out[n].name, sizeof out[n].name, "%s", unified[i].name);
        n++;
    }
    for (int ba = 0; ba <= 16 && n < most; ba++) {
        out[n] = ba_thread(ba);
        snprintf(out[n].name, sizeof out[n].name, "%d BA", ba);
        n++;
    }
    n = add_metric(CW_THREAD_FILTER, filter_mm, CW_COUNT(filter_mm), out, n, most);
    for (size_t i = 0; i < CW_COUNT(mounts) && n < most; i++) {
        out[n] = basic(CW_THREAD_MOUNT, mounts[i].major_m, mounts[i].pitch_m, mounts[i].angle_deg);
        snprintf(out[n].name, sizeof out[n].name, "%s", mounts[i].name);
        n++;
    }
    return n;
}

/* Equal but for spaces and case. */
static bool same_name(const char *a, const char *b)
{
    for (;;) {
        while (isspace((unsigned char)*a))
            a++;
        while (isspace((unsigned char)*b))
            b++;
        if (tolower((unsigned char)*a) != tolower((unsigned char)*b))
            return false;
        if (*a == '\0')
            return true;
        a++;
        b++;
    }
}

bool cw_thread_find(const char *name, cw_thread *thread)
{
    cw_thread all[CW_THREADS_MOST];
    size_t count = cw_threads(all, CW_THREADS_MOST);
    for (size_t i = 0; i < count; i++)
        if (same_name(all[i].name, name)) {
            *thread = all[i];
            return true;
        }
    return false;
}

/* Whether `name` begins with `beginning`, spaces and case aside, and no digit goes on from there. */
static bool begins_with(const char *name, const char *beginning)
{
    for (;;) {
        while (isspace((unsigned char)*name))
            name++;
        while (isspace((unsigned char)*beginning))
            beginning++;
        if (*beginning == '\0')
            return !isdigit((unsigned char)*name) && *name != '.';
        if (tolower((unsigned char)*name) != tolower((unsigned char)*beginning))
            return false;
        name++;
        beginning++;
    }
}

bool cw_thread_named(const char *name, cw_thread *thread)
{
    cw_thread all[CW_THREADS_MOST];
    size_t count = cw_threads(all, CW_THREADS_MOST);
    if (cw_thread_find(name, thread))
        return true;
    for (size_t i = 0; i < count; i++)
        if (begins_with(all[i].name, name)) {
            *thread = all[i];
            return true;
        }
    return false;
}

cw_status cw_thread_of(double major_m, double pitch_m, double angle_rad, cw_thread *thread, cw_error *err)
{
    CW_TRY(cw_check_within("outside diameter", major_m, CW_LENGTH, "mm", 0.2e-3, 0.2, err));
    CW_TRY(cw_check_within("pitch", pitch_m, CW_LENGTH, "mm", 0.05e-3, 0.45 * major_m, err));
    cw_thread made = basic(CW_THREAD_ISO_COARSE, major_m, pitch_m, round(angle_rad / DEG * 10) / 10);
    made.major_least_m = NAN;
    made.minor_most_m = NAN;
    snprintf(made.name, sizeof made.name, "%.4g x %.4g mm", major_m / MM, pitch_m / MM);
    *thread = made;
    return CW_OK;
}

double cw_thread_root_m(const cw_thread *thread)
{
    if (thread->angle_rad < 59 * DEG)
        return thread->minor_m;
    double depths = thread->family == CW_THREAD_UNIFIED     ? 1.190785
                    : thread->family == CW_THREAD_MINIATURE ? 1.2
                                                            : 1.226869;
    return thread->major_m - depths * thread->pitch_m;
}

double cw_thread_stress_area_m2(const cw_thread *thread)
{
    double across = thread->family == CW_THREAD_UNIFIED ? thread->major_m - 0.9743 * thread->pitch_m
                                                        : (thread->pitch_diameter_m + cw_thread_root_m(thread)) / 2;
    return M_PI / 4 * across * across;
}

static double normal_below(double z)
{
    return 0.5 * erfc(-z / M_SQRT2);
}

static double band_density(double measured, double u, double low, double high)
{
    return (normal_below((high - measured) / u) - normal_below((low - measured) / u)) / (high - low);
}

static double pitch_density(const cw_quantity *pitch, double basic_m)
{
    if (isnan(pitch->value))
        return 1;
    double u = hypot(pitch->u, 0.003 * basic_m), z = (pitch->value - basic_m) / u;
    return exp(-z * z / 2) / (u * sqrt(2 * M_PI));
}

static cw_status check_measured(const cw_thread_measured *m, cw_error *err)
{
    CW_TRY(cw_check_within("measured diameter", m->diameter_m.value, CW_LENGTH, "mm", 0.2e-3, 0.12, err));
    CW_TRY(cw_check_within("uncertainty of the diameter", m->diameter_m.u, CW_LENGTH, "mm", 1e-6,
                           0.1 * m->diameter_m.value, err));
    if (isnan(m->pitch_m.value))
        return CW_OK;
    CW_TRY(cw_check_within("measured pitch", m->pitch_m.value, CW_LENGTH, "mm", 0.05e-3, 4e-3, err));
    CW_TRY(
        cw_check_within("uncertainty of the pitch", m->pitch_m.u, CW_LENGTH, "mm", 1e-7, 0.3 * m->pitch_m.value, err));
    if (m->pitch_m.value > 0.45 * m->diameter_m.value)
        return cw_fail(
            err, CW_RANGE,
            "a pitch of %.3g mm on a diameter of %.3g mm is no screw of one start; %.3g mm is the most that makes "
            "sense. Was the length over several turns divided by their number?",
            m->pitch_m.value / MM, m->diameter_m.value / MM, 0.45 * m->diameter_m.value / MM);
    return CW_OK;
}

static int by_probability(const void *a, const void *b)
{
    double pa = ((const cw_thread_match *)a)->probability, pb = ((const cw_thread_match *)b)->probability;
    return (pa < pb) - (pa > pb);
}

cw_status cw_thread_identify(const cw_thread_measured *measured, cw_thread_match *matches, size_t most, size_t *count,
                             double *none_probability, cw_error *err)
{
    CW_TRY(check_measured(measured, err));
    cw_thread all[CW_THREADS_MOST];
    cw_thread_match ranked[CW_THREADS_MOST];
    size_t threads = cw_threads(all, CW_THREADS_MOST);
    double weights = 0, sum = 0;
    for (size_t i = 0; i < threads; i++)
        weights += measured->family_weight != NULL ? measured->family_weight[all[i].family] : 1;
    if (!(weights > 0))
        return cw_fail(err, CW_RANGE, "every kind of thread is ruled out beforehand; leave at least one in");
    for (size_t i = 0; i < threads; i++) {
        const cw_thread *t = &all[i];
        double low = measured->is_internal ? t->minor_m : t->major_least_m;
        double high = measured->is_internal ? t->minor_most_m : t->major_m;
        double weight = (measured->family_weight != NULL ? measured->family_weight[t->family] : 1) / weights;
        double density = band_density(measured->diameter_m.value, measured->diameter_m.u, low, high);
        ranked[i] =
            (cw_thread_match){*t, weight * density * pitch_density(&measured->pitch_m, t->pitch_m),
                              measured->diameter_m.value - (low + high) / 2, measured->pitch_m.value - t->pitch_m};
        sum += ranked[i].probability;
    }
    /* a thread that is not listed: one in ten, its diameter anywhere on a logarithmic scale from 0.3 to 90 mm, its
     * pitch within 30 % either way of what suits the diameter */
    double none_density = 1 / (log(300) * measured->diameter_m.value);
    if (!isnan(measured->pitch_m.value))
        none_density /= 0.6 * measured->pitch_m.value;
    double none = 0.1 * none_density, listed = 0.9 * sum;
    qsort(ranked, threads, sizeof ranked[0], by_probability);
    size_t kept = 0;
    while (kept < threads && kept < most) {
        double probability = 0.9 * ranked[kept].probability / (listed + none);
        if (probability < 0.002)
            break;
        matches[kept] = ranked[kept];
        matches[kept].probability = probability;
        kept++;
    }
    *count = kept;
    *none_probability = none / (listed + none);
    return CW_OK;
}
