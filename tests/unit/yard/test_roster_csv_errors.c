/* Every mistake has its place, a reason and a remedy, and all are told at once. */
#include "roster_csv.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

typedef struct expected {
    unsigned row, column;
    bool warning;
    const char *what, *fix; /* parts of the texts */
} expected;

static unsigned digits_of(void *context, const char *descriptor)
{
    (void)context;
    return strcmp(descriptor, "eight") == 0 ? 8 : 0;
}

static void expect(const char *text, const expected *list, size_t count)
{
    const wh_roster_csv_options options = {.digits_of = digits_of};
    wh_roster_csv_tally tally;
    wh_csv_complaints complaints = {0};
    wh_roster *roster;
    const wh_status status = wh_roster_csv_read(text, strlen(text), &options, NULL, &roster, &tally, &complaints);
    for (size_t i = 0; i < count && i < complaints.count; i++) {
        const wh_csv_complaint *got = &complaints.items[i];
        if (got->row != list[i].row || got->column != list[i].column || got->warning != list[i].warning ||
            !strstr(got->what, list[i].what) || !strstr(got->fix, list[i].fix))
            fail_msg("complaint %zu: %u:%u: %s / %s", i, got->row, got->column, got->what, got->fix);
    }
    if (complaints.count != count)
        fail_msg("%zu complaints instead of %zu; the last: %s", complaints.count, count,
                 complaints.count ? complaints.items[complaints.count - 1].what : "none");
    assert_int_equal(status == WH_OK, complaints.errors == 0);
    assert_int_equal(roster != NULL, complaints.errors == 0);
    wh_roster_destroy(&roster);
    wh_csv_complaints_free(&complaints);
}

#define EXPECT(text, ...)                                                                                              \
    do {                                                                                                               \
        const expected list[] = {__VA_ARGS__};                                                                         \
        expect(text, list, sizeof list / sizeof list[0]);                                                              \
    } while (0)

static void test_header(void **state)
{
    (void)state;
    EXPECT("", {0, 0, false, "empty", "export"});
    EXPECT("4711,1L,0A1B2C3D\n", {1, 0, false, "no column 'unit'", "first row"},
           {1, 0, false, "no column 'position'", ""}, {1, 1, true, "'4711'", ""}, {1, 2, true, "'1L'", ""},
           {1, 3, true, "'0A1B2C3D'", ""});
    EXPECT("unit,posiition,targt kPa\n", {1, 0, false, "no column 'position'", ""},
           {1, 2, false, "posiition", "'position'"}, {1, 3, false, "targt", "'target'"});
    EXPECT("unit,position,target,sidewall maximum psi,carrier\n", {1, 3, false, "does not say its unit", "target kPa"},
           {1, 5, false, "does not say its unit", "carrier MHz"});
    EXPECT("unit,position,unit,sensor psi,position hex\n", {1, 3, false, "two columns say 'unit'", "delete"},
           {1, 4, false, "cannot have", "sensor hex"}, {1, 5, false, "two columns say 'position'", "delete"});
    EXPECT("unit,position,owner,\n1,1L,me,x\n", {1, 3, true, "'owner'", ""}, {1, 4, true, "no name", ""});
}

static void test_sensors(void **state)
{
    (void)state;
    EXPECT("unit,position,sensor\n1,1L,12345678\n1,1R,0x12345678\n1,2L,ABCDEF01\n1,2R,4.29E+09\n",
           {2, 3, false, "hex or decimal", "0x"}, {5, 3, false, "spreadsheet", "0x"});
    EXPECT("unit,position,sensor hex\n1,1L,0A1B2C3D\n1,1R,1234567\n1,2L,0x1234567\n1,2R,0B1B2C3D\n1,3L,1B2C3D\n",
           {3, 3, false, "7 hex digits where 8 are usual", "zeros"});
    EXPECT("unit,position,sensor hex,descriptor\n1,1L,1234567,eight\n1,1R,0xABC,eight\n1,2L,0x12345678,nine\n",
           {2, 3, false, "7 hex digits where 8", "zeros"}, {3, 3, true, "3 hex digits; IDs of eight have 8", "right"},
           {4, 4, true, "'nine'", "descriptor list"});
    EXPECT("unit,position,sensor decimal\n1,1L,1844674407370950000\n1,1R,A1\n", {2, 3, false, "rounded", "0x"},
           {3, 3, false, "no decimal", "hex"});
}

static void test_numbers(void **state)
{
    (void)state;
    EXPECT("unit,position,target kPa,carrier MHz\n1,1L,8.3,433.92\n1,1R,105,\n1,2L,abc,\n1,2R,\"1,250\",\n1,3L,0,\n"
           "1,3R,-700,433920\n2,1L,,433920\n",
           {2, 3, false, "8.3 kPa is no tire's pressure", "bar"}, {4, 3, false, "no number", "column's name"},
           {5, 3, false, "thousands", "decimal point"}, {6, 3, false, "0 is no tire's", "empty"},
           {7, 3, false, "-700 kPa", "724"}, {7, 4, false, "433920", "all rows"},
           {8, 4, false, "433920 MHz", "433.92"});
    EXPECT("unit;position;target bar;first axle\n1;1L;724;1\n1;1R;7,24;\n2;1L;;0\n3;1L;;1.5\n",
           {2, 3, false, "724 bar", "kPa"}, {3, 3, true, "decimal points", ""}, {4, 4, false, "'0'", "front axle"},
           {5, 4, false, "'1.5'", ""});
    EXPECT("unit,position,target psi,sidewall maximum psi\n1,1L,120,110\n",
           {2, 3, true, "above the maximum", "sidewall"});
}

static void test_units(void **state)
{
    (void)state;
    EXPECT("unit,kind,position,axles\n,trailer,1L,\n2,boat,1L,\n3,dolly,1L,\n3,other,1R,\n4,,1L,trailer-tandom\n"
           "4,,1R,trailer-tandom\n",
           {2, 1, false, "does not say which unit", "repeat"}, {3, 2, false, "'boat'", "tractor"},
           {5, 2, false, "'other' here and 'dolly' in row 4", "same"},
           {6, 4, false, "trailer-tandom", "trailer-tandem"});
    EXPECT("unit,position\na\x01z,1L\n1234567890123456789012345678901234567890123456789,1L\n",
           {2, 1, false, "control character", ""}, {3, 1, false, "49 bytes", "shorter"});
    EXPECT(
        "unit,position,load note,unit note\n"
        "1,1L,\"two\r\nlines\",\n"
        "2,1L,,1234567890123456789012345678901234567890123456789012345678901234567890123456789012345678901234567890\n",
        {2, 3, true, "became blanks", ""}, {3, 4, false, "100 bytes, 95 at most", "shorter"});
}

static void test_positions(void **state)
{
    (void)state;
    EXPECT("unit,position,sensor hex\n1,3X,\n1,1L,\n1,1LO,\n1,1L,\n1,3L,\n1,,0xABCD\n",
           {2, 2, false, "'3X'", "1L, 2RO"}, {4, 2, false, "dual here and single in row 3", "either"},
           {5, 2, false, "row 3 already", "delete"}, {7, 2, false, "no position", "which wheel"});
    EXPECT("unit,position\n1,1L\n1,3L\n", {2, 1, false, "axle 3 but none on axle 2", "axles"});
    EXPECT("unit,position\n1,\n", {2, 1, false, "no row of unit 1 has a position", "axles"});
    EXPECT("unit,position,axles\n1,3LO,\"single, dual\"\n1,1LO,\n",
           {2, 2, false, "its axles are single, dual", "correct"}, {3, 2, false, "no such wheel", "correct"});
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_header), cmocka_unit_test(test_sensors),   cmocka_unit_test(test_numbers),
        cmocka_unit_test(test_units),  cmocka_unit_test(test_positions),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
