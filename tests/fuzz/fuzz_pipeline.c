/* Samples from outside through the whole receiver: nothing hangs, nothing leaves an array, what is told is well formed, and
 * the same samples give the same callbacks in any blocks. Input: a byte for the format, one for the sample rate, one for the
 * descriptors, one for the cuts, then samples. */
#include "fuzz_target.h"
#include "wheelhark/receiver.h"

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define SAMPLES_MAX 60000 /* a quarter of a second at 225 kS/s: what a fuzzer can do often enough */

static void insist(bool condition, const char *what)
{
    if (condition)
        return;
    fprintf(stderr, "broken promise: %s\n", what);
    abort();
}

/* Short frames, so that short inputs hold some; every line code, check kind and layout that the receiver knows. */
static const char *const texts[] = {
    "wheelhark descriptor: 1\nname: fuzz-fsk-manchester\nsummary: Two-tone keying, CRC\nprovenance: {kind: invented}\n"
    "radio: {carriers: [433.92 MHz], modulation: fsk, chip rate: 40 kchip/s, deviation: 40 kHz}\n"
    "line: {code: manchester, one: high-low}\n"
    "frame: {preamble: {bits: \"0\", repeats: 8}, sync: {bits: \"1110 0101\"}, payload: 40 bits}\n"
    "copies: {count: 2, gap: 5 ms}\n"
    "checks: [{kind: crc, width: 8 bits, polynomial: 0x07, over: {from: 0, bits: 32}, place: {from: 32, bits: 8}}]\n"
    "fields:\n  - {name: sensor, role: sensor, place: {from: 0, bits: 16}}\n"
    "  - {name: pressure, role: pressure, place: {from: 16, bits: 8}, scale: 4 kPa, offset: 100 kPa, reference: "
    "absolute}\n"
    "  - {name: temperature, role: temperature, place: {from: 24, bits: 8}, scale: 1 degC, offset: -40 degC}\n"
    "examples: [{frame: {hex: \"1234563CC7\", bits: 40}, expect: {sensor: \"1234\"}}]\n",
    "wheelhark descriptor: 1\nname: fuzz-ook-pulse-width\nsummary: On-off keying, unequal words, open length\n"
    "provenance: {kind: invented}\npartial: yes\n"
    "radio: {carriers: [315 MHz], modulation: ook, chip rate: 20 kchip/s}\n"
    "line: {code: pulse-width, one: {chips: \"1110\"}, zero: {chips: \"10\"}}\n"
    "frame: {sync: {chips: \"11111 00000\"}, payload: {least: 16 bits, most: 48 bits, step: 4 bits}, end: {chips: "
    "\"11111\"}}\n"
    "checks: [{kind: xor, width: 4 bits, word: 4 bits, over: {from: 0, bits: 12}, place: {from: 12, bits: 4}}]\n"
    "fields: [{name: state, role: value, place: {from: 0, bits: 12}, scale: 1}]\nsteady: {from: 0, bits: 12}\n",
    "wheelhark descriptor: 1\nname: fuzz-fsk-biphase\nsummary: No known beginning\nprovenance: {kind: "
    "invented}\npartial: yes\n"
    "radio: {carriers: [433.92 MHz], modulation: fsk, chip rate: 30 kchip/s, deviation: 25 kHz, rate tolerance: 10 %, "
    "chip one: lower tone}\n"
    "line: {code: differential-manchester, one: edge}\n"
    "frame: {payload: {least: 24 bits, most: 64 bits}, bit order: low bit first}\n"
    "checks: [{kind: even parity, over: {from: 0, bits: 23}, place: {from: 23, bits: 1}}]\n"
    "fields: [{name: family, role: constant, place: {from: 0, bits: 8}, value: 0x5A}]\nsteady: {from: 8, bits: 12}\n",
    "wheelhark descriptor: 1\nname: fuzz-ook-nrz\nsummary: No line code, preamble alone\nprovenance: {kind: "
    "invented}\npartial: yes\n"
    "radio: {carriers: [433.92 MHz], modulation: ook, bit rate: 25 kbit/s}\nline: {code: nrz, one: low}\n"
    "frame: {preamble: {chips: \"1100\", repeats: 6}, payload: 32 bits}\n"
    "fields: [{name: family, role: constant, place: {from: 0, bits: 8}, value: 0xA9}]\nsteady: {from: 8, bits: 16}\n",
};
#define TEXTS (sizeof texts / sizeof texts[0])

static void complain(void *context, const wh_complaint *complaint)
{
    (void)context;
    fprintf(stderr, "%s:%u:%u: %s %s\n", complaint->file, complaint->line, complaint->column, complaint->reason,
            complaint->hint);
}

/* Any of the descriptors, by bits; made once each. */
static const wh_descriptor_set *choose(unsigned which)
{
    static wh_descriptor_set *sets[1u << TEXTS];
    which %= 1u << TEXTS;
    if (!sets[which]) {
        sets[which] = wh_descriptor_set_create();
        insist(sets[which] != NULL, "memory for descriptors");
        for (unsigned i = 0; i < TEXTS; i++)
            if (which >> i & 1u)
                insist(wh_descriptor_set_load_text(sets[which], "embedded", texts[i], strlen(texts[i]), complain,
                                                   NULL) == WH_OK,
                       "the descriptors load");
    }
    return sets[which];
}

typedef struct ear {
    uint64_t bursts, readings, decoded, hash;
    double last_burst_s;
} ear;

static void mix(ear *e, const void *bytes, size_t count)
{
    const uint8_t *b = bytes;
    for (size_t i = 0; i < count; i++)
        e->hash = (e->hash ^ b[i]) * 1099511628211u;
}

static void mix_number(ear *e, double value)
{
    insist(isfinite(value), "every number told is one");
    mix(e, &value, sizeof value);
}

static void take_reading(void *context, const wh_reading *r)
{
    ear *e = context;
    e->readings++;
    insist(r->confidence >= 0.0 && r->confidence <= 1.0, "a confidence is a probability");
    insist(r->copies >= 1 && r->sensor[0] && r->descriptor[0],
           "a reading has a sensor, a descriptor and a copy at least");
    insist(r->frame_bits <= WH_FRAME_BITS_MAX && r->value_count <= WH_READING_VALUES_MAX &&
               r->flag_count <= WH_READING_FLAGS_MAX,
           "counts in bounds");
    mix_number(e, r->offset_s);
    mix_number(e, r->confidence);
    mix_number(e, r->carrier_hz);
    mix_number(e, r->snr_db);
    mix_number(e, r->level_dbfs);
    mix_number(e, r->pressure.kpa);
    mix_number(e, r->temperature_c);
    mix(e, r->frame, sizeof r->frame);
    mix(e, r->sensor, strlen(r->sensor));
}

static void take_burst(void *context, const wh_burst *b)
{
    ear *e = context;
    insist(b->number == e->bursts, "bursts are numbered without a hole");
    insist(b->offset_s >= e->last_burst_s && b->duration_s > 0.0, "bursts come in order of time");
    insist((unsigned)b->reason < WH_REASON_COUNT && (unsigned)b->stage < WH_STAGE_COUNT, "a reason that exists");
    e->last_burst_s = b->offset_s;
    e->bursts++;
    e->decoded += b->reason == WH_REASON_DECODED;
    mix_number(e, b->offset_s);
    mix_number(e, b->duration_s);
    mix_number(e, b->carrier_hz);
    mix_number(e, b->width_hz);
    mix_number(e, b->snr_db);
    mix_number(e, b->level_dbfs);
    mix(e, &b->reason, sizeof b->reason);
}

static void take_attempt(void *context, const wh_attempt *a)
{
    ear *e = context;
    insist(a->descriptor[0] && memchr(a->detail, 0, sizeof a->detail), "an attempt has a descriptor and an ended text");
    mix(e, a->descriptor, strlen(a->descriptor));
    mix(e, a->detail, strlen(a->detail));
}

typedef struct plan {
    wh_stream stream;
    const wh_descriptor_set *set;
    const uint8_t *samples;
    size_t count, block, gap_at; /* gap_at 0: none */
    unsigned threads;
} plan;

static ear run(const plan *p)
{
    ear e = {.hash = 14695981039346656037u, .last_burst_s = -1.0};
    wh_receiver_config config;
    wh_receiver_config_defaults(&config);
    config.threads = p->threads;
    config.report_minimum = 0.0;
    config.explain = true;
    const wh_receiver_sink sink = {&e, take_reading, take_burst, take_attempt, NULL};
    wh_receiver *receiver = NULL;
    insist(wh_receiver_create(&config, p->set, &sink, &receiver, NULL) == WH_OK, "a receiver");
    insist(wh_receiver_begin(receiver, &p->stream, NULL) == WH_OK, "a stretch begins");
    const size_t bytes = wh_iq_bytes(p->stream.format);
    for (size_t at = 0; at < p->count;) {
        size_t step = p->block < p->count - at ? p->block : p->count - at;
        if (p->gap_at > at && p->gap_at < at + step)
            step = p->gap_at - at;
        insist(wh_receiver_push(receiver, p->samples + at * bytes, step) == WH_OK, "samples are taken");
        at += step;
        if (at == p->gap_at)
            insist(wh_receiver_gap(receiver, 1234) == WH_OK, "a gap is taken");
    }
    insist(wh_receiver_finish(receiver) == WH_OK, "a stretch ends");
    wh_receiver_stats stats;
    wh_receiver_get_stats(receiver, &stats);
    uint64_t reasons = 0;
    for (int i = 0; i < WH_REASON_COUNT; i++)
        reasons += stats.reasons[i];
    insist(stats.samples == p->count && stats.samples_invalid <= p->count, "every sample is counted once");
    insist(stats.bursts == e.bursts && reasons == e.bursts && stats.bursts_decoded == e.decoded,
           "every burst has one reason");
    insist(stats.readings == e.readings && stats.readings_weak == 0, "every reading is told");
    wh_receiver_destroy(&receiver);
    return e;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static const double rates[] = {225e3, 250e3, 300e3, 900e3, 1024e3, 2400e3, 3.2e6, 281234.5};
    if (size < 4)
        return 0;
    plan p = {.stream = {.format = (wh_iq_format)(data[0] % WH_IQ_FORMAT_COUNT),
                         .sample_rate_hz = rates[data[1] % (sizeof rates / sizeof rates[0])],
                         .centre_hz = data[0] & 0x80 ? 433.9e6 : 0.0,
                         .name = "fuzz"},
              .set = choose(data[2]),
              .samples = data + 4};
    p.count = (size - 4) / wh_iq_bytes(p.stream.format);
    if (p.count > SAMPLES_MAX)
        p.count = SAMPLES_MAX;
    p.gap_at = data[3] & 0x40 ? p.count / 2 : 0;
    p.block = p.count + 1;
    const ear whole = run(&p);
    p.block = 1 + 97u * (data[3] & 0x3fu);
    p.threads = data[3] >> 7;
    const ear parts = run(&p);
    insist(whole.hash == parts.hash && whole.readings == parts.readings, "the same samples give the same callbacks");
    return 0;
}
