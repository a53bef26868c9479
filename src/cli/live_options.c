#include "live_options.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* 433.92 MHz is where sensors send in most of the world. One million samples a second cover the band's tolerance of
 * carriers and dongles several times over and cost less than half of what the dongle could deliver. */
static const double default_frequency_hz = 433.92e6, default_rate_hz = 1.024e6;

void wh_live_options_settings(wh_live_options *live, wh_source_options *source, const wh_settings *settings)
{
    live->usual_dongle = settings->dongle[0] ? settings->dongle : NULL;
    source->centre_hz = settings->frequency_hz;
    source->gain_db = settings->gain_db;
    source->ppm = settings->ppm;
}

int wh_live_options_take(wh_live_options *live, wh_source_options *source, wh_args *args, int option, const char *value)
{
    switch (option) {
    case WH_LIVE_DONGLE: live->dongle = value; return 0;
    case WH_LIVE_NETWORK: live->network = value; return 0;
    case WH_LIVE_FREQUENCY: return wh_take_number(args, "--frequency", value, "Hz", 24e6, 1.766e9, &source->centre_hz);
    case WH_LIVE_GAIN:
        source->gain_db = NAN;
        if (strcmp(value, "auto") == 0)
            return 0;
        return wh_take_number(args, "--gain", value, "dB", -10.0, 100.0, &source->gain_db);
    case WH_LIVE_PPM: return wh_take_number(args, "--ppm", value, "ppm", -1000.0, 1000.0, &source->ppm);
    default: return -1;
    }
}

int wh_live_options_choose(wh_live_options *live, wh_source_options *source, wh_args *args)
{
    if (live->dongle && live->network)
        return wh_args_complain(args, "choose one of --dongle and --network");
    if (live->network) {
        const char *scheme = strstr(live->network, "://") ? "" : "tcp://";
        snprintf(live->target, sizeof live->target, "%s%s", scheme, live->network);
    } else {
        const char *serial = live->dongle ? live->dongle : live->usual_dongle;
        snprintf(live->target, sizeof live->target, "dongle%s%s", serial ? "=" : "", serial ? serial : "");
    }
    source->target = live->target;
    if (isnan(source->centre_hz))
        source->centre_hz = default_frequency_hz;
    if (isnan(source->sample_rate_hz))
        source->sample_rate_hz = default_rate_hz;
    return 0;
}
