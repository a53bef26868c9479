#include "study_fields.h"

#include "complaint_print.h"
#include "csv_print.h"
#include "draft.h"
#include "field_text.h"
#include "wheelhark/descriptor.h"
#include "whole_file.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static int read_truth(wh_study_fields *fields, const char *path)
{
    char *text;
    size_t length;
    wh_error error;
    if (wh_file_read(path, WH_CSV_BYTES_MAX, &text, &length, &error) != WH_OK)
        return wh_exit_for(&error);
    wh_csv_complaints complaints = {0};
    const wh_status status =
        wh_truth_read(&fields->truth, text, length, fields->recordings, fields->recording_count, &complaints);
    wh_csv_complaints_print(path, &complaints);
    wh_csv_complaints_free(&complaints);
    free(text);
    fields->has_truth = status == WH_OK;
    return wh_exit_of(status);
}

/* The descriptor's name is that of its file. */
static bool name_of(const char *path, char name[WH_NAME_MAX])
{
    const char *slash = strrchr(path, '/');
    const char *base = slash ? slash + 1 : path;
    const char *end = strstr(base, ".yaml");
    if (!end || end[5] != '\0' || end == base || (size_t)(end - base) >= WH_NAME_MAX)
        return false;
    snprintf(name, WH_NAME_MAX, "%.*s", (int)(end - base), base);
    return strspn(name, "abcdefghijklmnopqrstuvwxyz0123456789-") == strlen(name);
}

int wh_study_fields_begin(wh_study_fields *fields, const wh_study_fields_options *options, const wh_args *args)
{
    char name[WH_NAME_MAX];
    const size_t count = (size_t)wh_args_operand_count(args);
    *fields = (wh_study_fields){.options = options, .recording_count = count};
    if (options->draft && !name_of(options->draft, name))
        return wh_args_complain(args, "--draft: '%s' must be NAME.yaml, NAME of lower case letters, digits and '-'",
                                options->draft);
    fields->recordings = calloc(count, sizeof *fields->recordings);
    if (!fields->recordings)
        return wh_exit_of(WH_ERR_MEMORY);
    for (size_t i = 0; i < count; i++)
        fields->recordings[i] = wh_args_operand(args, (int)i);
    const int status = options->truth ? read_truth(fields, options->truth) : 0;
    if (status != 0)
        wh_study_fields_end(fields);
    return status;
}

static void print_complaint(void *context, const wh_complaint *complaint)
{
    (void)context;
    wh_complaint_print(stderr, complaint);
}

static wh_status write_file(const char *path, const wh_text *text, wh_error *error)
{
    static const char fix[] = "choose another --draft; an existing file is never overwritten";
    FILE *out = fopen(path, "wbx");
    if (!out)
        return wh_fail(error, WH_ERR_IO, fix, "%s: cannot be written: %s", path, strerror(errno));
    const bool good = fwrite(text->data, 1, text->length, out) == text->length;
    return fclose(out) == 0 && good ? WH_OK : wh_fail(error, WH_ERR_IO, fix, "%s: writing failed", path);
}

/* A draft that its own examples refute would be worse than none: it is read back before it is written. */
static int write_draft(wh_study_fields *fields, const wh_frame_table *table, const wh_field_study *study)
{
    char name[WH_NAME_MAX];
    wh_text text = {0};
    wh_error error;
    const wh_draft draft = {name,
                            &table->kind,
                            study,
                            fields->has_truth ? &fields->truth : NULL,
                            fields->recordings,
                            fields->recording_count};
    name_of(fields->options->draft, name);
    wh_status status = wh_draft_write(&draft, &text, &error);
    wh_descriptor_set *set = status == WH_OK ? wh_descriptor_set_create() : NULL;
    if (status == WH_OK && set)
        status =
            wh_descriptor_set_load_text(set, fields->options->draft, text.data, text.length, print_complaint, NULL);
    if (status == WH_OK)
        status = write_file(fields->options->draft, &text, &error);
    else if (set)
        wh_fail(&error, status, "tell the developers: this must not happen", "the draft is not a good descriptor");
    wh_descriptor_set_destroy(&set);
    wh_text_free(&text);
    fields->drafted = true; /* or told why not */
    return status == WH_OK ? 0 : wh_exit_for(&error);
}

int wh_study_fields_tell(wh_study_fields *fields, size_t kind, wh_text *text)
{
    const wh_frame_table *table = wh_study_kind(fields->study, kind);
    wh_error error;
    if (table->row_count == 0) {
        if (fields->page)
            wh_study_page_kind(fields->page, fields->study, kind, NULL, NULL);
        return 0;
    }
    wh_field_study *study = calloc(1, sizeof *study);
    if (!study)
        return wh_exit_of(WH_ERR_MEMORY);
    int status = 0;
    if (wh_field_study_run(study, table, fields->has_truth ? &fields->truth : NULL, &error) != WH_OK) {
        status = wh_exit_for(&error);
    } else {
        wh_text told = {0};
        wh_field_text(study, fields->has_truth, &told);
        if (text && told.data)
            wh_text_add_bytes(text, told.data, told.length);
        if (fields->page)
            wh_study_page_kind(fields->page, fields->study, kind, study, told.data);
        wh_text_free(&told);
        const bool wanted = fields->options->kind ? fields->options->kind == kind + 1 : !fields->drafted;
        if (fields->options->draft && wanted)
            status = write_draft(fields, table, study);
        wh_field_study_free(study);
    }
    free(study);
    return status;
}

int wh_study_fields_finish(const wh_study_fields *fields)
{
    wh_error error;
    if (!fields->options->draft || fields->drafted)
        return 0;
    if (fields->options->kind > wh_study_kind_count(fields->study))
        wh_fail(&error, WH_ERR_NOT_FOUND, "leave --kind out for the one with the most frames",
                "there is no kind %zu to draft", fields->options->kind);
    else
        wh_fail(&error, WH_ERR_DATA, "record ten activations of each of three sensors, near to them",
                "no frames were read: there is nothing to draft");
    return wh_exit_for(&error);
}

void wh_study_fields_end(wh_study_fields *fields)
{
    wh_truth_free(&fields->truth);
    free(fields->recordings);
    fields->recordings = NULL;
}
