/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/select.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "support/check.h"

enum { MOST = 300 };

/* Few different values, or many; the same in every run (Knuth's linear congruential generator MMIX, from memory). */
static double next_value(uint64_t *seed, unsigned different)
{
    *seed = *seed * 6364136223846793005u + 1442695040888963407u;
    return (double)((*seed >> 33) % different) - 7.25;
}

static int by_value(const void *a, const void *b)
{
    const cw_weighted *x = a, *y = b;
    return (x->value > y->value) - (x->value < y->value);
}

/* Against the C library's sort. */
static void every_place_holds_what_sorting_puts_there(void **state)
{
    (void)state;
    uint64_t seed = 11;
    for (size_t n = 1; n < MOST; n = n * 3 / 2 + 1)
        for (unsigned different = 1; different <= 1000000; different *= 10) {
            cw_weighted sorted[MOST] = {{0}};
            double values[MOST], used[MOST], room[MOST];
            for (size_t i = 0; i < n; i++)
                sorted[i] = (cw_weighted){values[i] = next_value(&seed, different), 1};
            qsort(sorted, n, sizeof *sorted, by_value);
            for (size_t rank = 0; rank < n; rank++) {
                memcpy(used, values, sizeof used);
                assert_true(cw_select(n, used, rank, room) == sorted[rank].value);
            }
        }
}

static void half_of_the_weight_lies_up_to_the_weighted_median(void **state)
{
    (void)state;
    uint64_t seed = 12;
    for (size_t n = 1; n < MOST; n = n * 3 / 2 + 1)
        for (unsigned different = 1; different <= 1000000; different *= 10) {
            cw_weighted items[MOST] = {{0}}, sorted[MOST], room[MOST];
            double all = 0, sum = 0;
            for (size_t i = 0; i < n; i++) { /* weights that add up without rounding, a third of them 0 */
                items[i] = (cw_weighted){next_value(&seed, different), i % 3 == 0 ? 0 : (double)(i % 8)};
                all += items[i].weight;
            }
            memcpy(sorted, items, sizeof sorted);
            qsort(sorted, n, sizeof *sorted, by_value);
            double expected = sorted[0].value;
            for (size_t i = 0; i < n && sum < all / 2; i++) {
                sum += sorted[i].weight;
                expected = sorted[i].value;
            }
            assert_true(cw_weighted_median(n, items, room) == expected);
        }
}

CHECK_MAIN(cmocka_unit_test(every_place_holds_what_sorting_puts_there),
           cmocka_unit_test(half_of_the_weight_lies_up_to_the_weighted_median))
