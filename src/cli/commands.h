/* The table of the program's commands. */
#ifndef WH_COMMANDS_H
#define WH_COMMANDS_H

#include "command.h"

#include <stddef.h>

extern const wh_command *const wh_commands[]; /* in the order of the help text */
extern const size_t wh_command_count;

#endif
