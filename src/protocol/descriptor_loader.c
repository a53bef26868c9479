#include "descriptor_loader.h"
#include "schema.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static wh_descriptor *new_descriptor(const char *name)
{
    wh_descriptor *const descriptor = calloc(1, sizeof *descriptor);
    if (!descriptor)
        return NULL;
    snprintf(descriptor->path, sizeof descriptor->path, "%s", name);
    /* 110 kHz: 30 +- 20 ppm of a warm tuner crystal (22 kHz at 434 MHz) and up to 85 kHz drift of a sensor. */
    descriptor->carrier_tolerance_hz = 110e3;
    descriptor->radio.rate_tolerance = 0.05;
    descriptor->radio.deviation_tolerance = 0.25;
    descriptor->frame.bits_step = 1;
    descriptor->copies = 1;
    descriptor->gap_max_s = 0.5;
    return descriptor;
}

void wh_descriptor_destroy(wh_descriptor **descriptor)
{
    wh_descriptor *const gone = *descriptor;
    if (!gone)
        return;
    for (unsigned i = 0; i < gone->field_count; i++)
        free(gone->fields[i].table);
    free(gone->examples);
    free(gone);
    *descriptor = NULL;
}

static wh_status read_tree(const wh_descriptor_set *known, wh_complaints *complaints, wh_descriptor *descriptor)
{
    wh_yaml_node *root;
    const wh_status status = wh_yaml_parse(complaints, &root);
    if (status != WH_OK)
        return status;
    wh_loading *const loading = calloc(1, sizeof *loading);
    if (loading) {
        loading->known = known;
        loading->complaints = complaints;
        loading->descriptor = descriptor;
        wh_schema_read(loading, root);
    }
    const bool memory_out = !loading || complaints->memory_out;
    free(loading);
    wh_yaml_destroy(&root);
    return memory_out ? WH_ERR_MEMORY : complaints->errors > 0 ? WH_ERR_DATA : WH_OK;
}

wh_status wh_descriptor_compile(const wh_descriptor_set *known, const char *name, const char *text, size_t length,
                                wh_complaint_fn complain, void *context, wh_descriptor **out)
{
    static const char byte_order_mark[] = "\xEF\xBB\xBF";
    wh_complaints complaints;
    *out = NULL;
    if (length >= 3 && memcmp(text, byte_order_mark, 3) == 0) {
        text += 3;
        length -= 3;
    }
    wh_descriptor *descriptor = new_descriptor(name);
    if (!descriptor)
        return WH_ERR_MEMORY;
    wh_complaints_begin(&complaints, name, text, length);
    const wh_status status = read_tree(known, &complaints, descriptor);
    if (status != WH_OK)
        wh_descriptor_destroy(&descriptor);
    wh_complaints_tell(&complaints, complain, context);
    wh_complaints_free(&complaints);
    *out = descriptor;
    return status;
}
