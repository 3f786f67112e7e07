/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The archive against tools from outside: unzip tests it, Python's zipfile and hashlib check every file against the
 * index, and Python makes the bad ones. */
#include "bench_box.h"
#include "pictures.h"

#include <sys/stat.h>

#include "base/file.h"
#include "notebook/archive.h"
#include "notebook/care.h"
#include "notebook/photo.h"
#include "notebook/prove.h"
#include "notebook/rack.h"
#include "notebook/search.h"
#include "notebook/step.h"
#include "notebook/store.h"
#include "notebook/test.h"
#include "notebook/way.h"

static void ok(bench_box *box, cw_status status)
{
    assert_ok(status, &box->err);
}

static void in_box(const bench_box *box, const char *name, char out[600])
{
    snprintf(out, 600, "%s/%s", box->scratch, name);
}

/* A job with something of every kind, planned after another, with a photo that knows where it was taken. */
static int64_t full_job(bench_box *box)
{
    cw_bench *b = box->bench;
    cw_error *err = &box->err;
    char path[600], command[1500];
    int64_t earlier = box_job(box, "Tarnbrook 35"), job_id, step_id, tray_id, part_id, photo_id, id, under, over,
            test_id;
    cw_step step = {
        .job_id = earlier, .title = "Top cover", .torque = "snug", .state = CW_STEP_DONE, .duration_s = NAN};
    ok(box, cw_step_add(b, &step, 0, &step_id, err));
    ok(box, cw_job_plan(b, earlier, "Tarnbrook 35", "№ 77", "meter dead\nand \"sticky\"", &job_id, err));
    cw_job job;
    ok(box, cw_job_get(b, job_id, &job, err));
    job.owner = "private person";
    job.agreed_cost = 31.7;
    ok(box, cw_job_update(b, &job, err));
    cw_job_free(&job);
    cw_step_list steps;
    ok(box, cw_step_page(b, job_id, CW_APART_ORDER, 0, 5, &steps, err));
    step_id = steps.items[0].id;
    cw_step_list_free(&steps);
    ok(box, cw_step_tick(b, step_id, 0, err));
    step = (cw_step){.job_id = job_id,
                     .title = "# Winding *gear*",
                     .came_off = "gear | shaft",
                     .notes = "first\n\nsecond",
                     .thread = CW_THREAD_LEFT,
                     .duration_s = 61.25,
                     .state = CW_STEP_DONE};
    ok(box, cw_step_add(b, &step, 0, &step_id, err));
    ok(box, cw_tray_numbered(b, job_id, 12, &tray_id, err));
    cw_part part = {
        .job_id = job_id, .step_id = step_id, .tray_id = tray_id, .kind = "screw", .pieces = 3, .state = CW_PART_OUT};
    ok(box, cw_part_add(b, &part, &part_id, err));
    ok(box, cw_part_move(b, part_id, 1, CW_PART_LEFT_OUT, "sheared", NULL, err));
    in_box(box, "gear.jpg", path);
    write_jpeg(path, 120, 90, 85, false);
    snprintf(command, sizeof command,
             "exiftool -q -overwrite_original -n -Orientation=6 -GPSLatitude=48.1 -GPSLongitude=11.5 '%s'", path);
    assert_int_equal(system(command), 0);
    ok(box, cw_photo_import(b, path, job_id, step_id, part_id, "the gear", &photo_id, err));
    ok(box, cw_photo_import(b, path, job_id, 0, 0, "the same once more", &id, err));
    cw_photo_mark mark = {
        .photo_id = photo_id, .x = 0.1, .y = 0.2, .text = "this way round", .hook_deg = 45.5, .part_id = part_id};
    ok(box, cw_photo_mark_add(b, &mark, &id, err));
    in_box(box, "plain.png", path);
    write_png(path, 33, 44);
    ok(box, cw_photo_import(b, path, job_id, 0, 0, "", &photo_id, err));
    ok(box, cw_job_get(b, job_id, &job, err));
    job.cover_photo_id = photo_id;
    ok(box, cw_job_update(b, &job, err));
    cw_job_free(&job);
    ok(box, cw_thing_named(b, job_id, "gear", &under, err));
    ok(box, cw_thing_named(b, job_id, "cover", &over, err));
    ok(box, cw_block_add(b, under, over, 2, &id, err));
    in_box(box, "shots.csv", path);
    FILE *file = fopen(path, "w");
    for (int i = 0; i < 4000; i++)
        fprintf(file, "%d;0,5\n", i);
    fclose(file);
    ok(box, cw_recording_import(b, path, &id, err));
    cw_test test = {.job_id = job_id,
                    .kind = "shutter",
                    .when = CW_WHEN_AFTER,
                    .recording_id = id,
                    .result_json = "{\"format\":\"camerawright.shutter/1\"}",
                    .trace_json = "[1,2.5]"};
    ok(box, cw_test_add(b, &test, &test_id, err));
    cw_reading reading = {
        .test_id = test_id, .marked_s = 0.004, .exposure_s = 0.00443, .position_mm = NAN, .as_typed = "1/250 4.43ms"};
    ok(box, cw_reading_add(b, &reading, &id, err));
    test.id = test_id;
    test.strikes_json = "{\"3\":\"the panel moved\"}";
    ok(box, cw_test_correct(b, &test, &reading, 1, "the panel moved", err));
    cw_saved_sheet sheet = {.job_id = job_id, .worksheet = "flat-wrench", .result_json = "{}"};
    ok(box, cw_saved_sheet_add(b, &sheet, &id, err));
    cw_cost cost = {.job_id = job_id, .what = "seals", .worked_s = NAN, .amount = 4.5};
    ok(box, cw_cost_add(b, &cost, &id, err));
    cw_checklist_item item = {.text = "Fungus?", .answer = CW_ANSWER_NO, .photo_id = photo_id};
    ok(box, cw_checklist_add(b, &(cw_checklist){.job_id = job_id, .title = "As it came"}, &item, 1, &id, err));
    cw_film_frame frame = {.job_id = job_id,
                           .frame = 3,
                           .marked_s = NAN,
                           .f_number = 8,
                           .distance_mm = INFINITY,
                           .proves = "focus",
                           .photo_id = photo_id};
    ok(box, cw_film_frame_add(b, &frame, &id, err));
    ok(box, cw_left_out_set(b, job_id, CW_PROOF_FILM, "no film in the house", err));
    return job_id;
}

/* Python script on the archive; its last line is given back. */
static void python(const bench_box *box, const char *script, const char *args, char said[400])
{
    char program[600], command[3000];
    in_box(box, "check.py", program);
    FILE *file = fopen(program, "w");
    fputs("import sys, json, zipfile, hashlib, io, os, warnings\n", file);
    fputs(script, file);
    fclose(file);
    snprintf(command, sizeof command, "/usr/bin/python3 '%s' %s 2>&1", program, args);
    FILE *pipe = popen(command, "r");
    size_t got = fread(said, 1, 399, pipe);
    said[got] = '\0';
    if (pclose(pipe) != 0)
        fail_msg("%s", said);
}

static void the_archive_opens_elsewhere_and_is_what_its_index_says(void **state)
{
    bench_box *box = *state;
    char path[600], args[700], said[400], command[800];
    int64_t job_id = full_job(box);
    in_box(box, "job.zip", path);
    ok(box, cw_job_export(box->bench, job_id, path, NULL, &box->err));
    snprintf(command, sizeof command, "unzip -tq '%s' > /dev/null", path);
    assert_int_equal(system(command), 0);
    snprintf(args, sizeof args, "'%s'", path);
    python(box,
           "z = zipfile.ZipFile(sys.argv[1])\n"
           "assert z.testzip() is None\n"
           "assert z.namelist()[0] == 'index.json'\n"
           "i = json.loads(z.read('index.json'))\n"
           "assert i['format'] == 'camerawright.job-archive/1'\n"
           "assert sorted(f['path'] for f in i['files']) == sorted(z.namelist()[1:])\n"
           "for f in i['files']:\n"
           "    b = z.read(f['path'])\n"
           "    assert len(b) == f['bytes'] and hashlib.sha256(b).hexdigest() == f['sha256'] == "
           "os.path.basename(f['path'])[:64]\n"
           "    assert b'GPS' not in b\n"
           "assert 'private' not in json.dumps(i)\n"
           "assert i['jobs'][0]['complaint'] == 'meter dead\\nand \"sticky\"'\n"
           "assert i['parts'][-1]['step_id'] == 2 and i['steps'][1]['title'] == '# Winding *gear*'\n"
           "assert i['marks'][0]['photo_id'] == 1 and i['blocks'][0]['way'] == 2\n"
           "print(len(i['files']), len(i['photos']))\n",
           args, said);
    assert_string_equal(said, "3 3\n"); /* gear.jpg once though it is in the job twice, plain.png, shots.csv */
}

static void the_index_of(const bench_box *box, const char *zip, char **index)
{
    char args[700], said[400], out[600];
    cw_error err;
    size_t size;
    in_box(box, "index.txt", out);
    snprintf(args, sizeof args, "'%s' '%s'", zip, out);
    python(box,
           "i = json.loads(zipfile.ZipFile(sys.argv[1]).read('index.json')); i.pop('exported_at')\n"
           "for r in i['photos'] + i['jobs'] + i['recordings']: r.pop('changed_at', 0); r.pop('added_at', 0)\n"
           "open(sys.argv[2], 'w').write(json.dumps(i, indent=1, sort_keys=True))\n",
           args, said);
    assert_ok(cw_read_file(out, 10 << 20, index, &size, &err), &err);
}

static void a_job_goes_round_and_is_the_same(void **state)
{
    bench_box *box = *state;
    bench_box other = {0};
    char first[600], second[600], folder[600], *before, *after;
    int64_t job_id = full_job(box), taken;
    cw_trouble_list troubles;
    cw_difference_list differences;
    cw_export_options with_owner = {.with_owner = true, .with_recordings = true};
    in_box(box, "first.zip", first);
    in_box(box, "second.zip", second);
    in_box(box, "elsewhere", folder);
    ok(box, cw_job_export(box->bench, job_id, first, &with_owner, &box->err));
    assert_ok(cw_bench_open(folder, CW_BENCH_CREATE, &other.bench, &other.err), &other.err);
    assert_ok(cw_job_import(other.bench, first, &taken, &other.err), &other.err);
    assert_ok(cw_job_export(other.bench, taken, second, &with_owner, &other.err), &other.err);
    the_index_of(box, first, &before);
    the_index_of(box, second, &after);
    assert_string_equal(before, after);
    free(before);
    free(after);
    assert_ok(cw_check(other.bench, true, &troubles, &other.err), &other.err);
    assert_int_equal(troubles.count, 0);
    cw_trouble_list_free(&troubles);
    /* What differed from the plan stands, though the earlier job is not there. */
    assert_ok(cw_job_differences(other.bench, taken, &differences, &other.err), &other.err);
    assert_true(differences.count > 0);
    cw_difference_list_free(&differences);
    cw_hit_list hits;
    assert_ok(cw_search(other.bench, "winding gear", 0, NULL, 0, 5, &hits, &other.err), &other.err);
    assert_int_equal(hits.count, 1);
    cw_hit_list_free(&hits);
    /* Once more into the same bench, and undone. */
    int64_t twin, jobs;
    assert_ok(cw_job_import(other.bench, first, &twin, &other.err), &other.err);
    assert_ok(cw_undo(other.bench, 0, NULL, &other.err), &other.err);
    assert_ok(store_number(other.bench, "SELECT count(*) FROM job", STORE_NO_VALUES, &jobs, &other.err), &other.err);
    assert_int_equal(jobs, 1);
    cw_bench_close(other.bench);
}

static void expect_refused(bench_box *box, const char *zip, const char *words)
{
    int64_t id = -5, before, after;
    ok(box, store_number(box->bench, "SELECT count(*) FROM job", STORE_NO_VALUES, &before, &box->err));
    cw_status status = cw_job_import(box->bench, zip, &id, &box->err);
    if (status != CW_INPUT || strstr(box->err.text, words) == NULL)
        fail_msg("expected \"%s\", got %s: %s", words, cw_status_name(status), status == CW_OK ? "" : box->err.text);
    assert_int_equal(box->err.status, CW_INPUT);
    assert_int_equal(id, -5);
    ok(box, store_number(box->bench, "SELECT count(*) FROM job", STORE_NO_VALUES, &after, &box->err));
    assert_int_equal(before, after);
}

/* Each line: what Python does to index `i` or to the entries `e` (name to bytes), and the words of the refusal. */
static void bad_archives_are_refused_in_words(void **state)
{
    static const char *const bad[][2] = {
        {"e['../../evil.sh'] = b'x'", "leads elsewhere"},
        {"e['/etc/evil'] = b'x'", "leads elsewhere"},
        {"e['photos/../../x'] = b'x'", "leads elsewhere"},
        {"e['c:/x'] = b'x'", "leads elsewhere"},
        {"link('photos/l', '/etc/passwd')", "link or a device"},
        {"i['format'] = 'camerawright.job-archive/2'", "use a newer program"},
        {"i['format'] = 'something/1'", "no archive of a job"},
        {"i = [1]", "no archive of a job"},
        {"e.pop('index.json'); i = None", "no index.json"},
        {"i['files'][0]['sha256'] = '0' * 64", "not of the form"},
        {"i['files'][0]['path'] = '../../../etc/passwd'", "not of the form"},
        {"i['files'][0]['bytes'] -= 1", "larger than the"},
        {"i['files'][0]['bytes'] += 1", "the index says"},
        {"i['files'][0]['bytes'] = -1", "no size"},
        {"p = i['files'][0]['path']; e[p] = e[p][:-1] + b'\\x00'", "does not match its hash"},
        {"e.pop(i['files'][0]['path'])", "does not hold"},
        {"i['files'] = 5", "lists no files"},
        {"i['files'].pop(0)", "its file is not in the archive"},
        {"i.pop('trays')", "no list \"trays\""},
        {"i['jobs'] = []", "0 jobs"},
        {"i['jobs'].append(i['jobs'][0])", "2 jobs"},
        {"i['jobs'][0]['camera'] = ''", "the camera is missing"},
        {"i['jobs'][0]['camera'] = 5", "not a text"},
        {"i['jobs'][0]['stage'] = 'lost'", "one of its words"},
        {"i['jobs'][0]['stage'] = 'together'", "row 1 of \"parts\""},
        {"i['parts'][0]['step_id'] = 99", "points to no row of \"steps\""},
        {"i['parts'][0]['step_id'] = -1", "points to no row"},
        {"i['parts'][0]['job_id'] = None", "\"job_id\" is missing"},
        {"i['parts'][0]['pieces'] = 0", "row 1 of \"parts\""},
        {"i['parts'][0]['pieces'] = 1.5", "not a whole number"},
        {"i['parts'] = [i['parts'][0]] * 30000", "more than 20000 rows"},
        {"i['steps'][0] = 'x'", "not a JSON object"},
        {"i['steps'][0]['planned_json'] = '{'", "\"planned_json\" is not JSON"},
        {"i['marks'][0]['x'] = 7", "row 1 of \"marks\""},
        {"i['tests'][0]['result_json'] = '{'", "is not JSON"},
        {"i['blocks'].append({**i['blocks'][0], 'under_id': i['blocks'][0]['over_id'], 'over_id': "
         "i['blocks'][0]['under_id']})",
         "in a circle"},
        {"i['photos'][0]['hash'] = 'f' * 64", "its file is not in the archive"},
        {"i['test_versions'] = 7", "no list \"test_versions\""},
        {"i['test_versions'][0]['test_id'] = 2", "points to no row of \"tests\""},
        {"i['test_versions'][0]['reason'] = ''", "why it is corrected is missing"},
        {"i['tests'][0]['strikes_json'] = 'because'", "is not JSON"},
        {"p = i['files'][0]['path']; twice.append((p, e[p]))", "in the archive twice"},
        /* a small entry that unpacks to 60 MB, and one whose index owns up to it */
        {"e[i['files'][0]['path']] = bytes(60 << 20)", "larger than the"},
        {"p = [f for f in i['files'] if f['path'].endswith('.png')][0]; e[p['path']] = bytes(60 << 20); "
         "p['bytes'] = 60 << 20",
         "larger than 50 MB"},
        {"i['notes'] = ' ' * (70 << 20)", "larger than 64 MB"},
    };
    static const char script[] =
        "z = zipfile.ZipFile(sys.argv[1]); e = {n: z.read(n) for n in z.namelist()}; i = json.loads(e['index.json'])\n"
        "links = []; twice = []\n"
        "def link(name, to):\n"
        "    info = zipfile.ZipInfo(name); info.create_system = 3; info.external_attr = 0o120777 << 16; "
        "links.append((info, to))\n"
        "exec(sys.argv[3])\n"
        "if i is not None: e['index.json'] = json.dumps(i).encode()\n"
        "with zipfile.ZipFile(sys.argv[2], 'w', zipfile.ZIP_DEFLATED) as o:\n"
        "    for n, b in e.items(): o.writestr(n, b)\n"
        "    for info, to in links: o.writestr(info, to)\n"
        "    warnings.simplefilter('ignore')\n"
        "    for n, b in twice: o.writestr(n, b)\n";
    bench_box *box = *state;
    char good[600], broken[600], args[2400], said[400];
    int64_t job_id = full_job(box), id;
    in_box(box, "good.zip", good);
    in_box(box, "broken.zip", broken);
    ok(box, cw_job_export(box->bench, job_id, good, NULL, &box->err));
    for (size_t n = 0; n < CW_COUNT(bad); n++) {
        snprintf(args, sizeof args, "'%s' '%s' \"%s\"", good, broken, bad[n][0]);
        python(box, script, args, said);
        expect_refused(box, broken, bad[n][1]);
    }
    /* Written before tests could be corrected: fine. */
    snprintf(args, sizeof args, "'%s' '%s' \"i.pop('test_versions'); i['tests'][0].pop('strikes_json')\"", good,
             broken);
    python(box, script, args, said);
    ok(box, cw_job_import(box->bench, broken, &id, &box->err));
    ok(box, cw_undo(box->bench, 0, NULL, &box->err));
    /* Unchanged but packed again, with a folder and a stranger's note: fine. */
    snprintf(args, sizeof args, "'%s' '%s' \"e['photos/'] = b''; e['readme.txt'] = b'hello'\"", good, broken);
    python(box, script, args, said);
    ok(box, cw_job_import(box->bench, broken, &id, &box->err));
    ok(box, cw_undo(box->bench, 0, NULL, &box->err));

    char *bytes;
    size_t size;
    ok(box, cw_read_file(good, 10 << 20, &bytes, &size, &box->err));
    /* Behind the last file only zip's own list of contents follows (PKWARE APPNOTE 4.3.12): without it all is still
     * there. */
    char *contents = memmem(bytes, size, "PK\1\2", 4);
    assert_non_null(contents);
    size_t end_of_files = (size_t)(contents - bytes);
    for (size_t cut = 0; cut < end_of_files; cut += 1 + size / 23) {
        ok(box, cw_write_file(broken, bytes, cut, &box->err));
        expect_refused(box, broken, "archive");
    }
    free(bytes);
    ok(box, cw_write_file(broken, "not a zip at all, but long enough to be looked at", 49, &box->err));
    expect_refused(box, broken, "zip");
    assert_fails(cw_job_import(box->bench, "/no/such.zip", &id, &box->err), CW_INPUT, &box->err, "cannot be opened");
}

static void an_export_is_whole_or_not_there(void **state)
{
    bench_box *box = *state;
    char path[600], where[4400];
    int64_t job_id = full_job(box);
    assert_fails(cw_job_export(box->bench, job_id, "/no/such/folder/x.zip", NULL, &box->err), CW_FILE, &box->err,
                 "cannot write");
    assert_fails(cw_job_export(box->bench, 77, "x.zip", NULL, &box->err), CW_NOT_FOUND, &box->err, "no job 77");
    ok(box, cw_photo_path(box->bench, 1, where, sizeof where, &box->err));
    assert_int_equal(unlink(where), 0);
    in_box(box, "half.zip", path);
    assert_fails(cw_job_export(box->bench, job_id, path, NULL, &box->err), CW_NOT_FOUND, &box->err,
                 "not where it was kept");
    assert_int_equal(access(path, F_OK), -1);
}

static void markdown_says_what_was_noted_as_text(void **state)
{
    bench_box *box = *state;
    char folder[600], path[1000], *text;
    size_t size;
    int64_t job_id = full_job(box);
    in_box(box, "notes", folder);
    ok(box, cw_job_markdown(box->bench, job_id, folder, path, sizeof path, &box->err));
    assert_contains(path, "/notes/tarnbrook-35-job-2.md");
    ok(box, cw_read_file(path, 1 << 20, &text, &size, &box->err));
    assert_contains(text, "# Tarnbrook 35\n");
    assert_contains(text, "### 2. \\# Winding \\*gear\\*\n");
    assert_contains(text, "- **Came off:** gear \\| shaft\n");
    assert_contains(text, "- **Thread:** **left-hand**\n");
    assert_contains(text, "first\n\nsecond\n");
    assert_contains(text, "| 2 | screw |");
    assert_contains(text, "1\\. this way round");
    assert_contains(text, "![the gear](tarnbrook-35-job-2-photos/");
    assert_null(strstr(text, "private"));
    const char *name = strstr(text, "-photos/") + 8;
    snprintf(path, sizeof path, "%s/tarnbrook-35-job-2-photos/%.20s", folder, name);
    assert_int_equal(access(path, R_OK), 0);
    free(text);
}

CHECK_MAIN(BOX_TEST(the_archive_opens_elsewhere_and_is_what_its_index_says), BOX_TEST(a_job_goes_round_and_is_the_same),
           BOX_TEST(bad_archives_are_refused_in_words), BOX_TEST(an_export_is_whole_or_not_there),
           BOX_TEST(markdown_says_what_was_noted_as_text))
