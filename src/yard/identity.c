#include "identity.h"

#include <string.h>

#define PLACES_MAX 16 /* of one sensor on record; more are a broken roster, and the first ones tell enough */

bool wh_seat_filled(const wh_seat *seat, double sure_odds)
{
    if (!seat->sensor[0])
        return false;
    return seat->state == WH_SEAT_BOUND ||
           ((seat->state == WH_SEAT_SURE || seat->state == WH_SEAT_UNSURE) && seat->odds >= sure_odds);
}

static bool is_nickname(const char *sensor)
{
    return sensor[0] == '~';
}

static unsigned wheel_index(const wh_unit *unit, const wh_wheel *wheel)
{
    return (unsigned)(wheel - unit->wheels);
}

/* Where a sensor that is not on record at this wheel belongs. */
static wh_identity look_up(const wh_roster *roster, const wh_unit *unit, const char *sensor)
{
    wh_roster_place places[PLACES_MAX];
    size_t count = wh_roster_places(roster, sensor, places, PLACES_MAX);
    count = count < PLACES_MAX ? count : PLACES_MAX;
    for (size_t i = 0; i < count; i++) {
        if (places[i].unit == unit)
            return (wh_identity){.kind = WH_IDENTITY_MOVED, .home = wheel_index(unit, places[i].wheel)};
    }
    if (count > 0)
        return (wh_identity){
            .kind = WH_IDENTITY_OTHER_UNIT, .other_unit = places[0].unit, .other = places[0].wheel->position};
    return (wh_identity){.kind = WH_IDENTITY_NEW};
}

static wh_identity identity_of(const wh_roster *roster, const wh_unit *unit, const wh_seat *seat, const wh_wheel *wheel,
                               double sure_odds)
{
    if (!wh_seat_filled(seat, sure_odds)) {
        const bool candidates = seat->state == WH_SEAT_UNSURE && seat->sensor[0];
        return (wh_identity){.kind = candidates ? WH_IDENTITY_UNSURE : WH_IDENTITY_EMPTY};
    }
    if (strcmp(seat->sensor, wheel->sensor) == 0)
        return (wh_identity){.kind = WH_IDENTITY_AS_RECORDED};
    const wh_identity found = look_up(roster, unit, seat->sensor);
    if (found.kind == WH_IDENTITY_NEW && is_nickname(seat->sensor) && !is_nickname(wheel->sensor))
        return (wh_identity){.kind = WH_IDENTITY_NICKNAME};
    return found;
}

/* Sensors that went from wheel to wheel: go from each wheel to where its sensor is on record; whoever comes back to where he
 * began walked a circle. Two wheels are crossed. */
static void close_circles(unsigned count, wh_identity *identities)
{
    for (unsigned i = 0; i < count; i++) {
        unsigned length = 0, at = i;
        while (identities[at].kind >= WH_IDENTITY_MOVED && identities[at].kind <= WH_IDENTITY_CIRCLE &&
               length < count) {
            at = identities[at].home;
            length++;
            if (at == i)
                break;
        }
        if (length >= 2 && at == i) {
            identities[i].kind = length == 2 ? WH_IDENTITY_CROSSED : WH_IDENTITY_CIRCLE;
            identities[i].circle = length;
        }
    }
}

void wh_identify(const wh_roster *roster, const wh_unit *unit, const wh_attribution *attribution, double sure_odds,
                 wh_identity *identities)
{
    for (unsigned i = 0; i < unit->wheel_count; i++) {
        identities[i] = (wh_identity){.kind = WH_IDENTITY_EMPTY};
        if (i < attribution->seat_count)
            identities[i] = identity_of(roster, unit, &attribution->seats[i], &unit->wheels[i], sure_odds);
    }
    close_circles(unit->wheel_count, identities);
}
