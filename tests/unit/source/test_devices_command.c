/* "wheelhark devices" from option to output, with make-believe dongles. Writes its records to the file named as the
 * first argument, so that they can be held against the published schema. */
#include "args.h"
#include "fake_rtlsdr.h"
#include "run_source.h"

#include <stdio.h>
#include <unistd.h>

static const char *output;

/* Run the command with standard output into the file. */
static int run_command(int argc, char **argv)
{
    wh_args args;
    fflush(stdout);
    const int saved = dup(STDOUT_FILENO);
    assert_non_null(freopen(output, "w", stdout));
    wh_args_begin(&args, &wh_cmd_devices, argc, argv);
    const int status = wh_cmd_devices.run(&args);
    fflush(stdout);
    assert_true(dup2(saved, STDOUT_FILENO) >= 0);
    close(saved);
    return status;
}

static const char *written(void)
{
    static char text[8000];
    FILE *file = fopen(output, "r");
    assert_non_null(file);
    text[fread(text, 1, sizeof text - 1, file)] = '\0';
    fclose(file);
    return text;
}

static void two_dongles(void)
{
    fake_reset();
    fake.device_count = 2;
    fake.serials[1] = "00000002";
    fake.manufacturer = "RTLSDRBlog";
    fake.product = "Blog V4"; /* not usable */
}

static void test_text(void **state)
{
    (void)state;
    char name[] = "devices";
    char *argv[] = {name, NULL};
    fake_reset();
    assert_int_equal(run_command(1, argv), 0);
    assert_contains(written(), "00000001             usable    Generic RTL2832U OEM (RTL2838UHIDIR)");
    two_dongles();
    assert_int_equal(run_command(1, argv), 0);
    assert_contains(written(), "00000002             NOT ");
    assert_contains(written(), "-> use another dongle");
}

static void test_none(void **state)
{
    (void)state;
    char name[] = "devices";
    char *argv[] = {name, NULL};
    fake_reset();
    fake.device_count = 0;
    assert_int_equal(run_command(1, argv), 69);
    assert_string_equal(written(), "");
}

static void test_records(void **state)
{
    (void)state;
    char name[] = "devices", json[] = "--json";
    char *argv[] = {name, json, NULL};
    two_dongles();
    assert_int_equal(run_command(2, argv), 0);
    assert_contains(written(), "{\"record\":\"device\",\"serial\":\"00000001\",\"model\":\"Generic RTL2832U OEM\","
                               "\"product\":\"Blog V4\",\"usable\":false,\"problem\":\"dongle 00000001");
    assert_contains(written(), "\n{\"record\":\"device\",\"serial\":\"00000002\"");
}

int main(int argc, char **argv)
{
    if (argc != 2)
        return 2;
    output = argv[1];
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_text), cmocka_unit_test(test_none),
        cmocka_unit_test(test_records), /* last: its records stay in the file */
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
