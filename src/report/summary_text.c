#include "summary_text.h"

#include <inttypes.h>

/* A yard is quiet almost all the time, so even a receiver driven far beyond its range clips a small share only. Noise
 * at a third of full scale clips about one sample in 200 (Gaussian tail at 3 sigma, two components). */
static const double clipped_share_worth_telling = 0.001;

static void put_inputs(wh_text *text, const wh_run_summary *summary, double work_s)
{
    const wh_receiver_stats *stats = &summary->stats;
    char number[WH_FIXED_SIZE];
    wh_text_print(text, "%u input%s, %s s of signal", summary->inputs, summary->inputs == 1 ? "" : "s",
                  wh_fixed(number, stats->seconds, 1));
    if (work_s > 0 && stats->seconds > 0)
        wh_text_print(text, " in %s s", wh_fixed(number, work_s, work_s < 10 ? 2 : 1));
    if (work_s > 0 && stats->seconds > 0)
        wh_text_print(text, " (%s x real time)", wh_fixed(number, stats->seconds / work_s, 1));
    wh_text_add(text, "\n");
}

static void put_bursts(wh_text *text, const wh_receiver_stats *stats)
{
    wh_text_print(text, "%" PRIu64 " burst%s heard, %" PRIu64 " decoded, %" PRIu64 " reading%s", stats->bursts,
                  stats->bursts == 1 ? "" : "s", stats->bursts_decoded, stats->readings,
                  stats->readings == 1 ? "" : "s");
    if (stats->readings_weak > 0)
        wh_text_print(text, ", %" PRIu64 " more too uncertain to report", stats->readings_weak);
    wh_text_add(text, "\n");
    for (int reason = 0; reason < WH_REASON_COUNT; reason++) {
        if (reason != WH_REASON_DECODED && stats->reasons[reason] > 0)
            wh_text_print(text, "  %" PRIu64 " not decoded: %s\n", stats->reasons[reason],
                          wh_reason_text((wh_reason)reason));
    }
}

static void put_quality(wh_text *text, const wh_receiver_stats *stats)
{
    char number[WH_FIXED_SIZE];
    if (stats->samples_lost > 0) {
        const double share = (double)stats->samples_lost / (double)(stats->samples + stats->samples_lost);
        wh_text_print(text, "%" PRIu64 " samples were lost (%s %%): sensors may have been missed\n",
                      stats->samples_lost, wh_fixed(number, 100 * share, 2));
    }
    if (stats->samples_invalid > 0)
        wh_text_print(text, "%" PRIu64 " samples were no numbers and were taken as silence\n", stats->samples_invalid);
    if (stats->clipped_samples == 0 || stats->samples == 0)
        return;
    const double share = (double)stats->clipped_samples / (double)stats->samples;
    wh_text_print(text, "%s %% of the samples are clipped", wh_fixed(number, 100 * share, 3));
    if (share > clipped_share_worth_telling)
        wh_text_add(text, ": the receiver was overdriven; use a lower --gain or stand further away");
    wh_text_add(text, "\n");
}

void wh_summary_text(wh_text *text, const wh_run_summary *summary, double work_s)
{
    put_inputs(text, summary, work_s);
    put_bursts(text, &summary->stats);
    put_quality(text, &summary->stats);
    if (summary->stats.bursts == 0 && summary->stats.samples > 0)
        wh_text_add(text, "Nothing was heard. Sensors of parked vehicles may stay silent until they are woken: this "
                          "does not mean that none is there.\n");
}

void wh_safety_text(wh_text *text)
{
    wh_text_add(
        text, "A reading does not prove that a tire is safe. A tire at or below 80 % of its set pressure must not be\n"
              "filled on the vehicle: deflate it, take it off, have it inspected (29 CFR 1910.177). Servicing is for\n"
              "trained people, with a restraining device, standing clear. What the vehicle's maker and local rules\n"
              "say comes first.\n");
}
