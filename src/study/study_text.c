#include "study_text.h"

#include <inttypes.h>
#include <math.h>
#include <string.h>

#define STRAYS_SHOWN 8
#define ODDS_SHOWN   0.0005 /* candidates less likely than that are left out */

const char *wh_certainty_name(wh_certainty certainty)
{
    static const char *const names[] = {[WH_OPEN] = "open", [WH_LIKELY] = "likely", [WH_CERTAIN] = "certain"};
    return names[certainty];
}

const char *wh_stray_name(wh_stray stray)
{
    static const char *const names[] = {
        [WH_STRAY_NONE] = "none",          [WH_STRAY_SKIRT] = "skirt", [WH_STRAY_STEADY] = "steady-carrier",
        [WH_STRAY_NO_SHAPE] = "no-keying", [WH_STRAY_ALONE] = "alone", [WH_STRAY_NO_FRAME] = "no-frame",
    };
    return names[stray];
}

static const char *stray_words(wh_stray stray)
{
    static const char *const words[] = {
        [WH_STRAY_NONE] = "",
        [WH_STRAY_SKIRT] = "spread of a stronger burst at the same time",
        [WH_STRAY_STEADY] = "steady carriers, longer than any frame",
        [WH_STRAY_NO_SHAPE] = "no keying to be made out: too weak, too short, or none",
        [WH_STRAY_ALONE] = "keyed, but unlike anything else heard: record it again",
        [WH_STRAY_NO_FRAME] = "keyed like a kind above, but without a whole frame of it",
    };
    return words[stray];
}

/* A label in the first column. */
static void label(wh_text *text, const char *name)
{
    wh_text_add(text, "  ");
    wh_text_pad(text, name, 14);
}

static void sure(wh_text *text, wh_certainty certainty)
{
    wh_text_print(text, " (%s)", wh_certainty_name(certainty));
}

static void fixed(wh_text *text, double value, unsigned decimals)
{
    char number[WH_FIXED_SIZE];
    wh_text_add(text, wh_fixed(number, value, decimals));
}

static void chips(wh_text *text, const wh_pattern *pattern)
{
    for (unsigned i = 0; i < pattern->count; i++)
        wh_text_add(text, pattern->value[i] ? "1" : "0");
}

void wh_study_text_head(wh_study *study, wh_text *text)
{
    const wh_burst_store *store = wh_study_store(study);
    double seconds = 0.0;
    uint64_t clipped = 0;
    for (size_t r = 0; r < wh_burst_store_recordings(store); r++) {
        seconds += wh_burst_store_recording(store, r)->seconds;
        clipped += wh_burst_store_recording(store, r)->clipped;
    }
    const size_t recordings = wh_burst_store_recordings(store), bursts = wh_burst_store_count(store);
    size_t explained = 0;
    for (size_t i = 0; i < bursts; i++)
        explained += wh_study_stray(study, i) == WH_STRAY_NONE;
    wh_text_print(text, "%zu recording%s, ", recordings, recordings == 1 ? "" : "s");
    fixed(text, seconds, 1);
    wh_text_print(text, " s: %zu burst%s, %zu of them of %zu kind%s\n", bursts, bursts == 1 ? "" : "s", explained,
                  wh_study_kind_count(study), wh_study_kind_count(study) == 1 ? "" : "s");
    if (wh_burst_store_left_out(store) > 0)
        wh_text_print(text, "%zu further bursts were left out: too many to keep at once. Study fewer recordings.\n",
                      wh_burst_store_left_out(store));
    if (clipped > 0)
        wh_text_print(text, "%" PRIu64 " samples are clipped. Record with less gain, or from further away.\n", clipped);
    if (bursts == 0)
        wh_text_add(text,
                    "Nothing was sent that stands out of the noise. Record nearer to the sensor, on its carrier,\n"
                    "while it is woken.\n");
    else if (wh_study_kind_count(study) == 0)
        wh_text_add(text,
                    "No two bursts are alike. Record at least ten activations of the same kind of sensor, of two\n"
                    "or three sensors.\n");
}

static void tell_radio(const wh_kind_estimate *kind, wh_text *text)
{
    label(text, "modulation");
    wh_text_add(text, kind->radio.modulation == WH_MOD_FSK ? "two tones (FSK)" : "carrier on and off (OOK)");
    sure(text, kind->modulation);
    wh_text_add(text, "\n");
    label(text, kind->carriers_known ? "carrier" : "carrier offset");
    for (size_t i = 0; i < kind->carrier_count; i++) {
        wh_text_add(text, i ? ", " : "");
        fixed(text, kind->carriers_hz[i] * (kind->carriers_known ? 1e-6 : 1e-3), kind->carriers_known ? 2 : 1);
    }
    wh_text_add(text, kind->carriers_known ? " MHz\n" : " kHz; the recordings do not say where they were tuned\n");
    if (kind->radio.modulation == WH_MOD_FSK) {
        label(text, "deviation");
        fixed(text, kind->deviation_hz.value * 1e-3, 1);
        wh_text_add(text, " +- ");
        fixed(text, kind->deviation_hz.error * 1e-3, 1);
        wh_text_add(text, " kHz");
        sure(text, kind->deviation_hz.certainty);
        wh_text_add(text, "\n");
    }
    label(text, "chip rate");
    fixed(text, kind->chip_rate_hz.value, 0);
    wh_text_add(text, " +- ");
    fixed(text, kind->chip_rate_hz.error, 0);
    wh_text_add(text, " chip/s");
    sure(text, kind->chip_rate_hz.certainty);
    wh_text_add(text, "; bursts differ by ");
    fixed(text, 100.0 * kind->rate_spread, 2);
    wh_text_add(text, " %\n");
}

static void tell_words(const wh_line_spec *line, wh_text *text)
{
    if (line->kind != WH_LINE_PULSE_WIDTH)
        return;
    wh_text_add(text, "  words ");
    for (unsigned i = 0; i < line->one_count; i++)
        wh_text_add(text, line->one_chips[i] ? "1" : "0");
    wh_text_add(text, " and ");
    for (unsigned i = 0; i < line->zero_count; i++)
        wh_text_add(text, line->zero_chips[i] ? "1" : "0");
}

static void tell_line(const wh_kind_estimate *kind, wh_text *text)
{
    if (kind->line_count == 0)
        return;
    label(text, "line code");
    wh_text_add(text, wh_line_kind_name(kind->line[0].line.kind));
    sure(text, kind->line_code);
    wh_text_add(text, "; which of two senses is open until the meaning of bits tells\n");
    for (size_t i = 0; i < kind->line_count; i++) {
        const wh_line_candidate *candidate = &kind->line[i];
        if (i > 0 && candidate->probability < ODDS_SHOWN)
            continue;
        label(text, "");
        wh_text_pad(text, wh_line_kind_name(candidate->line.kind), 24);
        fixed(text, 100.0 * candidate->probability, 1);
        wh_text_print(text, " %%: %u of %u bits contradict it, ", candidate->violations, candidate->compared);
        fixed(text, candidate->varying, 1);
        wh_text_add(text, " bits change from frame to frame");
        if (candidate->check_bits >= 1.0)
            wh_text_print(text, ", a check holds (chance 1 in 2^%.0f)", candidate->check_bits);
        tell_words(&candidate->line, text);
        wh_text_add(text, "\n");
    }
}

static void tell_framing(const wh_kind_estimate *kind, wh_text *text)
{
    const wh_frame_spec *frame = &kind->frame;
    if (frame->bits_max == 0)
        return;
    label(text, "preamble");
    if (frame->preamble.count) {
        chips(text, &frame->preamble);
        wh_text_print(text, " x %u chips", frame->preamble_repeats);
    } else {
        wh_text_add(text, "none that repeats");
    }
    sure(text, kind->preamble);
    wh_text_add(text, "\n");
    label(text, "sync");
    chips(text, &frame->sync);
    wh_text_print(text, "%s%u chips", frame->sync.count ? ", " : "", frame->sync.count);
    sure(text, kind->sync);
    wh_text_add(text, kind->sync_breaks_code ? ": the line code cannot make it\n" : "\n");
    label(text, "payload");
    wh_text_print(text, "%u bits", frame->bits_max);
    sure(text, kind->length);
    if (kind->common_bits > 0)
        wh_text_print(text, "; the first %u were the same in all frames, and may belong to the sync",
                      kind->common_bits);
    wh_text_add(text, "\n");
    if (frame->end.count) {
        label(text, "end");
        chips(text, &frame->end);
        sure(text, kind->end);
        wh_text_add(text, "\n");
    }
    label(text, "copies");
    wh_text_print(text, "%u", kind->copies);
    sure(text, kind->copies_certainty);
    if (kind->copies > 1) {
        wh_text_add(text, ", ");
        fixed(text, 1e3 * kind->gap_least_s, 1);
        wh_text_add(text, " to ");
        fixed(text, 1e3 * kind->gap_most_s, 1);
        wh_text_add(text, " ms between them");
    }
    wh_text_add(text, "\n");
}

void wh_study_text_kind(const wh_study *study, size_t kind, wh_text *text)
{
    const wh_frame_table *table = wh_study_kind(study, kind);
    const wh_kind_estimate *estimate = &table->kind;
    wh_text_print(text, "\nKind %zu: %u burst%s, %u frame%s, %zu of them different\n", kind + 1, estimate->bursts,
                  estimate->bursts == 1 ? "" : "s", estimate->frames, estimate->frames == 1 ? "" : "s",
                  table->row_count);
    tell_radio(estimate, text);
    tell_line(estimate, text);
    tell_framing(estimate, text);
    if (estimate->frames > 0) {
        label(text, "signal");
        fixed(text, estimate->snr_median_db, 1);
        wh_text_add(text, " dB over the noise of a chip, the weakest frame ");
        fixed(text, estimate->snr_least_db, 1);
        wh_text_add(text, " dB\n");
    }
    if (estimate->clipped_bursts > 0) {
        label(text, "clipped");
        wh_text_print(text, "%u bursts drive the receiver to its limits: levels and tones are not to be trusted\n",
                      estimate->clipped_bursts);
    }
    if (wh_study_missing(study, kind)[0]) {
        label(text, "missing");
        wh_text_print(text, "%s\n", wh_study_missing(study, kind));
    }
}

static void tell_frame(const wh_table_row *row, wh_text *text)
{
    unsigned doubtful = 0;
    for (unsigned i = 0; i < row->length; i++)
        doubtful += row->reliability[i] < WH_DOUBTFUL;
    for (unsigned i = 0; i < (row->length + 3) / 4; i++)
        wh_text_print(text, "%X", (unsigned)row->bits[i / 2] >> (i % 2 ? 0 : 4) & 0xFu);
    if (doubtful)
        wh_text_print(text, "  %u bit%s in doubt", doubtful, doubtful == 1 ? "" : "s");
    wh_text_add(text, "\n");
}

void wh_study_text_frames(wh_study *study, size_t kind, size_t most, wh_text *text)
{
    const wh_frame_table *table = wh_study_kind(study, kind);
    const wh_burst_store *store = wh_study_store(study);
    if (table->row_count == 0)
        return;
    wh_text_add(text, "  frames        sample  seconds    copies    dB  bits in hex, first bit first\n");
    unsigned recording = UINT32_MAX;
    for (size_t i = 0; i < table->row_count && i < most; i++) {
        const wh_table_row *row = &table->rows[i];
        if (row->recording != recording)
            wh_text_print(text, "    %s\n", wh_burst_store_recording(store, row->recording)->name);
        recording = row->recording;
        char number[WH_FIXED_SIZE];
        wh_text_print(text, "    %16" PRIu64 " %8s %9u %5.1f  ", row->sample, wh_fixed(number, row->at_s, 4),
                      row->copies, row->snr_db);
        tell_frame(row, text);
    }
    if (table->row_count > most)
        wh_text_print(text, "    and %zu more\n", table->row_count - most);
}

void wh_study_text_strays(wh_study *study, wh_text *text)
{
    wh_burst_store *store = wh_study_store(study);
    bool head = false;
    for (unsigned reason = WH_STRAY_NONE + 1; reason < WH_STRAY_COUNT; reason++) {
        size_t count = 0;
        for (size_t i = 0; i < wh_burst_store_count(store); i++)
            count += wh_study_stray(study, i) == (wh_stray)reason;
        if (count == 0)
            continue;
        wh_text_add(text, head ? "" : "\nBursts of no kind\n");
        head = true;
        wh_text_print(text, "  %zu: %s\n", count, stray_words((wh_stray)reason));
        size_t shown = 0;
        for (size_t i = 0; i < wh_burst_store_count(store) && reason != WH_STRAY_SKIRT && shown < STRAYS_SHOWN; i++) {
            const wh_study_burst *burst = wh_burst_store_at(store, i);
            if (wh_study_stray(study, i) != (wh_stray)reason)
                continue;
            char at[WH_FIXED_SIZE], length[WH_FIXED_SIZE], snr[WH_FIXED_SIZE];
            wh_text_print(text, "     %s at %s s, %s ms, %s dB\n",
                          wh_burst_store_recording(store, burst->recording)->name, wh_fixed(at, burst->at_s, 4),
                          wh_fixed(length, 1e3 * burst->duration_s, 1), wh_fixed(snr, burst->snr_db, 1));
            shown++;
        }
        if (count > shown && shown > 0)
            wh_text_print(text, "     and %zu more\n", count - shown);
    }
}
