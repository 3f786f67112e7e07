/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/range.h"

#include <math.h>

cw_status cw_check_within(const char *what, double si, cw_dimension dimension, const char *unit, double least,
                          double most, cw_error *err)
{
    /* a hair of slack: 0.5 mm typed in inches and back must not be refused at a limit of 0.5 mm; of each limit its own,
     * so that nothing does not pass for 1e-6 where 1e6 is the most */
    if (si >= least - 1e-12 * fabs(least) && si <= most + 1e-12 * fabs(most))
        return CW_OK;
    const cw_unit *u = cw_unit_find(dimension, unit);
    const char *space = u->name[0] != '\0' ? " " : "";
    if (isnan(si))
        return cw_fail(err, CW_RANGE, "%s is not known; it is needed here, from %g%s%s to %g%s%s", what,
                       cw_to_unit(least, u), space, u->name, cw_to_unit(most, u), space, u->name);
    return cw_fail(err, CW_RANGE, "%s %.6g%s%s; %g%s%s to %g%s%s can be used", what, cw_to_unit(si, u), space, u->name,
                   cw_to_unit(least, u), space, u->name, cw_to_unit(most, u), space, u->name);
}
