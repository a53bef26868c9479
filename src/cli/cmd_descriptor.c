/* wheelhark descriptor: check descriptor files, list and show what is known. */
#include "command.h"
#include "complaint_print.h"
#include "descriptor_text.h"
#include "nearest_word.h"
#include "text_wrap.h"
#include "wheelhark/descriptor.h"

#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

enum { OPTION_DESCRIPTORS = 1 };

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

static int run(wh_args *args)
{
    static const char *const actions[] = {"check", "list", "show"};
    const char *value, *folder = NULL;
    for (int id; (id = wh_args_next(args, &value)) != 0;) {
        if (id < 0)
            return wh_args_status(args);
        folder = value;
    }
    const char *const action = wh_args_operand(args, 0);
    if (!action)
        return wh_args_complain(args, "say what to do: check, list or show");
    if (strcmp(action, "check") == 0)
        return run_check(args);
    if (strcmp(action, "list") == 0)
        return run_list(args, folder);
    if (strcmp(action, "show") == 0)
        return run_show(args, folder);
    const char *const nearest = wh_nearest_word(action, actions, sizeof actions / sizeof actions[0]);
    return nearest ? wh_args_complain(args, "'%s' is none of check, list, show (did you mean '%s'?)", action, nearest)
                   : wh_args_complain(args, "'%s' is none of check, list, show", action);
}

static const wh_option options[] = {
    {OPTION_DESCRIPTORS, 'd', "descriptors", "PLACE",
     "list, show: a descriptor file, or a folder of them, that comes before your own folder"},
    {0, '\0', NULL, NULL, NULL},
};

const wh_command wh_cmd_descriptor = {
    .name = "descriptor",
    .operands = "check FILE... | list | show NAME",
    .summary = "check descriptor files, list and show the kinds of sensor that are known",
    .notes = "check FILE...  Read files or folders, run their examples and tell every mistake\n"
             "               with its place. Exit status 0 when all are good, 65 when not.\n"
             "list           The descriptors that are in use, one a line.\n"
             "show NAME      One of them, or a file, in plain words with a map of its bits.\n",
    .options = options,
    .run = run,
};
