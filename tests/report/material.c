/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "material.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <jpeglib.h>

#include "../draw/plot_data.h"

enum { STEPS_MOST = 80, PARTS_MOST = 200 };

static plot_data before, after;
static cw_report_step steps[STEPS_MOST];
static cw_report_part parts[PARTS_MOST];
static cw_doc_photo photos[3];
static char paths[4][4200];
static const char *const sheet_names[] = {"light-value", "lens-section", "flat-wrench"};
static cw_sheet_in *sheet_in[CW_COUNT(sheet_names)];
static cw_sheet_out *sheet_out[CW_COUNT(sheet_names)];
static cw_report_sheet sheets[CW_COUNT(sheet_names)];

const char material_long_text[] =
    "Der Verschlu\xc3\x9f l\xc3\xa4uft tr\xc3\xa4ge; \xce\xb7 "
    "\xce\xba\xce\xbf\xcf\x85\xcf\x81\xcf\x84\xce\xaf\xce\xbd\xce\xb1 "
    "\xce\xba\xce\xbf\xce\xbb\xce\xbb\xce\xac\xce\xb5\xce\xb9, \xd0\xb7\xd0\xb0\xd1\x82\xd0\xb2\xd0\xbe\xd1\x80 "
    "\xd0\xb7\xd0\xb0\xd0\xb5\xd0\xb4\xd0\xb0\xd0\xb5\xd1\x82. "
    "aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa"
    "aaaaaaaa "
    "Old grease had turned to varnish on the slow-speed train, so the pallet stuck at 1/15 s and slower; the train was "
    "washed twice in clean solvent outdoors, dried, and its pivots given the smallest drop of watch oil with a needle. "
    "Nothing was bent, nothing was forced, and the spring keeps its old pre-load of two and a quarter turns. End of "
    "text.";

/* The smallest EXIF that says an orientation: TIFF head, one entry (tag 0x0112, SHORT, 1 value). Exif 2.32, 4.6. */
static void write_exif(struct jpeg_compress_struct *jpeg, int orientation)
{
    const unsigned char exif[] = {'E', 'x', 'i', 'f',  0,    0, 'M', 'M', 0, 42, 0, 0, 0,
                                  8,   0,   1,   0x01, 0x12, 0, 3,   0,   0, 0,  1, 0, (unsigned char)orientation,
                                  0,   0,   0,   0,    0,    0};
    jpeg_write_marker(jpeg, JPEG_APP0 + 1, exif, sizeof exif);
}

static void colour(int x, int y, int width, int height, unsigned char *dot)
{
    bool left = x < width / 4, right = x >= width - width / 4, top = y < height / 4, foot = y >= height - height / 4;
    dot[0] = (left && top) ? 230 : (right && top) || (left && foot) ? 20 : (unsigned char)(120 + 60 * sin(x / 17.0));
    dot[1] = (right && top) ? 200 : (left && top) || (left && foot) ? 20 : (unsigned char)(120 + 60 * sin(y / 13.0));
    dot[2] = (left && foot) ? 230 : (right && top) || (left && top) ? 20 : 110;
}

void material_jpeg(const char *path, int width, int height, int orientation)
{
    struct jpeg_compress_struct jpeg = {0};
    struct jpeg_error_mgr trouble;
    FILE *file = fopen(path, "wb");
    unsigned char *row = malloc((size_t)width * 3);
    if (file == NULL || row == NULL) {
        perror(path);
        exit(1);
    }
    jpeg.err = jpeg_std_error(&trouble);
    jpeg_create_compress(&jpeg);
    jpeg_stdio_dest(&jpeg, file);
    jpeg.image_width = (unsigned)width;
    jpeg.image_height = (unsigned)height;
    jpeg.input_components = 3;
    jpeg.in_color_space = JCS_RGB;
    jpeg_set_defaults(&jpeg);
    jpeg_start_compress(&jpeg, TRUE);
    if (orientation > 0)
        write_exif(&jpeg, orientation);
    for (int y = 0; y < height; y++) {
        for (int x = 0; x < width; x++)
            colour(x, y, width, height, row + 3 * x);
        JSAMPROW rows[] = {row};
        jpeg_write_scanlines(&jpeg, rows, 1);
    }
    jpeg_finish_compress(&jpeg);
    jpeg_destroy_compress(&jpeg);
    free(row);
    fclose(file);
}

static void fill_photos(const char *folder)
{
    static const cw_doc_mark marks[] = {{1, 0.2, 0.3, NAN}, {2, 0.7, 0.6, 135}, {117, 0.5, 0.85, NAN}};
    snprintf(paths[0], sizeof paths[0], "%s/top.jpg", folder);
    snprintf(paths[1], sizeof paths[1], "%s/turned.jpg", folder);
    snprintf(paths[2], sizeof paths[2], "%s/not-there.jpg", folder);
    material_jpeg(paths[0], 1600, 1200, 0);
    material_jpeg(paths[1], 1200, 900, 6);
    photos[0] = (cw_doc_photo){
        .path = paths[0], .caption = "Screws 1, 2 and 117 of the top cover", .marks = marks, .mark_count = 3};
    photos[1] = (cw_doc_photo){.path = paths[1]};
    photos[2] = (cw_doc_photo){.path = paths[2], .caption = "A photo that was lost"};
}

static void fill_steps(size_t count)
{
    for (size_t i = 0; i < count && i < STEPS_MOST; i++) {
        steps[i] = (cw_report_step){.number = (long)i + 1,
                                    .title = "Top cover",
                                    .came_off = "Cover with its three screws",
                                    .held_by = "3 screws and a dab of lacquer",
                                    .duration_s = 240 + 700 * (double)i,
                                    .done = true,
                                    .back = i > 3};
        if (i == 1) {
            steps[i].title = "Rewind crank";
            steps[i].thread = "left-hand";
            steps[i].flies = "The click ball and its spring jump when the collar lifts: work inside a clear bag.";
            steps[i].orientation = "Scribed mark towards the eyepiece";
            steps[i].lubricant_to_use = "A trace of light grease on the fork, none on the shaft";
            steps[i].torque = "snug";
            steps[i].check_before_closing = "does the counter return to S?";
            steps[i].photos = photos;
            steps[i].photo_count = 3;
        }
        if (i == 2) {
            steps[i].title =
                "Slow-speed train with a title so long that it has to run over the end of the line and on to the next";
            steps[i].notes = material_long_text;
            steps[i].photos = photos;
            steps[i].photo_count = 1;
        }
        if (i == 3)
            steps[i] = (cw_report_step){.number = 4, .title = "", .duration_s = NAN};
    }
}

static void fill_parts(size_t count)
{
    for (size_t i = 0; i < count && i < PARTS_MOST; i++)
        parts[i] = (cw_report_part){.kind = i % 7 == 3 ? "click spring" : "screw",
                                    .pieces = 1 + (long)(i % 3),
                                    .size = "M1.7",
                                    .length = i % 2 ? "3.2 mm" : "",
                                    .sat = "front, under the leatherette",
                                    .condition = "good",
                                    .state = i % 5 == 4 ? "left out" : "back",
                                    .reason = i % 5 == 4 ? material_long_text : "",
                                    .tray_number = (long)(i % 9),
                                    .step_number = (long)(i % 5),
                                    .out = i == 11};
}

/* Each worksheet with its own example. */
static void fill_sheets(void)
{
    for (size_t i = 0; i < CW_COUNT(sheet_names); i++) {
        cw_error err;
        const cw_worksheet *sheet = cw_worksheet_find(sheet_names[i]);
        if (sheet == NULL || cw_sheet_in_from_pairs(sheet, sheet->example, &sheet_in[i], &err) != CW_OK ||
            cw_sheet_run(sheet, sheet_in[i], &sheet_out[i], &err) != CW_OK) {
            fprintf(stderr, "%s: %s\n", sheet_names[i], sheet == NULL ? "no such worksheet" : err.text);
            exit(1);
        }
        sheets[i] =
            (cw_report_sheet){sheet, sheet_in[i], sheet_out[i], i == 0 ? "in the shade of the workshop" : "", NULL, ""};
    }
}

void material_fill(cw_report *report, const char *folder, size_t step_count)
{
    static const char *const cautions[] = {
        "The flash capacitor may hold a charge for days; have it discharged by a qualified "
        "person."};
    static const char *const todo[] = {"Light seals of the back", "Run a test film"};
    plot_data_fill(&before, false);
    plot_data_fill(&after, true);
    fill_photos(folder);
    fill_steps(step_count);
    fill_parts(step_count * 2);
    fill_sheets();
    *report = (cw_report){.paper = "A4",
                          .made_on = "2 March 2026",
                          .job = "Job 7",
                          .camera = "Ellory Reflex",
                          .serial = "no. 10482, dented corner",
                          .stage = "Proved",
                          .shutter = "focal plane, cloth",
                          .taken_in_on = "2026-01-12",
                          .complaint = "Fast speeds uneven, the right edge of each picture too dark.",
                          .notes = material_long_text,
                          .cover = &photos[0],
                          .before = {&before.test, "2026-01-12", "recording before.wav", ""},
                          .after = {&after.test, "2026-03-01", "recording after.wav",
                                    "19 \xc2\xb0"
                                    "C"},
                          .sheets = sheets,
                          .sheet_count = CW_COUNT(sheets),
                          .steps = steps,
                          .step_count = step_count,
                          .parts = parts,
                          .part_count = step_count * 2,
                          .cautions = cautions,
                          .caution_count = 1,
                          .remaining = todo,
                          .remaining_count = 2};
}

void material_free(void)
{
    for (size_t i = 0; i < CW_COUNT(sheet_names); i++) {
        cw_sheet_in_free(sheet_in[i]);
        cw_sheet_out_free(sheet_out[i]);
        sheet_in[i] = NULL;
        sheet_out[i] = NULL;
    }
}
