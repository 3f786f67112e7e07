/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Writes one of each paper into a folder, for outside.py and the eye. */
#include <stdio.h>
#include <stdlib.h>

#include "material.h"

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
    return 0;
}
