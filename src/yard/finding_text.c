/* What findings are called: by files and by people. */
#include "wheelhark/finding.h"

static const struct words {
    const char *name, *text;
} kinds[WH_FINDING_KIND_COUNT] = {
    [WH_FINDING_NOT_HEARD] = {"not-heard", "not heard yet"},
    [WH_FINDING_NO_ANSWER] = {"no-answer", "woken, but no sensor answers here"},
    [WH_FINDING_NOT_ON_RECORD] = {"not-on-record", "the sensor here is not the one on record"},
    [WH_FINDING_OTHER_POSITION] = {"other-position", "the sensor on record for another wheel is here"},
    [WH_FINDING_OTHER_UNIT] = {"other-unit", "a sensor on record for another unit is here"},
    [WH_FINDING_CROSSED] = {"crossed", "two wheels have each other's sensor"},
    [WH_FINDING_LAYOUT_UNKNOWN] = {"layout-unknown", "a sensor sends here, layout unknown"},
    [WH_FINDING_NOT_SURE] = {"not-sure", "not sure which sensor is here"},
    [WH_FINDING_FLAT] = {"flat", "flat"},
    [WH_FINDING_FAR_TOO_LOW] = {"far-too-low", "pressure far too low"},
    [WH_FINDING_LOW] = {"low", "pressure low"},
    [WH_FINDING_HIGH] = {"high", "pressure high"},
    [WH_FINDING_DUALS_APART] = {"duals-apart", "dual mates differ in pressure"},
    [WH_FINDING_SIDES_APART] = {"sides-apart", "left and right of the axle differ in pressure"},
    [WH_FINDING_LOSING_AIR] = {"losing-air", "losing air"},
    [WH_FINDING_HOT] = {"hot", "tire hot"},
    [WH_FINDING_BATTERY_LOW] = {"battery-low", "sensor battery low"},
    [WH_FINDING_SENSOR_FAULT] = {"sensor-fault", "the sensor reports a fault of its own"},
    [WH_FINDING_SAME_ID] = {"same-id", "two sensors send the same ID"},
};

static const char *const severity_names[WH_SEVERITY_COUNT] = {
    [WH_SEVERITY_NOTE] = "note",
    [WH_SEVERITY_CHECK] = "check",
    [WH_SEVERITY_FAULT] = "fault",
};

const char *wh_finding_kind_name(wh_finding_kind kind)
{
    return (unsigned)kind < WH_FINDING_KIND_COUNT ? kinds[kind].name : "unknown";
}

const char *wh_finding_kind_text(wh_finding_kind kind)
{
    return (unsigned)kind < WH_FINDING_KIND_COUNT ? kinds[kind].text : "unknown";
}

const char *wh_severity_name(wh_severity severity)
{
    return (unsigned)severity < WH_SEVERITY_COUNT ? severity_names[severity] : "unknown";
}
