#include "finding_report.h"
#include "sheet_scene.h"

#include <setjmp.h>
#include <stdarg.h>

#include <cmocka.h>

static void test_json(void **state)
{
    (void)state;
    sheet_scene scene;
    sheet_scene_make(&scene);
    wh_text text = {0};
    wh_finding_put_json(&text, &scene.items[0], true, scene.events[3].at_us);
    assert_string_equal(
        text.data,
        "{\"record\":\"finding\",\"at\":\"2026-03-02T07:17:59.000000Z\",\"unit\":\"K-17\",\"position\":\"2LO\","
        "\"finding\":\"far-too-low\",\"severity\":\"fault\",\"odds\":0.988,\"sensor\":\"0A1B2C3E\",\"gauge_kpa\":560.0,"
        "\"cold_gauge_kpa\":565.4,\"target_gauge_kpa\":724.0,\"inflation\":true,"
        "\"evidence\":\"560 kPa gauge at 18 C, target 724 kPa cold\",\"rule\":\"at or below 80 % of target\","
        "\"rule_source\":\"29 CFR 1910.177\",\"remedy\":\"Do not add air. Deflate, take the wheel off, inspect.\"}\n");
    wh_text_free(&text);
}

static void test_where(void **state)
{
    (void)state;
    sheet_scene scene;
    sheet_scene_make(&scene);
    wh_finding *finding = &scene.items[0];
    wh_text text = {0};
    wh_finding_where(&text, finding);
    assert_string_equal(text.data, "2LO");
    finding->other = (wh_position){2, WH_RIGHT, WH_OUTER};
    wh_text_clear(&text);
    wh_finding_where(&text, finding);
    assert_string_equal(text.data, "2LO and 2RO");
    snprintf(finding->other_unit, sizeof finding->other_unit, "T-12");
    wh_text_clear(&text);
    wh_finding_where(&text, finding);
    assert_string_equal(text.data, "2LO and T-12 2RO");
    wh_text_free(&text);
}

static void test_text(void **state)
{
    (void)state;
    sheet_scene scene;
    sheet_scene_make(&scene);
    wh_text text = {0};
    wh_finding_put_text(&text, "3. ", &scene.items[0], 60);
    assert_string_equal(text.data, "3. 2LO  pressure far too low (fault, odds 0.98)\n"
                                   "        heard  560 kPa gauge at 18 C, target 724 kPa cold\n"
                                   "        do     Do not add air. Deflate, take the wheel off,\n"
                                   "               inspect.\n"
                                   "        rule   at or below 80 % of target (29 CFR 1910.177)\n");
    wh_text_free(&text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_json), cmocka_unit_test(test_where),
                                       cmocka_unit_test(test_text)};
    return cmocka_run_group_tests_name("findings as records", tests, NULL, NULL);
}
