/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Two designs of one worksheet beside each other: what differs, and which is the stronger or stiffer. */
#ifndef CW_WORKSHEETS_COMPARE_H
#define CW_WORKSHEETS_COMPARE_H

#include "worksheets/worksheet.h"

/* A figure by which designs are ranked. */
typedef struct {
    const cw_field *output;
    const char *word; /* "stronger", "stiffer" */
    int better;       /* 0: the first, 1: the second, -1: alike */
    double ratio;     /* of the better over the other, 1 or more */
    bool overlap; /* their intervals (k = 2) do; what both are uncertain by alike, such as one material's yield, is in
                     both */
} cw_sheet_ranking;

enum { CW_RANKINGS_MOST = 8 };

/* Those outputs of the sheet that rank designs and are known of both; the number of them. */
size_t cw_sheet_rank(const cw_worksheet *sheet, const cw_sheet_out *first, const cw_sheet_out *second,
                     cw_sheet_ranking rankings[CW_RANKINGS_MOST]);
/* "stiffer by Wind-up: the other, 1.35 times; the uncertainties overlap". */
void cw_sheet_ranking_words(const cw_sheet_ranking *ranking, const char *first, const char *second, char *words,
                            size_t size);

/* Whether an input, or any cell of a table of inputs, is not the same in both. */
bool cw_sheet_input_differs(const cw_sheet_in *first, const cw_sheet_in *second, const cw_field *input);

/* {"format":"camerawright.worksheet-compared/1","designs":[..,..],"differs":["plate"],"ranking":[{"output":..,"label":..,
 * "word":"stronger","better":1,"ratio":1.9,"overlap":false}]}; designs as cw_sheet_json, better null when alike. NULL
 * without memory. */
json_t *cw_sheet_compare_json(const cw_worksheet *sheet, const cw_sheet_in *first_in, const cw_sheet_out *first,
                              const cw_sheet_in *second_in, const cw_sheet_out *second);

#endif
