#include "args.h"

#include "nearest_word.h"

#include <assert.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

enum { LONG_BASE = 0x1000, HELP = 0x800 }; /* beyond every letter, so that the two kinds cannot meet */

static size_t option_count(const wh_command *command)
{
    size_t count = 0;
    while (command->options && command->options[count].id)
        count++;
    return count;
}

void wh_args_begin(wh_args *args, const wh_command *command, int argc, char **argv)
{
    *args = (wh_args){.command = command, .argc = argc, .argv = argv, .count = option_count(command)};
    assert(args->count <= WH_ARGS_OPTIONS_MAX);
    size_t used = 0;
    args->shorts[used++] = ':'; /* getopt stays silent and tells a missing value from an unknown option */
    for (size_t i = 0; i < args->count; i++) {
        const wh_option *option = &command->options[i];
        args->longs[i] = (struct option){.name = option->name,
                                         .has_arg = option->argument ? required_argument : no_argument,
                                         .val = LONG_BASE + (int)i};
        if (option->letter) {
            args->shorts[used++] = option->letter;
            if (option->argument)
                args->shorts[used++] = ':';
        }
    }
    args->shorts[used++] = 'h';
    args->longs[args->count] = (struct option){.name = "help", .has_arg = no_argument, .val = HELP};
    opterr = 0;
    optind = 0; /* glibc: start anew */
}

static const wh_option *option_of(const wh_args *args, int code)
{
    if (code >= LONG_BASE)
        return &args->command->options[code - LONG_BASE];
    for (size_t i = 0; i < args->count; i++) {
        if (args->command->options[i].letter == code)
            return &args->command->options[i];
    }
    return NULL;
}

/* An option getopt did not know: say which, and the nearest one there is. */
static void complain_unknown(const wh_args *args)
{
    const char *given = args->argv[optind - 1];
    if (strncmp(given, "--", 2) != 0) {
        wh_args_complain(args, "there is no option '-%c'", optopt);
        return;
    }
    if (optopt != 0) { /* a known one, with a value it does not take */
        wh_args_complain(args, "option '%.*s' takes no value", (int)strcspn(given, "="), given);
        return;
    }
    char name[64];
    snprintf(name, sizeof name, "%.*s", (int)strcspn(given + 2, "="), given + 2);
    const char *names[WH_ARGS_OPTIONS_MAX];
    for (size_t i = 0; i < args->count; i++)
        names[i] = args->command->options[i].name;
    const char *nearest = wh_nearest_word(name, names, args->count);
    if (nearest)
        wh_args_complain(args, "there is no option '--%s' (did you mean '--%s'?)", name, nearest);
    else
        wh_args_complain(args, "there is no option '--%s', or it fits more than one", name);
}

int wh_args_next(wh_args *args, const char **value)
{
    *value = NULL;
    const int code = getopt_long(args->argc, args->argv, args->shorts, args->longs, NULL);
    if (code == -1)
        return 0;
    if (code == 'h' || code == HELP) {
        wh_args_help(args->command, stdout);
        args->status = WH_EXIT_DONE;
        return -1;
    }
    const wh_option *option = code == '?' || code == ':' ? NULL : option_of(args, code);
    if (option) {
        *value = optarg;
        return option->id;
    }
    if (code == ':')
        wh_args_complain(args, "option '%s' needs a value", args->argv[optind - 1]);
    else
        complain_unknown(args);
    args->status = WH_EXIT_USAGE;
    return -1;
}

int wh_args_status(const wh_args *args)
{
    return args->status;
}

int wh_args_operand_count(const wh_args *args)
{
    return args->argc - optind;
}

const char *wh_args_operand(const wh_args *args, int index)
{
    return index >= 0 && index < args->argc - optind ? args->argv[optind + index] : NULL;
}

int wh_args_complain(const wh_args *args, const char *format, ...)
{
    char text[512];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    fprintf(stderr, "wheelhark %s: %s\n  'wheelhark %s --help' lists what it takes\n", args->command->name, text,
            args->command->name);
    return WH_EXIT_USAGE;
}

/* "  -o, --output FILE" */
static int option_title(char *out, size_t size, char letter, const char *name, const char *argument)
{
    char head[8] = "    ";
    if (letter)
        snprintf(head, sizeof head, "-%c, ", letter);
    return snprintf(out, size, "  %s--%s%s%s", head, name, argument ? " " : "", argument ? argument : "");
}

static void print_option(FILE *out, int column, char letter, const char *name, const char *argument, const char *help)
{
    char title[96];
    option_title(title, sizeof title, letter, name, argument);
    fprintf(out, "%-*s  ", column, title);
    for (const char *line = help; *line;) {
        const size_t length = strcspn(line, "\n");
        fprintf(out, "%.*s\n", (int)length, line);
        line += length;
        if (*line == '\n') {
            line++;
            fprintf(out, "%*s", column + 2, "");
        }
    }
}

void wh_args_help(const wh_command *command, FILE *out)
{
    const size_t count = option_count(command);
    fprintf(out, "Usage: wheelhark %s [options]%s%s\n\n%s\n\nOptions:\n", command->name, command->operands ? " " : "",
            command->operands ? command->operands : "", command->summary);
    int column = 0;
    for (size_t i = 0; i < count; i++) {
        const wh_option *option = &command->options[i];
        const int width = option_title(NULL, 0, option->letter, option->name, option->argument);
        column = width > column ? width : column;
    }
    for (size_t i = 0; i < count; i++) {
        const wh_option *option = &command->options[i];
        print_option(out, column, option->letter, option->name, option->argument, option->help);
    }
    print_option(out, column, 'h', "help", NULL, "Show this text.");
    if (command->notes)
        fprintf(out, "\n%s\n", command->notes);
}
