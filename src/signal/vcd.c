/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Value change dumps of logic analysers (IEEE Std 1364, clause on value change dump files): scopes, one-bit variables
 * and vectors of one bit, x and z, any timescale, $dumpvars, $dumpoff; one-bit ports of the extended form. Buses, real
 * and text variables are left out, and said. */
#include <ctype.h>
#include <errno.h>
#include <limits.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/buf.h"
#include "signal/edge_list.h"
#include "signal/word_reader.h"

enum { IDENTIFIER_MOST = 32, VARIABLES_MOST = 512, EDGES_MOST = 4 << 20, NAME_SHOWN = 24 };

typedef struct {
    char identifier[IDENTIFIER_MOST], name[CW_CHANNEL_NAME];
    bool is_bit; /* false: a bus, a real number or a text, known by name only */
    size_t count, capacity;
    cw_edge *edges;
} variable;

typedef struct {
    cw_word_reader words;
    double ticks, per_second; /* a tick is ticks / per_second, both whole: 10 ns has no double of its own */
    double sampled_s;         /* between the samples, where a remark tells their rate; 0: not said */
    bool has_time, is_open;   /* is_open: the declarations have no end of their own */
    double now_s, first_s;
    uint64_t now, first, grid; /* grid: greatest tick that divides all instants */
    size_t instants;
    size_t count, buses, reals;
    variable *variables;
    int16_t by_character[UCHAR_MAX + 1]; /* number of the variable with this identifier, from 1; 0: none */
    char a_bus[CW_CHANNEL_NAME];
} vcd;

/* A keyword: "$date", "$timescale" ... */
static bool is_mine(const cw_file_head *head)
{
    size_t at = 0, n = 1;
    if (head->count >= 3 && memcmp(head->bytes, "\xef\xbb\xbf", 3) == 0)
        at = 3;
    while (at < head->count && isspace(head->bytes[at]))
        at++;
    if (at >= head->count || head->bytes[at] != '$')
        return false;
    while (at + n < head->count && islower(head->bytes[at + n]))
        n++;
    return n > 3 && (at + n == head->count || isspace(head->bytes[at + n]));
}

/* As much of the text as fits: names are for people, and what is too long for an identifier is refused later. */
static void copy_cut(char *out, size_t size, const char *text)
{
    size_t n = strnlen(text, size - 1);
    memcpy(out, text, n);
    out[n] = '\0';
}

static bool is(const vcd *v, const char *word)
{
    return strcmp(v->words.word, word) == 0;
}

static cw_status need_token(vcd *v, const char *what, cw_error *err)
{
    if (!cw_next_word(&v->words))
        return cw_fail(err, CW_INPUT, "line %zu: the VCD ends inside %s; it is cut off, export it again", v->words.line,
                       what);
    if (v->words.length >= CW_WORD_MOST)
        return cw_fail(err, CW_INPUT,
                       "line %zu: a word of more than %d characters in %s; this is no VCD as IEEE 1364 "
                       "has it",
                       v->words.line, CW_WORD_MOST - 1, what);
    return CW_OK;
}

static cw_status skip_to_end(vcd *v, const char *what, cw_error *err)
{
    do
        CW_TRY(need_token(v, what, err));
    while (!is(v, "$end"));
    return CW_OK;
}

static cw_status read_timescale(vcd *v, cw_error *err)
{
    static const struct {
        const char *name;
        double per_second;
    } units[] = {{"s", 1}, {"ms", 1e3}, {"us", 1e6}, {"ns", 1e9}, {"ps", 1e12}, {"fs", 1e15}};
    char text[64] = "";
    for (;;) {
        CW_TRY(need_token(v, "$timescale", err));
        if (is(v, "$end"))
            break;
        size_t used = strlen(text);
        copy_cut(text + used, sizeof text - used, v->words.word);
    }
    char *unit;
    double number = strtod(text, &unit);
    for (size_t i = 0; i < CW_COUNT(units); i++)
        if (strcmp(unit, units[i].name) == 0 && number >= 1 && number <= 1000) {
            v->ticks = number;
            v->per_second = units[i].per_second;
            return CW_OK;
        }
    return cw_fail(err, CW_INPUT,
                   "line %zu: the timescale \"%s\" is not understood; 1, 10 or 100 of s, ms, us, ns, ps or "
                   "fs is",
                   v->words.line, text);
}

static cw_status add_variable(vcd *v, const char *type, long bits, const char *identifier, const char *name,
                              cw_error *err)
{
    if (v->count == VARIABLES_MOST)
        return cw_fail(err, CW_INPUT, "line %zu: more than %d variables; export only the channels of the sensors",
                       v->words.line, VARIABLES_MOST);
    if (strlen(identifier) >= IDENTIFIER_MOST)
        return cw_fail(err, CW_INPUT, "line %zu: the identifier \"%.40s...\" is too long", v->words.line, identifier);
    for (size_t i = 0; i < v->count; i++)
        if (strcmp(v->variables[i].identifier, identifier) == 0)
            return CW_OK; /* the same net by another name */
    variable *made = &v->variables[v->count++];
    bool is_real = strcmp(type, "real") == 0 || strcmp(type, "realtime") == 0 || strcmp(type, "string") == 0;
    snprintf(made->identifier, sizeof made->identifier, "%s", identifier);
    if (strlen(identifier) == 1)
        v->by_character[(unsigned char)identifier[0]] = (int16_t)v->count;
    snprintf(made->name, sizeof made->name, "%s", name);
    made->is_bit = bits == 1 && !is_real;
    v->reals += is_real;
    v->buses += !made->is_bit && !is_real;
    if (!made->is_bit && !is_real)
        snprintf(v->a_bus, sizeof v->a_bus, "%.*s", NAME_SHOWN, name);
    return CW_OK;
}

/* "8", or as the extended form has it "[7:0]". 0 for anything else. */
static long read_size(const char *text)
{
    char *end;
    if (text[0] != '[') {
        long bits = strtol(text, &end, 10);
        return *end == '\0' && bits >= 1 && bits <= 1000000 ? bits : 0;
    }
    long high = strtol(text + 1, &end, 10), low = high;
    if (*end == ':')
        low = strtol(end + 1, &end, 10);
    bool whole = end > text + 1 && end[0] == ']' && end[1] == '\0';
    return whole && labs(high) < 1000000 && labs(low) < 1000000 ? labs(high - low) + 1 : 0;
}

static cw_status read_variable(vcd *v, cw_error *err)
{
    char type[32], identifier[128], name[CW_CHANNEL_NAME] = "";
    CW_TRY(need_token(v, "$var", err));
    copy_cut(type, sizeof type, v->words.word);
    CW_TRY(need_token(v, "$var", err));
    long bits = read_size(v->words.word);
    if (bits == 0)
        return cw_fail(err, CW_INPUT, "line %zu: \"%.40s\" is no size of a variable", v->words.line, v->words.word);
    CW_TRY(need_token(v, "$var", err));
    copy_cut(identifier, sizeof identifier, v->words.word);
    for (;;) {
        CW_TRY(need_token(v, "$var", err));
        if (is(v, "$end"))
            break;
        size_t used = strlen(name);
        if (used > 0 && used + 1 < sizeof name && v->words.word[0] != '[')
            name[used++] = ' ';
        copy_cut(name + used, sizeof name - used, v->words.word);
    }
    return add_variable(v, type, bits, identifier, name, err);
}

/* A remark; logic analysers tell the rate of their samples in one: "... at 12 MHz". */
static cw_status read_remark(vcd *v, cw_error *err)
{
    static const struct {
        const char *name;
        double hz;
    } units[] = {{"hz", 1}, {"khz", 1e3}, {"mhz", 1e6}, {"ghz", 1e9}};
    double number = 0;
    for (;;) {
        CW_TRY(need_token(v, "a remark", err));
        if (is(v, "$end"))
            return CW_OK;
        char *unit, word[8];
        double value = strtod(v->words.word, &unit);
        number = unit != v->words.word ? value : number;
        copy_cut(word, sizeof word, unit);
        for (char *c = word; *c != '\0'; c++)
            *c = (char)tolower((unsigned char)*c);
        word[strcspn(word, ".,;)")] = '\0';
        for (size_t i = 0; i < CW_COUNT(units); i++)
            if (strcmp(word, units[i].name) == 0 && number > 0)
                v->sampled_s = 1 / (number * units[i].hz);
        number = unit != v->words.word && *unit == '\0' ? number : 0;
    }
}

/* Until what is no declaration: then v->words.word is the first word of the changes. */
static cw_status read_header(vcd *v, cw_error *err)
{
    for (;;) {
        CW_TRY(need_token(v, "its declarations", err));
        v->is_open = v->count > 0 && (v->words.word[0] != '$' || strncmp(v->words.word, "$dump", 5) == 0);
        if (v->is_open)
            return CW_OK;
        if (is(v, "$comment"))
            CW_TRY(read_remark(v, err));
        else if (is(v, "$timescale"))
            CW_TRY(read_timescale(v, err));
        else if (is(v, "$var"))
            CW_TRY(read_variable(v, err));
        else if (is(v, "$enddefinitions"))
            return skip_to_end(v, "$enddefinitions", err);
        else if (v->words.word[0] == '$')
            CW_TRY(skip_to_end(v, "its declarations", err));
        else
            return cw_fail(err, CW_INPUT, "line %zu: \"%.40s\" where a declaration should be; the VCD is damaged",
                           v->words.line, v->words.word);
    }
}

static variable *find(vcd *v, const char *identifier)
{
    if (identifier[0] != '\0' && identifier[1] == '\0') {
        int16_t number = v->by_character[(unsigned char)identifier[0]];
        return number > 0 ? &v->variables[number - 1] : NULL;
    }
    for (size_t i = 0; i < v->count; i++)
        if (strcmp(v->variables[i].identifier, identifier) == 0)
            return &v->variables[i];
    return NULL;
}

static uint64_t common_divisor(uint64_t a, uint64_t b)
{
    while (b != 0) {
        uint64_t rest = a % b;
        a = b;
        b = rest;
    }
    return a;
}

static cw_status change(vcd *v, char value, const char *identifier, cw_error *err)
{
    variable *var = find(v, identifier);
    if (var == NULL && v->words.is_last)
        return cw_fail(err, CW_INPUT, "line %zu: the VCD is cut off in the identifier \"%.32s\"; export it again",
                       v->words.line, identifier);
    if (var == NULL)
        return cw_fail(err, CW_INPUT, "line %zu: a value for \"%.32s\", which no $var declares; the VCD is damaged",
                       v->words.line, identifier);
    if (!var->is_bit)
        return CW_OK;
    int8_t level = -1;
    if (value == '1' || value == 'h' || value == 'H')
        level = 1;
    else if (value == '0' || value == 'l' || value == 'L')
        level = 0;
    double at_s = v->has_time ? v->now_s : 0;
    cw_edge *last = var->count > 0 ? &var->edges[var->count - 1] : NULL;
    if (last != NULL && last->at_s == at_s) { /* twice at one instant: the later one counts */
        last->level = level;
        if (var->count > 1 && last[-1].level == level)
            var->count--;
        return CW_OK;
    }
    if (last != NULL && last->level == level)
        return CW_OK;
    if (var->count == var->capacity)
        CW_TRY(cw_grow(&var->edges, &var->capacity, var->count + 1, sizeof *var->edges, EDGES_MOST,
                       "changes on one channel; cut the recording", err));
    var->edges[var->count++] = (cw_edge){at_s, level};
    return CW_OK;
}

/* Digits and nothing else, a number of 64 bits. */
static bool whole_number(const char *text, uint64_t *number)
{
    uint64_t sum = 0;
    const char *c = text;
    for (; *c >= '0' && *c <= '9'; c++) {
        uint64_t digit = (uint64_t)(*c - '0');
        if (sum > (UINT64_MAX - digit) / 10)
            return false;
        sum = sum * 10 + digit;
    }
    *number = sum;
    return c > text && *c == '\0';
}

static cw_status read_time(vcd *v, cw_error *err)
{
    uint64_t t;
    if (!whole_number(v->words.word + 1, &t))
        return cw_fail(err, CW_INPUT, "line %zu: \"%.40s\" is no instant", v->words.line, v->words.word);
    if (v->has_time && t < v->now && v->words.is_last)
        return cw_fail(err, CW_INPUT, "line %zu: the VCD is cut off in \"%.40s\"; export it again", v->words.line,
                       v->words.word);
    if (v->has_time && t < v->now)
        return cw_fail(err, CW_INPUT,
                       "line %zu: time runs back from %llu to %llu; the VCD is damaged or several were "
                       "joined",
                       v->words.line, (unsigned long long)v->now, (unsigned long long)t);
    v->now = t;
    v->now_s = (double)t * v->ticks / v->per_second;
    if (!v->has_time) {
        v->first_s = v->now_s;
        v->first = t;
    }
    if (v->grid != 1)
        v->grid = common_divisor(t - v->first, v->grid);
    v->instants++;
    v->has_time = true;
    return CW_OK;
}

/* "pU 0 6 <0": a state, the strengths of 0 and 1, the identifier (IEEE 1364, extended VCD). The letters say also which
 * side drives the port; here only the level counts. */
static cw_status read_port(vcd *v, cw_error *err)
{
    char state = v->words.word[v->words.length - 1];
    char value = strchr("DdLl0", state) != NULL ? '0' : strchr("UuHh1", state) != NULL ? '1' : 'x';
    for (int i = 0; i < 3; i++)
        CW_TRY(need_token(v, "a value", err));
    return change(v, value, v->words.word, err);
}

static cw_status read_change(vcd *v, cw_error *err)
{
    static const char *const remarks[] = {"$comment", "$date", "$version", "$scope", "$upscope", "$timescale"};
    char first = v->words.word[0];
    if (first == '#')
        return read_time(v, err);
    if ((first == '0' || first == '1' || strchr("xXzZhHlLuUwW-", first) != NULL) && v->words.length > 1)
        return change(v, first, v->words.word + 1, err);
    if (strchr("01xXzZ", first) != NULL) { /* a blank before the identifier, against the standard but clear */
        CW_TRY(need_token(v, "a value", err));
        return change(v, first, v->words.word, err);
    }
    if (first == 'p' && v->words.length > 1)
        return read_port(v, err);
    if (strchr("bBrRsS", first) != NULL) {
        char value = v->words.length > 1 ? v->words.word[v->words.length - 1] : 'x';
        CW_TRY(need_token(v, "a value", err));
        return change(v, value, v->words.word, err);
    }
    for (size_t i = 0; i < CW_COUNT(remarks); i++)
        if (is(v, remarks[i]))
            return read_remark(v, err);
    if (first == '$')
        return CW_OK; /* $dumpvars, $dumpoff, $dumpon, $dumpall and their $end: the values between count as others */
    return cw_fail(err, CW_INPUT, "line %zu: \"%.40s\" is neither an instant nor a value; the VCD is damaged",
                   v->words.line, v->words.word);
}

static cw_status read_all(vcd *v, cw_error *err)
{
    CW_TRY(read_header(v, err));
    if (!(v->ticks > 0))
        return cw_fail(err, CW_INPUT, "the VCD has no $timescale, so its times mean nothing; export it with one");
    if (v->count == v->buses + v->reals) {
        if (v->count == 0)
            return cw_fail(err, CW_INPUT, "the VCD declares no channels; export it again with those of the sensors");
        return cw_fail(err, CW_INPUT,
                       "the VCD holds only %s (\"%s\"%s); a sensor is a single line: export the channels one by one, "
                       "not as a bus",
                       v->buses > 0 ? "buses" : "real numbers or texts", v->buses > 0 ? v->a_bus : v->variables[0].name,
                       v->count > 1 ? " and more" : "");
    }
    if (v->is_open)
        CW_TRY(read_change(v, err));
    while (cw_next_word(&v->words)) {
        if (v->words.length >= CW_WORD_MOST)
            return cw_fail(err, CW_INPUT, "line %zu: a word of more than %d characters", v->words.line,
                           CW_WORD_MOST - 1);
        CW_TRY(read_change(v, err));
    }
    if (ferror(v->words.file))
        return cw_fail(err, CW_FILE, "cannot be read further: %s", strerror(errno));
    if (!v->has_time)
        return cw_fail(err, CW_INPUT, "the VCD holds no instants: nothing was recorded");
    return CW_OK;
}

/* A channel without a level at the first instant had none that was known. */
static cw_status add_start(vcd *v, variable *var, cw_error *err)
{
    if (var->count > 0 && var->edges[0].at_s <= v->first_s) {
        var->edges[0].at_s = v->first_s;
        return CW_OK;
    }
    CW_TRY(cw_grow(&var->edges, &var->capacity, var->count + 1, sizeof *var->edges, EDGES_MOST + 1, "changes", err));
    memmove(var->edges + 1, var->edges, var->count * sizeof *var->edges);
    var->edges[0] = (cw_edge){v->first_s, -1};
    var->count++;
    return CW_OK;
}

static void say_what_is_left_out(const vcd *v, size_t quiet, cw_source_info *info)
{
    if (v->buses > 0)
        cw_source_warn(info,
                       v->buses > 1 ? "%zu buses are left out (\"%s\" and more): a sensor is a single line"
                                    : "%zu bus is left out (\"%s\"): a sensor is a single line",
                       v->buses, v->a_bus);
    if (v->reals > 0)
        cw_source_warn(info,
                       v->reals > 1 ? "%zu real or text variables are left out: only digital lines are read from a VCD"
                                    : "%zu real or text variable is left out: only digital lines are read from a VCD",
                       v->reals);
    if (quiet > 0)
        cw_source_warn(info, "%zu channels that never change are left out; the others keep their order", quiet);
}

static cw_status too_many(const vcd *v, size_t lively, cw_error *err)
{
    char names[160] = "";
    size_t used = 0;
    for (size_t i = 0; i < v->count && used + NAME_SHOWN + 2 < sizeof names; i++)
        if (v->variables[i].is_bit && v->variables[i].count > 1)
            used += (size_t)snprintf(names + used, sizeof names - used, "%s%.*s", used > 0 ? ", " : "", NAME_SHOWN,
                                     v->variables[i].name);
    return cw_fail(
        err, CW_INPUT,
        "%zu channels change in this VCD (%s ...); up to %d can be used. Export only those of the sensors and "
        "the contact",
        lively, names, CW_CHANNELS_MOST);
}

/* Up to eight one-bit channels; when there are more, those that never change go. */
static cw_status pick_channels(vcd *v, cw_edge_list *out, cw_source_info *info, cw_error *err)
{
    size_t bits = 0, lively = 0;
    for (size_t i = 0; i < v->count; i++) {
        bits += v->variables[i].is_bit;
        lively += v->variables[i].is_bit && v->variables[i].count > 1;
    }
    bool all = bits <= CW_CHANNELS_MOST;
    if (!all && lively > CW_CHANNELS_MOST)
        return too_many(v, lively, err);
    if (!all && lively == 0)
        return cw_fail(err, CW_INPUT, "none of the %zu channels of the VCD ever changes", bits);
    for (size_t i = 0; i < v->count; i++) {
        variable *var = &v->variables[i];
        if (!var->is_bit || (!all && var->count <= 1))
            continue;
        CW_TRY(add_start(v, var, err));
        snprintf(info->names[out->channels], CW_CHANNEL_NAME, "%s", var->name);
        out->count[out->channels] = var->count;
        out->edges[out->channels++] = var->edges;
        var->edges = NULL;
    }
    say_what_is_left_out(v, all ? 0 : bits - lively, info);
    if (v->is_open)
        cw_source_warn(info, "the declarations have no $enddefinitions; was the beginning of the VCD cut or edited?");
    return CW_OK;
}

/* How finely instants are told: a tick, or the samples of the analyser where those are coarser, by its own words or by
 * a grid that so many instants do not keep by chance. */
static double resolution(const vcd *v)
{
    enum { INSTANTS_LEAST = 16 };
    double tick_s = v->ticks / v->per_second;
    double grid_s = v->instants >= INSTANTS_LEAST && v->grid > 1 ? (double)v->grid * tick_s : tick_s;
    return fmax(grid_s, v->sampled_s);
}

cw_status cw_vcd_open(const char *path, const cw_file_head *head, const cw_source_options *options, cw_source *source,
                      cw_error *err)
{
    (void)options;
    if (!is_mine(head))
        return cw_fail(err, CW_NOT_MINE, "not a VCD");
    vcd *v = calloc(1, sizeof *v);
    cw_edge_list *edges = calloc(1, sizeof *edges);
    cw_source_info info = {.form = CW_SOURCE_EDGES};
    cw_status status = CW_OK;
    if (v == NULL || edges == NULL || (v->variables = calloc(VARIABLES_MOST, sizeof *v->variables)) == NULL)
        status = cw_fail(err, CW_MEMORY, "no memory to read a VCD");
    if (status == CW_OK && (v->words.file = fopen(path, "rb")) == NULL)
        status = cw_fail(err, CW_FILE, "cannot be opened: %s", strerror(errno));
    if (status == CW_OK) {
        v->words.line = 1;
        status = read_all(v, err);
    }
    if (status == CW_OK)
        status = pick_channels(v, edges, &info, err);
    if (status == CW_OK) {
        info.channels = edges->channels;
        info.rate_hz = v->per_second / v->ticks;
        info.length_s = v->now_s;
        info.u_time_s = resolution(v) / sqrt(12);
        cw_edge_list_give(edges, &info, source);
        edges = NULL;
    }
    if (v != NULL) {
        if (v->words.file != NULL)
            fclose(v->words.file);
        for (size_t i = 0; v->variables != NULL && i < v->count; i++)
            free(v->variables[i].edges);
        free(v->variables);
    }
    free(v);
    cw_edge_list_free(edges);
    return status;
}
