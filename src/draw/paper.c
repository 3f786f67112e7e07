/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "draw/paper.h"

#include <strings.h>

static const cw_paper papers[] = {
    {"Letter", 215.9, 279.4, false},  {"A4", 210, 297, true}, {"Legal", 215.9, 355.6, false},
    {"Tabloid", 279.4, 431.8, false}, {"A3", 297, 420, true}, {"A2", 420, 594, true},
};

const cw_paper *cw_papers(size_t *count)
{
    *count = CW_COUNT(papers);
    return papers;
}

cw_status cw_paper_find(const char *name, const cw_paper **paper, cw_error *err)
{
    for (size_t i = 0; i < CW_COUNT(papers); i++) {
        if (strcasecmp(papers[i].name, name) == 0) {
            *paper = &papers[i];
            return CW_OK;
        }
    }
    return cw_fail(err, CW_INPUT, "paper \"%.40s\" is not known; A4, A3, A2, Letter, Legal and Tabloid are", name);
}
