/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "notebook/level_text.h"

#include <math.h>
#include <string.h>

#include "base/unit.h"

cw_status cw_level_figures(const char *value, const char *u, const char *unit, cw_level *level, cw_error *err)
{
    static const char *const units[] = {"EV", "cd/m2", "lx"};
    bool known = false;
    for (size_t i = 0; i < CW_COUNT(units); i++)
        known = known || strcmp(units[i], unit) == 0;
    if (!known)
        return cw_fail(err, CW_INPUT, "\"%.20s\" is no unit of light; EV, cd/m2 or lx", unit);
    level->unit = unit;
    level->u_value = NAN;
    if (cw_parse_measure(value, CW_PLAIN, NULL, &level->value, err) != CW_OK) {
        cw_context(err, "level");
        return err->status;
    }
    if (u != NULL && u[0] != '\0' && cw_parse_measure(u, CW_PLAIN, NULL, &level->u_value, err) != CW_OK) {
        cw_context(err, "give or take");
        return err->status;
    }
    if (strcmp(unit, "EV") == 0 && !(level->value > 0 && level->value <= 25))
        return cw_fail(err, CW_INPUT, "a level of %g EV; lamps on a bench are between 0 and 25 EV", level->value);
    return CW_OK;
}

json_t *cw_level_list_json(const cw_level_list *levels)
{
    json_t *rows = json_array();
    for (size_t i = 0; i < levels->count; i++) {
        const cw_level *level = &levels->items[i];
        json_array_append_new(
            rows, json_pack("{s:I,s:s,s:f,s:o,s:s,s:s,s:s}", "id", (json_int_t)level->id, "name", level->name, "value",
                            level->value, "u", isfinite(level->u_value) ? json_real(level->u_value) : json_null(),
                            "unit", level->unit, "source", level->source, "measured_on", level->measured_on));
    }
    return json_pack("{s:s,s:o}", "format", "camerawright.levels/1", "levels", rows);
}
