#include "sheet_scene.h"

#include <setjmp.h>
#include <stdarg.h>

#include <cmocka.h>

static void assert_contains(const wh_text *text, const char *part)
{
    if (!strstr(text->data, part))
        fail_msg("'%s' is missing in:\n%s", part, text->data);
}

static void assert_lacks(const wh_text *text, const char *part)
{
    if (strstr(text->data, part))
        fail_msg("'%s' should not stand in:\n%s", part, text->data);
}

static wh_text made(void (*make)(wh_text *, const wh_sheet *), const wh_sheet *sheet)
{
    wh_text text = {0};
    make(&text, sheet);
    assert_false(text.failed);
    return text;
}

static void test_text_says_what_was_heard(void **state)
{
    (void)state;
    sheet_scene scene;
    sheet_scene_make(&scene);
    wh_text text = made(wh_sheet_text, &scene.sheet);
    assert_contains(&text, "WORK SHEET   unit K-17 (trailer, 2 axles)");
    /* Listening: 60 s, a pause of 15 s, 100 s. */
    assert_contains(&text, "Swept     2026-03-02 08:15:04 +01:00 to 2026-03-02 08:17:59 +01:00");
    assert_contains(&text, "listened for 160 s");
    assert_contains(&text, "interrupted 1 time, 15 s in all");
    assert_contains(&text, "[ ] 1L    - no finding   0A1B2C3D");
    assert_contains(&text, "[ ] 2LO   X far too low  0A1B2C3E");
    assert_contains(&text, "[ ] 2LI   o not heard");
    assert_contains(&text, "[ ] 2RO   . not visited");
    assert_contains(&text, "Nobody stood at: 2RO, 2RI, 1R");
    assert_lacks(&text, "taken from the record");
    assert_contains(&text, "Nothing heard at (a silent sensor is not a missing one): 2LI");
    assert_contains(&text, "[ ] 1. 2LO  pressure far too low (fault, odds 0.98)");
    assert_contains(&text, "29 CFR 1910.177");
    assert_contains(&text, "axle 4");
    assert_contains(&text, "axle 5");
    wh_text_free(&text);
}

static void test_mates_that_levels_do_not_tell(void **state)
{
    (void)state;
    sheet_scene scene;
    sheet_scene_make(&scene);
    scene.attribution.seats[1].mates_by_record = true;
    wh_text text = made(wh_sheet_text, &scene.sheet);
    assert_contains(&text, "taken from the record, levels do not tell it, at: 2LO\n");
    wh_text_free(&text);
}

static void test_ids_to_enter(void **state)
{
    (void)state;
    sheet_scene scene;
    sheet_scene_make(&scene);
    wh_text text = made(wh_sheet_text, &scene.sheet), html = made(wh_sheet_html, &scene.sheet);
    assert_contains(&text, "[ ] 2LO   0A1B2C00    0A1B2C3E    169552958     0x10");
    assert_contains(&html, "<td class='id'>0A1B2C3E</td><td class='id'>169552958</td>");
    wh_text_free(&text);
    wh_text_free(&html);
    scene.changes.count = 0;
    text = made(wh_sheet_text, &scene.sheet);
    assert_contains(&text, "No ID is to be entered");
    wh_text_free(&text);
}

static void test_after_the_repair(void **state)
{
    (void)state;
    sheet_scene scene;
    sheet_scene_make(&scene);
    wh_text text = made(wh_sheet_text, &scene.sheet);
    assert_lacks(&text, "AFTER THE REPAIR");
    wh_text_free(&text);
    scene.sheet.verification = &scene.verification;
    text = made(wh_sheet_text, &scene.sheet);
    wh_text html = made(wh_sheet_html, &scene.sheet);
    assert_contains(&text, "AFTER THE REPAIR");
    assert_contains(&text, "2LO  mended: pressure far too low\n        560 kPa gauge before, 726 kPa gauge now\n");
    assert_contains(&text, "2 of 6 wheels heard since the repair mark");
    assert_contains(&html, "<td>560 kPa gauge before, 726 kPa gauge now</td>");
    wh_text_free(&text);
    wh_text_free(&html);
}

/* Lines of a sheet end within 80 columns, whatever the layout. */
static void test_text_is_80_columns(void **state)
{
    (void)state;
    sheet_scene scene;
    sheet_scene_make(&scene);
    wh_text text = made(wh_sheet_text, &scene.sheet);
    for (const char *line = text.data; *line;) {
        const size_t length = strcspn(line, "\n");
        assert_false(length > 0 && line[length - 1] == ' ');
        if (length > 80)
            fail_msg("%zu columns: %.*s", length, (int)length, line);
        line += length + 1;
    }
    wh_text_free(&text);
}

static void test_same_data_same_bytes(void **state)
{
    (void)state;
    sheet_scene scene;
    sheet_scene_make(&scene);
    void (*const makers[])(wh_text *, const wh_sheet *) = {wh_sheet_text, wh_sheet_html};
    for (unsigned i = 0; i < 2; i++) {
        wh_text first = made(makers[i], &scene.sheet), second = made(makers[i], &scene.sheet);
        assert_string_equal(first.data, second.data);
        wh_text_free(&first);
        wh_text_free(&second);
    }
}

static void test_units_of_measure(void **state)
{
    (void)state;
    sheet_scene scene;
    sheet_scene_make(&scene);
    scene.sheet.pressure_unit = WH_PSI;
    scene.sheet.temperature_unit = WH_FAHRENHEIT;
    wh_text text = made(wh_sheet_text, &scene.sheet);
    /* 731.2 kPa / 6.894757 = 106.05 psi; 21.4 C = 70.5 F, 20 C = 68 F. Cold, by the gas law on absolute pressure:
     * (731.2 + 101.325) * 293.15 / 294.55 - 101.325 = 727.24 kPa = 105.48 psi; target 724 kPa = 105.01 psi. */
    assert_contains(&text, "0A1B2C3D     106.1    105.5   105.0     71");
    assert_contains(&text, "at 68 F");
    assert_contains(&text, "psi gauge");
    wh_text_free(&text);
}

static void test_cautions_only_with_inflation(void **state)
{
    (void)state;
    sheet_scene scene;
    sheet_scene_make(&scene);
    for (unsigned inflation = 0; inflation < 2; inflation++) {
        scene.items[0].inflation = inflation != 0;
        wh_text text = made(wh_sheet_text, &scene.sheet), html = made(wh_sheet_html, &scene.sheet);
        if (inflation) {
            assert_contains(&text, "\nCAUTION\n");
            assert_contains(&html, "class='caution'");
        } else {
            assert_lacks(&text, "\nCAUTION\n");
            assert_lacks(&html, "class='caution'");
        }
        wh_text_free(&text);
        wh_text_free(&html);
    }
}

static void test_nothing_found_claims_nothing(void **state)
{
    (void)state;
    sheet_scene scene;
    sheet_scene_make(&scene);
    scene.findings.count = 0;
    wh_text text = made(wh_sheet_text, &scene.sheet);
    assert_contains(&text, "Nothing was found. That is no proof");
    wh_text_free(&text);
}

static void test_recording_without_date(void **state)
{
    (void)state;
    sheet_scene scene;
    sheet_scene_make(&scene);
    scene.sweep.dated = false;
    for (unsigned i = 0; i < scene.sweep.event_count; i++)
        scene.events[i].at_us -= scene.sweep.begun_us;
    wh_text text = made(wh_sheet_text, &scene.sheet);
    assert_contains(&text, "Swept     0.0 s to 175.0 s");
    wh_text_free(&text);
}

/* Names come from files and may try to write markup or to steer the terminal. */
static void test_hostile_names(void **state)
{
    (void)state;
    sheet_scene scene;
    sheet_scene_make(&scene);
    snprintf(scene.unit.name, sizeof scene.unit.name, "<b>\x1b[2J&\"'");
    snprintf(scene.sweep.who, sizeof scene.sweep.who, "</title><script>x()</script>");
    snprintf(scene.items[0].unit, sizeof scene.items[0].unit, "%s", scene.unit.name);
    wh_text text = made(wh_sheet_text, &scene.sheet), html = made(wh_sheet_html, &scene.sheet);
    assert_null(strchr(text.data, 0x1b));
    assert_null(strchr(html.data, 0x1b));
    assert_lacks(&html, "<script");
    assert_lacks(&html, "<b>\x1b");
    assert_contains(&html, "&lt;b&gt;\uFFFD[2J&amp;&quot;&#39;");
    wh_text_free(&text);
    wh_text_free(&html);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_text_says_what_was_heard),
        cmocka_unit_test(test_mates_that_levels_do_not_tell),
        cmocka_unit_test(test_ids_to_enter),
        cmocka_unit_test(test_after_the_repair),
        cmocka_unit_test(test_text_is_80_columns),
        cmocka_unit_test(test_same_data_same_bytes),
        cmocka_unit_test(test_units_of_measure),
        cmocka_unit_test(test_cautions_only_with_inflation),
        cmocka_unit_test(test_nothing_found_claims_nothing),
        cmocka_unit_test(test_recording_without_date),
        cmocka_unit_test(test_hostile_names),
    };
    return cmocka_run_group_tests_name("work sheet", tests, NULL, NULL);
}
