/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <inttypes.h>
#include <jansson.h>
#include <math.h>
#include <string.h>

#include "notebook/rack.h"
#include "notebook/tables.h"

#define PLACE(field) offsetof(cw_tool, field)
static const store_column tool_columns[] = {
    {"id", "number", PLACE(id), STORE_INT, 0, NULL, 0},
    {"revision", "revision", PLACE(revision), STORE_INT, 0, NULL, 0},
    {"name", "the name", PLACE(name), STORE_LINE, STORE_BOTH | STORE_REQUIRED, NULL, 0},
    {"kind", "the kind of tool", PLACE(kind), STORE_LINE, STORE_BOTH, NULL, 0},
    {"made", "made or bought", PLACE(made), STORE_BOOL, STORE_BOTH, NULL, 0},
    {"sizes_json", "the sizes", PLACE(sizes_json), STORE_JSON, STORE_BOTH, NULL, 0},
    {"made_for_job_id", "the job it was made for", PLACE(made_for_job_id), STORE_REF, STORE_BOTH, NULL, 0},
    {"place", "where it hangs", PLACE(place), STORE_LINE, STORE_BOTH, NULL, 0},
    {"notes", "the notes", PLACE(notes), STORE_NOTE, STORE_BOTH, NULL, 0},
    {"created_at", "instant", PLACE(created_at), STORE_INSTANT, STORE_ADD, NULL, 0},
    {"inputs_json", "the inputs", PLACE(inputs_json), STORE_JSON, STORE_BOTH | STORE_HEAVY, NULL, 0},
    {"drawing_svg", "the drawing", PLACE(drawing_svg), STORE_BIG, STORE_BOTH | STORE_HEAVY, NULL, 0},
};
const store_table tool_table = {"tool",          "tool",    tool_columns,    CW_COUNT(tool_columns),
                                sizeof(cw_tool), PLACE(id), PLACE(revision), PLACE(held)};

/* Sizes are numbers by name, or the query by sizes would pass over them in silence. */
static cw_status check_sizes(const char *text, cw_error *err)
{
    if (text == NULL || text[0] == '\0')
        return CW_OK;
    json_error_t why;
    json_t *sizes = json_loads(text, 0, &why), *value;
    const char *key;
    cw_status status = CW_OK;
    if (!json_is_object(sizes))
        status = cw_fail(err, CW_INPUT, "the sizes are not a JSON object of numbers in mm, like {\"span\":23.4}");
    else
        json_object_foreach(sizes, key, value) if (status == CW_OK && !json_is_number(value)) status =
            cw_fail(err, CW_INPUT, "the size \"%.60s\" is not a number of mm", key);
    json_decref(sizes);
    return status;
}

static cw_status add_tool(cw_bench *bench, const cw_tool *tool, int64_t *id, cw_error *err)
{
    char now[32];
    store_now(now);
    cw_tool row = *tool;
    row.created_at = now;
    CW_TRY(check_sizes(tool->sizes_json, err));
    return store_add(bench, &tool_table, &row, id, err);
}

cw_status cw_tool_add(cw_bench *bench, const cw_tool *tool, int64_t *id, cw_error *err)
{
    int64_t made = 0;
    CW_TRY(store_enter(bench, 0, err, "tool \"%s\" hung up", tool->name == NULL ? "" : tool->name));
    CW_TRY(store_leave(bench, 0, add_tool(bench, tool, &made, err), err));
    *id = made;
    return CW_OK;
}

cw_status cw_tool_get(cw_bench *bench, int64_t id, cw_tool *tool, cw_error *err)
{
    return store_get(bench, &tool_table, id, tool, err);
}

cw_status cw_tool_update(cw_bench *bench, const cw_tool *tool, cw_error *err)
{
    CW_TRY(check_sizes(tool->sizes_json, err));
    CW_TRY(store_enter(bench, 0, err, "tool \"%s\" edited", tool->name == NULL ? "" : tool->name));
    return store_leave(bench, 0, store_update(bench, &tool_table, tool, err), err);
}

cw_status cw_tool_delete(cw_bench *bench, int64_t id, cw_error *err)
{
    cw_tool tool;
    CW_TRY(cw_tool_get(bench, id, &tool, err));
    cw_status status = store_enter(bench, 0, err, "tool \"%s\" taken off the rack", tool.name);
    cw_tool_free(&tool);
    CW_TRY(status);
    return store_leave(bench, 0, store_delete(bench, &tool_table, id, err), err);
}

void cw_tool_free(cw_tool *tool)
{
    if (tool == NULL)
        return;
    store_release(&tool->held);
    *tool = (cw_tool){0};
}

enum { RANGES_MOST = 12 };

/* Parameters: ?1 kind, ?2 most, ?3 first, then key, least, most of each range. */
static cw_status tool_condition(const char *kind, const cw_size_range *ranges, size_t count, cw_buf *sql,
                                store_value *values, cw_error *err)
{
    if (count > RANGES_MOST)
        return cw_fail(err, CW_INPUT, "%zu sizes asked for at once; %d are the most", count, RANGES_MOST);
    values[0] = store_text(kind);
    cw_buf_text(sql, "WHERE (?1 = '' OR kind = ?1) AND ?2 = ?2 AND ?3 = ?3");
    for (size_t i = 0; i < count; i++) {
        if (!(ranges[i].least_mm <= ranges[i].most_mm))
            return cw_fail(err, CW_INPUT, "the size \"%.60s\" from %g mm to %g mm is no range", ranges[i].key,
                           ranges[i].least_mm, ranges[i].most_mm);
        values[3 + 3 * i] = store_text(ranges[i].key);
        values[4 + 3 * i] = store_real(ranges[i].least_mm);
        values[5 + 3 * i] = store_real(ranges[i].most_mm);
        cw_buf_printf(
            sql,
            " AND EXISTS(SELECT 1 FROM json_each(nullif(sizes_json, '')) AS size WHERE size.key = ?%zu AND size.value "
            "BETWEEN ?%zu AND ?%zu)",
            4 + 3 * i, 5 + 3 * i, 6 + 3 * i);
    }
    return cw_buf_check(sql, "a filter", err);
}

static cw_status list_tools(cw_bench *bench, cw_buf *where, const store_value *values, size_t count, cw_tool_list *list,
                            cw_error *err)
{
    cw_buf total_sql = cw_buf_new(8000);
    int64_t total = 0;
    store_rows rows;
    cw_buf_printf(&total_sql, "SELECT count(*) FROM tool %s", where->text);
    cw_status status = cw_buf_check(&total_sql, "a filter", err);
    if (status == CW_OK)
        status = store_number(bench, total_sql.text, values, count, &total, err);
    cw_buf_free(&total_sql);
    CW_TRY(status);
    cw_buf_text(where, " ORDER BY name, id LIMIT ?2 OFFSET ?3");
    CW_TRY(cw_buf_check(where, "a filter", err));
    CW_TRY(store_list(bench, &tool_table, where->text, values, count, &rows, err));
    *list = (cw_tool_list){rows.count, rows.items, total, rows.held};
    return CW_OK;
}

cw_status cw_tool_page(cw_bench *bench, const char *kind, const cw_size_range *ranges, size_t range_count,
                       int64_t first, int64_t most, cw_tool_list *list, cw_error *err)
{
    store_value values[3 + 3 * RANGES_MOST] = {store_text(""), store_int(most), store_int(first)};
    cw_buf where = cw_buf_new(8000);
    CW_TRY(store_paging(first, most, 500, err));
    cw_status status = tool_condition(kind, ranges, range_count, &where, values, err);
    if (status == CW_OK)
        status = list_tools(bench, &where, values, 3 + 3 * range_count, list, err);
    cw_buf_free(&where);
    return status;
}

void cw_tool_list_free(cw_tool_list *list)
{
    if (list == NULL)
        return;
    store_release(&list->held);
    *list = (cw_tool_list){0};
}
