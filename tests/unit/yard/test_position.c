#include "wheelhark/position.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

static void expect(const char *text, wh_position position)
{
    char written[WH_POSITION_SIZE];
    wh_position read = {0};
    assert_string_equal(wh_position_text(written, position), text);
    assert_true(wh_position_parse(text, &read));
    assert_true(wh_position_equal(read, position));
}

static void test_codes(void **state)
{
    (void)state;
    expect("1L", (wh_position){1, WH_LEFT, WH_SINGLE});
    expect("1R", (wh_position){1, WH_RIGHT, WH_SINGLE});
    expect("3LO", (wh_position){3, WH_LEFT, WH_OUTER});
    expect("15RI", (wh_position){15, WH_RIGHT, WH_INNER});
}

/* Every position there is has a code of its own, and it is read back. */
static void test_all_differ(void **state)
{
    (void)state;
    char seen[WH_AXLES_MAX * WH_SIDE_COUNT * WH_PLACE_COUNT][WH_POSITION_SIZE];
    size_t count = 0;
    for (uint8_t axle = 1; axle <= WH_AXLES_MAX; axle++) {
        for (uint8_t side = 0; side < WH_SIDE_COUNT; side++) {
            for (uint8_t place = 0; place < WH_PLACE_COUNT; place++) {
                const wh_position position = {axle, side, place};
                wh_position_text(seen[count], position);
                expect(seen[count], position);
                for (size_t i = 0; i < count; i++)
                    assert_string_not_equal(seen[i], seen[count]);
                count++;
            }
        }
    }
}

static void test_written_by_people(void **state)
{
    (void)state;
    wh_position position;
    assert_true(wh_position_parse("  3lo\t", &position));
    assert_true(wh_position_equal(position, (wh_position){3, WH_LEFT, WH_OUTER}));
    assert_true(wh_position_parse("02r", &position));
    assert_true(wh_position_equal(position, (wh_position){2, WH_RIGHT, WH_SINGLE}));
}

static void test_no_position(void **state)
{
    (void)state;
    static const char *const texts[] = {"",   " ",   "-",    "3",    "L",    "0L",  "16L", "100L",
                                        "3X", "3LX", "3LOO", "3L O", "3 LO", "-1L", "1L1", "L1"};
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        wh_position position = {7, WH_RIGHT, WH_INNER};
        if (wh_position_parse(texts[i], &position))
            fail_msg("'%s' was taken for a position", texts[i]);
        assert_true(wh_position_equal(position, (wh_position){7, WH_RIGHT, WH_INNER})); /* left alone */
    }
}

static void test_nowhere(void **state)
{
    (void)state;
    char text[WH_POSITION_SIZE];
    assert_string_equal(wh_position_text(text, (wh_position){0}), "-");
    assert_string_equal(wh_position_text(text, (wh_position){1, WH_SIDE_COUNT, WH_SINGLE}), "-");
    assert_string_equal(wh_position_text(text, (wh_position){1, WH_LEFT, WH_PLACE_COUNT}), "-");
    assert_string_equal(wh_position_text(text, (wh_position){255, WH_LEFT, WH_OUTER}), "255LO");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_codes),       cmocka_unit_test(test_all_differ), cmocka_unit_test(test_written_by_people),
        cmocka_unit_test(test_no_position), cmocka_unit_test(test_nowhere),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
