#include "roster_csv.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

/* One kind of sensor is known, with 7 hex digits. */
static unsigned digits_of(void *context, const char *descriptor)
{
    (void)context;
    return strcmp(descriptor, "seven") == 0 ? 7 : 0;
}

static wh_roster_csv_options options;
static wh_roster_csv_tally tally;
static wh_csv_complaints complaints;

static int reset(void **state)
{
    (void)state;
    options = (wh_roster_csv_options){0};
    wh_csv_complaints_free(&complaints);
    return 0;
}

static wh_roster *read_onto(const wh_roster *existing, const char *text)
{
    wh_roster *roster;
    wh_csv_complaints_free(&complaints);
    const wh_status status = wh_roster_csv_read(text, strlen(text), &options, existing, &roster, &tally, &complaints);
    if (status != WH_OK)
        fail_msg("%s: %u:%u: %s", wh_status_name(status), complaints.count ? complaints.items[0].row : 0,
                 complaints.count ? complaints.items[0].column : 0, complaints.count ? complaints.items[0].what : "");
    return roster;
}

static const wh_wheel *wheel_at(const wh_roster *roster, const char *unit, const char *position)
{
    wh_position at;
    assert_true(wh_position_parse(position, &at));
    const wh_unit *found = wh_roster_find(roster, unit);
    assert_non_null(found);
    const wh_wheel *wheel = wh_unit_wheel_const(found, at);
    assert_non_null(wheel);
    return wheel;
}

static bool near(double a, double b)
{
    return a - b < 1e-6 && b - a < 1e-6;
}

static void test_plain_table(void **state)
{
    (void)state;
    wh_roster *roster =
        read_onto(NULL, "unit,kind,position,sensor hex,target kPa,sidewall maximum kPa,load note,"
                        "carrier MHz,first axle,unit note\r\n"
                        "T-12,trailer,1LO,0A1B2C3D,724,830,load range G,433.92,4,\"leased, till May\"\r\n"
                        "T-12,,1LI,0x0a1b2c3e,,,,,,\r\n"
                        "T-12,,1RI,,,,,,,\r\n");
    const wh_unit *unit = wh_roster_find(roster, "T-12");
    assert_int_equal(unit->kind, WH_TRAILER);
    assert_int_equal(unit->axle_count, 1);
    assert_true(unit->dual[0]);
    assert_int_equal(unit->wheel_count, 4);
    assert_int_equal(unit->first_axle, 4);
    assert_true(unit->carrier_hz == 433.92e6);
    assert_string_equal(unit->note, "leased, till May");
    assert_string_equal(wheel_at(roster, "T-12", "1LO")->sensor, "0A1B2C3D");
    assert_true(wheel_at(roster, "T-12", "1LO")->target.kpa == 724.0);
    assert_true(wheel_at(roster, "T-12", "1LO")->sidewall_max.kpa == 830.0);
    assert_string_equal(wheel_at(roster, "T-12", "1LO")->load_note, "load range G");
    assert_string_equal(wheel_at(roster, "T-12", "1LI")->sensor, "0A1B2C3E");
    assert_string_equal(wheel_at(roster, "T-12", "1RO")->sensor, "");
    assert_int_equal(complaints.count, 0);
    assert_true(tally.units == 1 && tally.new_units == 1 && tally.wheels == 3 && tally.sensors == 2);
    wh_roster_destroy(&roster);
}

/* 1 psi = 6.894757 kPa and 1 bar = 100 kPa (NIST SP 811). */
static void test_units_by_header(void **state)
{
    (void)state;
    wh_roster *roster = read_onto(NULL, "\xEF\xBB\xBFUNIT;Position;Target (psi gauge);sidewall_max_bar\r\n"
                                        "7;1l;105;8,3\r\n"
                                        "7;1r;100;8.3\r\n");
    assert_true(near(wheel_at(roster, "7", "1L")->target.kpa, 723.949485));
    assert_true(near(wheel_at(roster, "7", "1R")->target.kpa, 689.4757));
    assert_true(near(wheel_at(roster, "7", "1L")->sidewall_max.kpa, 830.0));
    assert_int_equal(complaints.warnings, 1); /* the comma is told, once */
    assert_true(complaints.items[0].row == 2 && complaints.items[0].column == 4);
    wh_roster_destroy(&roster);
}

static void test_decimal_ids(void **state)
{
    (void)state;
    options.digits_of = digits_of;
    wh_roster *roster = read_onto(NULL, "unit,position,sensor decimal,descriptor\n"
                                        "7,1L,305419896,\n"
                                        "7,1R,42,\n"
                                        "7,2L,42,seven\n"
                                        "7,2R,0xFF,\n");
    assert_string_equal(wheel_at(roster, "7", "1L")->sensor, "12345678");
    assert_string_equal(wheel_at(roster, "7", "1R")->sensor, "0000002A");
    assert_string_equal(wheel_at(roster, "7", "2L")->sensor, "000002A");
    assert_string_equal(wheel_at(roster, "7", "2R")->sensor, "FF");
    assert_int_equal(complaints.count, 0);
    wh_roster_destroy(&roster);
    options.id_digits = 6;
    roster = read_onto(NULL, "unit,position,sensor decimal\n7,1L,42\n");
    assert_string_equal(wheel_at(roster, "7", "1L")->sensor, "00002A");
    wh_roster_destroy(&roster);
}

static void test_axles(void **state)
{
    (void)state;
    wh_roster *roster = read_onto(NULL, "unit,axles,position,sensor hex\n"
                                        "A,\"single, dual, dual\",,\n"
                                        "B,trailer-tandem,2RO,0x12345678\n");
    assert_int_equal(wh_roster_find(roster, "A")->wheel_count, 10);
    assert_int_equal(wh_roster_find(roster, "B")->wheel_count, 8);
    assert_int_equal(wh_roster_find(roster, "B")->kind, WH_TRAILER);
    wh_roster_destroy(&roster);
}

/* Units not in the table stay; of those in it, columns it lacks stay, and empty cells empty. */
static void test_onto_existing(void **state)
{
    (void)state;
    wh_roster *old = read_onto(NULL, "unit,kind,position,sensor hex,target kPa,load note\n"
                                     "1,tractor,1L,0x11111111,700,G\n1,,1R,0x22222222,700,G\n1,,2L,0x33333333,700,G\n"
                                     "2,trailer,1L,0x44444444,800,H\n");
    wh_roster *now = read_onto(old, "unit,position,sensor hex,load note\n1,1R,0x55555555,\n3,1L,,\n");
    assert_int_equal(wh_roster_count(now), 3);
    assert_int_equal(wh_roster_find(now, "1")->kind, WH_TRACTOR);
    assert_int_equal(wh_roster_find(now, "1")->axle_count, 2);
    assert_string_equal(wheel_at(now, "1", "1L")->sensor, "11111111");
    assert_string_equal(wheel_at(now, "1", "1R")->sensor, "55555555");
    assert_true(wheel_at(now, "1", "1R")->target.kpa == 700.0);
    assert_string_equal(wheel_at(now, "1", "1R")->load_note, "");
    assert_string_equal(wheel_at(now, "1", "1L")->load_note, "G");
    assert_string_equal(wheel_at(now, "2", "1L")->sensor, "44444444");
    assert_true(tally.units == 2 && tally.new_units == 1);
    assert_string_equal(wheel_at(old, "1", "1R")->sensor, "22222222"); /* the old one is not touched */
    wh_roster_destroy(&now);
    wh_roster_destroy(&old);
}

static void test_sensor_at_two_wheels(void **state)
{
    (void)state;
    wh_roster *old = read_onto(NULL, "unit,position,sensor hex\n1,1L,0x11111111\n2,1L,0x22222222\n2,1R,0x22222222\n");
    assert_int_equal(complaints.warnings, 1);
    assert_true(complaints.items[0].row == 4 && complaints.items[0].column == 3);
    assert_non_null(strstr(complaints.items[0].what, "2 1L and 2 1R"));
    wh_roster *now = read_onto(old, "unit,position,sensor hex\n3,1L,0x11111111\n");
    assert_int_equal(complaints.warnings, 1); /* that of unit 2 was there before */
    assert_true(complaints.items[0].row == 2 && complaints.items[0].column == 3);
    assert_non_null(strstr(complaints.items[0].what, "1 1L and 3 1L"));
    wh_roster_destroy(&now);
    wh_roster_destroy(&old);
}

/* The roster, written, read and written again: the same bytes. */
static void check_round_trip(const wh_roster *roster, wh_pressure_unit unit)
{
    wh_text first = {0}, second = {0};
    wh_roster_csv_write(&first, roster, unit);
    wh_roster *again = read_onto(NULL, first.data);
    wh_roster_csv_write(&second, again, unit);
    assert_string_equal(first.data, second.data);
    assert_int_equal(wh_roster_count(again), wh_roster_count(roster));
    for (size_t i = 0; i < wh_roster_count(roster); i++) {
        const wh_unit *one = wh_roster_at(roster, i), *other = wh_roster_at(again, i);
        assert_string_equal(one->name, other->name);
        assert_string_equal(one->note, other->note);
        assert_true(one->kind == other->kind && one->axle_count == other->axle_count &&
                    one->first_axle == other->first_axle && one->carrier_hz == other->carrier_hz);
        for (unsigned w = 0; w < one->wheel_count; w++) {
            assert_true(wh_position_equal(one->wheels[w].position, other->wheels[w].position));
            assert_string_equal(one->wheels[w].sensor, other->wheels[w].sensor);
            assert_string_equal(one->wheels[w].descriptor, other->wheels[w].descriptor);
            assert_string_equal(one->wheels[w].load_note, other->wheels[w].load_note);
            assert_true(one->wheels[w].target.kpa - other->wheels[w].target.kpa < 1e-4 &&
                        other->wheels[w].target.kpa - one->wheels[w].target.kpa < 1e-4);
        }
    }
    wh_roster_destroy(&again);
    wh_text_free(&first);
    wh_text_free(&second);
}

/* Names made to break tables, spreadsheets and terminals. */
static const char *const hostile[] = {
    "=HYPERLINK(\"x\")", "+1",    "-2",   "@sum",          "'=x",   "''", "a,b",  "a;b", "say \"hi\"", "\"",
    "4.29E+09",          "00042", "0x12", "Ä\xE2\x98\xA0", "sep=;", "#",  "unit", "1L",  "null"};

static void test_hostile_names(void **state)
{
    (void)state;
    wh_roster *roster = wh_roster_create();
    const bool dual[] = {false, true};
    for (size_t i = 0; i < sizeof hostile / sizeof hostile[0]; i++) {
        wh_unit unit;
        assert_int_equal(wh_unit_make(&unit, hostile[i], (wh_unit_kind)(i % WH_UNIT_KIND_COUNT), 2, dual, NULL), WH_OK);
        snprintf(unit.note, sizeof unit.note, "%s", hostile[(i + 1) % 16]);
        for (unsigned w = 0; w < unit.wheel_count; w++) {
            snprintf(unit.wheels[w].sensor, sizeof unit.wheels[w].sensor, "%08X", (unsigned)(i * 10 + w));
            snprintf(unit.wheels[w].load_note, sizeof unit.wheels[w].load_note, "%s", hostile[(i + w) % 16]);
            unit.wheels[w].target.kpa = wh_kpa_from(95 + (double)w, WH_PSI);
            unit.wheels[w].sidewall_max.kpa = 830;
        }
        snprintf(unit.wheels[1].sensor, sizeof unit.wheels[1].sensor, "~%06X", (unsigned)i);
        unit.wheels[2].sensor[0] = '\0';
        unit.carrier_hz = 433.92e6;
        assert_int_equal(wh_roster_put(roster, &unit, NULL), WH_OK);
    }
    for (int unit = 0; unit < WH_PRESSURE_UNIT_COUNT; unit++)
        check_round_trip(roster, (wh_pressure_unit)unit);
    wh_roster_destroy(&roster);
}

static void test_written(void **state)
{
    (void)state;
    wh_roster *roster =
        read_onto(NULL, "unit,kind,position,sensor hex,target psi\n=1,dolly,1L,01234567,100\n=1,,1R,,\n");
    wh_text text = {0};
    wh_roster_csv_write(&text, roster, WH_PSI);
    assert_string_equal(text.data,
                        "unit,kind,first axle,position,sensor hex,descriptor,target psi,sidewall maximum psi,"
                        "load note,carrier MHz,unit note\r\n"
                        "'=1,dolly,1,1L,0x01234567,,100,,,,\r\n"
                        "'=1,dolly,1,1R,,,,,,,\r\n");
    wh_text_free(&text);
    wh_roster_destroy(&roster);
}

static void test_exact_pressures(void **state)
{
    (void)state;
    char text[WH_PRESSURE_TEXT_SIZE];
    assert_string_equal(wh_pressure_exact(text, (wh_gauge){724.0}, WH_KPA), "724");
    assert_string_equal(wh_pressure_exact(text, (wh_gauge){689.4757}, WH_PSI), "100");
    assert_string_equal(wh_pressure_exact(text, (wh_gauge){689.4757}, WH_KPA), "689.4757");
    assert_string_equal(wh_pressure_exact(text, (wh_gauge){830.0}, WH_BAR), "8.3");
    assert_string_equal(wh_pressure_exact(text, (wh_gauge){0.0}, WH_BAR), "");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup(test_plain_table, reset),
        cmocka_unit_test_setup(test_units_by_header, reset),
        cmocka_unit_test_setup(test_decimal_ids, reset),
        cmocka_unit_test_setup(test_axles, reset),
        cmocka_unit_test_setup(test_onto_existing, reset),
        cmocka_unit_test_setup(test_sensor_at_two_wheels, reset),
        cmocka_unit_test_setup(test_hostile_names, reset),
        cmocka_unit_test_setup_teardown(test_written, reset, reset),
        cmocka_unit_test(test_exact_pressures),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
