/* The sensor ID by what is printed on the sensors: a number named in the truth is looked for in the frames. */
#ifndef WH_ID_TRUTH_H
#define WH_ID_TRUTH_H

#include "field_rows.h"
#include "truth.h"

typedef struct wh_id_match {
    bool found;
    unsigned at, bits;
    bool low_bit_first, low_byte_first, inverted;
    bool decimal;            /* printed as a decimal number */
    unsigned named, matched; /* different printed IDs looked for, and seen in frames of their recordings */
    double chance;           /* of so many matches anywhere, would the frames hold other numbers there */
} wh_id_match;

/* Names of 4 to 16 hexadecimal (or up to 10 decimal) digits are taken for printed IDs, others not. */
void wh_id_by_name(const wh_field_rows *rows, const wh_truth *truth, wh_id_match *out);

#endif
