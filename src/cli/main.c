#include "args.h"
#include "commands.h"
#include "nearest_word.h"
#include "search_path.h"
#include "source.h"

#include <errno.h>
#include <signal.h>
#include <string.h>

static void print_overview(FILE *out)
{
    fputs("Wheelhark hears the radio pressure sensors inside tires.\n\n"
          "  wheelhark listen             hear the sensors around you with an RTL-SDR dongle\n"
          "  wheelhark decode FILE...     the same from a recording\n\n"
          "Commands:\n",
          out);
    for (size_t i = 0; i < wh_command_count; i++)
        fprintf(out, "  %-12s %s\n", wh_commands[i]->name, wh_commands[i]->summary);
    fputs("\n'wheelhark COMMAND --help' explains one command, 'wheelhark --version' says what this program can do.\n"
          "It only receives: nothing is ever sent to a vehicle.\n",
          out);
}

static void print_version(FILE *out)
{
    fprintf(out, "wheelhark %s\nsources:", WH_VERSION);
    for (const wh_source_driver *const *driver = wh_source_drivers; *driver; driver++)
        fprintf(out, " %s", (*driver)->name);
    fputs("\nsample formats:", out);
    for (int format = 0; format < WH_IQ_FORMAT_COUNT; format++)
        fprintf(out, " %s", wh_iq_format_name((wh_iq_format)format));
    char folder[WH_PATH_MAX];
    fprintf(out, "\ndescriptors: %s\n", wh_shipped_folder(folder) ? folder : "none found");
    fputs("license: GPL-3.0-or-later, without any warranty\n", out);
}

/* A reader that went away ends the program without a word, as SIGPIPE would have; a full disk is told. */
static int end_output(int status)
{
    if (fflush(stdout) == 0 && !ferror(stdout))
        return status;
    if (errno == EPIPE) {
        signal(SIGPIPE, SIG_DFL);
        raise(SIGPIPE);
    }
    if (status != WH_EXIT_DONE)
        return status; /* told already, or less important than what was */
    fputs("wheelhark: writing to standard output failed\n", stderr);
    return WH_EXIT_IO;
}

static int run(const wh_command *command, int argc, char **argv)
{
    wh_args args;
    wh_args_begin(&args, command, argc, argv);
    return command->run(&args);
}

static int complain_unknown(const char *word)
{
    const char *names[16];
    size_t count = 0;
    for (size_t i = 0; i < wh_command_count && count < sizeof names / sizeof names[0]; i++)
        names[count++] = wh_commands[i]->name;
    const char *nearest = wh_nearest_word(word, names, count);
    fprintf(stderr, "wheelhark: there is no command '%s'", word);
    if (nearest)
        fprintf(stderr, " (did you mean '%s'?)", nearest);
    fputs("\n  'wheelhark --help' lists the commands\n", stderr);
    return WH_EXIT_USAGE;
}

int main(int argc, char **argv)
{
    /* A peer of a network source that went away must come back as an error, not end the program. Who writes to
     * stdout looks for EPIPE. */
    signal(SIGPIPE, SIG_IGN);
    if (argc < 2 || strcmp(argv[1], "--help") == 0 || strcmp(argv[1], "-h") == 0) {
        print_overview(stdout);
        return end_output(WH_EXIT_DONE);
    }
    if (strcmp(argv[1], "--version") == 0) {
        print_version(stdout);
        return end_output(WH_EXIT_DONE);
    }
    for (size_t i = 0; i < wh_command_count; i++) {
        if (strcmp(argv[1], wh_commands[i]->name) == 0)
            return end_output(run(wh_commands[i], argc - 1, argv + 1));
    }
    return complain_unknown(argv[1]);
}
