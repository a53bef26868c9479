/* The settings file: where it is, reading it, and changing one line of it. */
#include "settings.h"

#include "command.h"
#include "complaint_print.h"
#include "utf8.h"
#include "whole_file.h"
#include "yaml_tree.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

bool wh_settings_path(char path[WH_PATH_MAX])
{
    /* A relative XDG_CONFIG_HOME is to be ignored (XDG Base Directory Specification). */
    const char *folder = getenv("XDG_CONFIG_HOME"), *home = getenv("HOME");
    int length = -1;
    if (folder && folder[0] == '/')
        length = snprintf(path, WH_PATH_MAX, "%s/wheelhark/settings.yaml", folder);
    else if (home && home[0] == '/')
        length = snprintf(path, WH_PATH_MAX, "%s/.config/wheelhark/settings.yaml", home);
    return length > 0 && length < WH_PATH_MAX;
}

static void print_complaint(void *context, const wh_complaint *complaint)
{
    (void)context;
    wh_complaint_print(stderr, complaint);
}

wh_status wh_settings_load(wh_settings *settings, wh_error *error)
{
    char path[WH_PATH_MAX], *text;
    size_t length;
    wh_settings_defaults(settings);
    if (!wh_settings_path(path))
        return WH_OK;
    wh_status status = wh_file_read(path, WH_YAML_BYTES_MAX, &text, &length, error);
    if (status == WH_ERR_NOT_FOUND)
        return WH_OK;
    if (status != WH_OK)
        return status;
    wh_complaints complaints;
    wh_complaints_begin(&complaints, path, text, length);
    status = wh_settings_read(settings, NULL, &complaints);
    wh_complaints_tell(&complaints, print_complaint, NULL);
    if (status != WH_OK)
        wh_fail(error, WH_ERR_DATA, "correct the places named above, or move the file away",
                "%s: the settings cannot be used", path);
    wh_complaints_free(&complaints);
    free(text);
    return status == WH_OK ? WH_OK : WH_ERR_DATA;
}

int wh_settings_start(wh_settings *settings)
{
    wh_error error;
    const wh_status status = wh_settings_load(settings, &error);
    if (status == WH_OK)
        return 0;
    const int exit_status = wh_exit_for(&error);
    return status == WH_ERR_DATA || status == WH_ERR_LIMIT ? WH_EXIT_CONFIG : exit_status;
}

/* Where a mark is in the text; columns count characters. */
static size_t offset_of(const char *text, size_t length, wh_mark mark)
{
    size_t at = 0;
    for (unsigned line = 1; line < mark.line && at < length; at++)
        line += text[at] == '\n';
    for (unsigned column = 1; column < mark.column && at < length; column++) {
        const size_t bytes = wh_utf8_length(text + at, length - at);
        at += bytes ? bytes : 1;
    }
    return at;
}

/* In quotes whenever YAML might take it for something else. */
static void put_value(wh_text *out, const char *value)
{
    static const char plain[] = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz .%/+";
    const size_t length = strlen(value);
    if (length > 0 && strspn(value, plain) == length && value[0] != ' ' && value[length - 1] != ' ') {
        wh_text_add(out, value);
        return;
    }
    wh_text_add(out, "\"");
    for (const char *at = value; *at; at++) {
        if (*at == '"' || *at == '\\')
            wh_text_add(out, "\\");
        wh_text_add_bytes(out, at, 1);
    }
    wh_text_add(out, "\"");
}

static wh_status by_hand(wh_error *error)
{
    char path[WH_PATH_MAX];
    char fix[200];
    snprintf(fix, sizeof fix, "edit %.160s by hand", wh_settings_path(path) ? path : "the file");
    return wh_fail(error, WH_ERR_DATA, fix,
                   "the settings file is written in a way that cannot be changed line by line");
}

static void add_line(const char *text, size_t length, const char *name, const char *value, wh_text *out)
{
    wh_text_add_bytes(out, text, length);
    if (length == 0)
        wh_text_add(out, "wheelhark settings: 1\n");
    else if (text[length - 1] != '\n')
        wh_text_add(out, "\n");
    wh_text_print(out, "%s: ", name);
    put_value(out, value);
    wh_text_add(out, "\n");
}

/* The key's lines give way to the new one; what stands behind the value on its line, a comment, stays. */
static wh_status change_line(const char *text, size_t length, const wh_yaml_node *entry, const char *value,
                             wh_text *out, wh_error *error)
{
    const size_t key = offset_of(text, length, entry->key->start), key_end = offset_of(text, length, entry->key->end);
    size_t end = offset_of(text, length, entry->end);
    if (entry->kind != WH_YAML_SCALAR || entry->start.line != entry->key->start.line ||
        entry->end.line != entry->start.line || end < key_end)
        return by_hand(error);
    if (!value) {
        const char *line_end = memchr(text + end, '\n', length - end);
        wh_text_add_bytes(out, text, key);
        end = line_end ? (size_t)(line_end - text) + 1 : length;
    } else {
        wh_text_add_bytes(out, text, key_end);
        wh_text_add(out, ": ");
        put_value(out, value);
    }
    if (end < length)
        wh_text_add_bytes(out, text + end, length - end);
    return WH_OK;
}

/* What comes out must read as it was meant: the same settings with the one change. */
static bool reads_as_meant(const wh_text *out, const char *name, const char *value)
{
    wh_complaints complaints;
    wh_yaml_node *root = NULL;
    wh_complaints_begin(&complaints, "settings", out->data ? out->data : "", out->length);
    const bool bare = out->length == 0 || wh_settings_bare(out->data, out->length);
    const bool parsed = bare || (wh_yaml_parse(&complaints, &root) == WH_OK && complaints.errors == 0);
    const wh_yaml_node *entry = root && root->kind == WH_YAML_MAP ? wh_yaml_find(root, name) : NULL;
    const bool good =
        parsed && (value ? entry && entry->kind == WH_YAML_SCALAR && strcmp(entry->text, value) == 0 : !entry);
    wh_yaml_destroy(&root);
    wh_complaints_free(&complaints);
    return good;
}

wh_status wh_settings_edit(const char *text, size_t length, const char *name, const char *value, wh_text *out,
                           wh_error *error)
{
    wh_complaints complaints;
    wh_yaml_node *root = NULL;
    wh_complaints_begin(&complaints, "settings", text, length);
    wh_status status = wh_settings_bare(text, length) ? WH_OK : wh_yaml_parse(&complaints, &root);
    const bool good = status == WH_OK && complaints.errors == 0 && (!root || root->kind == WH_YAML_MAP);
    const bool flow = good && root && text[offset_of(text, length, root->start)] == '{';
    if (!good || flow) {
        status = by_hand(error);
    } else {
        const wh_yaml_node *entry = root ? wh_yaml_find(root, name) : NULL;
        if (entry)
            status = change_line(text, length, entry, value, out, error);
        else if (value)
            add_line(text, length, name, value, out);
        else
            wh_text_add_bytes(out, text, length);
    }
    wh_yaml_destroy(&root);
    wh_complaints_free(&complaints);
    if (status == WH_OK && out->failed)
        return wh_fail(error, WH_ERR_MEMORY, NULL, "out of memory");
    if (status == WH_OK && !reads_as_meant(out, name, value))
        return by_hand(error);
    return status;
}
