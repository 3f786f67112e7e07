/* SPDX-License-Identifier: GPL-3.0-or-later */
/* "Have I something for a 23.4 mm ring with 1.2 mm slots?" over a list of tools. */
#include <math.h>
#include <string.h>

#include "worksheets/fields.h"
#include "workshop/rack.h"

static const cw_choice kinds[] = {{"two-blade", "Two-blade wrench"},
                                  {"two-pin", "Two-pin driver"},
                                  {"adjustable", "Adjustable wrench"},
                                  {"collar", "Split collar"},
                                  {"rubber", "Friction ring"},
                                  {"clamp", "Clamp block"},
                                  {NULL, NULL}};

enum { TOOLS_MOST = 200 };

static const cw_field tool_columns[] = {
    {.key = "name",
     .label = "Tool",
     .kind = CW_KIND_TEXT,
     .required = true,
     .help = "as it is called, or where it hangs"},
    CW_PICK("kind", "Kind", kinds, "two-blade", ""),
    CW_NEED("span", "Span", CW_LENGTH, "mm", 0, 0.5, "between tips; smallest diameter of a gripping tool"),
    CW_MAYBE("span-most", "to", CW_LENGTH, "mm", 0, 0.5, "largest, of adjustable and gripping tools"),
    CW_MAYBE("tip", "Tip", CW_LENGTH, "mm", 0.05e-3, 20e-3, "thickness, or pin diameter"),
    CW_MAYBE("tip-width", "Tip width", CW_LENGTH, "mm", 0.1e-3, 50e-3, ""),
    CW_MAYBE("reach", "Reach", CW_LENGTH, "mm", 0, 0.2, ""),
    CW_MAYBE("clears", "Clears", CW_LENGTH, "mm", 0, 0.5, "diameter that passes between the tips"),
};

static const cw_field inputs[] = {
    CW_PICK("kind", "Looked for", kinds, "two-blade", "two-blade and adjustable wrenches answer for each other"),
    CW_NEED("span", "Span", CW_LENGTH, "mm", 0.5e-3, 0.5, "between slots or holes; or the diameter to grip"),
    CW_MAYBE("slot", "Slot width or hole", CW_LENGTH, "mm", 0.1e-3, 20e-3, ""),
    CW_MAYBE("slot-length", "Slot length", CW_LENGTH, "mm", 0.1e-3, 50e-3, "radially"),
    CW_MAYBE("reach", "Depth to reach", CW_LENGTH, "mm", 0, 0.2, ""),
    CW_MAYBE("barrel", "Diameter to clear", CW_LENGTH, "mm", 0, 0.5, "of what stands inside the ring"),
    {.key = "tools",
     .label = "Tools",
     .kind = CW_KIND_ROWS,
     .columns = tool_columns,
     .column_count = CW_COUNT(tool_columns),
     .rows_most = TOOLS_MOST,
     .required = true,
     .help = "one a row: name, kind, span, to, tip, tip width, reach, clears"},
};

static const cw_field match_columns[] = {
    CW_SAY("name", "Tool", ""),
    CW_SAY("state", "Use", ""),
    CW_SAY("words", "What would have to be done", ""),
};

static const cw_field outputs[] = {
    CW_JUDGE("have", "Have I something?", ""),
    CW_TABLE("matches", "The rack, best first", match_columns, "what fits, then what would fit by the least filing"),
};

static cw_rack_kind find_kind(const char *key)
{
    cw_rack_kind kind = CW_RACK_TWO_BLADE;
    cw_rack_kind_find(key, &kind); /* one of the choices above, so it is known */
    return kind;
}

static cw_rack_tool read_tool(const cw_sheet_in *in, size_t row)
{
    return (cw_rack_tool){
        find_kind(cw_in_cell_text(in, "tools", row, "kind")), cw_in_cell_number(in, "tools", row, "span"),
        cw_in_cell_number(in, "tools", row, "span-most"),     cw_in_cell_number(in, "tools", row, "tip"),
        cw_in_cell_number(in, "tools", row, "tip-width"),     cw_in_cell_number(in, "tools", row, "reach"),
        cw_in_cell_number(in, "tools", row, "clears")};
}

static void say_have(const cw_sheet_in *in, cw_sheet_out *out, const cw_rack_match *matches, size_t count)
{
    if (count == 0) {
        cw_out_verdict(out, "have", CW_VERDICT_OUTSIDE, "the rack is empty");
        return;
    }
    const char *name = cw_in_cell_text(in, "tools", matches[0].index, "name");
    static const cw_verdict verdicts[] = {CW_VERDICT_INSIDE, CW_VERDICT_TOO_CLOSE, CW_VERDICT_TOO_CLOSE,
                                          CW_VERDICT_OUTSIDE};
    cw_out_verdict(out, "have", verdicts[matches[0].state],
                   matches[0].state == CW_RACK_CANNOT ? "nothing; nearest is %s: %s" : "%s: %s", name,
                   matches[0].words);
}

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    static const char *const states[] = {"fits", "file it", "loose", "cannot"};
    cw_rack_tool tools[TOOLS_MOST];
    cw_rack_match matches[TOOLS_MOST];
    size_t count = cw_in_rows(in, "tools");
    if (count > TOOLS_MOST)
        return cw_fail(err, CW_RANGE, "%zu tools; %d can be compared", count, TOOLS_MOST);
    for (size_t i = 0; i < count; i++)
        tools[i] = read_tool(in, i);
    cw_rack_need need = {find_kind(cw_in_text(in, "kind")), cw_in_number(in, "span"),  cw_in_number(in, "slot"),
                         cw_in_number(in, "slot-length"),   cw_in_number(in, "reach"), cw_in_number(in, "barrel")};
    CW_TRY(cw_rack_rank(tools, count, &need, matches, err));
    say_have(in, out, matches, count);
    for (size_t i = 0; i < count; i++) {
        size_t row = cw_out_row(out, "matches");
        cw_out_cell_text(out, "matches", row, "name", "%s", cw_in_cell_text(in, "tools", matches[i].index, "name"));
        cw_out_cell_text(out, "matches", row, "state", "%s", states[matches[i].state]);
        cw_out_cell_text(out, "matches", row, "words", "%s", matches[i].words);
    }
    return CW_OK;
}

static const char *const cautions[] = {"cutting", "force", NULL};
static const char *const sources[] = {
    "how much play still grips, and how far filing can shift a tip: common practice, no source", NULL};
static const char *const example[] = {"span",
                                      "23.4mm",
                                      "slot",
                                      "1.2mm",
                                      "reach",
                                      "4mm",
                                      "tools",
                                      "old ruler,two-blade,23.4,,1.5,2.4,6;brass "
                                      "handle,adjustable,12,45,0.6,1.7,9;gauge plate,two-blade,23.35,,1.14,2.2,7",
                                      NULL};

extern const cw_worksheet cw_sheet_find_tool;
const cw_worksheet cw_sheet_find_tool = {
    .name = "find-tool",
    .title = "Have I something for this ring?",
    .group = "Tools",
    .purpose = "Before a new wrench is made: which of the tools to hand fits, and which would fit by the least filing?",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .cautions = cautions,
    .sources = sources,
    .compute = compute,
    .example = example,
};
