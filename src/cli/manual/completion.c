/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Completion for three shells. All of them complete the command, then its options and the choices of an option, then
 * files. Names, keys and choices are letters, digits and dashes; labels are quoted. */
#include <string.h>

#include "cli/manual/manual.h"
#include "cli/sheet_command.h"

typedef char words[CW_MANUAL_WORDS_MOST][CW_MANUAL_WORD];

/* A text in single quotes, for all three shells: a quote in it ends, is written escaped, and begins again. */
static void quoted(cw_buf *out, const char *text)
{
    cw_buf_char(out, '\'');
    for (; *text != '\0'; text++) {
        if (*text == '\'')
            cw_buf_text(out, "'\\''");
        else
            cw_buf_char(out, *text);
    }
    cw_buf_char(out, '\'');
}

static void all_names(cw_buf *out)
{
    size_t command_count, sheet_count;
    const cw_command *const *commands = cw_commands(&command_count);
    const cw_worksheet *const *sheets = cw_worksheets(&sheet_count);
    for (size_t i = 0; i < command_count; i++)
        cw_buf_printf(out, "%s ", commands[i]->name);
    for (size_t i = 0; i < sheet_count; i++)
        cw_buf_printf(out, "%s ", sheets[i]->name);
    cw_buf_text(out, "--help");
}

static void word_list(cw_buf *out, words list, size_t count, const char *dashes)
{
    for (size_t i = 0; i < count; i++)
        cw_buf_printf(out, "%s%s%s", i > 0 ? " " : "", dashes, list[i]);
}

static void sheet_choices(cw_buf *out, const cw_field *field)
{
    for (const cw_choice *choice = field->choices; choice != NULL && choice->key != NULL; choice++)
        cw_buf_printf(out, "%s%s", choice == field->choices ? "" : " ", choice->key);
}

static void sheet_options(cw_buf *out, const cw_worksheet *sheet)
{
    for (size_t i = 0; i < sheet->input_count; i++)
        cw_buf_printf(out, "--%s ", sheet->inputs[i].key);
    for (size_t i = 0; cw_sheet_face_options[i] != NULL; i++)
        cw_buf_printf(out, "--%s ", cw_sheet_face_options[i]);
    cw_buf_text(out, "--help");
}

/* The lines `command:--option) list ;;` of a case statement that both bash and zsh read. */
static void choice_cases(cw_buf *out)
{
    size_t command_count, sheet_count;
    const cw_command *const *commands = cw_commands(&command_count);
    const cw_worksheet *const *sheets = cw_worksheets(&sheet_count);
    words options, choices;
    for (size_t i = 0; i < command_count; i++) {
        size_t count = cw_manual_options(commands[i], options, CW_MANUAL_WORDS_MOST);
        for (size_t o = 0; o < count; o++) {
            size_t found = cw_manual_choices(commands[i], options[o], choices, CW_MANUAL_WORDS_MOST);
            if (found == 0)
                continue;
            cw_buf_printf(out, "    %s:--%s) words='", commands[i]->name, options[o]);
            word_list(out, choices, found, "");
            cw_buf_text(out, "' ;;\n");
        }
    }
    for (size_t i = 0; i < sheet_count; i++)
        for (size_t f = 0; f < sheets[i]->input_count; f++) {
            const cw_field *field = &sheets[i]->inputs[f];
            if (field->kind != CW_KIND_CHOICE)
                continue;
            cw_buf_printf(out, "    %s:--%s) words='", sheets[i]->name, field->key);
            sheet_choices(out, field);
            cw_buf_text(out, "' ;;\n");
        }
}

/* The lines `command) options=... words=... ;;`. */
static void option_cases(cw_buf *out)
{
    size_t command_count, sheet_count;
    const cw_command *const *commands = cw_commands(&command_count);
    const cw_worksheet *const *sheets = cw_worksheets(&sheet_count);
    words list;
    for (size_t i = 0; i < command_count; i++) {
        cw_buf_printf(out, "    %s) options='", commands[i]->name);
        word_list(out, list, cw_manual_options(commands[i], list, CW_MANUAL_WORDS_MOST), "--");
        cw_buf_text(out, " --help' words='");
        word_list(out, list, cw_manual_subcommands(commands[i], list, CW_MANUAL_WORDS_MOST), "");
        cw_buf_text(out, "' ;;\n");
    }
    for (size_t i = 0; i < sheet_count; i++) {
        cw_buf_printf(out, "    %s) options='", sheets[i]->name);
        sheet_options(out, sheets[i]);
        cw_buf_text(out, "' ;;\n");
    }
}

void cw_manual_bash(cw_buf *out)
{
    cw_buf_text(out, "# bash completion for camerawright, written by `camerawright manual bash`\n"
                     "_camerawright() {\n"
                     "  local current=${COMP_WORDS[COMP_CWORD]} before=${COMP_WORDS[COMP_CWORD-1]}\n"
                     "  local command=${COMP_WORDS[1]} words='' options=''\n"
                     "  COMPREPLY=()\n"
                     "  if [ \"$COMP_CWORD\" -eq 1 ]; then\n"
                     "    mapfile -t COMPREPLY < <(compgen -W '");
    all_names(out);
    cw_buf_text(out, "' -- \"$current\")\n"
                     "    return\n"
                     "  fi\n"
                     "  case \"$command:$before\" in\n");
    choice_cases(out);
    cw_buf_text(out, "  esac\n"
                     "  if [ -n \"$words\" ]; then\n"
                     "    mapfile -t COMPREPLY < <(compgen -W \"$words\" -- \"$current\")\n"
                     "    return\n"
                     "  fi\n"
                     "  case \"$command\" in\n");
    option_cases(out);
    cw_buf_text(out, "  esac\n"
                     "  if [[ $current == -* ]]; then\n"
                     "    mapfile -t COMPREPLY < <(compgen -W \"$options\" -- \"$current\")\n"
                     "  elif [ \"$COMP_CWORD\" -eq 2 ] && [ -n \"$words\" ]; then\n"
                     "    mapfile -t COMPREPLY < <(compgen -W \"$words\" -- \"$current\")\n"
                     "  else\n"
                     "    compopt -o filenames 2>/dev/null\n"
                     "    mapfile -t COMPREPLY < <(compgen -f -- \"$current\")\n"
                     "  fi\n"
                     "}\n"
                     "complete -F _camerawright camerawright\n");
}

/* 'name:what it is' for _describe, whose colon must be escaped in the name only. */
static void described(cw_buf *out, const char *name, const char *summary)
{
    char both[400];
    snprintf(both, sizeof both, "%s:%s", name, summary);
    cw_buf_text(out, "    ");
    quoted(out, both);
    cw_buf_char(out, '\n');
}

void cw_manual_zsh(cw_buf *out)
{
    size_t command_count, sheet_count;
    const cw_command *const *commands = cw_commands(&command_count);
    const cw_worksheet *const *sheets = cw_worksheets(&sheet_count);
    cw_buf_text(out, "#compdef camerawright\n# zsh completion for camerawright, written by `camerawright manual zsh`\n"
                     "_camerawright() {\n"
                     "  local words_typed=(\"${words[@]}\")\n"
                     "  local current=${words_typed[CURRENT]} before=${words_typed[CURRENT-1]}\n"
                     "  local command=${words_typed[2]}\n"
                     "  if (( CURRENT == 2 )); then\n"
                     "    local -a commands=(\n");
    for (size_t i = 0; i < command_count; i++)
        described(out, commands[i]->name, commands[i]->summary);
    for (size_t i = 0; i < sheet_count; i++)
        described(out, sheets[i]->name, sheets[i]->title);
    cw_buf_text(out, "    )\n    _describe command commands\n    return\n  fi\n"
                     "  local words='' options=''\n"
                     "  case \"$command:$before\" in\n");
    choice_cases(out);
    cw_buf_text(out, "  esac\n"
                     "  if [[ -n $words ]]; then compadd -- ${=words}; return; fi\n"
                     "  case \"$command\" in\n");
    option_cases(out);
    cw_buf_text(out, "  esac\n"
                     "  if [[ $current == -* ]]; then compadd -- ${=options}\n"
                     "  elif (( CURRENT == 3 )) && [[ -n $words ]]; then compadd -- ${=words}\n"
                     "  else _files\n"
                     "  fi\n"
                     "}\n"
                     "if [[ $funcstack[1] == _camerawright ]]; then _camerawright \"$@\"; else compdef _camerawright "
                     "camerawright; fi\n");
}

static void fish_option(cw_buf *out, const char *command, const char *option, const char *label)
{
    cw_buf_printf(out, "complete -c camerawright -n '__fish_seen_subcommand_from %s' -l %s", command, option);
    if (label != NULL) {
        cw_buf_text(out, " -d ");
        quoted(out, label);
    }
}

static void fish_sheet(cw_buf *out, const cw_worksheet *sheet)
{
    for (size_t f = 0; f < sheet->input_count; f++) {
        const cw_field *field = &sheet->inputs[f];
        fish_option(out, sheet->name, field->key, field->label);
        cw_buf_text(out, " -x");
        if (field->kind == CW_KIND_CHOICE) {
            cw_buf_text(out, " -a '");
            sheet_choices(out, field);
            cw_buf_char(out, '\'');
        }
        cw_buf_char(out, '\n');
    }
    for (size_t i = 0; cw_sheet_face_options[i] != NULL; i++) {
        fish_option(out, sheet->name, cw_sheet_face_options[i], NULL);
        cw_buf_char(out, '\n');
    }
}

static void fish_command(cw_buf *out, const cw_command *command)
{
    words list, choices;
    size_t count = cw_manual_subcommands(command, list, CW_MANUAL_WORDS_MOST);
    if (count > 0) {
        cw_buf_printf(out, "complete -c camerawright -n '__fish_seen_subcommand_from %s' -a '", command->name);
        word_list(out, list, count, "");
        cw_buf_text(out, "'\n");
    }
    count = cw_manual_options(command, list, CW_MANUAL_WORDS_MOST);
    for (size_t o = 0; o < count; o++) {
        fish_option(out, command->name, list[o], NULL);
        size_t found = cw_manual_choices(command, list[o], choices, CW_MANUAL_WORDS_MOST);
        if (found > 0) {
            cw_buf_text(out, " -x -a '");
            word_list(out, choices, found, "");
            cw_buf_char(out, '\'');
        }
        cw_buf_char(out, '\n');
    }
}

static void fish_name(cw_buf *out, const char *name, const char *summary)
{
    cw_buf_printf(out, "complete -c camerawright -f -n __fish_use_subcommand -a %s -d ", name);
    quoted(out, summary);
    cw_buf_char(out, '\n');
}

void cw_manual_fish(cw_buf *out)
{
    size_t command_count, sheet_count;
    const cw_command *const *commands = cw_commands(&command_count);
    const cw_worksheet *const *sheets = cw_worksheets(&sheet_count);
    cw_buf_text(out, "# fish completion for camerawright, written by `camerawright manual fish`\n");
    for (size_t i = 0; i < command_count; i++) {
        fish_name(out, commands[i]->name, commands[i]->summary);
        fish_command(out, commands[i]);
    }
    for (size_t i = 0; i < sheet_count; i++) {
        fish_name(out, sheets[i]->name, sheets[i]->title);
        fish_sheet(out, sheets[i]);
    }
}
