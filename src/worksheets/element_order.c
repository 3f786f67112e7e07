/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Loose elements and spacers in, their order out. */
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include "draw/lens_section.h"
#include "optics/order.h"
#include "worksheets/focus_fields.h"

static const cw_field group_columns[] = {
    CW_SAY("label", "Name", "A, B, C"),
    CW_NEED("front", "Front radius", CW_LENGTH, "mm", -100, 100, "as it lies; centre to the rear positive; 0 = flat"),
    CW_NEED("rear", "Rear radius", CW_LENGTH, "mm", -100, 100, "as it lies; 0 = flat"),
    CW_NEED("thickness", "Thickness", CW_LENGTH, "mm", 1e-05, 0.2, "in the middle"),
    CW_MAYBE("index", "Index", CW_PLAIN, NULL, 1.2, 4, "left out: from the focal length"),
    CW_MAYBE("diameter", "Diameter", CW_LENGTH, "mm", 0.0001, 1, "of the glass"),
    CW_MAYBE("focal-length", "Focal length", CW_LENGTH, "mm", -50, 50, "of the piece alone"),
    CW_MAYBE("joint", "Joint radius", CW_LENGTH, "mm", -100, 100, "cemented pair: the inner face; 0 = flat"),
    CW_MAYBE("second-thickness", "Second thickness", CW_LENGTH, "mm", 1e-05, 0.2, "cemented pair: of the rear glass"),
    CW_MAYBE("second-index", "Second index", CW_PLAIN, NULL, 1.2, 4, "cemented pair: of the rear glass")};
static const cw_field spacer_columns[] = {
    CW_SAY("label", "Name", "s1, s2"),
    CW_NEED("length", "Length", CW_LENGTH, "mm", 0, 1, "between the two edges that touch glass"),
    CW_NEED("contact", "Contact diameter", CW_LENGTH, "mm", 0.0001, 1, "where it touches glass")};
static const cw_field answer_columns[] = {
    CW_SAY("order", "Front to back", "turned: against how it lies"),
    CW_MAY_SHOW("probability", "Probability", CW_FRACTION, "%", 3, "of all arrangements"),
    CW_MAY_SHOW("focal-length", "Focal length", CW_LENGTH, "mm", 3, "of the parts as measured"),
    CW_MAY_SHOW("back-focus", "Back focus", CW_LENGTH, "mm", 3, "of the parts as measured")};

static const cw_field inputs[] = {
    {.key = "groups",
     .label = "Loose pieces",
     .kind = CW_KIND_ROWS,
     .required = true,
     .columns = group_columns,
     .column_count = CW_COUNT(group_columns),
     .rows_most = CW_PUZZLE_GROUPS,
     .help = "single elements or cemented pairs, as they lie now, left to right"},
    {.key = "spacers",
     .label = "Spacers",
     .kind = CW_KIND_ROWS,
     .required = true,
     .columns = spacer_columns,
     .column_count = CW_COUNT(spacer_columns),
     .rows_most = CW_PUZZLE_GROUPS - 1,
     .help = "one fewer than the pieces; where glass touches glass a spacer of length 0"},
    CW_NEED("focal-length", "Focal length of the lens", CW_LENGTH, "mm", 0.003, 5, "engraved, or known from its kind"),
    CW_USUAL("u-focal-length", "Uncertainty of the focal length", CW_FRACTION, "%", "1 %", 0, 0.2,
             "engraved figures are good to a few per cent"),
    CW_MAYBE("back-focus", "Back focus", CW_LENGTH, "mm", 0.001, 5,
             "last glass to film at infinity, if it was measured before"),
    CW_USUAL("u-back-focus", "Uncertainty of the back focus", CW_LENGTH, "mm", "0.2 mm", 0, 0.02, ""),
    CW_MAYBE("aperture", "Full aperture (f-number)", CW_PLAIN, NULL, 0.5, 200, "engraved"),
    CW_MAYBE("half-field", "Half field", CW_ANGLE, "deg", 0, 1, "from the axis to the picture's corner"),
    CW_USUAL("u-radius", "Relative uncertainty of the radii", CW_FRACTION, "%", "0.5 %", 0, 0.2, ""),
    CW_SAY("stop-spacer", "The diaphragm stands in spacer", "its name; left out: not known"),
};

static const cw_field outputs[] = {
    CW_JUDGE("decided", "Decided?", ""),
    {.key = "answer",
     .label = "Likeliest arrangements",
     .kind = CW_KIND_ROWS,
     .required = true,
     .columns = answer_columns,
     .column_count = CW_COUNT(answer_columns),
     .help = "best first"},
    CW_SAY("next", "Measure next", "what would tell the leading ones apart"),
    CW_SAY("why", "Because", "what it would read"),
    CW_SHOW("none", "None of these", CW_FRACTION, "%", 3,
            "probability kept for a wrong measurement or a foreign piece"),
    {.key = "section", .label = "The three likeliest", .kind = CW_KIND_DRAWING, .help = "to scale"},
};

static cw_quantity curvature(double radius_m, double relative)
{
    double c = radius_m == 0 ? 0 : 1 / (1000 * radius_m);
    return (cw_quantity){c, relative * fabs(c)};
}

static cw_quantity cell_mm(const cw_sheet_in *in, size_t row, const char *column, double u_mm)
{
    return (cw_quantity){1000 * cw_in_cell_number(in, "groups", row, column), u_mm};
}

static cw_status read_group(const cw_sheet_in *in, size_t i, cw_loose_group *g, cw_error *err)
{
    double u = cw_in_number(in, "u-radius"), joint = cw_in_cell_number(in, "groups", i, "joint");
    bool pair = !isnan(joint);
    cw_quantity n = {cw_in_cell_number(in, "groups", i, "index"), 0}, f = cell_mm(in, i, "focal-length", 0);
    f.u = 0.01 * fabs(f.value);
    *g = (cw_loose_group){.glasses = pair ? 2 : 1,
                          .diameter_mm = 1000 * cw_in_cell_number(in, "groups", i, "diameter"),
                          .focal_length_mm = f,
                          .front_focus_mm = {NAN, NAN},
                          .back_focus_mm = {NAN, NAN},
                          .inside_known = true,
                          .position = SIZE_MAX,
                          .turned = -1};
    const char *label = cw_in_cell_text(in, "groups", i, "label");
    snprintf(g->label, sizeof g->label, "%.20s", label);
    if (label[0] == '\0')
        snprintf(g->label, sizeof g->label, "%c", (char)('A' + i));
    g->curvature[0] = curvature(cw_in_cell_number(in, "groups", i, "front"), u);
    g->curvature[g->glasses] = curvature(cw_in_cell_number(in, "groups", i, "rear"), u);
    g->thickness_mm[0] = cell_mm(in, i, "thickness", 0.02);
    g->n_d[0] = n;
    if (pair) {
        g->curvature[1] = curvature(joint, u);
        g->thickness_mm[1] = cell_mm(in, i, "second-thickness", 0.02);
        g->n_d[1] = (cw_quantity){cw_in_cell_number(in, "groups", i, "second-index"), 0};
        if (isnan(g->thickness_mm[1].value) || isnan(g->n_d[1].value) || isnan(n.value))
            return cw_fail(err, CW_INPUT, "piece %s: a cemented pair needs both thicknesses and both indices",
                           g->label);
    }
    if (!isnan(n.value))
        return CW_OK;
    if (!(fabs(f.value) > 0.1))
        return cw_fail(err, CW_INPUT, "piece %s has neither an index nor a focal length; measure one", g->label);
    g->focal_length_mm = (cw_quantity){NAN, NAN};
    return cw_index_from_focal_length(g->curvature[0], g->curvature[1], g->thickness_mm[0], f, &g->n_d[0], err);
}

static cw_status read_spacers(const cw_sheet_in *in, cw_puzzle *p, cw_error *err)
{
    size_t count = cw_in_rows(in, "spacers");
    const char *holds_stop = cw_in_text(in, "stop-spacer");
    if (count + 1 != p->group_count)
        return cw_fail(err, CW_INPUT, "%zu spacers for %zu pieces; %zu stand between them", count, p->group_count,
                       p->group_count - 1);
    for (size_t i = 0; i < count; i++) {
        cw_spacer *s = &p->spacer[i];
        *s = (cw_spacer){.length_mm = {1000 * cw_in_cell_number(in, "spacers", i, "length"), 0.02},
                         .contact_mm = 1000 * cw_in_cell_number(in, "spacers", i, "contact"),
                         .position = SIZE_MAX};
        const char *label = cw_in_cell_text(in, "spacers", i, "label");
        snprintf(s->label, sizeof s->label, "%.20s", label);
        if (label[0] == '\0')
            snprintf(s->label, sizeof s->label, "s%zu", i + 1);
        if (holds_stop[0] != '\0' && strcmp(holds_stop, s->label) == 0) {
            p->stop_known = true;
            p->stop_spacer = i;
            p->stop_after_mm = s->length_mm.value / 2;
        }
    }
    if (holds_stop[0] != '\0' && !p->stop_known)
        return cw_fail(err, CW_INPUT, "the diaphragm's spacer \"%.20s\" is none of the spacers", holds_stop);
    return CW_OK;
}

static cw_status read_puzzle(const cw_sheet_in *in, cw_puzzle *p, cw_error *err)
{
    p->group_count = cw_in_rows(in, "groups");
    if (p->group_count < 2 || p->group_count > CW_PUZZLE_GROUPS)
        return cw_fail(err, CW_INPUT, "%zu pieces; 2 to %d can be put in order", p->group_count, CW_PUZZLE_GROUPS);
    for (size_t i = 0; i < p->group_count; i++)
        CW_TRY(read_group(in, i, &p->group[i], err));
    for (size_t i = 0; i < CW_PUZZLE_GROUPS; i++)
        p->place[i] = (cw_barrel_place){NAN, NAN};
    CW_TRY(read_spacers(in, p, err));
    double f = 1000 * cw_in_number(in, "focal-length");
    p->focal_length_mm = (cw_quantity){f, f * cw_in_number(in, "u-focal-length")};
    p->back_focus_mm = (cw_quantity){1000 * cw_in_number(in, "back-focus"), 1000 * cw_in_number(in, "u-back-focus")};
    p->f_number = cw_in_or(in, "aperture", NAN);
    p->half_field_deg = cw_in_given(in, "half-field") ? cw_in_number(in, "half-field") * 57.29577951308232 : NAN;
    return CW_OK;
}

static void write_answer(const cw_puzzle *p, const cw_order *order, cw_sheet_out *out)
{
    char words[256];
    for (size_t i = 0; i < order->count && (i < 3 || order->candidate[i].probability > 0.005); i++) {
        const cw_order_candidate *c = &order->candidate[i];
        size_t row = cw_out_row(out, "answer");
        cw_arrangement_text(p, &c->what, words, sizeof words);
        cw_out_cell_text(out, "answer", row, "order", "%s", words);
        cw_out_cell_number(out, "answer", row, "probability", c->probability);
        cw_out_cell_quantity(out, "answer", row, "focal-length",
                             (cw_quantity){c->focal_length_mm.value / 1000, c->focal_length_mm.u / 1000});
        cw_out_cell_quantity(out, "answer", row, "back-focus",
                             (cw_quantity){c->back_focus_mm.value / 1000, c->back_focus_mm.u / 1000});
    }
    cw_arrangement_text(p, &order->candidate[0].what, words, sizeof words);
    cw_out_verdict(out, "decided", order->decided ? CW_VERDICT_INSIDE : CW_VERDICT_TOO_CLOSE, "%s %s",
                   order->decided ? "decided:" : "not decided; likeliest:", words);
    if (!order->decided) {
        cw_out_text(out, "next", "%s", order->next_what);
        cw_out_text(out, "why", "%s", order->next_why);
    }
    cw_out_number(out, "none", order->none_probability);
    for (size_t i = 0; i < order->warning_count; i++)
        cw_out_note(out, "%s", order->warning[i]);
}

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    cw_puzzle puzzle = {.group_count = 0};
    cw_order_prior prior = cw_order_prior_default();
    cw_order *order;
    cw_drawing *drawing = NULL;
    CW_TRY(read_puzzle(in, &puzzle, err));
    CW_TRY(cw_order_rank(&puzzle, &prior, false, &order, err));
    write_answer(&puzzle, order, out);
    cw_status status = cw_draw_order(&puzzle, order, &drawing, err);
    if (status == CW_OK)
        cw_out_drawing(out, "section", drawing);
    cw_order_free(order);
    return status;
}

static const char *const cautions[] = {"thoriated", NULL};
static const char *const sources[] = {"likelihood of focal length and back focus with propagated uncertainty, "
                                      "sharpness by real rays: see src/optics/order.h",
                                      NULL};
static const char *const example[] = {
    "groups",
    "A,435.17,-21.92,3.25,1.6204,9.7;B,79.71,-18.52,2.94,1.6204,9.7;C,-20.23,22.27,1.01,1.62,9.7",
    "spacers",
    "s1,4.34,9.5;s2,5.49,9.5",
    "focal-length",
    "49.8 mm",
    "back-focus",
    "42.43 mm",
    "aperture",
    "5",
    NULL};

extern const cw_worksheet cw_sheet_element_order;
const cw_worksheet cw_sheet_element_order = {
    .name = "element-order",
    .title = "Which element goes where, and which way round?",
    .group = "Lens",
    .purpose = "Elements and spacers fell out together. From their radii, thicknesses and diameters, the spacers, and "
               "what is known of the whole lens, every order and way round is ranked by how well it explains the "
               "figures and how sharp the lens would be; where two cannot be told apart it says what to measure next.",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .cautions = cautions,
    .sources = sources,
    .compute = compute,
    .example = example,
};
