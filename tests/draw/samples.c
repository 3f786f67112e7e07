/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Writes one of each file into a folder, for the readers in outside.py. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "draw/drawing.h"
#include "draw/mesh.h"
#include "draw/sheet.h"

static void must(cw_status status, const cw_error *err)
{
    if (status == CW_OK)
        return;
    fprintf(stderr, "%s\n", err->text);
    exit(1);
}

static void save(const char *folder, const char *name, cw_buf *out)
{
    char path[4096];
    cw_error err;
    snprintf(path, sizeof path, "%s/%s", folder, name);
    must(cw_buf_check(out, name, &err), &err);
    FILE *file = fopen(path, "wb");
    if (file == NULL || fwrite(out->text, 1, out->length, file) != out->length || fclose(file) != 0) {
        perror(path);
        exit(1);
    }
    cw_buf_free(out);
}

/* A flat wrench for a slotted ring, with one of everything a drawing can hold. */
static cw_drawing *wrench(void)
{
    cw_error err;
    cw_drawing *d;
    must(cw_drawing_new("Flat wrench, 23.4 mm span, 1.2 mm slots",
                        "A strip of steel with two filed tips 23.4 mm apart and a cutout that clears the barrel.", &d,
                        &err),
         &err);
    cw_point outline[] = {{-45, 0},   {-13.2, 0}, {-13.2, -3}, {-10.2, -3}, {-10.2, 0}, {10.2, 0},
                          {10.2, -3}, {13.2, -3}, {13.2, 0},   {45, 0},     {45, 25},   {-45, 25}};
    cw_draw_path(d, CW_LAYER_CUT, outline, CW_COUNT(outline), true);
    cw_draw_arc(d, CW_LAYER_HIDDEN, (cw_point){0, 0}, 8, 0, M_PI);
    cw_draw_circle(d, CW_LAYER_DRILL, (cw_point){-35, 12.5}, 3);
    cw_draw_circle(d, CW_LAYER_DRILL, (cw_point){35, 12.5}, 0.8);
    cw_draw_line(d, CW_LAYER_CENTRE, (cw_point){0, -8}, (cw_point){0, 30});
    cw_draw_line(d, CW_LAYER_FOLD, (cw_point){-45, 20}, (cw_point){45, 20});
    cw_draw_dimension(d, (cw_point){-11.7, -3}, (cw_point){11.7, -3}, -8, "23.4 \xc2\xb1 0.1 mm");
    cw_draw_dimension(d, (cw_point){-13.2, -3}, (cw_point){-10.2, -3}, -16, "3 mm");
    cw_draw_dimension(d, (cw_point){45, 0}, (cw_point){45, 25}, -8, "25 mm");
    cw_draw_dimension(d, (cw_point){-45, 25}, (cw_point){-45, 0}, -8, "25 mm, \xc3\x98 6");
    cw_draw_dimension(d, (cw_point){10, 25}, (cw_point){11, 25}, 6, "1.0 mm");
    cw_draw_text(d, CW_LAYER_NOTE, (cw_point){0, 14}, 3, CW_TEXT_MIDDLE, 0,
                 "mild steel, 2 mm, 20 \xc2\xb0"
                 "C");
    cw_draw_text(d, CW_LAYER_NOTE, (cw_point){44, 2}, 2, CW_TEXT_END, 0, "this side up");
    return d;
}

/* Four short bars whose middles bound 160 x 200 mm, and a ring of 100 mm: what the paper must show true. */
static cw_drawing *gauge(void)
{
    cw_error err;
    cw_drawing *d;
    must(cw_drawing_new("Gauge", "Bars to be measured on paper.", &d, &err), &err);
    cw_draw_line(d, CW_LAYER_CUT, (cw_point){0, 90}, (cw_point){0, 110});
    cw_draw_line(d, CW_LAYER_CUT, (cw_point){160, 90}, (cw_point){160, 110});
    cw_draw_line(d, CW_LAYER_CUT, (cw_point){70, 0}, (cw_point){90, 0});
    cw_draw_line(d, CW_LAYER_CUT, (cw_point){70, 200}, (cw_point){90, 200});
    cw_draw_circle(d, CW_LAYER_CUT, (cw_point){80, 100}, 50);
    return d;
}

/* A sector with long radii, two pages and more. */
static cw_drawing *large(void)
{
    cw_error err;
    cw_drawing *d;
    must(cw_drawing_new(
             "Clamp block, left and right half, with a title that is much longer than the sheet is wide and goes on",
             "Two halves of a board with a bore of 62 mm; the saw runs through the middle of the bore. Cut the "
             "pages along the frame, lay the marks over each other and glue them to the board before sawing.",
             &d, &err),
         &err);
    cw_point board[] = {{0, 0}, {330, 0}, {330, 300}, {0, 300}};
    cw_draw_path(d, CW_LAYER_CUT, board, 4, true);
    cw_draw_circle(d, CW_LAYER_CUT, (cw_point){165, 150}, 120);
    cw_draw_line(d, CW_LAYER_CENTRE, (cw_point){165, -10}, (cw_point){165, 310});
    cw_draw_dimension(d, (cw_point){0, 0}, (cw_point){330, 0}, -10, "330 mm");
    return d;
}

/* A cemented doublet with rays. */
static cw_drawing *lens(void)
{
    cw_error err;
    cw_drawing *d;
    must(cw_drawing_new("Doublet", "Section of a cemented doublet with three rays.", &d, &err), &err);
    cw_point glass[64];
    for (int k = 0; k < 2; k++) {
        size_t n = 0;
        for (int i = -12; i <= 12; i++)
            glass[n++] = (cw_point){k * 6 + (k == 0 ? i * i / 60.0 : -i * i / 50.0), i};
        for (int i = 12; i >= -12; i--)
            glass[n++] = (cw_point){k == 0 ? 6 - i * i / 50.0 : 9 - i * i / 140.0, i};
        cw_draw_path(d, CW_LAYER_GLASS, glass, n, true);
    }
    for (int i = -8; i <= 8; i += 8) {
        cw_point ray[] = {{-15, i}, {0, i}, {9, i * 0.9}, {60, 0}};
        cw_draw_path(d, CW_LAYER_RAY, ray, 4, false);
    }
    cw_draw_line(d, CW_LAYER_CENTRE, (cw_point){-20, 0}, (cw_point){70, 0});
    cw_draw_text(d, CW_LAYER_NOTE, (cw_point){60, 3}, 2.5, CW_TEXT_MIDDLE, 0, "film");
    return d;
}

static void all_of(const char *folder, const char *name, cw_drawing *d)
{
    cw_error err;
    cw_buf out = cw_buf_new(64 << 20);
    char file[128];
    must(cw_drawing_svg(d, &out, &err), &err);
    snprintf(file, sizeof file, "%s.svg", name);
    save(folder, file, &out);
    must(cw_drawing_sheet(d, &(cw_sheet_look){"A4", "Tarnbrook 35, job 7 \xc2\xb7 2 March"}, &out, &err), &err);
    snprintf(file, sizeof file, "%s.pdf", name);
    save(folder, file, &out);
    must(cw_drawing_pdf(d, "Letter", &out, &err), &err);
    snprintf(file, sizeof file, "%s-letter.pdf", name);
    save(folder, file, &out);
    must(cw_drawing_dxf(d, &out, &err), &err);
    snprintf(file, sizeof file, "%s.dxf", name);
    save(folder, file, &out);
    must(cw_drawing_png(d, 150, &out, &err), &err);
    snprintf(file, sizeof file, "%s.png", name);
    save(folder, file, &out);
    cw_drawing_free(d);
}

static void save_mesh(const char *folder, const char *name, cw_mesh *mesh)
{
    cw_error err;
    cw_buf out = cw_buf_new(64 << 20);
    must(cw_mesh_stl(mesh, &out, &err), &err);
    save(folder, name, &out);
    cw_mesh_free(mesh);
}

static cw_mesh *solid(const char *title)
{
    cw_error err;
    cw_mesh *mesh;
    must(cw_mesh_new(title, &mesh, &err), &err);
    return mesh;
}

static void solids(const char *folder)
{
    cw_mesh *mesh = solid("solid friction ring \xc3\xa9");
    cw_mesh_ring(mesh, 20, 26, 0, 12, 180);
    save_mesh(folder, "ring.stl", mesh);

    mesh = solid("knob on its axis");
    const cw_vertex profile[] = {{0, 0, 0}, {10, 0, 0}, {10, 4, 0}, {6, 8, 0}, {6, 15, 0}, {0, 17, 0}};
    cw_mesh_turned(mesh, profile, CW_COUNT(profile), 96);
    save_mesh(folder, "knob.stl", mesh);

    mesh = solid("plate with a slot and a row of holes");
    cw_point outline[72], slot[] = {{-30, -2}, {30, -2}, {30, 2}, {-30, 2}}, rounds[7][24];
    for (int i = 0; i < 72; i++)
        outline[i] = (cw_point){(45 + 3 * (i % 2)) * cos(i * M_PI / 36), (45 + 3 * (i % 2)) * sin(i * M_PI / 36)};
    cw_outline holes[8] = {{slot, 4}};
    for (int k = 0; k < 7; k++) {
        for (int i = 0; i < 24; i++)
            rounds[k][i] = (cw_point){(k - 3) * 10 + 3 * cos(i * M_PI / 12), 15 + 3 * sin(i * M_PI / 12)};
        holes[k + 1] = (cw_outline){rounds[k], 24};
    }
    cw_mesh_plate(mesh, (cw_outline){outline, 72}, holes, 8, 0, 3);
    save_mesh(folder, "plate.stl", mesh);
}

int main(int argc, char **argv)
{
    if (argc != 2)
        return 2;
    all_of(argv[1], "wrench", wrench());
    all_of(argv[1], "gauge", gauge());
    all_of(argv[1], "large", large());
    all_of(argv[1], "lens", lens());
    solids(argv[1]);
    return 0;
}
