#include "yard_scene.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void write_down(heard *h, const char *format, ...) __attribute__((format(printf, 2, 3)));

static void write_down(heard *h, const char *format, ...)
{
    char line[1024];
    va_list arguments;
    va_start(arguments, format);
    const int length = vsnprintf(line, sizeof line, format, arguments);
    va_end(arguments);
    assert_true(length >= 0 && (size_t)length < sizeof line);
    if (h->length + (size_t)length + 1 > h->capacity) {
        h->capacity = 2 * h->capacity + sizeof line;
        h->text = realloc(h->text, h->capacity);
        assert_non_null(h->text);
    }
    memcpy(h->text + h->length, line, (size_t)length + 1);
    h->length += (size_t)length;
}

static void take_reading(void *context, const wh_reading *r)
{
    heard *h = context;
    assert_true(h->readings < READINGS_MAX);
    h->reading[h->readings++] = *r;
    write_down(h, "reading %a %lld %s %s %s %d %a %d %a %a", r->offset_s, (long long)r->at_utc_us, r->source,
               r->descriptor, r->sensor, (int)r->pressure_state, r->pressure.kpa, (int)r->temperature_state,
               r->temperature_c, r->confidence);
    write_down(h, " %a %a %a %u %u", r->carrier_hz, r->snr_db, r->level_dbfs, r->copies, r->repaired_bits);
    for (unsigned i = 0; i < r->value_count; i++)
        write_down(h, " %s=%d %a %s", r->values[i].name, (int)r->values[i].state, r->values[i].value,
                   r->values[i].text);
    for (unsigned i = 0; i < r->flag_count; i++)
        write_down(h, " %s=%d", r->flags[i].name, r->flags[i].set);
    for (unsigned i = 0; i < (r->frame_bits + 7) / 8; i++)
        write_down(h, "%s%02X", i ? "" : " ", r->frame[i]);
    write_down(h, "\n");
}

static void take_burst(void *context, const wh_burst *b)
{
    heard *h = context;
    assert_true(h->bursts < BURSTS_MAX);
    h->burst[h->bursts++] = *b;
    write_down(h, "burst %llu %a %lld %a %a %a %a %a %s %d %s %s\n", (unsigned long long)b->number, b->offset_s,
               (long long)b->at_utc_us, b->duration_s, b->carrier_hz, b->width_hz, b->snr_db, b->level_dbfs, b->source,
               (int)b->stage, wh_reason_name(b->reason), b->descriptor);
}

static void take_attempt(void *context, const wh_attempt *a)
{
    heard *h = context;
    h->attempts++;
    write_down(h, "attempt %llu %s %d %s %s\n", (unsigned long long)a->burst_number, a->descriptor, (int)a->stage,
               wh_reason_name(a->reason), a->detail);
}

static void take_early(void *context, const wh_reading *r)
{
    heard *h = context;
    assert_true(h->earlies < READINGS_MAX);
    h->early_pushed_s[h->earlies] = h->pushed_s;
    h->early[h->earlies++] = *r;
}

wh_receiver_sink heard_sink(heard *h)
{
    return (wh_receiver_sink){h, take_reading, take_burst, take_attempt, take_early};
}

void heard_free(heard *h)
{
    free(h->text);
    *h = (heard){0};
}

wh_descriptor_set *set;

int yard_load(void **state)
{
    (void)state;
    set = yard_descriptors();
    return 0;
}

int yard_unload(void **state)
{
    (void)state;
    wh_descriptor_set_destroy(&set);
    return 0;
}

wh_descriptor_set *yard_descriptors(void)
{
    wh_descriptor_set *shipped = wh_descriptor_set_create();
    assert_non_null(shipped);
    assert_int_equal(wh_descriptor_set_load_folder(shipped, WH_TEST_PROTOCOLS, NULL, NULL), WH_OK);
    return shipped;
}

yard yard_create(double seconds)
{
    yard y = {
        .scene = wh_scene_create(8),
        .spec = {.format = WH_IQ_CU8, .sample_rate_hz = 250e3, .centre_hz = 433.92e6, .noise_power = 4e-4, .seed = 21}};
    assert_non_null(y.scene);
    y.spec.samples = (uint64_t)(seconds * y.spec.sample_rate_hz);
    return y;
}

double yard_amplitude(const yard *y, const wh_descriptor *d, double snr_db)
{
    return wh_snr_amplitude(snr_db, d->radio.chip_rate_hz, y->spec.noise_power, y->spec.sample_rate_hz);
}

void yard_send(yard *y, const wh_descriptor *d, const char *sensor, const wh_transmission *figures)
{
    static const wh_absolute sea_level = {WH_STANDARD_ATMOSPHERE_KPA};
    wh_transmission t = *figures;
    t.descriptor = d;
    if (t.amplitude == 0.0)
        t.amplitude = yard_amplitude(y, d, 20.0);
    const wh_synth_value value = {"sensor", sensor};
    assert_int_equal(wh_synth_frame(d, &value, sensor ? 1 : 0, 0, sea_level, &t.frame, NULL), WH_OK);
    assert_int_equal(wh_scene_add(y->scene, &t, NULL), WH_OK);
}

void yard_record(yard *y)
{
    size_t count;
    const wh_recording_burst *bursts = wh_scene_bursts(y->scene, &count);
    wh_recording *recording = NULL;
    assert_int_equal(wh_recording_create(&y->spec, bursts, count, &recording, NULL), WH_OK);
    y->samples = malloc(y->spec.samples * wh_iq_bytes(y->spec.format) + 1);
    assert_non_null(y->samples);
    assert_int_equal(wh_recording_read_native(recording, y->samples, y->spec.samples), y->spec.samples);
    wh_recording_destroy(&recording);
}

void yard_free(yard *y)
{
    wh_scene_destroy(&y->scene);
    free(y->samples);
    *y = (yard){0};
}

wh_stream yard_stream(const yard *y)
{
    return (wh_stream){.format = y->spec.format,
                       .sample_rate_hz = y->spec.sample_rate_hz,
                       .centre_hz = y->spec.centre_hz,
                       .has_time = true,
                       .start_utc_us = 1700000000000000,
                       .name = "yard"};
}

void yard_push(const yard *y, wh_receiver *receiver, size_t from, size_t to, size_t block)
{
    const size_t bytes = wh_iq_bytes(y->spec.format);
    for (size_t at = from; at < to; at += block) {
        const size_t count = at + block < to ? block : to - at;
        /* Memory of exactly this size, gone after the call: the receiver must not hold on to it. */
        unsigned char *samples = malloc(count * bytes);
        assert_non_null(samples);
        memcpy(samples, y->samples + at * bytes, count * bytes);
        assert_int_equal(wh_receiver_push(receiver, samples, count), WH_OK);
        free(samples);
    }
}

void yard_run(const yard *y, const wh_descriptor_set *descriptors, unsigned threads, size_t block, heard *h,
              wh_receiver_stats *stats)
{
    wh_receiver_config config;
    wh_receiver_config_defaults(&config);
    config.threads = threads;
    config.explain = true;
    const wh_receiver_sink sink = heard_sink(h);
    wh_receiver *receiver = NULL;
    assert_int_equal(wh_receiver_create(&config, descriptors, &sink, &receiver, NULL), WH_OK);
    const wh_stream stream = yard_stream(y);
    assert_int_equal(wh_receiver_begin(receiver, &stream, NULL), WH_OK);
    for (size_t at = 0; at < y->spec.samples; at += block) {
        const size_t end = at + block < y->spec.samples ? at + block : y->spec.samples;
        h->pushed_s = (double)end / y->spec.sample_rate_hz;
        yard_push(y, receiver, at, end, block);
    }
    assert_int_equal(wh_receiver_finish(receiver), WH_OK);
    if (stats)
        wh_receiver_get_stats(receiver, stats);
    wh_receiver_destroy(&receiver);
    assert_null(receiver);
}
