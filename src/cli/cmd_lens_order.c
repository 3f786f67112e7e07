/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Loose glass and rings in, the order they belong in out, with how sure that is. */
#include <math.h>
#include <stdint.h>
#include <stdlib.h>

#include "base/file.h"
#include "cli/command.h"
#include "cli/file_out.h"
#include "cli/print.h"
#include "draw/lens_section.h"
#include "optics/order.h"
#include "worksheets/cautions.h"

enum { PUZZLE_FILE_MOST = 1024 * 1024 };

static cw_status read_puzzle(const char *path, cw_puzzle *puzzle, cw_error *err)
{
    char *bytes;
    size_t count;
    CW_TRY(cw_read_file(path, PUZZLE_FILE_MOST, &bytes, &count, err));
    cw_status status = cw_puzzle_from_json(bytes, count, puzzle, err);
    free(bytes);
    if (status != CW_OK)
        cw_context(err, "%s", path);
    return status;
}

static void print_candidate(const cw_puzzle *puzzle, const cw_order *order, size_t i, FILE *out)
{
    const cw_order_candidate *c = &order->candidate[i];
    char words[256];
    cw_arrangement_text(puzzle, &c->what, words, sizeof words);
    cw_print_told(out, "  %2zu  %5.1f %%  %s\n", i + 1, 100 * c->probability, words);
    cw_print(out, "              focal length %.2f \xc2\xb1 %.2f mm, back focus %.2f \xc2\xb1 %.2f mm",
             c->focal_length_mm.value, 2 * c->focal_length_mm.u, c->back_focus_mm.value, 2 * c->back_focus_mm.u);
    if (isfinite(c->spot_axis_mm))
        cw_print(out, "; spot %.3f mm on the axis", c->spot_axis_mm);
    if (isfinite(c->spot_field_mm))
        cw_print(out, ", %.3f mm off it", c->spot_field_mm);
    fputc('\n', out);
    if (c->alike != SIZE_MAX)
        cw_print(out,
                 "              most likely the same glass in the same place as candidate %zu: what differs measures "
                 "the same\n",
                 c->alike + 1);
}

static void print_order(const cw_puzzle *puzzle, const cw_order *order, FILE *out)
{
    cw_print(out, "%s%s%.0f arrangements, %.0f can be put together\n\n", puzzle->name,
             puzzle->name[0] != '\0' ? ": " : "", order->arrangements, order->possible);
    cw_print(out, "  front to back; \"turned\" against how the piece lies in the file\n\n");
    for (size_t i = 0; i < order->count && (i < 3 || order->candidate[i].probability > 0.005); i++)
        print_candidate(puzzle, order, i, out);
    if (order->none_probability > 0.001)
        cw_print(out, "      %5.1f %%  none of these\n", 100 * order->none_probability);
    if (order->other_probability > 0.001)
        cw_print(out, "      %5.1f %%  others, not shown\n", 100 * order->other_probability);
    if (order->decided) {
        cw_print(out, "\nDecided: the first.\n");
    } else {
        cw_print(out, "\nNot decided. Next: %s.\n", order->next_what);
        cw_print(out, "Why: %s.\n", order->next_why);
    }
    for (size_t i = 0; i < order->warning_count; i++)
        cw_print_told(out, "note: %s\n", order->warning[i]);
    cw_print(out, "Caution: %s\n", cw_caution("thoriated"));
}

static cw_status write_sections(const char *path, const cw_puzzle *puzzle, const cw_order *order, cw_error *err)
{
    cw_drawing *drawing;
    CW_TRY(cw_draw_order(puzzle, order, &drawing, err));
    cw_status status = cw_write_drawing(path, drawing, NULL, "A4", err);
    cw_drawing_free(drawing);
    return status;
}

static cw_status answer(const cw_puzzle *puzzle, const cw_order *order, const char *drawing, bool json, FILE *out,
                        cw_error *err)
{
    if (drawing != NULL)
        CW_TRY(write_sections(drawing, puzzle, order, err));
    if (json)
        return cw_print_json(out, cw_order_json(puzzle, order), err);
    print_order(puzzle, order, out);
    return CW_OK;
}

static cw_status run_lens_order(size_t count, const char *const *args, FILE *out, bool *outside, cw_error *err)
{
    (void)outside;
    cw_option options[] = {{"json", true, NULL}, {"out", false, NULL}};
    const char *path;
    size_t operands;
    CW_TRY(cw_options_read(count, args, options, CW_COUNT(options), &path, 1, &operands, err));
    if (operands != 1)
        return cw_fail(err, CW_INPUT,
                       "which pieces? Give the JSON file that lists them: camerawright lens-order PUZZLE.json");
    cw_puzzle puzzle;
    cw_order *order;
    cw_order_prior prior = cw_order_prior_default();
    CW_TRY(read_puzzle(path, &puzzle, err));
    if (cw_order_rank(&puzzle, &prior, false, &order, err) != CW_OK) {
        cw_context(err, "%s", path);
        return err->status;
    }
    cw_status status = answer(&puzzle, order, cw_option_value(options, CW_COUNT(options), "out"),
                              cw_option_given(options, CW_COUNT(options), "json"), out, err);
    cw_order_free(order);
    return status;
}

const cw_command cw_cmd_lens_order = {"lens-order", "PUZZLE.json [--json] [--out FILE.svg|.pdf|.dxf]",
                                      "find which loose element goes where, which way round, with which spacer",
                                      "PUZZLE.json lists the loose groups (label, radii_mm, thickness_mm, n_d or "
                                      "focal_length_mm, diameter_mm), the spacers\n"
                                      "(label, length_mm, contact_diameter_mm) and what is known of the whole "
                                      "(focal_length_mm, back_focus_mm, f_number,\n"
                                      "half_field_deg, stop), form camerawright.puzzle/1. Groups fixed in place carry "
                                      "\"fixed\": {\"position\": 1, \"turned\":\n"
                                      "false}; seats or bores of the barrel go into \"barrel\", one for each place.\n\n"
                                      "  --json        the ranking as JSON\n"
                                      "  --out FILE    the three likeliest, to scale, as .svg, .pdf or .dxf\n",
                                      run_lens_order};
