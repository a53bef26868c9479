#include "draft.h"

#include "draft_impl.h"

#include <ctype.h>
#include <math.h>
#include <string.h>

static wh_status check_input(const wh_draft *draft, wh_error *error)
{
    const size_t length = strlen(draft->name);
    bool good = length > 0 && length < WH_NAME_MAX && draft->name[0] != '-';
    for (size_t i = 0; i < length; i++)
        good &=
            islower((unsigned char)draft->name[i]) || isdigit((unsigned char)draft->name[i]) || draft->name[i] == '-';
    if (!good)
        return wh_fail(error, WH_ERR_ARGUMENT, "use lower case letters, digits and '-', at most 47",
                       "'%s' is no name for a descriptor", draft->name);
    if (draft->kind->line_count == 0 || draft->fields->rows.count == 0)
        return wh_fail(error, WH_ERR_DATA, "record more frames, close to the sensor, of three sensors if you can",
                       "no frames of this kind were read: there is nothing to draft");
    if (draft->fields->rows.columns < 2)
        return wh_fail(error, WH_ERR_DATA, "record more frames", "frames of %u bit: too short for a descriptor",
                       draft->fields->rows.columns);
    return WH_OK;
}

static void summary_of_certainty(const wh_draft *draft, wh_text *out)
{
    const wh_field_study *s = draft->fields;
    const wh_kind_estimate *kind = draft->kind;
    wh_text_print(out, "# Drafted from %zu frames of %u sensor%s", s->rows.count, s->sensors,
                  s->sensors == 1 ? "" : "s");
    if (s->damaged > 0)
        wh_text_print(out, " (%zu more failed the check)", s->damaged);
    wh_text_add(out, " in:\n");
    for (size_t i = 0; i < draft->recording_count && i < 8; i++) {
        const char *slash = strrchr(draft->recordings[i], '/');
        wh_text_add(out, "#     ");
        for (const char *c = slash ? slash + 1 : draft->recordings[i]; *c; c++)
            wh_text_print(out, "%c", (unsigned char)*c < ' ' ? '?' : *c); /* a comment is one line */
        wh_text_add(out, "\n");
    }
    if (draft->recording_count > 8)
        wh_text_print(out, "#     and %zu more\n", draft->recording_count - 8);
    wh_text_add(
        out, "# How sure each part is stands beside it: certain, likely (one more recording may overturn it), open.\n");
    wh_text_print(out, "# modulation %s, chip rate %s, line code %s, sync %s, length %s\n",
                  wh_certainty_name(kind->modulation), wh_certainty_name(kind->chip_rate_hz.certainty),
                  wh_certainty_name(kind->line_code), wh_certainty_name(kind->sync), wh_certainty_name(kind->length));
    wh_text_print(out, "# sense of the bits %s\n",
                  s->sense == WH_SENSE_BY_ID         ? "certain, by the printed ID"
                  : s->sense == WH_SENSE_BY_PRESSURE ? "likely: counts rise with pressure"
                                                     : "open: every bit, the ID's too, may be the other way round");
}

wh_status wh_draft_write(const wh_draft *draft, wh_text *out, wh_error *error)
{
    const wh_status status = check_input(draft, error);
    if (status != WH_OK)
        return status;
    const wh_field_study *s = draft->fields;
    summary_of_certainty(draft, out);
    wh_text_print(out, "wheelhark descriptor: 1\nname: %s\n", draft->name);
    wh_text_print(out, "summary: Draft, %s, %s, %u bits\n", draft->kind->radio.modulation == WH_MOD_FSK ? "FSK" : "OOK",
                  wh_line_kind_name(draft->fields->line.kind), s->rows.columns);
    wh_text_print(
        out,
        "provenance:\n  kind: measured\n  note: drafted from %zu frames of %u sensor%s; read the comments before "
        "relying on it\n",
        s->rows.count, s->sensors, s->sensors == 1 ? "" : "s");
    if (!s->has_id)
        wh_text_add(out, "partial: yes\n");
    wh_draft_signal(draft, out);
    wh_draft_meaning(draft, out);
    return out->failed ? wh_fail(error, WH_ERR_MEMORY, NULL, "not enough memory for the draft") : WH_OK;
}
