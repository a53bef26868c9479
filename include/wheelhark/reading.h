/* What the receiver gives: readings, and bursts that did not become one. */
#ifndef WHEELHARK_READING_H
#define WHEELHARK_READING_H

#include "wheelhark/units.h"

#include <stdbool.h>
#include <stdint.h>

#define WH_FRAME_BITS_MAX     256 /* payload bits of a frame (sync not counted) */
#define WH_NAME_MAX           48  /* descriptor, field and flag names, with the final NUL */
#define WH_READING_VALUES_MAX 16
#define WH_READING_FLAGS_MAX  24

/* A value can be known not to be known. Only WH_VALUE_OK carries a number. */
typedef enum wh_value_state {
    WH_VALUE_ABSENT,        /* the descriptor has no such field */
    WH_VALUE_OK,            /* a measured number */
    WH_VALUE_FAULT,         /* the sensor reports a fault in place of a number */
    WH_VALUE_NOT_AVAILABLE, /* the sensor says it has no number now */
    WH_VALUE_IMPLAUSIBLE,   /* a number outside the descriptor's plausible range */
    WH_VALUE_STATE_COUNT
} wh_value_state;
const char *wh_value_state_name(wh_value_state state);

/* A further numeric or named value: battery voltage, counter, status, tire location. */
typedef struct wh_named_value {
    char name[WH_NAME_MAX];
    char unit[16]; /* "V", "%", "" */
    wh_value_state state;
    double value;
    char text[WH_NAME_MAX]; /* meaning of a coded value; empty when it is a plain number */
} wh_named_value;

typedef struct wh_flag {
    char name[WH_NAME_MAX];
    bool set;
} wh_flag;

typedef struct wh_reading {
    double offset_s;   /* start of the first copy, seconds from the start of the recording */
    bool has_time;     /* at_utc_us known? */
    int64_t at_utc_us; /* the same instant in microseconds since 1970 UTC */
    char source[128];  /* wh_stream.name */
    char descriptor[WH_NAME_MAX];
    char sensor[72]; /* sensor ID, upper-case hex, leading zeros kept; "~XXXXXX" is a nickname */
    unsigned sensor_bits;
    bool nickname; /* the descriptor is partial: `sensor` names the unchanging bits only */

    wh_value_state pressure_state;
    wh_gauge pressure;    /* valid when pressure_state is WH_VALUE_OK */
    bool from_absolute;   /* the sensor measured absolute pressure ... */
    wh_absolute absolute; /* ... this one; `pressure` is absolute minus site */
    wh_value_state temperature_state;
    double temperature_c;
    char pressure_note[WH_NAME_MAX]; /* meaning of a fault or not-available code */
    char temperature_note[WH_NAME_MAX];

    unsigned value_count, flag_count;
    wh_named_value values[WH_READING_VALUES_MAX];
    wh_flag flags[WH_READING_FLAGS_MAX];

    double confidence; /* 0..1: probability that sensor ID and values are right */
    double carrier_hz; /* centre of the signal; baseband offset when the stream's centre is unknown */
    double snr_db;     /* signal power over noise power in a band as wide as the chip rate */
    double level_dbfs; /* mean power while on, relative to full scale */
    unsigned copies;   /* frames merged into this reading, >= 1 */
    unsigned repaired_bits;
    unsigned frame_bits;
    uint8_t frame[WH_FRAME_BITS_MAX / 8]; /* payload, first bit = most significant bit of byte 0 */
} wh_reading;

/* Where in the pipeline a burst, or one descriptor's attempt at it, ended. */
typedef enum wh_stage {
    WH_STAGE_DETECT,
    WH_STAGE_DEMOD,
    WH_STAGE_LINE,
    WH_STAGE_FRAME,
    WH_STAGE_PROTOCOL,
    WH_STAGE_READING,
    WH_STAGE_COUNT
} wh_stage;

/* Why. */
typedef enum wh_reason {
    WH_REASON_DECODED,          /* it became (part of) a reading */
    WH_REASON_STEADY_CARRIER,   /* too long or unmodulated */
    WH_REASON_TOO_SHORT,        /* shorter than any frame of the descriptor */
    WH_REASON_BURST_STORM,      /* dropped because too many at once */
    WH_REASON_NO_SIGNAL,        /* no energy where the descriptor's tones would be */
    WH_REASON_WRONG_MODULATION, /* tones or keying do not fit */
    WH_REASON_NO_CLOCK,         /* no chip clock within the descriptor's rate tolerance */
    WH_REASON_NO_SYNC,          /* preamble and sync not found */
    WH_REASON_CUT_SHORT,        /* burst ends before the frame does */
    WH_REASON_LINE_VIOLATIONS,  /* line code broken too often */
    WH_REASON_WRONG_CONSTANT,   /* a field that must have a value has another: another kind of sensor */
    WH_REASON_BAD_CHECK,        /* a CRC, sum or parity fails */
    WH_REASON_WEAK_EVIDENCE,    /* everything fits, but chance would fit too */
    WH_REASON_NO_DESCRIPTOR,    /* nothing to match with */
    WH_REASON_COUNT
} wh_reason;
const char *wh_stage_name(wh_stage stage);
const char *wh_reason_name(wh_reason reason); /* stable machine spelling, e.g. "bad-check" */
const char *wh_reason_text(wh_reason reason); /* for people */

/* A burst the detector heard. */
typedef struct wh_burst {
    uint64_t number; /* 0, 1, ... in order of the start sample over the whole run */
    double offset_s; /* start, seconds from the start of the recording */
    bool has_time;
    int64_t at_utc_us;
    double duration_s;
    double carrier_hz; /* centre of the occupied band (see wh_reading.carrier_hz) */
    double width_hz;   /* occupied band */
    double snr_db;     /* power over noise within the occupied band */
    double level_dbfs;
    char source[128];
    wh_stage stage;               /* the furthest stage any descriptor reached */
    wh_reason reason;             /* and why it went no further; WH_REASON_DECODED when it did */
    char descriptor[WH_NAME_MAX]; /* the descriptor that went furthest; empty when none */
} wh_burst;

/* One descriptor's attempt at one burst, for --explain. */
typedef struct wh_attempt {
    uint64_t burst_number;
    char descriptor[WH_NAME_MAX];
    wh_stage stage;
    wh_reason reason;
    char detail[160]; /* figures: "best sync match 0.41 of 0.60 needed at 12.3 ms" */
} wh_attempt;

#endif
