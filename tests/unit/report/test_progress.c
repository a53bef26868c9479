#include "progress.h"

#include <setjmp.h>
#include <stdarg.h>
#include <string.h>

#include <cmocka.h>

static void check(const char *name, uint64_t done, uint64_t total, unsigned columns, const char *expected)
{
    wh_text text = {0};
    wh_progress_line(&text, name, done, total, columns);
    assert_string_equal(text.data, expected);
    assert_true(strlen(expected) <= columns);
    wh_text_free(&text);
}

static void test_lines(void **state)
{
    (void)state;
    check("a.cu8", 0, 10, 80, "a.cu8 [..............................]   0 %");
    check("a.cu8", 5, 10, 80, "a.cu8 [###############...............]  50 %");
    check("a.cu8", 999, 1000, 80, "a.cu8 [#############################.]  99 %");
    check("a.cu8", 11, 10, 80, "a.cu8 [##############################] 100 %");
    check("a.cu8", 5, 10, 30, "a.cu8  50 %");
    check("a.cu8", 5, 0, 30, "a.cu8");
    check("a very long name.cu8", 5, 10, 20, "ong name.cu8  50 %");
    check("bad\x1bname", 5, 0, 30, "bad?name");
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_lines)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
