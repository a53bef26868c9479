#include "complaint.h"
#include "utf8.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

void wh_complaints_begin(wh_complaints *complaints, const char *file, const char *text, size_t length)
{
    *complaints = (wh_complaints){.file = file, .text = text, .length = length};
}

void wh_complaints_free(wh_complaints *complaints)
{
    free(complaints->items);
    complaints->items = NULL;
    complaints->count = complaints->capacity = 0;
}

/* The bytes of line `number` without its line end; an empty stretch when there is no such line. */
static const char *find_line(const wh_complaints *complaints, unsigned number, size_t *length)
{
    const char *line = complaints->text;
    const char *const end = complaints->text + complaints->length;
    for (unsigned i = 1; i < number && line < end; i++) {
        const char *const line_end = memchr(line, '\n', (size_t)(end - line));
        line = line_end ? line_end + 1 : end;
    }
    const char *const line_end = line < end ? memchr(line, '\n', (size_t)(end - line)) : NULL;
    *length = (size_t)((line_end ? line_end : end) - line);
    if (*length > 0 && line[*length - 1] == '\r')
        --*length;
    return line;
}

/* Append one character to a text of `capacity` bytes, replacing what would spoil a terminal or the caret's
 * alignment. False when it does not fit. */
static bool put_character(char *out, size_t capacity, size_t *used, const char *bytes, size_t length)
{
    const unsigned char first = (unsigned char)bytes[0];
    const bool plain = length > 1 || (first >= 0x20 && first < 0x7F);
    if (*used + (plain ? length : 1) >= capacity)
        return false;
    if (plain)
        memcpy(out + *used, bytes, length);
    else
        out[*used] = first == '\t' ? ' ' : '?';
    *used += plain ? length : 1;
    out[*used] = '\0';
    return true;
}

/* Copy the line of the complaint, or the part of a long one around the caret, and place the caret in the copy. */
static void quote_line(const wh_complaints *complaints, wh_complaint *item)
{
    enum { LEAD = 70, DOTS = 3 };
    size_t length;
    const char *const line = find_line(complaints, item->line, &length);
    const bool cut = length >= sizeof item->source_line && item->column > LEAD;
    const unsigned first = cut ? item->column - LEAD + DOTS : 1;
    size_t used = 0;
    unsigned column = 1, shown_past_caret = 0;
    if (cut)
        used = (size_t)snprintf(item->source_line, sizeof item->source_line, "...");
    for (size_t i = 0; i < length; column++) {
        const size_t bytes = wh_utf8_length(line + i, length - i);
        const size_t step = bytes ? bytes : 1;
        /* A byte that is no UTF-8 is shown as '?'. */
        if (column >= first &&
            !put_character(item->source_line, sizeof item->source_line, &used, bytes ? line + i : "\x01", step))
            break;
        shown_past_caret += column >= item->column;
        i += step;
    }
    item->caret = item->column - first + 1 + (cut ? DOTS : 0);
    if (item->width > shown_past_caret)
        item->width = shown_past_caret > 0 ? shown_past_caret : 1;
}

static bool make_room(wh_complaints *complaints)
{
    if (complaints->count < complaints->capacity)
        return true;
    const size_t capacity = complaints->capacity ? complaints->capacity * 2 : 8;
    wh_complaint *const items = realloc(complaints->items, capacity * sizeof *items);
    if (!items) {
        complaints->memory_out = true;
        return false;
    }
    complaints->items = items;
    complaints->capacity = capacity;
    return true;
}

__attribute__((format(printf, 5, 0))) static void add(wh_complaints *complaints, wh_span where, bool warning,
                                                      const char *hint, const char *format, va_list arguments)
{
    complaints->errors += !warning;
    if (complaints->count > WH_COMPLAINTS_MAX || !make_room(complaints))
        return;
    wh_complaint *const item = &complaints->items[complaints->count++];
    *item = (wh_complaint){.line = where.at.line, .column = where.at.column, .width = where.width, .warning = warning};
    snprintf(item->file, sizeof item->file, "%s", complaints->file);
    if (complaints->count > WH_COMPLAINTS_MAX) {
        snprintf(item->reason, sizeof item->reason, "too many complaints; the rest is not shown");
        item->warning = false;
    } else {
        vsnprintf(item->reason, sizeof item->reason, format, arguments);
        snprintf(item->hint, sizeof item->hint, "%s", hint ? hint : "");
    }
    wh_utf8_trim(item->file);
    wh_utf8_trim(item->reason);
    wh_utf8_trim(item->hint);
    quote_line(complaints, item);
}

void wh_complain(wh_complaints *complaints, wh_span where, const char *hint, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    add(complaints, where, false, hint, format, arguments);
    va_end(arguments);
}

void wh_warn(wh_complaints *complaints, wh_span where, const char *hint, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    add(complaints, where, true, hint, format, arguments);
    va_end(arguments);
}

static bool comes_after(const wh_complaint *a, const wh_complaint *b)
{
    return a->line > b->line || (a->line == b->line && a->column > b->column);
}

void wh_complaints_tell(wh_complaints *complaints, wh_complaint_fn tell, void *context)
{
    if (!tell)
        return;
    /* Insertion sort: stable, and there are few. */
    for (size_t i = 1; i < complaints->count; i++) {
        const wh_complaint item = complaints->items[i];
        size_t place = i;
        for (; place > 0 && comes_after(&complaints->items[place - 1], &item); place--)
            complaints->items[place] = complaints->items[place - 1];
        complaints->items[place] = item;
    }
    for (size_t i = 0; i < complaints->count; i++)
        tell(context, &complaints->items[i]);
}
