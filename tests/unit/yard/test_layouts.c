#include "layouts.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

/* Every named layout makes a unit, has a name of its own, and can be written out and read as a list of axles. */
static void test_named(void **state)
{
    (void)state;
    for (size_t i = 0; i < wh_layout_count; i++) {
        const wh_layout *layout = &wh_layouts[i];
        wh_layout found, listed;
        wh_unit unit;
        char axles[WH_AXLES_TEXT_SIZE];
        assert_int_equal(wh_layout_parse(layout->name, &found, NULL), WH_OK);
        assert_string_equal(found.name, layout->name); /* the first of that name */
        assert_ptr_equal(found.summary, layout->summary);
        assert_int_equal(wh_unit_make(&unit, "x", found.kind, found.axle_count, found.dual, NULL), WH_OK);
        wh_axles_text(axles, layout->axle_count, layout->dual);
        assert_int_equal(wh_layout_parse(axles, &listed, NULL), WH_OK);
        assert_int_equal(listed.axle_count, layout->axle_count);
        assert_memory_equal(listed.dual, layout->dual, layout->axle_count * sizeof(bool));
    }
}

/* The eighteen wheels of a three-axle tractor with a tandem trailer: the trade calls the combination after them. */
static void test_eighteen_wheels(void **state)
{
    (void)state;
    wh_layout tractor, trailer;
    wh_unit one, two;
    assert_int_equal(wh_layout_parse("Tractor-Three-Axle", &tractor, NULL), WH_OK);
    assert_int_equal(wh_layout_parse("trailer-tandem", &trailer, NULL), WH_OK);
    assert_int_equal(wh_unit_make(&one, "a", tractor.kind, tractor.axle_count, tractor.dual, NULL), WH_OK);
    assert_int_equal(wh_unit_make(&two, "b", trailer.kind, trailer.axle_count, trailer.dual, NULL), WH_OK);
    assert_int_equal(one.wheel_count + two.wheel_count, 18);
    assert_int_equal(one.kind, WH_TRACTOR);
    assert_int_equal(two.kind, WH_TRAILER);
}

static void test_lists(void **state)
{
    (void)state;
    wh_layout layout;
    char axles[WH_AXLES_TEXT_SIZE], longest[WH_AXLES_MAX * 8 + 16] = "";
    assert_int_equal(wh_layout_parse(" Single,dual  DUAL,", &layout, NULL), WH_OK);
    assert_string_equal(wh_axles_text(axles, layout.axle_count, layout.dual), "single, dual, dual");
    assert_int_equal(layout.kind, WH_OTHER_UNIT);
    for (int i = 0; i < WH_AXLES_MAX; i++)
        strcat(longest, i ? ", single" : "single");
    assert_int_equal(wh_layout_parse(longest, &layout, NULL), WH_OK);
    assert_int_equal(layout.axle_count, WH_AXLES_MAX);
    assert_string_equal(wh_axles_text(axles, layout.axle_count, layout.dual), longest);
}

static void expect_refused(const char *text, wh_status status, const char *what, const char *fix)
{
    wh_layout layout = {.axle_count = 77};
    wh_error error = {0};
    assert_int_equal(wh_layout_parse(text, &layout, &error), status);
    if (!strstr(error.what, what) || !strstr(error.fix, fix))
        fail_msg("'%s': %s / %s", text, error.what, error.fix);
    assert_int_equal(layout.axle_count, 77);
}

static void test_refused(void **state)
{
    (void)state;
    char too_long[(WH_AXLES_MAX + 1) * 8] = "";
    for (int i = 0; i <= WH_AXLES_MAX; i++)
        strcat(too_long, "dual ");
    expect_refused("trailer-tandom", WH_ERR_NOT_FOUND, "trailer-tandom", "'trailer-tandem'");
    expect_refused("boat", WH_ERR_NOT_FOUND, "boat", "layouts");
    expect_refused("single, duel, dual", WH_ERR_NOT_FOUND, "axle 2", "'dual'");
    expect_refused("", WH_ERR_ARGUMENT, "not 0", "list");
    expect_refused(too_long, WH_ERR_ARGUMENT, "not 16", "list");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_named),
        cmocka_unit_test(test_eighteen_wheels),
        cmocka_unit_test(test_lists),
        cmocka_unit_test(test_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
