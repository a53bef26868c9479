#include "source_bare.h"

#include "file_source.h"
#include "name_stream.h"

#include <math.h>

/* Only spellings that say the format beyond doubt. Others (.iq, .bin, .raw) need it stated. */
static bool format_of_name(const char *path, wh_iq_format *format)
{
    static const struct {
        const char *suffix;
        wh_iq_format format;
    } known[] = {{".cu8", WH_IQ_CU8}, {".ci8", WH_IQ_CI8}, {".ci16", WH_IQ_CI16}, {".cf32", WH_IQ_CF32}};
    for (size_t i = 0; i < sizeof known / sizeof *known; i++) {
        if (wh_has_suffix(path, known[i].suffix)) {
            *format = known[i].format;
            return true;
        }
    }
    return false;
}

static wh_status describe(const wh_source_options *options, const char *path, wh_stream *stream, wh_error *error)
{
    *stream = wh_stream_from_options(options, path);
    if (!options->has_format && !format_of_name(path, &stream->format))
        return wh_fail(error, WH_ERR_ARGUMENT, "say it, e.g. --format cu8 (or ci8, ci16, cf32)",
                       "%s: the name does not tell the sample format", path);
    if (isnan(stream->sample_rate_hz))
        return wh_fail(error, WH_ERR_ARGUMENT, "say it, e.g. --sample-rate 250k",
                       "%s: bare samples do not tell their sample rate", path);
    return wh_source_check_rate(stream->sample_rate_hz, path, WH_ERR_ARGUMENT, error);
}

wh_status wh_bare_open_input(const wh_source_options *options, wh_input *input, const char *path, wh_source **out,
                             wh_error *error)
{
    wh_stream stream;
    const wh_status status = describe(options, path, &stream, error);
    if (status != WH_OK) {
        wh_input_close(input);
        return status;
    }
    return wh_file_source_single(input, &stream, WH_UNTIL_END, options->block_samples, out, error);
}

static bool accepts(const wh_source_options *options)
{
    (void)options; /* the last driver: whatever no other one wanted */
    return true;
}

static wh_status open_bare(const wh_source_options *options, wh_source **out, wh_error *error)
{
    wh_input input;
    const wh_status status = wh_input_open(&input, options->target, error);
    return status == WH_OK ? wh_bare_open_input(options, &input, options->target, out, error) : status;
}

const wh_source_driver wh_driver_bare = {
    .name = "bare",
    .summary = "a file of bare samples: NAME.cu8, .ci8, .ci16, .cf32, or any name with the format stated",
    .accepts = accepts,
    .open = open_bare,
};
