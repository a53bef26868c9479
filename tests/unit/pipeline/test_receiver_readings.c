/* What the receiver tells of sensors whose every figure is known. */
#include "yard_scene.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const wh_descriptor *find(const char *name)
{
    const wh_descriptor *d = wh_descriptor_set_find(set, name);
    assert_non_null(d);
    return d;
}

static void hear(yard *y, const wh_descriptor_set *descriptors, heard *h)
{
    yard_record(y);
    yard_run(y, descriptors, 0, 50000, h, NULL);
    yard_free(y);
}

/* The first example of demo-fsk-manchester, written by hand in its file: sensor 0A1B2C3D. All that the signal itself tells as
 * well: when, where in the band, how strong, how often. */
static void test_figures(void **state)
{
    (void)state;
    yard y = yard_create(0.8);
    const wh_descriptor *d = find("demo-fsk-manchester");
    const wh_transmission t = {.start_s = 0.1234, .gap_s = 0.05, .carrier_hz = -31e3, .amplitude = 0.2};
    yard_send(&y, d, NULL, &t);
    heard h = {0};
    hear(&y, set, &h);
    assert_int_equal(h.readings, 1);
    const wh_reading *r = &h.reading[0];
    assert_string_equal(r->descriptor, "demo-fsk-manchester");
    assert_string_equal(r->sensor, "0A1B2C3D");
    assert_string_equal(r->source, "yard");
    assert_int_equal(r->copies, 4);
    assert_int_equal(r->repaired_bits, 0);
    assert_int_equal(r->frame_bits, 80);
    assert_memory_equal(r->frame, d->examples[0].frame, 10);
    assert_near(r->offset_s, 0.1234, 3e-4); /* a few chips of 50 us */
    assert_true(r->has_time);
    assert_near((double)(r->at_utc_us - 1700000000000000), 123400.0, 300.0);
    assert_near(r->carrier_hz, 433.92e6 - 31e3, 1500.0);
    assert_near(r->level_dbfs, 20.0 * log10(0.2), 1.0);
    assert_true(r->confidence > 0.99 && r->confidence <= 1.0);
    /* 0.2^2 over 4e-4 x 20 kchip/s / 250 kS/s is 31 dB. */
    assert_true(r->snr_db > 22.0 && r->snr_db < 33.0);
    assert_int_equal(h.bursts, 4);
    for (size_t i = 0; i < 4; i++) {
        assert_int_equal(h.burst[i].reason, WH_REASON_DECODED);
        assert_string_equal(h.burst[i].descriptor, "demo-fsk-manchester");
        assert_near(h.burst[i].offset_s, 0.1234 + 0.0612 * (double)i, 0.006); /* 11.2 ms and the gap; padding */
    }
    heard_free(&h);
}

/* Each shipped descriptor's own first example comes back, as the one reading with its name. */
static void test_every_descriptor(void **state)
{
    (void)state;
    for (size_t i = 0; i < wh_descriptor_set_count(set); i++) {
        const wh_descriptor *d = wh_descriptor_set_at(set, i);
        yard y = yard_create(0.3);
        y.spec.centre_hz = d->carriers_hz[0];
        const wh_transmission t = {.start_s = 0.05, .gap_s = 0.04, .copies = 1, .carrier_hz = 7e3};
        yard_send(&y, d, NULL, &t);
        heard h = {0};
        hear(&y, set, &h);
        size_t found = 0;
        for (size_t r = 0; r < h.readings; r++)
            if (strcmp(h.reading[r].descriptor, wh_descriptor_name(d)) == 0 &&
                memcmp(h.reading[r].frame, d->examples[0].frame, ((size_t)d->examples[0].bits + 7) / 8) == 0)
                found++;
        /* One copy without any check is told, but may be too little to report. */
        if (d->check_count > 0 || wh_evidence_bits(d) >= 16) {
            if (found != 1 || h.readings != 1)
                print_error("%s: %zu readings, %zu of them right\n%s", wh_descriptor_name(d), h.readings, found,
                            h.text ? h.text : "");
            assert_int_equal(found, 1);
        }
        assert_int_equal(h.readings, found);
        heard_free(&h);
    }
}

/* Unknown centre: the carrier is told relative to it. */
static void test_unknown_centre(void **state)
{
    (void)state;
    yard y = yard_create(0.3);
    y.spec.centre_hz = 0.0;
    const wh_transmission t = {.start_s = 0.1, .gap_s = 0.05, .copies = 1, .carrier_hz = 22e3};
    yard_send(&y, find("demo-fsk-manchester"), NULL, &t);
    heard h = {0};
    hear(&y, set, &h);
    assert_int_equal(h.readings, 1);
    assert_near(h.reading[0].carrier_hz, 22e3, 1500.0);
    heard_free(&h);
}

/* Two sensors' copies in turns, and a third of another kind over them: same bits merge, others do not. */
static void test_copies_in_turns(void **state)
{
    (void)state;
    yard y = yard_create(0.8);
    const wh_descriptor *d = find("demo-fsk-manchester");
    const wh_transmission one = {.start_s = 0.100, .gap_s = 0.06, .copies = 4, .carrier_hz = -20e3};
    const wh_transmission two = {.start_s = 0.130, .gap_s = 0.06, .copies = 3, .carrier_hz = 15e3};
    yard_send(&y, d, "11111111", &one);
    yard_send(&y, d, "22222222", &two);
    heard h = {0};
    hear(&y, set, &h);
    assert_int_equal(h.readings, 2);
    assert_string_equal(h.reading[0].sensor, "11111111");
    assert_int_equal(h.reading[0].copies, 4);
    assert_near(h.reading[0].carrier_hz, 433.92e6 - 20e3, 1500.0);
    assert_string_equal(h.reading[1].sensor, "22222222");
    assert_int_equal(h.reading[1].copies, 3);
    assert_near(h.reading[1].offset_s, 0.130, 3e-4);
    heard_free(&h);
}

/* The same sensor again after more than the descriptor's longest gap (120 ms and some slack) is another reading. */
static void test_later_activation(void **state)
{
    (void)state;
    yard y = yard_create(1.2);
    const wh_descriptor *d = find("demo-fsk-manchester");
    for (int i = 0; i < 2; i++) {
        const wh_transmission t = {.start_s = 0.1 + 0.7 * i, .gap_s = 0.06, .copies = 2};
        yard_send(&y, d, NULL, &t);
    }
    heard h = {0};
    hear(&y, set, &h);
    assert_int_equal(h.readings, 2);
    assert_int_equal(h.reading[0].copies, 2);
    assert_int_equal(h.reading[1].copies, 2);
    assert_near(h.reading[1].offset_s - h.reading[0].offset_s, 0.7, 3e-4);
    heard_free(&h);
}

/* More copies agree, more confidence: a frame without a check alone against four of them. */
static void test_copies_count(void **state)
{
    (void)state;
    const wh_descriptor *d = find("demo-ook-nrz");
    double confidence[2] = {0.0, 0.0};
    for (int many = 0; many < 2; many++) {
        yard y = yard_create(0.8);
        y.spec.centre_hz = 315e6;
        const wh_transmission t = {
            .start_s = 0.1, .gap_s = 0.06, .copies = many ? 4 : 1, .amplitude = yard_amplitude(&y, d, 20.0)};
        yard_send(&y, d, NULL, &t);
        heard h = {0};
        hear(&y, set, &h);
        if (h.readings > 0)
            confidence[many] = h.reading[0].confidence;
        if (many) {
            assert_int_equal(h.readings, 1);
            assert_int_equal(h.reading[0].copies, 4);
        }
        heard_free(&h);
    }
    assert_true(confidence[1] >= confidence[0]);
}

/* Changed copies of a text: `old` replaced everywhere by `new`, which has the same length. */
static void replace(char *text, const char *old, const char *new)
{
    assert_int_equal(strlen(old), strlen(new));
    size_t count = 0;
    for (char *at = text; (at = strstr(at, old)) != NULL; at += strlen(new), count++)
        memcpy(at, new, strlen(new));
    assert_true(count > 0);
}

/* Two kinds that share radio and frame layout and differ in a constant: each reads its own. The second is demo-fsk-manchester
 * with family 011; its example is the first's with those bits (54 to 56) and a CRC-8 (0x07, start 0) worked out apart. */
static void test_shared_radio(void **state)
{
    (void)state;
    char text[8192];
    FILE *file = fopen(WH_TEST_PROTOCOLS "/demo-fsk-manchester.yaml", "r");
    assert_non_null(file);
    const size_t length = fread(text, 1, sizeof text - 1, file);
    fclose(file);
    text[length] = '\0';
    char *examples = strstr(text, "examples:");
    assert_non_null(examples);
    *examples = '\0';
    replace(text, "name: demo-fsk-manchester", "name: demo-fsk-manchestes");
    replace(text, "0b101", "0b011");
    strcat(text, "examples: [{frame: {hex: \"0A1B2C3DB53A8185FA96\", bits: 80}, expect: {sensor: 0A1B2C3D}}]\n");
    wh_descriptor_set *both = yard_descriptors();
    assert_int_equal(wh_descriptor_set_load_text(both, "changed", text, strlen(text), NULL, NULL), WH_OK);
    const wh_descriptor *first = wh_descriptor_set_find(both, "demo-fsk-manchester");
    const wh_descriptor *second = wh_descriptor_set_find(both, "demo-fsk-manchestes");
    assert_non_null(second);
    yard y = yard_create(0.8);
    const wh_transmission one = {.start_s = 0.10, .gap_s = 0.06, .copies = 2},
                          two = {.start_s = 0.40, .gap_s = 0.06, .copies = 2};
    yard_send(&y, first, "AAAAAAAA", &one);
    yard_send(&y, second, "BBBBBBBB", &two);
    heard h = {0};
    hear(&y, both, &h);
    assert_int_equal(h.readings, 2);
    assert_string_equal(h.reading[0].descriptor, "demo-fsk-manchester");
    assert_string_equal(h.reading[0].sensor, "AAAAAAAA");
    assert_string_equal(h.reading[1].descriptor, "demo-fsk-manchestes");
    assert_string_equal(h.reading[1].sensor, "BBBBBBBB");
    heard_free(&h);
    wh_descriptor_set_destroy(&both);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_figures),          cmocka_unit_test(test_every_descriptor),
        cmocka_unit_test(test_unknown_centre),   cmocka_unit_test(test_copies_in_turns),
        cmocka_unit_test(test_later_activation), cmocka_unit_test(test_copies_count),
        cmocka_unit_test(test_shared_radio),
    };
    return cmocka_run_group_tests(tests, yard_load, yard_unload);
}
