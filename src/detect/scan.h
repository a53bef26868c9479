/* Scan: which bins of a slot hold more than noise. Tests over several durations and widths at one false-alarm rate. */
#ifndef WH_SCAN_H
#define WH_SCAN_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define WH_SCAN_SLOTS  8  /* longest duration looked at in every slot */
#define WH_SCAN_PAST   64 /* slots before those that are remembered, in fours */
#define WH_ISLANDS_MAX 64

/* A run of neighbouring bins above the noise in one slot. */
typedef struct wh_island {
    uint16_t low, high; /* first and last bin */
    uint8_t slots;      /* shortest duration that gave the hit: 1, 4 or 8 slots up to this one */
    double power;       /* over the noise, mean of that duration, summed over the bins */
} wh_island;

typedef struct wh_scan wh_scan;

/* `slot_rate_hz`: slots a second; `bin_hz`: width of a bin. */
wh_scan *wh_scan_create(size_t bins, double bin_hz, double slot_rate_hz, double false_alarms_per_s);
void wh_scan_destroy(wh_scan **scan);
void wh_scan_reset(wh_scan *scan);
/* Test one slot; returns the number of islands, in order of frequency, written to islands[WH_ISLANDS_MAX]. */
size_t wh_scan_slot(wh_scan *scan, const float *spectrum, const float *noise, wh_island *islands);
/* Power over noise, summed over the last four slots; what was settled counts 1 a slot. */
const float *wh_scan_last_four(const wh_scan *scan);
/* After every fourth slot: remembers the last four for wh_scan_past_four, without the skirts of strong emissions; held[i] is set
 * where there are skirts, for they are no noise. */
void wh_scan_end_four(wh_scan *scan, const float *noise, unsigned char *held);
/* Mean power over noise in the bins low..high, `back` (0..WH_SCAN_SLOTS - 1) slots before the newest; 1 where settled. */
double wh_scan_past(const wh_scan *scan, size_t low, size_t high, size_t back);
/* The same, mean of four slots: `fours` (1..WH_SCAN_PAST / 4) before those four that the newest belongs to. */
double wh_scan_past_four(const wh_scan *scan, size_t low, size_t high, size_t fours);
/* The newest slot's bins low..high are accounted for: longer tests must not see them again. */
void wh_scan_settle(wh_scan *scan, size_t low, size_t high);

#endif
