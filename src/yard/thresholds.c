#include "thresholds.h"

#include <math.h>
#include <stdint.h>
#include <string.h>
#include <strings.h>

#include "text_buffer.h"

#define AT(member) offsetof(wh_thresholds, member)

const wh_threshold_row wh_threshold_rows[] = {
    {"low share", "%", 80, 100, 90, "common practice, no source", "of the target: at or below this a tire is low", 0.01,
     AT(low_share)},
    {"far too low share", "%", 80, 100, 80, "29 CFR 1910.177(f)",
     "of the target: at or below this no air may be added on the vehicle; cannot be set lower", 0.01,
     AT(far_too_low_share)},
    {"flat share", "%", 50, 100, 50, "CVSA out-of-service criteria; 49 CFR 393.75(a)(3)",
     "of the maximum marked on the sidewall: at or below this a tire counts as flat; cannot be set lower", 0.01,
     AT(flat_share)},
    {"high share", "%", 100, 150, 110, "common practice, no source", "of the target: above this a tire is high", 0.01,
     AT(high_share)},
    {"dual difference", "kPa", 5, 200, 34.5, "TMC RP 235A (5 psi: up to 5/16 in of circumference)",
     "dual mates may differ by this much", 1, AT(dual_difference_kpa)},
    {"side difference", "kPa", 5, 300, 69, "common practice, no source", "the sides of an axle may differ by this much",
     1, AT(side_difference_kpa)},
    {"hot", "C", 40, 150, 85, "common practice, no source", "air in the tire this warm or warmer is hot", 1, AT(hot_c)},
    {"loss", "kPa/day", 0.3, 100, 1.4,
     "common practice: three times the 7 to 14 kPa (1 to 2 psi) a month that every tire loses",
     "a tire that surely loses more than this has a leak", 1, AT(loss_kpa_per_day)},
    {"reference temperature", "C", -40, 60, 20, "trade press: cold pressures are meant at 68 F (20 C)",
     "cold pressures are brought to this temperature", 1, AT(reference_c)},
    {"sure odds", "%", 60, 99.9, 90, "program setting", "a sensor is taken to be at a wheel from these odds on", 0.01,
     AT(sure_odds)},
    {"sending interval", "s", 5, 3600, 60, "FCC test reports of tire sensors: once a minute when driven",
     "how often a sensor sends that is awake by itself", 1, AT(interval_s)},
    {"heard share", "%", 5, 100, 50, "assumption: the level swings by 20 dB with the angle of the wheel",
     "how likely one sending is heard from somewhere on the walk", 0.01, AT(heard_share)},
    {"strong level", "dB", 5, 60, 20, "program setting", "a reading this far above the noise comes from nearby", 1,
     AT(strong_snr_db)},
};
const size_t wh_threshold_row_count = sizeof wh_threshold_rows / sizeof *wh_threshold_rows;

static double *place_of(wh_thresholds *thresholds, const wh_threshold_row *row)
{
    return (double *)(void *)((unsigned char *)thresholds + row->offset);
}

static double stored(const wh_thresholds *thresholds, size_t offset)
{
    double value;
    memcpy(&value, (const unsigned char *)thresholds + offset, sizeof value);
    return value;
}

void wh_thresholds_defaults(wh_thresholds *thresholds)
{
    for (size_t i = 0; i < wh_threshold_row_count; i++)
        *place_of(thresholds, &wh_threshold_rows[i]) = wh_threshold_rows[i].standard * wh_threshold_rows[i].scale;
}

static const wh_threshold_row *find_row(const char *name)
{
    for (size_t i = 0; i < wh_threshold_row_count; i++) {
        if (strcasecmp(name, wh_threshold_rows[i].name) == 0)
            return &wh_threshold_rows[i];
    }
    return NULL;
}

static wh_status unknown_name(const char *name, wh_error *error)
{
    wh_text names = {0};
    for (size_t i = 0; i < wh_threshold_row_count; i++)
        wh_text_print(&names, "%s%s", i ? ", " : "", wh_threshold_rows[i].name);
    wh_fail(error, WH_ERR_NOT_FOUND, names.data ? names.data : "", "there is no threshold '%.60s'", name);
    wh_text_free(&names);
    return WH_ERR_NOT_FOUND;
}

wh_status wh_thresholds_set(wh_thresholds *thresholds, const char *name, double value, wh_error *error)
{
    const wh_threshold_row *row = find_row(name);
    if (!row)
        return unknown_name(name, error);
    if (!(value >= row->least && value <= row->most)) {
        char given[WH_FIXED_SIZE], least[WH_FIXED_SIZE], most[WH_FIXED_SIZE];
        return wh_fail(error, WH_ERR_DATA, row->meaning, "%s: %s %s is not between %s and %s %s", row->name,
                       wh_plain(given, value, 3), row->unit, wh_plain(least, row->least, 3),
                       wh_plain(most, row->most, 3), row->unit);
    }
    *place_of(thresholds, row) = value * row->scale;
    return WH_OK;
}

double wh_threshold_value(const wh_thresholds *thresholds, const wh_threshold_row *row)
{
    return stored(thresholds, row->offset) / row->scale;
}

const char *wh_threshold_source(const wh_thresholds *thresholds, size_t offset)
{
    for (size_t i = 0; i < wh_threshold_row_count; i++) {
        const wh_threshold_row *row = &wh_threshold_rows[i];
        if (row->offset == offset)
            return fabs(stored(thresholds, offset) - row->standard * row->scale) < 1e-12 ? row->source
                                                                                         : "fleet setting";
    }
    return "";
}
