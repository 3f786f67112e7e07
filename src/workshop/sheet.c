/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "workshop/sheet.h"

#include <math.h>
#include <string.h>

#include "base/range.h"

#define MM 1e-3

static const cw_frame frames[] = {
    {"24x36", "24 x 36 mm on 35 mm film", 36 * MM, 24 * MM, 35 * MM},
    {"18x24", "18 x 24 mm, half frame on 35 mm film", 18 * MM, 24 * MM, 35 * MM},
    {"24x24", "24 x 24 mm on 35 mm film", 24 * MM, 24 * MM, 35 * MM},
    {"24x32", "24 x 32 mm on 35 mm film", 32 * MM, 24 * MM, 35 * MM},
    {"24x65", "24 x 65 mm panorama on 35 mm film", 65 * MM, 24 * MM, 35 * MM},
    {"28x28", "28 x 28 mm on 126 film", 28 * MM, 28 * MM, 35 * MM},
    {"13x17", "13 x 17 mm on 110 film", 17 * MM, 13 * MM, 16 * MM},
    {"40x40", "40 x 40 mm on 127 film", 40 * MM, 40 * MM, 46 * MM},
    {"42x56", "6 x 4.5 on 120 film", 42 * MM, 56 * MM, 61.5 * MM},
    {"56x56", "6 x 6 on 120 film", 56 * MM, 56 * MM, 61.5 * MM},
    {"56x70", "6 x 7 on 120 film", 70 * MM, 56 * MM, 61.5 * MM},
    {"56x84", "6 x 9 on 120 film", 84 * MM, 56 * MM, 61.5 * MM},
    {"65x90", "6.5 x 9 cm plate", 90 * MM, 65 * MM, 65 * MM},
};

const cw_frame *cw_frames(size_t *count)
{
    *count = CW_COUNT(frames);
    return frames;
}

const cw_frame *cw_frame_find(const char *key)
{
    for (size_t i = 0; i < CW_COUNT(frames); i++)
        if (strcmp(frames[i].key, key) == 0)
            return &frames[i];
    return NULL;
}

cw_status cw_screen_find(const cw_screen *s, cw_screen_size *size, cw_error *err)
{
    CW_TRY(cw_check_within("frame width", s->frame_width_m, CW_LENGTH, "mm", 5e-3, 0.3, err));
    CW_TRY(cw_check_within("frame height", s->frame_height_m, CW_LENGTH, "mm", 5e-3, 0.3, err));
    CW_TRY(cw_check_within("overlap at the ends", s->ledge_m, CW_LENGTH, "mm", 0.5e-3, 30e-3, err));
    double gap = isnan(s->rail_gap_m) ? s->frame_height_m + 2 * MM : s->rail_gap_m;
    if (gap < s->frame_height_m - 0.5 * MM)
        return cw_fail(err, CW_RANGE,
                       "rails %.4g mm apart would cover a frame %.4g mm high; measure between the inner rails",
                       gap / MM, s->frame_height_m / MM);
    /* lie on the inner rails by a millimetre on each side; pass the outer ones by 0.3 mm in all */
    double height = gap + 2 * MM;
    if (!isnan(s->channel_m)) {
        double most = s->channel_m - 0.3 * MM;
        if (most < gap + 0.6 * MM)
            return cw_fail(err, CW_RANGE,
                           "a glass that passes outer rails %.4g mm apart falls through inner rails %.4g mm apart; "
                           "measure both again",
                           s->channel_m / MM, gap / MM);
        height = fmin(fmax(height, most), most);
    }
    *size = (cw_screen_size){s->frame_width_m + 2 * s->ledge_m, height, 0.5 * MM};
    return CW_OK;
}

cw_status cw_seal_find(const cw_seal *s, cw_seal_size *size, cw_error *err)
{
    CW_TRY(cw_check_within("channel width", s->channel_width_m, CW_LENGTH, "mm", 0.5e-3, 30e-3, err));
    CW_TRY(cw_check_within("channel depth", s->channel_depth_m, CW_LENGTH, "mm", 0, 20e-3, err));
    CW_TRY(cw_check_within("room left when shut", s->gap_m, CW_LENGTH, "mm", 0.2e-3, 20e-3, err));
    CW_TRY(cw_check_within("length", s->length_m, CW_LENGTH, "mm", 2e-3, 1, err));
    if (s->gap_m > s->channel_depth_m + 10 * MM)
        return cw_fail(err, CW_RANGE,
                       "room of %.3g mm over a channel %.3g mm deep; measure from the channel's floor to the shut door",
                       s->gap_m / MM, s->channel_depth_m / MM);
    double least = s->gap_m / 0.75, most = s->gap_m / 0.5, foam = s->foam_m;
    if (isnan(foam)) { /* the half millimetres foam is sold in, nearest to a squash of 35 % */
        foam = round(s->gap_m / 0.65 / (0.5 * MM)) * 0.5 * MM;
        if (foam < least)
            foam += 0.5 * MM;
    }
    CW_TRY(cw_check_within("foam thickness", foam, CW_LENGTH, "mm", 0.3e-3, 30e-3, err));
    double squash = 1 - s->gap_m / foam;
    bool good = squash >= 0.25 - 1e-9 && squash <= 0.5 + 1e-9;
    *size = (cw_seal_size){
        .width_m = s->channel_width_m > 1.5 * MM ? s->channel_width_m - 0.2 * MM : s->channel_width_m,
        .length_m = s->length_m,
        .foam_m = foam,
        .squash = squash,
        .least_foam_m = least,
        .most_foam_m = most,
        .is_good = good,
        .why = good            ? "right"
               : squash < 0.25 ? "too thin: it may let light by"
                               : "too thick: it holds the door open and strains the hinge",
    };
    return CW_OK;
}

cw_status cw_covering_find(const cw_covering *c, double *length_m, double *height_m, cw_error *err)
{
    CW_TRY(cw_check_within("straight length", c->flat_m, CW_LENGTH, "mm", 0, 0.5, err));
    CW_TRY(cw_check_within("radius of the ends", c->end_radius_m, CW_LENGTH, "mm", 0, 0.1, err));
    CW_TRY(cw_check_within("height", c->height_m, CW_LENGTH, "mm", 3e-3, 0.3, err));
    CW_TRY(cw_check_within("thickness of the covering", c->thickness_m, CW_LENGTH, "mm", 0.05e-3, 5e-3, err));
    CW_TRY(cw_check_within("overlap", c->overlap_m, CW_LENGTH, "mm", 0, 30e-3, err));
    double round = M_PI * (c->end_radius_m + c->thickness_m / 2); /* half a turn on the middle layer */
    double length = (c->wraps_round ? 2 * (c->flat_m + round) : c->flat_m + round) + c->overlap_m;
    if (!(length > 5 * MM))
        return cw_fail(err, CW_RANGE, "a covering %.3g mm long; give the straight length or the radius of the ends",
                       length / MM);
    *length_m = length;
    *height_m = c->height_m;
    return CW_OK;
}

cw_status cw_curtain_find(const cw_curtain *c, cw_curtain_size *size, cw_error *err)
{
    CW_TRY(cw_check_within("frame along the travel", c->frame_width_m, CW_LENGTH, "mm", 10e-3, 0.2, err));
    CW_TRY(cw_check_within("frame across the travel", c->frame_height_m, CW_LENGTH, "mm", 10e-3, 0.2, err));
    CW_TRY(cw_check_within("cloth beside the frame", c->side_m, CW_LENGTH, "mm", 0.5e-3, 20e-3, err));
    CW_TRY(cw_check_within("width of the metal edge", c->lath_m, CW_LENGTH, "mm", 0.5e-3, 10e-3, err));
    CW_TRY(cw_check_within("overlap of the curtains", c->overlap_m, CW_LENGTH, "mm", 0.5e-3, 20e-3, err));
    CW_TRY(cw_check_within("drum diameter", c->drum_m, CW_LENGTH, "mm", 3e-3, 80e-3, err));
    CW_TRY(cw_check_within("turns that stay on the drum", c->drum_turns, CW_PLAIN, NULL, 0, 5, err));
    CW_TRY(cw_check_within("cloth thickness", c->cloth_m, CW_LENGTH, "mm", 0.05e-3, 1.5e-3, err));
    CW_TRY(cw_check_within("glued seam", c->glue_m, CW_LENGTH, "mm", 0.5e-3, 20e-3, err));
    double stays = c->drum_turns * M_PI * (c->drum_m + c->cloth_m);
    double free_length = c->frame_width_m + 2 * c->overlap_m + stays;
    /* cloth wound in a spiral fills a ring: length * thickness = pi/4 (outer^2 - drum^2) */
    double build = sqrt(c->drum_m * c->drum_m + 4 / M_PI * free_length * c->cloth_m);
    double start = sqrt(c->drum_m * c->drum_m + 4 / M_PI * stays * c->cloth_m);
    *size = (cw_curtain_size){
        .width_m = c->frame_height_m + 2 * c->side_m,
        .length_m = free_length + 2 * c->glue_m,
        .free_m = free_length,
        .drum_build_m = build,
        .travel_turns = c->frame_width_m / (M_PI * (build + start) / 2),
    };
    return CW_OK;
}

typedef struct {
    double wanted_m;
    const cw_shim *kinds;
    size_t kind_count;
    cw_shim_stack best[CW_SHIM_STACKS_MOST];
    size_t found;
} search;

static bool nearer(const cw_shim_stack *a, const cw_shim_stack *b)
{
    double da = fabs(a->off_m), db = fabs(b->off_m);
    if (fabs(da - db) > 0.2e-6)
        return da < db;
    return a->piece_count < b->piece_count;
}

static void offer(search *s, const cw_shim_stack *stack)
{
    size_t at = s->found;
    while (at > 0 && nearer(stack, &s->best[at - 1]))
        at--;
    if (at >= CW_SHIM_STACKS_MOST)
        return;
    size_t keep = s->found < CW_SHIM_STACKS_MOST ? s->found : CW_SHIM_STACKS_MOST - 1;
    memmove(s->best + at + 1, s->best + at, (keep - at) * sizeof *stack);
    s->best[at] = *stack;
    s->found = keep + 1;
}

/* Every count of each kind in turn, thickest use cut off where the stack is already too thick to come nearer. */
static void stack_up(search *s, size_t kind, cw_shim_stack *stack)
{
    stack->off_m = stack->total_m - s->wanted_m;
    if (kind == s->kind_count) {
        if (stack->piece_count > 0)
            offer(s, stack);
        return;
    }
    int most = s->kinds[kind].available, left = CW_SHIM_PIECES_MOST - stack->piece_count;
    cw_shim_stack with = *stack;
    for (int n = 0; n <= most && n <= left; n++) {
        with.pieces[kind] = n;
        with.piece_count = stack->piece_count + n;
        with.total_m = stack->total_m + n * s->kinds[kind].thickness_m;
        bool hopeless = s->found == CW_SHIM_STACKS_MOST &&
                        with.total_m - s->wanted_m > fabs(s->best[CW_SHIM_STACKS_MOST - 1].off_m) + 0.2e-6;
        if (hopeless)
            break;
        stack_up(s, kind + 1, &with);
    }
}

cw_status cw_shims_find(double wanted_m, const cw_shim *kinds, size_t kind_count, cw_shim_stack *stacks, size_t *count,
                        cw_error *err)
{
    CW_TRY(cw_check_within("wanted thickness", wanted_m, CW_LENGTH, "mm", 0.005e-3, 20e-3, err));
    if (kind_count < 1 || kind_count > CW_SHIMS_MOST)
        return cw_fail(err, CW_RANGE, "%zu kinds of shim; give 1 to %d thicknesses that are to hand", kind_count,
                       CW_SHIMS_MOST);
    int pieces = 0;
    for (size_t i = 0; i < kind_count; i++) {
        CW_TRY(cw_check_within("shim thickness", kinds[i].thickness_m, CW_LENGTH, "mm", 0.005e-3, 10e-3, err));
        if (kinds[i].available < 0 || kinds[i].available > 1000)
            return cw_fail(err, CW_RANGE, "%d shims of %.3g mm; 0 to 1000 can be to hand", kinds[i].available,
                           kinds[i].thickness_m / MM);
        pieces += kinds[i].available;
    }
    if (pieces == 0)
        return cw_fail(err, CW_RANGE, "no shim of any thickness is to hand; give the number of pieces of each");
    search s = {.wanted_m = wanted_m, .kinds = kinds, .kind_count = kind_count};
    cw_shim_stack empty = {0};
    stack_up(&s, 0, &empty);
    memcpy(stacks, s.best, s.found * sizeof *stacks);
    *count = s.found;
    return CW_OK;
}
