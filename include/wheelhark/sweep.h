/* A sweep: the walk round one unit or a yard, as a list of things that happened. The list is all there is: it is stored one
 * event at a time, and everything else (who is where, what is wrong, is it mended) is worked out from it, so that a program
 * that was killed goes on where it was, and several screens show the same. */
#ifndef WHEELHARK_SWEEP_H
#define WHEELHARK_SWEEP_H

#include "wheelhark/position.h"
#include "wheelhark/roster.h"

/* A reading as the yard needs it. */
typedef struct wh_heard {
    char sensor[WH_SENSOR_SIZE];
    char descriptor[WH_NAME_MAX];
    bool nickname; /* the layout is known in part only; `sensor` is a nickname, there is no pressure */
    wh_value_state pressure_state;
    wh_gauge pressure; /* valid when WH_VALUE_OK */
    bool from_absolute;
    wh_absolute absolute; /* valid when from_absolute */
    wh_value_state temperature_state;
    double temperature_c;
    signed char battery_low;  /* 1 yes, 0 no, -1 the sensor does not say */
    signed char sensor_fault; /* 1 the sensor reports a fault of its own, 0 none */
    double confidence;        /* 0..1 */
    double level_dbfs, snr_db;
    double carrier_hz;
    unsigned copies;
} wh_heard;

/* The flag "battery low" gives battery_low; a pressure or temperature in state WH_VALUE_FAULT, or a set flag whose name contains
 * "fault", gives sensor_fault. */
void wh_heard_of(wh_heard *heard, const wh_reading *reading);

typedef enum wh_event_kind {
    WH_EVENT_LISTEN, /* the receiver begins, or begins again, to hear: `text` names the source */
    WH_EVENT_GAP, /* from here on nothing is heard until the next LISTEN (unplugged, asleep, stopped); `text` says why */
    WH_EVENT_STAND,    /* the technician stands at unit, position */
    WH_EVENT_LEAVE,    /* ... and no longer does */
    WH_EVENT_WOKEN,    /* the sensor at unit, position was woken (low-frequency exciter, or pressure let out) */
    WH_EVENT_HEARD,    /* a reading: `heard` */
    WH_EVENT_UNKNOWN,  /* a burst no descriptor knows: `heard` carries level, SNR and carrier only */
    WH_EVENT_BIND,     /* the technician says: heard.sensor is at unit, position, whatever the levels say */
    WH_EVENT_UNBIND,   /* takes the BIND of unit, position back */
    WH_EVENT_REPAIRED, /* the repair of unit is done: what counts from here on is heard after this */
    WH_EVENT_END,      /* the sweep is finished */
    WH_EVENT_KIND_COUNT
} wh_event_kind;

/* "listen", "gap", "stand", ...: stable spellings for files. */
const char *wh_event_kind_name(wh_event_kind kind);
bool wh_event_kind_parse(const char *text, wh_event_kind *kind);

typedef struct wh_event {
    int64_t id;    /* increases over all sweeps of a store; 0: not stored yet */
    int64_t at_us; /* microseconds since 1970 UTC; from the start of the recording when it has no date */
    wh_event_kind kind;
    char unit[WH_UNIT_NAME_SIZE]; /* empty when the event belongs to no unit */
    wh_position position;         /* axle 0 when it belongs to no position */
    wh_heard heard;
    char text[WH_NOTE_SIZE];
} wh_event;

/* The events of one sweep in order of id; equal times are possible. */
typedef struct wh_sweep {
    int64_t id;
    bool dated; /* at_us is UTC; else it counts from the start of the first recording */
    int64_t begun_us;
    char who[WH_UNIT_NAME_SIZE]; /* technician, may be empty */
    char source[128];            /* dongle or recording */
    char receiver[WH_NOTE_SIZE]; /* gain, rate, program version: for the sheet */
    char (*units)[WH_UNIT_NAME_SIZE];
    size_t unit_count; /* the units to walk round, in order */
    wh_event *events;
    size_t event_count;
} wh_sweep;

#endif
