/* What findings say: complete, in the units asked for, never cut, and never that a tire is safe. */
#include "judged_unit.h"

#include <ctype.h>

static judged_unit u;
static bool seen[WH_FINDING_KIND_COUNT];

static void assert_lower_has_no(const char *text, const char *word)
{
    char lower[512] = "";
    for (size_t i = 0; text[i] && i < sizeof lower - 1; i++)
        lower[i] = (char)tolower((unsigned char)text[i]);
    if (strstr(lower, word))
        fail_msg("'%s' says '%s'", text, word);
}

/* Words that would let a reader take a reading for a clearance. */
static void assert_claims_nothing(const char *text)
{
    static const char *const words[] = {"safe",       "roadworthy", "no danger", "is in order", "is all right",
                                        "tire is ok", "is fine",    "harmless",  "no risk",     "missing"};
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        assert_lower_has_no(text, words[i]);
}

static void assert_complete(const char *text)
{
    assert_true(strlen(text) > 0);
    if (strstr(text, "..."))
        fail_msg("cut: '%s'", text);
    assert_claims_nothing(text);
}

/* Every figure in a unit of pressure that stands for a level says that it is gauge. */
static void assert_units(const wh_finding *finding, wh_pressure_unit unit)
{
    for (int i = 0; i < WH_PRESSURE_UNIT_COUNT; i++) {
        char name[8];
        snprintf(name, sizeof name, " %s ", wh_pressure_unit_name((wh_pressure_unit)i));
        if ((wh_pressure_unit)i != unit && (strstr(finding->evidence, name) || strstr(finding->remedy, name)))
            fail_msg("other unit in '%s' '%s'", finding->evidence, finding->remedy);
    }
    if (finding->kind >= WH_FINDING_FLAT && finding->kind <= WH_FINDING_SIDES_APART)
        assert_says(finding->evidence, " gauge");
}

static void check_texts(void)
{
    for (int unit = 0; unit < WH_PRESSURE_UNIT_COUNT; unit++) {
        u.input.pressure_unit = (wh_pressure_unit)unit;
        judge(&u);
        for (size_t i = 0; i < u.findings->count; i++) {
            const wh_finding *finding = &u.findings->items[i];
            seen[finding->kind] = true;
            assert_complete(finding->evidence);
            assert_complete(finding->rule);
            assert_complete(finding->rule_source);
            assert_complete(finding->remedy);
            assert_true(finding->odds >= 0 && finding->odds <= 1);
            assert_units(finding, (wh_pressure_unit)unit);
            const bool touches_air = finding->kind >= WH_FINDING_FLAT && finding->kind <= WH_FINDING_HOT;
            assert_int_equal(finding->inflation, touches_air);
            if (finding->inflation)
                assert_says(finding->remedy, "Vehicle maker, local rules and licensed practice come first.");
        }
    }
}

/* IDs of 64 bits and a unit with the longest name: the longest texts there are. */
static void begin_long(void)
{
    begin(&u);
    for (unsigned i = 0; i < u.unit.wheel_count; i++) {
        snprintf(u.unit.wheels[i].sensor, WH_SENSOR_SIZE, "FEDCBA98765432%02X", i);
        memcpy(u.attribution.seats[i].sensor, u.unit.wheels[i].sensor, WH_SENSOR_SIZE);
        memcpy(u.attribution.seats[i].latest.sensor, u.unit.wheels[i].sensor, WH_SENSOR_SIZE);
        u.attribution.seats[i].state = WH_SEAT_BOUND;
    }
}

static void test_sensors(void **state)
{
    (void)state;
    begin_long();
    put_sensor(&u, "1L", "FEDCBA9876543299");
    put_sensor(&u, "2LO", u.unit.wheels[5].sensor); /* crossed with 3RO */
    put_sensor(&u, "3RO", u.unit.wheels[1].sensor);
    put_sensor(&u, "3LO", "0A1B2D05");              /* T-102 */
    put_sensor(&u, "3LI", u.unit.wheels[2].sensor); /* 2LI's, where nothing is heard */
    silence(&u, "2LI");
    silence(&u, "2RI")->unknown_bursts = 2;
    wh_seat *seat = seat_at(&u, "2RO");
    seat->state = WH_SEAT_UNSURE;
    seat->odds = 0.5;
    memcpy(seat->runner_up, u.unit.wheels[8].sensor, WH_SENSOR_SIZE);
    silence(&u, "1R");
    add_event(&u, 10, WH_EVENT_WOKEN, "1R");
    add_event(&u, 20, WH_EVENT_WOKEN, "1R");
    for (int i = 0; i < 4; i++) { /* two transmitters with the ID of 1L */
        wh_event *event = add_heard(&u, 30 + 20 * i, "FEDCBA9876543299", i % 2 ? 410 : 690, i % 2 ? 70 : 20);
        event->heard.carrier_hz += i % 2 ? 40e3 : 0;
    }
    check_texts();
    end(&u);
}

static void test_pressures(void **state)
{
    (void)state;
    begin_long();
    u.input.has_ambient = true;
    reads(&u, "1L", 650, 55)->battery_low = 1;
    reads(&u, "1R", 760, 20)->sensor_fault = 1;
    reads(&u, "2LO", 300, 20);
    reads(&u, "2LI", 715, 20);
    reads(&u, "2RO", 500, 20);
    reads(&u, "2RI", 610, 45);
    reads(&u, "3LO", 670, 20);
    reads(&u, "3LI", 640, 20);
    reads(&u, "3RO", 750, 20);
    reads(&u, "3RI", 640, 20);
    for (int day = 0; day < 9; day++)
        add_past(&u, day, u.unit.wheels[4].sensor, 720 - 9 * day, 20);
    check_texts();
    for (unsigned i = 0; i < u.unit.wheel_count; i++)
        u.attribution.seats[i].latest.temperature_state = WH_VALUE_ABSENT;
    check_texts();
    for (unsigned i = 0; i < u.unit.wheel_count; i++) { /* every wheel in doubt */
        u.attribution.seats[i].state = WH_SEAT_UNSURE;
        u.attribution.seats[i].odds = 0.6;
        u.attribution.seats[i].latest.temperature_state = WH_VALUE_OK;
        u.attribution.seats[i].latest.temperature_c = 120;
    }
    check_texts();
    end(&u);
}

/* The long names of units. */
static void test_other_unit(void **state)
{
    (void)state;
    begin_long();
    wh_unit other;
    const bool dual[] = {true};
    assert_int_equal(wh_unit_make(&other, "Trailer of the north yard, number four thousand", WH_TRAILER, 1, dual, NULL),
                     WH_OK);
    number_sensors(&other, 0x77000000);
    assert_int_equal(wh_roster_put(u.roster, &other, NULL), WH_OK);
    put_sensor(&u, "2LO", "77000000");
    check_texts();
    end(&u);
}

/* The three tests above make findings of every kind. */
static void test_every_kind_was_looked_at(void **state)
{
    (void)state;
    for (int kind = 0; kind < WH_FINDING_KIND_COUNT; kind++) {
        if (!seen[kind])
            fail_msg("no text of '%s' was looked at", wh_finding_kind_name((wh_finding_kind)kind));
    }
}

/* The cautions name the regulation and who comes first, and say what a reading is not. */
static void test_cautions(void **state)
{
    (void)state;
    bool regulation = false, deference = false, no_proof = false;
    for (const char *const *line = wh_cautions; *line; line++) {
        assert_claims_nothing(*line);
        regulation = regulation || (strstr(*line, "80 %") && strstr(*line, "29 CFR 1910.177"));
        deference = deference || strstr(*line, "come first");
        no_proof = no_proof || strstr(*line, "no proof");
    }
    assert_true(regulation && deference && no_proof);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_sensors),    cmocka_unit_test(test_pressures),
        cmocka_unit_test(test_other_unit), cmocka_unit_test(test_every_kind_was_looked_at),
        cmocka_unit_test(test_cautions),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
