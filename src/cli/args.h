/* The option parser behind command.h: what main.c needs to run a command. */
#ifndef WH_ARGS_H
#define WH_ARGS_H

#include "command.h"

#include <getopt.h>
#include <stddef.h>
#include <stdio.h>

#define WH_ARGS_OPTIONS_MAX 48 /* options of one command, --help not counted */

struct wh_args {
    const wh_command *command;
    int argc;
    char **argv; /* argv[0] is the command's name */
    int status;
    size_t count; /* options of the command */
    struct option longs[WH_ARGS_OPTIONS_MAX + 2];
    char shorts[2 * WH_ARGS_OPTIONS_MAX + 4];
};

/* Begin parsing: argv[0] is the command's name, argv[1] its first argument. The strings are kept by reference.
 * There is one parse at a time per process (getopt's state). */
void wh_args_begin(wh_args *args, const wh_command *command, int argc, char **argv);

/* The whole help text of a command. */
void wh_args_help(const wh_command *command, FILE *out);

#endif
