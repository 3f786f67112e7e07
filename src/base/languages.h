/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The languages that are in the program: catalogues compiled from po/, read when first asked for, never changed after.
 */
#ifndef CW_BASE_LANGUAGES_H
#define CW_BASE_LANGUAGES_H

#include "base/manner.h"

/* Index from 0; NULL behind the last. English is none of them. */
const char *cw_language_name(size_t index);  /* "de" */
const char *cw_language_label(size_t index); /* in its own words */

/* The catalogue of that name and its sentences; NULL for "en" and what is not there. */
const cw_words *cw_language_words(const char *name);
/* Puts words and sentences of the language into a manner; for "en" and what is not there English, whose sentences are
 * there for the sake of their numbers. */
void cw_language_use(const char *name, cw_manner *manner);

/* Whether numbers carry a comma: "de", "de-DE,de;q=0.9", "de_AT.UTF-8". NULL: no. Unicode CLDR, decimal symbol of the
 * language's main locale (from memory). */
bool cw_language_has_comma(const char *tag);

#endif
