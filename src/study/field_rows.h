/* The frames of a table as the search for fields wants them: whole, in order of sensor and time, damaged ones left out. */
#ifndef WH_FIELD_ROWS_H
#define WH_FIELD_ROWS_H

#include "frame_fields.h"
#include "frame_table.h"

typedef struct wh_field_row {
    wh_frame_bits bits;
    unsigned recording;
    double at_s; /* from the start of its recording */
    bool has_time;
    int64_t at_utc_us;
    float weakest;     /* least reliability of its bits */
    unsigned sensor;   /* which of the sensors that were told apart; 0 until then */
    size_t source_row; /* in the table */
} wh_field_row;

typedef struct wh_field_rows {
    unsigned columns;
    size_t count;
    wh_field_row *row; /* owned; in the order of the table: recording, then time */
    size_t incomplete; /* rows of the table with bits that were not heard: left out */
} wh_field_rows;

/* How the bits of a table are taken before their meaning is looked for. */
typedef struct wh_bit_reading {
    bool
        twin_code; /* by the code that makes the same chips: Manchester for differential Manchester, and the other way */
    bool inverted;      /* the other sense of the line code */
    bool low_bit_first; /* each group of eight bits is turned round, from bit `dropped` on */
    unsigned dropped;   /* leading bits that are left to the sync */
} wh_bit_reading;

/* Has the line code of the table a twin that makes the same chips? */
bool wh_line_has_twin(const wh_frame_table *table);
/* The line code by which the bits of a reading come from the chips. */
wh_line_spec wh_bit_reading_line(const wh_frame_table *table, const wh_bit_reading *reading);

/* Rows that were heard whole. Free with wh_field_rows_free. */
wh_status wh_field_rows_make(wh_field_rows *out, const wh_frame_table *table, const wh_bit_reading *reading,
                             wh_error *error);
void wh_field_rows_free(wh_field_rows *rows);
/* Leave out every row for which keep(context, row) is false; returns how many. */
size_t wh_field_rows_filter(wh_field_rows *rows, bool (*keep)(void *context, const wh_field_row *row), void *context);

/* The value of `bits` (1..32) columns from `at` on: first bit most significant, or least when `low_bit_first`; or whole bytes,
 * the lowest first. */
uint32_t wh_field_row_value(const wh_field_row *row, unsigned at, unsigned bits, bool low_bit_first,
                            bool low_byte_first);

#endif
