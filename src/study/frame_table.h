/* Frames of one kind of burst, aligned so that column c means the same in every row. */
#ifndef WH_FRAME_TABLE_H
#define WH_FRAME_TABLE_H

#include "kind_estimate.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define WH_TABLE_BITS_MAX 256

typedef struct wh_table_row {
    uint8_t bits[WH_TABLE_BITS_MAX / 8];  /* first bit = most significant bit of byte 0 */
    float reliability[WH_TABLE_BITS_MAX]; /* |log-likelihood ratio| per bit; 0: not heard */
    unsigned length;                      /* bits heard, <= columns */
    double at_s;                          /* start of the first copy, seconds from the start of its recording */
    bool has_time;
    int64_t at_utc_us;
    unsigned recording; /* index of the recording it came from */
    uint64_t sample;    /* first sample in that recording */
    unsigned copies;    /* merged copies */
    double level_dbfs, snr_db, carrier_hz;
} wh_table_row;

typedef struct wh_frame_table {
    wh_table_row *rows; /* [row_count], in order of recording, then time */
    size_t row_count;
    unsigned columns; /* payload bits, sync not counted */
    wh_kind_estimate kind;
} wh_frame_table;

#endif
