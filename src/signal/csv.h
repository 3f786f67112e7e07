/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Inside the CSV reader. A file is text of three parts: a preamble of settings, a few header rows, rows of numbers. */
#ifndef CW_SIGNAL_CSV_H
#define CW_SIGNAL_CSV_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "signal/edge_list.h"
#include "signal/source.h"

enum { CW_CSV_COLUMNS_MOST = 64, CW_CSV_CELL_MOST = 96 };

/* A stretch of the text. */
typedef struct {
    const char *text;
    size_t length;
} cw_csv_cell;

typedef struct {
    size_t count;
    cw_csv_cell cells[CW_CSV_COLUMNS_MOST];
} cw_csv_row;

typedef struct {
    const char *text;
    size_t length, at;
    size_t line; /* of the line given last, from 1 */
} cw_csv_lines;

typedef struct {
    char separator, decimal;           /* separator ' ' stands for any run of blanks */
    size_t columns;                    /* cells in a row of numbers */
    bool numeric[CW_CSV_COLUMNS_MOST]; /* columns of numbers; the others hold settings, notes or nothing */
    size_t first_line;                 /* of the first row of numbers */
} cw_csv_layout;

typedef struct {
    double interval_s;   /* between samples, from the settings; 0: not said */
    bool only_time_base; /* the settings give a time per division, which is not a sample interval */
    size_t time_column;  /* CW_CSV_COLUMNS_MOST: none named */
    double time_unit_s;  /* of the time column; 0: not said */
    bool counts_samples; /* the header calls the first column a number, index or sequence */
    char names[CW_CSV_COLUMNS_MOST][CW_CHANNEL_NAME];
    double scale[CW_CSV_COLUMNS_MOST]; /* to volts, 1 where no unit is given */
    bool has_unit[CW_CSV_COLUMNS_MOST];
    bool time_again[CW_CSV_COLUMNS_MOST]; /* named as time, but not the first such column */
} cw_csv_header;

/* --- csv_text.c --- */

/* Does it begin with the byte order mark of UTF-16, either way round? */
bool cw_csv_is_utf16(const unsigned char *bytes, size_t count);
/* Takes off a byte order mark and turns UTF-16 into UTF-8; *bytes may be exchanged for another allocation. */
cw_status cw_csv_plain_text(char **bytes, size_t *count, cw_error *err) __attribute__((warn_unused_result));

/* --- csv_number.c --- */

/* A finite decimal number and nothing else. *step (may be NULL): the value of its last digit. */
bool cw_csv_number(cw_csv_cell cell, char decimal, double *value, double *step);
/* The decimal number at the front of text..end, as cw_csv_number would read it: how many bytes it takes, 0 when there
 * is none or when its value cannot be told fast (then nothing is written that counts). */
size_t cw_csv_front_number(const char *text, const char *end, char decimal, double *value, double *step);

/* --- csv_rows.c --- */

/* Bytes of the line end (LF, CRLF, CR or CRCRLF) at the front of a text, 0 when it begins with none. */
size_t cw_csv_line_end(const char *text, size_t length);
/* The next line without its end; false at the end of the text. */
bool cw_csv_line(cw_csv_lines *lines, cw_csv_cell *line);
/* Cells without blanks and quotes around them. A separator at the end makes no further cell. More than
 * CW_CSV_COLUMNS_MOST cells: the rest stays in none. */
void cw_csv_split(cw_csv_cell line, char separator, cw_csv_row *row);
/* Finds separator, decimal mark and the rows of numbers. `separator` 0: find out. CW_INPUT when there are none. */
cw_status cw_csv_find_layout(const char *text, size_t length, char separator, cw_csv_layout *layout, cw_error *err)
    __attribute__((warn_unused_result));

/* --- csv_read.c --- */

/* The rows as they are read. signals, signal_count and time_column are given; the rest begins as zeros. */
typedef struct {
    size_t rows, row_capacity, line_capacity, value_capacity, signal_count;
    size_t signals[CW_CHANNELS_MOST]; /* columns */
    size_t time_column;               /* CW_CSV_COLUMNS_MOST: none */
    double *at;                       /* time column as written */
    size_t *lines;
    float *values;       /* interleaved */
    double step, finest; /* of the last digit of the time column, largest and smallest */
} cw_csv_rows;

void cw_csv_rows_free(cw_csv_rows *rows);
/* CW_INPUT with the line and what is wrong in it. The caller frees the rows in any case. */
cw_status cw_csv_read_rows(const char *text, size_t length, const cw_csv_layout *layout, const cw_csv_header *header,
                           cw_csv_rows *rows, cw_error *err) __attribute__((warn_unused_result));

/* --- csv_head.c --- */

void cw_csv_read_header(const char *text, size_t length, const cw_csv_layout *layout, cw_csv_header *header);

/* --- csv_time.c --- */

typedef struct {
    double interval_s, u_time_s;
    double start_s; /* of the first row */
    size_t count;   /* samples on the even grid */
    bool resampled;
} cw_csv_times;

/* n instants in seconds, `step_s` the value of their last digit, lines[i] where each stands. Even, or nearly: their
 * mean interval. Uneven: an even grid to interpolate on. CW_INPUT when time stands still or runs back. */
cw_status cw_csv_check_times(size_t n, const double *at_s, double step_s, const size_t *lines, double interval_s,
                             cw_source_info *info, cw_csv_times *times, cw_error *err)
    __attribute__((warn_unused_result));

/* --- csv_digital.c --- */

typedef struct {
    size_t rows, channels;
    const double *at_s; /* of each row; NULL: evenly spaced */
    double step_s;      /* the last digit of at_s, the finest: lists of changes drop zeros at the end */
    const size_t *lines;
    const float *values; /* interleaved */
} cw_csv_digital;

/* Nothing but 0 and 1, and both of them. */
bool cw_csv_is_digital(const float *values, size_t count);
/* The changes of each channel, and what `info` says of their form, rate, length and uncertainty. interval_s: from the
 * settings, 0 for none (then at_s is there). The caller frees *list. CW_INPUT when time runs back or stands still. */
cw_status cw_csv_take_edges(const cw_csv_digital *digital, double interval_s, cw_source_info *info, cw_edge_list **list,
                            cw_error *err) __attribute__((warn_unused_result));

#endif
