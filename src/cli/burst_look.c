#include "burst_look.h"

#include "burst_picture.h"
#include "burst_tap.h"
#include "frame_map.h"
#include "html_text.h"
#include "spectrogram.h"
#include "wheelhark/receiver.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define SAMPLES_MOST 262144 /* of a picture: longer ones are carriers, and look alike all along */
#define CARRIER_HZ   30e3   /* two looks at one burst differ by less */

typedef struct look {
    const wh_burst *burst;
    double apart_s; /* of the outline that is nearest so far */
    double first_s;
    wh_baseband baseband;
    float complex *samples; /* the baseband's, owned */
    unsigned frames;        /* different ones that may be the burst's */
    wh_reading reading;
} look;

/* The noise is learnt anew, so that the outline may begin a little earlier or later than it did. */
static void on_outline(void *context, const wh_burst_job *job, const wh_outline *outline)
{
    look *l = context;
    const double apart_s = fabs(job->burst.offset_s - l->burst->offset_s);
    (void)outline;
    if (fabs(job->burst.carrier_hz - l->burst->carrier_hz) > CARRIER_HZ + l->burst->width_hz / 2.0 ||
        apart_s > l->burst->duration_s || apart_s >= l->apart_s)
        return;
    const size_t count = job->count < SAMPLES_MOST ? job->count : SAMPLES_MOST;
    float complex *samples = malloc((count + 1) * sizeof *samples);
    if (!samples)
        return;
    memcpy(samples, job->samples, count * sizeof *samples);
    free(l->samples);
    l->samples = samples;
    l->apart_s = apart_s;
    l->first_s = job->first_s;
    l->baseband =
        (wh_baseband){samples, count, job->rate_hz, job->noise_density, job->half_width_hz, job->band_centre_hz};
}

/* Copies before it may be part of the cut; the frame is the burst's when no other could be. */
static void on_reading(void *context, const wh_reading *reading)
{
    look *l = context;
    const wh_burst *burst = l->burst;
    if (burst->reason != WH_REASON_DECODED || strcmp(reading->descriptor, burst->descriptor) != 0 ||
        reading->offset_s > burst->offset_s + burst->duration_s ||
        fabs(reading->carrier_hz - burst->carrier_hz) > CARRIER_HZ + burst->width_hz / 2.0)
        return;
    l->reading = *reading;
    l->frames++;
}

static wh_status receive(look *l, const wh_burst_cut *cut, const wh_descriptor_set *descriptors, wh_error *error)
{
    const wh_receiver_sink sink = {.context = l, .reading = on_reading};
    const wh_burst_tap tap = {.take = on_outline, .context = l};
    wh_receiver_config config;
    wh_receiver *receiver;
    wh_receiver_config_defaults(&config);
    wh_status status = wh_receiver_create(&config, descriptors, &sink, &receiver, error);
    if (status != WH_OK)
        return status;
    wh_receiver_set_tap(receiver, &tap);
    status = wh_receiver_begin(receiver, &cut->stream, error);
    if (status == WH_OK &&
        (wh_receiver_push(receiver, cut->samples, cut->count) != WH_OK || wh_receiver_finish(receiver) != WH_OK))
        status = wh_fail(error, WH_ERR_MEMORY, "close other programs", "out of memory");
    wh_receiver_destroy(&receiver);
    return status;
}

static wh_status put_picture(const look *l, const wh_burst_cut *cut, const wh_descriptor *descriptor, wh_text *html,
                             wh_error *error)
{
    char title[80], letters[WH_FRAME_BITS_MAX + 1];
    const double rate = cut->stream.sample_rate_hz;
    snprintf(title, sizeof title, "Burst %llu", (unsigned long long)l->burst->number);
    wh_burst_view view = {.title = title,
                          .baseband = l->baseband,
                          .first_sample = (uint64_t)llround(fmax(0.0, (l->first_s - cut->stream.start_s) * rate)),
                          .samples_per = rate / l->baseband.rate_hz,
                          .radio = descriptor ? &descriptor->radio : NULL};
    if (descriptor && l->frames == 1) {
        wh_frame_map_letters(letters, descriptor);
        view.bits = l->reading.frame;
        view.bit_count = l->reading.frame_bits;
        view.bit_letters = letters;
    }
    wh_text_add(html, "<figure>\n");
    const wh_status status = wh_burst_picture(&view, html, error);
    wh_text_add(html, "</figure>\n");
    if (status == WH_OK && view.bits) {
        wh_text map = {0};
        wh_frame_map_text(&map, descriptor);
        wh_text_add(html, "<pre tabindex='0'>");
        for (char *line = map.data, *end; line && *line; line = end) {
            end = line + strcspn(line, "\n");
            const bool more = *end == '\n';
            *end = '\0';
            wh_html_add(html, line);
            wh_text_add(html, "\n");
            end += more;
        }
        wh_text_add(html, "</pre>\n");
        html->failed |= map.failed;
        wh_text_free(&map);
    }
    return status;
}

static void put_spectrogram(const wh_burst_cut *cut, wh_text *html)
{
    const wh_burst *burst = &cut->burst;
    const double middle = burst->carrier_hz - cut->stream.centre_hz;
    const wh_spectrogram_mark mark = {cut->start, cut->start + cut->length, middle - burst->width_hz / 2,
                                      middle + burst->width_hz / 2, (size_t)burst->number};
    wh_spectrogram *spectrogram = wh_spectrogram_create();
    html->failed |= !spectrogram;
    if (!spectrogram)
        return;
    wh_spectrogram_push(spectrogram, cut->stream.format, cut->samples, cut->count);
    wh_text_add(html, "<figure>\n");
    wh_spectrogram_svg(spectrogram, "Before, during and after it", cut->stream.sample_rate_hz, &mark, 1, html);
    wh_text_add(html, "</figure>\n");
    wh_spectrogram_destroy(&spectrogram);
}

wh_status wh_burst_look(const wh_burst_cut *cut, const wh_descriptor_set *descriptors, wh_text *html, wh_error *error)
{
    look *l = calloc(1, sizeof *l);
    if (!l)
        return wh_fail(error, WH_ERR_MEMORY, "close other programs", "out of memory");
    l->burst = &cut->burst;
    l->apart_s = INFINITY;
    wh_status status = receive(l, cut, descriptors, error);
    const bool decoded = cut->burst.reason == WH_REASON_DECODED;
    if (status == WH_OK && l->samples)
        status = put_picture(l, cut, decoded ? wh_descriptor_set_find(descriptors, cut->burst.descriptor) : NULL, html,
                             error);
    else if (status == WH_OK)
        wh_text_add(html, "<p>By itself, without what was heard before it, the burst is too weak for a picture.</p>\n");
    put_spectrogram(cut, html);
    free(l->samples);
    free(l);
    return status;
}
