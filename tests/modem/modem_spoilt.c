#include "modem_spoilt.h"

#include "modem_frame.h"
#include "synth_chips.h"
#include "synth_recording.h"
#include "wheelhark/receiver.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define RATE_HZ     1.024e6
#define STEPS       2.0 /* of the converter: room for signals 40 dB above, at 0.09 dB more noise from rounding */
#define NOISE       (2.0 * STEPS * STEPS / (127.5 * 127.5))
#define LEAD_S      0.4 /* the detector listens for a quarter of a second before it trusts its noise floor */
#define SINGLE_S    0.12 /* from frame to frame, and from group of copies to group: nothing of neighbours can be merged */
#define GROUP_S     0.48
#define LATE_S      0.04 /* a frame begins this long after the start of its place at least */
#define OVERLAP     0.8  /* another sensor begins up to this part of a frame earlier or later */
#define COPIES_MOST 8
#define TWO_PI      (2.0 * M_PI)

/* When each copy is on the air, from the start of the place. */
typedef struct times {
    unsigned count;
    double from_s[COPIES_MOST], to_s[COPIES_MOST];
} times;

typedef struct place {
    wh_frame_bits wanted, other;
    times wanted_at, other_at;
    bool wanted_heard, other_heard;
} place;

typedef struct run {
    const wh_descriptor *descriptor;
    const modem_spoil *spoil;
    wh_rng rng;
    double eb_db, place_s, carrier_hz, amplitude, start_s, length_s;
    double steady;  /* amplitude of the steady carrier: the same in all places */
    size_t samples; /* of a place */
    float *iq, *layer;
    uint8_t *bytes;
    place *places;
    modem_spoilt *result;
} run;

static double between(wh_rng *rng, double low, double high)
{
    return low + (high - low) * wh_rng_uniform(rng);
}

static double either(wh_rng *rng, double value)
{
    return wh_rng_next(rng) >> 63 ? value : -value;
}

static double ratio(double db)
{
    return pow(10.0, db / 20.0);
}

/* Add all copies of a frame to `iq`. */
static bool add_frame(run *r, wh_wave_spec spec, const wh_frame_bits *frame, float *iq, times *at)
{
    uint8_t *chips = NULL;
    size_t count = 0;
    const wh_descriptor *d = r->descriptor;
    if (wh_synth_chips(d, frame, &chips, &count, NULL) != WH_OK)
        return false;
    bool ok = true;
    const unsigned copies = r->spoil->copies ? r->spoil->copies : 1;
    for (at->count = 0; ok && at->count < copies && at->count < COPIES_MOST; at->count++) {
        spec.phase = between(&r->rng, 0.0, TWO_PI);
        wh_wave *wave = wh_wave_create(&spec, chips, count);
        ok = wave != NULL;
        if (!ok)
            break;
        wh_wave_add(wave, RATE_HZ, 0, r->samples, iq);
        const double end_s = spec.start_s + wh_wave_duration(wave);
        at->from_s[at->count] = spec.start_s;
        at->to_s[at->count] = end_s;
        wh_wave_destroy(&wave);
        if (r->spoil->ray_s > 0.0) {
            wh_wave_spec ray = spec;
            ray.start_s += r->spoil->ray_s;
            ray.amplitude *= ratio(r->spoil->ray_db);
            ray.phase = between(&r->rng, 0.0, TWO_PI);
            wave = wh_wave_create(&ray, chips, count);
            ok = wave != NULL;
            if (ok)
                wh_wave_add(wave, RATE_HZ, 0, r->samples, iq);
            wh_wave_destroy(&wave);
        }
        spec.start_s = end_s + between(&r->rng, d->gap_min_s, d->gap_max_s);
    }
    free(chips);
    return ok;
}

static void turn(float *iq, double angle)
{
    const double c = cos(angle), s = sin(angle), i = iq[0], q = iq[1];
    iq[0] = (float)(i * c - q * s);
    iq[1] = (float)(i * s + q * c);
}

/* A Lorentzian line of width w is a phase whose steps have a variance of 2 pi w T. */
static void walk_phase(run *r, float *iq)
{
    const double sigma = sqrt(TWO_PI * r->spoil->linewidth_hz / RATE_HZ);
    double phase = 0.0;
    for (size_t i = 0; sigma > 0.0 && i < r->samples; i++) {
        double pair[2];
        wh_rng_gauss_pair(&r->rng, pair);
        phase += sigma * pair[0];
        turn(iq + 2 * i, phase);
    }
}

static void dip(run *r, float *iq)
{
    const double middle_s = r->start_s + between(&r->rng, 0.0, r->length_s), width_s = r->length_s / 2.0;
    for (size_t i = 0; r->spoil->dip_db > 0.0 && i < r->samples; i++) {
        const double off = ((double)i / RATE_HZ - middle_s) / width_s;
        const double gain = fabs(off) < 0.5 ? ratio(-r->spoil->dip_db * 0.5 * (1.0 + cos(TWO_PI * off))) : 1.0;
        iq[2 * i] *= (float)gain;
        iq[2 * i + 1] *= (float)gain;
    }
}

static void add_tone(float *iq, double amplitude, double phase)
{
    iq[0] += (float)(amplitude * cos(phase));
    iq[1] += (float)(amplitude * sin(phase));
}

static void add_pulses(run *r)
{
    const modem_spoil *s = r->spoil;
    const double amplitude = r->amplitude * ratio(s->pulses_db);
    const size_t on = (size_t)(s->pulse_s * RATE_HZ), period = (size_t)(s->pulse_period_s * RATE_HZ);
    for (size_t at = wh_rng_below(&r->rng, period); at + on <= r->samples; at += period) {
        const double hz = r->carrier_hz + between(&r->rng, -50e3, 50e3), phase = between(&r->rng, 0.0, TWO_PI);
        for (size_t i = 0; i < on; i++)
            add_tone(r->iq + 2 * (at + i), amplitude, phase + TWO_PI * hz / RATE_HZ * (double)i);
    }
}

static void add_sweep(run *r)
{
    const modem_spoil *s = r->spoil;
    const double amplitude = r->amplitude * ratio(s->sweep_db), slope = either(&r->rng, s->sweep_hz / s->sweep_s);
    const double middle_s = r->start_s + between(&r->rng, 0.0, r->length_s);
    for (size_t i = 0; i < r->samples; i++) {
        const double t = (double)i / RATE_HZ - middle_s;
        if (fabs(t) < s->sweep_s / 2.0)
            add_tone(r->iq + 2 * i, amplitude, TWO_PI * (r->carrier_hz * t + 0.5 * slope * t * t));
    }
}

/* Steady over all places, so its phase follows the sample counter. */
static void add_carrier(run *r, uint64_t first)
{
    for (size_t i = 0; i < r->samples; i++) {
        const double cycles = r->spoil->carrier_off_hz / RATE_HZ * (double)(first + i);
        add_tone(r->iq + 2 * i, r->steady, TWO_PI * (cycles - floor(cycles)));
    }
}

static bool add_other(run *r, const wh_wave_spec *wanted, place *p)
{
    const modem_spoil *s = r->spoil;
    wh_wave_spec spec = *wanted;
    modem_frame_draw(r->descriptor, &r->rng, &p->other);
    spec.rate_error = between(&r->rng, -0.03, 0.03);
    spec.deviation_error = between(&r->rng, -0.10, 0.10);
    spec.drift_hz = 0.0;
    spec.amplitude *= ratio(s->other_db);
    spec.start_s += r->length_s * between(&r->rng, -OVERLAP, OVERLAP);
    spec.carrier_hz = s->other_mirrored
                          ? -wanted->carrier_hz
                          : wanted->carrier_hz + either(&r->rng, s->other_off_hz) + between(&r->rng, -2e3, 2e3);
    return add_frame(r, spec, &p->other, r->iq, &p->other_at);
}

static void spoil_in_receiver(run *r)
{
    const double image = r->spoil->image_db < 0.0 ? ratio(r->spoil->image_db) : 0.0, dc = r->spoil->dc;
    for (size_t i = 0; (image > 0.0 || dc > 0.0) && i < 2 * r->samples; i += 2) {
        r->iq[i] += (float)(image * r->iq[i] + dc);
        r->iq[i + 1] += (float)(-image * r->iq[i + 1] + dc);
    }
}

static double draw_carrier(run *r)
{
    if (r->spoil->carrier_off_hz > 0.0)
        return between(&r->rng, -2e3, 2e3);
    if (r->spoil->other_mirrored)
        return either(&r->rng, between(&r->rng, 150e3, 250e3));
    return between(&r->rng, -50e3, 50e3);
}

/* The wanted frame's first copy; its place, carrier and amplitude are kept for those who spoil it. */
static wh_wave_spec draw_wanted(run *r, place *p)
{
    const modem_spoil *s = r->spoil;
    const wh_radio *radio = &r->descriptor->radio;
    modem_frame_draw(r->descriptor, &r->rng, &p->wanted);
    wh_wave_spec spec = {.radio = *radio, .drift_hz = either(&r->rng, s->drift_hz)};
    spec.rate_error = s->rate_error > 0.0 ? either(&r->rng, s->rate_error) : between(&r->rng, -0.03, 0.03);
    spec.deviation_error =
        s->deviation_error > 0.0 ? either(&r->rng, s->deviation_error) : between(&r->rng, -0.10, 0.10);
    const double on_db = r->eb_db - 10.0 * log10(modem_frame_on_chips(r->descriptor, &p->wanted));
    r->amplitude = s->full_scale_factor > 0.0
                       ? s->full_scale_factor
                       : wh_snr_amplitude(on_db, radio->chip_rate_hz * (1.0 + spec.rate_error), NOISE, RATE_HZ);
    r->carrier_hz = draw_carrier(r);
    r->start_s = LATE_S + between(&r->rng, 0.0, 0.01);
    spec.amplitude = r->amplitude;
    spec.carrier_hz = r->carrier_hz - spec.drift_hz / 2.0;
    spec.start_s = r->start_s;
    return spec;
}

static bool make_place(run *r, place *p, uint64_t first)
{
    memset(r->layer, 0, 2 * r->samples * sizeof *r->layer);
    const wh_wave_spec spec = draw_wanted(r, p);
    if (!add_frame(r, spec, &p->wanted, r->layer, &p->wanted_at))
        return false;
    r->length_s = p->wanted_at.to_s[0] - p->wanted_at.from_s[0];
    walk_phase(r, r->layer);
    dip(r, r->layer);
    memcpy(r->iq, r->layer, 2 * r->samples * sizeof *r->iq);
    if (r->spoil->other && !add_other(r, &spec, p))
        return false;
    if (r->spoil->pulse_s > 0.0)
        add_pulses(r);
    if (r->spoil->sweep_s > 0.0)
        add_sweep(r);
    if (r->spoil->carrier_off_hz > 0.0)
        add_carrier(r, first);
    spoil_in_receiver(r);
    return true;
}

static bool same_frame(const wh_reading *reading, const wh_frame_bits *frame)
{
    return reading->frame_bits == frame->count && memcmp(reading->frame, frame->data, sizeof reading->frame) == 0;
}

static void hear(void *context, const wh_reading *reading)
{
    run *r = context;
    const double at = floor((reading->offset_s - LEAD_S) / r->place_s);
    place *p = at >= 0.0 && at < (double)r->result->frames ? &r->places[(size_t)at] : NULL;
    const bool wanted = p && same_frame(reading, &p->wanted);
    const bool other = p && !wanted && r->spoil->other && same_frame(reading, &p->other), wrong = !wanted && !other;
    modem_reliability_add(&r->result->reliability, reading->confidence, !wrong);
    if (wanted)
        p->wanted_heard |= reading->confidence >= 0.5;
    if (other)
        p->other_heard |= reading->confidence >= 0.5;
    r->result->wrong_believed += wrong && reading->confidence >= 0.5;
    r->result->wrong_sure += wrong && reading->confidence >= 0.9;
}

/* What is there all the time: noise, and usually whatever is steady. */
static bool push_lead(run *r, wh_receiver *receiver, const noise_pool *pool, size_t lead)
{
    bool ok = true;
    for (size_t done = 0; ok && done < lead; done += r->samples) {
        const size_t some = lead - done < r->samples ? lead - done : r->samples;
        memset(r->iq, 0, 2 * r->samples * sizeof *r->iq);
        if (r->spoil->carrier_off_hz > 0.0 && !r->spoil->begins_late)
            add_carrier(r, done);
        if (!r->spoil->begins_late)
            spoil_in_receiver(r);
        noise_pool_bytes(pool, &r->rng, STEPS, r->iq, some, r->bytes);
        ok = wh_receiver_push(receiver, r->bytes, some) == WH_OK;
    }
    return ok;
}

static bool push_all(run *r, wh_receiver *receiver, const noise_pool *pool)
{
    const size_t lead = (size_t)(LEAD_S * RATE_HZ);
    bool ok = push_lead(r, receiver, pool, lead);
    for (size_t i = 0; ok && i < r->result->frames; i++) {
        ok = make_place(r, &r->places[i], lead + (uint64_t)i * r->samples);
        noise_pool_bytes(pool, &r->rng, STEPS, r->iq, r->samples, r->bytes);
        ok = ok && wh_receiver_push(receiver, r->bytes, r->samples) == WH_OK;
    }
    return ok;
}

static bool receive(run *r, const wh_descriptor_set *set, const noise_pool *pool)
{
    const wh_receiver_sink sink = {.context = r, .reading = hear};
    const wh_stream stream = {.format = WH_IQ_CU8, .sample_rate_hz = RATE_HZ, .name = "air"};
    wh_receiver_config config;
    wh_receiver_config_defaults(&config);
    config.report_minimum = 0.0;
    wh_receiver *receiver = NULL;
    const bool ok = wh_receiver_create(&config, set, &sink, &receiver, NULL) == WH_OK &&
                    wh_receiver_begin(receiver, &stream, NULL) == WH_OK && push_all(r, receiver, pool) &&
                    wh_receiver_finish(receiver) == WH_OK;
    wh_receiver_destroy(&receiver);
    return ok;
}

static bool has_copy_alone(const place *p)
{
    for (unsigned i = 0; i < p->wanted_at.count; i++) {
        bool alone = true;
        for (unsigned j = 0; j < p->other_at.count; j++)
            alone &= p->wanted_at.to_s[i] <= p->other_at.from_s[j] || p->other_at.to_s[j] <= p->wanted_at.from_s[i];
        if (alone)
            return true;
    }
    return false;
}

bool modem_spoilt_measure(const wh_descriptor_set *set, const wh_descriptor *descriptor, const modem_spoil *spoil,
                          const noise_pool *pool, double eb_db, size_t frames, uint64_t seed, modem_spoilt *result)
{
    run r = {.descriptor = descriptor, .spoil = spoil, .eb_db = eb_db, .result = result};
    r.place_s = spoil->copies > 1 ? GROUP_S : SINGLE_S;
    r.samples = (size_t)llround(r.place_s * RATE_HZ);
    const wh_frame_bits plain = {.count = descriptor->frame.bits_min};
    const double on_db = eb_db - 10.0 * log10(modem_frame_on_chips(descriptor, &plain));
    r.steady = wh_snr_amplitude(on_db + spoil->carrier_db, descriptor->radio.chip_rate_hz, NOISE, RATE_HZ);
    r.iq = malloc(2 * r.samples * sizeof *r.iq);
    r.layer = malloc(2 * r.samples * sizeof *r.layer);
    r.bytes = malloc(2 * r.samples);
    r.places = calloc(frames, sizeof *r.places);
    wh_rng_seed(&r.rng, seed);
    *result = (modem_spoilt){.frames = frames};
    const bool ok = r.iq && r.layer && r.bytes && r.places && receive(&r, set, pool);
    for (size_t i = 0; ok && i < frames; i++) {
        result->believed += r.places[i].wanted_heard;
        result->alone += has_copy_alone(&r.places[i]);
        result->other_believed += r.places[i].other_heard;
        result->both_believed += r.places[i].wanted_heard && r.places[i].other_heard;
    }
    free(r.places);
    free(r.bytes);
    free(r.layer);
    free(r.iq);
    return ok;
}
