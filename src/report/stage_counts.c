#include "stage_counts.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

void wh_stage_counts_burst(wh_stage_counts *counts, const wh_burst *burst)
{
    counts->bursts++;
    if (burst->stage < WH_STAGE_COUNT && burst->reason < WH_REASON_COUNT)
        counts->lost[burst->stage][burst->reason]++;
    if (burst->reason == WH_REASON_DECODED || counts->listed == WH_LOST_BURSTS_MAX)
        return;
    if (!counts->list && !(counts->list = calloc(WH_LOST_BURSTS_MAX, sizeof *counts->list))) {
        counts->failed = true;
        return;
    }
    counts->list[counts->listed++] = (wh_lost_burst){.burst = *burst};
}

void wh_stage_counts_attempt(wh_stage_counts *counts, const wh_attempt *attempt)
{
    for (size_t i = counts->listed; i-- > 0;) {
        wh_lost_burst *lost = &counts->list[i];
        if (lost->burst.number != attempt->burst_number)
            continue;
        if (lost->burst.stage == attempt->stage && lost->burst.reason == attempt->reason && !lost->detail[0])
            snprintf(lost->detail, sizeof lost->detail, "%s", attempt->detail);
        return;
    }
}

static size_t lost_at(const wh_stage_counts *counts, unsigned stage)
{
    size_t sum = 0;
    for (unsigned reason = 0; reason < WH_REASON_COUNT; reason++)
        sum += reason == WH_REASON_DECODED ? 0 : counts->lost[stage][reason];
    return sum;
}

static void stage_line(const wh_stage_counts *counts, unsigned stage, size_t reached, wh_text *text)
{
    const size_t lost = lost_at(counts, stage);
    wh_text_print(text, "%-10s %7zu %7zu  ", wh_stage_name((wh_stage)stage), reached, lost);
    const char *comma = "";
    for (unsigned reason = 0; reason < WH_REASON_COUNT; reason++) {
        if (reason == WH_REASON_DECODED || counts->lost[stage][reason] == 0)
            continue;
        wh_text_print(text, "%s%zu %s", comma, counts->lost[stage][reason], wh_reason_name((wh_reason)reason));
        comma = ", ";
    }
    wh_text_add(text, "\n");
}

static void lost_line(const wh_lost_burst *lost, wh_text *text)
{
    char at[WH_FIXED_SIZE], carrier[WH_FIXED_SIZE], snr[WH_FIXED_SIZE];
    const wh_burst *burst = &lost->burst;
    wh_text_print(text, "burst %llu, %s s, %s MHz, %s dB: lost at %s: %s%s%s\n", (unsigned long long)burst->number,
                  wh_fixed(at, burst->offset_s, 4), wh_fixed(carrier, burst->carrier_hz * 1e-6, 4),
                  wh_fixed(snr, burst->snr_db, 1), wh_stage_name(burst->stage), wh_reason_name(burst->reason),
                  lost->detail[0] ? ": " : "", lost->detail);
}

void wh_stage_counts_text(const wh_stage_counts *counts, const char *name, wh_text *text)
{
    size_t reached = counts->bursts, lost = 0;
    wh_text_print(text, "%s\n%-10s %7s %7s  %s\n", name, "stage", "reached", "lost", "why");
    for (unsigned stage = 0; stage < WH_STAGE_COUNT; stage++) {
        stage_line(counts, stage, reached, text);
        reached -= lost_at(counts, stage);
        lost += lost_at(counts, stage);
    }
    wh_text_print(text, "%zu of %zu bursts decoded, %zu reading%s\n", reached, counts->bursts, counts->readings,
                  counts->readings == 1 ? "" : "s");
    for (size_t i = 0; i < counts->listed; i++)
        lost_line(&counts->list[i], text);
    if (lost > counts->listed)
        wh_text_print(text, "and %zu more\n", lost - counts->listed);
}

void wh_stage_counts_free(wh_stage_counts *counts)
{
    free(counts->list);
    *counts = (wh_stage_counts){0};
}
