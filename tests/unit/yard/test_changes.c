#include "changes.h"

#include "judged_unit.h"

static judged_unit u;
static wh_changes changes;

static void list(void)
{
    wh_error error = {0};
    assert_int_equal(wh_roster_put(u.roster, &u.unit, NULL), WH_OK);
    assert_int_equal(wh_changes_of(u.roster, "T-101", &u.attribution, 0.9, &changes, &error), WH_OK);
}

static const wh_change *change_at(const char *position)
{
    for (unsigned i = 0; i < changes.count; i++) {
        if (wh_position_equal(changes.items[i].position, at(position)))
            return &changes.items[i];
    }
    fail_msg("no change at %s", position);
    return changes.items;
}

static void test_nothing_to_change(void **state)
{
    (void)state;
    begin(&u);
    list();
    assert_int_equal(changes.count, 0);
    silence(&u, "1L"); /* silence changes no record */
    list();
    assert_int_equal(changes.count, 0);
    end(&u);
}

/* 0x0A1B2C40 = 169552960, 0x0A1B2C01 = 169552897. Codes: axle 2, left outer of a dual: SAE J1939 counts axles and tires from 0,
 * so 0x10; the centre-8 byte counts axles from 1 and has 8 in the middle, so 0x26; the middle one of three axles is "centre" in
 * ANSI X12 element 302: LOC. Axle 1, left single: 0x00, 0x17, LF. */
static void test_new_sensor(void **state)
{
    (void)state;
    begin(&u);
    put_sensor(&u, "2LO", "0A1B2C40");
    put_sensor(&u, "1L", "0A1B2C41");
    list();
    assert_int_equal(changes.count, 2);
    const wh_change *change = change_at("2LO");
    assert_int_equal(change->kind, WH_IDENTITY_NEW);
    assert_string_equal(change->old_sensor, "0A1B2C01");
    assert_string_equal(change->old_decimal, "169552897");
    assert_string_equal(change->new_sensor, "0A1B2C40");
    assert_string_equal(change->new_decimal, "169552960");
    assert_true(change->has_j1939 && change->has_centre8);
    assert_int_equal(change->j1939, 0x10);
    assert_int_equal(change->centre8, 0x26);
    assert_string_equal(change->x12, "LOC");
    assert_false(change->confirm);
    assert_int_equal(change_at("1L")->j1939, 0x00);
    assert_int_equal(change_at("1L")->centre8, 0x17);
    assert_string_equal(change_at("1L")->x12, "LF");
    end(&u);
}

static void test_no_record_before(void **state)
{
    (void)state;
    begin(&u);
    wheel_at(&u, "1L")->sensor[0] = '\0';
    list();
    assert_int_equal(changes.count, 1);
    assert_string_equal(change_at("1L")->old_sensor, "");
    assert_string_equal(change_at("1L")->old_decimal, "");
    assert_string_equal(change_at("1L")->new_sensor, "0A1B2C00");
    end(&u);
}

/* A circle: every wheel of it in one list, so that no ID stands at two wheels when all is entered. */
static void test_circle(void **state)
{
    (void)state;
    begin(&u);
    put_sensor(&u, "1L", "0A1B2C01");
    put_sensor(&u, "2LO", "0A1B2C09");
    put_sensor(&u, "1R", "0A1B2C00");
    list();
    assert_int_equal(changes.count, 3);
    assert_string_equal(change_at("1L")->new_sensor, "0A1B2C01");
    assert_string_equal(change_at("2LO")->new_sensor, "0A1B2C09");
    assert_string_equal(change_at("1R")->new_sensor, "0A1B2C00");
    assert_true(wh_position_equal(change_at("1R")->other, at("1L")));
    end(&u);
}

/* The sensor of 1L went to 2LO and nothing is known at 1L: its ID must not stay there. */
static void test_take_off_the_record(void **state)
{
    (void)state;
    begin(&u);
    put_sensor(&u, "2LO", "0A1B2C00");
    silence(&u, "1L");
    list();
    assert_int_equal(changes.count, 2);
    assert_int_equal(change_at("1L")->kind, WH_IDENTITY_EMPTY);
    assert_string_equal(change_at("1L")->old_sensor, "0A1B2C00");
    assert_string_equal(change_at("1L")->new_sensor, "");
    end(&u);
}

/* After all is entered the next list is empty. */
static void test_entered_as_listed(void **state)
{
    (void)state;
    begin(&u);
    put_sensor(&u, "1L", "0A1B2C01");
    put_sensor(&u, "2LO", "0A1B2C00");
    put_sensor(&u, "3RI", "0A1B2D05");
    put_sensor(&u, "1R", "0A1B2C40");
    list();
    assert_int_equal(changes.count, 4);
    assert_string_equal(change_at("3RI")->other_unit, "T-102");
    for (unsigned i = 0; i < changes.count; i++)
        memcpy(wh_unit_wheel(&u.unit, changes.items[i].position)->sensor, changes.items[i].new_sensor, WH_SENSOR_SIZE);
    list();
    assert_int_equal(changes.count, 0);
    end(&u);
}

/* What is not sure is not entered; what was heard once only is to be heard again; a nickname is no ID. */
static void test_only_what_is_sure(void **state)
{
    (void)state;
    begin(&u);
    wh_seat *seat = put_sensor(&u, "2LO", "0A1B2C40");
    seat->readings = 1;
    list();
    assert_true(change_at("2LO")->confirm);
    seat->state = WH_SEAT_UNSURE;
    seat->odds = 0.8;
    list();
    assert_int_equal(changes.count, 0);
    put_sensor(&u, "2LO", "~4F0211");
    list();
    assert_int_equal(changes.count, 0);
    end(&u);
}

static void test_wrong_unit(void **state)
{
    (void)state;
    begin(&u);
    wh_error error;
    assert_int_equal(wh_changes_of(u.roster, "T-102", &u.attribution, 0.9, &changes, &error), WH_ERR_ARGUMENT);
    assert_int_equal(wh_changes_of(u.roster, "T-999", &u.attribution, 0.9, &changes, &error), WH_ERR_NOT_FOUND);
    end(&u);
}

/* What the change list says is what is on record afterwards; what was heard once only waits. */
static void test_accepting(void **state)
{
    (void)state;
    unsigned accepted, held;
    begin(&u);
    put_sensor(&u, "2LO", "0A1B2C40");
    put_sensor(&u, "1L", "0A1B2C41");
    list();
    changes.items[0].confirm = true;
    const wh_position first = changes.items[0].position, second = changes.items[1].position;
    const char *const new_sensor = changes.items[1].new_sensor;
    assert_int_equal(wh_changes_accept(u.roster, "T-101", &changes, false, &accepted, &held, NULL), WH_OK);
    assert_int_equal(accepted, 1);
    assert_int_equal(held, 1);
    const wh_unit *unit = wh_roster_find(u.roster, "T-101");
    assert_string_equal(wh_unit_wheel_const(unit, first)->sensor, changes.items[0].old_sensor);
    assert_string_equal(wh_unit_wheel_const(unit, second)->sensor, new_sensor);
    assert_int_equal(wh_changes_accept(u.roster, "T-101", &changes, true, &accepted, &held, NULL), WH_OK);
    assert_int_equal(accepted, 2);
    assert_int_equal(held, 0);
    unit = wh_roster_find(u.roster, "T-101");
    assert_string_equal(wh_unit_wheel_const(unit, first)->sensor, changes.items[0].new_sensor);
    assert_int_equal(wh_changes_accept(u.roster, "nobody", &changes, true, &accepted, &held, NULL), WH_ERR_NOT_FOUND);
    end(&u);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_accepting),
        cmocka_unit_test(test_nothing_to_change),
        cmocka_unit_test(test_new_sensor),
        cmocka_unit_test(test_no_record_before),
        cmocka_unit_test(test_circle),
        cmocka_unit_test(test_take_off_the_record),
        cmocka_unit_test(test_entered_as_listed),
        cmocka_unit_test(test_only_what_is_sure),
        cmocka_unit_test(test_wrong_unit),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
