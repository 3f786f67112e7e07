/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Reads options and choices out of the usage and help texts of the commands. */
#include <string.h>

#include "cli/manual/manual.h"

static bool is_word(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '-';
}

static size_t word_length(const char *at)
{
    size_t length = 0;
    while (is_word(at[length]))
        length++;
    return length;
}

static size_t keep(const char *at, size_t length, char words[][CW_MANUAL_WORD], size_t count, size_t most)
{
    if (length == 0 || length >= CW_MANUAL_WORD || count >= most)
        return count;
    for (size_t i = 0; i < count; i++)
        if (strlen(words[i]) == length && strncmp(words[i], at, length) == 0)
            return count;
    memcpy(words[count], at, length);
    words[count][length] = '\0';
    return count + 1;
}

/* What stands between backquotes speaks of another command. */
static size_t options_of(const char *text, char words[][CW_MANUAL_WORD], size_t count, size_t most)
{
    bool quoted = false;
    for (const char *at = text == NULL ? "" : text; *at != '\0';) {
        quoted ^= *at == '`';
        if (quoted || strncmp(at, "--", 2) != 0) {
            at++;
            continue;
        }
        at += 2;
        size_t length = word_length(at);
        count = keep(at, length, words, count, most);
        at += length;
    }
    return count;
}

size_t cw_manual_options(const cw_command *command, char words[][CW_MANUAL_WORD], size_t most)
{
    size_t count = options_of(command->arguments, words, 0, most);
    return options_of(command->help, words, count, most);
}

/* "a|b|c" at `at`: keeps each; nothing when there is only one word or a part is not a word. */
static size_t alternatives(const char *at, char words[][CW_MANUAL_WORD], size_t most)
{
    size_t count = 0;
    for (;;) {
        size_t length = word_length(at);
        if (length == 0)
            return 0;
        count = keep(at, length, words, count, most);
        at += length;
        if (*at != '|')
            break;
        at++;
    }
    return count > 1 && strchr(" ]\n", *at) != NULL ? count : 0;
}

size_t cw_manual_subcommands(const cw_command *command, char words[][CW_MANUAL_WORD], size_t most)
{
    return alternatives(command->arguments, words, most);
}

static size_t choices_in(const char *text, const char *option, char words[][CW_MANUAL_WORD], size_t most)
{
    size_t length = strlen(option);
    for (const char *at = text == NULL ? NULL : strstr(text, "--"); at != NULL; at = strstr(at, "--")) {
        at += 2;
        if (strncmp(at, option, length) != 0 || at[length] != ' ' || word_length(at) != length)
            continue;
        size_t count = alternatives(at + length + 1, words, most);
        if (count > 0)
            return count;
    }
    return 0;
}

size_t cw_manual_choices(const cw_command *command, const char *option, char words[][CW_MANUAL_WORD], size_t most)
{
    size_t count = choices_in(command->arguments, option, words, most);
    return count > 0 ? count : choices_in(command->help, option, words, most);
}
