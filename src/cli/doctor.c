#include "doctor.h"

#include "command.h"
#include "device_list.h"
#include "level_meter.h"
#include "wheelhark/descriptor.h"

#include <math.h>
#include <string.h>

/* Converter noise costs 1.25 dB of sensitivity when the signal's own noise is half a step, 0.35 dB at one step
 * (simulated for 8 bit samples): below that the gain is too low or nothing is connected. */
#define QUIET_STEPS 0.5
/* A near sensor may clip for its few milliseconds; a whole per cent of the time is a receiver out of its range. */
#define CLIPPED_SHARE 0.01
/* Longest wait for the samples asked for, as a multiple of the time they should take. */
#define PATIENCE 4

typedef struct doctor {
    const wh_doctor_options *options;
    FILE *out;
    int status; /* of the first fault; or WH_EXIT_FINDINGS */
} doctor;

static void good(const doctor *self, const char *subject, const char *text)
{
    fprintf(self->out, "good   %-12s %s\n", subject, text);
}

static void bad(const doctor *self, const char *word, const char *subject, const char *what, const char *fix)
{
    fprintf(self->out, "%-6s %-12s %s\n", word, subject, what);
    if (fix[0])
        fprintf(self->out, "       %-12s -> %s\n", "", fix);
}

static void fault(doctor *self, const char *subject, const wh_error *error)
{
    bad(self, "FAULT", subject, error->what, error->fix);
    /* What is missing here is a device, not an input; and a model without a driver is as good as none. */
    int status = wh_exit_of(error->status);
    if (error->status == WH_ERR_NOT_FOUND || error->status == WH_ERR_UNSUPPORTED)
        status = WH_EXIT_UNAVAILABLE;
    if (self->status == WH_EXIT_DONE || self->status == WH_EXIT_FINDINGS)
        self->status = status;
}

static void finding(doctor *self, const char *subject, const char *what, const char *fix)
{
    bad(self, "look", subject, what, fix);
    if (self->status == WH_EXIT_DONE)
        self->status = WH_EXIT_FINDINGS;
}

static void examine_descriptors(doctor *self)
{
    wh_descriptor_set *set = NULL;
    wh_error error;
    if (wh_cli_load_descriptors(self->options->descriptors, &set, &error) != WH_OK) {
        fault(self, "descriptors", &error);
        self->status = error.status == WH_ERR_NOT_FOUND ? WH_EXIT_CONFIG : self->status;
        return;
    }
    char text[80];
    snprintf(text, sizeof text, "%zu kinds of sensor are known", wh_descriptor_set_count(set));
    good(self, "descriptors", text);
    wh_descriptor_set_destroy(&set);
}

/* Look at every dongle, or at the chosen one; true with its serial when one can be listened to. */
static bool examine_dongles(doctor *self, char *serial, size_t room)
{
    wh_device devices[WH_DEVICES_MAX];
    const size_t count = wh_device_list(&self->options->roots, devices);
    const char *wanted = self->options->serial;
    bool usable = false, seen = false;
    for (size_t i = 0; i < count; i++) {
        const wh_device *device = &devices[i];
        char text[600];
        if (wanted && strcmp(device->serial, wanted) != 0)
            continue;
        seen = true;
        if (device->problem.status != WH_OK) {
            fault(self, "dongle", &device->problem);
            continue;
        }
        snprintf(text, sizeof text, "serial %s, %s", device->serial[0] ? device->serial : "not readable",
                 device->model[0] ? device->model : device->product);
        good(self, "dongle", text);
        if (!usable)
            snprintf(serial, room, "%s", device->serial);
        usable = true;
    }
    wh_error error;
    if (!seen) { /* says what is there instead */
        wh_device found;
        if (wh_device_find(&self->options->roots, wanted, &found, &error) != WH_OK)
            fault(self, "dongle", &error);
    }
    return usable;
}

typedef struct sample_flow {
    wh_level_meter meter;
    double rate_hz, centre_hz;
    uint64_t lost;
} sample_flow;

/* Take samples for a moment. */
static wh_status take_samples(const wh_doctor_options *options, wh_source *source, sample_flow *flow, wh_error *error)
{
    uint64_t wanted = UINT64_MAX;
    int idle_left = (int)(options->listen_s * PATIENCE * 5) + 5; /* IDLE comes five times a second */
    while (flow->meter.samples + flow->lost < wanted && idle_left > 0 && !wh_stop_asked()) {
        wh_source_event event;
        const wh_status status = wh_source_next(source, &event, error);
        if (status != WH_OK)
            return status;
        if (event.kind == WH_SOURCE_STREAM) {
            flow->rate_hz = event.stream.sample_rate_hz;
            flow->centre_hz = event.stream.centre_hz;
            wanted = (uint64_t)(options->listen_s * flow->rate_hz);
        } else if (event.kind == WH_SOURCE_SAMPLES) {
            wh_level_meter_add(&flow->meter, WH_IQ_CU8, event.samples, event.count);
        }
        flow->lost += event.kind == WH_SOURCE_GAP ? event.lost : 0;
        idle_left -= event.kind == WH_SOURCE_IDLE;
    }
    if (flow->meter.samples > 0)
        return WH_OK;
    return wh_fail(error, WH_ERR_IO, "unplug the dongle and plug it into another USB port",
                   "the dongle is open but sends no samples");
}

static void judge_flow(doctor *self, const sample_flow *flow)
{
    char text[200];
    const double seconds = (double)(flow->meter.samples + flow->lost) / flow->rate_hz;
    const double steps = wh_level_steps(&flow->meter), clipped = wh_level_clipped(&flow->meter);
    snprintf(text, sizeof text, "%llu in %.1f s on %.4f MHz, %llu lost", (unsigned long long)flow->meter.samples,
             seconds, flow->centre_hz * 1e-6, (unsigned long long)flow->lost);
    if (flow->lost > 0)
        finding(self, "samples", text, "close programs that keep the computer busy, or use another USB port");
    else
        good(self, "samples", text);
    snprintf(text, sizeof text, "noise %.1f dB below full scale (%.1f steps of the converter), %.2f %% clipped",
             -wh_level_dbfs(&flow->meter), steps, 100.0 * clipped);
    if (clipped > CLIPPED_SHARE)
        finding(self, "level", text, "a strong transmitter is near: move away from it, or listen with --gain 15");
    else if (flow->meter.largest == 0.0 || steps == 0.0)
        finding(self, "level", "every sample is the same: the dongle's tuner does not work", "try another dongle");
    else if (steps < QUIET_STEPS)
        finding(self, "level", text, "screw the antenna on; if it is, listen with a higher --gain");
    else
        good(self, "level", text);
}

static void examine_flow(doctor *self, const char *serial)
{
    const wh_doctor_options *options = self->options;
    char target[300];
    wh_source_options wanted;
    wh_source_options_defaults(&wanted);
    snprintf(target, sizeof target, "dongle%s%s", serial[0] ? "=" : "", serial);
    wanted.target = target;
    wanted.centre_hz = options->centre_hz;
    wanted.gain_db = options->gain_db;
    wh_source *source = NULL;
    wh_error error;
    sample_flow flow = {.rate_hz = 1.0};
    wh_status status = wh_dongle_open(&wanted, &options->limits, &options->roots, &source, &error);
    if (status == WH_OK)
        status = take_samples(options, source, &flow, &error);
    if (status == WH_OK)
        judge_flow(self, &flow);
    else
        fault(self, "samples", &error);
    wh_source_destroy(&source);
}

void wh_doctor_options_defaults(wh_doctor_options *options)
{
    *options = (wh_doctor_options){.centre_hz = (double)NAN,
                                   .gain_db = (double)NAN,
                                   .listen_s = 1.0,
                                   .roots = wh_system_roots_default,
                                   .limits = wh_dongle_limits_default};
}

int wh_doctor_examine(const wh_doctor_options *options, FILE *out)
{
    doctor self = {.options = options, .out = out, .status = WH_EXIT_DONE};
    char serial[256] = "";
    examine_descriptors(&self);
    if (examine_dongles(&self, serial, sizeof serial))
        examine_flow(&self, serial);
    if (self.status == WH_EXIT_DONE)
        fprintf(out, "Everything works. A sensor that stays silent may just be asleep: wake it, or turn the wheel.\n");
    return self.status;
}
