/* Is the sensor at each wheel the one on record there? */
#ifndef WH_IDENTITY_H
#define WH_IDENTITY_H

#include "attribution.h"

typedef enum wh_identity_kind {
    WH_IDENTITY_EMPTY,       /* no sensor was placed here */
    WH_IDENTITY_UNSURE,      /* there are candidates, but none is sure */
    WH_IDENTITY_AS_RECORDED, /* the one on record */
    WH_IDENTITY_NEW,         /* one that is on record nowhere */
    WH_IDENTITY_MOVED,       /* one on record for another wheel of this unit */
    WH_IDENTITY_CROSSED,     /* ... whose own sensor is on record here */
    WH_IDENTITY_CIRCLE,      /* three or more wheels passed their sensors on in a circle */
    WH_IDENTITY_OTHER_UNIT,  /* one on record for another unit */
    WH_IDENTITY_NICKNAME,    /* one whose ID cannot be read; what is on record cannot be compared with it */
} wh_identity_kind;

typedef struct wh_identity {
    wh_identity_kind kind;
    unsigned home;   /* MOVED, CROSSED, CIRCLE: the wheel where the sensor is on record, as index into the unit */
    unsigned circle; /* CIRCLE: wheels in it */
    const wh_unit *other_unit; /* OTHER_UNIT; owned by the roster */
    wh_position other;         /* OTHER_UNIT: where it is on record there */
} wh_identity;

/* Fill identities[unit->wheel_count]. A seat counts as filled when the technician said so or its odds are `sure_odds` or more.
 * `attribution` is of this unit: seats in the order of its wheels. */
void wh_identify(const wh_roster *roster, const wh_unit *unit, const wh_attribution *attribution, double sure_odds,
                 wh_identity *identities);
/* Is a sensor taken to be at this seat? */
bool wh_seat_filled(const wh_seat *seat, double sure_odds);

#endif
