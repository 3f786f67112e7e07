/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Photos against tools from outside: tags are written and read by exiftool (Debian libimage-exiftool-perl) and read a
 * second time by exiv2. */
#include "bench_box.h"
#include "pictures.h"

#include <sys/stat.h>

#include "base/file.h"
#include "notebook/archive.h"
#include "notebook/photo.h"
#include "notebook/picture.h"
#include "notebook/step.h"
#include "notebook/store.h"

static void in_box(const bench_box *box, const char *name, char out[600])
{
    snprintf(out, 600, "%s/%s", box->scratch, name);
}

/* What a command prints, without the last line end. */
static void said_by(const char *command, char out[2000])
{
    FILE *pipe = popen(command, "r");
    assert_non_null(pipe);
    size_t got = fread(out, 1, 1999, pipe);
    out[got] = '\0';
    pclose(pipe);
    while (got > 0 && out[got - 1] == '\n')
        out[--got] = '\0';
}

static void run(const char *command)
{
    if (system(command) != 0)
        fail_msg("failed: %s", command);
}

static void file_bytes(const char *path, char **bytes, size_t *size)
{
    cw_error err;
    assert_ok(cw_read_file(path, 60u << 20, bytes, size, &err), &err);
}

static bool same_file(const char *first, const char *second)
{
    char *a, *b;
    size_t n, m;
    file_bytes(first, &a, &n);
    file_bytes(second, &b, &m);
    bool same = n == m && memcmp(a, b, n) == 0;
    free(a);
    free(b);
    return same;
}

static void a_photo_is_kept_untouched_and_described(void **state)
{
    bench_box *box = *state;
    char path[600], command[1500], said[2000], where[4400];
    int64_t job_id = box_job(box, "Tarnbrook 35"), id, twin;
    cw_photo photo;
    in_box(box, "IMG 0042.JPG", path);
    write_jpeg(path, 320, 200, 88, false);
    snprintf(command, sizeof command,
             "exiftool -q -overwrite_original -n -Orientation=6 '-DateTimeOriginal=2026:11:24 17:08:33' '%s'", path);
    run(command);
    assert_ok(cw_photo_import(box->bench, path, job_id, 0, 0, "as it came", &id, &box->err), &box->err);
    assert_ok(cw_photo_get(box->bench, id, &photo, &box->err), &box->err);
    snprintf(command, sizeof command, "exiv2 -q -Pv -g Exif.Image.Orientation '%s'", path);
    said_by(command, said);
    assert_int_equal(photo.orientation, (int)strtol(said, NULL, 10));
    assert_int_equal(photo.orientation, 6);
    assert_int_equal(photo.width_px, 200);
    assert_int_equal(photo.height_px, 320);
    snprintf(command, sizeof command, "exiftool -s3 -d %%Y-%%m-%%dT%%H:%%M:%%S -DateTimeOriginal '%s'", path);
    said_by(command, said);
    assert_string_equal(photo.taken_at, said);
    assert_string_equal(photo.media, "image/jpeg");
    assert_string_equal(photo.name, "IMG 0042.JPG");
    assert_string_equal(photo.caption, "as it came");
    snprintf(command, sizeof command, "sha256sum '%s' | cut -c1-64", path);
    said_by(command, said);
    assert_string_equal(photo.hash, said);
    cw_photo_free(&photo);
    assert_ok(cw_photo_path(box->bench, id, where, sizeof where, &box->err), &box->err);
    assert_true(same_file(path, where));
    assert_ok(cw_photo_import(box->bench, path, job_id, 0, 0, "again", &twin, &box->err), &box->err);
    assert_int_not_equal(twin, id);
}

static void expect_colour(const unsigned char *rgb, int width, int x, int y, char name)
{
    const unsigned char *p = rgb + ((size_t)y * (size_t)width + (size_t)x) * 3;
    char seen = p[0] > 150 && p[1] > 150 ? 'w' : p[0] > 150 ? 'r' : p[1] > 150 ? 'g' : p[2] > 150 ? 'b' : '?';
    assert_int_equal(seen, name);
}

/* EXIF 2.32, tag 0112. Upright, the corners read row by row; stored they are red, green / blue, white. */
static void all_eight_orientations_come_out_upright(void **state)
{
    static const char corners[8][5] = {"rgbw", "grwb", "wbgr", "bwrg", "rbgw", "brwg", "wgbr", "gwrb"};
    bench_box *box = *state;
    char path[600], command[1500], thumb[4400];
    int64_t job_id = box_job(box, "Tarnbrook 35"), id;
    in_box(box, "turned.jpg", path);
    for (int orientation = 1; orientation <= 8; orientation++) {
        int width, height;
        write_jpeg(path, 640, 400, 90, orientation % 2 == 0);
        snprintf(command, sizeof command, "exiftool -q -overwrite_original -n -Orientation=%d '%s'", orientation, path);
        run(command);
        assert_ok(cw_photo_import(box->bench, path, job_id, 0, 0, "", &id, &box->err), &box->err);
        assert_ok(cw_photo_thumb(box->bench, id, CW_THUMB_SMALL, thumb, sizeof thumb, &box->err), &box->err);
        unsigned char *rgb = read_jpeg(thumb, &width, &height);
        assert_int_equal(width, orientation >= 5 ? 100 : 160);
        assert_int_equal(height, orientation >= 5 ? 160 : 100);
        for (int corner = 0; corner < 4; corner++)
            expect_colour(rgb, width, corner % 2 == 0 ? 10 : width - 10, corner < 2 ? 10 : height - 10,
                          corners[orientation - 1][corner]);
        free(rgb);
    }
}

static void small_versions_keep_their_proportions_and_are_never_enlarged(void **state)
{
    bench_box *box = *state;
    char path[600], thumb[4400];
    int64_t job_id = box_job(box, "Tarnbrook 35"), id;
    static const int sizes[][2] = {{2999, 1}, {1, 2999}, {1281, 720}, {159, 23}, {160, 160}, {1, 1}, {7, 481}};
    static const cw_thumb_size sides[] = {CW_THUMB_SMALL, CW_THUMB_MIDDLE, CW_THUMB_LARGE};
    for (size_t i = 0; i < CW_COUNT(sizes) * 2; i++) {
        const int *size = sizes[i / 2];
        in_box(box, "shape", path);
        if (i % 2 == 0)
            write_jpeg(path, size[0], size[1], 80, false);
        else
            write_png(path, size[0], size[1]);
        assert_ok(cw_photo_import(box->bench, path, job_id, 0, 0, "", &id, &box->err), &box->err);
        for (size_t j = 0; j < CW_COUNT(sides); j++) {
            int width, height, longer = size[0] > size[1] ? size[0] : size[1];
            double scale = longer > (int)sides[j] ? (double)sides[j] / longer : 1;
            assert_ok(cw_photo_thumb(box->bench, id, sides[j], thumb, sizeof thumb, &box->err), &box->err);
            free(read_jpeg(thumb, &width, &height));
            assert_near(width, fmax(1, size[0] * scale), 0.51);
            assert_near(height, fmax(1, size[1] * scale), 0.51);
        }
    }
    assert_fails(cw_photo_thumb(box->bench, id, (cw_thumb_size)77, thumb, sizeof thumb, &box->err), CW_INPUT, &box->err,
                 "not 77");
}

/* The mean of a picture does not change when it is made smaller: area averaging loses no light. */
static void shrinking_keeps_the_mean(void **state)
{
    bench_box *box = *state;
    char path[600], *bytes;
    size_t size, small_size;
    unsigned char *small;
    in_box(box, "mean.png", path);
    write_png(path, 1009, 677);
    file_bytes(path, &bytes, &size);
    assert_ok(picture_thumb((unsigned char *)bytes, size, 160, &small, &small_size, &box->err), &box->err);
    in_box(box, "mean.jpg", path);
    assert_ok(cw_write_file(path, small, small_size, &box->err), &box->err);
    int width, height;
    unsigned char *rgb = read_jpeg(path, &width, &height), *whole = quarters(1009, 677);
    for (int c = 0; c < 3; c++) {
        double before = 0, after = 0;
        for (int i = 0; i < 1009 * 677; i++)
            before += whole[i * 3 + c];
        for (int i = 0; i < width * height; i++)
            after += rgb[i * 3 + c];
        assert_near(after / (width * height), before / (1009 * 677), 1.5);
    }
    free(whole);
    free(rgb);
    free(small);
    free(bytes);
}

static void expect_refusal(bench_box *box, int64_t job_id, const void *bytes, size_t size, const char *words)
{
    char path[600];
    int64_t id = -1;
    in_box(box, "bad.jpg", path);
    assert_ok(cw_write_file(path, bytes, size, &box->err), &box->err);
    assert_fails(cw_photo_import(box->bench, path, job_id, 0, 0, "", &id, &box->err), CW_INPUT, &box->err, words);
    assert_int_equal(id, -1);
    assert_contains(box->err.text, "bad.jpg");
}

static void what_is_no_whole_picture_is_refused_in_words(void **state)
{
    bench_box *box = *state;
    char path[600], *jpeg, *png;
    size_t jpeg_size, png_size;
    int64_t job_id = box_job(box, "Tarnbrook 35"), count;
    in_box(box, "good.jpg", path);
    write_jpeg(path, 300, 200, 85, false);
    file_bytes(path, &jpeg, &jpeg_size);
    in_box(box, "good.png", path);
    write_png(path, 300, 200);
    file_bytes(path, &png, &png_size);

    expect_refusal(box, job_id, "", 0, "empty");
    expect_refusal(box, job_id, "hello, this is no picture", 25, "neither a JPEG nor a PNG");
    expect_refusal(box, job_id,
                   "\0\0\0\x18"
                   "ftypheic\0\0\0\0mif1heic",
                   24, "set the phone's camera to JPEG");
    expect_refusal(box, job_id,
                   "\0\0\0\x18"
                   "ftypisom\0\0\0\0mp42isom",
                   24, "a video");
    expect_refusal(box, job_id, "II*\0\x08\0\0\0", 8, "TIFF or raw");
    for (size_t cut = 4; cut < jpeg_size; cut += 1 + cut / 9)
        expect_refusal(box, job_id, jpeg, cut, "cut off");
    for (size_t cut = 9; cut < png_size; cut += 1 + cut / 5)
        expect_refusal(box, job_id, png, cut, "cut off");
    png[png_size / 2] = (char)(png[png_size / 2] ^ 1);
    expect_refusal(box, job_id, png, png_size, "checksum");
    char *lie = malloc(jpeg_size);
    memcpy(lie, jpeg, jpeg_size);
    unsigned char *frame = memmem(lie, jpeg_size, "\xff\xc0", 2);
    assert_non_null(frame);
    memcpy(frame + 5, "\xff\xff\xff\xff", 4); /* 65535 x 65535 pixels */
    expect_refusal(box, job_id, lie, jpeg_size, "250 million");
    memcpy(frame + 5, "\0\0\0\1", 4);
    expect_refusal(box, job_id, lie, jpeg_size, "1 x 0 pixels");
    memcpy(frame, "\xff\xc3", 2);
    expect_refusal(box, job_id, lie, jpeg_size, "kind of JPEG");
    memcpy(lie, jpeg, jpeg_size);
    lie[20] = 'x';
    expect_refusal(box, job_id, lie, jpeg_size, "should start a segment");
    assert_ok(store_number(box->bench, "SELECT count(*) FROM photo", STORE_NO_VALUES, &count, &box->err), &box->err);
    assert_int_equal(count, 0);
    in_box(box, "bench/photos", path);
    assert_int_equal(rmdir(path), 0); /* nothing was kept */
    free(lie);
    free(jpeg);
    free(png);
}

/* Bytes of the compressed data changed at random: the structure stands, and the thumb comes or says why not. */
static void damage_inside_never_harms(void **state)
{
    bench_box *box = *state;
    char path[600], *bytes;
    size_t size;
    check_random random = {.state = 11};
    in_box(box, "inner.jpg", path);
    write_jpeg(path, 400, 300, 75, true);
    file_bytes(path, &bytes, &size);
    int shown = 0, refused = 0;
    for (int round = 0; round < 300; round++) {
        unsigned char *copy = malloc(size), *thumb;
        size_t thumb_size;
        memcpy(copy, bytes, size);
        for (int i = 0; i < 1 + round % 7; i++)
            copy[(size_t)(check_uniform(&random) * (double)size)] = (unsigned char)(check_uniform(&random) * 256);
        if (picture_thumb(copy, size, 160, &thumb, &thumb_size, &box->err) == CW_OK) {
            shown++;
            free(thumb);
        } else {
            refused++;
        }
        free(copy);
    }
    free(bytes);
    assert_true(shown > 50 && refused > 10);
}

/* exiftool writes the place in every way a phone does; afterwards neither exiftool nor exiv2 finds one. */
static void the_place_is_taken_out_and_nothing_else(void **state)
{
    bench_box *box = *state;
    char plain[600], place[600], out[600], command[5000], said[2000];
    int64_t job_id = box_job(box, "Tarnbrook 35"), id;
    static const char *const kinds[] = {"p.jpg", "p.png"};
    for (size_t i = 0; i < CW_COUNT(kinds); i++) {
        char name[40];
        in_box(box, kinds[i], plain);
        snprintf(name, sizeof name, "gps-%s", kinds[i]);
        in_box(box, name, place);
        in_box(box, i == 0 ? "out.jpg" : "out.png", out);
        if (i == 0)
            write_jpeg(plain, 300, 200, 85, false);
        else
            write_png(plain, 300, 200);
        snprintf(
            command, sizeof command,
            "exiftool -q -overwrite_original -n -Orientation=8 -ISO=400 -FNumber=5.6 '-UserComment=top plate' '%s' && "
            "exiftool -q -n -GPSLatitude=48.137154 -GPSLatitudeRef=N -GPSLongitude=11.576124 -GPSLongitudeRef=E "
            "-GPSAltitude=519 '-GPSDateStamp=2026:11:24' -XMP:GPSLatitude=48.137154 -o '%s' '%s'",
            plain, place, plain);
        run(command);
        snprintf(command, sizeof command, "exiftool -a -G1 -s '%s' | grep -c GPS", place);
        said_by(command, said);
        assert_true((int)strtol(said, NULL, 10) >= 6);

        assert_ok(cw_photo_import(box->bench, place, job_id, 0, 0, "", &id, &box->err), &box->err);
        assert_ok(cw_photo_export(box->bench, id, out, &box->err), &box->err);
        snprintf(command, sizeof command, "exiftool -a -G1 -s -u -U -ee '%s' | grep -ci 'gps\\|48.13\\|11.57'", out);
        said_by(command, said);
        assert_string_equal(said, "0");
        snprintf(command, sizeof command, "exiv2 -q -Pk '%s' 2>&1 | grep -c GPS", out);
        said_by(command, said);
        assert_string_equal(said, "0");
        snprintf(command, sizeof command, "exiftool -validate -warning -a -s3 '%s'", out);
        said_by(command, said);
        snprintf(command, sizeof command, "exiftool -validate -warning -a -s3 '%s'", plain);
        char before[2000];
        said_by(command, before);
        assert_string_equal(said, before);
        snprintf(
            command, sizeof command,
            "exiftool -n -s -Orientation -ISO -FNumber -UserComment '%s' > '%s.1'; exiftool -n -s -Orientation -ISO "
            "-FNumber -UserComment '%s' > '%s.2'; cmp '%s.1' '%s.2' && wc -l < '%s.1'",
            plain, out, out, out, out, out, out);
        said_by(command, said);
        assert_string_equal(said, "4");

        /* One without a place goes out bit for bit. */
        assert_ok(cw_photo_import(box->bench, plain, job_id, 0, 0, "", &id, &box->err), &box->err);
        assert_ok(cw_photo_export(box->bench, id, out, &box->err), &box->err);
        assert_true(same_file(plain, out));
    }
}

/* Phones hang a second picture or a film with its own place behind the photo. */
static void what_hangs_behind_a_photo_is_dropped(void **state)
{
    bench_box *box = *state;
    char path[600], out[600], *bytes;
    size_t size, out_size;
    int64_t job_id = box_job(box, "Tarnbrook 35"), id;
    in_box(box, "motion.jpg", path);
    write_jpeg(path, 64, 48, 85, false);
    file_bytes(path, &bytes, &size);
    free(bytes);
    FILE *file = fopen(path, "ab");
    fputs("....ftypmp42 +48.1371+011.5761/", file);
    fclose(file);
    in_box(box, "still.jpg", out);
    assert_ok(cw_photo_import(box->bench, path, job_id, 0, 0, "", &id, &box->err), &box->err);
    assert_ok(cw_photo_export(box->bench, id, out, &box->err), &box->err);
    file_bytes(out, &bytes, &out_size);
    free(bytes);
    assert_int_equal(out_size, size);
}

static void marks_are_numbered_and_stay_inside(void **state)
{
    bench_box *box = *state;
    char path[600];
    int64_t job_id = box_job(box, "Tarnbrook 35"), photo_id, id;
    cw_photo_mark_list list;
    in_box(box, "m.jpg", path);
    write_jpeg(path, 64, 48, 85, false);
    assert_ok(cw_photo_import(box->bench, path, job_id, 0, 0, "", &photo_id, &box->err), &box->err);
    cw_photo_mark mark = {.photo_id = photo_id, .x = 0.31, .y = 1, .text = "long screw", .hook_deg = NAN};
    assert_ok(cw_photo_mark_add(box->bench, &mark, &id, &box->err), &box->err);
    mark.hook_deg = 359.5;
    assert_ok(cw_photo_mark_add(box->bench, &mark, &id, &box->err), &box->err);
    mark.number = 2;
    assert_fails(cw_photo_mark_add(box->bench, &mark, &id, &box->err), CW_CONFLICT, &box->err, "a mark 2 already");
    mark.number = 0;
    mark.x = 1.0001;
    assert_fails(cw_photo_mark_add(box->bench, &mark, &id, &box->err), CW_INPUT, &box->err, "outside the picture");
    mark.x = NAN;
    assert_fails(cw_photo_mark_add(box->bench, &mark, &id, &box->err), CW_INPUT, &box->err, "outside the picture");
    mark.x = 0;
    mark.hook_deg = 360;
    assert_fails(cw_photo_mark_add(box->bench, &mark, &id, &box->err), CW_INPUT, &box->err, "below 360");
    assert_ok(cw_photo_mark_page(box->bench, photo_id, &list, &box->err), &box->err);
    assert_int_equal(list.count, 2);
    assert_true(isnan(list.items[0].hook_deg));
    assert_true(list.items[1].hook_deg == 359.5 && list.items[1].x == 0.31);
    cw_photo_mark_list_free(&list);

    cw_job job;
    assert_ok(cw_job_get(box->bench, job_id, &job, &box->err), &box->err);
    job.cover_photo_id = photo_id;
    assert_ok(cw_job_update(box->bench, &job, &box->err), &box->err);
    cw_job_free(&job);
    assert_ok(cw_photo_delete(box->bench, photo_id, &box->err), &box->err);
    assert_ok(cw_job_get(box->bench, job_id, &job, &box->err), &box->err);
    assert_int_equal(job.cover_photo_id, 0);
    cw_job_free(&job);
    assert_ok(cw_undo(box->bench, job_id, NULL, &box->err), &box->err);
    assert_ok(cw_photo_mark_page(box->bench, photo_id, &list, &box->err), &box->err);
    assert_int_equal(list.count, 2);
    cw_photo_mark_list_free(&list);
    assert_ok(cw_photo_path(box->bench, photo_id, path, sizeof path, &box->err), &box->err);
}

static void photos_belong_to_steps_of_their_job(void **state)
{
    bench_box *box = *state;
    char path[600];
    int64_t job_id = box_job(box, "Tarnbrook 35"), other = box_job(box, "Ellory Reflex"), step_id, id = 0;
    in_box(box, "s.png", path);
    write_png(path, 40, 30);
    cw_step step = {.job_id = job_id, .title = "Top cover", .state = CW_STEP_DONE, .duration_s = NAN};
    assert_ok(cw_step_add(box->bench, &step, 0, &step_id, &box->err), &box->err);
    assert_fails(cw_photo_import(box->bench, path, other, step_id, 0, "", &id, &box->err), CW_NOT_FOUND, &box->err,
                 "no step with the id");
    assert_fails(cw_photo_import(box->bench, path, 999, 0, 0, "", &id, &box->err), CW_NOT_FOUND, &box->err,
                 "no job 999");
    assert_ok(cw_photo_import(box->bench, path, job_id, step_id, 0, "", &id, &box->err), &box->err);
    cw_photo_list list;
    cw_photo_filter filter = {.step_id = step_id, .most = 5};
    assert_ok(cw_photo_page(box->bench, &filter, &list, &box->err), &box->err);
    assert_int_equal(list.total, 1);
    assert_string_equal(list.items[0].media, "image/png");
    cw_photo_list_free(&list);
    cw_photo photo;
    assert_ok(cw_photo_get(box->bench, id, &photo, &box->err), &box->err);
    photo.step_id = 0;
    photo.caption = "before anything was touched";
    assert_ok(cw_photo_update(box->bench, &photo, &box->err), &box->err);
    cw_photo_free(&photo);
    assert_ok(cw_photo_page(box->bench, &filter, &list, &box->err), &box->err);
    assert_int_equal(list.total, 0);
    cw_photo_list_free(&list);
}

CHECK_MAIN(BOX_TEST(a_photo_is_kept_untouched_and_described), BOX_TEST(all_eight_orientations_come_out_upright),
           BOX_TEST(small_versions_keep_their_proportions_and_are_never_enlarged), BOX_TEST(shrinking_keeps_the_mean),
           BOX_TEST(what_is_no_whole_picture_is_refused_in_words), BOX_TEST(damage_inside_never_harms),
           BOX_TEST(the_place_is_taken_out_and_nothing_else), BOX_TEST(what_hangs_behind_a_photo_is_dropped),
           BOX_TEST(marks_are_numbered_and_stay_inside), BOX_TEST(photos_belong_to_steps_of_their_job))
