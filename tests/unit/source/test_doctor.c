/* The doctor with a make-believe dongle: every illness, its words and its exit status (numbers of <sysexits.h>). */
#include "doctor.h"
#include "fake_rtlsdr.h"
#include "run_source.h"

#include <stdio.h>
#include <stdlib.h>

static char said[8000];

static int examine(const char *serial, const char *descriptors)
{
    wh_doctor_options options;
    wh_doctor_options_defaults(&options);
    options.serial = serial;
    options.descriptors = descriptors;
    options.listen_s = 0.02; /* 20480 samples at 1.024 MS/s */
    options.roots = (wh_system_roots){.sys = "/nonexistent", .proc = "/nonexistent", .dev = "/nonexistent"};
    options.limits = (wh_dongle_limits){.silence_ms = 450, .stop_ms = 300, .ring_bytes = 1 << 20};
    memset(said, 0, sizeof said);
    FILE *out = fmemopen(said, sizeof said - 1, "w");
    assert_non_null(out);
    const int status = wh_doctor_examine(&options, out);
    fclose(out);
    return status;
}

static const char *descriptor_file(void)
{
    return getenv("WH_TEST_DESCRIPTORS");
}

/* A healthy one: random bytes around the middle, and enough of them. */
static void healthy(void)
{
    fake_reset();
    fake.transfers = 10;
    fake.then = THEN_SILENCE;
    fake.low = 118;
    fake.span = 20;
}

static void test_everything_works(void **state)
{
    (void)state;
    healthy();
    assert_int_equal(examine(NULL, descriptor_file()), 0);
    assert_contains(said, "good   dongle       serial 00000001");
    assert_contains(said, "in 0.0 s on 433.9200 MHz, 0 lost");
    /* Uniform over 20 values: deviation sqrt((20^2 - 1) / 12) = 5.77 steps. */
    assert_contains(said, "(5.8 steps of the converter), 0.00 % clipped");
    assert_contains(said, "Everything works");
    assert_null(strstr(said, "FAULT"));
}

static void test_level_findings(void **state)
{
    (void)state;
    healthy();
    fake.span = 0; /* a ramp over the whole scale: 2 of 128 samples touch its ends */
    assert_int_equal(examine(NULL, descriptor_file()), 1);
    assert_contains(said, "1.56 % clipped");
    assert_contains(said, "--gain 15");
    healthy();
    fake.span = 1;
    assert_int_equal(examine(NULL, descriptor_file()), 1);
    assert_contains(said, "every sample is the same");
    healthy();
    fake.low = 127;
    fake.span = 2; /* deviation 0.5, less what the mean takes away */
    assert_int_equal(examine(NULL, descriptor_file()), 1);
    assert_contains(said, "antenna");
}

static void ill(int status, const char *what, const char *fix)
{
    assert_int_equal(examine(NULL, descriptor_file()), status);
    assert_contains(said, "FAULT");
    assert_contains(said, what);
    assert_contains(said, fix);
    assert_null(strstr(said, "Everything works"));
}

static void test_illnesses(void **state)
{
    (void)state;
    healthy();
    fake.device_count = 0;
    ill(69, "no dongle is plugged in", "-> plug one in");
    healthy();
    fake.serials[0] = NULL;
    ill(77, "no right to use it", "usermod -aG plugdev");
    healthy();
    fake.open_code = -6;
    ill(75, "held by another program", "-> close the other program");
    healthy();
    fake.open_code = -3;
    ill(77, "no right to use it", "plugdev");
    healthy();
    fake.open_code = -1;
    ill(74, "cannot be started", "plug");
    healthy();
    fake.manufacturer = "RTLSDRBlog";
    fake.product = "Blog V4";
    ill(69, "hears nothing", "-> use another dongle");
    healthy();
    fake.transfers = 0;
    ill(69, "sends no samples", "USB port");
    healthy();
    fake.transfers = 1;
    fake.then = THEN_UNPLUG;
    ill(69, "gone", "plug it in again");
}

static void test_chosen_dongle(void **state)
{
    (void)state;
    healthy();
    fake.device_count = 2;
    fake.serials[1] = "77";
    assert_int_equal(examine("77", descriptor_file()), 0);
    assert_int_equal(fake.opened_index, 1);
    assert_null(strstr(said, "00000001"));
    assert_int_equal(examine("78", descriptor_file()), 69);
    assert_contains(said, "no dongle with serial number 78; there is 00000001, 77");
}

static void test_no_descriptors(void **state)
{
    (void)state;
    healthy();
    assert_int_equal(examine(NULL, "/nonexistent/folder"), 78);
    assert_contains(said, "FAULT  descriptors");
    assert_contains(said, "good   samples"); /* the rest is examined all the same */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_everything_works), cmocka_unit_test(test_level_findings),
        cmocka_unit_test(test_illnesses),        cmocka_unit_test(test_chosen_dongle),
        cmocka_unit_test(test_no_descriptors),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
