/* A make-believe librtlsdr: linked in with --wrap, it answers in place of the real one. */
#ifndef FAKE_RTLSDR_H
#define FAKE_RTLSDR_H

#include <rtl-sdr.h>
#include <stdatomic.h>
#include <stdbool.h>
#include <stdint.h>

#define FAKE_DEVICES 3

typedef struct fake_rtlsdr {
    uint32_t device_count;
    const char *serials[FAKE_DEVICES]; /* NULL: the strings cannot be read */
    const char *manufacturer, *product;
    int open_code;             /* of rtlsdr_open */
    const char *opened_serial; /* what the opened one says; NULL: as listed */
    int fail_setting;          /* rate, frequency and gain setters answer with it */
    /* The stream: `transfers` calls with `lengths` (repeated), bytes counting up from 0, or with a `span` random ones
     * of low .. low + span - 1; then as `then` says. */
    unsigned transfers;
    uint32_t lengths[4];
    uint8_t low, span;
    enum { THEN_UNPLUG, THEN_SILENCE, THEN_STUCK } then;
    bool hold_back;       /* the stream waits until `go` */
    unsigned pause_after; /* so many transfers it waits until `go`; 0: not */
    atomic_bool go;
    /* What was asked for */
    uint32_t opened_index, rate, centre;
    int gain_mode, gain, ppm;
    atomic_uint sent; /* transfers done */
    atomic_bool running, cancelled, release_stuck;
    atomic_uint opened, closed;
} fake_rtlsdr;

extern fake_rtlsdr fake;
void fake_reset(void);

#endif
