/* wheelhark settings: what is set once and for all. */
#include "command.h"
#include "complaint_print.h"
#include "json_writer.h"
#include "nearest_word.h"
#include "settings.h"
#include "text_wrap.h"
#include "whole_file.h"
#include "yaml_tree.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { OPT_JSON = 1 };

static const wh_option options[] = {
    {OPT_JSON, 'j', "json", NULL, "list: write JSON Lines."},
    {0},
};

static void print_complaint(void *context, const wh_complaint *complaint)
{
    (void)context;
    wh_complaint_print(stderr, complaint);
}

/* The user's file; WH_OK and empty when there is none. Free *text. */
static wh_status read_file(char path[WH_PATH_MAX], char **text, size_t *length, wh_error *error)
{
    *text = NULL;
    *length = 0;
    if (!wh_settings_path(path))
        return wh_fail(error, WH_ERR_NOT_FOUND, "set HOME or XDG_CONFIG_HOME", "no home folder is known for settings");
    const wh_status status = wh_file_read(path, WH_YAML_BYTES_MAX, text, length, error);
    if (status != WH_ERR_NOT_FOUND)
        return status;
    *text = calloc(1, 1);
    return *text ? WH_OK : wh_fail(error, WH_ERR_MEMORY, NULL, "out of memory");
}

/* All complaints told; `given` as in wh_settings_read. */
static wh_status read_settings(const char *path, const char *text, size_t length, wh_settings *settings, bool *given,
                               wh_error *error)
{
    wh_complaints complaints;
    wh_complaints_begin(&complaints, path, text, length);
    const wh_status status = wh_settings_read(settings, given, &complaints);
    wh_complaints_tell(&complaints, print_complaint, NULL);
    wh_complaints_free(&complaints);
    if (status == WH_OK)
        return WH_OK;
    return wh_fail(error, WH_ERR_DATA, "correct the places named above", "%s: the settings cannot be used", path);
}

static int config_exit(const wh_error *error)
{
    const int status = wh_exit_for(error);
    return error->status == WH_ERR_DATA || error->status == WH_ERR_LIMIT ? WH_EXIT_CONFIG : status;
}

static void put_setting(wh_text *out, const wh_settings *settings, size_t index, bool given, bool json)
{
    char value[WH_SETTING_TEXT_SIZE];
    const wh_setting setting = wh_setting_at(index);
    wh_setting_text(settings, index, value);
    if (json) {
        wh_json_open(out);
        wh_json_put_string(out, "record", "setting");
        wh_json_put_string(out, "name", setting.name);
        if (value[0])
            wh_json_put_string(out, "value", value);
        wh_json_put_bool(out, "yours", given);
        if (setting.source && !given)
            wh_json_put_string(out, "source", setting.source);
        wh_json_close(out);
        wh_text_add(out, "\n");
        return;
    }
    char label[WH_SETTING_TEXT_SIZE + 40], body[400];
    snprintf(label, sizeof label, "%s %-21s  %s", given ? "*" : " ", setting.name, value[0] ? value : "-");
    wh_text_print(out, "%s\n", label);
    snprintf(body, sizeof body, "%s%s%s%s", setting.meaning, setting.source && !given ? " (" : "",
             setting.source && !given ? setting.source : "", setting.source && !given ? ")" : "");
    wh_text_wrap(out, "", body, 25, 100);
}

static int list(bool json)
{
    char path[WH_PATH_MAX], *text;
    size_t length;
    wh_error error;
    wh_settings settings;
    wh_text out = {0};
    bool *given = calloc(wh_setting_count(), sizeof *given);
    wh_status status = given ? read_file(path, &text, &length, &error) : WH_ERR_MEMORY;
    if (status != WH_OK) {
        free(given);
        return status == WH_ERR_MEMORY ? WH_EXIT_SOFTWARE : wh_exit_for(&error);
    }
    status = read_settings(path, text, length, &settings, given, &error);
    for (size_t i = 0; i < wh_setting_count(); i++)
        put_setting(&out, &settings, i, given[i], json);
    if (!json)
        wh_text_print(&out, "\n* yours, in %s; the others are as the program has them\n", path);
    if (!out.failed)
        fputs(out.data, stdout);
    wh_text_free(&out);
    free(given);
    free(text);
    return status == WH_OK ? WH_EXIT_DONE : config_exit(&error);
}

static int check(const char *path)
{
    char own[WH_PATH_MAX], *text;
    size_t length;
    wh_error error;
    wh_settings settings;
    wh_status status =
        path ? wh_file_read(path, WH_YAML_BYTES_MAX, &text, &length, &error) : read_file(own, &text, &length, &error);
    if (status != WH_OK)
        return config_exit(&error);
    path = path ? path : own;
    status = read_settings(path, text, length, &settings, NULL, &error);
    if (status == WH_OK)
        printf("%s: good\n", path);
    free(text);
    return status == WH_OK ? WH_EXIT_DONE : config_exit(&error);
}

/* Height and air pressure of the yard say the same: the new one takes the other's place. */
static const char *rival_of(const char *name)
{
    return strcmp(name, "altitude") == 0 ? "air pressure" : strcmp(name, "air pressure") == 0 ? "altitude" : NULL;
}

static wh_status edit_file(const char *name, const char *value, wh_error *error)
{
    char path[WH_PATH_MAX], *text;
    size_t length;
    wh_settings settings;
    wh_text between = {0}, out = {0};
    const char *rival = value ? rival_of(name) : NULL;
    wh_status status = read_file(path, &text, &length, error);
    if (status == WH_OK && rival)
        status = wh_settings_edit(text, length, rival, NULL, &between, error);
    if (status == WH_OK)
        status = wh_settings_edit(between.data ? between.data : text, between.data ? between.length : length, name,
                                  value, &out, error);
    /* The rest of the file may be bad: look before it is stored. */
    if (status == WH_OK)
        status = read_settings(path, out.data ? out.data : "", out.length, &settings, NULL, error);
    if (status == WH_OK)
        status = wh_make_folders(path, "set XDG_CONFIG_HOME to a folder of yours", error);
    if (status == WH_OK)
        status = wh_file_replace(path, out.data ? out.data : "", out.length, error);
    wh_text_free(&between);
    wh_text_free(&out);
    free(text);
    return status;
}

static int change(const char *name, const char *value)
{
    wh_error error;
    wh_settings scratch;
    wh_settings_defaults(&scratch);
    const size_t index = wh_setting_find(name, &error);
    wh_status status = index < wh_setting_count() ? WH_OK : WH_ERR_NOT_FOUND;
    if (status == WH_OK && value)
        status = wh_setting_take(&scratch, index, value, &error);
    if (status != WH_OK) {
        wh_exit_for(&error);
        return WH_EXIT_USAGE;
    }
    return edit_file(wh_setting_at(index).name, value, &error) == WH_OK ? WH_EXIT_DONE : config_exit(&error);
}

static int run(wh_args *args)
{
    static const char *const actions[] = {"list", "set", "unset", "check"};
    static const int least[] = {0, 2, 1, 0}, most[] = {0, 2, 1, 1};
    static const char *const needs[] = {"nothing more", "a name and a value", "one name", "one file at most"};
    enum { COUNT = sizeof actions / sizeof actions[0] };
    bool json = false;
    const char *value;
    int id;
    while ((id = wh_args_next(args, &value)) > 0)
        json = true;
    if (id < 0)
        return wh_args_status(args);
    const char *word = wh_args_operand(args, 0) ? wh_args_operand(args, 0) : "list";
    int what = 0;
    while (what < COUNT && strcmp(word, actions[what]) != 0)
        what++;
    if (what == COUNT) {
        const char *nearest = wh_nearest_word(word, actions, COUNT);
        return nearest ? wh_args_complain(args, "'%s' is none of list, set, unset, check (did you mean '%s'?)", word,
                                          nearest)
                       : wh_args_complain(args, "'%s' is none of list, set, unset, check", word);
    }
    const int operands = wh_args_operand_count(args) - (wh_args_operand_count(args) > 0);
    if (operands < least[what] || operands > most[what])
        return wh_args_complain(args, "'%s' takes %s", word, needs[what]);
    switch (what) {
    case 0: return list(json);
    case 1: return change(wh_args_operand(args, 1), wh_args_operand(args, 2));
    case 2: return change(wh_args_operand(args, 1), NULL);
    default: return check(wh_args_operand(args, 1));
    }
}

const wh_command wh_cmd_settings = {
    .name = "settings",
    .operands = "[list | set NAME VALUE | unset NAME | check [FILE]]",
    .summary = "units of measure, the site, the dongle, the fleet's thresholds: set once and for all",
    .notes =
        "list             All settings, with what they mean and where their defaults are from.\n"
        "set NAME VALUE   Change one. Comments in the file stay.\n"
        "unset NAME       Back to the default.\n"
        "check [FILE]     Say everything that is wrong with the file, yours or another.\n\n"
        "They are kept in ~/.config/wheelhark/settings.yaml ($XDG_CONFIG_HOME). Options on the command line win.\n\n"
        "Exit status: 0 done, 64 wrong use, 66 no such file, 73 to 77 cannot be written, 78 the file is bad.\n\n"
        "Examples: wheelhark settings set pressure psi\n"
        "          wheelhark settings set \"low share\" \"92 %\"",
    .options = options,
    .run = run,
};
