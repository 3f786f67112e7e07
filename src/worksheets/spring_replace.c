/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What wire replaces a tired or lost spring. */
#include <math.h>

#include "worksheets/fields.h"
#include "workshop/spring.h"

static const cw_choice kinds[] = {{"compression", "Compression"}, {"extension", "Extension"}, {NULL, NULL}};

static const cw_field inputs[] = {
    CW_PICK("kind", "Kind", kinds, "compression", ""),
    CW_PICK("wire-of", "Wire to hand", cw_spring_wire_choices, "music", ""),
    CW_MAYBE("rate", "Rate wanted", CW_STIFFNESS, "N/mm", 0.1, 1e6, "or give two lengths and forces below"),
    CW_MAYBE("force1", "Force at one place", CW_FORCE, "N", 0, 1e4,
             "of the old spring, or of a good camera of the kind"),
    CW_MAYBE("force2", "Force at another", CW_FORCE, "N", 0, 1e4, ""),
    CW_MAYBE("travel", "Travel between them", CW_LENGTH, "mm", 0.05e-3, 0.5, ""),
    CW_NEED("load", "Largest working force", CW_FORCE, "N", 1e-3, 1e4, ""),
    CW_NEED("hole", "Must go into a hole of", CW_LENGTH, "mm", 0.5e-3, 0.1, "or may be as large as"),
    CW_USUAL("rod", "Must go over a rod of", CW_LENGTH, "mm", "0", 0, 0.1, "0 for none"),
    CW_NEED("room", "Room when closed", CW_LENGTH, "mm", 0.5e-3, 1,
            "compression: shortest space; extension: length of the body"),
};

static const cw_field choice_columns[] = {
    CW_MAY_SHOW("wire", "Wire", CW_LENGTH, "mm", 3, ""),
    CW_MAY_SHOW("mandrel", "Wound inside", CW_LENGTH, "mm", 3,
                "finished inside diameter; the mandrel is some 10 % thinner, try it"),
    CW_MAY_SHOW("outside", "Outside", CW_LENGTH, "mm", 4, ""),
    CW_MAY_SHOW("coils", "Working coils", CW_PLAIN, NULL, 3, "two more at closed ends"),
    CW_MAY_SHOW("solid", "Closed length", CW_LENGTH, "mm", 3, ""),
    CW_MAY_SHOW("reserve", "Allowed over stress", CW_PLAIN, NULL, 2, ""),
};

static const cw_field outputs[] = {
    CW_SHOW("rate-used", "Rate looked for", CW_STIFFNESS, "N/mm", 3, ""),
    CW_TABLE("choices", "Springs that would do", choice_columns, "best first: strong enough and easily wound"),
    CW_SAY("advice", "Advice", ""),
};

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    double rate = cw_in_number(in, "rate"), travel = cw_in_number(in, "travel");
    double from_pair = fabs(cw_in_number(in, "force2") - cw_in_number(in, "force1")) / travel;
    if (isnan(rate))
        rate = from_pair;
    if (isnan(rate))
        return cw_fail(err, CW_INPUT, "give the rate wanted, or two forces and the travel between them");
    cw_wire_found kind;
    CW_TRY(cw_in_wire(in, "wire-of", CW_NEEDS_TENSILE | CW_NEEDS_SHEAR, &kind, err));
    cw_spring_need need = {cw_in_is(in, "kind", "compression") ? CW_SPRING_COMPRESSION : CW_SPRING_EXTENSION,
                           rate,
                           cw_in_number(in, "load"),
                           cw_in_number(in, "hole"),
                           cw_in_number(in, "rod"),
                           cw_in_number(in, "room"),
                           &kind.wire};
    cw_spring_choice choices[6];
    size_t count;
    CW_TRY(cw_spring_replace(&need, choices, CW_COUNT(choices), &count, err));
    cw_out_number(out, "rate-used", rate);
    for (size_t i = 0; i < count; i++) {
        size_t row = cw_out_row(out, "choices");
        cw_out_cell_number(out, "choices", row, "wire", choices[i].wire_m);
        cw_out_cell_number(out, "choices", row, "mandrel", choices[i].mean_coil_m - choices[i].wire_m);
        cw_out_cell_number(out, "choices", row, "outside", choices[i].mean_coil_m + choices[i].wire_m);
        cw_out_cell_number(out, "choices", row, "coils", choices[i].active_coils);
        cw_out_cell_number(out, "choices", row, "solid", choices[i].solid_m);
        cw_out_cell_number(out, "choices", row, "reserve", choices[i].reserve);
    }
    if (need.kind == CW_SPRING_EXTENSION)
        cw_out_note(out, "The two hooks give as much as 0.4 of a coil: wind the body so much shorter.");
    if (count == 0)
        cw_out_text(out, "advice",
                    "No stock wire of this kind gives that rate in this room and stands the force. More room, a lower "
                    "rate or stronger wire would.");
    else
        cw_out_text(out, "advice",
                    "Wind the first; wind one coil more than shown and shorten it by measuring the force. A steel "
                    "spring is relieved at 200 to 230 degrees Celsius for half an hour.");
    return CW_OK;
}

static const char *const cautions[] = {"spring", "heat", NULL};
static const char *const sources[] = {"as the coil-spring sheet",
                                      "stock sizes, best index 9 and reserve 1.6: common practice, no source", NULL};
static const char *const example[] = {"rate", "0.25 N/mm", "load", "1.5N", "hole", "6mm",
                                      "rod",  "2mm",       "room", "12mm", NULL};

extern const cw_worksheet cw_sheet_spring_replace;
const cw_worksheet cw_sheet_spring_replace = {
    .name = "spring-replace",
    .title = "Wire for a replacement spring",
    .group = "Parts",
    .purpose = "The spring is tired or gone. From the rate, the force and the room it has: which stock wire, wound "
               "how, replaces it.",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .cautions = cautions,
    .sources = sources,
    .compute = compute,
    .example = example,
};
