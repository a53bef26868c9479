#include "board_json.h"
#include "sheet_scene.h"

#include <jansson.h>
#include <setjmp.h>
#include <stdarg.h>

#include <cmocka.h>

static json_t *board_of(sheet_scene *scene, wh_pressure_unit unit)
{
    const wh_board board = {.unit = &scene->unit,
                            .attribution = &scene->attribution,
                            .findings = &scene->findings,
                            .now_us = scene->sweep.begun_us + 90 * 1000000LL,
                            .reference_c = 20.0,
                            .site = {101.325},
                            .pressure_unit = unit};
    wh_text text = {0};
    json_error_t error;
    scene->attribution.seats[0].latest_us = scene->sweep.begun_us + 30 * 1000000LL;
    wh_board_put(&text, &board);
    assert_false(text.failed);
    json_t *json = json_loads(text.data, JSON_REJECT_DUPLICATES, &error);
    if (!json)
        fail_msg("%s at %d in %s", error.text, error.position, text.data);
    wh_text_free(&text);
    return json;
}

static const char *string_at(json_t *object, const char *key)
{
    const char *string = json_string_value(json_object_get(object, key));
    return string ? string : "(none)";
}

static json_t *wheel_at(json_t *board, size_t axle, size_t place)
{
    return json_array_get(json_object_get(json_array_get(json_object_get(board, "axles"), axle), "wheels"), place);
}

static void test_wheels_from_left_to_right(void **state)
{
    (void)state;
    sheet_scene scene;
    sheet_scene_make(&scene);
    json_t *board = board_of(&scene, WH_KPA);
    static const char *const names[2][4] = {{"1L", "1R"}, {"2LO", "2LI", "2RI", "2RO"}};
    for (size_t axle = 0; axle < 2; axle++)
        for (size_t place = 0; place < 4 && names[axle][place]; place++)
            assert_string_equal(string_at(wheel_at(board, axle, place), "position"), names[axle][place]);
    assert_null(wheel_at(board, 0, 2));
    assert_string_equal(string_at(json_array_get(json_object_get(board, "axles"), 0), "label"), "axle 4");
    json_decref(board);
}

static void test_cells(void **state)
{
    (void)state;
    sheet_scene scene;
    sheet_scene_make(&scene);
    json_t *board = board_of(&scene, WH_KPA), *wheel = wheel_at(board, 0, 0);
    assert_string_equal(string_at(wheel, "tone"), "quiet");
    assert_string_equal(string_at(wheel, "sensor"), "0A1B2C3D");
    assert_string_equal(string_at(wheel, "pressure"), "731 kPa");
    assert_string_equal(string_at(wheel, "cold"), "727 kPa"); /* see test_sheet.c */
    assert_string_equal(string_at(wheel, "target"), "724 kPa");
    assert_int_equal(json_integer_value(json_object_get(wheel, "age_s")), 60);
    assert_string_equal(string_at(wheel_at(board, 1, 0), "tone"), "fault");
    assert_string_equal(string_at(wheel_at(board, 1, 0), "word"), "far too low");
    assert_string_equal(string_at(wheel_at(board, 1, 1), "tone"), "silent");
    assert_string_equal(string_at(wheel_at(board, 1, 3), "tone"), "waiting");
    assert_null(json_object_get(wheel_at(board, 1, 3), "pressure"));
    json_decref(board);
    board = board_of(&scene, WH_PSI);
    assert_string_equal(string_at(wheel_at(board, 0, 0), "pressure"), "106.1 psi");
    json_decref(board);
}

static void test_findings_and_cautions(void **state)
{
    (void)state;
    sheet_scene scene;
    sheet_scene_make(&scene);
    json_t *board = board_of(&scene, WH_KPA), *finding = json_array_get(json_object_get(board, "findings"), 0);
    assert_string_equal(string_at(finding, "finding"), "far-too-low");
    assert_string_equal(string_at(finding, "where"), "2LO");
    assert_true(json_array_size(json_object_get(board, "cautions")) > 0);
    json_decref(board);
    scene.items[0].inflation = false;
    board = board_of(&scene, WH_KPA);
    assert_int_equal(json_array_size(json_object_get(board, "cautions")), 0);
    json_decref(board);
}

static void test_hostile_names_stay_text(void **state)
{
    (void)state;
    sheet_scene scene;
    sheet_scene_make(&scene);
    snprintf(scene.unit.name, sizeof scene.unit.name, "\"},{<script>\xFF\n");
    json_t *board = board_of(&scene, WH_KPA);
    assert_string_equal(string_at(board, "unit"), "\"},{<script>\xEF\xBF\xBD\n");
    json_decref(board);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_wheels_from_left_to_right),
        cmocka_unit_test(test_cells),
        cmocka_unit_test(test_findings_and_cautions),
        cmocka_unit_test(test_hostile_names_stay_text),
    };
    return cmocka_run_group_tests_name("board as JSON", tests, NULL, NULL);
}
