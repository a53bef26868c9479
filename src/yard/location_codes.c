#include "location_codes.h"

#include <stdio.h>
#include <string.h>
#include <strings.h>

/* Codes are only made of positions the unit has. */
static wh_status check_wheel(const wh_unit *unit, wh_position position, wh_error *error)
{
    char text[WH_POSITION_SIZE];
    if (wh_unit_wheel_const(unit, position))
        return WH_OK;
    return wh_fail(error, WH_ERR_ARGUMENT, "see the unit's wheels with 'wheelhark roster show'",
                   "unit %s has no wheel at %s", unit->name, wh_position_text(text, position));
}

static wh_status check_axle(const wh_unit *unit, unsigned axle, unsigned byte, wh_error *error)
{
    if (axle >= 1 && axle <= unit->axle_count)
        return WH_OK;
    return wh_fail(error, WH_ERR_DATA, "is the unit's layout on record right?",
                   "0x%02X is a wheel on axle %u; unit %s has %u axle%s", byte, axle, unit->name, unit->axle_count,
                   unit->axle_count == 1 ? "" : "s");
}

/* The wheels of an axle from the left. */
static const wh_position on_single[] = {{0, WH_LEFT, WH_SINGLE}, {0, WH_RIGHT, WH_SINGLE}};
static const wh_position on_dual[] = {
    {0, WH_LEFT, WH_OUTER}, {0, WH_LEFT, WH_INNER}, {0, WH_RIGHT, WH_INNER}, {0, WH_RIGHT, WH_OUTER}};

wh_status wh_position_to_j1939(const wh_unit *unit, wh_position position, uint8_t *byte, wh_error *error)
{
    const wh_status status = check_wheel(unit, position, error);
    if (status != WH_OK)
        return status;
    const bool dual = unit->dual[position.axle - 1];
    const wh_position *wheels = dual ? on_dual : on_single;
    unsigned from_left = 0;
    while (wheels[from_left].side != position.side || wheels[from_left].place != position.place)
        from_left++;
    *byte = (uint8_t)((position.axle - 1u) << 4 | from_left);
    return WH_OK;
}

wh_status wh_position_from_j1939(const wh_unit *unit, uint8_t byte, wh_position *position, wh_error *error)
{
    if (byte == 0xFF)
        return wh_fail(error, WH_ERR_DATA, NULL, "0xFF says that the location is not available");
    const unsigned axle = (byte >> 4) + 1u, from_left = byte & 15u;
    const wh_status status = check_axle(unit, axle, byte, error);
    if (status != WH_OK)
        return status;
    const bool dual = unit->dual[axle - 1];
    if (from_left >= (dual ? 4u : 2u))
        return wh_fail(error, WH_ERR_DATA, "is the unit's layout on record right?",
                       "0x%02X is tire %u from the left; axle %u of unit %s is %s and has 0 to %d", byte, from_left,
                       axle, unit->name, dual ? "dual" : "single", dual ? 3 : 1);
    *position = dual ? on_dual[from_left] : on_single[from_left];
    position->axle = (uint8_t)axle;
    return WH_OK;
}

wh_status wh_position_to_centre8(const wh_unit *unit, wh_position position, uint8_t *byte, wh_error *error)
{
    const wh_status status = check_wheel(unit, position, error);
    if (status != WH_OK)
        return status;
    const unsigned outward = position.place == WH_OUTER ? 2 : 1;
    *byte = (uint8_t)((unsigned)position.axle << 4 | (position.side == WH_LEFT ? 8 - outward : 8 + outward));
    return WH_OK;
}

wh_status wh_position_from_centre8(const wh_unit *unit, uint8_t byte, wh_position *position, wh_error *error)
{
    const unsigned axle = byte >> 4, across = byte & 15u;
    if (across == 8)
        return wh_fail(error, WH_ERR_DATA, NULL, "0x%02X is the centre line, where no wheel is", byte);
    const wh_status status = check_axle(unit, axle, byte, error);
    if (status != WH_OK)
        return status;
    const wh_side side = across < 8 ? WH_LEFT : WH_RIGHT;
    const unsigned outward = across < 8 ? 8 - across : across - 8;
    const bool dual = unit->dual[axle - 1];
    if (outward > (dual ? 2u : 1u))
        return wh_fail(error, WH_ERR_DATA, "is the unit's layout on record right?",
                       "0x%02X is wheel %u from the centre; axle %u of unit %s has %d a side", byte, outward, axle,
                       unit->name, dual ? 2 : 1);
    const wh_place place = !dual ? WH_SINGLE : outward == 2 ? WH_OUTER : WH_INNER;
    *position = (wh_position){(uint8_t)axle, (uint8_t)side, (uint8_t)place};
    return WH_OK;
}

/* Element 302 as published; a place's letter says which axle. */
typedef struct x12_code {
    char code[WH_X12_SIZE];
    uint8_t side, place;
    char axle; /* 'F', 'C', 'R' */
} x12_code;

static const x12_code x12_codes[] = {
    {"LF", WH_LEFT, WH_SINGLE, 'F'},  {"RF", WH_RIGHT, WH_SINGLE, 'F'}, {"LR", WH_LEFT, WH_SINGLE, 'R'},
    {"RR", WH_RIGHT, WH_SINGLE, 'R'}, {"LIF", WH_LEFT, WH_INNER, 'F'},  {"LOF", WH_LEFT, WH_OUTER, 'F'},
    {"LIR", WH_LEFT, WH_INNER, 'R'},  {"LOR", WH_LEFT, WH_OUTER, 'R'},  {"RIF", WH_RIGHT, WH_INNER, 'F'},
    {"R0F", WH_RIGHT, WH_OUTER, 'F'}, {"RIR", WH_RIGHT, WH_INNER, 'R'}, {"ROR", WH_RIGHT, WH_OUTER, 'R'},
    {"LIC", WH_LEFT, WH_INNER, 'C'},  {"LOC", WH_LEFT, WH_OUTER, 'C'},  {"RIC", WH_RIGHT, WH_INNER, 'C'},
    {"ROC", WH_RIGHT, WH_OUTER, 'C'},
};

/* 'F', 'C', 'R', or 0 where the element has no word for the axle. */
static char axle_letter(const wh_unit *unit, unsigned axle)
{
    if (unit->axle_count < 2)
        return 0;
    if (axle == 1)
        return 'F';
    if (axle == unit->axle_count)
        return 'R';
    return unit->axle_count == 3 ? 'C' : 0;
}

wh_status wh_position_to_x12(const wh_unit *unit, wh_position position, char code[WH_X12_SIZE], wh_error *error)
{
    const wh_status status = check_wheel(unit, position, error);
    if (status != WH_OK)
        return status;
    const char letter = axle_letter(unit, position.axle);
    if (letter == 0)
        return wh_fail(error, WH_ERR_UNSUPPORTED, NULL,
                       "X12 element 302 knows front, centre and rear; axle %u of %u is none of these", position.axle,
                       unit->axle_count);
    for (size_t i = 0; i < sizeof x12_codes / sizeof x12_codes[0]; i++) {
        const x12_code *row = &x12_codes[i];
        if (row->side == position.side && row->place == position.place && row->axle == letter) {
            memcpy(code, row->code, WH_X12_SIZE);
            return WH_OK;
        }
    }
    return wh_fail(error, WH_ERR_UNSUPPORTED, NULL, "X12 element 302 has no code for a single wheel on a centre axle");
}

static const x12_code *find_x12(const char *code)
{
    if (strcasecmp(code, "ROF") == 0)
        code = "R0F";
    for (size_t i = 0; i < sizeof x12_codes / sizeof x12_codes[0]; i++) {
        if (strcasecmp(code, x12_codes[i].code) == 0)
            return &x12_codes[i];
    }
    return NULL;
}

wh_status wh_position_from_x12(const wh_unit *unit, const char *code, wh_position *position, wh_error *error)
{
    const x12_code *row = find_x12(code);
    if (!row)
        return wh_fail(error, WH_ERR_DATA, "such as LF, LOR, RIC", "'%.12s' is no wheel of X12 element 302", code);
    for (unsigned axle = 1; axle <= unit->axle_count; axle++) {
        const wh_position found = {(uint8_t)axle, row->side, row->place};
        if (axle_letter(unit, axle) == row->axle && wh_unit_wheel_const(unit, found)) {
            *position = found;
            return WH_OK;
        }
    }
    return wh_fail(error, WH_ERR_DATA, "is the unit's layout on record right?", "unit %s has no wheel %s", unit->name,
                   row->code);
}
