/* The parts of 'wheelhark roster'. */
#ifndef WH_ROSTER_ACTIONS_H
#define WH_ROSTER_ACTIONS_H

#include "command.h"
#include "sensor_id.h"
#include "thresholds.h"
#include "wheelhark/roster.h"

typedef struct wh_roster_options {
    const char *store; /* file, or NULL: the user's own */
    const char *descriptors;
    bool json, codes, replace, unconfirmed;
    wh_pressure_unit unit;
    wh_thresholds thresholds;
    wh_id_base id_base;
    unsigned id_digits; /* 0: standard */
    /* What add and set put on record; NULL: leave as it is. */
    const char *layout, *kind, *sensor, *descriptor, *target, *sidewall_max, *load_note, *first_axle, *carrier, *note;
} wh_roster_options;

/* Each does one thing and returns an exit status, after telling on stderr what went wrong. */
int wh_roster_import(const wh_roster_options *options, const char *path);
int wh_roster_check(const wh_roster_options *options, const char *path);
int wh_roster_export(const wh_roster_options *options, const char *path); /* NULL or "-": standard output */
int wh_roster_list(const wh_roster_options *options);
int wh_roster_show(const wh_roster_options *options, const char *unit);
int wh_roster_layouts(void);
int wh_roster_add(const wh_roster_options *options, wh_args *args, const char *unit);
/* `places`: "2LO", an axle's number, "all", or several of these with commas between; NULL: the unit as a whole. */
int wh_roster_set(const wh_roster_options *options, wh_args *args, const char *unit, const char *places);
/* Put on record what the latest sweep round the unit found: its change list. */
int wh_roster_accept(const wh_roster_options *options, const char *unit);
int wh_roster_drop(const wh_roster_options *options, const char *unit);

/* The roster of the store; when there is no store yet, an empty one. */
wh_status wh_roster_open(const wh_roster_options *options, wh_roster **roster, wh_error *error);
wh_status wh_roster_keep(const wh_roster_options *options, const wh_roster *roster, wh_error *error);
/* WH_ERR_NOT_FOUND with the nearest name. */
wh_status wh_roster_unit_named(const wh_roster *roster, const char *name, const wh_unit **unit, wh_error *error);
/* Hex digits of the IDs of a kind of sensor; `context` is a wh_descriptor_set. 0: no such descriptor. */
unsigned wh_roster_digits_of(void *context, const char *descriptor);

#endif
