/* The roster: the fleet's units, what axles they have, and which sensor is on record at which wheel. */
#ifndef WHEELHARK_ROSTER_H
#define WHEELHARK_ROSTER_H

#include "wheelhark/position.h"
#include "wheelhark/reading.h"
#include "wheelhark/status.h"
#include "wheelhark/units.h"

#include <stddef.h>

#define WH_UNIT_NAME_SIZE 48 /* bytes of UTF-8 with the final NUL */
#define WH_SENSOR_SIZE    72 /* as in wh_reading.sensor */
#define WH_NOTE_SIZE      96
#define WH_WHEELS_MAX     (4 * WH_AXLES_MAX) /* of one unit */

typedef enum wh_unit_kind { WH_TRACTOR, WH_TRAILER, WH_DOLLY, WH_OTHER_UNIT, WH_UNIT_KIND_COUNT } wh_unit_kind;

/* What is on record for one wheel position. */
typedef struct wh_wheel {
    wh_position position;
    char sensor
        [WH_SENSOR_SIZE]; /* upper-case hex as the receiver writes it, or a nickname "~..."; empty: none on record */
    char descriptor[WH_NAME_MAX]; /* kind of sensor, when known; else empty */
    wh_gauge target;              /* cold pressure to set; 0 kPa: not on record */
    wh_gauge sidewall_max;        /* maximum pressure marked on the sidewall; 0 kPa: not on record */
    char load_note[WH_NOTE_SIZE]; /* e.g. "load range G"; free text */
} wh_wheel;

/* One unit. Its wheels stand in the order of a walk round it: left side from the front to the back, right side from the
 * back to the front; on a dual side the outer wheel first. */
typedef struct wh_unit {
    char name[WH_UNIT_NAME_SIZE]; /* the fleet's own number; unique in a roster */
    wh_unit_kind kind;
    unsigned axle_count;     /* 1..WH_AXLES_MAX */
    bool dual[WH_AXLES_MAX]; /* two wheels a side? by axle from the front */
    unsigned first_axle;     /* what people call the front axle: 1, or e.g. 4 where a trailer goes on counting
                                       from its tractor. Positions here always count from 1 */
    double carrier_hz;       /* where its sensors send, e.g. 433.92e6; 0: not on record */
    unsigned wheel_count;    /* 2 a single axle, 4 a dual */
    wh_wheel wheels[WH_WHEELS_MAX];
    char note[WH_NOTE_SIZE];
} wh_unit;

typedef struct wh_roster wh_roster; /* an ordered collection of units, unique by name */

/* A unit without wheels' data: name, kind and axles set, wheels made and put in order. WH_ERR_ARGUMENT with a reason when
 * the name is empty or too long, or there are no axles or too many. */
wh_status wh_unit_make(wh_unit *unit, const char *name, wh_unit_kind kind, unsigned axle_count, const bool *dual,
                       wh_error *error);
/* The wheel at a position; NULL when the unit has none there. */
wh_wheel *wh_unit_wheel(wh_unit *unit, wh_position position);
const wh_wheel *wh_unit_wheel_const(const wh_unit *unit, wh_position position);
/* "tractor", "trailer", "dolly", "other". */
const char *wh_unit_kind_name(wh_unit_kind kind);
bool wh_unit_kind_parse(const char *text, wh_unit_kind *kind);

/* Empty; the caller destroys it. NULL when memory is out. */
wh_roster *wh_roster_create(void);
void wh_roster_destroy(wh_roster **roster);
/* Add a copy of a unit, or replace the one of the same name. */
wh_status wh_roster_put(wh_roster *roster, const wh_unit *unit, wh_error *error);
/* WH_ERR_NOT_FOUND when there is none. */
wh_status wh_roster_remove(wh_roster *roster, const char *name);
size_t wh_roster_count(const wh_roster *roster);
/* In order of name (bytes); owned by the roster, valid until it changes. */
const wh_unit *wh_roster_at(const wh_roster *roster, size_t index);
const wh_unit *wh_roster_find(const wh_roster *roster, const char *name);

/* Where a sensor is on record. */
typedef struct wh_roster_place {
    const wh_unit *unit;
    const wh_wheel *wheel;
} wh_roster_place;
/* All places a sensor is on record at (a mistake in the roster can give more than one), up to `capacity`; returns how
 * many there are. */
size_t wh_roster_places(const wh_roster *roster, const char *sensor, wh_roster_place *places, size_t capacity);

#endif
