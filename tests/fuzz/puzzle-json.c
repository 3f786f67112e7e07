/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A lens puzzle of any bytes: a sentence, or an answer whose probabilities add up. */
#include <math.h>
#include <stdint.h>
#include <stdlib.h>

#include "optics/order.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    cw_puzzle puzzle;
    cw_order *order;
    cw_order_prior prior = cw_order_prior_default();
    cw_error err = {0};
    if (cw_puzzle_from_json((const char *)data, size, &puzzle, &err) != CW_OK ||
        cw_order_rank(&puzzle, &prior, false, &order, &err) != CW_OK) {
        if (err.text[0] == '\0')
            abort();
        return 0;
    }
    double sum = order->none_probability + order->other_probability;
    for (size_t i = 0; i < order->count; i++)
        sum += order->candidate[i].probability;
    json_t *json = cw_order_json(&puzzle, order);
    if (json == NULL || !(fabs(sum - 1) < 1e-6))
        abort();
    json_decref(json);
    cw_order_free(order);
    return 0;
}
