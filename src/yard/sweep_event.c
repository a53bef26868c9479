/* What a sweep's events are called, and what the yard keeps of a reading. */
#include "wheelhark/sweep.h"

#include <stdio.h>
#include <string.h>

static const char *const kind_names[WH_EVENT_KIND_COUNT] = {
    [WH_EVENT_LISTEN] = "listen",         [WH_EVENT_GAP] = "gap",     [WH_EVENT_STAND] = "stand",
    [WH_EVENT_LEAVE] = "leave",           [WH_EVENT_WOKEN] = "woken", [WH_EVENT_HEARD] = "heard",
    [WH_EVENT_UNKNOWN] = "unknown-burst", [WH_EVENT_BIND] = "bind",   [WH_EVENT_UNBIND] = "unbind",
    [WH_EVENT_REPAIRED] = "repaired",     [WH_EVENT_END] = "end",
};

const char *wh_event_kind_name(wh_event_kind kind)
{
    return (unsigned)kind < WH_EVENT_KIND_COUNT ? kind_names[kind] : "unknown";
}

bool wh_event_kind_parse(const char *text, wh_event_kind *kind)
{
    for (int i = 0; i < WH_EVENT_KIND_COUNT; i++) {
        if (strcmp(text, kind_names[i]) == 0) {
            *kind = (wh_event_kind)i;
            return true;
        }
    }
    return false;
}

static void take_flags(wh_heard *heard, const wh_reading *reading)
{
    for (unsigned i = 0; i < reading->flag_count && i < WH_READING_FLAGS_MAX; i++) {
        const wh_flag *flag = &reading->flags[i];
        if (strcmp(flag->name, "battery low") == 0)
            heard->battery_low = flag->set ? 1 : 0;
        if (flag->set && strstr(flag->name, "fault"))
            heard->sensor_fault = 1;
    }
}

void wh_heard_of(wh_heard *heard, const wh_reading *reading)
{
    *heard = (wh_heard){
        .nickname = reading->nickname,
        .pressure_state = reading->pressure_state,
        .pressure = reading->pressure,
        .from_absolute = reading->from_absolute,
        .absolute = reading->absolute,
        .temperature_state = reading->temperature_state,
        .temperature_c = reading->temperature_c,
        .battery_low = -1,
        .confidence = reading->confidence,
        .level_dbfs = reading->level_dbfs,
        .snr_db = reading->snr_db,
        .carrier_hz = reading->carrier_hz,
        .copies = reading->copies,
    };
    snprintf(heard->sensor, sizeof heard->sensor, "%s", reading->sensor);
    snprintf(heard->descriptor, sizeof heard->descriptor, "%s", reading->descriptor);
    if (reading->pressure_state == WH_VALUE_FAULT || reading->temperature_state == WH_VALUE_FAULT)
        heard->sensor_fault = 1;
    take_flags(heard, reading);
}
