/* wheelhark descriptor try: how far the bursts of recordings get with one descriptor, and where each was lost. */
#include "complaint_print.h"
#include "descriptor_actions.h"
#include "file_watch.h"
#include "quiet_feed.h"
#include "stage_counts.h"
#include "text_buffer.h"
#include "wheelhark/descriptor.h"

#include <stdio.h>
#include <stdlib.h>

static void print_complaint(void *context, const wh_complaint *complaint)
{
    (void)context;
    wh_complaint_print(stderr, complaint);
}

int wh_descriptor_load_one(const char *path, wh_descriptor_set **out)
{
    *out = wh_descriptor_set_create();
    if (!*out)
        return WH_EXIT_SOFTWARE;
    const wh_status status = wh_descriptor_set_load_file(*out, path, print_complaint, NULL);
    if (status == WH_OK)
        return 0;
    wh_descriptor_set_destroy(out);
    return wh_exit_of(status);
}

static void on_burst(void *context, const wh_burst *burst)
{
    wh_stage_counts_burst(context, burst);
}

static void on_attempt(void *context, const wh_attempt *attempt)
{
    wh_stage_counts_attempt(context, attempt);
}

static void on_reading(void *context, const wh_reading *reading)
{
    (void)reading;
    ((wh_stage_counts *)context)->readings++;
}

static int hear_all(const wh_args *args, const wh_descriptor_options *options, wh_receiver *receiver)
{
    int worst = 0;
    for (int i = 2; i < wh_args_operand_count(args) && !wh_stop_asked(); i++) {
        wh_source_options source = options->source;
        source.target = wh_args_operand(args, i);
        const int status = wh_feed_quietly(&source, receiver);
        worst = status > worst ? status : worst;
    }
    return worst;
}

/* One run over all recordings. */
static int try_once(const wh_args *args, const wh_descriptor_options *options)
{
    wh_descriptor_set *set;
    int worst = wh_descriptor_load_one(wh_args_operand(args, 1), &set);
    if (worst != 0)
        return worst;
    wh_receiver_config config;
    wh_receiver_config_defaults(&config);
    config.explain = true;
    wh_stage_counts counts = {0};
    const wh_receiver_sink sink = {.context = &counts, .reading = on_reading, .burst = on_burst, .attempt = on_attempt};
    wh_receiver *receiver = NULL;
    wh_error error;
    wh_text text = {0};
    if (wh_receiver_create(&config, set, &sink, &receiver, &error) != WH_OK) {
        worst = wh_exit_for(&error);
    } else {
        worst = hear_all(args, options, receiver);
        if (!wh_stop_asked()) {
            wh_stage_counts_text(&counts, wh_descriptor_name(wh_descriptor_set_at(set, 0)), &text);
            if (counts.failed || text.failed)
                worst = WH_EXIT_SOFTWARE;
            else if (fputs(text.data, stdout) == EOF || fflush(stdout) != 0)
                worst = WH_EXIT_IO;
        }
    }
    wh_text_free(&text);
    wh_stage_counts_free(&counts);
    wh_receiver_destroy(&receiver);
    wh_descriptor_set_destroy(&set);
    return worst;
}

/* Until Ctrl-C. A mistake in the file, or a file that is away for a moment while it is saved, is told and waited out. */
static int try_again_and_again(const wh_args *args, const wh_descriptor_options *options)
{
    wh_file_watch watch;
    wh_file_watch_begin(&watch, wh_args_operand(args, 1));
    while (!wh_stop_asked()) {
        try_once(args, options);
        fputs("wheelhark: waiting for the next save; Ctrl-C ends\n", stderr);
        wh_file_watch_wait(&watch, wh_stop_asked);
        if (!wh_stop_asked())
            puts("");
    }
    return WH_EXIT_DONE;
}

int wh_descriptor_try(const wh_args *args, const wh_descriptor_options *options)
{
    if (wh_args_operand_count(args) < 3)
        return wh_args_complain(args, "'try' needs a descriptor file and at least one recording");
    wh_stop_install();
    if (options->watch)
        return try_again_and_again(args, options);
    const int worst = try_once(args, options);
    return wh_stop_asked() ? WH_EXIT_INTERRUPTED : worst;
}
