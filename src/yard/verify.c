#include "verify.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "judging.h"
#include "verify_proof.h"

static const struct {
    const char *name, *text;
} verdicts[WH_VERDICT_COUNT] = {
    [WH_VERDICT_MENDED] = {"mended", "mended"},
    [WH_VERDICT_OPEN] = {"open", "still open"},
    [WH_VERDICT_NOT_HEARD] = {"not-heard", "not heard since the repair"},
    [WH_VERDICT_NEW] = {"new", "new since the repair"},
};

const char *wh_verdict_name(wh_verdict verdict)
{
    return (unsigned)verdict < WH_VERDICT_COUNT ? verdicts[verdict].name : "unknown";
}

const char *wh_verdict_text(wh_verdict verdict)
{
    return (unsigned)verdict < WH_VERDICT_COUNT ? verdicts[verdict].text : "unknown";
}

/* Findings that are the same trouble in another degree: a low tire that is far too low now is not mended. */
static int family_of(wh_finding_kind kind)
{
    switch (kind) {
    case WH_FINDING_NOT_HEARD:
    case WH_FINDING_NO_ANSWER:
    case WH_FINDING_LAYOUT_UNKNOWN:
    case WH_FINDING_NOT_SURE: return WH_FINDING_NOT_HEARD;
    case WH_FINDING_NOT_ON_RECORD:
    case WH_FINDING_OTHER_POSITION:
    case WH_FINDING_OTHER_UNIT:
    case WH_FINDING_CROSSED: return WH_FINDING_NOT_ON_RECORD;
    case WH_FINDING_FLAT:
    case WH_FINDING_FAR_TOO_LOW:
    case WH_FINDING_LOW:
    case WH_FINDING_HIGH:
    case WH_FINDING_DUALS_APART:
    case WH_FINDING_SIDES_APART: return WH_FINDING_FLAT;
    default: return (int)kind;
    }
}

static bool is_at(const wh_finding *finding, wh_position position)
{
    return wh_position_equal(finding->position, position) ||
           (wh_finding_has_two_wheels(finding) && wh_position_equal(finding->other, position));
}

static bool overlap(const wh_finding *a, const wh_finding *b)
{
    return is_at(a, b->position) || (wh_finding_has_two_wheels(b) && is_at(a, b->other));
}

/* The worst finding after the repair that is the trouble of `before`; all such are marked as told. */
static const wh_finding *find_again(const wh_finding *before, const wh_findings *after, bool *told)
{
    const wh_finding *worst = NULL;
    for (size_t i = 0; i < after->count; i++) {
        const wh_finding *now = &after->items[i];
        const bool silent = now->kind == WH_FINDING_NOT_HEARD || now->kind == WH_FINDING_NO_ANSWER;
        if (!overlap(before, now) || (family_of(before->kind) != family_of(now->kind) && !silent))
            continue;
        told[i] = true;
        if (!worst || now->severity > worst->severity)
            worst = now;
    }
    return worst;
}

static void set_now(const wh_judge_input *after, wh_verify_row *row)
{
    const wh_seat *seat = wh_seat_heard_since(after, row->position);
    row->heard = seat != NULL;
    if (seat) {
        row->now = seat->latest;
        row->heard_us = seat->latest_us;
    }
}

static wh_status judge_before(const wh_finding *before, const wh_judge_input *after, const wh_finding *again,
                              wh_verify_row *row)
{
    *row = (wh_verify_row){.severity = before->severity,
                           .position = before->position,
                           .other = before->other,
                           .has_before = true,
                           .before = *before};
    if (again) {
        row->has_after = true;
        row->after = *again;
        row->severity = again->severity > row->severity ? again->severity : row->severity;
    }
    set_now(after, row);
    wh_phrase text = wh_phrase_in(row->text, sizeof row->text);
    const bool all_heard =
        row->heard && (!wh_finding_has_two_wheels(before) || wh_seat_heard_since(after, before->other));
    if (again && again->kind != WH_FINDING_NOT_HEARD) {
        row->verdict = WH_VERDICT_OPEN;
        wh_phrase_add(&text, "%s", again->evidence);
        return WH_OK;
    }
    if (!all_heard) {
        row->verdict = WH_VERDICT_NOT_HEARD;
        wh_phrase_add(&text, "no frame of this wheel since the repair: wake its sensor and listen");
        return WH_OK;
    }
    bool proved;
    const wh_status status = wh_verify_proof(before, after, &proved, &text);
    row->verdict = proved ? WH_VERDICT_MENDED : WH_VERDICT_OPEN;
    return status;
}

static void add_after(const wh_finding *now, const wh_judge_input *after, wh_verify_row *row)
{
    *row = (wh_verify_row){.verdict = now->kind == WH_FINDING_NOT_HEARD ? WH_VERDICT_NOT_HEARD : WH_VERDICT_NEW,
                           .severity = now->severity,
                           .position = now->position,
                           .other = now->other,
                           .has_after = true,
                           .after = *now};
    set_now(after, row);
    snprintf(row->text, sizeof row->text, "%s", now->evidence);
}

static void count_up(const wh_judge_input *after, wh_verification *verification)
{
    verification->wheels = after->attribution->seat_count;
    for (unsigned i = 0; i < verification->wheels; i++)
        verification->wheels_heard += wh_seat_heard_since(after, after->attribution->seats[i].position) != NULL;
    verification->all_mended = verification->wheels_heard > 0;
    for (size_t i = 0; i < verification->count; i++) {
        const wh_verify_row *row = &verification->rows[i];
        verification->by_verdict[row->verdict]++;
        if (row->verdict != WH_VERDICT_MENDED && row->severity > WH_SEVERITY_NOTE)
            verification->all_mended = false;
    }
}

wh_status wh_verify(const wh_findings *before, const wh_judge_input *after, const wh_findings *findings,
                    wh_verification **out, wh_error *error)
{
    *out = NULL;
    if (!wh_roster_find(after->roster, after->unit))
        return wh_fail(error, WH_ERR_NOT_FOUND, "add it to the roster", "there is no unit %s on record", after->unit);
    wh_verification *verification = calloc(1, sizeof *verification);
    wh_verify_row *rows = calloc(before->count + findings->count + 1, sizeof *rows);
    bool *told = calloc(findings->count + 1, sizeof *told);
    wh_status status = verification && rows && told ? WH_OK : WH_ERR_MEMORY;
    size_t count = 0;
    for (size_t i = 0; status == WH_OK && i < before->count; i++) {
        const wh_finding *again = find_again(&before->items[i], findings, told);
        status = judge_before(&before->items[i], after, again, &rows[count++]);
    }
    for (size_t i = 0; status == WH_OK && i < findings->count; i++) {
        if (!told[i])
            add_after(&findings->items[i], after, &rows[count++]);
    }
    free(told);
    if (status != WH_OK) {
        free(rows);
        free(verification);
        return wh_fail(error, status, NULL, "no memory for comparing unit %s with before the repair", after->unit);
    }
    verification->rows = rows;
    verification->count = count;
    count_up(after, verification);
    *out = verification;
    return WH_OK;
}

void wh_verification_free(wh_verification **verification)
{
    if (*verification) {
        free((*verification)->rows);
        free(*verification);
        *verification = NULL;
    }
}
