/* The change list: which IDs are to be entered at which wheel, old and new. Enough for any vehicle's own tool: hex and decimal,
 * and the wheel in the codes such tools use. */
#ifndef WH_CHANGES_H
#define WH_CHANGES_H

#include "identity.h"
#include "location_codes.h"
#include "sensor_id.h"

typedef struct wh_change {
    wh_position position;
    wh_identity_kind kind;           /* why: NEW, MOVED, CROSSED, CIRCLE, OTHER_UNIT; EMPTY: only to be taken off */
    char old_sensor[WH_SENSOR_SIZE]; /* on record; empty when none */
    char new_sensor[WH_SENSOR_SIZE]; /* heard here; empty when the old one is elsewhere and none is known here */
    char old_decimal[WH_ID_DECIMAL_SIZE], new_decimal[WH_ID_DECIMAL_SIZE]; /* empty beyond 64 bit */
    char other_unit[WH_UNIT_NAME_SIZE]; /* OTHER_UNIT: whose record it must be taken off ... */
    wh_position other;                  /* ... and where; MOVED, CROSSED, CIRCLE: where it is on record; else axle 0 */
    double odds;                        /* that the new sensor is here */
    bool confirm; /* it was heard once only and is on no record: hear it again before it is entered */
    bool has_j1939, has_centre8;
    uint8_t j1939, centre8; /* hold when the flags say so; see location_codes.h */
    char x12[WH_X12_SIZE];  /* empty when there is no code */
} wh_change;

typedef struct wh_changes {
    wh_change items[WH_WHEELS_MAX]; /* in the order of the walk */
    unsigned count;
} wh_changes;

/* Only sensors that are sure (see wh_identify), and no nicknames: those are no IDs. WH_ERR_NOT_FOUND when the unit is not in
 * the roster, WH_ERR_ARGUMENT when the attribution is of another. */
wh_status wh_changes_of(const wh_roster *roster, const char *unit, const wh_attribution *attribution, double sure_odds,
                        wh_changes *changes, wh_error *error);

/* Is a sensor at this seat, on no record, known from one reading only? Then it may be a passing vehicle's. */
bool wh_change_needs_confirming(const wh_identity *identity, const wh_seat *seat);

/* Put the changes of a unit on record: new sensors at their wheels, and taken off where they were, on other units too. Those
 * to be confirmed first are left out unless `unconfirmed`. *accepted counts what was put on record, *held what was left out.
 * WH_ERR_NOT_FOUND, WH_ERR_MEMORY; the roster may then be changed in part and is to be thrown away. */
wh_status wh_changes_accept(wh_roster *roster, const char *unit, const wh_changes *changes, bool unconfirmed,
                            unsigned *accepted, unsigned *held, wh_error *error);

#endif
