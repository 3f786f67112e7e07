/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Each round guesses, and keeps the values on the side of the guess where the wanted one is. Values go to both sides
 * and only one of them counts: there is no branch that the processor could take wrongly, as half of all would be. */
#include "base/select.h"

#include <math.h>

static double middle_of_three(double a, double b, double c)
{
    return fmax(fmin(a, b), fmin(fmax(a, b), c));
}

double cw_select(size_t n, double *values, size_t rank, double *room)
{
    for (;;) {
        double guess = middle_of_three(values[n / 4], values[n / 2], values[n - 1 - n / 4]);
        size_t less = 0, more = 0;
        for (size_t i = 0; i < n; i++) {
            double x = values[i];
            values[less] = room[more] = x;
            less += x < guess;
            more += x > guess;
        }
        if (rank < less) {
            n = less;
        } else if (rank < n - more) {
            return guess;
        } else {
            double *swap = values;
            values = room;
            room = swap;
            rank -= n - more;
            n = more;
        }
    }
}

double cw_weighted_median(size_t n, cw_weighted *items, cw_weighted *room)
{
    double half = 0, below = 0;
    for (size_t i = 0; i < n; i++)
        half += items[i].weight / 2;
    for (;;) {
        double guess = middle_of_three(items[n / 4].value, items[n / 2].value, items[n - 1 - n / 4].value);
        double of_less = 0, of_equal = 0;
        size_t less = 0, more = 0;
        for (size_t i = 0; i < n; i++) {
            cw_weighted x = items[i];
            items[less] = room[more] = x;
            less += x.value < guess;
            more += x.value > guess;
            of_less += x.value < guess ? x.weight : 0;
            of_equal += x.value == guess ? x.weight : 0;
        }
        if (less > 0 && below + of_less >= half) {
            n = less;
        } else if (more == 0 || below + of_less + of_equal >= half) {
            return guess;
        } else {
            cw_weighted *swap = items;
            items = room;
            room = swap;
            below += of_less + of_equal;
            n = more;
        }
    }
}
