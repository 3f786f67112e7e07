/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/propagate.h"

#include <math.h>

cw_quantity cw_propagate(size_t count, const cw_quantity *inputs, cw_model model, const void *context)
{
    cw_quantity result = {NAN, NAN};
    if (count > CW_PROPAGATE_MOST)
        return result;
    double values[CW_PROPAGATE_MOST] = {0};
    for (size_t i = 0; i < count; i++)
        values[i] = inputs[i].value;
    result.value = model(values, context);

    double squares = 0;
    for (size_t i = 0; i < count; i++) {
        if (inputs[i].u == 0)
            continue;
        values[i] = inputs[i].value + inputs[i].u;
        double raised = model(values, context);
        values[i] = inputs[i].value - inputs[i].u;
        double lowered = model(values, context);
        values[i] = inputs[i].value;
        double change = (raised - lowered) / 2;
        if (isnan(raised))
            change = result.value - lowered;
        else if (isnan(lowered))
            change = raised - result.value;
        squares += change * change;
    }
    result.u = sqrt(squares);
    return result;
}
