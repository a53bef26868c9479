#include "input.h"
#include "source_bare.h"
#include "source_impl.h"
#include "source_wav.h"
#include "wav_header.h"

#include <string.h>
#include <unistd.h>

static bool accepts(const wh_source_options *options)
{
    return strcmp(options->target, "-") == 0;
}

/* A stated format means bare samples, whatever they look like: then nothing waits for the first bytes. */
static wh_status open_stdin(const wh_source_options *options, wh_source **out, wh_error *error)
{
    wh_input input;
    wh_input_adopt(&input, STDIN_FILENO, "standard input");
    if (options->has_format)
        return wh_bare_open_input(options, &input, "stdin", out, error);
    uint8_t first[12];
    size_t got;
    const wh_status status = wh_input_peek(&input, first, sizeof first, &got, error);
    if (status != WH_OK)
        return status;
    if (wh_wav_begins(first, got))
        return wh_wav_open_input(options, &input, "stdin", out, error);
    return wh_fail(error, WH_ERR_ARGUMENT, "say the sample format and rate, e.g. --format cu8 --sample-rate 250k",
                   "standard input: no WAV file, and the format of bare samples was not stated");
}

const wh_source_driver wh_driver_stdin = {
    .name = "stdin",
    .summary = "\"-\": standard input, a WAV file or bare samples with format and rate stated",
    .accepts = accepts,
    .open = open_stdin,
};
