/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What lubricant belongs at which kind of point, and where none does. */
#include <string.h>

#include "worksheets/fields.h"
#include "workshop/chemistry.h"

static const cw_choice points[] = {{"any", "All of them"},
                                   {"leaf-blades", "Leaf shutter blades, aperture blades"},
                                   {"curtain", "Curtains and their guides"},
                                   {"gear-fast", "Gear train of slow speeds"},
                                   {"pallet", "Pallet and star wheel"},
                                   {"drum-pivot", "Curtain drum and roller pivots"},
                                   {"spring", "Springs and latches that slide"},
                                   {"helicoid", "Focusing helicoid"},
                                   {"lever-shaft", "Winding lever shaft, ratchets"},
                                   {"clutch", "Friction clutch of the film spool"},
                                   {"rangefinder", "Rangefinder pivots"},
                                   {"aperture-ring", "Aperture and speed rings, click stops"},
                                   {"selftimer", "Self-timer train"},
                                   {"magnet", "Electromagnet faces"},
                                   {"contacts", "Electrical contacts"},
                                   {"optics", "Anything near glass"},
                                   {NULL, NULL}};

static const cw_field inputs[] = {
    CW_PICK("point", "Point", points, "any", ""),
};

static const cw_field point_columns[] = {
    CW_SAY("point", "Point", ""),
    CW_SAY("what", "Lubricant", ""),
    CW_SAY("how", "How little, and where", ""),
};

static const cw_field outputs[] = {
    CW_TABLE("points", "What belongs there", point_columns, ""),
};

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    (void)err;
    const char *point = cw_in_text(in, "point");
    size_t count;
    const cw_lubricant *table = cw_lubricants(&count);
    for (size_t i = 0; i < count; i++) {
        if (strcmp(point, "any") != 0 && strcmp(point, table[i].key) != 0)
            continue;
        size_t row = cw_out_row(out, "points");
        cw_out_cell_text(out, "points", row, "point", "%s", table[i].label);
        cw_out_cell_text(out, "points", row, "what", "%s", table[i].what);
        cw_out_cell_text(out, "points", row, "how", "%s", table[i].how);
    }
    cw_out_note(
        out,
        "Less than seems enough; wipe off what can be seen. The maker's service sheet, where there is one, decides.");
    return CW_OK;
}

static const char *const cautions[] = {"solvent", NULL};
static const char *const sources[] = {"common practice, no source", NULL};
static const char *const example[] = {"point", "helicoid", NULL};

extern const cw_worksheet cw_sheet_lubricant;
const cw_worksheet cw_sheet_lubricant = {
    .name = "lubricant",
    .title = "What to lubricate, with what, and where not",
    .group = "Chemistry",
    .purpose = "Oil on blades stops a shutter; a dry helicoid seizes. What kind of lubricant belongs at which kind of "
               "point, how little, and where none does.",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .cautions = cautions,
    .sources = sources,
    .compute = compute,
    .example = example,
};
