#include "sheet_scene.h"
#include "unit_svg.h"

#include <setjmp.h>
#include <stdarg.h>

#include <cmocka.h>

static unsigned occurrences(const char *text, const char *part)
{
    unsigned count = 0;
    for (const char *p = strstr(text, part); p; p = strstr(p + 1, part))
        count++;
    return count;
}

static wh_text drawn(const wh_unit *unit, const wh_attribution *attribution)
{
    static wh_unit_cell cells[WH_WHEELS_MAX];
    wh_text text = {0};
    for (unsigned i = 0; i < unit->wheel_count; i++)
        cells[i] = (wh_unit_cell){unit->wheels[i].position, wh_wheel_state_of(&attribution->seats[i], unit->name, NULL),
                                  "724 kPa"};
    wh_unit_svg(&text, unit, cells, unit->wheel_count);
    assert_false(text.failed);
    return text;
}

static void test_every_wheel_once(void **state)
{
    (void)state;
    sheet_scene scene;
    sheet_scene_make(&scene);
    wh_text text = drawn(&scene.unit, &scene.attribution);
    assert_int_equal(occurrences(text.data, "<g class='cell "), 6);
    for (unsigned i = 0; i < scene.unit.wheel_count; i++) {
        char position[WH_POSITION_SIZE], label[16];
        snprintf(label, sizeof label, ">%s<", wh_position_text(position, scene.unit.wheels[i].position));
        assert_int_equal(occurrences(text.data, label), 1);
    }
    assert_int_equal(occurrences(text.data, "<svg"), occurrences(text.data, "</svg>"));
    assert_int_equal(occurrences(text.data, "<g"), occurrences(text.data, "</g>"));
    wh_text_free(&text);
}

static int x_of(const char *svg, const char *position)
{
    char label[32];
    int x = -1;
    snprintf(label, sizeof label, ">%s<", position);
    const char *p = strstr(svg, label);
    while (p > svg && strncmp(p, "<text x='", 9) != 0)
        p--;
    sscanf(p, "<text x='%d'", &x);
    return x;
}

/* Seen from above facing forward: left is left, and outer wheels are further out. */
static void test_sides_and_mates(void **state)
{
    (void)state;
    sheet_scene scene;
    sheet_scene_make(&scene);
    wh_text text = drawn(&scene.unit, &scene.attribution);
    assert_true(x_of(text.data, "2LO") < x_of(text.data, "2LI"));
    assert_true(x_of(text.data, "2LI") < x_of(text.data, "2RI"));
    assert_true(x_of(text.data, "2RI") < x_of(text.data, "2RO"));
    assert_true(x_of(text.data, "1L") < x_of(text.data, "1R"));
    wh_text_free(&text);
}

static void test_largest_unit(void **state)
{
    (void)state;
    static sheet_scene scene;
    bool dual[WH_AXLES_MAX];
    memset(&scene, 0, sizeof scene);
    memset(dual, 1, sizeof dual);
    assert_int_equal(wh_unit_make(&scene.unit, "long", WH_OTHER_UNIT, WH_AXLES_MAX, dual, NULL), WH_OK);
    for (unsigned i = 0; i < scene.unit.wheel_count; i++)
        scene.attribution.seats[i].position = scene.unit.wheels[i].position;
    wh_text text = drawn(&scene.unit, &scene.attribution);
    assert_int_equal(occurrences(text.data, "<g class='cell "), 60);
    wh_text_free(&text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_every_wheel_once), cmocka_unit_test(test_sides_and_mates),
                                       cmocka_unit_test(test_largest_unit)};
    return cmocka_run_group_tests_name("diagram of a unit", tests, NULL, NULL);
}
