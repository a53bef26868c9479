#include "wheelhark/reading.h"

static const char *const state_names[WH_VALUE_STATE_COUNT] = {
    [WH_VALUE_ABSENT] = "absent",
    [WH_VALUE_OK] = "ok",
    [WH_VALUE_FAULT] = "fault",
    [WH_VALUE_NOT_AVAILABLE] = "not available",
    [WH_VALUE_IMPLAUSIBLE] = "implausible",
};

static const char *const stage_names[WH_STAGE_COUNT] = {
    [WH_STAGE_DETECT] = "detect", [WH_STAGE_DEMOD] = "demod",       [WH_STAGE_LINE] = "line",
    [WH_STAGE_FRAME] = "frame",   [WH_STAGE_PROTOCOL] = "protocol", [WH_STAGE_READING] = "reading",
};

static const struct reason {
    const char *name, *text;
} reasons[WH_REASON_COUNT] = {
    [WH_REASON_DECODED] = {"decoded", "decoded"},
    [WH_REASON_STEADY_CARRIER] = {"steady-carrier", "a steady carrier or longer than any sensor sends"},
    [WH_REASON_TOO_SHORT] = {"too-short", "shorter than any frame"},
    [WH_REASON_BURST_STORM] = {"burst-storm", "left out because too many came at once"},
    [WH_REASON_NO_SIGNAL] = {"no-signal", "no energy where a sensor would send"},
    [WH_REASON_WRONG_MODULATION] = {"wrong-modulation", "modulated in another way"},
    [WH_REASON_NO_CLOCK] = {"no-clock", "no chip clock at a known rate"},
    [WH_REASON_NO_SYNC] = {"no-sync", "no known preamble and sync in it"},
    [WH_REASON_CUT_SHORT] = {"cut-short", "ends before the frame does"},
    [WH_REASON_LINE_VIOLATIONS] = {"line-violations", "line code broken too often"},
    [WH_REASON_WRONG_CONSTANT] = {"wrong-constant", "a fixed field differs: another kind of sensor"},
    [WH_REASON_BAD_CHECK] = {"bad-check", "the check (CRC, sum or parity) fails"},
    [WH_REASON_WEAK_EVIDENCE] = {"weak-evidence", "fits, but noise could fit as well"},
    [WH_REASON_NO_DESCRIPTOR] = {"no-descriptor", "no descriptor fits"},
};

const char *wh_value_state_name(wh_value_state state)
{
    return (unsigned)state < WH_VALUE_STATE_COUNT ? state_names[state] : "unknown";
}

const char *wh_stage_name(wh_stage stage)
{
    return (unsigned)stage < WH_STAGE_COUNT ? stage_names[stage] : "unknown";
}

const char *wh_reason_name(wh_reason reason)
{
    return (unsigned)reason < WH_REASON_COUNT ? reasons[reason].name : "unknown";
}

const char *wh_reason_text(wh_reason reason)
{
    return (unsigned)reason < WH_REASON_COUNT ? reasons[reason].text : "unknown";
}
