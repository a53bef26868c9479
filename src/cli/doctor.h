/* Why does it not hear anything? Looks at each thing a reception needs, in order, and says what to do. */
#ifndef WH_DOCTOR_H
#define WH_DOCTOR_H

#include "source.h"
#include "source_dongle.h"
#include "usb_node.h"

#include <stdio.h>

typedef struct wh_doctor_options {
    const char *descriptors; /* place given by the user, or NULL */
    const char *serial;      /* the dongle to examine; NULL: all are looked at, the first good one is listened to */
    double centre_hz;        /* NaN: the usual */
    double gain_db;          /* NaN: automatic */
    double listen_s;         /* how long to look at samples */
    wh_system_roots roots;
    wh_dongle_limits limits;
} wh_doctor_options;

void wh_doctor_options_defaults(wh_doctor_options *options);

/* One line per thing examined on `out`, with cause and fix where something is wrong. Returns the exit status: of the
 * first fault; WH_EXIT_FINDINGS when everything works but something should be looked at; else WH_EXIT_DONE. */
int wh_doctor_examine(const wh_doctor_options *options, FILE *out);

#endif
