/* Frames to readings. */
#include "frame_fields.h"

#include "bits.h"
#include "crc.h"
#include "field_value.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

uint64_t wh_field_raw(const wh_field *field, const wh_frame_bits *frame)
{
    const uint64_t raw = wh_places_read(frame, &field->at, field->low_bit_first, field->low_byte_first);
    return field->inverted ? raw ^ wh_bits_mask(wh_places_bits(&field->at)) : raw;
}

void wh_field_raw_write(const wh_field *field, wh_frame_bits *frame, uint64_t raw)
{
    const uint64_t flip = field->inverted ? wh_bits_mask(wh_places_bits(&field->at)) : 0;
    wh_places_write(frame, &field->at, field->low_bit_first, field->low_byte_first, raw ^ flip);
}

const wh_code *wh_field_code(const wh_field *field, uint64_t raw)
{
    for (unsigned i = 0; i < field->code_count; i++)
        if (raw >= field->codes[i].from && raw <= field->codes[i].to)
            return &field->codes[i];
    return NULL;
}

/* `raw` as a signed number of `bits` (1..64) bits. */
static double with_sign(uint64_t raw, unsigned bits, wh_sign sign)
{
    const uint64_t top = (uint64_t)1 << (bits - 1);
    if (sign == WH_UNSIGNED || !(raw & top))
        return (double)raw;
    if (sign == WH_SIGN_MAGNITUDE)
        return -(double)(raw - top);
    return -(double)((~raw & (top - 1)) + 1);
}

wh_value_state wh_field_number(const wh_field *field, uint64_t raw, const wh_code *code, double *number)
{
    if (code && code->kind == WH_CODE_FAULT)
        return WH_VALUE_FAULT;
    if (code && code->kind == WH_CODE_NOT_AVAILABLE)
        return WH_VALUE_NOT_AVAILABLE;
    if (field->table) {
        if (raw >= field->table_count)
            return WH_VALUE_IMPLAUSIBLE;
        if (isnan(field->table[raw]))
            return WH_VALUE_FAULT;
        *number = field->table[raw];
    } else {
        const unsigned bits = wh_places_bits(&field->at);
        if (bits == 0 || bits > 64)
            return WH_VALUE_ABSENT;
        *number = with_sign(raw, bits, field->sign) * field->scale + field->offset;
    }
    /* A value exactly on the bound is plausible even when scale and offset are not exact in binary. */
    const double slack = 1e-9 * (fabs(*number) + 1.0);
    if (field->has_plausible && (*number < field->plausible_low - slack || *number > field->plausible_high + slack))
        return WH_VALUE_IMPLAUSIBLE;
    return WH_VALUE_OK;
}

static void copy_text(char *to, size_t size, const char *from)
{
    snprintf(to, size, "%s", from);
}

/* Do all bits of the field lie within this frame? Frames of varying length may end before a field. */
static bool present(const wh_field *field, const wh_frame_bits *frame)
{
    for (unsigned i = 0; i < field->at.count; i++)
        if (field->at.piece[i].at + field->at.piece[i].length > frame->count)
            return false;
    return field->at.count > 0;
}

static void decode_sensor(const wh_field *field, const wh_frame_bits *frame, wh_reading *reading)
{
    const unsigned bits = wh_places_bits(&field->at);
    const int digits = (int)((bits + 3) / 4);
    snprintf(reading->sensor, sizeof reading->sensor, "%0*llX", digits, (unsigned long long)wh_field_raw(field, frame));
    reading->sensor_bits = bits;
}

static void decode_pressure(const wh_field *field, wh_value_state state, double number, const char *note,
                            wh_absolute site, wh_reading *reading)
{
    reading->pressure_state = state;
    reading->from_absolute = field->absolute;
    copy_text(reading->pressure_note, sizeof reading->pressure_note, note);
    if (state != WH_VALUE_OK)
        return;
    reading->absolute.kpa = number;
    reading->pressure = field->absolute ? wh_gauge_of(reading->absolute, site) : (wh_gauge){number};
    if (!field->absolute)
        reading->absolute = (wh_absolute){0.0};
}

static void decode_value(const wh_field *field, wh_value_state state, double number, const char *note,
                         wh_reading *reading)
{
    if (reading->value_count >= WH_READING_VALUES_MAX)
        return;
    wh_named_value *value = &reading->values[reading->value_count++];
    copy_text(value->name, sizeof value->name, field->name);
    copy_text(value->unit, sizeof value->unit, field->unit);
    copy_text(value->text, sizeof value->text, note);
    value->state = state;
    value->value = state == WH_VALUE_OK ? number : 0.0;
}

static void decode_flag(const wh_field *field, const wh_frame_bits *frame, wh_reading *reading)
{
    if (reading->flag_count >= WH_READING_FLAGS_MAX)
        return;
    wh_flag *flag = &reading->flags[reading->flag_count++];
    copy_text(flag->name, sizeof flag->name, field->name);
    flag->set = wh_field_raw(field, frame) != 0;
}

/* A field with a number; returns its state. */
static wh_value_state decode_number(const wh_field *field, const wh_frame_bits *frame, wh_absolute site,
                                    wh_reading *reading)
{
    const uint64_t raw = wh_field_raw(field, frame);
    const wh_code *code = wh_field_code(field, raw);
    double number = 0.0;
    const wh_value_state state = wh_field_number(field, raw, code, &number);
    const char *note = code ? code->text : "";
    switch (field->role) {
    case WH_ROLE_PRESSURE: decode_pressure(field, state, number, note, site, reading); break;
    case WH_ROLE_TEMPERATURE:
        reading->temperature_state = state;
        reading->temperature_c = state == WH_VALUE_OK ? number : 0.0;
        copy_text(reading->temperature_note, sizeof reading->temperature_note, note);
        break;
    default: decode_value(field, state, number, note, reading); break;
    }
    return state;
}

/* A name for a sensor whose ID is not known: 24 bits made from the bits that never change. CRC-24 (RFC 4880) keeps
 * IDs that differ in few bits apart; up to 24 bits stand as they are. */
unsigned wh_nickname_of(const wh_descriptor *descriptor, const wh_frame_bits *frame, char out[WH_NICKNAME_SIZE])
{
    static const wh_crc crc24 = {24, 0x864CFB, 0xB704CE, 0, false, false};
    const wh_places *steady = &descriptor->steady;
    uint8_t packed[WH_FRAME_BITS_MAX / 8] = {0};
    size_t count = 0;
    for (unsigned i = 0; i < steady->count; i++)
        for (size_t k = 0; k < steady->piece[i].length && count < WH_FRAME_BITS_MAX; k++, count++)
            if (steady->piece[i].at + k < WH_FRAME_BITS_MAX)
                wh_bit_put(packed, count, wh_bit_get(frame->data, steady->piece[i].at + k));
    if (count == 0) {
        copy_text(out, WH_NICKNAME_SIZE, "~unknown");
        return 0;
    }
    const uint32_t name =
        count <= 24 ? (uint32_t)wh_bits_read(packed, 0, (unsigned)count) : wh_crc_of(&crc24, packed, count);
    snprintf(out, WH_NICKNAME_SIZE, "~%06X", (unsigned)name);
    return count < 24 ? (unsigned)count : 24;
}

static void decode_nickname(const wh_descriptor *descriptor, const wh_frame_bits *frame, wh_reading *reading)
{
    char name[WH_NICKNAME_SIZE];
    reading->nickname = true;
    reading->sensor_bits = wh_nickname_of(descriptor, frame, name);
    copy_text(reading->sensor, sizeof reading->sensor, name);
}

static void clear(wh_reading *reading)
{
    reading->sensor[0] = '\0';
    reading->sensor_bits = 0;
    reading->nickname = false;
    reading->pressure_state = reading->temperature_state = WH_VALUE_ABSENT;
    reading->pressure.kpa = reading->absolute.kpa = reading->temperature_c = 0.0;
    reading->from_absolute = false;
    reading->pressure_note[0] = reading->temperature_note[0] = '\0';
    reading->value_count = reading->flag_count = 0;
    memset(reading->values, 0, sizeof reading->values);
    memset(reading->flags, 0, sizeof reading->flags);
}

unsigned wh_fields_decode(const wh_descriptor *descriptor, const wh_frame_bits *frame, wh_absolute site,
                          wh_reading *reading)
{
    clear(reading);
    reading->frame_bits = frame->count;
    memcpy(reading->frame, frame->data, sizeof reading->frame);
    unsigned implausible = 0;
    for (unsigned i = 0; i < descriptor->field_count; i++) {
        const wh_field *field = &descriptor->fields[i];
        if (!present(field, frame))
            continue;
        switch (field->role) {
        case WH_ROLE_SENSOR: decode_sensor(field, frame, reading); break;
        case WH_ROLE_FLAG: decode_flag(field, frame, reading); break;
        case WH_ROLE_PRESSURE:
        case WH_ROLE_TEMPERATURE:
        case WH_ROLE_VALUE: implausible += decode_number(field, frame, site, reading) == WH_VALUE_IMPLAUSIBLE; break;
        default: break; /* constants say nothing about the tire */
        }
    }
    if (reading->sensor[0] == '\0')
        decode_nickname(descriptor, frame, reading);
    return implausible;
}
