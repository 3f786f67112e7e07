/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Writes one of each paper into a folder, for outside.py and the eye. */
#include <stdio.h>
#include <stdlib.h>

#include "base/file.h"
#include "material.h"
#include "report/labels.h"

static void must(cw_status status, const cw_error *err)
{
    if (status == CW_OK)
        return;
    fprintf(stderr, "%s\n", err->text);
    exit(1);
}

static void save(cw_document *document, const char *folder, const char *name)
{
    char path[4200];
    cw_error err;
    snprintf(path, sizeof path, "%s/%s", folder, name);
    must(cw_document_save(document, path, &err), &err);
    cw_document_free(document);
}

static void save_buf(cw_buf *out, const char *folder, const char *name)
{
    char path[4200];
    cw_error err;
    snprintf(path, sizeof path, "%s/%s", folder, name);
    must(cw_write_file(path, out->text, out->length, &err), &err);
    cw_buf_free(out);
}

static void labels(const char *folder)
{
    cw_error err;
    cw_buf out = cw_buf_new(16 << 20);
    static cw_label all[50];
    static char codes[50][80];
    for (int i = 0; i < 50; i++) {
        snprintf(codes[i], sizeof codes[i], "http://192.168.1.20:8421/trays/%d", i + 1);
        all[i] =
            (cw_label){i + 1, i % 3 == 0 ? "Job 7: rewind crank and its \xc3\x9f-shaped spring" : "Job 7", codes[i]};
    }
    all[3].qr = NULL;
    all[4] = (cw_label){12345, "", "T4"};
    must(cw_labels_pdf(&(cw_label_sheet){"A4", 30, "Ellory Reflex, job 7", 2}, all, 50, &out, &err), &err);
    save_buf(&out, folder, "labels.pdf");
    must(cw_labels_pdf(&(cw_label_sheet){"Letter", 60, NULL, 0}, all, 5, &out, &err), &err);
    save_buf(&out, folder, "labels-large.pdf");
}

/* Numbered words, so that a lost or doubled line shows: in a paragraph and in one cell of a table, over many pages. */
static void numbered_words(const char *folder)
{
    cw_error err;
    cw_document *document;
    cw_buf words = cw_buf_new(1 << 20), cell = cw_buf_new(1 << 20);
    for (int i = 0; i < 4000; i++) {
        cw_buf_printf(&words, "p%04d ", i);
        cw_buf_printf(&cell, "c%04d ", i);
    }
    must(cw_document_new(&(cw_document_look){.paper = "A4", .title = "Words", .landscape = true}, &document, &err),
         &err);
    cw_doc_heading(document, 1, "A paragraph");
    cw_doc_paragraph(document, cw_buf_string(&words));
    const char *const cells[] = {"short", cw_buf_string(&cell), "end", "second row", NULL, ""};
    cw_doc_table_add(document, &(cw_doc_table){.columns = (cw_doc_column[]){{"first", CW_CELL_START},
                                                                            {"words", CW_CELL_END},
                                                                            {"last", CW_CELL_MIDDLE}},
                                               .column_count = 3,
                                               .row_count = 2,
                                               .cells = cells});
    save(document, folder, "words.pdf");
    cw_buf_free(&words);
    cw_buf_free(&cell);
}

int main(int argc, char **argv)
{
    cw_report report;
    cw_document *document;
    cw_error err;
    if (argc != 2)
        return 2;
    material_fill(&report, argv[1], 60);
    must(cw_report_make(&report, &document, &err), &err);
    save(document, argv[1], "report.pdf");
    must(cw_step_sheet_make(&report, CW_SHEET_TEARDOWN, &document, &err), &err);
    save(document, argv[1], "teardown.pdf");
    must(cw_step_sheet_make(&report, CW_SHEET_REASSEMBLY, &document, &err), &err);
    save(document, argv[1], "together.pdf");
    report.paper = "Letter";
    must(cw_report_make(&report, &document, &err), &err);
    save(document, argv[1], "report-letter.pdf");
    report = (cw_report){.paper = "A4"};
    must(cw_report_make(&report, &document, &err), &err);
    save(document, argv[1], "empty.pdf");
    must(cw_step_sheet_make(&report, CW_SHEET_TEARDOWN, &document, &err), &err);
    save(document, argv[1], "empty-teardown.pdf");
    material_free();
    labels(argv[1]);
    numbered_words(argv[1]);
    return 0;
}
