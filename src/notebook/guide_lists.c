/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The texts of the guided lists. What to look at and what a fault looks like: common practice, no source, throughout.
 * A key with a dot says which cameras the item is for (guide.c). Keys stay when words change. */
#include "notebook/guide.h"

static const char source[] = "common practice, no source";

static const cw_guide_item as_it_came[] = {
    {"outside", "Look it over from outside",
     "Dents, bent rings, chewed slots, missing screws, torn covering: what is noted now was there before you.", NULL},
    {"smell", "Smell it, and look for powder or haze",
     "A musty smell goes with fungus. Grey or white powder on metal parts is a corroding alloy.", "dust"},
    {"battery.chamber", "Open the battery chamber",
     "Green or white crust is leaked cell. Old round cells may hold mercury.", "battery"},
    {"battery.old-cell", "Take an old cell out and put it aside for the collection point",
     "Not into the bin, and not back into the camera.", "mercury"},
    {"front-glass", "Shine a lamp through the lens, both ways, shutter open on B or T",
     "Threads or stars are fungus; a grey veil is haze; a rainbow rim is a cement joint that lets go. Look along the "
     "beam from the side, never into the lamp.",
     "eye-strain"},
    {"old-glass", "Is a fast old lens brownish, seen against white paper?",
     "Some fast lenses of the middle of the last century hold slightly radioactive glass, which turns brown.",
     "thoriated"},
    {"leaf.blades", "Look at the blades of shutter and aperture",
     "A wet shine or a dark rainbow is oil: they stick, at first only when it is cold.", NULL},
    {"focal-plane.curtains", "Look at both curtains from behind, wound and not wound",
     "Cracks, pinholes, folds, a torn ribbon; a metal curtain may be dented.", NULL},
    {"reflex.mirror", "Look at the mirror and its foam bumper", "Tarry foam sticks to the mirror and holds it up.",
     NULL},
    {"seals", "Touch the seals with a toothpick",
     "Foam that crumbles or smears has to come out. Keep it off glass and curtains.", NULL},
    {"wind", "Wind it slowly, feel, and stop where it wants force",
     "A grating or a hard stop is a reason to open it before it is wound again.", "force"},
    {"speeds", "Fire every speed, fastest first, and listen",
     "Say which one sticks, hesitates, or sounds like its neighbour.", NULL},
    {"focus-ring", "Turn the focus from end to end",
     "Stiff is old grease, loose is wear, a hard spot is damage. Does it come to the infinity stop?", NULL},
    {"aperture", "Turn the aperture from end to end", "Are the blades dry, whole, and as round at each stop?", NULL},
    {"finder-glass", "Look through the finder",
     "Haze, a double image that is faint or out of height, missing frame lines.", NULL},
    {"film-inside", "Is a film in it?",
     "Turn the rewind gently: if it turns with a drag, wind the film back in the dark.", NULL},
    {"photos", "Photograph it from six sides as it came", "And the insides you can see without a tool.", NULL},
};

static const cw_guide_item light_leaks[] = {
    {"dark", "Make a room dark, and wait ten minutes in it",
     "Eyes need that long. A small lamp that stays cool and fits into the film chamber is what you look for.", "heat"},
    {"seals", "Look at the seals of the back: channels, hinge, catch",
     "Foam that is gone, tarry or flattened; a thread or felt that has come off. Old foam comes out with a wooden "
     "stick "
     "and alcohol.",
     "solvent"},
    {"hinge", "Lamp inside, back closed: look along the hinge from outside, from many angles",
     "Light shows as a line or a point. The hinge is the most frequent place.", NULL},
    {"catch", "The same along the catch side, top and bottom",
     "Press the back with a finger: does the light come and go?", NULL},
    {"window", "The frame number window or the cassette window",
     "Its felt or glass may have come loose. A red window must not be looked through with fast film in bright sun.",
     NULL},
    {"mount", "The lens mount and the screws around it", "Lamp inside, shutter open on B or T, front capped.", NULL},
    {"holes", "Screw holes, accessory shoe, tripod socket, strap lugs",
     "A screw that is missing or too short leaves a hole through the wall; one that is too long may pierce it.", NULL},
    {"leaf.blades", "Lens off or back open: look through the closed blades at a lamp",
     "Turn it to all sides. A point of light at a tip means a blade that does not close far enough, or is bent.", NULL},
    {"focal-plane.first", "Look through the first curtain at a lamp, shutter wound",
     "Pinholes shine like stars, most near folds and at the edges. A frame left in the sun before a shot shows them.",
     NULL},
    {"focal-plane.second", "The same through the second curtain, shutter fired",
     "It covers the film between the shots.", NULL},
    {"focal-plane.overlap", "Wind slowly with the lens off, lamp in front: do the curtains stay overlapped?",
     "A gap while winding fogs a stripe across each frame.", NULL},
    {"reflex.eyepiece", "Look from inside at the finder: does light from the eyepiece reach the film?",
     "A mirror that does not lie against its foam lets it in.", NULL},
    {"bellows.light", "Lamp inside the bellows, drawn out all the way: look at each corner and fold",
     "Corners first, they are bent twice. Work through the list for bellows as well.", NULL},
    {"paper", "Prove it: a strip of film or photographic paper in the gate, a minute of sun from each side",
     "Lens capped, wind nothing. A streak points to where it starts from.", NULL},
};

static const cw_guide_item bellows[] = {
    {"supple", "Open and close it slowly: is the leather or cloth supple?",
     "Stiff folds crack at the corners when they are forced. A little leather dressing from outside, wiped dry, days "
     "before it is moved, may help; not on cloth.",
     "force"},
    {"folds", "Do the folds fall as they were made, without a corner turned inwards?",
     "A corner turned inwards cuts into the picture.", NULL},
    {"corners", "In a dark room, a cool lamp inside, drawn out all the way: the outer corners, one by one",
     "Mark each pinhole from outside with chalk.", "heat"},
    {"inner-corners", "The same for the inner corners, near the standard and the body", "Look from many angles.", NULL},
    {"glue-front", "The glued edge at the lens standard", "Pull gently: does it lift?", NULL},
    {"glue-body", "The glued edge at the body", "The same.", NULL},
    {"patch", "Patch what you found: thin and supple, from inside, in thin coats",
     "Each coat dry before the bellows is folded. Black, matt, and no thicker than a fold can take.", "solvent"},
    {"again", "Look at every patch again in the dark, and once more after folding it ten times", "Patches crack first.",
     NULL},
    {"closes", "Does the camera still close, with no fold pinched in the struts or the door?",
     "A pinched fold is the next hole.", NULL},
    {"square", "Do the struts lock on both sides, and is the lens standard square to the film?",
     "Measure from the standard to the rails at four corners; the focus test will show it too.", NULL},
    {"shade", "Is the inside matt black, and does no fold reach into the light?",
     "Look from the film side through the open shutter, at the farthest and the nearest distance.", NULL},
};

static const cw_guide_item before_closing[] = {
    {"photo", "Photograph it open, as it is now",
     "For the next one of its kind, and for you if it has to be opened again.", NULL},
    {"empty", "Nothing inside that does not belong there",
     "Turn it over above white paper and tap it: screws, swarf, hairs, a crumb of old foam.", NULL},
    {"springs", "Every spring is hooked at both ends and lies as on the photo", "Look with a loupe, from the side.",
     "spring"},
    {"lubricant", "Lubricant where it was noted, and nowhere else",
     "None on blades, curtains, contacts, friction surfaces or glass. Wipe it off with a dry stick.", "solvent"},
    {"leads", "Leads of meter and flash are whole, and clear of everything that moves",
     "An old flash lead or a flash unit in the camera may be charged.", "capacitor"},
    {"wind", "It winds and fires with the cover held on by hand", "Several times, fast and slow.", NULL},
    {"speeds", "Every speed fires and sounds right, B holds and lets go", "", NULL},
    {"self-timer", "The self-timer runs through", "If it has one. Never force it back.", "force"},
    {"counter", "The counter moves on and returns", "Opening the back sets most of them back.", NULL},
    {"rangefinder.glass", "Rangefinder: inner glasses clean, adjusters within reach once the cover is on",
     "If they are not, set it before closing.", NULL},
    {"reflex.screen", "Finder: screen the right way round, prism clean, no foam on the mirror", "", NULL},
    {"meter.needle", "The meter's needle swings freely from end to end", "Cover the cell, then show it a window.",
     NULL},
    {"glass", "Inner glass surfaces are clean: blow, look against a lamp",
     "It is the last time you reach them without a tool.", NULL},
    {"knobs", "Knobs and dials sit on their marks", "Speed on its click, aperture and distance on theirs.", NULL},
    {"parts", "The tray for this cover is empty", "Every part back, or accounted for in the list of parts.", NULL},
};

static const cw_guide_item after_assembly[] = {
    {"screws", "Every screw is in and tight, none left over, slots unharmed", "", NULL},
    {"wind", "Wind and fire ten times: one stroke each, no slipping", "", NULL},
    {"speeds", "Every mark fires; B holds as long as it is held", "", NULL},
    {"cable", "The cable release works", "", NULL},
    {"double", "It cannot be fired twice without winding, where it should not", "", NULL},
    {"rewind", "The rewind button frees the film and comes back", "", NULL},
    {"counter", "The counter counts and returns", "", NULL},
    {"back", "The back closes without force and locks", "", NULL},
    {"focus", "Focus turns from end to end with an even feel, and stops at infinity", "", NULL},
    {"aperture", "Each aperture opens to its size, blades dry and even", "", NULL},
    {"self-timer", "The self-timer runs through and fires", "If it has one.", NULL},
    {"flash.contact", "The flash contact closes when it fires, and only then",
     "Ohmmeter or a lamp on the socket, never a charged flash unit for the first try.", "capacitor"},
    {"meter.alive", "The meter answers to light and rests at its mark in the dark", "", NULL},
    {"battery.cover", "The battery chamber is clean and its cover closes", "", "battery"},
    {"rangefinder.image", "The double image meets at infinity, and is level", "", NULL},
    {"reflex.mirror", "The mirror goes up and returns each time", "", NULL},
    {"bellows.opens", "The bellows opens to its stop and closes without a pinch", "", NULL},
    {"glass", "Glass is clean outside", "Blow first, then a soft brush, then as little liquid as will do.", "solvent"},
    {"outside", "Covering glued down, outside clean, strap lugs firm", "", NULL},
};

#define LIST(k, t, p, proof, list)                                                                                     \
    {                                                                                                                  \
        k, t, p, source, proof, sizeof(list) / sizeof(list[0]), list                                                   \
    }

static const cw_guide guides[] = {
    LIST("as-it-came", "As it came",
         "Before anything is touched: what is wrong with it, and what is not. Nobody can tell later otherwise.", true,
         as_it_came),
    LIST("light-leaks", "Light-leak hunt",
         "Before the work to know what needs new seals, and after it to know that they hold.", true, light_leaks),
    LIST("bellows", "Bellows and their seals", "For every folding camera, with the light-leak hunt.", true, bellows),
    LIST("before-closing", "Before a cover closes",
         "What is easy to see now and hard to reach once the cover is on. Once for each time it is closed for good.",
         false, before_closing),
    LIST("after-assembly", "After putting it together", "Everything a hand and an eye can check before instruments do.",
         false, after_assembly),
};

const cw_guide *cw_guides(size_t *count)
{
    *count = CW_COUNT(guides);
    return guides;
}
