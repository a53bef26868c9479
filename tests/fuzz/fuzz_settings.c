/* Any bytes as a settings file: no crash, no hang, every refusal says why; what can be edited reads as it was meant. */
#include "fuzz_target.h"
#include "settings.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void insist(bool holds, const char *what)
{
    if (!holds) {
        fprintf(stderr, "broken promise: %s\n", what);
        abort();
    }
}

static wh_status read_text(const char *text, size_t length, wh_settings *settings)
{
    wh_complaints complaints;
    wh_complaints_begin(&complaints, "settings.yaml", text, length);
    const wh_status status = wh_settings_read(settings, NULL, &complaints);
    insist((status != WH_OK) == (complaints.errors > 0), "a refusal says why");
    wh_complaints_free(&complaints);
    return status;
}

/* Give a setting another value; every other one must stay as it was. */
static void edit(const char *text, size_t length, const wh_settings *before, const char *name, const char *value)
{
    wh_text out = {0};
    wh_error error;
    wh_settings after;
    const wh_status status = wh_settings_edit(text, length, name, value, &out, &error);
    insist(status == WH_OK || error.what[0], "a refusal says why");
    if (status == WH_OK) {
        const size_t changed = wh_setting_find(name, &error);
        insist(read_text(out.data ? out.data : "", out.length, &after) == WH_OK, "an edited file can be read");
        for (size_t i = 0; i < wh_setting_count(); i++) {
            char one[WH_SETTING_TEXT_SIZE], other[WH_SETTING_TEXT_SIZE];
            wh_setting_text(before, i, one);
            wh_setting_text(&after, i, other);
            insist(i == changed || strcmp(one, other) == 0, "the other settings stay");
        }
    }
    wh_text_free(&out);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    char *text = malloc(size + 1);
    if (!text)
        return 0;
    memcpy(text, data, size);
    text[size] = '\0';
    wh_settings settings;
    if (read_text(text, size, &settings) == WH_OK) {
        edit(text, size, &settings, "who", "K: \"#\" \\");
        edit(text, size, &settings, "low share", "91 %");
        edit(text, size, &settings, "pressure", NULL);
    }
    free(text);
    return 0;
}
