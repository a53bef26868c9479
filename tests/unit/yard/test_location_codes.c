#include "layouts.h"
#include "location_codes.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

static wh_unit unit_of(const char *axles)
{
    wh_layout layout;
    wh_unit unit;
    assert_int_equal(wh_layout_parse(axles, &layout, NULL), WH_OK);
    assert_int_equal(wh_unit_make(&unit, "4711", WH_OTHER_UNIT, layout.axle_count, layout.dual, NULL), WH_OK);
    return unit;
}

static wh_position at(const char *text)
{
    wh_position position;
    assert_true(wh_position_parse(text, &position));
    return position;
}

typedef wh_status (*to_byte)(const wh_unit *, wh_position, uint8_t *, wh_error *);
typedef wh_status (*from_byte)(const wh_unit *, uint8_t, wh_position *, wh_error *);

static void expect_byte(to_byte to, from_byte from, const wh_unit *unit, const char *position, uint8_t byte)
{
    uint8_t made = 0;
    wh_position found;
    assert_int_equal(to(unit, at(position), &made, NULL), WH_OK);
    if (made != byte)
        fail_msg("%s: 0x%02X, not 0x%02X", position, made, byte);
    assert_int_equal(from(unit, byte, &found, NULL), WH_OK);
    assert_true(wh_position_equal(found, at(position)));
}

static void expect_no_byte(from_byte from, const wh_unit *unit, uint8_t byte, const char *reason)
{
    wh_position found = {9, 0, 0};
    wh_error error = {0};
    assert_int_equal(from(unit, byte, &found, &error), WH_ERR_DATA);
    if (!strstr(error.what, reason))
        fail_msg("0x%02X: %s", byte, error.what);
    assert_int_equal(found.axle, 9);
}

/* Ten-tire tractor as a telematics gateway's documentation lists the SPN 929 bytes: 0, 1, 16 to 19, 32 to 35. */
static void test_j1939_tractor(void **state)
{
    (void)state;
    static const struct {
        const char *position;
        uint8_t byte;
    } rows[] = {{"1L", 0},   {"1R", 1},   {"2LO", 16}, {"2LI", 17}, {"2RI", 18},
                {"2RO", 19}, {"3LO", 32}, {"3LI", 33}, {"3RI", 34}, {"3RO", 35}};
    const wh_unit unit = unit_of("single dual dual");
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        expect_byte(wh_position_to_j1939, wh_position_from_j1939, &unit, rows[i].position, rows[i].byte);
}

/* The same byte is another wheel on a single and on a dual axle. */
static void test_j1939_single_dual_trap(void **state)
{
    (void)state;
    const wh_unit single = unit_of("single"), dual = unit_of("dual");
    expect_byte(wh_position_to_j1939, wh_position_from_j1939, &single, "1R", 0x01);
    expect_byte(wh_position_to_j1939, wh_position_from_j1939, &dual, "1LI", 0x01);
    expect_byte(wh_position_to_j1939, wh_position_from_j1939, &dual, "1RI", 0x02);
    expect_no_byte(wh_position_from_j1939, &single, 0x02, "single and has 0 to 1");
    expect_no_byte(wh_position_from_j1939, &dual, 0x04, "dual and has 0 to 3");
}

static void test_j1939_bounds(void **state)
{
    (void)state;
    const wh_unit longest = unit_of("dual dual dual dual dual dual dual dual dual dual dual dual dual dual dual");
    expect_byte(wh_position_to_j1939, wh_position_from_j1939, &longest, "15RO", 0xE3);
    expect_no_byte(wh_position_from_j1939, &longest, 0xFF, "not available");
    expect_no_byte(wh_position_from_j1939, &longest, 0xF0, "axle 16");
    const wh_unit two = unit_of("single single");
    expect_no_byte(wh_position_from_j1939, &two, 0x20, "axle 3; unit 4711 has 2 axles");
    uint8_t byte = 77;
    wh_error error;
    assert_int_equal(wh_position_to_j1939(&two, at("2LO"), &byte, &error), WH_ERR_ARGUMENT);
    assert_non_null(strstr(error.what, "no wheel at 2LO"));
    assert_int_equal(wh_position_to_j1939(&two, at("3L"), &byte, &error), WH_ERR_ARGUMENT);
    assert_int_equal(wh_position_to_j1939(&two, (wh_position){0}, &byte, &error), WH_ERR_ARGUMENT);
    assert_int_equal(byte, 77);
}

/* Values a trailer telematics interface documents: 0x27 axle 2 first left, 0x29 axle 2 first right, 0x36 axle 3 second left,
 * 0x3A axle 3 second right, 0x49 axle 4 first right; 0x15, 0x53 and 0x1C are third, fifth and fourth wheels. */
static void test_centre8(void **state)
{
    (void)state;
    const wh_unit unit = unit_of("single single dual dual dual");
    expect_byte(wh_position_to_centre8, wh_position_from_centre8, &unit, "2L", 0x27);
    expect_byte(wh_position_to_centre8, wh_position_from_centre8, &unit, "2R", 0x29);
    expect_byte(wh_position_to_centre8, wh_position_from_centre8, &unit, "3LO", 0x36);
    expect_byte(wh_position_to_centre8, wh_position_from_centre8, &unit, "3LI", 0x37);
    expect_byte(wh_position_to_centre8, wh_position_from_centre8, &unit, "3RO", 0x3A);
    expect_byte(wh_position_to_centre8, wh_position_from_centre8, &unit, "4RI", 0x49);
    expect_no_byte(wh_position_from_centre8, &unit, 0x15, "wheel 3 from the centre");
    expect_no_byte(wh_position_from_centre8, &unit, 0x53, "wheel 5 from the centre");
    expect_no_byte(wh_position_from_centre8, &unit, 0x1C, "wheel 4 from the centre");
    expect_no_byte(wh_position_from_centre8, &unit, 0x26, "has 1 a side"); /* a second left one on a single axle */
    expect_no_byte(wh_position_from_centre8, &unit, 0x38, "centre line");
    expect_no_byte(wh_position_from_centre8, &unit, 0x07, "axle 0");
    expect_no_byte(wh_position_from_centre8, &unit, 0x67, "axle 6");
    const wh_unit longest = unit_of("dual dual dual dual dual dual dual dual dual dual dual dual dual dual dual");
    expect_byte(wh_position_to_centre8, wh_position_from_centre8, &longest, "15RO", 0xFA);
}

/* Both bytes of a tandem trailer: centre-8 6, 7, 9, A are J1939 0, 1, 2, 3. */
static void test_both_bytes(void **state)
{
    (void)state;
    static const uint8_t centre8[] = {6, 7, 9, 0xA};
    const wh_unit unit = unit_of("dual dual");
    for (unsigned axle = 0; axle < 2; axle++) {
        for (unsigned i = 0; i < 4; i++) {
            wh_position one, other;
            assert_int_equal(wh_position_from_j1939(&unit, (uint8_t)(axle << 4 | i), &one, NULL), WH_OK);
            assert_int_equal(wh_position_from_centre8(&unit, (uint8_t)((axle + 1) << 4 | centre8[i]), &other, NULL),
                             WH_OK);
            assert_true(wh_position_equal(one, other));
        }
    }
}

static void expect_x12(const wh_unit *unit, const char *position, const char *code)
{
    char made[WH_X12_SIZE];
    wh_position found;
    assert_int_equal(wh_position_to_x12(unit, at(position), made, NULL), WH_OK);
    assert_string_equal(made, code);
    assert_int_equal(wh_position_from_x12(unit, code, &found, NULL), WH_OK);
    assert_true(wh_position_equal(found, at(position)));
}

/* ANSI X12 007050, data element 302, as its code list is published: all sixteen wheels. */
static void test_x12(void **state)
{
    (void)state;
    const wh_unit singles = unit_of("single single"), duals = unit_of("dual dual dual");
    expect_x12(&singles, "1L", "LF");
    expect_x12(&singles, "1R", "RF");
    expect_x12(&singles, "2L", "LR");
    expect_x12(&singles, "2R", "RR");
    expect_x12(&duals, "1LI", "LIF");
    expect_x12(&duals, "1LO", "LOF");
    expect_x12(&duals, "1RI", "RIF");
    expect_x12(&duals, "1RO", "R0F");
    expect_x12(&duals, "2LI", "LIC");
    expect_x12(&duals, "2LO", "LOC");
    expect_x12(&duals, "2RI", "RIC");
    expect_x12(&duals, "2RO", "ROC");
    expect_x12(&duals, "3LI", "LIR");
    expect_x12(&duals, "3LO", "LOR");
    expect_x12(&duals, "3RI", "RIR");
    expect_x12(&duals, "3RO", "ROR");
    wh_position found;
    assert_int_equal(wh_position_from_x12(&duals, "rof", &found, NULL), WH_OK);
    assert_true(wh_position_equal(found, at("1RO")));
}

static void test_x12_refused(void **state)
{
    (void)state;
    const wh_unit one = unit_of("dual"), three = unit_of("single single single"),
                  four = unit_of("single dual dual dual");
    char code[WH_X12_SIZE] = "?";
    wh_position found;
    assert_int_equal(wh_position_to_x12(&one, at("1LO"), code, NULL), WH_ERR_UNSUPPORTED);
    assert_int_equal(wh_position_to_x12(&three, at("2L"), code, NULL), WH_ERR_UNSUPPORTED);
    assert_int_equal(wh_position_to_x12(&four, at("2LO"), code, NULL), WH_ERR_UNSUPPORTED);
    assert_int_equal(wh_position_to_x12(&four, at("2L"), code, NULL), WH_ERR_ARGUMENT);
    assert_string_equal(code, "?");
    expect_x12(&four, "1L", "LF");
    expect_x12(&four, "4RO", "ROR");
    assert_int_equal(wh_position_from_x12(&four, "LOC", &found, NULL), WH_ERR_DATA);
    assert_int_equal(wh_position_from_x12(&four, "LOF", &found, NULL), WH_ERR_DATA); /* its front axle is single */
    assert_int_equal(wh_position_from_x12(&three, "LX", &found, NULL), WH_ERR_DATA);
    assert_int_equal(wh_position_from_x12(&three, "", &found, NULL), WH_ERR_DATA);
}

/* Whatever 1 byte holds: a position the unit has, which gives the byte back, or a reason. */
static void test_every_byte(void **state)
{
    (void)state;
    static const char *const layouts[] = {"single", "dual", "single dual dual", "dual single dual single dual"};
    static const struct {
        to_byte to;
        from_byte from;
    } codes[] = {{wh_position_to_j1939, wh_position_from_j1939}, {wh_position_to_centre8, wh_position_from_centre8}};
    for (size_t l = 0; l < sizeof layouts / sizeof layouts[0]; l++) {
        const wh_unit unit = unit_of(layouts[l]);
        for (size_t c = 0; c < 2; c++) {
            unsigned good = 0;
            for (unsigned byte = 0; byte < 256; byte++) {
                wh_position position;
                wh_error error = {0};
                uint8_t back = 0;
                if (codes[c].from(&unit, (uint8_t)byte, &position, &error) == WH_OK) {
                    good++;
                    assert_int_equal(codes[c].to(&unit, position, &back, NULL), WH_OK);
                    assert_int_equal(back, byte);
                } else {
                    assert_true(error.what[0]);
                }
            }
            assert_int_equal(good, unit.wheel_count);
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_j1939_tractor), cmocka_unit_test(test_j1939_single_dual_trap),
        cmocka_unit_test(test_j1939_bounds),  cmocka_unit_test(test_centre8),
        cmocka_unit_test(test_both_bytes),    cmocka_unit_test(test_x12),
        cmocka_unit_test(test_x12_refused),   cmocka_unit_test(test_every_byte),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
