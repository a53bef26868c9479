/* What `wheelhark synth` was asked to make. */
#ifndef WH_SYNTH_OPTIONS_H
#define WH_SYNTH_OPTIONS_H

#include "command.h"
#include "synth_frame.h"
#include "synth_recording.h"

#define WH_SYNTH_SENSORS_MAX 64
#define WH_SYNTH_VALUES_MAX  48

/* One sensor's activation. NaN: not given. */
typedef struct wh_synth_sensor {
    const char *descriptor;
    size_t value_count;
    wh_synth_value values[WH_SYNTH_VALUES_MAX];
    unsigned bits, copies; /* 0: as the descriptor says */
    double snr_db, at_s, gap_s, carrier_hz, offset_hz, drift_hz, rate_error, deviation_error, edge_s;
} wh_synth_sensor;

typedef struct wh_synth_options {
    const char *out, *descriptors;
    const char *walk, *store; /* scenario of a walk round the roster's units, in place of sensors one by one; or NULL */
    double duration_s, noise_dbfs, steady_hz, steady_dbfs, dc; /* NaN: not given */
    bool no_noise;
    wh_recording_spec recording; /* format, sample rate, centre, seed, time */
    size_t sensor_count;         /* the first is the operand's */
    wh_synth_sensor *sensors;    /* WH_SYNTH_SENSORS_MAX of them, owned */
} wh_synth_options;

extern const wh_option wh_synth_option_table[];

/* 0, or an exit status after a complaint. Free options->sensors in either case. */
int wh_synth_options_read(wh_args *args, wh_synth_options *options);

#endif
