#include "command.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <sysexits.h>

#include <cmocka.h>

static void test_statuses_have_their_sysexits_numbers(void **state)
{
    (void)state;
    assert_int_equal(wh_exit_of(WH_OK), EX_OK);
    assert_int_equal(wh_exit_of(WH_ERR_ARGUMENT), EX_USAGE);
    assert_int_equal(wh_exit_of(WH_ERR_MEMORY), EX_SOFTWARE);
    assert_int_equal(wh_exit_of(WH_ERR_FORMAT), EX_DATAERR);
    assert_int_equal(wh_exit_of(WH_ERR_UNSUPPORTED), EX_DATAERR);
    assert_int_equal(wh_exit_of(WH_ERR_DATA), EX_DATAERR);
    assert_int_equal(wh_exit_of(WH_ERR_LIMIT), EX_DATAERR);
    assert_int_equal(wh_exit_of(WH_ERR_IO), EX_IOERR);
    assert_int_equal(wh_exit_of(WH_ERR_NOT_FOUND), EX_NOINPUT);
    assert_int_equal(wh_exit_of(WH_ERR_BUSY), EX_TEMPFAIL);
    assert_int_equal(wh_exit_of(WH_ERR_PERMISSION), EX_NOPERM);
    assert_int_equal(wh_exit_of(WH_ERR_GONE), EX_UNAVAILABLE);
}

static void test_names_have_their_sysexits_numbers(void **state)
{
    (void)state;
    assert_int_equal(WH_EXIT_CANT_CREATE, EX_CANTCREAT);
    assert_int_equal(WH_EXIT_CONFIG, EX_CONFIG);
    assert_int_equal(WH_EXIT_UNAVAILABLE, EX_UNAVAILABLE);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_statuses_have_their_sysexits_numbers),
        cmocka_unit_test(test_names_have_their_sysexits_numbers),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
