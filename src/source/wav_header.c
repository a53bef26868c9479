#include "wav_header.h"

#include <inttypes.h>
#include <string.h>

#define FORMAT_PCM        1
#define FORMAT_FLOAT      3
#define FORMAT_EXTENSIBLE 0xFFFE
#define UNKNOWN_32        0xFFFFFFFFu
/* Chunks before the samples are a few; a file of nothing but tiny chunks is not worth reading to its end. */
#define MAX_CHUNKS 1000

typedef struct wav_reader {
    wh_input *input;
    wh_error *error;
    wh_wav_header *header;
    uint32_t riff_size;
    bool rf64, has_format;
    uint64_t data_size_64; /* from the ds64 chunk */
} wav_reader;

static uint32_t u16(const uint8_t *bytes)
{
    return (uint32_t)bytes[0] | (uint32_t)bytes[1] << 8;
}

static uint32_t u32(const uint8_t *bytes)
{
    return u16(bytes) | u16(bytes + 2) << 16;
}

static uint64_t u64(const uint8_t *bytes)
{
    return u32(bytes) | (uint64_t)u32(bytes + 4) << 32;
}

bool wh_wav_begins(const uint8_t *bytes, size_t count)
{
    return count >= 12 && (memcmp(bytes, "RIFF", 4) == 0 || memcmp(bytes, "RF64", 4) == 0) &&
           memcmp(bytes + 8, "WAVE", 4) == 0;
}

static wh_status take(wav_reader *reader, uint8_t *bytes, size_t want, const char *what)
{
    size_t got;
    const wh_status status = wh_input_read(reader->input, bytes, want, &got, reader->error);
    if (status != WH_OK || got == want)
        return status;
    return wh_fail(reader->error, WH_ERR_DATA, "the file is cut short: copy it again from its origin",
                   "%s: ends at byte %" PRIu64 ", within %s", reader->input->name, reader->input->position, what);
}

static wh_status pass(wav_reader *reader, uint64_t bytes)
{
    uint64_t passed;
    return wh_input_skip(reader->input, bytes, &passed, reader->error);
}

static wh_status unsupported(const wav_reader *reader, const char *what)
{
    return wh_fail(reader->error, WH_ERR_UNSUPPORTED, "convert it, e.g. to two channels of 16 bit PCM",
                   "%s: %s; I/Q recordings are two channels of 8 or 16 bit PCM or 32 bit float", reader->input->name,
                   what);
}

/* "fmt ": tag, channels, rate, bytes per second, bytes per frame, bits per value, and for the extensible kind
 * 22 bytes more, of which bytes 8 and 9 are the true tag. */
static wh_status read_format(wav_reader *reader, uint32_t size)
{
    uint8_t bytes[40] = {0};
    if (size < 16)
        return wh_fail(reader->error, WH_ERR_DATA, NULL, "%s: format chunk of %u bytes; 16 are the least",
                       reader->input->name, (unsigned)size);
    const size_t want = size < sizeof bytes ? size : sizeof bytes;
    wh_status status = take(reader, bytes, want, "the format chunk");
    if (status == WH_OK)
        status = pass(reader, (uint64_t)size + (size & 1) - want);
    if (status != WH_OK)
        return status;
    uint32_t tag = u16(bytes);
    const uint32_t channels = u16(bytes + 2), bits = u16(bytes + 14), frame = u16(bytes + 12);
    if (tag == FORMAT_EXTENSIBLE && want == sizeof bytes)
        tag = u16(bytes + 24);
    reader->header->sample_rate_hz = u32(bytes + 4);
    if (channels != 2)
        return unsupported(reader, channels == 1 ? "one channel, not the two that I and Q need" : "not two channels");
    if (tag == FORMAT_PCM && bits == 8)
        reader->header->format = WH_IQ_CU8;
    else if (tag == FORMAT_PCM && bits == 16)
        reader->header->format = WH_IQ_CI16;
    else if (tag == FORMAT_FLOAT && bits == 32)
        reader->header->format = WH_IQ_CF32;
    else
        return unsupported(reader, "sample type not known");
    if (frame != wh_iq_bytes(reader->header->format))
        return wh_fail(reader->error, WH_ERR_DATA, NULL, "%s: format chunk contradicts itself: %u bytes per frame",
                       reader->input->name, (unsigned)frame);
    reader->has_format = true;
    return WH_OK;
}

static wh_status read_ds64(wav_reader *reader, uint32_t size)
{
    uint8_t bytes[16];
    if (size < sizeof bytes)
        return wh_fail(reader->error, WH_ERR_DATA, NULL, "%s: ds64 chunk too short", reader->input->name);
    const wh_status status = take(reader, bytes, sizeof bytes, "the ds64 chunk");
    if (status != WH_OK)
        return status;
    reader->data_size_64 = u64(bytes + 8);
    return pass(reader, (uint64_t)size + (size & 1) - sizeof bytes);
}

/* How long are the samples? A program that streams cannot know, and leaves 0 or all ones. A length of 0 is
 * believed only when the length of the whole file was filled in as well. */
static void settle_length(wav_reader *reader, uint32_t size)
{
    wh_wav_header *header = reader->header;
    header->has_length = true;
    header->data_bytes = size;
    if (size == UNKNOWN_32) {
        header->has_length = reader->rf64 && reader->data_size_64 != UINT64_MAX && reader->data_size_64 != 0;
        header->data_bytes = reader->data_size_64;
    } else if (size == 0) {
        header->has_length = reader->riff_size != 0 && reader->riff_size != UNKNOWN_32 && reader->input->regular &&
                             reader->riff_size + (uint64_t)8 == reader->input->size;
    }
}

wh_status wh_wav_read_header(wh_input *input, wh_wav_header *header, wh_error *error)
{
    *header = (wh_wav_header){.format = WH_IQ_CU8};
    wav_reader reader = {.input = input, .error = error, .header = header};
    uint8_t bytes[12];
    wh_status status = take(&reader, bytes, sizeof bytes, "the WAV header");
    if (status != WH_OK)
        return status;
    if (!wh_wav_begins(bytes, sizeof bytes))
        return wh_fail(error, WH_ERR_FORMAT, "check the file; bare samples need a name like x.cu8",
                       "%s: not a WAV file", input->name);
    reader.rf64 = memcmp(bytes, "RF64", 4) == 0;
    reader.riff_size = u32(bytes + 4);
    for (int chunk = 0; chunk < MAX_CHUNKS; chunk++) {
        status = take(&reader, bytes, 8, "a chunk header (no samples before it)");
        if (status != WH_OK)
            return status;
        const uint32_t size = u32(bytes + 4);
        if (memcmp(bytes, "data", 4) == 0) {
            if (!reader.has_format)
                return wh_fail(error, WH_ERR_DATA, NULL, "%s: samples come before their format", input->name);
            settle_length(&reader, size);
            return WH_OK;
        }
        if (memcmp(bytes, "fmt ", 4) == 0)
            status = read_format(&reader, size);
        else if (memcmp(bytes, "ds64", 4) == 0)
            status = read_ds64(&reader, size);
        else
            status = pass(&reader, (uint64_t)size + (size & 1)); /* chunks start at even places */
        if (status != WH_OK)
            return status;
    }
    return wh_fail(error, WH_ERR_LIMIT, NULL, "%s: more than %d chunks and no samples", input->name, MAX_CHUNKS);
}
