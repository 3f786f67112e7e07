/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What every test file needs: cmocka in the right order, near-equality, and a main that silences nothing.
 *
 *   static void reading_is_a_seventh_of_a_stop_slow(void **state) { ... assert_near(error_ev, 0.147, 0.001); }
 *   CHECK_MAIN(cmocka_unit_test(reading_is_a_seventh_of_a_stop_slow)) */
#ifndef CW_TESTS_CHECK_H
#define CW_TESTS_CHECK_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "base/error.h"
#include "base/quantity.h"

/* |value - expected| <= tolerance; NaN fails; says all three. */
#define assert_near(value, expected, tolerance) check_near((value), (expected), (tolerance), #value, __FILE__, __LINE__)
/* The truth lies within k times the reported u, and u is positive, finite and not absurdly large (below `u_most`). */
#define assert_covers(quantity, truth, k, u_most)                                                                      \
    check_covers((quantity), (truth), (k), (u_most), #quantity, __FILE__, __LINE__)
#define assert_ok(call, err) check_ok((call), (err), #call, __FILE__, __LINE__)
/* The call fails with this status and its sentence contains `words`. */
#define assert_fails(call, expected_status, err, words)                                                                \
    check_fails((call), (expected_status), (err), (words), #call, __FILE__, __LINE__)
#define assert_contains(text, words) check_contains((text), (words), __FILE__, __LINE__)

void check_near(double value, double expected, double tolerance, const char *what, const char *file, int line);
void check_covers(cw_quantity q, double truth, double k, double u_most, const char *what, const char *file, int line);
void check_ok(cw_status status, const cw_error *err, const char *what, const char *file, int line);
void check_fails(cw_status status, cw_status expected, const cw_error *err, const char *words, const char *what,
                 const char *file, int line);
void check_contains(const char *text, const char *words, const char *file, int line);

/* A file of the source tree: check_path("tests/data/norris.dat"). A static buffer per call is avoided: caller's. */
void check_path(const char *relative, char *out, size_t size);
/* A new empty folder for this test under the build folder; removed by the next `meson test` only when the test does. */
void check_folder(const char *name, char *out, size_t size);

/* A small reproducible random source (splitmix64): the seed is in the test. */
typedef struct {
    uint64_t state;
} check_random;
double check_uniform(check_random *random);  /* [0, 1) */
double check_gaussian(check_random *random); /* mean 0, sd 1 */

int check_main(const char *name, const struct CMUnitTest *tests, size_t count);

#define CHECK_MAIN(...)                                                                                                \
    int main(void)                                                                                                     \
    {                                                                                                                  \
        const struct CMUnitTest check_tests_[] = {__VA_ARGS__};                                                        \
        return check_main(__FILE__, check_tests_, sizeof check_tests_ / sizeof check_tests_[0]);                       \
    }

#endif
