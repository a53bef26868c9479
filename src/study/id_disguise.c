#include "id_disguise.h"

#include "rng.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define SEED UINT64_C(0x57484B5041434B) /* any number; fixed, so that a pack can be made again */

static const wh_field *sensor_field(const wh_descriptor *descriptor)
{
    for (unsigned i = 0; i < descriptor->field_count; i++)
        if (descriptor->fields[i].role == WH_ROLE_SENSOR)
            return &descriptor->fields[i];
    return NULL;
}

bool wh_disguise_possible(const wh_descriptor *descriptor)
{
    return !descriptor->partial && sensor_field(descriptor) != NULL;
}

static bool taken(const wh_id_disguise *disguise, const char *id)
{
    for (size_t i = 0; i < disguise->count; i++)
        if (strcmp(disguise->items[i].invented, id) == 0 || strcmp(disguise->items[i].real, id) == 0)
            return true;
    return false;
}

static wh_status invent(wh_id_disguise *disguise, const char *real, unsigned bits, wh_error *error)
{
    if (!disguise->items && !(disguise->items = calloc(WH_DISGUISES_MAX, sizeof *disguise->items)))
        return wh_fail(error, WH_ERR_MEMORY, "close other programs", "no memory for IDs");
    if (disguise->count == WH_DISGUISES_MAX)
        return wh_fail(error, WH_ERR_LIMIT, "pack fewer recordings at a time", "more than %d sensors",
                       WH_DISGUISES_MAX);
    wh_disguise *item = &disguise->items[disguise->count];
    wh_rng rng;
    wh_rng_seed(&rng, SEED + disguise->count);
    snprintf(item->real, sizeof item->real, "%s", real);
    /* A short ID may have no free values left: then two sensors share one. */
    for (unsigned attempt = 0; attempt < 100; attempt++) {
        const uint64_t id = wh_rng_next(&rng) >> (64 - bits);
        snprintf(item->invented, sizeof item->invented, "%0*" PRIX64, (int)((bits + 3) / 4), id);
        if (id != 0 && strcmp(item->invented, real) != 0 && !taken(disguise, item->invented))
            break;
    }
    disguise->count++;
    return WH_OK;
}

wh_status wh_disguise_frame(wh_id_disguise *disguise, const wh_descriptor *descriptor, wh_frame_bits *frame,
                            wh_error *error)
{
    const wh_absolute site = {WH_STANDARD_ATMOSPHERE_KPA};
    const wh_field *field = sensor_field(descriptor);
    wh_reading reading = {0};
    wh_fields_decode(descriptor, frame, site, &reading);
    size_t at = 0;
    while (at < disguise->count && strcmp(disguise->items[at].real, reading.sensor) != 0)
        at++;
    wh_status status = WH_OK;
    if (at == disguise->count)
        status = invent(disguise, reading.sensor, wh_places_bits(&field->at), error);
    if (status == WH_OK)
        status = wh_field_set(descriptor, frame, field->name, disguise->items[at].invented, site, error);
    if (status == WH_OK)
        wh_checks_write(descriptor, frame);
    return status;
}

void wh_disguise_free(wh_id_disguise *disguise)
{
    free(disguise->items);
    *disguise = (wh_id_disguise){0};
}

/* Length of a line without its comment: '#' after a blank, outside of quotes. */
static size_t without_comment(const char *line, size_t length)
{
    char quote = '\0';
    for (size_t i = 0; i < length; i++) {
        if (quote) {
            quote = line[i] == quote ? '\0' : quote;
        } else if ((line[i] == '"' || line[i] == '\'') && (i == 0 || strchr(" [{,:", line[i - 1]))) {
            quote = line[i];
        } else if (line[i] == '#' && (i == 0 || line[i - 1] == ' ' || line[i - 1] == '\t')) {
            length = i;
        }
    }
    while (length > 0 && (line[length - 1] == ' ' || line[length - 1] == '\t' || line[length - 1] == '\r'))
        length--;
    return length;
}

void wh_descriptor_stripped(const char *text, const char *examples, wh_text *out)
{
    bool skipping = false;
    while (*text) {
        const size_t whole = strcspn(text, "\n"), length = without_comment(text, whole);
        /* A list may stand as far left as its key. */
        const bool key = length > 0 && text[0] != ' ' && text[0] != '-' && text[0] != '#';
        if (key)
            skipping = strncmp(text, "examples:", 9) == 0;
        if (!skipping && length > 0) {
            wh_text_add_bytes(out, text, length);
            wh_text_add(out, "\n");
        }
        text += whole + (text[whole] == '\n');
    }
    wh_text_add(out, examples);
}
