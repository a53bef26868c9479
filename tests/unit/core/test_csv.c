/* Rules of RFC 4180, section 2, by number; the rest is what spreadsheets are known to write (common practice). */
#include "csv.h"
#include "rng.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

static wh_csv_complaints complaints;

static wh_csv read_text(const char *text)
{
    wh_csv table;
    const wh_status status = wh_csv_read(&table, text, strlen(text), &complaints);
    if (status != WH_OK)
        fail_msg("%s: %s", wh_status_name(status), complaints.count ? complaints.items[0].what : "");
    return table;
}

/* The table as one text: cells in brackets, rows ended by '/'. */
static void expect(const char *text, const char *cells)
{
    wh_csv table = read_text(text);
    wh_text seen = {0};
    for (size_t row = 0; row < table.row_count; row++) {
        for (size_t column = 0; column < table.rows[row].count; column++)
            wh_text_print(&seen, "[%s]", wh_csv_at(&table, row, column));
        wh_text_add(&seen, "/");
    }
    assert_string_equal(seen.length ? seen.data : "", cells);
    wh_text_free(&seen);
    wh_csv_free(&table);
}

static void test_rfc4180(void **state)
{
    (void)state;
    expect("aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n", "[aaa][bbb][ccc]/[zzz][yyy][xxx]/");           /* 2.1 */
    expect("aaa,bbb,ccc\r\nzzz,yyy,xxx", "[aaa][bbb][ccc]/[zzz][yyy][xxx]/");               /* 2.2 */
    expect("\"aaa\",\"bbb\"\r\nzzz,yyy", "[aaa][bbb]/[zzz][yyy]/");                         /* 2.5 */
    expect("\"aaa\",\"b \r\nbb\",\"ccc\"\r\nz,y,x\r\n", "[aaa][b \r\nbb][ccc]/[z][y][x]/"); /* 2.6 */
    expect("\"aaa\",\"b\"\"bb\",\"c,c\"\r\n", "[aaa][b\"bb][c,c]/");                        /* 2.7 */
    expect(" a , b\r\n", "[ a ][ b]/");                                                     /* 2.4: blanks count */
}

static void test_edges(void **state)
{
    (void)state;
    expect("", "");
    expect("\r\n", "[]/");
    expect(",", "[][]/");
    expect("a\n\n\rb", "[a]/[]/[]/[b]/"); /* LF and CR end lines too; empty rows count */
    expect("\"\"", "[]/");
    expect("\"\"\"\"\n", "[\"]/");
    expect("12\" rim,x\n", "[12\" rim][x]/");
}

static void test_spreadsheet_habits(void **state)
{
    (void)state;
    expect("\xEF\xBB\xBFunit;note\r\n1;\"a;b\"\r\n", "[unit][note]/[1][a;b]/");
    expect("unit\tnote, long\r\n1\t2\r\n", "[unit\tnote][ long]/[1\t2]/"); /* as many of each: the comma */
    expect("unit\tnote\r\n1,5\t2\r\n", "[unit][note]/[1,5][2]/");
    expect("\"a,b,c\";d\n", "[a,b,c][d]/"); /* quoted commas do not vote */
    expect("one\ntwo;three\n", "[one]/[two][three]/");
    expect("sep=;\r\na,b;c\r\n", "[a,b][c]/");
    expect("\xEF\xBB\xBFsep=\t\na,b\tc\n", "[a,b][c]/");
    expect("sep=;x\r\na\r\n", "[sep=][x]/[a]/"); /* not that line */
}

/* What is wrong: row, column, and a word of the reason. */
static void expect_wrong(const char *text, size_t length, wh_status status, unsigned row, unsigned column,
                         const char *word)
{
    wh_csv table;
    wh_csv_complaints wrong = {0};
    assert_int_equal(wh_csv_read(&table, text, length, &wrong), status);
    assert_int_equal(table.row_count, 0);
    assert_true(wrong.errors > 0 && wrong.count > 0);
    if (wrong.items[0].row != row || wrong.items[0].column != column || !strstr(wrong.items[0].what, word))
        fail_msg("%u:%u: %s", wrong.items[0].row, wrong.items[0].column, wrong.items[0].what);
    assert_true(wrong.items[0].fix[0]);
    wh_csv_complaints_free(&wrong);
}

#define TEXT(literal) literal, sizeof literal - 1

static void test_refused(void **state)
{
    (void)state;
    expect_wrong(TEXT("a,b\r\nc,\"d\r\ne,f\r\n"), WH_ERR_DATA, 2, 2, "never closed");
    expect_wrong(TEXT("a,b\nc,\"d\"e\n"), WH_ERR_DATA, 2, 2, "behind the closing quote");
    expect_wrong(TEXT("a, \"b\"\n"), WH_ERR_DATA, 1, 2, "blank before the quote");
    expect_wrong(TEXT("a\nb\xE4r,c\n"), WH_ERR_DATA, 2, 1, "UTF-8");
    expect_wrong(TEXT("a,b\0c\n"), WH_ERR_DATA, 1, 2, "UTF-8");
    expect_wrong(TEXT("PK\x03\x04zipped"), WH_ERR_FORMAT, 0, 0, "spreadsheet");
    expect_wrong(TEXT("\xD0\xCF\x11\xE0old"), WH_ERR_FORMAT, 0, 0, "spreadsheet");
    expect_wrong(TEXT("\xFF\xFEu\0n\0"), WH_ERR_FORMAT, 0, 0, "UTF-16");
}

static void test_all_errors_at_once(void **state)
{
    (void)state;
    const char text[] = "a,\"b\"c\nd,e\n\"f\"g,\xFF\n";
    wh_csv table;
    wh_csv_complaints wrong = {0};
    assert_int_equal(wh_csv_read(&table, text, sizeof text - 1, &wrong), WH_ERR_DATA);
    assert_int_equal(wrong.errors, 3);
    assert_true(wrong.items[1].row == 3 && wrong.items[1].column == 1);
    assert_true(wrong.items[2].row == 3 && wrong.items[2].column == 2);
    wh_csv_complaints_free(&wrong);
}

static void test_limits(void **state)
{
    (void)state;
    static char text[WH_CSV_BYTES_MAX + 1];
    memset(text, 'x', sizeof text);
    expect_wrong(text, sizeof text, WH_ERR_LIMIT, 0, 0, "at most");
    expect_wrong(text, WH_CSV_CELL_MAX + 1, WH_ERR_DATA, 1, 1, "at most");
    memset(text, '\n', WH_CSV_ROWS_MAX + 1);
    expect_wrong(text, WH_CSV_ROWS_MAX + 1, WH_ERR_LIMIT, WH_CSV_ROWS_MAX + 1, 0, "rows");
    memset(text, ',', WH_CSV_COLUMNS_MAX);
    expect_wrong(text, WH_CSV_COLUMNS_MAX, WH_ERR_DATA, 1, WH_CSV_COLUMNS_MAX + 1, "columns");
    wh_csv table;
    memset(text, 'x', WH_CSV_CELL_MAX);
    assert_int_equal(wh_csv_read(&table, text, WH_CSV_CELL_MAX, &complaints), WH_OK);
    wh_csv_free(&table);
}

static void expect_written(const char *cell, const char *written)
{
    wh_text out = {0};
    wh_csv_writer writer = {&out, false};
    wh_csv_put(&writer, cell);
    wh_csv_end_row(&writer);
    char line[64];
    snprintf(line, sizeof line, "%s\r\n", written);
    assert_string_equal(out.data, line);
    wh_text_free(&out);
}

static void test_writing(void **state)
{
    (void)state;
    expect_written("plain", "plain");
    expect_written("a,b", "\"a,b\"");
    expect_written("a;b", "\"a;b\"");
    expect_written("say \"x\"", "\"say \"\"x\"\"\"");
    expect_written(" x", "\" x\"");
    expect_written("x ", "\"x \"");
    expect_written("a\r\nb", "\"a\r\nb\"");
    expect_written("=1+2", "'=1+2");
    expect_written("+49", "'+49");
    expect_written("-5", "'-5");
    expect_written("@x", "'@x");
    expect_written("'=x", "''=x");
    expect_written("'quoted'", "'quoted'"); /* runs nothing: left alone */
    expect_written("a=b", "a=b");

    wh_text out = {0};
    wh_csv_writer writer = {&out, false};
    wh_csv_put(&writer, "a");
    wh_csv_put_number(&writer, "-5.5");
    wh_csv_put(&writer, "");
    wh_csv_end_row(&writer);
    wh_csv_put(&writer, "b");
    wh_csv_end_row(&writer);
    assert_string_equal(out.data, "a,-5.5,\r\nb\r\n");
    wh_text_free(&out);
}

/* Any texts come back unchanged, whatever they are made of: seeded random cells of the characters that matter. */
static void test_round_trip(void **state)
{
    (void)state;
    static const char *const pieces[] = {"=",  "+",           "-", "@",  "'", "\"", ",", ";", "\t",
                                         "\r", "\n",          " ", "\\", "a", "0x", "ä", "|", "\xE2\x98\xA0",
                                         "#",  "\xEF\xBB\xBF"};
    wh_rng rng;
    wh_rng_seed(&rng, 4180);
    for (int trial = 0; trial < 3000; trial++) {
        char cells[3][2][64] = {{{0}}};
        wh_text out = {0};
        wh_csv_writer writer = {&out, false};
        wh_csv_put(&writer, "one"); /* a header, as all tables have */
        wh_csv_put(&writer, "two");
        wh_csv_end_row(&writer);
        for (int row = 0; row < 3; row++) {
            for (int column = 0; column < 2; column++) {
                const unsigned count = (unsigned)(wh_rng_next(&rng) % 9);
                for (unsigned i = 0; i < count; i++)
                    strcat(cells[row][column], pieces[wh_rng_next(&rng) % (sizeof pieces / sizeof pieces[0])]);
                wh_csv_put(&writer, cells[row][column]);
            }
            wh_csv_end_row(&writer);
        }
        wh_csv table = read_text(out.data);
        assert_int_equal(table.row_count, 4);
        for (size_t row = 0; row < 3; row++) {
            assert_int_equal(table.rows[row + 1].count, 2);
            for (size_t column = 0; column < 2; column++)
                assert_string_equal(wh_csv_at(&table, row + 1, column), cells[row][column]);
        }
        wh_csv_free(&table);
        wh_text_free(&out);
    }
}

static void expect_number(char separator, const char *cell, wh_csv_number_kind kind, double value)
{
    const wh_csv table = {.separator = separator};
    double got = -1.0;
    const wh_csv_number_kind found = wh_csv_number(&table, cell, &got);
    const bool numeric = kind == WH_CSV_NUMBER || kind == WH_CSV_COMMA_NUMBER;
    if (found != kind || got != (numeric ? value : -1.0))
        fail_msg("'%s': kind %d, %g", cell, (int)found, got);
}

static void test_numbers(void **state)
{
    (void)state;
    expect_number(',', "8.3", WH_CSV_NUMBER, 8.3);
    expect_number(';', " -724 ", WH_CSV_NUMBER, -724.0);
    expect_number(';', "8,3", WH_CSV_COMMA_NUMBER, 8.3);
    expect_number('\t', "-8,25 ", WH_CSV_COMMA_NUMBER, -8.25);
    expect_number(';', "1,250", WH_CSV_COMMA_UNCLEAR, 0);
    expect_number(',', "8,3", WH_CSV_COMMA_UNCLEAR, 0);
    expect_number(';', "1.250,5", WH_CSV_COMMA_UNCLEAR, 0);
    expect_number(';', "1,2,3", WH_CSV_COMMA_UNCLEAR, 0);
    expect_number(';', "8 bar", WH_CSV_NO_NUMBER, 0);
    expect_number(';', "8,3 bar", WH_CSV_NO_NUMBER, 0);
    expect_number(';', "", WH_CSV_NO_NUMBER, 0);
    expect_number(';', ",", WH_CSV_NO_NUMBER, 0);
}

static void test_places(void **state)
{
    (void)state;
    char letters[WH_CSV_LETTERS_SIZE];
    assert_string_equal(wh_csv_column_letters(letters, 1), "A");
    assert_string_equal(wh_csv_column_letters(letters, 26), "Z");
    assert_string_equal(wh_csv_column_letters(letters, 27), "AA");
    assert_string_equal(wh_csv_column_letters(letters, 702), "ZZ");
    assert_string_equal(wh_csv_column_letters(letters, 703), "AAA");

    wh_csv table = read_text("a,b\n , \n,x\n");
    assert_false(wh_csv_row_blank(&table, 0));
    assert_true(wh_csv_row_blank(&table, 1));
    assert_false(wh_csv_row_blank(&table, 2));
    assert_string_equal(wh_csv_at(&table, 2, 5), "");
    assert_string_equal(wh_csv_at(&table, 9, 0), "");
    wh_csv_free(&table);
}

static void test_complaints(void **state)
{
    (void)state;
    wh_csv_complaints wrong = {0};
    for (unsigned i = 0; i < WH_CSV_COMPLAINTS_MAX + 7; i++)
        wh_csv_complain(&wrong, 1000 - i, 2, NULL, "error %u", i);
    assert_int_equal(wrong.errors, WH_CSV_COMPLAINTS_MAX + 7);
    assert_int_equal(wrong.count, WH_CSV_COMPLAINTS_MAX);
    wh_csv_complaints_sort(&wrong);
    for (size_t i = 1; i < wrong.count; i++)
        assert_true(wrong.items[i - 1].row < wrong.items[i].row);
    wh_csv_complaints_free(&wrong);

    wh_csv_warn(&wrong, 3, 1, "do this", "first");
    wh_csv_complain(&wrong, 2, 9, NULL, "second");
    wh_csv_complain(&wrong, 3, 1, NULL, "third");
    wh_csv_complaints_sort(&wrong);
    assert_string_equal(wrong.items[0].what, "second");
    assert_string_equal(wrong.items[1].what, "first");
    assert_true(wrong.items[1].warning);
    assert_string_equal(wrong.items[1].fix, "do this");
    assert_string_equal(wrong.items[2].what, "third");
    assert_true(wrong.errors == 2 && wrong.warnings == 1);
    wh_csv_complaints_free(&wrong);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_rfc4180),
        cmocka_unit_test(test_edges),
        cmocka_unit_test(test_spreadsheet_habits),
        cmocka_unit_test(test_refused),
        cmocka_unit_test(test_all_errors_at_once),
        cmocka_unit_test(test_limits),
        cmocka_unit_test(test_writing),
        cmocka_unit_test(test_round_trip),
        cmocka_unit_test(test_numbers),
        cmocka_unit_test(test_places),
        cmocka_unit_test(test_complaints),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
