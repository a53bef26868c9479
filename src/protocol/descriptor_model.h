/* A compiled descriptor: everything the signal path, the matcher and the synthesiser need. Filled by
 * the loader, read-only afterwards. Bits of a frame are numbered from 0 = first payload bit after the
 * sync (after frame.low_bit_first has been undone). */
#ifndef WH_DESCRIPTOR_MODEL_H
#define WH_DESCRIPTOR_MODEL_H

#include "frame_spec.h"
#include "line_code.h"
#include "radio.h"
#include "wheelhark/descriptor.h"
#include "wheelhark/reading.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define WH_PIECES_MAX   16
#define WH_CHECKS_MAX   8
#define WH_FIELDS_MAX   40
#define WH_CODES_MAX    32
#define WH_CARRIERS_MAX 8

/* Bits [at, at + length) of the frame. */
typedef struct wh_piece {
    uint16_t at, length;
} wh_piece;

/* Bits in several places, read one piece after the other. */
typedef struct wh_places {
    uint8_t count;
    wh_piece piece[WH_PIECES_MAX];
} wh_places;

typedef enum wh_check_kind {
    WH_CHECK_CRC,
    WH_CHECK_SUM,         /* start + sum of words, modulo 2^width, XOR final_xor */
    WH_CHECK_TWOS_SUM,    /* minus that: all words and the check add up to 0 modulo 2^width */
    WH_CHECK_XOR,         /* start XOR all words XOR final_xor */
    WH_CHECK_PARITY_EVEN, /* ones among `over` and `at` together are even in number */
    WH_CHECK_PARITY_ODD,
    WH_CHECK_KIND_COUNT
} wh_check_kind;

typedef struct wh_check {
    wh_check_kind kind;
    char name[WH_NAME_MAX]; /* for --explain; "check 1" when the file gives none */
    uint8_t width;          /* bits of the check: CRC 3..32, sums and XOR 2..32, parity 1 */
    uint8_t word; /* sums and XOR: bits per word, 1..32; a short last word is padded with zeros at its low end */
    uint32_t polynomial, start, final_xor; /* normal (not reversed) notation, as in the CRC catalogue */
    bool reflect_in, reflect_out;
    wh_places over, at;
    bool low_bit_first;  /* the check's own bits stand least significant first */
    bool low_byte_first; /* the check's bytes stand least significant byte first (width a multiple of 8) */
} wh_check;

typedef enum wh_field_role {
    WH_ROLE_SENSOR, /* sensor ID */
    WH_ROLE_PRESSURE,
    WH_ROLE_TEMPERATURE,
    WH_ROLE_VALUE,    /* battery voltage, counter, status: goes to wh_reading.values */
    WH_ROLE_FLAG,     /* goes to wh_reading.flags; set when raw != 0 (after `inverted`) */
    WH_ROLE_CONSTANT, /* must have `constant`, else the frame is not of this kind */
    WH_ROLE_COUNT
} wh_field_role;

typedef enum wh_sign { WH_UNSIGNED, WH_TWOS_COMPLEMENT, WH_SIGN_MAGNITUDE } wh_sign;

typedef enum wh_code_kind {
    WH_CODE_FAULT, /* the sensor reports a fault */
    WH_CODE_NOT_AVAILABLE,
    WH_CODE_MEANING /* a named state of a status value */
} wh_code_kind;

/* Raw values from..to (unsigned, before sign) mean something other than a number. */
typedef struct wh_code {
    uint64_t from, to;
    wh_code_kind kind;
    char text[WH_NAME_MAX];
} wh_code;

typedef struct wh_field {
    char name[WH_NAME_MAX];
    wh_field_role role;
    wh_places at;        /* <= 64 bits together */
    bool low_bit_first;  /* first bit of the places is the least significant; default: the most */
    bool low_byte_first; /* the places are whole bytes, least significant byte first */
    bool inverted;       /* all bits of the raw value are inverted before anything else */
    wh_sign sign;
    double scale, offset; /* value = raw * scale + offset, in kPa, degC or `unit` */
    bool absolute;        /* pressure: absolute (default for chips), else gauge */
    char unit[16];        /* WH_ROLE_VALUE */
    double *table;        /* lookup instead of scale and offset: value of raw 0 .. table_count - 1; NaN = fault */
    size_t table_count;   /* owned by the descriptor */
    unsigned code_count;
    wh_code codes[WH_CODES_MAX];
    bool has_plausible;
    double plausible_low, plausible_high; /* in the unit of the value; pressure as gauge or absolute like the field */
    uint64_t constant;
    bool changes_slowly; /* for later use by trends; default false */
} wh_field;

typedef enum wh_provenance { WH_PUBLISHED, WH_MEASURED, WH_INVENTED } wh_provenance;

/* An expected number in an example. */
typedef struct wh_expected {
    char field[WH_NAME_MAX];
    wh_value_state state; /* WH_VALUE_OK: compare number (or hex text for the sensor) */
    double number;
    char text[WH_NAME_MAX];
} wh_expected;

#define WH_EXPECTED_MAX 16
typedef struct wh_example {
    uint16_t bits;
    uint8_t frame[WH_FRAME_BITS_MAX / 8];
    unsigned expected_count;
    wh_expected expected[WH_EXPECTED_MAX];
} wh_example;

struct wh_descriptor {
    char name[WH_NAME_MAX];
    char summary[160];
    char path[256];
    wh_provenance provenance;
    char source[256]; /* document, for published */
    unsigned carrier_count;
    double carriers_hz[WH_CARRIERS_MAX];
    double carrier_tolerance_hz; /* default 110 kHz: tuner and sensor crystal errors together */
    wh_radio radio;
    wh_line_spec line;
    wh_frame_spec frame;
    unsigned copies;             /* frames per activation, nominal; 1 when not given */
    double gap_min_s, gap_max_s; /* carrier-off time between copies; default 0 and 0.5 s */
    unsigned check_count;
    wh_check checks[WH_CHECKS_MAX];
    unsigned field_count;
    wh_field fields[WH_FIELDS_MAX];
    bool partial;     /* no sensor field: frames get a nickname from `steady` */
    wh_places steady; /* bits that never change for one sensor; count 0: unknown */
    size_t example_count;
    wh_example *examples; /* owned */
};

#endif
