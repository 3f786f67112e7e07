/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Inside the CSV reader. A file is text of three parts: a preamble of settings, a few header rows, rows of numbers. */
#ifndef CW_SIGNAL_CSV_H
#define CW_SIGNAL_CSV_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

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
    size_t count;   /* without empty cells at the end */
    size_t written; /* with them */
    cw_csv_cell cells[CW_CSV_COLUMNS_MOST];
} cw_csv_row;

typedef struct {
    const char *text;
    size_t length, at;
    size_t line; /* of the line given last, from 1 */
} cw_csv_lines;

typedef struct {
    char separator, decimal;           /* separator ' ' stands for any run of blanks */
    bool groups;                       /* digits may stand in groups of three: 1,234.5 */
    size_t columns;                    /* cells in a row of numbers */
    bool numeric[CW_CSV_COLUMNS_MOST]; /* columns of numbers; the others hold settings, notes or nothing */
    bool sparse[CW_CSV_COLUMNS_MOST];  /* of these: may be empty, as a level that does not change or a channel that has
                                          ended */
    size_t clock_column;               /* of times of day; CW_CSV_COLUMNS_MOST: none */
    size_t first_line;                 /* of the first row of numbers */
} cw_csv_layout;

typedef struct {
    double interval_s;   /* between samples, from the settings; 0: not said */
    bool only_time_base; /* the settings give a time per division, which is not a sample interval */
    char unclear[64];    /* a setting that may be an interval or a rate and does not say, "" for none */
    size_t time_column;  /* CW_CSV_COLUMNS_MOST: none named */
    double time_unit_s;  /* of the time column; 0: not said */
    bool counts_samples; /* the header calls the first column a number, index or sequence */
    char names[CW_CSV_COLUMNS_MOST][CW_CHANNEL_NAME];
    double scale[CW_CSV_COLUMNS_MOST]; /* to volts, 1 where no unit is given */
    bool has_unit[CW_CSV_COLUMNS_MOST];
    bool time_again[CW_CSV_COLUMNS_MOST]; /* named as time, but not the first such column */
    double time_unit_above_s;             /* "Horizontal Units,ms", for a column without one; 0: not said */
    double volts_above;                   /* "Vertical Units,mV", likewise */
} cw_csv_header;

/* --- csv_text.c --- */

typedef enum { CW_CSV_NO_UTF16, CW_CSV_UTF16_LE, CW_CSV_UTF16_BE } cw_csv_utf16;

/* By its byte order mark, or by the zeros between the letters where it has none. */
cw_csv_utf16 cw_csv_find_utf16(const unsigned char *bytes, size_t count);
/* Takes off a byte order mark and what fills up the end, turns UTF-16 into UTF-8, other blanks and minus signs into
 * those of ASCII; *bytes may be exchanged for another allocation. */
cw_status cw_csv_plain_text(char **bytes, size_t *count, cw_error *err) __attribute__((warn_unused_result));

/* --- csv_sideways.c --- */

/* A text with a channel a line becomes one with a row a sample; any other stays. `separator` 0: find out. *bytes may be
 * exchanged for another allocation. */
cw_status cw_csv_turn_sideways(char **bytes, size_t *count, char separator, cw_error *err)
    __attribute__((warn_unused_result));

/* --- csv_number.c --- */

/* A finite decimal number and nothing else. *step (may be NULL): the value of its last digit. */
bool cw_csv_number(cw_csv_cell cell, char decimal, double *value, double *step);
/* The decimal number at the front of text..end, as cw_csv_number would read it: how many bytes it takes, 0 when there
 * is none or when its value cannot be told fast (then nothing is written that counts). */
size_t cw_csv_front_number(const char *text, const char *end, char decimal, double *value, double *step);

/* The digits at the front as a whole number: how many they are, 0 for none or for more than fit. */
size_t cw_csv_whole_part(cw_csv_cell cell, int64_t *whole);

/* --- csv_unit.c --- */

/* A cell in small letters without anything but letters, digits, % and blanks between words; micro is u: "Sample
 * Interval [us]:" is "sample interval us". */
void cw_csv_plain_words(cw_csv_cell cell, char *out, size_t size);
/* Of words as cw_csv_plain_words gives them, in seconds, hertz, volts (or amperes, watts, lux ...); 0 for none.
 * *is_volts may be NULL. */
double cw_csv_unit_of_time(const char *word);
double cw_csv_unit_of_rate(const char *word);
/* Of time, "per sample" behind it or not. */
double cw_csv_unit_of_interval(const char *word);
double cw_csv_unit_of_signal(const char *word, bool *is_volts);
/* value * size, rounded once: 1e-6 is no double, 1e6 is. */
double cw_csv_scaled(double value, double size);
/* Behind the last blank: where a unit stands. */
const char *cw_csv_last_word(const char *words);

/* --- csv_value.c --- */

typedef enum { CW_CSV_NUMBER, CW_CSV_SECONDS, CW_CSV_SIGNAL, CW_CSV_CLOCK, CW_CSV_OVER, CW_CSV_UNDER } cw_csv_kind;

typedef struct {
    cw_csv_kind kind;
    double value;      /* NUMBER: as written; SECONDS, CLOCK: s; SIGNAL: volts or another SI unit; OVER, UNDER: 0 */
    double step;       /* of its last digit */
    double wraps_at_s; /* CLOCK: a day, or an hour where only minutes are written */
    bool is_volts;     /* SIGNAL */
} cw_csv_value;

/* As cw_csv_number, and digits in groups, hexadecimal (0x1F), an exponent written with D. */
bool cw_csv_any_number(cw_csv_cell cell, char decimal, bool groups, double *value, double *step);
/* Whatever stands for one value; false for words, and for a value that is missing. */
bool cw_csv_read_value(cw_csv_cell cell, const cw_csv_layout *layout, cw_csv_value *value);
/* An empty cell, or one that says there is no value. */
bool cw_csv_is_missing(cw_csv_cell cell);

/* --- csv_rows.c --- */

/* Bytes of the line end (LF, CRLF, CR or CRCRLF) at the front of a text, 0 when it begins with none. */
size_t cw_csv_line_end(const char *text, size_t length);
/* The next line without its end; false at the end of the text. */
bool cw_csv_line(cw_csv_lines *lines, cw_csv_cell *line);
/* Cells without blanks and quotes around them. A separator at the end makes no further cell. More than
 * CW_CSV_COLUMNS_MOST cells: the rest stays in none. */
void cw_csv_split(cw_csv_cell line, char separator, cw_csv_row *row);
/* Does it begin with a mark that says it holds no numbers: # % //? */
bool cw_csv_is_comment(cw_csv_cell line);
/* A value in every column that must have one. */
bool cw_csv_is_row_of_numbers(const cw_csv_row *row, const cw_csv_layout *layout);
/* Finds separator, decimal mark and the rows of numbers. `separator` 0: find out. CW_INPUT when there are none. */
cw_status cw_csv_find_layout(const char *text, size_t length, char separator, cw_csv_layout *layout, cw_error *err)
    __attribute__((warn_unused_result));

/* --- csv_read.c --- */

enum { CW_CSV_STEPS_MOST = 12 };

/* How many digits the times are written with. */
typedef struct {
    double step[CW_CSV_STEPS_MOST]; /* value of the last digit */
    size_t rows[CW_CSV_STEPS_MOST], count, latest;
} cw_csv_steps;

/* Cells of one channel that hold no value of their own. */
typedef struct {
    size_t missing_line; /* where the gap at the end begins, or one that is over (then has_hole); 0: none */
    char mark[8];        /* what stands there, "" for an empty cell */
    bool has_hole;
    size_t beyond, beyond_line; /* cells beyond the range, the first of them */
} cw_csv_gaps;

/* The rows as they are read. signals, times, signal_count and time_column are given; the rest begins as zeros. */
typedef struct {
    size_t rows, row_capacity, line_capacity, value_capacity, signal_count;
    size_t signals[CW_CHANNELS_MOST]; /* columns */
    size_t time_column;               /* CW_CSV_COLUMNS_MOST: none */
    size_t times[CW_CHANNELS_MOST];   /* of each signal: the column of its own times, or time_column */
    bool has_times;                   /* some signal has */
    double *at;                       /* time column as written, less `base` */
    double *own_at[CW_CHANNELS_MOST]; /* of each signal with times of its own, likewise */
    size_t own_capacity[CW_CHANNELS_MOST];
    int64_t base; /* whole number taken off instants of many digits */
    size_t *lines;
    float *values; /* interleaved */
    cw_csv_steps steps;
    cw_csv_gaps gaps[CW_CHANNELS_MOST];
    bool has_gap;                    /* of some channel in the row read last */
    bool has_units;                  /* the time column is in seconds already: units or clock times in its cells */
    bool in_volts[CW_CHANNELS_MOST]; /* cells that say so */
    double wraps_at;                 /* where the time column begins again at 0; 0: never */
    size_t left_out_line;            /* first line behind the recording that is none of it; 0: none */
    char left_out[40];
} cw_csv_rows;

void cw_csv_rows_free(cw_csv_rows *rows);
/* CW_INPUT with the line and what is wrong in it. The caller frees the rows in any case. */
cw_status cw_csv_read_rows(const char *text, size_t length, const cw_csv_layout *layout, const cw_csv_header *header,
                           cw_csv_rows *rows, cw_error *err) __attribute__((warn_unused_result));

/* --- csv_columns.c --- */

/* Fills signals, times, time_column and base of *rows. CW_INPUT without time or without signals. */
cw_status cw_csv_assign_columns(const char *text, size_t length, const cw_csv_layout *layout,
                                const cw_csv_header *header, bool has_interval, cw_csv_rows *rows, cw_error *err)
    __attribute__((warn_unused_result));

/* --- csv_gaps.c --- */

/* Settles cells without a value of their own: levels hold, what lies beyond the range becomes the end of it, a channel
 * that ends early keeps its last value. Says so in `info`. CW_INPUT for a hole in a channel. */
cw_status cw_csv_fill_gaps(cw_csv_rows *rows, const cw_csv_header *header, cw_source_info *info, cw_error *err)
    __attribute__((warn_unused_result));

/* --- csv_setting.c --- */

/* Is it the key of a setting that is understood? */
bool cw_csv_is_setting(const char *words);
/* "Key: value unit", "key = value" or "key value unit" within one cell. */
bool cw_csv_setting_in_cell(cw_csv_cell cell, char decimal, cw_csv_header *header);
/* Settings of one row; `below` is the row under it, where some instruments put the value. */
void cw_csv_read_settings(const cw_csv_row *row, const cw_csv_row *below, char decimal, cw_csv_header *header);

/* --- csv_head.c --- */

/* A line without the mark that some programs put before lines that are no numbers. */
cw_csv_cell cw_csv_without_mark(cw_csv_cell line);
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
/* The time column in seconds, midnight and the overflow of a 32-bit counter undone. */
void cw_csv_time_in_seconds(cw_csv_rows *rows, const cw_csv_header *header);
/* Rows that stand the latest first are turned round, and it is said. */
void cw_csv_put_in_order(cw_csv_rows *rows, cw_source_info *info);
/* Channels with times of their own (time, A, time, B) carried onto the first time column. CW_INPUT where that cannot
 * be: levels, times that do not overlap. */
cw_status cw_csv_join_times(cw_csv_rows *rows, const cw_csv_header *header, cw_source_info *info, cw_error *err)
    __attribute__((warn_unused_result));
/* Value of the last digit: nearly all rows have one as fine; and the finest of all. */
double cw_csv_usual_step(const cw_csv_steps *steps);
double cw_csv_finest_step(const cw_csv_steps *steps);

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
