/* What the signal tells about one kind of burst: radio, line code and framing, each with how sure it is. */
#ifndef WH_KIND_ESTIMATE_H
#define WH_KIND_ESTIMATE_H

#include "frame_spec.h"
#include "line_code.h"
#include "radio.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef enum wh_certainty {
    WH_OPEN,   /* the recordings do not tell, or contradict each other */
    WH_LIKELY, /* the best of several readings; a further recording may overturn it */
    WH_CERTAIN /* no other reading that was tried explains the recordings */
} wh_certainty;

/* A measured quantity: mean over the bursts, and the standard error of that mean. */
typedef struct wh_measured {
    double value, error;
    wh_certainty certainty;
} wh_measured;

#define WH_LINE_CANDIDATES_MAX 8

/* One line code that might be the one. Both senses of a code explain a signal equally well: only what the bits mean can tell
 * them apart, so `inverted` is always false here (and of biphase mark and space mark is
 * given), and the sense is open until fields or a check decide it. */
typedef struct wh_line_candidate {
    wh_line_spec line;
    double probability;  /* among the candidates; they add up to 1 */
    unsigned compared;   /* bits looked at, over all frames */
    unsigned violations; /* of them, how many the code cannot make */
    double varying;      /* mean number of payload bits in which a frame differs from the one most like it */
    double
        check_bits; /* evidence that some check at the end holds when decoded so: -log2 of chance, 0..500; 0 also when not needed */
    unsigned columns; /* payload bits when decoded so */
} wh_line_candidate;

#define WH_KIND_CARRIERS_MAX 8

typedef struct wh_kind_estimate {
    wh_radio radio; /* as a descriptor wants it; a chip 1 is the higher tone, or carrier on */
    wh_certainty modulation;
    wh_measured chip_rate_hz, deviation_hz; /* deviation: FSK only */
    double rate_spread, deviation_spread;   /* standard deviation from transmitter to transmitter, as a fraction */
    size_t carrier_count;                   /* places on the band where it was heard, weakest rounding 10 kHz */
    double carriers_hz[WH_KIND_CARRIERS_MAX];
    bool carriers_known; /* false: the recordings do not say their centre, carriers are offsets from it */

    size_t line_count; /* line[0] is the one with which the table was made; 0: none fits */
    wh_line_candidate line[WH_LINE_CANDIDATES_MAX];
    wh_certainty line_code;

    /* preamble, sync and end as chips; bits_min, bits_max: payload. Ready for a descriptor. */
    wh_frame_spec frame;
    wh_certainty preamble, sync, length, end;
    bool sync_breaks_code; /* the sync holds what the line code cannot make: its place is beyond doubt */
    unsigned common_bits;  /* first payload bits that were alike in all frames: they may belong to the sync */
    unsigned fewest_preamble_chips, most_preamble_chips; /* heard */

    unsigned copies; /* of a frame in one activation, most often heard; 0: unknown */
    wh_certainty copies_certainty;
    double gap_least_s, gap_most_s; /* from the end of a copy to the start of the next; 0 without copies */

    unsigned bursts, emissions, frames; /* outlines of this kind; stretches of carrier in them; frames decoded */
    unsigned clipped_bursts;
    double snr_least_db, snr_median_db;
} wh_kind_estimate;

#endif
