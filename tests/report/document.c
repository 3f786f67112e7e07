/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/document.h"

#include <dirent.h>
#include <math.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <unistd.h>

#include "base/file.h"
#include "material.h"
#include "report/labels.h"
#include "report/photo.h"
#include "support/check.h"

static cw_document *empty(void)
{
    cw_error err;
    cw_document *d;
    assert_ok(cw_document_new(&(cw_document_look){.paper = "A4", .title = "Test"}, &d, &err), &err);
    return d;
}

static void unknown_paper_is_refused(void **state)
{
    (void)state;
    cw_error err;
    cw_document *d;
    cw_report report = {.paper = "B4"};
    assert_fails(cw_document_new(&(cw_document_look){.paper = "postcard"}, &d, &err), CW_INPUT, &err, "\"postcard\"");
    assert_fails(cw_report_make(&report, &d, &err), CW_INPUT, &err, "A4, A3, A2, Letter");
}

static void the_first_failure_is_kept(void **state)
{
    (void)state;
    cw_error err;
    cw_buf out = cw_buf_new(1 << 20);
    cw_document *d = empty();
    cw_doc_svg(d, "<svg", 0, NULL);
    cw_doc_paragraph(d, "more");
    assert_fails(cw_document_check(d, &err), CW_RANGE, &err, "a picture of the document cannot be drawn");
    assert_fails(cw_document_pdf(d, &out, &err), CW_RANGE, &err, "cannot be drawn");
    assert_fails(cw_document_save(d, "/nowhere/at/all.pdf", &err), CW_RANGE, &err, "cannot be drawn");
    cw_document_free(d);
    d = empty();
    cw_doc_table_add(d, &(cw_doc_table){.column_count = 40});
    assert_fails(cw_document_check(d, &err), CW_RANGE, &err, "40 columns");
    cw_document_free(d);
    assert_int_equal(out.length, 0);
}

static size_t files_in(const char *folder)
{
    DIR *dir = opendir(folder);
    size_t count = 0;
    assert_non_null(dir);
    for (struct dirent *entry; (entry = readdir(dir)) != NULL;)
        count += entry->d_name[0] != '.';
    closedir(dir);
    return count;
}

/* A disk that takes no more than 20 KB stands for a full one: the old file stays, no piece is left, and it is said. */
static void a_full_disk_is_said_and_the_old_file_stays(void **state)
{
    (void)state;
    char folder[300], path[400], *bytes;
    size_t count;
    cw_error err;
    check_folder("report", folder, sizeof folder);
    snprintf(path, sizeof path, "%s/report.pdf", folder);
    assert_ok(cw_write_file(path, "old", 3, &err), &err);
    cw_document *d = empty();
    for (int i = 0; i < 4000; i++) {
        char text[64];
        snprintf(text, sizeof text, "Line %d of a report that is long: %d", i, i * 7919 % 10007);
        cw_doc_paragraph(d, text);
    }
    struct rlimit kept, little;
    assert_int_equal(getrlimit(RLIMIT_FSIZE, &kept), 0);
    little = (struct rlimit){20000, kept.rlim_max};
    signal(SIGXFSZ, SIG_IGN);
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &little), 0);
    cw_status status = cw_document_save(d, path, &err);
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &kept), 0);
    signal(SIGXFSZ, SIG_DFL);
    assert_fails(status, CW_FILE, &err, "File too large");
    assert_contains(err.text, "report.pdf");
    assert_ok(cw_read_file(path, 100, &bytes, &count, &err), &err);
    assert_int_equal(count, 3);
    assert_int_equal(files_in(folder), 1);
    free(bytes);
    /* With room again it is written whole. */
    assert_ok(cw_document_save(d, path, &err), &err);
    assert_ok(cw_read_file(path, 10 << 20, &bytes, &count, &err), &err);
    assert_memory_equal(bytes, "%PDF-", 5);
    assert_memory_equal(bytes + count - 6, "%%EOF\n", 6);
    free(bytes);
    cw_document_free(d);
    unlink(path);
    rmdir(folder);
}

/* Which of the marked corners (red upper left, green upper right, blue lower left, none lower right) a camera's
 * orientation brings to the upper left and upper right. Exif 2.32, tag 274: where row 0 and column 0 lie in the scene.
 */
static void all_eight_ways_to_hold_a_camera(void **state)
{
    (void)state;
    static const char expected[9][3] = {"rg", "rg", "gr", "-b", "b-", "rb", "br", "-g", "g-"};
    char folder[300], path[400];
    cw_error err;
    check_folder("photo", folder, sizeof folder);
    snprintf(path, sizeof path, "%s/p.jpg", folder);
    for (int orientation = 0; orientation <= 8; orientation++) {
        cw_print_photo photo;
        cairo_surface_t *surface;
        material_jpeg(path, 320, 240, orientation);
        assert_ok(cw_print_photo_look(path, &photo, &err), &err);
        assert_int_equal(photo.width, orientation >= 5 ? 240 : 320);
        assert_int_equal(photo.height, orientation >= 5 ? 320 : 240);
        assert_ok(cw_print_photo_load(path, &photo, 120, &surface, &err), &err);
        assert_int_equal(cairo_image_surface_get_width(surface), 120);
        for (int side = 0; side < 2; side++) {
            uint32_t dot;
            int stride = cairo_image_surface_get_stride(surface);
            memcpy(&dot, cairo_image_surface_get_data(surface) + 8 * stride + 4 * (side == 0 ? 8 : 111), 4);
            int r = (dot >> 16) & 255, g = (dot >> 8) & 255, b = dot & 255;
            char found = r > 180 && g < 80 && b < 80   ? 'r'
                         : g > 150 && r < 80 && b < 80 ? 'g'
                         : b > 180 && r < 80 && g < 80 ? 'b'
                                                       : '-';
            if (found != expected[orientation][side])
                fail_msg("orientation %d, side %d: %c instead of %c", orientation, side, found,
                         expected[orientation][side]);
        }
        cairo_surface_destroy(surface);
    }
    unlink(path);
    rmdir(folder);
}

static void damaged_photos_are_refused(void **state)
{
    (void)state;
    char folder[300], path[400], *bytes;
    size_t count;
    cw_error err;
    cw_print_photo photo;
    cairo_surface_t *surface;
    check_folder("photo", folder, sizeof folder);
    snprintf(path, sizeof path, "%s/p.jpg", folder);
    material_jpeg(path, 640, 480, 1);
    assert_ok(cw_read_file(path, 1 << 20, &bytes, &count, &err), &err);
    assert_ok(cw_write_file(path, bytes, count / 2, &err), &err);
    assert_ok(cw_print_photo_look(path, &photo, &err), &err);
    assert_fails(cw_print_photo_load(path, &photo, 300, &surface, &err), CW_INPUT, &err, "damaged or cut short");
    assert_ok(cw_write_file(path, bytes, 30, &err), &err);
    assert_fails(cw_print_photo_look(path, &photo, &err), CW_INPUT, &err, "p.jpg");
    assert_ok(cw_write_file(path, "GIF89a and more of it", 20, &err), &err);
    assert_fails(cw_print_photo_look(path, &photo, &err), CW_INPUT, &err, "neither a JPEG nor a PNG");
    assert_ok(cw_write_file(path, "\x89PNG\r\n\x1a\n\0\0\0\rIHDR\xff\xff\xff\xff\0\0\0\1", 24, &err), &err);
    assert_fails(cw_print_photo_look(path, &photo, &err), CW_INPUT, &err, "impossible size");
    assert_ok(cw_write_file(path, "", 0, &err), &err);
    assert_fails(cw_print_photo_look(path, &photo, &err), CW_INPUT, &err, "neither");
    unlink(path);
    assert_fails(cw_print_photo_look(path, &photo, &err), CW_FILE, &err, "cannot be opened");
    free(bytes);
    rmdir(folder);
}

static void labels_too_small_for_their_code_say_what_would_do(void **state)
{
    (void)state;
    cw_error err;
    cw_buf out = cw_buf_new(4 << 20);
    size_t count;
    cw_label label = {7, "top cover", "http://192.168.178.23:8421/trays/7"};
    cw_label_sheet sheet = {"A4", 20, NULL, 0};
    assert_fails(cw_labels_pdf(&sheet, &label, 1, &out, &err), CW_RANGE, &err, "take one of 23 mm or more");
    sheet.diameter_mm = 23; /* 29 modules of 0.35 mm over a share of 0.46: 22.07 */
    assert_ok(cw_labels_pdf(&sheet, &label, 1, &out, &err), &err);
    cw_buf_free(&out);
    label.qr = NULL;
    sheet.diameter_mm = 10;
    assert_ok(cw_labels_pdf(&sheet, &label, 1, &out, &err), &err);
    cw_buf_free(&out);
    sheet.diameter_mm = NAN;
    assert_fails(cw_labels_pdf(&sheet, &label, 1, &out, &err), CW_RANGE, &err, "nan mm across; 10 to 100");
    sheet.diameter_mm = 30;
    assert_fails(cw_labels_pdf(&sheet, &label, 0, &out, &err), CW_RANGE, &err, "0 labels");
    label.number = -1;
    assert_fails(cw_labels_pdf(&sheet, &label, 1, &out, &err), CW_RANGE, &err, "label number -1");
    assert_ok(cw_labels_a_sheet(&sheet, &count, &err), &err);
    assert_int_equal(count, 5 * 8); /* (190 + 2.5) / 32.5 and (263 + 2.5) / 32.5 */
    assert_int_equal(out.length, 0);
}

CHECK_MAIN(cmocka_unit_test(unknown_paper_is_refused), cmocka_unit_test(the_first_failure_is_kept),
           cmocka_unit_test(a_full_disk_is_said_and_the_old_file_stays),
           cmocka_unit_test(all_eight_ways_to_hold_a_camera), cmocka_unit_test(damaged_photos_are_refused),
           cmocka_unit_test(labels_too_small_for_their_code_say_what_would_do))
