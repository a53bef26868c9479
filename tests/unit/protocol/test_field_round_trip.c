/* Frames to values and back over all shipped descriptors: what a frame says, said again, makes a frame that says it. */
#include "bits.h"
#include "frame_fields.h"
#include "rng.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "../near.h"

static const wh_absolute site = {98.7};

static int load(void **state)
{
    wh_descriptor_set *set = wh_descriptor_set_create();
    *state = set;
    return wh_descriptor_set_load_folder(set, WH_TEST_PROTOCOLS, NULL, NULL) == WH_OK ? 0 : -1;
}

static int unload(void **state)
{
    wh_descriptor_set *set = *state;
    wh_descriptor_set_destroy(&set);
    return 0;
}

static void set(const wh_descriptor *d, wh_frame_bits *frame, const char *field, const char *value)
{
    wh_error error = {0};
    if (wh_field_set(d, frame, field, value, site, &error) != WH_OK)
        fail_msg("%s: %s", d->name, error.what);
}

/* A state without a number, as a word; NULL when the frame says neither. */
static const char *word_of(wh_value_state state)
{
    return state == WH_VALUE_FAULT ? "fault" : state == WH_VALUE_NOT_AVAILABLE ? "not available" : NULL;
}

static void set_pressure(const wh_descriptor *d, wh_frame_bits *frame, const wh_field *field, const wh_reading *reading)
{
    char text[64];
    if (reading->pressure_state == WH_VALUE_OK) {
        /* Said as gauge at this site, whatever the sensor measures. */
        snprintf(text, sizeof text, "%.9f kPa", reading->pressure.kpa);
        set(d, frame, field->name, text);
    } else if (word_of(reading->pressure_state)) {
        set(d, frame, field->name, word_of(reading->pressure_state));
    }
}

static void set_temperature(const wh_descriptor *d, wh_frame_bits *frame, const wh_field *field,
                            const wh_reading *reading)
{
    char text[64];
    if (reading->temperature_state == WH_VALUE_OK) {
        snprintf(text, sizeof text, "%.9f degF", wh_celsius_to(reading->temperature_c, WH_FAHRENHEIT));
        set(d, frame, field->name, text);
    } else if (word_of(reading->temperature_state)) {
        set(d, frame, field->name, word_of(reading->temperature_state));
    }
}

static void set_value(const wh_descriptor *d, wh_frame_bits *frame, const wh_named_value *value)
{
    char text[64];
    snprintf(text, sizeof text, "%.9f %s", value->value, value->unit);
    if (value->state == WH_VALUE_OK)
        set(d, frame, value->name, value->text[0] ? value->text : text);
    else if (word_of(value->state))
        set(d, frame, value->name, word_of(value->state));
}

/* Set in a blank frame all that `reading` says. */
static void say_again(const wh_descriptor *d, const wh_reading *reading, wh_frame_bits *frame)
{
    for (unsigned i = 0; i < d->field_count; i++) {
        if (d->fields[i].role == WH_ROLE_SENSOR)
            set(d, frame, d->fields[i].name, reading->sensor);
        if (d->fields[i].role == WH_ROLE_PRESSURE)
            set_pressure(d, frame, &d->fields[i], reading);
        if (d->fields[i].role == WH_ROLE_TEMPERATURE)
            set_temperature(d, frame, &d->fields[i], reading);
    }
    for (unsigned i = 0; i < reading->value_count; i++)
        set_value(d, frame, &reading->values[i]);
    for (unsigned i = 0; i < reading->flag_count; i++)
        set(d, frame, reading->flags[i].name, reading->flags[i].set ? "yes" : "no");
}

static void compare_values(const wh_reading *a, const wh_reading *b)
{
    assert_int_equal(a->value_count, b->value_count);
    for (unsigned i = 0; i < a->value_count; i++) {
        if (a->values[i].state == WH_VALUE_IMPLAUSIBLE)
            continue;
        assert_int_equal(a->values[i].state, b->values[i].state);
        assert_string_equal(a->values[i].text, b->values[i].text);
        if (a->values[i].text[0] == '\0') /* one word may stand for several raw values */
            assert_near(a->values[i].value, b->values[i].value, 1e-6);
    }
    assert_int_equal(a->flag_count, b->flag_count);
    for (unsigned i = 0; i < a->flag_count; i++)
        assert_int_equal(a->flags[i].set, b->flags[i].set);
}

static void compare(const wh_reading *a, const wh_reading *b)
{
    if (!a->nickname)
        assert_string_equal(a->sensor, b->sensor);
    if (a->pressure_state != WH_VALUE_IMPLAUSIBLE) {
        assert_int_equal(a->pressure_state, b->pressure_state);
        assert_near(a->pressure.kpa, b->pressure.kpa, 1e-6);
    }
    if (a->temperature_state != WH_VALUE_IMPLAUSIBLE) {
        assert_int_equal(a->temperature_state, b->temperature_state);
        assert_near(a->temperature_c, b->temperature_c, 1e-6);
    }
    compare_values(a, b);
}

static void test_random_frames(void **state)
{
    const wh_descriptor_set *all = *state;
    wh_rng rng;
    wh_rng_seed(&rng, 20260302);
    for (size_t k = 0; k < wh_descriptor_set_count(all); k++) {
        const wh_descriptor *d = wh_descriptor_set_at(all, k);
        for (int round = 0; round < 500; round++) {
            wh_frame_bits frame = {.count = d->frame.bits_min}, again;
            for (unsigned at = 0; at + 8 <= frame.count; at += 8)
                wh_bits_write(frame.data, at, 8, wh_rng_next(&rng));
            wh_reading said = {0}, heard = {0};
            wh_fields_decode(d, &frame, site, &said);
            wh_frame_blank(d, &again);
            say_again(d, &said, &again);
            wh_checks_write(d, &again);
            wh_fields_decode(d, &again, site, &heard);
            compare(&said, &heard);
            assert_int_equal(wh_constants_mismatch(d, &again), -1);
            for (unsigned i = 0; i < d->check_count; i++)
                assert_true(wh_check_holds(d, i, &again));
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_random_frames)};
    return cmocka_run_group_tests(tests, load, unload);
}
