/* A wheel position in other people's codes, and back. What cannot be mapped is refused with a reason.
 *
 * The trap: SAE J1939 counts the tires of an axle from the left, so that 1 is the right wheel of a single axle and the
 * inner left one of a dual axle. A byte means something only together with the unit's axles; hence the unit in every
 * call. */
#ifndef WH_LOCATION_CODES_H
#define WH_LOCATION_CODES_H

#include "wheelhark/roster.h"

#include <stdint.h>

/* SAE J1939 SPN 929 (PGN 65268, byte 1): high nibble the axle from the front, low nibble the tire from the left, both
 * counted from 0 and seen facing forward; 0xFF: not available. */
wh_status wh_position_to_j1939(const wh_unit *unit, wh_position position, uint8_t *byte, wh_error *error);
wh_status wh_position_from_j1939(const wh_unit *unit, uint8_t byte, wh_position *position, wh_error *error);

/* The byte in the style of ISO 11992-2: high nibble the axle from the front, from 1; low nibble 8 for the centre line, 7, 6,
 * 5 ... from there to the left, 9, A, B ... to the right. More than two wheels a side are refused. */
wh_status wh_position_to_centre8(const wh_unit *unit, wh_position position, uint8_t *byte, wh_error *error);
wh_status wh_position_from_centre8(const wh_unit *unit, uint8_t byte, wh_position *position, wh_error *error);

#define WH_X12_SIZE 4
/* ANSI X12 data element 302, "location on equipment": side (seen from the rear, which is left and right as here), inner or
 * outer, front, centre or rear. Front and rear are the first and last axle; centre is the middle one of three. A unit with
 * one axle has neither, and there is no code for a single wheel on a centre axle. The published list prints the outer right
 * front wheel with a zero, R0F: written so, read either way. */
wh_status wh_position_to_x12(const wh_unit *unit, wh_position position, char code[WH_X12_SIZE], wh_error *error);
wh_status wh_position_from_x12(const wh_unit *unit, const char *code, wh_position *position, wh_error *error);

#endif
