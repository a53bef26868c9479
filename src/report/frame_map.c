#include "frame_map.h"
#include "text_wrap.h"

#include <math.h>
#include <string.h>

#define COLUMNS  80
#define ROW_BITS 32
#define NO_OWNER '.'

static char letter_of_field(unsigned index)
{
    return index < 26 ? (char)('A' + index) : (char)('a' + index - 26);
}

static char letter_of_check(unsigned index)
{
    return (char)('1' + index);
}

static void paint(char *map, const wh_places *places, char letter)
{
    for (unsigned i = 0; i < places->count; i++) {
        for (unsigned bit = places->piece[i].at; bit < places->piece[i].at + (unsigned)places->piece[i].length; bit++) {
            if (bit < WH_FRAME_BITS_MAX)
                map[bit] = map[bit] == NO_OWNER ? letter : '*';
        }
    }
}

static void draw(wh_text *text, const char *map, unsigned bits)
{
    for (unsigned row = 0; row < bits; row += ROW_BITS) {
        wh_text_print(text, "  %5u  ", row);
        for (unsigned bit = row; bit < row + ROW_BITS && bit < bits; bit++)
            wh_text_print(text, "%s%c", bit > row && bit % 8 == 0 ? " " : "", map[bit]);
        wh_text_add(text, "\n");
    }
}

void wh_places_text(wh_text *text, const wh_places *places)
{
    for (unsigned i = 0; i < places->count; i++) {
        const unsigned first = places->piece[i].at, last = first + places->piece[i].length - 1;
        wh_text_add(text, i > 0 ? ", " : first == last && places->count == 1 ? "bit " : "bits ");
        if (first == last)
            wh_text_print(text, "%u", first);
        else
            wh_text_print(text, "%u-%u", first, last);
    }
}

static const char *unit_of(const wh_field *field)
{
    return field->role == WH_ROLE_PRESSURE ? "kPa" : field->role == WH_ROLE_TEMPERATURE ? "degC" : field->unit;
}

static void add_number(wh_text *text, const wh_field *field, double value)
{
    char number[WH_FIXED_SIZE];
    const char *const unit = unit_of(field);
    wh_text_print(text, "%s%s%s", wh_plain(number, value, 6), unit[0] ? " " : "", unit);
}

static void describe_scale(wh_text *text, const wh_field *field)
{
    static const char *const signs[] = {
        [WH_UNSIGNED] = "", [WH_TWOS_COMPLEMENT] = "signed ", [WH_SIGN_MAGNITUDE] = "sign and magnitude "};
    if (field->table) {
        wh_text_print(text, "from a table of %zu values", field->table_count);
    } else if (field->scale == 1 && field->offset == 0 && unit_of(field)[0] == '\0') {
        wh_text_print(text, "the %scount", signs[field->sign]);
    } else {
        wh_text_print(text, "%scount x ", signs[field->sign]);
        add_number(text, field, field->scale);
        if (field->offset != 0) {
            wh_text_add(text, field->offset < 0 ? " - " : " + ");
            add_number(text, field, fabs(field->offset));
        }
    }
    if (field->role == WH_ROLE_PRESSURE)
        wh_text_add(text, field->absolute ? ", absolute" : ", gauge");
    if (field->has_plausible) {
        wh_text_add(text, "; plausible ");
        add_number(text, field, field->plausible_low);
        wh_text_add(text, " to ");
        add_number(text, field, field->plausible_high);
    }
}

static void describe_field(wh_text *text, const wh_field *field)
{
    wh_text_print(text, "%s, ", field->name);
    wh_places_text(text, &field->at);
    wh_text_add(text, ": ");
    switch (field->role) {
    case WH_ROLE_SENSOR: wh_text_add(text, "the sensor ID"); break;
    case WH_ROLE_FLAG: wh_text_add(text, "yes when not 0"); break;
    case WH_ROLE_CONSTANT: wh_text_print(text, "always 0x%llX", (unsigned long long)field->constant); break;
    case WH_ROLE_PRESSURE:
        wh_text_add(text, strcmp(field->name, "pressure") == 0 ? "" : "pressure, ");
        describe_scale(text, field);
        break;
    case WH_ROLE_TEMPERATURE:
        wh_text_add(text, strcmp(field->name, "temperature") == 0 ? "" : "temperature, ");
        describe_scale(text, field);
        break;
    default: describe_scale(text, field); break;
    }
    if (field->inverted)
        wh_text_add(text, "; sent inverted");
    if (field->low_bit_first)
        wh_text_add(text, "; least significant bit first");
    else if (field->low_byte_first)
        wh_text_add(text, "; least significant byte first");
}

static void describe_code(wh_text *text, const wh_code *code)
{
    static const char *const kinds[] = {
        [WH_CODE_FAULT] = "a fault", [WH_CODE_NOT_AVAILABLE] = "not available", [WH_CODE_MEANING] = ""};
    wh_text_print(text, "count 0x%llX", (unsigned long long)code->from);
    if (code->to != code->from)
        wh_text_print(text, " to 0x%llX", (unsigned long long)code->to);
    wh_text_print(text, ": %s%s%s", kinds[code->kind], code->text[0] && code->kind != WH_CODE_MEANING ? ", " : "",
                  code->text);
}

static void describe_check(wh_text *text, const wh_check *check)
{
    static const char *const kinds[WH_CHECK_KIND_COUNT] = {"CRC", "sum",         "two's complement of the sum",
                                                           "XOR", "even parity", "odd parity"};
    const int digits = (check->width + 3) / 4;
    wh_text_print(text, "%s, ", check->name);
    wh_places_text(text, &check->at);
    wh_text_print(text, ": %s over ", kinds[check->kind]);
    wh_places_text(text, &check->over);
    if (check->kind == WH_CHECK_CRC)
        wh_text_print(text, "; polynomial 0x%0*lX%s%s", digits, (unsigned long)check->polynomial,
                      check->reflect_in ? ", input reflected" : "", check->reflect_out ? ", output reflected" : "");
    else if (check->word > 0)
        wh_text_print(text, " in words of %u bits", check->word);
    if (check->start != 0)
        wh_text_print(text, ", start 0x%0*lX", digits, (unsigned long)check->start);
    if (check->final_xor != 0)
        wh_text_print(text, ", final XOR 0x%0*lX", digits, (unsigned long)check->final_xor);
    if (check->low_bit_first)
        wh_text_add(text, "; least significant bit first");
    else if (check->low_byte_first)
        wh_text_add(text, "; least significant byte first");
}

/* One entry of the legend; `body` is emptied. */
static void legend(wh_text *text, char letter, wh_text *body)
{
    char label[] = "      ?";
    label[sizeof label - 2] = letter;
    wh_text_wrap(text, letter ? label : "", body->data ? body->data : "", letter ? 9 : 11, COLUMNS);
    wh_text_clear(body);
}

static void describe_rest(wh_text *text, const char *map, unsigned bits, wh_text *body)
{
    wh_places rest = {.count = 0};
    for (unsigned bit = 0; bit < bits; bit++) {
        wh_piece *const last = rest.count > 0 ? &rest.piece[rest.count - 1] : NULL;
        if (map[bit] != NO_OWNER)
            continue;
        if (last && last->at + last->length == (int)bit)
            last->length++;
        else if (rest.count < WH_PIECES_MAX)
            rest.piece[rest.count++] = (wh_piece){(uint16_t)bit, 1};
    }
    if (rest.count == 0)
        return;
    wh_places_text(body, &rest);
    wh_text_add(body, rest.count == WH_PIECES_MAX ? " and perhaps more: no meaning known" : ": no meaning known");
    legend(text, NO_OWNER, body);
}

void wh_frame_map_letters(char map[WH_FRAME_BITS_MAX + 1], const wh_descriptor *descriptor)
{
    memset(map, NO_OWNER, WH_FRAME_BITS_MAX);
    map[WH_FRAME_BITS_MAX] = '\0';
    for (unsigned i = 0; i < descriptor->field_count; i++)
        paint(map, &descriptor->fields[i].at, letter_of_field(i));
    for (unsigned i = 0; i < descriptor->check_count; i++)
        paint(map, &descriptor->checks[i].at, letter_of_check(i));
}

void wh_frame_map_text(wh_text *text, const wh_descriptor *descriptor)
{
    char map[WH_FRAME_BITS_MAX + 1];
    wh_text body = {.data = NULL};
    wh_frame_map_letters(map, descriptor);
    draw(text, map, descriptor->frame.bits_max);
    wh_text_add(text, "\n");
    for (unsigned i = 0; i < descriptor->field_count; i++) {
        const wh_field *const field = &descriptor->fields[i];
        describe_field(&body, field);
        legend(text, letter_of_field(i), &body);
        for (unsigned j = 0; j < field->code_count; j++) {
            describe_code(&body, &field->codes[j]);
            legend(text, '\0', &body);
        }
    }
    for (unsigned i = 0; i < descriptor->check_count; i++) {
        describe_check(&body, &descriptor->checks[i]);
        legend(text, letter_of_check(i), &body);
    }
    describe_rest(text, map, descriptor->frame.bits_max, &body);
    text->failed |= body.failed;
    wh_text_free(&body);
}
