#include "catalog.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Longest pause that is bridged between on-off keyed chips: more would join separate copies. */
#define PAUSE_MOST_S 0.02

static bool same_radio(const wh_radio *a, const wh_radio *b)
{
    return a->modulation == b->modulation && a->chip_rate_hz == b->chip_rate_hz &&
           a->rate_tolerance == b->rate_tolerance && a->deviation_hz == b->deviation_hz &&
           a->deviation_tolerance == b->deviation_tolerance && a->low_tone_is_one == b->low_tone_is_one;
}

static bool same_pattern(const wh_pattern *a, const wh_pattern *b)
{
    return a->chips == b->chips && a->count == b->count && memcmp(a->value, b->value, a->count) == 0;
}

static bool same_line(const wh_line_spec *a, const wh_line_spec *b)
{
    return a->kind == b->kind && a->inverted == b->inverted && a->zero_count == b->zero_count &&
           a->one_count == b->one_count && memcmp(a->zero_chips, b->zero_chips, a->zero_count) == 0 &&
           memcmp(a->one_chips, b->one_chips, a->one_count) == 0;
}

static bool same_frame(const wh_frame_spec *a, const wh_frame_spec *b)
{
    return same_pattern(&a->preamble, &b->preamble) && a->preamble_repeats == b->preamble_repeats &&
           same_pattern(&a->sync, &b->sync) && a->bits_min == b->bits_min && a->bits_max == b->bits_max &&
           a->bits_step == b->bits_step && same_pattern(&a->end, &b->end) && a->low_bit_first == b->low_bit_first;
}

static wh_catalog_framing *framing_of(wh_catalog_radio *radio, const wh_descriptor *descriptor)
{
    for (size_t i = 0; i < radio->framing_count; i++)
        if (same_line(&radio->framings[i].framing.line, &descriptor->line) &&
            same_frame(&radio->framings[i].framing.frame, &descriptor->frame))
            return &radio->framings[i];
    wh_catalog_framing *framing = &radio->framings[radio->framing_count++];
    wh_framing_make(&descriptor->line, &descriptor->frame, &framing->framing);
    return framing;
}

static wh_catalog_radio *radio_of(wh_catalog *catalog, const wh_descriptor *descriptor)
{
    for (size_t i = 0; i < catalog->radio_count; i++)
        if (same_radio(&catalog->radios[i].radio, &descriptor->radio))
            return &catalog->radios[i];
    wh_catalog_radio *radio = &catalog->radios[catalog->radio_count++];
    radio->radio = descriptor->radio;
    return radio;
}

static bool add(wh_catalog *catalog, const wh_descriptor *descriptor, size_t room)
{
    wh_catalog_radio *radio = radio_of(catalog, descriptor);
    if (!radio->framings)
        radio->framings = calloc(room, sizeof *radio->framings);
    if (!radio->framings)
        return false;
    wh_catalog_framing *framing = framing_of(radio, descriptor);
    const wh_descriptor **more = realloc(framing->descriptors, (framing->descriptor_count + 1) * sizeof *more);
    if (!more)
        return false;
    framing->descriptors = more;
    more[framing->descriptor_count++] = descriptor;
    const wh_framing *f = &framing->framing;
    const double chip_s = 1.0 / descriptor->radio.chip_rate_hz;
    if (radio->limits.shortest_chips == 0 || f->shortest_chips < radio->limits.shortest_chips)
        radio->limits.shortest_chips = (unsigned)f->shortest_chips;
    if (f->longest_chips > radio->limits.longest_chips)
        radio->limits.longest_chips = (unsigned)f->longest_chips;
    if (f->zero_run > radio->limits.zero_run)
        radio->limits.zero_run = f->zero_run;
    if (descriptor->radio.modulation == WH_MOD_OOK)
        catalog->pause_s = fmin(PAUSE_MOST_S, fmax(catalog->pause_s, chip_s * f->zero_run));
    catalog->longest_s = fmax(catalog->longest_s, chip_s * (double)f->longest_chips);
    const double shortest = chip_s * (double)f->shortest_chips;
    catalog->shortest_s = catalog->descriptor_count == 0 ? shortest : fmin(catalog->shortest_s, shortest);
    catalog->descriptor_count++;
    return true;
}

static void number(wh_catalog *catalog)
{
    size_t next = 0;
    for (size_t r = 0; r < catalog->radio_count; r++) {
        for (size_t f = 0; f < catalog->radios[r].framing_count; f++) {
            catalog->radios[r].framings[f].first = next;
            next += catalog->radios[r].framings[f].descriptor_count;
        }
    }
}

wh_catalog *wh_catalog_create(const wh_descriptor_set *set)
{
    const size_t count = wh_descriptor_set_count(set);
    wh_catalog *catalog = calloc(1, sizeof *catalog);
    if (!catalog)
        return NULL;
    catalog->radios = calloc(count ? count : 1, sizeof *catalog->radios);
    bool ready = catalog->radios != NULL;
    for (size_t i = 0; ready && i < count; i++)
        ready = add(catalog, wh_descriptor_set_at(set, i), count);
    if (ready)
        number(catalog);
    else
        wh_catalog_destroy(&catalog);
    return catalog;
}

void wh_catalog_destroy(wh_catalog **catalog)
{
    if (!catalog || !*catalog)
        return;
    for (size_t r = 0; (*catalog)->radios && r < (*catalog)->radio_count; r++) {
        wh_catalog_radio *radio = &(*catalog)->radios[r];
        for (size_t f = 0; f < radio->framing_count; f++)
            free(radio->framings[f].descriptors);
        free(radio->framings);
    }
    free((*catalog)->radios);
    free(*catalog);
    *catalog = NULL;
}
