/* No radio is needed: fake_rtlsdr.c stands in for the driver library. */
#include "dongle_tuning.h"
#include "fake_rtlsdr.h"
#include "run_source.h"
#include "source_dongle.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

/* No USB devices, no processes. */
static const wh_system_roots nowhere = {.sys = "/nonexistent", .proc = "/nonexistent", .dev = "/nonexistent"};
static const wh_dongle_limits quick = {.silence_ms = 450, .stop_ms = 300, .ring_bytes = 1 << 20};

typedef struct heard_run {
    wh_status open_status, status;
    wh_error error;
    wh_stream stream;
    uint8_t bytes[200000];
    size_t count;
    uint64_t lost;
    size_t gaps, idle, notices, largest;
    wh_error notice;
} heard_run;

static void pause_ms(long ms)
{
    const struct timespec time = {.tv_nsec = ms * 1000000L};
    nanosleep(&time, NULL);
}

static void take(heard_run *out, const wh_source_event *event)
{
    switch (event->kind) {
    case WH_SOURCE_STREAM: out->stream = event->stream; break;
    case WH_SOURCE_SAMPLES:
        assert_true(out->stream.sample_rate_hz > 0);
        assert_true(out->count + 2 * event->count <= sizeof out->bytes);
        memcpy(out->bytes + out->count, event->samples, 2 * event->count);
        out->count += 2 * event->count;
        out->largest = event->count > out->largest ? event->count : out->largest;
        break;
    case WH_SOURCE_GAP:
        out->lost += event->lost;
        out->gaps++;
        break;
    case WH_SOURCE_NOTICE:
        out->notice = event->notice;
        out->notices++;
        break;
    default: assert_int_equal(event->kind, WH_SOURCE_IDLE); out->idle++;
    }
}

static wh_status open_fake(const wh_source_options *options, const wh_dongle_limits *limits, wh_source **source,
                           wh_error *error)
{
    return wh_dongle_open(options, limits, &nowhere, source, error);
}

static heard_run *hear(const wh_source_options *options, const wh_dongle_limits *limits)
{
    static heard_run out;
    memset(&out, 0, sizeof out);
    wh_source *source = NULL;
    out.open_status = open_fake(options, limits, &source, &out.error);
    while (out.open_status == WH_OK) {
        wh_source_event event;
        out.status = wh_source_next(source, &event, &out.error);
        if (out.status != WH_OK)
            break;
        take(&out, &event);
    }
    wh_source_destroy(&source);
    assert_int_equal(fake.opened, fake.closed);
    return &out;
}

static void test_samples_until_unplugged(void **state)
{
    (void)state;
    fake_reset();
    fake.transfers = 5;
    wh_source_options options = options_for("dongle");
    options.block_samples = 1000;
    const heard_run *heard = hear(&options, &quick);
    assert_int_equal(heard->open_status, WH_OK);
    assert_int_equal(heard->status, WH_ERR_GONE);
    assert_contains(heard->error.what, "00000001: gone");
    assert_int_equal(heard->count, 5 * 16384);
    for (size_t i = 0; i < heard->count; i++)
        assert_int_equal(heard->bytes[i], (uint8_t)i);
    assert_true(heard->largest <= 1000);
    assert_int_equal(heard->gaps, 0);
    assert_true(heard->stream.has_time);
    assert_string_equal(heard->stream.name, "00000001");
    assert_int_equal(fake.rate, 1024000);
    assert_int_equal(fake.centre, 433920000);
    assert_int_equal(fake.gain_mode, 0);
}

static void test_settings_reach_the_dongle(void **state)
{
    (void)state;
    fake_reset();
    wh_source_options options = options_for("dongle=00000001");
    options.sample_rate_hz = 2.4e6;
    options.centre_hz = 315e6;
    options.gain_db = 31.0;
    options.ppm = 12.4;
    hear(&options, &quick);
    assert_int_equal(fake.rate, 2400000);
    assert_int_equal(fake.centre, 315000000);
    assert_int_equal(fake.gain_mode, 1);
    assert_int_equal(fake.gain, 297); /* 29.7 and 32.8 dB are its neighbours */
    assert_int_equal(fake.ppm, 12);
}

static void test_short_and_odd_transfers(void **state)
{
    (void)state;
    fake_reset();
    fake.transfers = 40;
    fake.lengths[0] = 3;
    fake.lengths[1] = 1;
    fake.lengths[2] = 700;
    fake.lengths[3] = 1;
    const wh_source_options options = options_for("dongle");
    const heard_run *heard = hear(&options, &quick);
    assert_int_equal(heard->count, 10 * 705);
    for (size_t i = 0; i < heard->count; i++)
        assert_int_equal(heard->bytes[i], (uint8_t)i);
}

static void test_slow_reader_is_told_what_it_missed(void **state)
{
    (void)state;
    fake_reset();
    fake.transfers = 20;
    fake.then = THEN_SILENCE;
    const wh_dongle_limits small = {.silence_ms = 450, .stop_ms = 300, .ring_bytes = 50000};
    const wh_source_options options = options_for("dongle");
    wh_source *source;
    wh_error error;
    static heard_run heard;
    assert_int_equal(open_fake(&options, &small, &source, &error), WH_OK);
    while (fake.sent < 20) /* the reader sleeps while all of it comes: room for 3 transfers of 16384 bytes */
        pause_ms(1);
    fake.cancelled = true; /* what comes now is the end */
    wh_source_event event;
    while (wh_source_next(source, &event, &error) == WH_OK)
        take(&heard, &event);
    wh_source_destroy(&source);
    assert_int_equal(heard.gaps, 1);
    assert_int_equal(heard.count % 16384, 0);
    assert_true(heard.count >= 16384 && heard.count < 20 * 16384);
    assert_int_equal(heard.count / 2 + heard.lost, 20 * 8192);
    assert_int_equal(error.status, WH_ERR_GONE);
}

/* Half a sample before the gap and an odd number of bytes missing with it: what follows begins with the Q of a sample
 * whose I is gone. */
static void test_samples_begin_with_i_again_after_a_gap(void **state)
{
    (void)state;
    fake_reset();
    fake.transfers = 13;
    fake.lengths[0] = 4095;
    fake.pause_after = 11;
    const wh_dongle_limits small = {.silence_ms = 450, .stop_ms = 300, .ring_bytes = 16000}; /* three transfers */
    const wh_source_options options = options_for("dongle");
    wh_source *source;
    static heard_run heard;
    assert_int_equal(open_fake(&options, &small, &source, NULL), WH_OK);
    while (fake.sent < 11)
        pause_ms(1);
    wh_source_event event;
    while (wh_source_next(source, &event, NULL) == WH_OK) {
        take(&heard, &event);
        if (heard.count == 3 * 4095 - 1)
            fake.go = true;
    }
    wh_source_destroy(&source);
    assert_int_equal(heard.gaps, 1);
    assert_int_equal(heard.lost, (1 + 8 * 4095 + 1) / 2); /* with the halves on both sides */
    assert_int_equal(heard.count / 2, (3 * 4095 - 1) / 2 + (2 * 4095 - 1) / 2);
    for (size_t i = 0; i < heard.count; i += 2) { /* bytes count up, so I is even and Q one more */
        assert_int_equal(heard.bytes[i] % 2, 0);
        assert_int_equal(heard.bytes[i + 1], heard.bytes[i] + 1);
    }
}

static void open_fails(int code, wh_status status, const char *what, const char *fix)
{
    fake_reset();
    fake.open_code = code;
    const wh_source_options options = options_for("dongle");
    const heard_run *heard = hear(&options, &quick);
    assert_int_equal(heard->open_status, status);
    assert_contains(heard->error.what, what);
    assert_contains(heard->error.fix, fix);
}

static void test_every_refusal_has_its_words(void **state)
{
    (void)state;
    /* The codes are those of enum libusb_error in libusb.h. */
    open_fails(-3, WH_ERR_PERMISSION, "no right", "usermod -aG plugdev");
    open_fails(-6, WH_ERR_BUSY, "another program", "close");
    open_fails(-4, WH_ERR_GONE, "went away", "plug");
    open_fails(-12, WH_ERR_BUSY, "television driver", "rmmod");
    open_fails(-1, WH_ERR_IO, "USB error -1", "plug");
    open_fails(-99, WH_ERR_IO, "USB error -99", "plug");
    fake_reset();
    fake.device_count = 0;
    wh_source_options options = options_for("dongle");
    assert_int_equal(hear(&options, &quick)->open_status, WH_ERR_NOT_FOUND);
    fake_reset();
    fake.fail_setting = -9;
    assert_int_equal(hear(&options, &quick)->open_status, WH_ERR_IO);
    assert_int_equal(fake.closed, 1);
}

static void test_serial_is_text_never_a_number(void **state)
{
    (void)state;
    fake_reset();
    fake.device_count = 3;
    fake.serials[0] = "2";
    fake.serials[1] = "00000002";
    fake.serials[2] = "1";
    static const struct {
        const char *target;
        wh_status status;
        uint32_t index;
        const char *what;
    } cases[] = {{"dongle=00000002", WH_ERR_GONE, 1, ""},
                 {"dongle=2", WH_ERR_GONE, 0, ""},
                 {"dongle=1", WH_ERR_GONE, 2, ""},
                 {"dongle=0", WH_ERR_NOT_FOUND, 0, "2, 00000002, 1"},
                 {"dongle", WH_ERR_ARGUMENT, 0, "3 dongles are plugged in"}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        const wh_source_options options = options_for(cases[i].target);
        const heard_run *heard = hear(&options, &quick);
        assert_int_equal(heard->open_status == WH_OK ? heard->status : heard->open_status, cases[i].status);
        assert_contains(heard->error.what, cases[i].what);
        if (heard->open_status == WH_OK)
            assert_int_equal(fake.opened_index, cases[i].index);
    }
    fake.serials[2] = "2";
    const wh_source_options options = options_for("dongle=2");
    const heard_run *heard = hear(&options, &quick);
    assert_int_equal(heard->open_status, WH_ERR_ARGUMENT);
    assert_contains(heard->error.what, "2 dongles have the serial number 2");
    fake_reset();
    fake.opened_serial = "00000077"; /* another one slipped into its number */
    const wh_source_options any = options_for("dongle");
    assert_int_equal(hear(&any, &quick)->open_status, WH_ERR_BUSY);
}

static void illegal(double rate, const char *fix)
{
    fake_reset();
    wh_source_options options = options_for("dongle");
    options.sample_rate_hz = rate;
    const heard_run *heard = hear(&options, &quick);
    assert_int_equal(heard->open_status, WH_ERR_ARGUMENT);
    assert_contains(heard->error.fix, fix);
    assert_int_equal(fake.opened, 0);
}

static void test_rates(void **state)
{
    (void)state;
    /* Ranges from rtl-sdr.h: 225001 - 300000 Hz and 900001 - 3200000 Hz. */
    illegal(500e3, "use 300000");
    illegal(800e3, "use 900001");
    illegal(900e3, "use 900001");
    illegal(225e3, "use 225001");
    illegal(4e6, "use 3200000");
    illegal((double)INFINITY, "use 3200000");
    static const double legal[] = {225001, 250e3, 300e3, 900001, 1.024e6, 2.4e6, 3.2e6};
    for (size_t i = 0; i < sizeof legal / sizeof *legal; i++) {
        uint32_t rate;
        assert_int_equal(wh_dongle_rate(legal[i], &rate, NULL), WH_OK);
        assert_true(rate == legal[i]);
    }
    assert_int_equal(wh_dongle_transfer_bytes(250e3), 16384);
    assert_int_equal(wh_dongle_transfer_bytes(2.4e6), 81920); /* 17 ms */
}

static void test_frequency_without_its_prefix(void **state)
{
    (void)state;
    fake_reset();
    wh_source_options options = options_for("dongle");
    options.centre_hz = 433.92;
    const heard_run *heard = hear(&options, &quick);
    assert_int_equal(heard->open_status, WH_ERR_ARGUMENT);
    assert_contains(heard->error.fix, "433.92M");
    options.centre_hz = 433.92e6;
    options.gain_db = 400.0;
    assert_int_equal(hear(&options, &quick)->open_status, WH_ERR_ARGUMENT);
}

static void test_silence_is_idle_then_gone(void **state)
{
    (void)state;
    fake_reset();
    fake.transfers = 1;
    fake.then = THEN_SILENCE;
    const wh_source_options options = options_for("dongle");
    const heard_run *heard = hear(&options, &quick);
    assert_int_equal(heard->count, 16384);
    assert_true(heard->idle >= 1);
    assert_int_equal(heard->status, WH_ERR_GONE);
    assert_contains(heard->error.what, "no samples any more");
}

static void test_destroyed_in_the_middle(void **state)
{
    (void)state;
    for (int held = 0; held < 2; held++) {
        fake_reset();
        fake.transfers = held ? 1 : 1000000;
        fake.hold_back = held;
        fake.then = THEN_SILENCE;
        const wh_source_options options = options_for("dongle");
        wh_source *source;
        assert_int_equal(open_fake(&options, &quick, &source, NULL), WH_OK);
        wh_source_destroy(&source); /* also before the driver's loop has begun */
        assert_null(source);
        assert_int_equal(fake.closed, 1);
    }
}

static void test_driver_that_never_ends_does_not_hang(void **state)
{
    (void)state;
    fake_reset();
    fake.transfers = 1;
    fake.then = THEN_STUCK;
    const wh_source_options options = options_for("dongle");
    wh_source *source;
    assert_int_equal(open_fake(&options, &quick, &source, NULL), WH_OK);
    wh_source_destroy(&source);
    assert_null(source);
    assert_int_equal(fake.closed, 0); /* left to the thread that still uses it */
    fake.release_stuck = true;
    for (int i = 0; i < 1000 && fake.closed == 0; i++)
        pause_ms(5);
    assert_int_equal(fake.closed, 1);
}

static void test_newer_model_is_named(void **state)
{
    (void)state;
    fake_reset();
    fake.manufacturer = "RTLSDRBlog";
    fake.product = "Blog V4";
    fake.transfers = 1;
    const wh_source_options options = options_for("dongle");
    const heard_run *heard = hear(&options, &quick);
    assert_int_equal(heard->notices, 1);
    assert_int_equal(heard->notice.status, WH_ERR_UNSUPPORTED);
    assert_contains(heard->notice.what, "expect to hear nothing");
    assert_int_equal(heard->count, 16384); /* samples go on */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_samples_until_unplugged),
        cmocka_unit_test(test_settings_reach_the_dongle),
        cmocka_unit_test(test_short_and_odd_transfers),
        cmocka_unit_test(test_slow_reader_is_told_what_it_missed),
        cmocka_unit_test(test_samples_begin_with_i_again_after_a_gap),
        cmocka_unit_test(test_every_refusal_has_its_words),
        cmocka_unit_test(test_serial_is_text_never_a_number),
        cmocka_unit_test(test_rates),
        cmocka_unit_test(test_frequency_without_its_prefix),
        cmocka_unit_test(test_silence_is_idle_then_gone),
        cmocka_unit_test(test_destroyed_in_the_middle),
        cmocka_unit_test(test_driver_that_never_ends_does_not_hang),
        cmocka_unit_test(test_newer_model_is_named),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
