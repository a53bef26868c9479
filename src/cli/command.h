/* What a command of the program is. One file per command (cmd_NAME.c) defines one const wh_command; the table
 * in commands.c lists them. Help, option parsing and the exit status all come from these tables. */
#ifndef WH_COMMAND_H
#define WH_COMMAND_H

#include "wheelhark/log.h"
#include "wheelhark/status.h"

#include <stdbool.h>

/* Exit status of the program. 64 and up are the names of <sysexits.h>. */
enum wh_exit {
    WH_EXIT_DONE = 0,
    WH_EXIT_FINDINGS = 1,    /* commands that judge: done, and there is something to look at */
    WH_EXIT_EXPECTATION = 2, /* --expect: not met */
    WH_EXIT_USAGE = 64,
    WH_EXIT_DATA = 65, /* damaged or malformed input, bad descriptor */
    WH_EXIT_NO_INPUT = 66,
    WH_EXIT_UNAVAILABLE = 69, /* no device, no peer */
    WH_EXIT_SOFTWARE = 70,    /* our fault */
    WH_EXIT_CANT_CREATE = 73,
    WH_EXIT_IO = 74,
    WH_EXIT_TEMPORARY = 75, /* device busy: try again */
    WH_EXIT_PERMISSION = 77,
    WH_EXIT_CONFIG = 78,
    WH_EXIT_INTERRUPTED = 130
};

/* One option. `letter` 0: long name only. `argument` NULL: takes none. `id` is what wh_args_next returns. */
typedef struct wh_option {
    int id; /* > 0, unique within the command */
    char letter;
    const char *name;
    const char *argument; /* placeholder shown in help, e.g. "HZ" */
    const char *help;     /* one sentence; may hold line ends */
} wh_option;

typedef struct wh_args wh_args;

typedef struct wh_command {
    const char *name;
    const char *operands;      /* shown in the usage line, e.g. "FILE..." */
    const char *summary;       /* one line */
    const char *notes;         /* paragraphs after the options in --help; may be NULL */
    const wh_option *options;  /* ended by id 0; may be NULL. --help is added by itself */
    int (*run)(wh_args *args); /* returns an exit status */
} wh_command;

/* Next option: its id with *value set (NULL without argument), 0 when only operands are left, or -1 when the
 * command must return wh_args_status(args) at once (help was printed, or an unknown option complained about). */
int wh_args_next(wh_args *args, const char **value);
int wh_args_status(const wh_args *args);
/* Operands, after wh_args_next has returned 0. The strings live as long as the program. */
int wh_args_operand_count(const wh_args *args);
const char *wh_args_operand(const wh_args *args, int index);
/* Complain on stderr about the use of the command ("wheelhark decode: ...", then a line pointing to --help);
 * returns WH_EXIT_USAGE. */
int wh_args_complain(const wh_args *args, const char *format, ...) __attribute__((format(printf, 2, 3)));

/* Print "wheelhark: what" and "  fix" on stderr; returns the exit status that fits the error. */
int wh_exit_for(const wh_error *error);
/* The status alone. */
int wh_exit_of(wh_status status);
/* Numbers with SI prefixes and units as people write them: "433.92M", "433.92 MHz", "250k", "250000", "35 kHz".
 * `unit` is the unit that may follow ("Hz", "dB", "m", "S/s"); NULL: none. Independent of the locale. */
bool wh_number_parse(const char *text, const char *unit, double *out);

/* The set of descriptors from the search path: --descriptors folder or file if not NULL, then the user's data
 * folder, then the installed or source tree's protocols/. An earlier name wins. Complaints go to stderr with caret. */
typedef struct wh_descriptor_set wh_descriptor_set;
wh_status wh_cli_load_descriptors(const char *folder_or_file, wh_descriptor_set **out, wh_error *error);

/* stop flag: set by SIGINT / SIGTERM once wh_stop_install was called */
void wh_stop_install(void);
bool wh_stop_asked(void);

extern const wh_command wh_cmd_decode;
extern const wh_command wh_cmd_descriptor;
extern const wh_command wh_cmd_devices;
extern const wh_command wh_cmd_doctor;
extern const wh_command wh_cmd_findings;
extern const wh_command wh_cmd_listen;
extern const wh_command wh_cmd_roster;
extern const wh_command wh_cmd_serve;
extern const wh_command wh_cmd_settings;
extern const wh_command wh_cmd_sheet;
extern const wh_command wh_cmd_store;
extern const wh_command wh_cmd_study;
extern const wh_command wh_cmd_sweep;
extern const wh_command wh_cmd_synth;

#endif
