/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "worksheets/cautions.h"

#include <stddef.h>
#include <string.h>

static const struct {
    const char *tag, *sentence;
} cautions[] = {
    {"capacitor",
     "A flash capacitor can hold several hundred volts long after the cell is out and can kill: measure before "
     "touching, discharge through a resistor of the right power, keep it shorted, and leave it to a qualified "
     "person if you have not done this before."},
    {"laser",
     "Use a laser of class 2 or lower only, fixed in place, never looked into, not even through the finder or a "
     "mirror, with a matt stop behind the camera; labels on cheap pointers are often wrong."},
    {"solvent",
     "Solvent vapour harms and burns: work in moving air, away from flames and sparks, with gloves that stand the "
     "solvent, and follow its safety data sheet and your local rules."},
    {"mixing", "Never mix cleaners: acids or ammonia with bleach, or acetone with peroxide, give poisonous or "
               "explosive mixtures; "
               "rinse between them."},
    {"fire",
     "Solvent and penetrant catch fire well below room temperature: no flame, no hot iron, no sparks near them or "
     "near rags soaked in them."},
    {"heat",
     "Heat can craze coatings, soften cement and plastics and burn fingers: warm slowly, stay below the limit shown, "
     "and keep glass and solvents away."},
    {"spring", "A spring under tension flies: wear eye protection, hold it down, and open it inside a clear bag."},
    {"battery",
     "Leaked cells leave caustic salts: gloves and eye protection, and dispose of cells by your local rules."},
    {"mercury", "Mercury cells are hazardous waste: never open, heat or bin them; hand them in by your local rules."},
    {"dust",
     "Grinding dust of glass, brass and old paint harms the lungs: grind wet, wear a mask that fits, clean up wet."},
    {"thoriated",
     "Some old lenses hold thorium glass, often browned: do not grind, polish or break it, wash your hands, and "
     "ask your radiation authority when in doubt."},
    {"eye-strain",
     "Strong magnifiers tire the eyes: rest often, give the work good light, and see an optician about lasting "
     "trouble."},
    {"cutting",
     "Clamp the work, file and saw away from the hand, deburr every edge, and wear eye protection at any machine."},
    {"force",
     "Stop when the tool slips or flexes: a chewed slot is worse than a tight one. Penetrant, patience and warmth "
     "first."},
};

const char *cw_caution(const char *tag)
{
    for (size_t i = 0; i < sizeof cautions / sizeof cautions[0]; i++)
        if (strcmp(cautions[i].tag, tag) == 0)
            return cautions[i].sentence;
    return NULL;
}
