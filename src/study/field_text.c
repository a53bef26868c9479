#include "field_text.h"

#include "bits.h"

#include <math.h>

static void label(wh_text *text, const char *name)
{
    wh_text_add(text, "  ");
    wh_text_pad(text, name, 14);
}

static void fixed(wh_text *text, double value, unsigned decimals)
{
    char number[WH_FIXED_SIZE];
    wh_text_add(text, wh_fixed(number, value, decimals));
}

static void plain(wh_text *text, double value, unsigned decimals)
{
    char number[WH_FIXED_SIZE];
    wh_text_add(text, wh_plain(number, value, decimals));
}

static void bits_text(wh_text *text, unsigned at, unsigned bits)
{
    if (bits == 1)
        wh_text_print(text, "bit %u", at);
    else
        wh_text_print(text, "bits %u to %u", at, at + bits - 1);
}

static void places_text(wh_text *text, const wh_places *places)
{
    for (unsigned i = 0; i < places->count; i++) {
        wh_text_add(text, i ? " and " : "");
        bits_text(text, places->piece[i].at, places->piece[i].length);
    }
}

/* "1 in 2^40", for odds that need not be exact. */
static void odds(wh_text *text, double chance)
{
    if (chance >= 0.01)
        fixed(text, chance, 2);
    else
        wh_text_print(text, "1 in 2^%d", chance > 0.0 ? (int)floor(-log2(chance)) : 999);
}

static void tell_check(const wh_check_found *found, wh_text *text)
{
    static const char *const kinds[WH_CHECK_KIND_COUNT] = {"CRC", "sum",         "two's complement sum",
                                                           "XOR", "even parity", "odd parity"};
    const wh_check *check = &found->check;
    if (found->algorithm[0]) {
        wh_text_add(text, found->algorithm);
    } else {
        if (check->width > 1)
            wh_text_print(text, "%u-bit ", check->width);
        wh_text_add(text, kinds[check->kind]);
        if (check->kind == WH_CHECK_CRC)
            wh_text_print(text, " with polynomial 0x%X%s", (unsigned)check->polynomial,
                          check->reflect_in ? ", reflected" : "");
        if (check->start)
            wh_text_print(text, ", start 0x%X", (unsigned)check->start);
        if (check->final_xor)
            wh_text_print(text, ", final XOR 0x%X", (unsigned)check->final_xor);
    }
    wh_text_add(text, " at ");
    places_text(text, &check->at);
    wh_text_add(text, check->low_byte_first ? ", low byte first, over " : " over ");
    places_text(text, &check->over);
    if (found->bytes_turned)
        wh_text_print(text, " (with bytes turned round from bit %u on)", found->phase);
    wh_text_add(text, "\n");
    label(text, "");
    wh_text_print(text, "holds in %u of %u different frames; ", found->holding, found->frames);
    odds(text, found->chance);
    wh_text_add(text, " such checks would by chance\n");
}

static void tell_checks(const wh_field_study *s, wh_text *text)
{
    for (unsigned i = 0; i < s->checks.count; i++) {
        label(text, i ? "" : "check");
        tell_check(&s->checks.found[i], text);
    }
    if (s->checks.count == 0) {
        label(text, "check");
        wh_text_print(text, "open: of %.0f arrangements none holds that chance does not explain\n", s->checks.tried);
        label(text, "");
        if (s->rows.count < 10)
            wh_text_print(text, "%zu frames are few; record ten of each of three sensors\n", s->rows.count);
        else
            wh_text_add(text, "record frames with other values: other pressures, other sensors\n");
    }
    if (s->damaged > 0) {
        label(text, "");
        wh_text_print(text, "%zu of %zu frames fail it and are left out below\n", s->damaged, s->heard);
    }
}

static void tell_sensors(const wh_field_study *s, wh_text *text)
{
    label(text, "sensors");
    wh_text_print(text, "%u, told apart by %s\n", s->sensors,
                  s->printed.found   ? "the printed IDs"
                  : s->sensors_known ? "the table"
                                     : "the bits that stay the same");
    if (s->sensors >= 2)
        return;
    label(text, "");
    wh_text_add(text, "with one sensor its ID cannot be told from what never changes: record a second and a third\n");
}

static void tell_columns(const wh_field_study *s, wh_text *text)
{
    static const char signs[WH_COLUMN_KIND_COUNT] = {'=', 's', '~', '+', '?', 'c'};
    for (unsigned c = 0; c < s->columns.count; c++) {
        if (c % 64 == 0) {
            wh_text_add(text, c ? "\n" : "");
            label(text, c ? "" : "bits");
            wh_text_print(text, "%3u ", c);
        }
        wh_text_print(text, "%s%c", c % 8 == 0 ? " " : "", signs[s->columns.column[c].kind]);
    }
    wh_text_add(text, "\n");
    label(text, "");
    wh_text_add(text, "= never changed  s changes with the sensor  ~ slowly  + counts  ? as it likes  c check\n");
}

static void tell_id(const wh_field_study *s, wh_text *text)
{
    label(text, "sensor ID");
    if (s->printed.found) {
        places_text(text, &s->id_field.at);
        wh_text_print(text, " (certain): %u of %u printed IDs stand there\n", s->printed.matched, s->printed.named);
        return;
    }
    if (s->id.count == 0) {
        wh_text_add(text, "open\n");
        return;
    }
    for (unsigned i = 0; i < s->id.count && i < 3; i++) {
        if (i > 0 && s->id.candidate[i].probability < 0.02)
            break;
        if (i > 0)
            label(text, "");
        bits_text(text, s->id.candidate[i].at, s->id.candidate[i].bits);
        wh_text_add(text, ", probability ");
        fixed(text, s->id.candidate[i].probability, 2);
        wh_text_add(text, "\n");
    }
    label(text, "");
    wh_text_add(text, s->has_id ? "" : "not sure enough for a draft, which will give nicknames; ");
    wh_text_add(text, "a table with one sensor's printed number would settle it\n");
}

static void tell_fit(const wh_fit *fit, const char *name, const char *unit, bool pressure, wh_text *text)
{
    if (!fit->told)
        return;
    label(text, name);
    if (fit->found) {
        bits_text(text, fit->at, fit->bits);
        wh_text_add(text, fit->low_byte_first ? ", low byte first" : fit->low_bit_first ? ", low bit first" : "");
        wh_text_print(text, " (%s), ", fit->place == WH_CERTAIN ? "certain" : "likely");
        plain(text, fit->simple_scale, 6);
        wh_text_print(text, " %s a count", unit);
        if (fit->simple_offset != 0.0) {
            wh_text_add(text, fit->simple_offset > 0.0 ? " + " : " - ");
            plain(text, fabs(fit->simple_offset), 3);
            wh_text_print(text, " %s", unit);
        }
        if (pressure)
            wh_text_print(text, ", %s (%s)", fit->absolute ? "absolute" : "gauge",
                          fit->reference == WH_CERTAIN  ? "certain"
                          : fit->reference == WH_LIKELY ? "likely"
                                                        : "open");
        wh_text_add(text, "\n");
        label(text, "");
        wh_text_add(text, "measured ");
        plain(text, fit->scale, 5);
        wh_text_add(text, " +- ");
        plain(text, fit->scale_error, 5);
        wh_text_print(text, "; over %u values from ", fit->levels);
        fixed(text, fit->least, 1);
        wh_text_add(text, " to ");
        fixed(text, fit->most, 1);
        wh_text_print(text, " %s the residuals are ", unit);
        fixed(text, fit->residual_rms, 2);
        wh_text_add(text, " rms, ");
        fixed(text, fit->residual_most, 2);
        wh_text_add(text, " at most\n");
    } else {
        wh_text_add(text, "open\n");
    }
    if (fit->advice[0]) {
        label(text, "");
        wh_text_print(text, "%s\n", fit->advice);
    }
}

/* Slow numbers that no truth has named: what pressure and temperature would look like. */
static void tell_numbers(const wh_field_study *s, wh_text *text)
{
    bool any = false;
    for (unsigned i = 0; i < s->columns.number_count; i++) {
        const wh_number_place *number = &s->columns.number[i];
        const wh_fit *fits[2] = {&s->pressure, &s->temperature};
        bool named = false;
        for (unsigned k = 0; k < 2; k++)
            named |=
                fits[k]->found && number->at < fits[k]->at + fits[k]->bits && fits[k]->at < number->at + number->bits;
        if (named)
            continue;
        label(text, any ? "" : "numbers");
        any = true;
        bits_text(text, number->at, number->bits);
        wh_text_add(text, number->counter ? " count by " : " change slowly, by ");
        plain(text, number->step, 1);
        wh_text_add(text, " from frame to frame\n");
    }
}

/* What moves together as the gas law says, when no gauge has told better. */
static void tell_gas(const wh_field_study *s, wh_text *text)
{
    if (s->gas.count == 0 || (s->pressure.found && s->temperature.found))
        return;
    const wh_gas_pair *pair = &s->gas.pair[0];
    const wh_number_place *p = &s->columns.number[pair->pressure], *t = &s->columns.number[pair->temperature];
    label(text, "gas law");
    bits_text(text, p->at, p->bits);
    wh_text_add(text, " may be pressure and ");
    bits_text(text, t->at, t->bits);
    wh_text_add(text, " temperature: their steps go together (correlation ");
    fixed(text, pair->correlation, 2);
    wh_text_add(text, ", by chance ");
    odds(text, pair->chance);
    wh_text_add(text, ")\n");
    label(text, "");
    wh_text_add(text, "then absolute zero lies ");
    fixed(text, pair->zero_counts, 0);
    wh_text_add(text, " counts below temperature 0, if the pressure is absolute\n");
}

void wh_field_text(const wh_field_study *s, bool truth, wh_text *text)
{
    static const char *const senses[] = {
        [WH_SENSE_OPEN] = "open: every bit may be the other way round, and the ID with them",
        [WH_SENSE_BY_ID] = "certain, by the printed IDs",
        [WH_SENSE_BY_PRESSURE] = "likely: counts rise with the pressure",
    };
    if (s->rows.count == 0) {
        label(text, "fields");
        wh_text_add(text, "no frame was heard whole: record nearer to the sensor\n");
        return;
    }
    if (s->reading.twin_code) {
        label(text, "line code");
        wh_text_print(text, "%s after all, which makes the same chips: only so a check holds\n",
                      wh_line_kind_name(s->line.kind));
    }
    tell_checks(s, text);
    tell_sensors(s, text);
    tell_columns(s, text);
    label(text, "sense");
    wh_text_print(text, "%s%s\n", senses[s->sense], s->reading.inverted ? " (the other one than above)" : "");
    if (s->reading.low_bit_first) {
        label(text, "bit order");
        wh_text_print(text, "low bit first, from bit %u on\n", s->reading.dropped);
    }
    tell_id(s, text);
    tell_fit(&s->pressure, "pressure", "kPa", true, text);
    tell_fit(&s->temperature, "temperature", "degC", false, text);
    tell_numbers(s, text);
    tell_gas(s, text);
    if (!truth) {
        label(text, "");
        wh_text_add(
            text, "A table of gauge and thermometer readings (--truth) would tell pressure, temperature and sense.\n");
    }
}
