#include "sigmf_archive.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Header block of POSIX.1-1988 ustar: 512 bytes; name at 0, size at 124, checksum at 148, type at 156, magic at
 * 257, prefix of the name at 345. Numbers are octal text. */
#define BLOCK         512u
#define EXTENSION_MAX 65536u /* bytes of a pax header or long name worth reading */

typedef struct tar_reader {
    wh_input *input;
    wh_archive *archive;
    wh_error *error;
    char long_name[264]; /* from an extension header, for the next member */
    bool has_size;       /* likewise */
    uint64_t size;
} tar_reader;

/* Octal text, or base 256 when the first bit is set (GNU, for sizes from 8 GiB). */
static bool tar_number(const uint8_t *text, size_t length, uint64_t *value)
{
    *value = 0;
    if (text[0] & 0x80) {
        for (size_t i = 0; i < length; i++) {
            if (*value >> 55)
                return false;
            *value = *value << 8 | (i == 0 ? text[i] & 0x7Fu : text[i]);
        }
        return true;
    }
    size_t i = 0;
    while (i < length && text[i] == ' ')
        i++;
    for (; i < length && text[i] >= '0' && text[i] <= '7'; i++)
        *value = *value << 3 | (uint64_t)(text[i] - '0'); /* at most 12 digits, 36 bits */
    return i == length || text[i] == ' ' || text[i] == '\0';
}

/* The sum of all bytes, its own place counted as blanks. */
static bool checksum_holds(const uint8_t *block)
{
    uint64_t stated;
    uint32_t sum = 0;
    for (size_t i = 0; i < BLOCK; i++)
        sum += i >= 148 && i < 156 ? ' ' : block[i];
    return tar_number(block + 148, 8, &stated) && stated == sum;
}

static void member_name(const tar_reader *reader, const uint8_t *block, char *name, size_t room)
{
    if (reader->long_name[0])
        snprintf(name, room, "%s", reader->long_name);
    else if (memcmp(block + 257, "ustar", 5) == 0 && block[345])
        snprintf(name, room, "%.155s/%.100s", (const char *)block + 345, (const char *)block);
    else
        snprintf(name, room, "%.100s", (const char *)block);
}

/* Records of a pax header: "LENGTH KEY=VALUE\n", LENGTH counting all of it. */
static void read_pax(tar_reader *reader, const char *text, size_t length)
{
    while (length > 0) {
        size_t record = 0, digits = 0;
        while (digits < length && digits < 6 && text[digits] >= '0' && text[digits] <= '9')
            record = record * 10 + (size_t)(text[digits++] - '0');
        if (digits == 0 || record <= digits + 1 || record > length || text[digits] != ' ')
            return;
        const char *pair = text + digits + 1;
        const size_t pair_length = record - digits - 2; /* without the line end */
        if (pair_length > 5 && memcmp(pair, "path=", 5) == 0) {
            snprintf(reader->long_name, sizeof reader->long_name, "%.*s", (int)(pair_length - 5), pair + 5);
        } else if (pair_length > 5 && pair_length < 5 + 19 && memcmp(pair, "size=", 5) == 0) {
            reader->size = 0;
            for (size_t i = 5; i < pair_length && pair[i] >= '0' && pair[i] <= '9'; i++)
                reader->size = reader->size * 10 + (uint64_t)(pair[i] - '0');
            reader->has_size = true;
        }
        text += record;
        length -= record;
    }
}

static wh_status read_extension(tar_reader *reader, uint8_t type, uint64_t size, wh_error *error)
{
    if (size > EXTENSION_MAX)
        return wh_fail(error, WH_ERR_LIMIT, NULL, "%s: tar extension header of %" PRIu64 " bytes", reader->input->name,
                       size);
    char *text = malloc((size_t)size + 1);
    if (!text)
        return wh_fail(error, WH_ERR_MEMORY, NULL, "%s: out of memory", reader->input->name);
    size_t got;
    const wh_status status = wh_input_read(reader->input, text, (size_t)size, &got, error);
    text[got] = '\0';
    if (status == WH_OK && type == 'x')
        read_pax(reader, text, got);
    else if (status == WH_OK)
        snprintf(reader->long_name, sizeof reader->long_name, "%s", text);
    free(text);
    return status;
}

static wh_status add_member(tar_reader *reader, const uint8_t *block, uint64_t size)
{
    wh_archive *archive = reader->archive;
    if (archive->count == WH_ARCHIVE_MEMBERS_MAX)
        return wh_fail(reader->error, WH_ERR_LIMIT, NULL, "%s: more than %d files in the archive", reader->input->name,
                       WH_ARCHIVE_MEMBERS_MAX);
    wh_archive_member *member = &archive->members[archive->count++];
    member_name(reader, block, member->name, sizeof member->name);
    member->from = reader->input->position;
    member->size = size;
    const uint64_t left = reader->input->size - reader->input->position;
    if (size > left) {
        member->size = left;
        archive->truncated = true;
    }
    return WH_OK;
}

/* One header and, for files, note where the bytes are. *more is false at the end. */
static wh_status read_member(tar_reader *reader, bool first, bool *more)
{
    uint8_t block[BLOCK];
    size_t got;
    wh_status status = wh_input_read(reader->input, block, BLOCK, &got, reader->error);
    *more = false;
    if (status != WH_OK)
        return status;
    if (got < BLOCK) { /* the two blocks of zeros at the end are missing */
        reader->archive->truncated = true;
        return first ? wh_fail(reader->error, WH_ERR_FORMAT, NULL, "%s: too short for an archive", reader->input->name)
                     : WH_OK;
    }
    if (!first && block[0] == 0 && block[148] == 0)
        return WH_OK;
    uint64_t size;
    if (!checksum_holds(block) || !tar_number(block + 124, 12, &size))
        return wh_fail(reader->error, first ? WH_ERR_FORMAT : WH_ERR_DATA,
                       "a .sigmf file is a tar archive: make it anew", "%s: byte %" PRIu64 ": %s", reader->input->name,
                       reader->input->position - BLOCK, first ? "not a tar archive" : "damaged tar header");
    const uint8_t type = block[156];
    const bool extension = type == 'x' || type == 'L', file = type == '0' || type == '\0';
    if (!extension && reader->has_size)
        size = reader->size;
    const uint64_t from = reader->input->position;
    if (extension)
        status = read_extension(reader, type, size, reader->error);
    else if (file)
        status = add_member(reader, block, size);
    if (status != WH_OK)
        return status;
    if (!extension) {
        reader->long_name[0] = '\0';
        reader->has_size = false;
    }
    const uint64_t left = reader->input->size - from;
    const uint64_t padded = size > left ? left : size + (BLOCK - size % BLOCK) % BLOCK;
    uint64_t passed;
    *more = true;
    return wh_input_skip(reader->input, padded - (reader->input->position - from), &passed, reader->error);
}

wh_status wh_archive_read(wh_input *input, wh_archive *archive, wh_error *error)
{
    *archive = (wh_archive){.members = calloc(WH_ARCHIVE_MEMBERS_MAX, sizeof *archive->members)};
    if (!archive->members)
        return wh_fail(error, WH_ERR_MEMORY, NULL, "%s: out of memory", input->name);
    tar_reader reader = {.input = input, .archive = archive, .error = error};
    bool more = true;
    wh_status status = WH_OK;
    for (bool first = true; status == WH_OK && more; first = false)
        status = read_member(&reader, first, &more);
    if (status == WH_ERR_DATA && archive->count > 0) { /* what came before the damage is good */
        archive->truncated = true;
        return WH_OK;
    }
    if (status != WH_OK)
        wh_archive_free(archive);
    return status;
}

void wh_archive_free(wh_archive *archive)
{
    free(archive->members);
    *archive = (wh_archive){0};
}
