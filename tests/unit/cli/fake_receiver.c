/* A receiver that takes its readings straight from the samples, so that everything around it can be tested without
 * radio: a cu8 sample of I = 200 is a message, its Q says which. */
#include "burst_tap.h"
#include "wheelhark/receiver.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { MARK = 200 };
enum message { PLAIN, FAULT, NOT_AVAILABLE, PARTIAL, ODD_TEXT, WEAK, LOST_BURST, COLD };

struct wh_receiver {
    wh_receiver_config config;
    wh_receiver_sink sink;
    wh_stream stream;
    uint64_t at; /* samples of this stretch */
    wh_receiver_stats stats;
};

void wh_receiver_config_defaults(wh_receiver_config *config)
{
    *config = (wh_receiver_config){.site = {WH_STANDARD_ATMOSPHERE_KPA}, .report_minimum = 0.5};
}

wh_status wh_receiver_create(const wh_receiver_config *config, const wh_descriptor_set *descriptors,
                             const wh_receiver_sink *sink, wh_receiver **out, wh_error *error)
{
    (void)descriptors;
    *out = calloc(1, sizeof **out);
    if (!*out)
        return wh_fail(error, WH_ERR_MEMORY, NULL, "out of memory");
    (*out)->config = *config;
    (*out)->sink = *sink;
    return WH_OK;
}

wh_status wh_receiver_begin(wh_receiver *receiver, const wh_stream *stream, wh_error *error)
{
    (void)error;
    receiver->stream = *stream;
    receiver->at = 0;
    return WH_OK;
}

static wh_reading plain_reading(const wh_receiver *receiver, double offset_s)
{
    const wh_stream *stream = &receiver->stream;
    wh_reading reading = {
        .offset_s = stream->start_s + offset_s,
        .has_time = stream->has_time,
        .at_utc_us = stream->start_utc_us + (int64_t)(offset_s * 1e6 + 0.5),
        .descriptor = "demo-fsk-manchester",
        .sensor = "0A1B2C3D",
        .sensor_bits = 32,
        .pressure_state = WH_VALUE_OK,
        .from_absolute = true,
        .absolute = {825.325},
        .pressure = wh_gauge_of((wh_absolute){825.325}, receiver->config.site),
        .temperature_state = WH_VALUE_OK,
        .temperature_c = 18.5,
        .value_count = 2,
        .values = {{"battery", "V", WH_VALUE_OK, 2.9, ""}, {"location", "", WH_VALUE_OK, 3, "rear left"}},
        .flag_count = 2,
        .flags = {{"battery low", false}, {"moving", true}},
        .confidence = 0.99876,
        .carrier_hz = 433918400.4,
        .snr_db = 21.34,
        .level_dbfs = -12.26,
        .copies = 3,
        .frame_bits = 36,
        .frame = {0x0A, 0x1B, 0x2C, 0x3D, 0xE0},
    };
    snprintf(reading.source, sizeof reading.source, "%s", stream->name);
    return reading;
}

static void change(wh_reading *reading, enum message message)
{
    switch (message) {
    case FAULT:
        reading->pressure_state = WH_VALUE_FAULT;
        snprintf(reading->pressure_note, sizeof reading->pressure_note, "sensor error");
        reading->temperature_state = WH_VALUE_IMPLAUSIBLE;
        break;
    case NOT_AVAILABLE:
        reading->pressure_state = reading->temperature_state = WH_VALUE_NOT_AVAILABLE;
        reading->values[0].state = WH_VALUE_NOT_AVAILABLE;
        break;
    case PARTIAL:
        reading->nickname = true;
        snprintf(reading->sensor, sizeof reading->sensor, "~4F00A1");
        reading->pressure_state = reading->temperature_state = WH_VALUE_ABSENT;
        reading->value_count = reading->flag_count = 0;
        reading->repaired_bits = 1;
        break;
    case ODD_TEXT:
        snprintf(reading->values[1].text, sizeof reading->values[1].text, "=1+1, \"a\"\x1b[2J");
        reading->value_count = 2;
        reading->values[0].state = WH_VALUE_ABSENT;
        break;
    case WEAK: reading->confidence = 0.3; break;
    case COLD:
        reading->temperature_c = -40.04;
        reading->pressure.kpa = -0.04;
        reading->from_absolute = false;
        break;
    case PLAIN:
    case LOST_BURST: break;
    }
}

static void tell_burst(wh_receiver *receiver, double offset_s, bool decoded)
{
    wh_burst burst = {.number = receiver->stats.bursts++,
                      .offset_s = receiver->stream.start_s + offset_s,
                      .has_time = receiver->stream.has_time,
                      .at_utc_us = receiver->stream.start_utc_us + (int64_t)(offset_s * 1e6 + 0.5),
                      .duration_s = 0.0125,
                      .carrier_hz = 433.92e6,
                      .width_hz = 80e3,
                      .snr_db = 9.5,
                      .level_dbfs = -30,
                      .stage = decoded ? WH_STAGE_READING : WH_STAGE_FRAME,
                      .reason = decoded ? WH_REASON_DECODED : WH_REASON_NO_SYNC,
                      .descriptor = "demo-fsk-manchester"};
    const wh_attempt attempt = {.burst_number = burst.number,
                                .descriptor = "demo-fsk-manchester",
                                .stage = burst.stage,
                                .reason = burst.reason,
                                .detail = "best sync match 0.41 of 0.60 needed"};
    snprintf(burst.source, sizeof burst.source, "%s", receiver->stream.name);
    receiver->stats.reasons[burst.reason]++;
    receiver->stats.bursts_decoded += decoded;
    if (receiver->sink.burst)
        receiver->sink.burst(receiver->sink.context, &burst);
    if (receiver->config.explain && receiver->sink.attempt)
        receiver->sink.attempt(receiver->sink.context, &attempt);
}

static void take_message(wh_receiver *receiver, enum message message)
{
    const double offset_s = (double)receiver->at / receiver->stream.sample_rate_hz;
    tell_burst(receiver, offset_s, message != LOST_BURST);
    if (message == LOST_BURST)
        return;
    wh_reading reading = plain_reading(receiver, offset_s);
    change(&reading, message);
    if (reading.confidence < receiver->config.report_minimum) {
        receiver->stats.readings_weak++;
        return;
    }
    receiver->stats.readings++;
    receiver->sink.reading(receiver->sink.context, &reading);
}

wh_status wh_receiver_push(wh_receiver *receiver, const void *samples, size_t count)
{
    const uint8_t *bytes = samples;
    for (size_t i = 0; i < count; i++, receiver->at++) {
        if (receiver->stream.format == WH_IQ_CU8 && bytes[2 * i] == MARK)
            take_message(receiver, (enum message)bytes[2 * i + 1]);
        receiver->stats.clipped_samples += bytes[2 * i] == 255;
    }
    receiver->stats.samples += count;
    receiver->stats.seconds += (double)count / receiver->stream.sample_rate_hz;
    return WH_OK;
}

void wh_receiver_set_tap(wh_receiver *receiver, const wh_burst_tap *tap)
{
    (void)receiver;
    (void)tap;
}

wh_status wh_receiver_gap(wh_receiver *receiver, uint64_t lost)
{
    receiver->at += lost;
    receiver->stats.samples_lost += lost;
    return WH_OK;
}

wh_status wh_receiver_settle(wh_receiver *receiver)
{
    (void)receiver;
    return WH_OK;
}

wh_status wh_receiver_finish(wh_receiver *receiver)
{
    (void)receiver;
    return WH_OK;
}

void wh_receiver_get_stats(const wh_receiver *receiver, wh_receiver_stats *stats)
{
    *stats = receiver->stats;
}

void wh_receiver_destroy(wh_receiver **receiver)
{
    free(*receiver);
    *receiver = NULL;
}
