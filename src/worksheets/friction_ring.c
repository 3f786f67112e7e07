/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A ring of rubber and its holder, for name rings without slots. */
#include <math.h>

#include "worksheets/fields.h"
#include "worksheets/plan.h"
#include "workshop/grip.h"

static const cw_field inputs[] = {
    CW_NEED("outer", "Outside diameter of the rubber", CW_LENGTH, "mm", 3e-3, 0.3,
            "a little less than the ring to turn"),
    CW_NEED("inner", "Inside diameter of the rubber", CW_LENGTH, "mm", 0, 0.3, "a little more than the glass"),
    CW_USUAL("rubber", "Thickness of the rubber", CW_LENGTH, "mm", "2 mm", 0.2e-3, 20e-3, ""),
    CW_USUAL("squash", "Pressed together by", CW_FRACTION, "%", "15 %", 0.02, 0.5, "of its thickness, under the hand"),
    CW_USUAL("glass", "Diameter of the glass", CW_LENGTH, "mm", "0", 0, 0.3, "to keep free; 0 for none"),
    CW_USUAL("glass-rise", "Glass stands over the ring by", CW_LENGTH, "mm", "0", -20e-3, 50e-3,
             "negative: it lies below"),
    CW_USUAL("push", "Push of the hand", CW_FORCE, "N", "40 N", 0.1, 400, "40 N is about 4 kg on the kitchen scale"),
    CW_MAYBE("holder", "Outside of the holder", CW_LENGTH, "mm", 3e-3, 0.4, "left out: 8 mm more than the rubber"),
    CW_USUAL("holder-height", "Height of the holder", CW_LENGTH, "mm", "30 mm", 3e-3, 0.2, ""),
    CW_USUAL("seat", "Depth of the rubber's seat", CW_LENGTH, "mm", "1 mm", 0, 10e-3, "0: the rubber is only stuck on"),
    CW_USUAL("rubber-modulus", "Shear modulus of the rubber", CW_STRESS, "MPa", "0.8 MPa", 1e5, 50e6,
             "0.4 soft to 2 hard, from memory"),
    CW_MAYBE("torque", "Torque it should pass", CW_TORQUE, "N m", 1e-4, 20, ""),
    CW_FRICTION_FIELDS("rubber-metal"),
};

static const cw_field outputs[] = {
    CW_JUDGE("holds", "Does it hold?", "against the torque asked for, by the lower figure"),
    CW_SHOW("torque-most", "Slips at", CW_TORQUE, "N m", 2, "pressure even over the ring"),
    CW_SHOW("torque-least", "Slips at the least at", CW_TORQUE, "N m", 2, "pressure higher inside, as by wear"),
    CW_SHOW("pressure", "Pressure on the face", CW_STRESS, "kPa", 2, ""),
    CW_SHOW("push-needed", "Push for 1 N m", CW_FORCE, "N", 2, "by the lower figure"),
    CW_SHOW("hand", "Force at the holder's rim for 1 N m", CW_FORCE, "N", 2, ""),
    CW_SHOW("recess", "Hollow over the glass", CW_LENGTH, "mm", 2,
            "depth behind the rubber's seat; 0 when none is needed"),
    CW_SHOW("wind-up", "Wind-up", CW_WINDUP, "deg/(N m)", 2, "of the rubber, in shear"),
    CW_SAY("stop", "When to stop, and what first", ""),
    CW_DRAWN("template", "Rubber ring and holder, 1:1", "cut the rubber with a compass cutter"),
    CW_SOLID("holder-solid", "Holder to print", "with a seat for the rubber and the hollow over the glass"),
};

typedef struct {
    double grip_m, height_m, seat_m, hollow_m, hollow_depth_m;
} holder;

static cw_status draw(const cw_friction_ring *ring, const holder *h, cw_drawing **drawing, cw_error *err)
{
    cw_drawing *d;
    CW_TRY(cw_drawing_new("Friction ring", "A ring cut from rubber sheet, and beside it the section of its holder.", &d,
                          err));
    cw_plan_circle(d, CW_LAYER_CUT, 0, 0, ring->outer_m);
    if (ring->inner_m > 0)
        cw_plan_circle(d, CW_LAYER_CUT, 0, 0, ring->inner_m);
    if (ring->glass_m > 0)
        cw_plan_circle(d, CW_LAYER_HIDDEN, 0, 0, ring->glass_m);
    cw_plan_cross(d, 0, 0, ring->outer_m + 6e-3);
    cw_plan_size(d, -ring->outer_m / 2, 0, ring->outer_m / 2, 0, ring->outer_m / 2 * CW_TO_MM + 6);
    cw_plan_size(d, -ring->inner_m / 2, 0, ring->inner_m / 2, 0, -ring->outer_m / 2 * CW_TO_MM - 6);
    double x = ring->outer_m / 2 + 15e-3 + h->grip_m / 2, foot = -h->height_m / 2;
    cw_plan_box(d, CW_LAYER_CUT, x, 0, h->grip_m, h->height_m);
    if (h->seat_m > 0)
        cw_plan_box(d, CW_LAYER_HIDDEN, x, foot + h->seat_m / 2, ring->outer_m, h->seat_m);
    if (h->hollow_m > 0)
        cw_plan_box(d, CW_LAYER_HIDDEN, x, foot + h->seat_m + h->hollow_depth_m / 2, h->hollow_m, h->hollow_depth_m);
    cw_draw_line(d, CW_LAYER_CENTRE, cw_plan_at(x, foot - 3e-3), cw_plan_at(x, -foot + 3e-3));
    cw_plan_size(d, x - h->grip_m / 2, -foot, x + h->grip_m / 2, -foot, 6);
    cw_plan_size(d, x + h->grip_m / 2, -foot, x + h->grip_m / 2, foot, 6);
    cw_plan_note(d, -ring->outer_m / 2, -fmax(ring->outer_m, h->height_m) / 2 - 16e-3,
                 "rubber %.3g mm thick; holder: seat %.4g mm wide, %.3g mm deep%s", ring->rubber_m * 1e3,
                 (ring->outer_m + 0.2e-3) * 1e3, h->seat_m * 1e3, h->hollow_m > 0 ? "" : ", no hollow");
    if (h->hollow_m > 0)
        cw_plan_note(d, -ring->outer_m / 2, -fmax(ring->outer_m, h->height_m) / 2 - 22e-3,
                     "hollow over the glass %.4g mm wide, %.3g mm deeper", h->hollow_m * 1e3, h->hollow_depth_m * 1e3);
    *drawing = d;
    return CW_OK;
}

/* The holder stands on its grip end, the rubber's seat up. */
static cw_status solid(const cw_friction_ring *ring, const holder *h, cw_mesh **mesh, cw_error *err)
{
    cw_mesh *m;
    CW_TRY(cw_mesh_new("friction ring holder", &m, err));
    double R = h->grip_m / 2 * CW_TO_MM, top = h->height_m * CW_TO_MM, seat = h->seat_m * CW_TO_MM;
    double seat_r = (ring->outer_m / 2 + 0.1e-3) * CW_TO_MM, hollow_r = h->hollow_m / 2 * CW_TO_MM,
           hollow = h->hollow_depth_m * CW_TO_MM;
    cw_vertex profile[8];
    size_t n = 0;
    profile[n++] = (cw_vertex){0, 0, 0};
    profile[n++] = (cw_vertex){R, 0, 0};
    profile[n++] = (cw_vertex){R, top, 0};
    if (seat > 0) {
        profile[n++] = (cw_vertex){seat_r, top, 0};
        profile[n++] = (cw_vertex){seat_r, top - seat, 0};
    }
    if (hollow_r > 0) {
        profile[n++] = (cw_vertex){hollow_r, top - seat, 0};
        profile[n++] = (cw_vertex){hollow_r, top - seat - hollow, 0};
    }
    profile[n] = (cw_vertex){0, profile[n - 1].y_mm, 0};
    cw_mesh_turned(m, profile, n + 1, 128);
    *mesh = m;
    return CW_OK;
}

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    cw_quantity mu = cw_in_friction(in);
    double outer = cw_in_number(in, "outer");
    holder h = {cw_in_or(in, "holder", outer + 8e-3), cw_in_number(in, "holder-height"), cw_in_number(in, "seat"), 0,
                0};
    cw_friction_ring ring = {cw_in_number(in, "inner"),
                             outer,
                             cw_in_number(in, "rubber"),
                             cw_in_number(in, "squash"),
                             cw_in_number(in, "glass"),
                             cw_in_number(in, "glass-rise"),
                             h.grip_m,
                             cw_in_number(in, "push"),
                             mu.value};
    cw_friction_ring_result r;
    CW_TRY(cw_friction_ring_find(&ring, &r, err));
    if (h.seat_m >= ring.rubber_m)
        return cw_fail(err, CW_RANGE,
                       "the seat, %.3g mm deep, swallows rubber of %.3g mm; %.3g mm (half) leaves it proud",
                       h.seat_m * 1e3, ring.rubber_m * 1e3, ring.rubber_m / 2 * 1e3);
    if (h.seat_m > 0 && h.seat_m < 0.05e-3)
        return cw_fail(err, CW_RANGE, "a seat %.3g mm deep holds nothing; 0 (stuck on) or at least 0.05 mm can be made",
                       h.seat_m * 1e3);
    if (h.grip_m < ring.outer_m + 2e-3 && h.seat_m > 0)
        return cw_fail(err, CW_RANGE, "a holder of %.4g mm leaves no rim around a seat of %.4g mm; make it %.4g mm",
                       h.grip_m * 1e3, ring.outer_m * 1e3, ring.outer_m * 1e3 + 4);
    if (r.recess_m > 0) {
        h.hollow_m = r.bore_m;
        h.hollow_depth_m =
            r.recess_m + ring.rubber_m * (1 - ring.squash) - h.seat_m > 0 ? r.recess_m : r.recess_m + h.seat_m;
    }
    if (h.seat_m + h.hollow_depth_m > h.height_m - 2e-3)
        return cw_fail(err, CW_RANGE, "seat and hollow, %.3g mm, go through a holder %.3g mm high; make it %.3g mm",
                       (h.seat_m + h.hollow_depth_m) * 1e3, h.height_m * 1e3, (h.seat_m + h.hollow_depth_m) * 1e3 + 4);
    cw_drawing *drawing;
    CW_TRY(draw(&ring, &h, &drawing, err));
    cw_out_drawing(out, "template", drawing);
    cw_mesh *mesh;
    CW_TRY(solid(&ring, &h, &mesh, err));
    cw_out_mesh(out, "holder-solid", mesh);
    double share = hypot(mu.u / mu.value, 0.2); /* a push by feel is known to a fifth */
    cw_quantity least = {r.torque_worn_n_m, r.torque_worn_n_m * share};
    cw_out_verdict(out, "holds", cw_at_least(least, cw_in_number(in, "torque")), "the rubber slips at about %.3g N m",
                   r.torque_worn_n_m);
    cw_out_quantity(out, "torque-most", (cw_quantity){r.torque_n_m, r.torque_n_m * share});
    cw_out_quantity(out, "torque-least", least);
    double windup = cw_rubber_ring_windup_rad_n_m(ring.inner_m / 2, ring.outer_m / 2, ring.rubber_m * (1 - ring.squash),
                                                  cw_in_number(in, "rubber-modulus"));
    cw_out_quantity(out, "wind-up",
                    (cw_quantity){windup, 0.4 * windup}); /* rubbers differ by more than their names tell */
    cw_out_stop(out, r.torque_worn_n_m, "from there on it slips, and the finish suffers", windup);
    cw_out_number(out, "pressure", r.pressure_pa);
    cw_out_quantity(out, "push-needed", (cw_quantity){r.push_per_n_m, r.push_per_n_m * mu.u / mu.value});
    cw_out_number(out, "hand", r.hand_force_per_n_m);
    cw_out_number(out, "recess", r.recess_m);
    cw_out_note(
        out, "Wipe ring and rubber with alcohol first, and let them dry: a film of oil takes two thirds of the grip.");
    return CW_OK;
}

static const char *const cautions[] = {"cutting", "force", "solvent", NULL};
static const char *const sources[] = {
    "disc clutch, even pressure and even wear: Shigley, Mechanical Engineering Design, disc clutches",
    "friction of rubber: no handbook figure found; common practice, measure it", NULL};
static const char *const example[] = {"outer",      "34mm", "inner",  "24mm",    "glass", "22mm",
                                      "glass-rise", "3mm",  "torque", "0.3 N m", NULL};

static const char *const tool_sizes[] = {"span", "inner", "span_most", "outer", NULL};
static const char *const tool_need[] = {"span", "outer", NULL};
static const cw_sheet_tool tool = {CW_RACK_RUBBER, tool_sizes, tool_need};

extern const cw_worksheet cw_sheet_friction_ring;
const cw_worksheet cw_sheet_friction_ring = {
    .name = "friction-ring",
    .title = "Rubber ring and holder for a name ring without slots",
    .group = "Tools",
    .purpose = "A name ring without slots is turned by rubber pressed on it. Says what torque a ring of rubber passes "
               "before it slips, how hard to push, and "
               "gives the ring to cut and the holder to print.",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .cautions = cautions,
    .sources = sources,
    .compute = compute,
    .example = example,
    .tool = &tool,
};
