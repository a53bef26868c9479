/* Where a wheel is on a unit (tractor, trailer, dolly), seen by somebody who faces forward. */
#ifndef WHEELHARK_POSITION_H
#define WHEELHARK_POSITION_H

#include <stdbool.h>
#include <stdint.h>

#define WH_AXLES_MAX     15 /* the axle nibble of SAE J1939 SPN 929 holds 0..14; 15 belongs to "not available" */
#define WH_POSITION_SIZE 6  /* "15LO" and the final NUL, with one to spare */

typedef enum wh_side { WH_LEFT, WH_RIGHT, WH_SIDE_COUNT } wh_side;
typedef enum wh_place { WH_SINGLE, WH_OUTER, WH_INNER, WH_PLACE_COUNT } wh_place;

typedef struct wh_position {
    uint8_t axle;  /* 1..WH_AXLES_MAX from the front of the unit; 0: nowhere */
    uint8_t side;  /* wh_side */
    uint8_t place; /* wh_place: the only wheel of its side, or the outer or inner of two */
} wh_position;

/* "1L", "3LO", "15RI": axle, L or R, then O or I where there are two wheels on a side. "-" for axle 0. Returns `text`. */
const char *wh_position_text(char text[WH_POSITION_SIZE], wh_position position);
/* Any case, blanks around allowed; false when `text` is no position. */
bool wh_position_parse(const char *text, wh_position *position);
bool wh_position_equal(wh_position a, wh_position b);

#endif
