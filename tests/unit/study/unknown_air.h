/* Recordings of sensors that a study has never seen, computed here from the definitions of the codes. */
#ifndef WH_TEST_UNKNOWN_AIR_H
#define WH_TEST_UNKNOWN_AIR_H

#include "../air.h"
#include "study.h"

#include <string.h>

#define UNKNOWN_RATE_HZ 500e3

typedef enum unknown_code { UNKNOWN_MANCHESTER, UNKNOWN_NRZ, UNKNOWN_WORDS } unknown_code;

typedef struct unknown_kind {
    unknown_code code;
    double chip_rate_hz, deviation_hz; /* deviation 0: on-off keying */
    const char *head, *end;            /* preamble and sync, end pattern; chips */
    const char *one, *zero;            /* UNKNOWN_WORDS */
} unknown_kind;

static inline size_t unknown_put(uint8_t *chips, size_t count, const char *digits)
{
    for (; *digits; digits++)
        chips[count++] = *digits == '1';
    return count;
}

/* Chips of a frame; Manchester: a one is 10 (G. E. Thomas). */
static inline size_t unknown_chips(const unknown_kind *kind, const uint8_t *bits, size_t bit_count, uint8_t *chips)
{
    static const char *const manchester[2] = {"01", "10"}, *const nrz[2] = {"0", "1"};
    size_t count = unknown_put(chips, 0, kind->head);
    for (size_t i = 0; i < bit_count; i++) {
        const char *const words[2] = {kind->zero, kind->one};
        const char *const *code = kind->code == UNKNOWN_MANCHESTER ? manchester
                                  : kind->code == UNKNOWN_NRZ      ? nrz
                                                                   : words;
        count = unknown_put(chips, count, code[bits[i]]);
    }
    return unknown_put(chips, count, kind->end ? kind->end : "");
}

/* 48 bits: a 24-bit sensor, a counter that steps, a value that wanders, and the sum of the five bytes before. */
#define UNKNOWN_BITS 48
static inline void unknown_frame(unsigned sensor, unsigned number, uint8_t bits[UNKNOWN_BITS])
{
    static const uint32_t ids[3] = {0x9A61C3, 0x24F70B, 0xD70E58};
    static const uint8_t values[10] = {0xB4, 0xB5, 0xB5, 0xB7, 0xB6, 0xB4, 0xB2, 0xB3, 0xB5, 0xB8};
    uint8_t bytes[6] = {(uint8_t)(ids[sensor] >> 16),
                        (uint8_t)(ids[sensor] >> 8),
                        (uint8_t)ids[sensor],
                        (uint8_t)(17 * sensor + number),
                        (uint8_t)(values[number % 10] - 9 * sensor),
                        0};
    for (unsigned i = 0; i < 5; i++)
        bytes[5] = (uint8_t)(bytes[5] + bytes[i]);
    for (unsigned i = 0; i < UNKNOWN_BITS; i++)
        bits[i] = (uint8_t)((unsigned)bytes[i / 8] >> (7 - i % 8) & 1u);
}

typedef struct unknown_scene {
    float *iq;
    size_t samples;
    double noise; /* power per sample */
} unknown_scene;

static inline unknown_scene unknown_silence(double seconds, uint64_t seed)
{
    unknown_scene scene = {.samples = (size_t)(seconds * UNKNOWN_RATE_HZ), .noise = 1e-4};
    scene.iq = air_silence(scene.samples);
    air_noise(scene.iq, scene.samples, scene.noise, seed);
    return scene;
}

/* Send chips; returns the end in seconds. */
static inline double unknown_send(unknown_scene *scene, const unknown_kind *kind, const uint8_t *chips, size_t count,
                                  double at_s, double carrier_hz, double snr_db)
{
    const air_keying keying = {
        UNKNOWN_RATE_HZ, kind->chip_rate_hz, at_s * UNKNOWN_RATE_HZ + 0.37,
        carrier_hz,      kind->deviation_hz, air_amplitude(snr_db, kind->chip_rate_hz, scene->noise, UNKNOWN_RATE_HZ)};
    return air_keyed(scene->iq, scene->samples, &keying, chips, count) / UNKNOWN_RATE_HZ;
}

/* `frames` different frames of each of three sensors, each sent `copies` times with 20 ms between, from 0.05 s on. */
static inline void unknown_send_all(unknown_scene *scene, const unknown_kind *kind, unsigned frames, unsigned copies,
                                    double snr_db)
{
    double at = 0.05;
    for (unsigned sensor = 0; sensor < 3; sensor++) {
        for (unsigned f = 0; f < frames; f++) {
            uint8_t bits[UNKNOWN_BITS], chips[1024];
            unknown_frame(sensor, f, bits);
            const size_t count = unknown_chips(kind, bits, UNKNOWN_BITS, chips);
            for (unsigned c = 0; c < copies; c++)
                at = unknown_send(scene, kind, chips, count, at, 20e3 - 15e3 * sensor, snr_db) + 0.02;
            at += 0.55; /* further apart than copies */
        }
    }
    assert_true(at < (double)scene->samples / UNKNOWN_RATE_HZ + 0.6);
}

/* Give a scene to a study as a recording of its own, tuned to 433.92 MHz. */
static inline void unknown_record(wh_study *study, unknown_scene *scene, const char *name)
{
    wh_burst_store *store = wh_study_store(study);
    const wh_stream stream = {
        .format = WH_IQ_CF32, .sample_rate_hz = UNKNOWN_RATE_HZ, .centre_hz = 433.92e6, .name = "scene"};
    assert_int_equal(wh_burst_store_begin_recording(store, name, NULL), WH_OK);
    assert_int_equal(wh_burst_store_begin(store, &stream, NULL), WH_OK);
    for (size_t at = 0; at < scene->samples; at += 50000) {
        const size_t step = scene->samples - at < 50000 ? scene->samples - at : 50000;
        assert_int_equal(wh_burst_store_push(store, scene->iq + 2 * at, step), WH_OK);
    }
    assert_int_equal(wh_burst_store_finish(store), WH_OK);
    free(scene->iq);
    scene->iq = NULL;
}

#endif
