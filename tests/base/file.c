/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/file.h"

#include <dirent.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <unistd.h>

#include "base/buf.h"
#include "support/check.h"

static size_t files_in(const char *folder)
{
    size_t count = 0;
    DIR *open = opendir(folder);
    for (struct dirent *entry; (entry = readdir(open)) != NULL;)
        count += entry->d_name[0] != '.';
    closedir(open);
    return count;
}

static void a_written_file_is_whole_and_alone(void **state)
{
    (void)state;
    cw_error err;
    char folder[400], path[500], *bytes;
    size_t count;
    check_folder("file", folder, sizeof folder);
    snprintf(path, sizeof path, "%s/report.pdf", folder);
    assert_ok(cw_write_file(path, "first", 5, &err), &err);
    assert_ok(cw_write_file(path, "second one", 10, &err), &err);
    assert_ok(cw_read_file(path, 100, &bytes, &count, &err), &err);
    assert_int_equal(count, 10);
    assert_string_equal(bytes, "second one");
    free(bytes);
    assert_int_equal(files_in(folder), 1);
    assert_fails(cw_read_file(path, 9, &bytes, &count, &err), CW_RANGE, &err, "larger than 9 bytes");
    unlink(path);
    assert_fails(cw_read_file(path, 9, &bytes, &count, &err), CW_INPUT, &err, "No such file");
    assert_fails(cw_read_file(folder, 9, &bytes, &count, &err), CW_INPUT, &err, "is a folder");
    rmdir(folder);
}

/* A limit on the file size stands in for the full disk: the write fails half way, the old file must still be whole. */
static void a_full_disk_leaves_the_old_file(void **state)
{
    (void)state;
    cw_error err;
    char folder[400], path[500], *bytes;
    size_t count;
    check_folder("full", folder, sizeof folder);
    snprintf(path, sizeof path, "%s/notes", folder);
    assert_ok(cw_write_file(path, "old", 3, &err), &err);

    char *much = calloc(1, 300000);
    struct rlimit before, small;
    assert_int_equal(getrlimit(RLIMIT_FSIZE, &before), 0);
    small = before;
    small.rlim_cur = 65536;
    signal(SIGXFSZ, SIG_IGN);
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &small), 0);
    cw_status status = cw_write_file(path, much, 300000, &err);
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &before), 0);
    free(much);
    assert_int_equal(status, CW_FILE);
    assert_contains(err.text, "failed");

    assert_ok(cw_read_file(path, 100, &bytes, &count, &err), &err);
    assert_string_equal(bytes, "old");
    free(bytes);
    assert_int_equal(files_in(folder), 1);
    unlink(path);
    rmdir(folder);
}

static void a_folder_that_is_not_there_is_said(void **state)
{
    (void)state;
    cw_error err;
    assert_fails(cw_write_file("/no/such/folder/x", "x", 1, &err), CW_FILE, &err, "/no/such/folder/x");
}

static void a_buffer_remembers_its_ceiling(void **state)
{
    (void)state;
    cw_error err;
    char *text;
    cw_buf buf = cw_buf_new(10);
    assert_string_equal(cw_buf_string(&buf), "");
    cw_buf_printf(&buf, "%d%s", 12345, "678");
    cw_buf_char(&buf, '9');
    assert_string_equal(cw_buf_string(&buf), "123456789");
    cw_buf_text(&buf, "too much");
    cw_buf_char(&buf, 'x'); /* would fit, but a text with a hole in it is worse than a short one */
    assert_string_equal(cw_buf_string(&buf), "123456789");
    assert_fails(cw_buf_check(&buf, "the page", &err), CW_MEMORY, &err, "the page does not fit in 10 bytes");
    assert_fails(cw_buf_take(&buf, &text, &err), CW_MEMORY, &err, "does not fit");
    cw_buf_free(&buf);
}

static void arrays_grow_to_their_ceiling(void **state)
{
    (void)state;
    cw_error err;
    int *items = NULL;
    size_t capacity = 0;
    for (size_t n = 1; n <= 100; n++) {
        assert_ok(cw_grow(&items, &capacity, n, sizeof *items, 100, "screws", &err), &err);
        items[n - 1] = (int)n;
    }
    assert_int_equal(items[0] + items[99], 101);
    assert_fails(cw_grow(&items, &capacity, 101, sizeof *items, 100, "screws", &err), CW_RANGE, &err,
                 "more than 100 screws");
    free(items);
}

CHECK_MAIN(cmocka_unit_test(a_written_file_is_whole_and_alone), cmocka_unit_test(a_full_disk_leaves_the_old_file),
           cmocka_unit_test(a_folder_that_is_not_there_is_said), cmocka_unit_test(a_buffer_remembers_its_ceiling),
           cmocka_unit_test(arrays_grow_to_their_ceiling))
