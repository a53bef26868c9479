#include "args.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

enum { LOUD = 1, SIZE, NAME };

static const wh_option options[] = {
    {LOUD, 'l', "loud", NULL, "Speak up."},
    {SIZE, 's', "size", "MM", "How large.\nIn millimetres."},
    {NAME, 0, "name", "WORD", "What it is called."},
    {0},
};
static const wh_command command = {
    .name = "try", .operands = "FILE...", .summary = "Try things", .notes = "That is all.", .options = options};

static wh_args begin(char **argv)
{
    static wh_args args; /* command.h: one parse at a time */
    int argc = 0;
    while (argv[argc])
        argc++;
    wh_args_begin(&args, &command, argc, argv);
    return args;
}

static void test_options_and_operands(void **state)
{
    (void)state;
    char *argv[] = {"try", "one", "--size", "12", "-l", "two", "--name=x y", "-s3", "--", "--loud", NULL};
    wh_args args = begin(argv);
    const char *value;
    assert_int_equal(wh_args_next(&args, &value), SIZE);
    assert_string_equal(value, "12");
    assert_int_equal(wh_args_next(&args, &value), LOUD);
    assert_null(value);
    assert_int_equal(wh_args_next(&args, &value), NAME);
    assert_string_equal(value, "x y");
    assert_int_equal(wh_args_next(&args, &value), SIZE);
    assert_string_equal(value, "3");
    assert_int_equal(wh_args_next(&args, &value), 0);
    assert_int_equal(wh_args_operand_count(&args), 3);
    assert_string_equal(wh_args_operand(&args, 0), "one");
    assert_string_equal(wh_args_operand(&args, 1), "two");
    assert_string_equal(wh_args_operand(&args, 2), "--loud");
    assert_null(wh_args_operand(&args, 3));
    assert_null(wh_args_operand(&args, -1));
}

/* What is written to stderr while `argv` is parsed to the first failure; the status in *status. */
static void complaint_of(char **argv, int *status, char *text, size_t size)
{
    FILE *kept = stderr;
    char *written = NULL;
    size_t length = 0;
    stderr = open_memstream(&written, &length);
    wh_args args = begin(argv);
    const char *value;
    int id;
    while ((id = wh_args_next(&args, &value)) > 0) {
    }
    fclose(stderr);
    stderr = kept;
    assert_int_equal(id, -1);
    *status = wh_args_status(&args);
    snprintf(text, size, "%s", written);
    free(written);
}

static void test_complaints(void **state)
{
    (void)state;
    static const struct {
        char *argument;
        const char *says;
    } cases[] = {
        {"--sise", "there is no option '--sise' (did you mean '--size'?)"},
        {"--zzzzzzz", "there is no option '--zzzzzzz'"},
        {"-q", "there is no option '-q'"},
        {"--size", "option '--size' needs a value"},
        {"-s", "option '-s' needs a value"},
        {"--loud=very", "option '--loud' takes no value"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char *argv[] = {"try", cases[i].argument, NULL};
        char text[512];
        int status = 0;
        complaint_of(argv, &status, text, sizeof text);
        assert_int_equal(status, 64); /* EX_USAGE of <sysexits.h> */
        if (!strstr(text, cases[i].says) || !strstr(text, "wheelhark try --help"))
            fail_msg("'%s' gave: %s", cases[i].argument, text);
    }
}

static void test_help(void **state)
{
    (void)state;
    char *written = NULL;
    size_t length = 0;
    FILE *out = open_memstream(&written, &length);
    wh_args_help(&command, out);
    fclose(out);
    assert_string_equal(written, "Usage: wheelhark try [options] FILE...\n"
                                 "\n"
                                 "Try things\n"
                                 "\n"
                                 "Options:\n"
                                 "  -l, --loud       Speak up.\n"
                                 "  -s, --size MM    How large.\n"
                                 "                   In millimetres.\n"
                                 "      --name WORD  What it is called.\n"
                                 "  -h, --help       Show this text.\n"
                                 "\n"
                                 "That is all.\n");
    free(written);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_options_and_operands),
        cmocka_unit_test(test_complaints),
        cmocka_unit_test(test_help),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
