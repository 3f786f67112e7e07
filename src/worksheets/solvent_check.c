/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a solvent harms. */
#include <string.h>

#include "worksheets/fields.h"
#include "workshop/chemistry.h"

static const cw_choice solvent_choices[] = {{"any", "All of them"},
                                            {"water", "Water with a drop of washing-up liquid"},
                                            {"isopropyl", "Isopropyl alcohol"},
                                            {"ethanol", "Ethanol or methylated spirit"},
                                            {"naphtha", "Light naphtha (lighter fuel)"},
                                            {"white-spirit", "White spirit"},
                                            {"acetone", "Acetone"},
                                            {"ammonia", "Ammonia, weak"},
                                            {"vinegar", "Vinegar or citric acid"},
                                            {"peroxide", "Hydrogen peroxide, 3 to 6 %"},
                                            {NULL, NULL}};
static const cw_choice surface_choices[] = {{"any", "All of them"},
                                            {"bare-metal", "Bare brass, steel, aluminium"},
                                            {"anodised", "Anodised or chromed metal"},
                                            {"lacquer", "Lacquer, filled engravings"},
                                            {"baked-enamel", "Baked enamel, crackle finish"},
                                            {"coating-soft", "Early single-layer coating"},
                                            {"coating-hard", "Hard modern coating"},
                                            {"glass", "Uncoated glass"},
                                            {"mirror", "Front-silvered or aluminised mirror"},
                                            {"balsam", "Balsam-cemented glass"},
                                            {"synthetic-cement", "Synthetic-cemented glass"},
                                            {"screen", "Plastic focusing screen"},
                                            {"abs", "ABS, polystyrene"},
                                            {"polycarbonate", "Polycarbonate"},
                                            {"acrylic", "Acrylic windows"},
                                            {"acetal", "Acetal, nylon gears"},
                                            {"bakelite", "Bakelite"},
                                            {"celluloid", "Celluloid"},
                                            {"leatherette", "Leatherette, vinyl covering"},
                                            {"leather", "Leather"},
                                            {"shellac", "Shellac, as an old glue"},
                                            {"curtain", "Rubberised shutter cloth"},
                                            {"rubber", "Natural rubber"},
                                            {"foam", "Foam seals"},
                                            {"cell-resistor", "Photoresistor or selenium cell"},
                                            {NULL, NULL}};

static const cw_field inputs[] = {
    CW_PICK("solvent", "Solvent", solvent_choices, "any", ""),
    CW_PICK("surface", "On", surface_choices, "any", "what it is meant to clean, and what lies near"),
};

static const cw_field pair_columns[] = {
    CW_SAY("solvent", "Solvent", ""),
    CW_SAY("surface", "On", ""),
    CW_SAY("harm", "Does it harm?", ""),
};

static const cw_field outputs[] = {
    CW_TABLE("pairs", "What it does", pair_columns, "try a hidden spot first, always"),
    CW_JUDGE("safe", "Safe?", "for one solvent on one surface"),
};

static const char *harm_words(cw_harm harm)
{
    switch (harm) {
    case CW_HARM_NONE:
        return "no harm known";
    case CW_HARM_CARE:
        return "with care: little, briefly, a hidden spot first";
    case CW_HARM_HARMS:
        return "harms it";
    case CW_HARM_UNKNOWN:
        break;
    }
    return "not known";
}

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    (void)err;
    const char *solvent = cw_in_text(in, "solvent"), *surface = cw_in_text(in, "surface");
    bool any_solvent = strcmp(solvent, "any") == 0, any_surface = strcmp(surface, "any") == 0;
    for (size_t f = 0; f < cw_surface_count(); f++)
        for (size_t s = 0; s < cw_solvent_count(); s++) {
            if ((!any_solvent && strcmp(cw_solvent_key(s), solvent) != 0) ||
                (!any_surface && strcmp(cw_surface_key(f), surface) != 0))
                continue;
            size_t row = cw_out_row(out, "pairs");
            cw_out_cell_text(out, "pairs", row, "solvent", "%s", cw_solvent_label(s));
            cw_out_cell_text(out, "pairs", row, "surface", "%s", cw_surface_label(f));
            cw_out_cell_text(out, "pairs", row, "harm", "%s",
                             harm_words(cw_solvent_harm(cw_solvent_key(s), cw_surface_key(f))));
        }
    if (any_solvent || any_surface) {
        cw_out_verdict(out, "safe", CW_VERDICT_UNKNOWN, "choose one solvent and one surface");
        return CW_OK;
    }
    cw_harm harm = cw_solvent_harm(solvent, surface);
    cw_out_verdict(out, "safe",
                   harm == CW_HARM_NONE   ? CW_VERDICT_INSIDE
                   : harm == CW_HARM_CARE ? CW_VERDICT_TOO_CLOSE
                                          : CW_VERDICT_OUTSIDE,
                   "%s", harm_words(harm));
    return CW_OK;
}

static const char *const cautions[] = {"solvent", "fire", "mixing", NULL};
static const char *const sources[] = {"common practice and general resistance charts, from memory; the safety data "
                                      "sheet of what is in the bottle decides",
                                      NULL};
static const char *const example[] = {"solvent", "acetone", "surface", "abs", NULL};

extern const cw_worksheet cw_sheet_solvent_check;
const cw_worksheet cw_sheet_solvent_check = {
    .name = "solvent-check",
    .title = "What does this solvent harm?",
    .group = "Chemistry",
    .purpose = "Before a solvent goes near a plastic, a paint, a cement or a coating: what it does to it.",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .cautions = cautions,
    .sources = sources,
    .compute = compute,
    .example = example,
};
