/* wheelhark study: from recordings of unknown bursts to what they are made of. */
#include "command.h"
#include "meter.h"
#include "run_options.h"
#include "source.h"
#include "study.h"
#include "study_fields.h"
#include "study_text.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>

#define FRAMES_SHOWN 24

enum {
    OPT_JSON = 1,
    OPT_OUTPUT,
    OPT_ALL_FRAMES,
    OPT_SAMPLE_RATE,
    OPT_CENTRE,
    OPT_FORMAT,
    OPT_QUIET,
    OPT_TRUTH,
    OPT_DRAFT,
    OPT_KIND,
    OPT_PAGE
};

static const wh_option options[] = {
    {OPT_JSON, 'j', "json", NULL, "Write JSON Lines: kinds, their frames, and bursts of no kind."},
    {OPT_OUTPUT, 'o', "output", "FILE", "Write to FILE instead of standard output."},
    {OPT_ALL_FRAMES, 'a', "all-frames", NULL, "Show every frame, not only the first of each kind."},
    {OPT_TRUTH, 't', "truth", "FILE",
     "A table (CSV) of gauge and thermometer readings, and of which sensor was recorded."},
    {OPT_DRAFT, 'd', "draft", "FILE", "Write a first descriptor, NAME.yaml, of the kind with the most frames."},
    {OPT_KIND, 'k', "kind", "NUMBER", "Draft this kind instead."},
    {OPT_PAGE, 'p', "page", "FILE", "Also write FILE, one HTML page with tables and pictures of everything."},
    {OPT_SAMPLE_RATE, 0, "sample-rate", "RATE", "Of recordings that do not say it, e.g. 2.4M."},
    {OPT_CENTRE, 0, "centre", "FREQUENCY", "Of recordings that do not say it, e.g. 433.92M."},
    {OPT_FORMAT, 0, "format", "FORMAT", "Of recordings that do not say it: cu8, ci8, ci16 or cf32."},
    {OPT_QUIET, 'q', "quiet", NULL, "No progress and no notes: errors only on standard error."},
    {0},
};

typedef struct study_options {
    bool json, all_frames, quiet;
    const char *output, *page;
    wh_study_fields_options fields;
    wh_source_options source;
} study_options;

static int take(study_options *wanted, wh_args *args, int id, const char *value)
{
    switch (id) {
    case OPT_JSON: wanted->json = true; return 0;
    case OPT_OUTPUT: wanted->output = value; return 0;
    case OPT_ALL_FRAMES: wanted->all_frames = true; return 0;
    case OPT_QUIET: wanted->quiet = true; return 0;
    case OPT_TRUTH: wanted->fields.truth = value; return 0;
    case OPT_PAGE: wanted->page = value; return 0;
    case OPT_DRAFT: wanted->fields.draft = value; return 0;
    case OPT_KIND: {
        double number;
        const int status = wh_take_number(args, "--kind", value, NULL, 1, WH_STUDY_KINDS_MAX, &number);
        wanted->fields.kind = status == 0 ? (size_t)number : 0;
        return status;
    }
    case OPT_SAMPLE_RATE:
        return wh_take_number(args, "--sample-rate", value, "S/s", WH_SAMPLE_RATE_MIN_HZ, WH_SAMPLE_RATE_MAX_HZ,
                              &wanted->source.sample_rate_hz);
    case OPT_CENTRE: return wh_take_number(args, "--centre", value, "Hz", 1e6, 6e9, &wanted->source.centre_hz);
    default:
        wanted->source.has_format = wh_iq_format_parse(value, &wanted->source.format);
        return wanted->source.has_format
                   ? 0
                   : wh_args_complain(args, "--format: '%s' is not cu8, ci8, ci16 or cf32", value);
    }
}

/* What is damaged is told and kept for the exit status; what was readable is studied. */
static wh_status take_event(wh_burst_store *store, wh_spectrogram *spectrogram, const wh_source_event *event,
                            int *worst, wh_error *error)
{
    switch (event->kind) {
    case WH_SOURCE_STREAM: return wh_burst_store_begin(store, &event->stream, error);
    case WH_SOURCE_SAMPLES: {
        if (spectrogram)
            wh_spectrogram_push(spectrogram, wh_burst_store_format(store), event->samples, event->count);
        const wh_status status = wh_burst_store_push(store, event->samples, event->count);
        return status == WH_OK
                   ? WH_OK
                   : wh_fail(error, status, "close other programs", "studying failed: %s", wh_status_name(status));
    }
    case WH_SOURCE_NOTICE:
        if (event->notice.status == WH_ERR_DATA)
            *worst = wh_exit_for(&event->notice);
        else
            wh_exit_for(&event->notice);
        return WH_OK;
    default: return WH_OK;
    }
}

/* One recording into the store. Returns the exit status of what went wrong, 0 for nothing. */
static int take_recording(wh_burst_store *store, wh_spectrogram *spectrogram, const study_options *wanted,
                          const char *target, wh_meter *meter)
{
    wh_source_options source_options = wanted->source;
    wh_source *source = NULL;
    wh_error error;
    int worst = 0;
    source_options.target = target;
    const char *slash = strrchr(target, '/');
    const char *name = slash ? slash + 1 : target;
    wh_status status = wh_burst_store_begin_recording(store, name, &error);
    if (status == WH_OK)
        status = wh_source_open(&source_options, &source, &error);
    if (status == WH_OK && wh_source_kind(source)->live)
        status = wh_fail(&error, WH_ERR_UNSUPPORTED, "record it first, then study the recording",
                         "%s: only recordings can be studied", target);
    bool more = status == WH_OK;
    while (more && !wh_stop_asked()) {
        wh_source_event event;
        uint64_t done, total;
        status = wh_source_next(source, &event, &error);
        if (status == WH_OK)
            status = take_event(store, spectrogram, &event, &worst, &error);
        more = status == WH_OK && event.kind != WH_SOURCE_END;
        wh_source_progress(source, &done, &total);
        wh_meter_show(meter, name, done, total);
    }
    wh_source_destroy(&source);
    wh_meter_hide(meter);
    if (status != WH_OK)
        worst = wh_exit_for(&error);
    status = wh_burst_store_finish(store);
    if (status != WH_OK) {
        wh_fail(&error, status, "close other programs", "%s: studying failed: %s", name, wh_status_name(status));
        worst = wh_exit_for(&error);
    }
    return worst;
}

/* Returns the exit status of what went wrong, 0 for nothing. */
static int tell(wh_study *study, const study_options *wanted, wh_study_fields *fields, wh_text *text)
{
    int worst = 0;
    if (!wanted->json)
        wh_study_text_head(study, text);
    for (size_t k = 0; k < wh_study_kind_count(study); k++) {
        if (wanted->json) {
            wh_study_json_kind(study, k, text);
            wh_study_json_frames(study, k, text);
        } else {
            wh_study_text_kind(study, k, text);
            wh_study_text_frames(study, k, wanted->all_frames ? SIZE_MAX : FRAMES_SHOWN, text);
        }
        const int status = wh_study_fields_tell(fields, k, wanted->json ? NULL : text);
        worst = status > worst ? status : worst;
    }
    if (wanted->json)
        wh_study_json_strays(study, text);
    else
        wh_study_text_strays(study, text);
    const int status = wh_study_fields_finish(fields);
    return status > worst ? status : worst;
}

static int write_out(const wh_text *text, const char *output)
{
    const bool named = output && strcmp(output, "-") != 0;
    FILE *out = named ? fopen(output, "wb") : stdout;
    wh_error error;
    if (!out) {
        wh_fail(&error, WH_ERR_IO, "choose another --output", "%s: cannot be written: %s", output, strerror(errno));
        wh_exit_for(&error);
        return WH_EXIT_CANT_CREATE;
    }
    bool good = text->length == 0 || fwrite(text->data, 1, text->length, out) == text->length;
    good = (named ? fclose(out) : fflush(out)) == 0 && good;
    if (good)
        return 0;
    wh_fail(&error, WH_ERR_IO, NULL, "writing to %s failed: %s", named ? output : "standard output", strerror(errno));
    return wh_exit_for(&error);
}

static int write_page(wh_study_page *page, wh_study *study, wh_text *html, const char *path)
{
    wh_error error;
    wh_study_page_write(page, study, html);
    if (!html->failed)
        return write_out(html, path);
    wh_fail(&error, WH_ERR_MEMORY, "close other programs", "no memory for the page");
    return wh_exit_for(&error);
}

static int study_all(const study_options *wanted, const wh_args *args)
{
    wh_study *study;
    wh_error error;
    wh_meter meter;
    wh_study_fields fields;
    int worst = wh_study_fields_begin(&fields, &wanted->fields, args); /* before hours of reading, not after */
    if (worst != 0)
        return worst;
    if (wh_study_create(&study, &error) != WH_OK) {
        wh_study_fields_end(&fields);
        return wh_exit_for(&error);
    }
    wh_study_page *page = wanted->page ? wh_study_page_create() : NULL;
    fields.study = study;
    fields.page = page;
    wh_stop_install();
    wh_meter_begin(&meter, !wanted->quiet);
    for (int i = 0; i < wh_args_operand_count(args) && !wh_stop_asked(); i++) {
        wh_spectrogram *spectrogram = page ? wh_study_page_recording(page) : NULL;
        const int status = take_recording(wh_study_store(study), spectrogram, wanted, wh_args_operand(args, i), &meter);
        worst = status > worst ? status : worst;
    }
    wh_text text = {0};
    if (wh_stop_asked()) {
        worst = WH_EXIT_INTERRUPTED;
    } else if (wh_study_run(study, &error) != WH_OK) {
        worst = wh_exit_for(&error);
    } else {
        const int told = tell(study, wanted, &fields, &text), status = write_out(&text, wanted->output);
        worst = told > worst ? told : worst;
        worst = status > worst ? status : worst;
        wh_text_clear(&text);
        const int drawn = page ? write_page(page, study, &text, wanted->page) : 0;
        worst = drawn > worst ? drawn : worst;
    }
    wh_text_free(&text);
    wh_study_page_destroy(&page);
    wh_study_fields_end(&fields);
    wh_study_destroy(&study);
    return worst;
}

static int run_study(wh_args *args)
{
    study_options wanted = {0};
    wh_source_options_defaults(&wanted.source);
    const char *value;
    int id, status;
    while ((id = wh_args_next(args, &value)) > 0) {
        if ((status = take(&wanted, args, id, value)) != 0)
            return status;
    }
    if (id < 0)
        return wh_args_status(args);
    if (wh_args_operand_count(args) == 0)
        return wh_args_complain(args, "name at least one recording, or - for standard input");
    return study_all(&wanted, args);
}

const wh_command wh_cmd_study = {
    .name = "study",
    .operands = "FILE...",
    .summary = "find out what unknown bursts in recordings are made of",
    .notes =
        "FILE is a recording as for decode. All recordings are studied together: ten activations of each of two or\n"
        "three sensors of a kind tell most. Nothing need be known about them; other senders may be among them.\n\n"
        "Every result is certain (nothing else that was tried explains the recordings), likely (the best of\n"
        "several readings) or open (the recordings do not tell).\n\n"
        "--truth names a table whose first row has some of: recording, time (seconds from its start, or UTC), sensor\n"
        "(the printed ID, best, or any name), pressure, temperature, air pressure; units stand in the first row\n"
        "(pressure kPa) or in each cell. It tells which bits are pressure and temperature and by what scale.\n\n"
        "--draft writes a descriptor with comments on what is certain, likely and open. Without a sure place for the "
        "ID\n"
        "it is partial and gives nicknames.\n\n"
        "--page writes one HTML page without scripts: spectrograms with the bursts' outlines, and of each kind a "
        "burst's\n"
        "envelope, chips, eye and tones, and the frames' bits as a map. Numbers of samples are the recording's.\n\n"
        "Exit status: 0 done, 64 wrong use, 65 damaged input (what was readable is studied), 66 no such file,\n"
        "73 and 74 output failed, 130 interrupted.\n\n"
        "Example: wheelhark study red.sigmf-meta green.sigmf-meta --truth gauge.csv --draft yard-new.yaml",
    .options = options,
    .run = run_study,
};
