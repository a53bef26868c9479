/* The steps of a walk as a table: what is read, and that every mistake is told with its place. */
#include "walk_steps.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

typedef struct parsed {
    wh_status status;
    wh_walk_step *steps;
    size_t count;
    wh_csv_complaints complaints;
} parsed;

static parsed parse(const char *text)
{
    parsed p = {0};
    p.status = wh_walk_steps_parse(text, strlen(text), &p.steps, &p.count, &p.complaints);
    return p;
}

static void drop(parsed *p)
{
    free(p->steps);
    wh_csv_complaints_free(&p->complaints);
}

static void test_reads_steps(void **state)
{
    (void)state;
    /* As a European spreadsheet writes it: byte order mark, semicolons, decimal commas; columns in another order. */
    parsed p = parse("\xEF\xBB\xBFunit;offset_s;Action;position;sensor\r\n"
                     "Kestrel 7;1,5;stand;3lo;\r\n"
                     ";2;WOKEN;;\r\n"
                     "\r\n"
                     ";4;bind;;0a1b2c3d\r\n"
                     "T-204;7.25;repaired;;\r\n"
                     ";9;end;;\r\n");
    assert_int_equal(p.status, WH_OK);
    assert_int_equal(p.count, 5);
    assert_true(p.steps[0].offset_s == 1.5);
    assert_int_equal(p.steps[0].action, WH_EVENT_STAND);
    assert_string_equal(p.steps[0].unit, "Kestrel 7");
    assert_true(wh_position_equal(p.steps[0].position, (wh_position){3, WH_LEFT, WH_OUTER}));
    assert_int_equal(p.steps[1].action, WH_EVENT_WOKEN);
    assert_string_equal(p.steps[1].unit, "Kestrel 7"); /* as in the row above */
    assert_int_equal(p.steps[1].position.axle, 0);
    assert_string_equal(p.steps[2].sensor, "0A1B2C3D");
    assert_int_equal(p.steps[2].row, 5); /* as a spreadsheet counts: the empty row too */
    assert_string_equal(p.steps[4].unit, "T-204");
    drop(&p);
}

/* One table per mistake: row, column, and a word of what is said. */
static void test_mistakes_are_told(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        unsigned row, column;
        const char *word;
    } cases[] = {
        {"offset_s,unit\n1,A\n", 1, 0, "'action' is missing"},
        {"offset_s,action,action\n", 1, 3, "twice"},
        {"offset_s,action,position\n1,jump,1L\n", 2, 2, "'jump' is no action"},
        {"offset_s,action,position\n1,heard,1L\n", 2, 2, "'heard' is no action"}, /* an event, but not his doing */
        {"offset_s,action,position\n-1,stand,1L\n", 2, 1, "out of range"},
        {"offset_s,action,position\n1e9,stand,1L\n", 2, 1, "out of range"},
        {"offset_s,action,position\nsoon,stand,1L\n", 2, 1, "'soon' is no time"},
        {"offset_s,action,position\n,stand,1L\n", 2, 1, "is no time"},
        {"offset_s,action,position\n5,stand,1L\n4,stand,2L\n", 3, 1, "earlier"},
        {"offset_s,action,position\n1,stand,0X\n", 2, 3, "'0X' is no wheel position"},
        {"offset_s,action,position\n1,stand,\n", 2, 3, "without a position"},
        {"offset_s,action\n1,stand\n", 2, 0, "without a position"},
        {"offset_s,action,position,sensor\n1,bind,1L,\n", 2, 4, "without a sensor"},
        {"offset_s,action,unit\n1,end,"
         "a name that goes on and on until no unit of any fleet has such a one\n",
         2, 3, "more than"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        parsed p = parse(cases[i].text);
        assert_int_equal(p.status, WH_ERR_DATA);
        assert_null(p.steps);
        assert_int_equal(p.complaints.errors, 1);
        assert_int_equal(p.complaints.items[0].row, cases[i].row);
        assert_int_equal(p.complaints.items[0].column, cases[i].column);
        assert_non_null(strstr(p.complaints.items[0].what, cases[i].word));
        drop(&p);
    }
}

static void test_all_mistakes_at_once(void **state)
{
    (void)state;
    parsed p = parse("offset_s,action,position\nx,jump,9Q\ny,leap,8Q\n");
    assert_int_equal(p.complaints.errors, 6);
    drop(&p);
    p = parse("");
    assert_int_not_equal(p.status, WH_OK);
    drop(&p);
    p = parse("offset_s,action,colour\n");
    assert_int_equal(p.status, WH_OK); /* no steps, and a column nobody knows: a warning */
    assert_int_equal(p.count, 0);
    assert_int_equal(p.complaints.warnings, 1);
    drop(&p);
}

static void test_written_and_read_again(void **state)
{
    (void)state;
    static const wh_walk_step steps[] = {
        {.offset_s = 0.5, .action = WH_EVENT_STAND, .unit = "A, \"B\"", .position = {1, WH_RIGHT, WH_INNER}},
        {.offset_s = 1.234567,
         .action = WH_EVENT_BIND,
         .unit = "=1+1",
         .position = {15, WH_LEFT, WH_SINGLE},
         .sensor = "0A"},
        {.offset_s = 9999999.0, .action = WH_EVENT_LEAVE, .unit = "A, \"B\""},
    };
    wh_text text = {0};
    wh_walk_steps_text(&text, steps, 3);
    parsed p = parse(text.data);
    assert_int_equal(p.status, WH_OK);
    assert_int_equal(p.count, 3);
    for (size_t i = 0; i < 3; i++) {
        assert_true(p.steps[i].offset_s == steps[i].offset_s);
        assert_int_equal(p.steps[i].action, steps[i].action);
        assert_string_equal(p.steps[i].unit, steps[i].unit);
        assert_true(wh_position_equal(p.steps[i].position, steps[i].position));
        assert_string_equal(p.steps[i].sensor, steps[i].sensor);
    }
    drop(&p);
    wh_text_free(&text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_reads_steps),
        cmocka_unit_test(test_mistakes_are_told),
        cmocka_unit_test(test_all_mistakes_at_once),
        cmocka_unit_test(test_written_and_read_again),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
