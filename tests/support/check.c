/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "support/check.h"

#include <gsl/gsl_errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

void check_near(double value, double expected, double tolerance, const char *what, const char *file, int line)
{
    if (fabs(value - expected) <= tolerance)
        return;
    print_error("%s is %.17g, expected %.17g within %g\n", what, value, expected, tolerance);
    _fail(file, line);
}

void check_covers(cw_quantity q, double truth, double k, double u_most, const char *what, const char *file, int line)
{
    bool honest = isfinite(q.u) && q.u > 0 && q.u <= u_most;
    if (honest && fabs(q.value - truth) <= k * q.u)
        return;
    print_error("%s is %.17g with u = %g; truth %.17g, k = %g, u allowed up to %g\n", what, q.value, q.u, truth, k,
                u_most);
    _fail(file, line);
}

void check_ok(cw_status status, const cw_error *err, const char *what, const char *file, int line)
{
    if (status == CW_OK)
        return;
    print_error("%s failed (%s): %s\n", what, cw_status_name(status), err->text);
    _fail(file, line);
}

void check_fails(cw_status status, cw_status expected, const cw_error *err, const char *words, const char *what,
                 const char *file, int line)
{
    if (status != expected) {
        print_error("%s gave %s, expected %s; the sentence: %s\n", what, cw_status_name(status),
                    cw_status_name(expected), status == CW_OK ? "(none)" : err->text);
        _fail(file, line);
    }
    check_contains(err->text, words, file, line);
}

void check_contains(const char *text, const char *words, const char *file, int line)
{
    if (strstr(text, words) != NULL)
        return;
    print_error("\"%s\" is not in: %s\n", words, text);
    _fail(file, line);
}

void check_path(const char *relative, char *out, size_t size)
{
    const char *root = getenv("CW_SOURCE_ROOT");
    snprintf(out, size, "%s/%s", root != NULL ? root : ".", relative);
}

void check_folder(const char *name, char *out, size_t size)
{
    const char *root = getenv("CW_BUILD_ROOT");
    snprintf(out, size, "%s/scratch-%s-XXXXXX", root != NULL ? root : "/tmp", name);
    if (mkdtemp(out) == NULL) {
        print_error("no scratch folder %s\n", out);
        _fail(__FILE__, __LINE__);
    }
}

static uint64_t next_random(check_random *random)
{
    uint64_t z = (random->state += 0x9e3779b97f4a7c15u);
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
    return z ^ (z >> 31);
}

double check_uniform(check_random *random)
{
    return (double)(next_random(random) >> 11) * 0x1p-53;
}

double check_gaussian(check_random *random)
{
    double u = 1 - check_uniform(random), v = check_uniform(random);
    return sqrt(-2 * log(u)) * cos(6.283185307179586 * v);
}

int check_main(const char *name, const struct CMUnitTest *tests, size_t count)
{
    gsl_set_error_handler_off();
    return _cmocka_run_group_tests(name, tests, count, NULL, NULL);
}
