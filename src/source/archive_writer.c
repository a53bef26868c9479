#include "archive_writer.h"

#include <stdio.h>
#include <string.h>

#define BLOCK 512 /* POSIX.1-1988 ustar: headers and contents in blocks of this size */

/* Fields of the header by their offsets; numbers are octal text. The times are 0, so that equal recordings are equal bytes. */
static void put_header(wh_text *out, const char *path, size_t bytes, char type)
{
    char block[BLOCK] = {0};
    unsigned sum = 0;
    snprintf(block, 100, "%s", path);
    snprintf(block + 100, 8, "%07o", type == '5' ? 0755u : 0644u);
    snprintf(block + 108, 8, "%07o", 0u);
    snprintf(block + 116, 8, "%07o", 0u);
    snprintf(block + 124, 12, "%011zo", bytes);
    snprintf(block + 136, 12, "%011o", 0u);
    memset(block + 148, ' ', 8); /* the checksum counts its own place as blanks */
    block[156] = type;
    memcpy(block + 257, "ustar", 6);
    memcpy(block + 263, "00", 2);
    for (size_t i = 0; i < BLOCK; i++)
        sum += (unsigned char)block[i];
    snprintf(block + 148, 8, "%06o", sum);
    block[155] = ' ';
    wh_text_add_bytes(out, block, BLOCK);
}

static void put_file(wh_text *out, const char *name, const char *suffix, const char *content, size_t bytes)
{
    static const char zeros[BLOCK];
    char path[100];
    snprintf(path, sizeof path, "%.40s/%.40s%s", name, name, suffix);
    put_header(out, path, bytes, '0');
    wh_text_add_bytes(out, content, bytes);
    wh_text_add_bytes(out, zeros, (BLOCK - bytes % BLOCK) % BLOCK);
}

void wh_archive_write(wh_text *out, const char *name, const char *meta, size_t meta_bytes, const void *samples,
                      size_t sample_bytes)
{
    static const char end[2 * BLOCK];
    char folder[48];
    snprintf(folder, sizeof folder, "%.40s/", name);
    put_header(out, folder, 0, '5');
    put_file(out, name, ".sigmf-meta", meta, meta_bytes);
    put_file(out, name, ".sigmf-data", samples, sample_bytes);
    wh_text_add_bytes(out, end, sizeof end);
}
