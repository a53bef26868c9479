/* wheelhark descriptor: check descriptor files, list and show what is known, and prove them on recordings. */
#include "command.h"
#include "complaint_print.h"
#include "descriptor_actions.h"
#include "descriptor_text.h"
#include "measure_options.h"
#include "nearest_word.h"
#include "text_wrap.h"
#include "wheelhark/descriptor.h"

#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

enum {
    OPTION_DESCRIPTORS = 1,
    OPTION_WATCH,
    OPTION_NOISE,
    OPTION_OUT,
    OPTION_KEEP_IDS,
    OPTION_SAMPLE_RATE,
    OPTION_CENTRE,
    OPTION_FORMAT
};

#define ACTIONS "check, list, show, try, conflicts, pack"

typedef struct tally {
    unsigned errors, warnings;
} tally;

static void print_complaint(void *context, const wh_complaint *complaint)
{
    tally *const count = context;
    wh_complaint_print(stderr, complaint);
    *(complaint->warning ? &count->warnings : &count->errors) += 1;
}

/* The descriptors in the set that came from the file `path`, or from the folder. */
static void print_good(const wh_descriptor_set *set, const char *path)
{
    const size_t length = strlen(path);
    for (size_t i = 0; i < wh_descriptor_set_count(set); i++) {
        const wh_descriptor *const good = wh_descriptor_set_at(set, i);
        const char *const file = wh_descriptor_path(good);
        if (strncmp(file, path, length) == 0 && (file[length] == '\0' || file[length] == '/'))
            printf("%s: good (%s)\n", file, wh_descriptor_name(good));
    }
}

/* Check one file or folder. */
static wh_status check_path(wh_descriptor_set *set, const char *path)
{
    tally count = {0, 0};
    struct stat info;
    const bool folder = stat(path, &info) == 0 && S_ISDIR(info.st_mode);
    const wh_status status = folder ? wh_descriptor_set_load_folder(set, path, print_complaint, &count)
                                    : wh_descriptor_set_load_file(set, path, print_complaint, &count);
    print_good(set, path);
    if (status != WH_OK || count.warnings > 0)
        printf("%s: %u error%s, %u warning%s\n", path, count.errors, count.errors == 1 ? "" : "s", count.warnings,
               count.warnings == 1 ? "" : "s");
    return status;
}

static int run_check(const wh_args *args)
{
    const int count = wh_args_operand_count(args);
    if (count < 2)
        return wh_args_complain(args, "'check' needs the files or folders to check");
    wh_descriptor_set *set = wh_descriptor_set_create();
    if (!set)
        return WH_EXIT_SOFTWARE;
    wh_status first_failure = WH_OK;
    for (int i = 1; i < count; i++) {
        const wh_status status = check_path(set, wh_args_operand(args, i));
        if (first_failure == WH_OK)
            first_failure = status;
    }
    wh_descriptor_set_destroy(&set);
    return wh_exit_of(first_failure);
}

/* Print and release. */
static int print_text(wh_text *text)
{
    const bool failed = text->failed;
    if (!failed && text->data)
        fputs(text->data, stdout);
    wh_text_free(text);
    return failed ? WH_EXIT_SOFTWARE : WH_EXIT_DONE;
}

static int run_list(const wh_args *args, const char *folder)
{
    if (wh_args_operand_count(args) > 1)
        return wh_args_complain(args, "'list' takes nothing more");
    wh_descriptor_set *set;
    wh_error error;
    wh_text text = {.data = NULL};
    if (wh_cli_load_descriptors(folder, &set, &error) != WH_OK)
        return wh_exit_for(&error);
    for (size_t i = 0; i < wh_descriptor_set_count(set); i++) {
        const wh_descriptor *const descriptor = wh_descriptor_set_at(set, i);
        wh_text_wrap(&text, wh_descriptor_name(descriptor), wh_descriptor_summary(descriptor), 31,
                     WH_DESCRIPTOR_TEXT_COLUMNS);
    }
    const int result = print_text(&text);
    wh_descriptor_set_destroy(&set);
    return result;
}

static void print_unknown(const wh_descriptor_set *set, const char *name)
{
    enum { NAMES_MAX = 256 };
    const char *names[NAMES_MAX];
    const size_t count = wh_descriptor_set_count(set) < NAMES_MAX ? wh_descriptor_set_count(set) : NAMES_MAX;
    for (size_t i = 0; i < count; i++)
        names[i] = wh_descriptor_name(wh_descriptor_set_at(set, i));
    const char *const nearest = wh_nearest_word(name, names, count);
    fprintf(stderr, "wheelhark: there is no descriptor '%s'", name);
    if (nearest)
        fprintf(stderr, " (did you mean '%s'?)", nearest);
    fputs("\n  'wheelhark descriptor list' lists them; a file is given with its .yaml\n", stderr);
}

static int show(const wh_descriptor *descriptor)
{
    wh_text text = {.data = NULL};
    wh_descriptor_text(&text, descriptor);
    return print_text(&text);
}

/* A name with a '/' or '.' is a file: descriptor names have neither. */
static int run_show(const wh_args *args, const char *folder)
{
    if (wh_args_operand_count(args) != 2)
        return wh_args_complain(args, "'show' needs the name of one descriptor, or its file");
    const char *const name = wh_args_operand(args, 1);
    wh_descriptor_set *set = NULL;
    int result = WH_EXIT_DATA;
    if (strpbrk(name, "/.")) {
        tally count = {0, 0};
        set = wh_descriptor_set_create();
        const wh_status status = set ? wh_descriptor_set_load_file(set, name, print_complaint, &count) : WH_ERR_MEMORY;
        result = status == WH_OK ? show(wh_descriptor_set_at(set, 0)) : wh_exit_of(status);
    } else {
        wh_error error;
        if (wh_cli_load_descriptors(folder, &set, &error) != WH_OK)
            return wh_exit_for(&error);
        const wh_descriptor *const descriptor = wh_descriptor_set_find(set, name);
        if (descriptor) {
            result = show(descriptor);
        } else {
            print_unknown(set, name);
            result = WH_EXIT_NO_INPUT;
        }
    }
    wh_descriptor_set_destroy(&set);
    return result;
}

static int take(wh_descriptor_options *wanted, wh_args *args, int id, const char *value)
{
    switch (id) {
    case OPTION_DESCRIPTORS: wanted->place = value; return 0;
    case OPTION_WATCH: wanted->watch = true; return 0;
    case OPTION_OUT: wanted->out = value; return 0;
    case OPTION_KEEP_IDS: wanted->keep_ids = true; return 0;
    case OPTION_NOISE: {
        const int status = wh_take_number(args, "--noise", value, "min", 0.1, 6000, &wanted->noise_s);
        wanted->noise_s *= 60.0;
        return status;
    }
    case OPTION_SAMPLE_RATE:
        return wh_take_number(args, "--sample-rate", value, "S/s", WH_SAMPLE_RATE_MIN_HZ, WH_SAMPLE_RATE_MAX_HZ,
                              &wanted->source.sample_rate_hz);
    case OPTION_CENTRE: return wh_take_number(args, "--centre", value, "Hz", 1e6, 6e9, &wanted->source.centre_hz);
    default:
        wanted->source.has_format = wh_iq_format_parse(value, &wanted->source.format);
        return wanted->source.has_format
                   ? 0
                   : wh_args_complain(args, "--format: '%s' is not cu8, ci8, ci16 or cf32", value);
    }
}

static int act(const wh_args *args, const wh_descriptor_options *wanted)
{
    static const char *const actions[] = {"check", "list", "show", "try", "conflicts", "pack"};
    const char *const action = wh_args_operand(args, 0);
    if (!action)
        return wh_args_complain(args, "say what to do: " ACTIONS);
    if (strcmp(action, "check") == 0)
        return run_check(args);
    if (strcmp(action, "list") == 0)
        return run_list(args, wanted->place);
    if (strcmp(action, "show") == 0)
        return run_show(args, wanted->place);
    if (strcmp(action, "try") == 0)
        return wh_descriptor_try(args, wanted);
    if (strcmp(action, "conflicts") == 0)
        return wh_descriptor_conflicts(args, wanted);
    if (strcmp(action, "pack") == 0)
        return wh_descriptor_pack(args, wanted);
    const char *const nearest = wh_nearest_word(action, actions, sizeof actions / sizeof actions[0]);
    return nearest ? wh_args_complain(args, "'%s' is none of " ACTIONS " (did you mean '%s'?)", action, nearest)
                   : wh_args_complain(args, "'%s' is none of " ACTIONS, action);
}

static int run(wh_args *args)
{
    wh_descriptor_options wanted = {.noise_s = 300.0};
    wh_source_options_defaults(&wanted.source);
    const char *value;
    for (int id; (id = wh_args_next(args, &value)) != 0;) {
        const int status = id < 0 ? wh_args_status(args) : take(&wanted, args, id, value);
        if (id < 0 || status != 0)
            return status;
    }
    return act(args, &wanted);
}

static const wh_option options[] = {
    {OPTION_DESCRIPTORS, 'd', "descriptors", "PLACE",
     "list, show, conflicts: a descriptor file, or a folder of them, that comes before your own folder"},
    {OPTION_WATCH, 'w', "watch", NULL, "try: again each time the descriptor is saved, until Ctrl-C."},
    {OPTION_NOISE, 0, "noise", "TIME", "conflicts: minutes of noise to listen to. Default 5 min."},
    {OPTION_OUT, 'o', "out", "FOLDER", "pack: the folder to make."},
    {OPTION_KEEP_IDS, 0, "keep-ids", NULL, "pack: the real samples with the real IDs, cut around the readings."},
    {OPTION_SAMPLE_RATE, 0, "sample-rate", "RATE", "Of recordings that do not say it, e.g. 2.4M."},
    {OPTION_CENTRE, 0, "centre", "FREQUENCY", "Of recordings that do not say it, e.g. 433.92M."},
    {OPTION_FORMAT, 0, "format", "FORMAT", "Of recordings that do not say it: cu8, ci8, ci16 or cf32."},
    {0, '\0', NULL, NULL, NULL},
};

const wh_command wh_cmd_descriptor = {
    .name = "descriptor",
    .operands = "ACTION ...",
    .summary = "check, show, try, compare and pack descriptors of sensors",
    .notes = "check FILE...  Read files or folders, run their examples and tell every mistake\n"
             "               with its place. Exit status 0 when all are good, 65 when not.\n"
             "list           The descriptors that are in use, one a line.\n"
             "show NAME      One of them, or a file, in plain words with a map of its bits.\n"
             "try FILE RECORDING...\n"
             "               How many bursts of recordings reach which stage with this descriptor\n"
             "               alone, and where each of the others was lost, and why.\n"
             "conflicts FILE [RECORDING...]\n"
             "               Can it be taken for another descriptor in use, or another for it? What\n"
             "               does it read in noise? Do readings of recordings change? Status 1: yes.\n"
             "pack FILE RECORDING... --out FOLDER\n"
             "               Descriptor, short recordings and the readings they must give, to keep\n"
             "               or to hand on. IDs are replaced, and the bursts made anew, marked synthetic.\n",
    .options = options,
    .run = run,
};
