/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shutter/measure_parts.h"

cw_status cw_measure_edges(cw_measuring *m, cw_measurement *out, cw_error *err)
{
    (void)m;
    (void)out;
    return cw_fail(err, CW_RANGE, "edges");
}
