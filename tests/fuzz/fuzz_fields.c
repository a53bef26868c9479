/* Frames and field values from outside, with every shipped descriptor: nothing leaves an array, a refusal says why, and
 * what was accepted is read back. Input: a byte that chooses the descriptor, "field=value", a line end, frame bytes. */
#include "frame_fields.h"
#include "fuzz_target.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void insist(bool condition, const char *what)
{
    if (condition)
        return;
    fprintf(stderr, "broken promise: %s\n", what);
    abort();
}

static const wh_descriptor *choose(uint8_t number)
{
    static wh_descriptor_set *set;
    if (!set) {
        set = wh_descriptor_set_create();
        insist(set && wh_descriptor_set_load_folder(set, WH_FUZZ_PROTOCOLS, NULL, NULL) == WH_OK,
               "the shipped ones load");
    }
    return wh_descriptor_set_at(set, number % wh_descriptor_set_count(set));
}

static void read_frame(const wh_descriptor *d, wh_frame_bits *frame)
{
    static const wh_absolute site = {101.325};
    wh_reading reading = {0};
    const unsigned implausible = wh_fields_decode(d, frame, site, &reading);
    insist(implausible <= d->field_count, "no more implausible values than fields");
    insist(reading.sensor[0], "every frame names a sensor");
    insist(reading.pressure_state == WH_VALUE_OK || reading.pressure.kpa == 0.0, "no number without the state for it");
    wh_checks_write(d, frame);
    for (unsigned i = 0; i < d->check_count; i++)
        insist(wh_check_holds(d, i, frame), "a check that was written holds");
}

static void set_field(const wh_descriptor *d, wh_frame_bits *frame, char *text)
{
    static const wh_absolute site = {101.325};
    char *equals = strchr(text, '=');
    if (!equals)
        return;
    *equals = '\0';
    wh_error error = {.status = WH_OK};
    const wh_frame_bits before = *frame;
    const wh_status status = wh_field_set(d, frame, text, equals + 1, site, &error);
    insist(status == WH_OK || (error.status == status && error.what[0] && error.fix[0]), "a refusal says why");
    insist(status == WH_OK || memcmp(&before, frame, sizeof before) == 0, "a refused value changes nothing");
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    if (size == 0)
        return 0;
    const wh_descriptor *d = choose(data[0]);
    char text[256] = "";
    size_t at = 1;
    for (size_t i = 0; at < size && data[at] != '\n' && i < sizeof text - 1; at++, i++)
        text[i] = (char)data[at];
    wh_frame_bits frame;
    wh_frame_blank(d, &frame);
    const size_t bytes = (frame.count + 7) / 8, left = at + 1 < size ? size - at - 1 : 0;
    memcpy(frame.data, data + (left ? at + 1 : 0), left < bytes ? left : bytes);
    set_field(d, &frame, text);
    read_frame(d, &frame);
    return 0;
}
