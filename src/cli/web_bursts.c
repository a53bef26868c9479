#include "web_bursts.h"

#include "archive_writer.h"
#include "burst_page.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Digits alone: strtoull would take blanks and signs. */
static bool whole_number(const char *text, uint64_t *number)
{
    if (!text || !text[0] || text[strspn(text, "0123456789")])
        return false;
    errno = 0;
    *number = strtoull(text, NULL, 10);
    return errno == 0;
}

static bool give_gone(wh_web_body *body, const char *what)
{
    wh_text text = {0};
    body->status = 404;
    wh_text_print(&text, "%s\nSave a burst while it is among the last in the list.\n", what);
    return wh_web_body_take(body, &text, "text/plain; charset=utf-8");
}

static bool give_recording(wh_web_body *body, const wh_shelf_burst *burst, char file_name[WH_BURST_FILE_SIZE])
{
    char name[WH_BURST_NAME_SIZE];
    wh_text meta = {0}, archive = {0};
    if (!burst->cut.samples)
        return give_gone(body, "The samples of this burst are no longer remembered.");
    const bool decoded = burst->burst.reason == WH_REASON_DECODED;
    wh_burst_page_name(name, &burst->burst);
    wh_burst_cut_meta(&meta, &burst->cut, "wheelhark serve", decoded ? "read" : "not read");
    if (!meta.failed)
        wh_archive_write(&archive, name, meta.data, meta.length, burst->cut.samples, wh_burst_cut_bytes(&burst->cut));
    archive.failed |= meta.failed;
    wh_text_free(&meta);
    snprintf(file_name, WH_BURST_FILE_SIZE, "%s.sigmf", name);
    body->file_name = file_name;
    return wh_web_body_take(body, &archive, "application/octet-stream");
}

bool wh_web_burst_get(wh_burst_shelf *shelf, const wh_descriptor_set *descriptors, const wh_web_query *query,
                      char file_name[WH_BURST_FILE_SIZE], wh_web_body *body)
{
    const char *form = wh_web_query_value(query, "form");
    uint64_t number;
    if (!whole_number(wh_web_query_value(query, "number"), &number) || (form && strcmp(form, "sigmf") != 0))
        return false;
    wh_shelf_burst *burst = calloc(1, sizeof *burst);
    if (!burst || !wh_burst_shelf_copy(shelf, number, burst)) {
        free(burst);
        return give_gone(body, "This burst is no longer remembered.");
    }
    bool given;
    if (form) {
        given = give_recording(body, burst, file_name);
    } else {
        wh_text html = {0};
        wh_burst_page(burst, descriptors, wh_web_query_value(query, "token"), &html);
        body->own_style = true;
        given = wh_web_body_take(body, &html, "text/html; charset=utf-8");
    }
    wh_burst_cut_free(&burst->cut);
    free(burst);
    return given;
}
