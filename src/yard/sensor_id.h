/* Sensor IDs as people and spreadsheets write them, without loss. The roster keeps what the receiver writes: upper-case hex
 * with its leading zeros, or a nickname "~XXXXXX". */
#ifndef WH_SENSOR_ID_H
#define WH_SENSOR_ID_H

#include "wheelhark/roster.h"

#define WH_ID_DIGITS_STANDARD 8 /* hex digits of a 32-bit ID, the usual length (common practice) */
#define WH_ID_DIGITS_MAX      64

typedef enum wh_id_base {
    WH_ID_BASE_OPEN, /* nobody said: only what can be nothing but hex is taken */
    WH_ID_HEX,
    WH_ID_DECIMAL
} wh_id_base;

/* Read an ID: hex digits, with or without 0x before them; decimal digits (up to 64 bit), which become `digits` hex digits;
 * or a nickname. Blanks around are allowed. WH_ERR_DATA with reason and remedy for what is no ID, is only digits in an open
 * base, or was damaged by a spreadsheet (1.23E+09, zeros from the 16th digit on, thousands separators). */
wh_status wh_sensor_id_parse(const char *text, wh_id_base base, unsigned digits, char sensor[WH_SENSOR_SIZE],
                             wh_error *error);

#define WH_ID_DECIMAL_SIZE 24
/* The decimal number a hex ID is; false for nicknames and beyond 64 bit. */
bool wh_sensor_id_decimal(const char *sensor, char text[WH_ID_DECIMAL_SIZE]);

#endif
