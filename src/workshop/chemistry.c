/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "workshop/chemistry.h"

#include <math.h>
#include <string.h>

#include "base/range.h"

#define CELSIUS 273.15

double cw_ethanol_flash_point_k(double by_volume)
{
    static const double rows[][2] = {{0.20, 36}, {0.50, 24}, {0.70, 21}, {0.80, 20}, {0.96, 17}, {1.00, 12.8}};
    for (size_t i = 1; i < CW_COUNT(rows); i++)
        if (by_volume >= rows[i - 1][0] && by_volume <= rows[i][0]) {
            double share = (by_volume - rows[i - 1][0]) / (rows[i][0] - rows[i - 1][0]);
            return CELSIUS + rows[i - 1][1] + share * (rows[i][1] - rows[i - 1][1]);
        }
    return NAN;
}

static const char *const solvent_keys[] = {"water",   "isopropyl", "ethanol", "naphtha", "white-spirit",
                                           "acetone", "ammonia",   "vinegar", "peroxide"};
static const char *const solvents[] = {"water with a drop of washing-up liquid",
                                       "isopropyl alcohol",
                                       "ethanol or methylated spirit",
                                       "light naphtha (lighter fuel)",
                                       "white spirit",
                                       "acetone",
                                       "ammonia, weak",
                                       "vinegar or citric acid",
                                       "hydrogen peroxide, 3 to 6 %"};

/* N none, C care (short touch, try a hidden spot), H harms; columns in the order of the solvents above. */
static const struct {
    const char *key, *label, *harm;
} surfaces[] = {
    {"bare-metal", "Bare brass, steel, aluminium", "CNNNNNCCC"},
    {"anodised", "Anodised or chromed metal", "NNNNNNCCN"},
    {"lacquer", "Cellulose or spirit lacquer, filled engravings", "NHHCCHCNN"},
    {"baked-enamel", "Baked enamel, crackle finish", "NCCNNHNNN"},
    {"coating-soft", "Early single-layer coating", "CCCCCCHHC"},
    {"coating-hard", "Hard modern coating", "NNNNNNCCN"},
    {"glass", "Uncoated glass", "NNNNNNNNN"},
    {"mirror", "Front-silvered or aluminised mirror", "HHHCHHHHH"},
    {"balsam", "Balsam-cemented glass, at the edge", "CHHHHHCCC"},
    {"synthetic-cement", "Synthetic-cemented glass, at the edge", "NCCCCHCCC"},
    {"screen", "Plastic focusing screen", "CHHHHHHHH"},
    {"abs", "ABS, polystyrene", "NCCCHHNNN"},
    {"polycarbonate", "Polycarbonate", "NNCCCHHNN"},
    {"acrylic", "Acrylic windows", "NCHNCHNNN"},
    {"acetal", "Acetal, nylon gears", "NNNNNCNCC"},
    {"bakelite", "Bakelite", "CCCNNHCCC"},
    {"celluloid", "Celluloid", "NCHCCHCNN"},
    {"leatherette", "Leatherette, vinyl covering", "NCCCCHNNN"},
    {"leather", "Leather", "CCCCCHCCH"},
    {"shellac", "Shellac, as an old glue", "CHHNNHHNN"},
    {"curtain", "Rubberised shutter cloth", "CCCHHHCCC"},
    {"rubber", "Natural rubber", "NNNHHCNCC"},
    {"foam", "Foam seals", "CCCCCHCCC"},
    {"cell-resistor", "Photoresistor or selenium cell", "HCCCCHHHH"},
};

size_t cw_solvent_count(void)
{
    return CW_COUNT(solvents);
}

size_t cw_surface_count(void)
{
    return CW_COUNT(surfaces);
}

const char *cw_solvent_key(size_t index)
{
    return index < CW_COUNT(solvent_keys) ? solvent_keys[index] : "";
}

const char *cw_solvent_label(size_t index)
{
    return index < CW_COUNT(solvents) ? solvents[index] : "";
}

const char *cw_surface_key(size_t index)
{
    return index < CW_COUNT(surfaces) ? surfaces[index].key : "";
}

const char *cw_surface_label(size_t index)
{
    return index < CW_COUNT(surfaces) ? surfaces[index].label : "";
}

cw_harm cw_solvent_harm(const char *solvent, const char *surface)
{
    size_t column = 0, row = 0;
    while (column < CW_COUNT(solvent_keys) && strcmp(solvent_keys[column], solvent) != 0)
        column++;
    while (row < CW_COUNT(surfaces) && strcmp(surfaces[row].key, surface) != 0)
        row++;
    if (column == CW_COUNT(solvent_keys) || row == CW_COUNT(surfaces))
        return CW_HARM_UNKNOWN;
    switch (surfaces[row].harm[column]) {
    case 'N':
        return CW_HARM_NONE;
    case 'C':
        return CW_HARM_CARE;
    case 'H':
        return CW_HARM_HARMS;
    default:
        return CW_HARM_UNKNOWN;
    }
}

static const cw_lubricant lubricants[] = {
    {"leaf-blades", "Leaf shutter blades, aperture blades", "nothing",
     "Clean and dry. Oil sticks the blades together and slows or stops them; a trace of dry graphite only where the "
     "maker used it.",
     true},
    {"curtain", "Curtains and their guides", "nothing", "Clean and dry; oil rots the cloth and marks the film.", true},
    {"gear-fast", "Gear train and escapement of slow speeds", "light clock oil on the pivots only",
     "As much as the tip of a pin carries; teeth stay dry. Lift off what spreads.", false},
    {"pallet", "Pallet and star wheel", "nothing, or a trace of clock oil on the pivots",
     "The faces that strike stay dry.", true},
    {"drum-pivot", "Curtain drum and roller pivots", "light clock oil", "One pin tip on each pivot.", false},
    {"spring", "Springs and latches that slide", "thin grease",
     "A film that cannot be seen as a bead, only on the faces that rub.", false},
    {"helicoid", "Focusing helicoid", "helicoid grease, damping to taste",
     "A thin film worked in with a brush on clean threads; wipe off what the turning pushes out, away from the glass.",
     false},
    {"lever-shaft", "Winding lever shaft, ratchets", "medium grease",
     "On the bearing faces; keep it from the friction clutch.", false},
    {"clutch", "Friction clutch of the film spool", "nothing, or what was there",
     "Grease makes it slip; film then overlaps.", true},
    {"rangefinder", "Rangefinder pivots", "light clock oil", "A pin tip; none near mirrors and glass.", false},
    {"aperture-ring", "Aperture and speed rings, click stops", "medium grease",
     "A film under the ball or spring; none inside the barrel.", false},
    {"selftimer", "Self-timer train", "light clock oil on the pivots", "As for slow speeds.", false},
    {"magnet", "Electromagnet faces", "nothing", "A speck of oil holds the armature; clean with alcohol on paper.",
     true},
    {"contacts", "Electrical contacts", "nothing", "Clean; a protecting contact lubricant only where two faces wipe.",
     true},
    {"optics", "Anything near glass", "nothing", "Oil creeps and fogs; keep grease thick and far away.", true},
};

const cw_lubricant *cw_lubricants(size_t *count)
{
    *count = CW_COUNT(lubricants);
    return lubricants;
}

const cw_lubricant *cw_lubricant_find(const char *key)
{
    for (size_t i = 0; i < CW_COUNT(lubricants); i++)
        if (strcmp(lubricants[i].key, key) == 0)
            return &lubricants[i];
    return NULL;
}

static const cw_leak leaks[] = {
    {"alkaline", "Alkaline cell", "potassium hydroxide and its carbonate, white crust",
     "Gloves and glasses on. Lift the dry crust off with a wooden stick into a bag.",
     "Dab with white vinegar or citric acid on a cotton bud until it no longer fizzes; keep it out of the works.",
     "Wipe with distilled water, then isopropyl alcohol, and dry in warm air; polish contacts with a glass-fibre pen.",
     "Do not blow at the crust, and do not flood the battery chamber."},
    {"silver", "Silver oxide cell", "potassium hydroxide, little of it", "Gloves and glasses on. Lift off what is dry.",
     "Dab with white vinegar or citric acid, sparingly.", "Wipe with distilled water, then isopropyl alcohol; dry.",
     "Do not scrape plated contacts bare."},
    {"mercury", "Mercury cell", "potassium hydroxide, and inside mercury and its oxide",
     "Gloves and glasses on, window open. Bag the cell closed at once and hand it in as hazardous waste.",
     "Dab the crust with white vinegar or citric acid, then distilled water.",
     "Bag the swabs and gloves with it. Silver beads, or a cell that has burst: leave the room, and ask your local "
     "authority.",
     "Never heat, open, crush or bin it; never use a vacuum cleaner."},
    {"zinc-carbon", "Zinc-carbon cell", "zinc chloride or ammonium chloride, acid and salty",
     "Gloves on. Lift off what is dry.", "Dab with a paste of baking soda and water until it no longer fizzes.",
     "Wipe with distilled water, then isopropyl alcohol; dry.", "No vinegar here: the salts are already acid."},
    {"nicd", "Nickel-cadmium cell", "potassium hydroxide, and cadmium inside",
     "Gloves and glasses on. Bag the cell; hand it in as hazardous waste.", "Dab with white vinegar or citric acid.",
     "Wipe with distilled water, then isopropyl alcohol; bag the swabs.",
     "Never open or burn it: cadmium is poisonous."},
    {"lithium", "Lithium cell", "an organic solvent that smells sweet, and salts",
     "Air the room, gloves on; take the cell out and lay it apart on stone, away from anything that burns.",
     "Wipe with isopropyl alcohol on paper.", "Dry; hand the cell in with its ends taped.",
     "No water on an opened cell; never charge, short or heat it."},
};

const cw_leak *cw_leaks(size_t *count)
{
    *count = CW_COUNT(leaks);
    return leaks;
}

const cw_leak *cw_leak_find(const char *key)
{
    for (size_t i = 0; i < CW_COUNT(leaks); i++)
        if (strcmp(leaks[i].key, key) == 0)
            return &leaks[i];
    return NULL;
}
