#include "source_wav.h"

#include "file_source.h"
#include "name_stream.h"
#include "wav_header.h"

wh_status wh_wav_open_input(const wh_source_options *options, wh_input *input, const char *path, wh_source **out,
                            wh_error *error)
{
    wh_wav_header header;
    wh_status status = wh_wav_read_header(input, &header, error);
    if (status == WH_OK)
        status = wh_source_check_rate(header.sample_rate_hz, path, WH_ERR_UNSUPPORTED, error);
    if (status != WH_OK) {
        wh_input_close(input);
        return status;
    }
    wh_stream stream = wh_stream_from_options(options, path);
    stream.format = header.format;
    stream.sample_rate_hz = header.sample_rate_hz;
    return wh_file_source_single(input, &stream, header.has_length ? header.data_bytes : WH_UNTIL_END,
                                 options->block_samples, out, error);
}

static bool accepts(const wh_source_options *options)
{
    return wh_has_suffix(options->target, ".wav") || wh_has_suffix(options->target, ".rf64");
}

static wh_status open_wav(const wh_source_options *options, wh_source **out, wh_error *error)
{
    wh_input input;
    const wh_status status = wh_input_open(&input, options->target, error);
    return status == WH_OK ? wh_wav_open_input(options, &input, options->target, out, error) : status;
}

const wh_source_driver wh_driver_wav = {
    .name = "wav",
    .summary = "a two-channel WAV file: I left, Q right; 8 or 16 bit PCM or float; also RF64",
    .accepts = accepts,
    .open = open_wav,
};
