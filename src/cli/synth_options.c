#include "synth_options.h"

#include "decimal.h"
#include "run_options.h"
#include "yard_store.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    OPT_SET = 1,
    OPT_AND,
    OPT_COPIES,
    OPT_GAP,
    OPT_AT,
    OPT_BITS,
    OPT_SNR,
    OPT_CARRIER,
    OPT_OFFSET,
    OPT_DRIFT,
    OPT_RATE_ERROR,
    OPT_DEVIATION_ERROR,
    OPT_EDGE,
    OPT_OUT,
    OPT_SAMPLE_RATE,
    OPT_FORMAT,
    OPT_CENTRE,
    OPT_DURATION,
    OPT_NOISE,
    OPT_NO_NOISE,
    OPT_STEADY,
    OPT_STEADY_LEVEL,
    OPT_DC,
    OPT_SEED,
    OPT_TIME,
    OPT_DESCRIPTORS,
    OPT_WALK,
    OPT_STORE
};

const wh_option wh_synth_option_table[] = {
    {OPT_SET, 's', "set", "FIELD=VALUE",
     "Value of a field: sensor=0A1B2C3D, pressure=\"724 kPa gauge\", temperature=\"18 degC\",\n"
     "pressure=fault, \"battery low\"=yes, or any field=\"raw FF\"; repeat for more fields.\n"
     "Fields left out are as in the descriptor's first example."},
    {OPT_COPIES, 0, "copies", "COUNT", "Frames of the activation. Default: the descriptor's."},
    {OPT_GAP, 0, "gap", "TIME", "Silence between copies, e.g. \"60 ms\". Default: drawn from the descriptor's range."},
    {OPT_AT, 0, "at", "TIME", "Start of the first copy. Default 50 ms after the sensor before."},
    {OPT_BITS, 0, "bits", "COUNT", "Payload length, for frames of varying length."},
    {OPT_SNR, 0, "snr", "DB", "Signal power over noise power in a band as wide as the chip rate. Default 20 dB."},
    {OPT_CARRIER, 0, "carrier", "FREQUENCY", "Nominal carrier. Default: the descriptor's first."},
    {OPT_OFFSET, 0, "offset", "FREQUENCY", "Carrier error, e.g. \"-35 kHz\"."},
    {OPT_DRIFT, 0, "drift", "FREQUENCY", "How far the carrier moves during each copy."},
    {OPT_RATE_ERROR, 0, "rate-error", "PERCENT", "How much faster the chips are than nominal."},
    {OPT_DEVIATION_ERROR, 0, "deviation-error", "PERCENT", "How much further apart the FSK tones are than nominal."},
    {OPT_EDGE, 0, "edge", "TIME", "Duration of each transition. Default a tenth of a chip."},
    {OPT_AND, 0, "and", "DESCRIPTOR", "A further sensor; the options above that follow are its own."},
    {OPT_OUT, 'o', "out", "NAME", "Write NAME.sigmf-data and NAME.sigmf-meta."},
    {OPT_SAMPLE_RATE, 0, "sample-rate", "RATE", "Default 250 kS/s."},
    {OPT_FORMAT, 0, "format", "FORMAT", "cu8 (default), ci8, ci16 or cf32."},
    {OPT_CENTRE, 0, "centre", "FREQUENCY",
     "Frequency the receiver is tuned to. Default: an eighth of the sample rate below\nthe first carrier."},
    {OPT_DURATION, 0, "duration", "TIME", "Length of the recording. Default: 50 ms after the last burst."},
    {OPT_NOISE, 0, "noise", "DB",
     "White noise over the whole recording, dB below full scale. Default -30 dB; with\n--walk -45 dB."},
    {OPT_NO_NOISE, 0, "no-noise", NULL, "Leave the noise out; levels stay as if it were there."},
    {OPT_STEADY, 0, "steady", "FREQUENCY", "Add an unmodulated carrier this far from the centre."},
    {OPT_STEADY_LEVEL, 0, "steady-level", "DB", "Its level below full scale. Default -20 dB."},
    {OPT_DC, 0, "dc", "PERCENT", "Constant added to I and Q, in percent of full scale."},
    {OPT_SEED, 0, "seed", "NUMBER", "Of noise, gaps and phases; the same seed gives the same bytes. Default 1."},
    {OPT_TIME, 0, "time", "TIME", "When the recording starts, e.g. 2026-03-02T07:15:04Z."},
    {OPT_WALK, 0, "walk", "SCENARIO",
     "Instead of single sensors, a technician's walk round the roster's units: what all\n"
     "sensors of a table send, and how strongly. See below."},
    WH_STORE_OPTION_ROW(OPT_STORE),
    {OPT_DESCRIPTORS, 'd', "descriptors", "PLACE", "A descriptor file, or a folder of them, to search first."},
    {0},
};

static int start_sensor(wh_args *args, wh_synth_options *options, const char *descriptor)
{
    if (options->sensor_count >= WH_SYNTH_SENSORS_MAX)
        return wh_args_complain(args, "--and: no more than %d sensors in one recording", WH_SYNTH_SENSORS_MAX);
    options->sensors[options->sensor_count++] = (wh_synth_sensor){
        .descriptor = descriptor, .snr_db = 20.0, .at_s = NAN, .gap_s = NAN, .carrier_hz = NAN, .edge_s = NAN};
    return 0;
}

/* FIELD=VALUE; the text before '=' is copied because it needs an end of its own. */
static int take_set(wh_args *args, wh_synth_sensor *sensor, const char *text)
{
    const char *equals = strchr(text, '=');
    if (!equals || equals == text)
        return wh_args_complain(args, "--set: '%s' is not FIELD=VALUE", text);
    if (sensor->value_count >= WH_SYNTH_VALUES_MAX)
        return wh_args_complain(args, "--set: no more than %d fields", WH_SYNTH_VALUES_MAX);
    char *name = strdup(text);
    if (!name)
        return WH_EXIT_SOFTWARE;
    name[equals - text] = '\0';
    sensor->values[sensor->value_count++] = (wh_synth_value){name, name + (equals - text) + 1};
    return 0;
}

static int take_count(wh_args *args, const char *option, const char *value, double most, unsigned *out)
{
    double number;
    const int status = wh_take_number(args, option, value, NULL, 1.0, most, &number);
    if (status != 0)
        return status;
    if (number != floor(number))
        return wh_args_complain(args, "%s: '%s' is not a whole number", option, value);
    *out = (unsigned)number;
    return 0;
}

static int take_percent(wh_args *args, const char *option, const char *value, double most, double *fraction)
{
    const int status = wh_take_number(args, option, value, "%", -most, most, fraction);
    *fraction /= 100.0;
    return status;
}

/* Days from 1970-01-01 to a date of the Gregorian calendar: years begin in March, so that the leap day comes last. */
static int64_t days_from_1970(int year, int month, int day)
{
    const int64_t y = month > 2 ? year : year - 1;
    const int64_t m = (month + 9) % 12;
    return 365 * y + y / 4 - y / 100 + y / 400 + (m * 306 + 5) / 10 + day - 1 - 719468;
}

static int take_time(wh_args *args, const char *value, wh_recording_spec *spec)
{
    int year, month, day, hour, minute, used = 0;
    double seconds;
    const bool date = sscanf(value, "%4d-%2d-%2dT%2d:%2d:%n", &year, &month, &day, &hour, &minute, &used) == 5 && used;
    const size_t length = date ? wh_decimal_read(value + used, &seconds) : 0;
    if (length == 0 || strcmp(value + used + length, "Z") != 0 || year < 1970 || month < 1 || month > 12 || day < 1 ||
        day > 31 || hour < 0 || hour > 23 || minute < 0 || minute > 59 || !(seconds >= 0.0 && seconds < 60.0))
        return wh_args_complain(args, "--time: '%s' is no time like 2026-03-02T07:15:04Z", value);
    const int64_t minutes = (days_from_1970(year, month, day) * 24 + hour) * 60 + minute;
    spec->has_time = true;
    spec->start_utc_us = minutes * 60000000 + (int64_t)llround(seconds * 1e6);
    return 0;
}

static int take_seed(wh_args *args, const char *value, uint64_t *seed)
{
    uint64_t sum = 0;
    for (const char *c = value; *c; c++) {
        if (*c < '0' || *c > '9' || sum > (UINT64_MAX - 9) / 10)
            return wh_args_complain(args, "--seed: '%s' is not a whole number below 1.8e19", value);
        sum = sum * 10 + (uint64_t)(*c - '0');
    }
    *seed = sum;
    return *value ? 0 : wh_args_complain(args, "--seed: a number is missing");
}

/* Options of one sensor; -1 when the id is none of them. */
static int take_sensor(wh_args *args, wh_synth_sensor *sensor, int id, const char *value)
{
    switch (id) {
    case OPT_SET: return take_set(args, sensor, value);
    case OPT_COPIES: return take_count(args, "--copies", value, 1000.0, &sensor->copies);
    case OPT_BITS: return take_count(args, "--bits", value, WH_FRAME_BITS_MAX, &sensor->bits);
    case OPT_GAP: return wh_take_number(args, "--gap", value, "s", 0.0, 3600.0, &sensor->gap_s);
    case OPT_AT: return wh_take_number(args, "--at", value, "s", 0.0, 86400.0, &sensor->at_s);
    case OPT_SNR: return wh_take_number(args, "--snr", value, "dB", -40.0, 100.0, &sensor->snr_db);
    case OPT_CARRIER: return wh_take_number(args, "--carrier", value, "Hz", 1e6, 6e9, &sensor->carrier_hz);
    case OPT_OFFSET: return wh_take_number(args, "--offset", value, "Hz", -1.6e6, 1.6e6, &sensor->offset_hz);
    case OPT_DRIFT: return wh_take_number(args, "--drift", value, "Hz", -1e6, 1e6, &sensor->drift_hz);
    case OPT_RATE_ERROR: return take_percent(args, "--rate-error", value, 50.0, &sensor->rate_error);
    case OPT_DEVIATION_ERROR: return take_percent(args, "--deviation-error", value, 90.0, &sensor->deviation_error);
    case OPT_EDGE: return wh_take_number(args, "--edge", value, "s", 0.0, 0.01, &sensor->edge_s);
    default: return -1;
    }
}

static int take_recording(wh_args *args, wh_synth_options *options, int id, const char *value)
{
    wh_recording_spec *spec = &options->recording;
    switch (id) {
    case OPT_AND: return start_sensor(args, options, value);
    case OPT_OUT: options->out = value; return 0;
    case OPT_DESCRIPTORS: options->descriptors = value; return 0;
    case OPT_WALK: options->walk = value; return 0;
    case OPT_STORE: options->store = value; return 0;
    case OPT_SAMPLE_RATE:
        return wh_take_number(args, "--sample-rate", value, "S/s", WH_SAMPLE_RATE_MIN_HZ, WH_SAMPLE_RATE_MAX_HZ,
                              &spec->sample_rate_hz);
    case OPT_FORMAT:
        return wh_iq_format_parse(value, &spec->format)
                   ? 0
                   : wh_args_complain(args, "--format: '%s' is not cu8, ci8, ci16 or cf32", value);
    case OPT_CENTRE: return wh_take_number(args, "--centre", value, "Hz", 1e6, 6e9, &spec->centre_hz);
    case OPT_DURATION: return wh_take_number(args, "--duration", value, "s", 1e-3, 86400.0, &options->duration_s);
    case OPT_NOISE: return wh_take_number(args, "--noise", value, "dB", -120.0, 0.0, &options->noise_dbfs);
    case OPT_NO_NOISE: options->no_noise = true; return 0;
    case OPT_STEADY: return wh_take_number(args, "--steady", value, "Hz", -1.6e6, 1.6e6, &options->steady_hz);
    case OPT_STEADY_LEVEL:
        return wh_take_number(args, "--steady-level", value, "dB", -120.0, 0.0, &options->steady_dbfs);
    case OPT_DC: return take_percent(args, "--dc", value, 100.0, &options->dc);
    case OPT_SEED: return take_seed(args, value, &spec->seed);
    default: return take_time(args, value, spec);
    }
}

int wh_synth_options_read(wh_args *args, wh_synth_options *options)
{
    *options = (wh_synth_options){.duration_s = NAN,
                                  .noise_dbfs = NAN,
                                  .steady_hz = NAN,
                                  .steady_dbfs = -20.0,
                                  .recording = {.format = WH_IQ_CU8, .sample_rate_hz = 250e3, .seed = 1},
                                  .sensors = calloc(WH_SYNTH_SENSORS_MAX, sizeof(wh_synth_sensor))};
    if (!options->sensors)
        return WH_EXIT_SOFTWARE;
    start_sensor(args, options, NULL);
    const char *value;
    int id;
    while ((id = wh_args_next(args, &value)) > 0) {
        int status = take_sensor(args, &options->sensors[options->sensor_count - 1], id, value);
        if (status < 0)
            status = take_recording(args, options, id, value);
        if (status != 0)
            return status;
    }
    if (id < 0)
        return wh_args_status(args);
    if (isnan(options->noise_dbfs))
        options->noise_dbfs = options->walk ? -45.0 : -30.0;
    if (options->walk && (wh_args_operand_count(args) > 0 || options->sensor_count > 1))
        return wh_args_complain(args, "--walk: the scenario names all sensors");
    if (!options->walk && wh_args_operand_count(args) != 1)
        return wh_args_complain(args, "name one descriptor; further sensors come with --and");
    options->sensors[0].descriptor = options->walk ? NULL : wh_args_operand(args, 0);
    return options->out ? 0 : wh_args_complain(args, "--out is missing: where to write?");
}
