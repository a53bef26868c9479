/* A walk as documents for pages: /board, the walk and its unit; /yard, all units at a glance; and commands back. */
#ifndef WH_WEB_BOARD_H
#define WH_WEB_BOARD_H

#include "sweep_walk.h"
#include "web_server.h"
#include "yard_case.h"

/* The document /board. */
void wh_web_board_put(wh_text *text, wh_sweep_walk *walk);
/* One unit as it was swept last. */
void wh_web_unit_put(wh_text *text, const wh_yard_case *yard_case, const wh_case_options *options);
/* The document /yard. WH_OK, or why the store could not be read. */
wh_status wh_web_yard_put(wh_text *text, wh_store *store, const wh_case_options *options, wh_error *error);

/* What a page asked for. */
typedef enum wh_web_action {
    WH_WEB_KEY,     /* a key of the walk */
    WH_WEB_STAND,   /* go to a wheel by name */
    WH_WEB_BIND,    /* this sensor is at the wheel he stands at */
    WH_WEB_ACCEPT,  /* the most likely one is */
    WH_WEB_MEASURE, /* other units of measure */
    WH_WEB_PLAY,    /* a recording: go on, up to a time or without end */
    WH_WEB_PAUSE,   /* a recording: stop here */
} wh_web_action;

typedef struct wh_web_request {
    wh_web_action action;
    wh_walk_key key;
    char unit[WH_UNIT_NAME_SIZE];
    wh_position position;
    char sensor[WH_SENSOR_SIZE];
    wh_pressure_unit pressure;
    wh_temperature_unit temperature;
    double until_s; /* PLAY: from the start of the first recording; infinite: to its end */
} wh_web_request;

/* Read one command (JSON). WH_ERR_DATA with a reason. */
wh_status wh_web_request_read(const char *text, size_t length, wh_web_request *request, wh_error *error);

#endif
