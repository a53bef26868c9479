#include "bits.h"
#include "frame_fields.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "../near.h"

static const wh_absolute sea_level = {101.325};

static wh_places place(unsigned at, unsigned length)
{
    return (wh_places){1, {{(uint16_t)at, (uint16_t)length}}};
}

static wh_field *add(wh_descriptor *d, const char *name, wh_field_role role, wh_places at)
{
    wh_field *field = &d->fields[d->field_count++];
    *field = (wh_field){.role = role, .at = at, .scale = 1.0};
    snprintf(field->name, sizeof field->name, "%s", name);
    return field;
}

static wh_frame_bits frame_of(unsigned bits, const uint8_t *bytes)
{
    wh_frame_bits frame = {.count = bits};
    memcpy(frame.data, bytes, (bits + 7) / 8);
    return frame;
}

/* Microchip UHF transceiver evaluation kit guide, table "Data Protocol": 8-bit ID, 16-bit signed number of 0.1 degC, the
 * check is the two's complement of the sum of ID and data. */
static wh_descriptor remote_sensor(void)
{
    wh_descriptor d = {.name = "remote", .check_count = 1};
    d.frame.bits_min = d.frame.bits_max = 32;
    d.checks[0] =
        (wh_check){.kind = WH_CHECK_TWOS_SUM, .width = 8, .word = 8, .over = place(0, 24), .at = place(24, 8)};
    add(&d, "kind", WH_ROLE_CONSTANT, place(0, 8))->constant = 0x64;
    wh_field *t = add(&d, "temperature", WH_ROLE_TEMPERATURE, place(8, 16));
    t->sign = WH_TWOS_COMPLEMENT;
    t->scale = 0.1;
    return d;
}

/* Worked from that table: 23.5 degC = 235 = 0x00EB, sum 0x14F, check 0xB1; -5.0 degC = 0xFFCE, sum 0x231, check 0xCF. */
static void test_published_frames(void **state)
{
    (void)state;
    const wh_descriptor d = remote_sensor();
    static const struct {
        uint8_t bytes[4];
        const char *text;
        double celsius;
    } rows[] = {{{0x64, 0x00, 0xEB, 0xB1}, "23.5 degC", 23.5}, {{0x64, 0xFF, 0xCE, 0xCF}, "-5 C", -5.0}};
    for (size_t i = 0; i < 2; i++) {
        wh_frame_bits made;
        wh_frame_blank(&d, &made);
        assert_int_equal(wh_field_set(&d, &made, "temperature", rows[i].text, sea_level, NULL), WH_OK);
        wh_checks_write(&d, &made);
        assert_int_equal(made.count, 32);
        assert_memory_equal(made.data, rows[i].bytes, 4);

        wh_frame_bits frame = frame_of(32, rows[i].bytes);
        assert_true(wh_check_holds(&d, 0, &frame));
        assert_int_equal(wh_constants_mismatch(&d, &frame), -1);
        wh_reading reading = {0};
        assert_int_equal(wh_fields_decode(&d, &frame, sea_level, &reading), 0);
        assert_int_equal(reading.temperature_state, WH_VALUE_OK);
        assert_near(reading.temperature_c, rows[i].celsius, 1e-9);
        assert_int_equal(reading.pressure_state, WH_VALUE_ABSENT);
        assert_int_equal(reading.frame_bits, 32);
        assert_memory_equal(reading.frame, rows[i].bytes, 4);
        for (unsigned bit = 0; bit < 32; bit++) { /* a sum sees every single error */
            wh_frame_bits damaged = frame;
            wh_bit_put(damaged.data, bit, !wh_bit_get(frame.data, bit));
            assert_false(wh_check_holds(&d, 0, &damaged));
        }
    }
    const wh_frame_bits battery = frame_of(32, (const uint8_t[]){0x19, 0x00, 0xEB, 0xFC});
    assert_int_equal(wh_constants_mismatch(&d, &battery), 0);
    assert_int_equal(wh_evidence_bits(&d), 16);
}

/* 24-bit places with the value 0x123456 in every order; the bytes written down by hand. */
static void test_orders(void **state)
{
    (void)state;
    const wh_places whole = place(4, 24);
    static const struct {
        bool low_bit, low_byte;
        uint8_t bytes[4];
    } rows[] = {
        {false, false, {0xF1, 0x23, 0x45, 0x6F}},
        {false, true, {0xF5, 0x63, 0x41, 0x2F}},
        {true, false, {0xF6, 0xA2, 0xC4, 0x8F}}, /* 0x123456 turned round: 0110 1010 0010 1100 0100 1000 */
        {true, true, {0xF6, 0xA2, 0xC4, 0x8F}},
    };
    for (size_t i = 0; i < 4; i++) {
        wh_frame_bits frame = frame_of(32, (const uint8_t[]){0xFF, 0xFF, 0xFF, 0xFF});
        wh_places_write(&frame, &whole, rows[i].low_bit, rows[i].low_byte, 0x123456);
        assert_memory_equal(frame.data, rows[i].bytes, 4);
        assert_int_equal(wh_places_read(&frame, &whole, rows[i].low_bit, rows[i].low_byte), 0x123456);
    }
}

static void test_split_places(void **state)
{
    (void)state;
    const wh_places split = {3, {{12, 4}, {0, 4}, {7, 1}}};
    wh_frame_bits frame = frame_of(16, (const uint8_t[]){0xB1, 0x0C});
    assert_int_equal(wh_places_bits(&split), 9);
    assert_int_equal(wh_places_read(&frame, &split, false, false), 0x197); /* 1100 1011 1 */
    wh_places_write(&frame, &split, false, false, 0x0A4);                  /* 0101 0010 0 */
    assert_memory_equal(frame.data, ((uint8_t[]){0x20, 0x05}), 2);
    /* Beyond the storage: nothing is read or written, nothing breaks. */
    const wh_places outside = {1, {{65000, 32}}};
    wh_places_write(&frame, &outside, false, false, 0xFFFFFFFF);
    assert_int_equal(wh_places_read(&frame, &outside, false, false), 0);
}

/* Gauge is absolute minus the site's atmosphere: 825.325 kPa absolute at sea level is 724 kPa gauge. */
static void test_pressure_references(void **state)
{
    (void)state;
    wh_descriptor d = {.name = "p"};
    d.frame.bits_min = d.frame.bits_max = 16;
    wh_field *p = add(&d, "pressure", WH_ROLE_PRESSURE, place(0, 16));
    p->scale = 0.025;
    p->absolute = true;
    wh_frame_bits frame;
    wh_frame_blank(&d, &frame);
    assert_int_equal(wh_field_set(&d, &frame, "pressure", "724 kPa", sea_level, NULL), WH_OK);
    assert_int_equal(wh_bits_read(frame.data, 0, 16), 33013); /* 825.325 / 0.025 */
    wh_reading reading = {0};
    wh_fields_decode(&d, &frame, sea_level, &reading);
    assert_true(reading.from_absolute);
    assert_near(reading.absolute.kpa, 825.325, 1e-6);
    assert_near(reading.pressure.kpa, 724.0, 1e-6);
    /* Denver, 84.3 kPa of atmosphere: the same frame is a higher gauge pressure. */
    wh_fields_decode(&d, &frame, (wh_absolute){84.3}, &reading);
    assert_near(reading.pressure.kpa, 741.025, 1e-6);
    /* 100 psi = 689.4757 kPa (NIST SP 811), 8 bar = 800 kPa. */
    assert_int_equal(wh_field_set(&d, &frame, "pressure", "100 psi absolute", sea_level, NULL), WH_OK);
    assert_int_equal(wh_bits_read(frame.data, 0, 16), 27579);
    assert_int_equal(wh_field_set(&d, &frame, "PRESSURE", "8 bar absolute", sea_level, NULL), WH_OK);
    assert_int_equal(wh_bits_read(frame.data, 0, 16), 32000);
    p->absolute = false;
    assert_int_equal(wh_field_set(&d, &frame, "pressure", "825.325 kPa absolute", sea_level, NULL), WH_OK);
    assert_int_equal(wh_bits_read(frame.data, 0, 16), 28960); /* 724 / 0.025 */
    wh_fields_decode(&d, &frame, sea_level, &reading);
    assert_false(reading.from_absolute);
    assert_near(reading.pressure.kpa, 724.0, 1e-6);
}

static void code(wh_field *field, uint64_t from, uint64_t to, wh_code_kind kind, const char *text)
{
    wh_code *c = &field->codes[field->code_count++];
    *c = (wh_code){.from = from, .to = to, .kind = kind};
    snprintf(c->text, sizeof c->text, "%s", text);
}

static void test_codes_are_never_numbers(void **state)
{
    (void)state;
    wh_descriptor d = {.name = "c"};
    d.frame.bits_min = d.frame.bits_max = 16;
    wh_field *p = add(&d, "pressure", WH_ROLE_PRESSURE, place(0, 8));
    p->scale = 4.0;
    code(p, 0xFF, 0xFF, WH_CODE_FAULT, "sensor error");
    code(p, 0xFB, 0xFE, WH_CODE_NOT_AVAILABLE, "");
    p->has_plausible = true;
    p->plausible_low = 0.0;
    p->plausible_high = 900.0;
    wh_field *s = add(&d, "motion", WH_ROLE_VALUE, place(8, 8));
    code(s, 2, 2, WH_CODE_MEANING, "rolling");
    static const struct {
        uint8_t raw;
        wh_value_state state;
        unsigned implausible;
    } rows[] = {{0xFF, WH_VALUE_FAULT, 0},
                {0xFB, WH_VALUE_NOT_AVAILABLE, 0},
                {0xFE, WH_VALUE_NOT_AVAILABLE, 0},
                {0xFA, WH_VALUE_IMPLAUSIBLE, 1},
                {225, WH_VALUE_OK, 0},
                {0, WH_VALUE_OK, 0}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        const wh_frame_bits frame = frame_of(16, (const uint8_t[]){rows[i].raw, 2});
        wh_reading reading = {0};
        assert_int_equal(wh_fields_decode(&d, &frame, sea_level, &reading), rows[i].implausible);
        assert_int_equal(reading.pressure_state, rows[i].state);
        assert_string_equal(reading.pressure_note, rows[i].raw == 0xFF ? "sensor error" : "");
        assert_int_equal(reading.value_count, 1);
        assert_int_equal(reading.values[0].state, WH_VALUE_OK);
        assert_string_equal(reading.values[0].text, "rolling");
    }
    wh_frame_bits frame;
    wh_frame_blank(&d, &frame);
    wh_error error;
    assert_int_equal(wh_field_set(&d, &frame, "pressure", "fault", sea_level, NULL), WH_OK);
    assert_int_equal(frame.data[0], 0xFF);
    assert_int_equal(wh_field_set(&d, &frame, "pressure", "not available", sea_level, NULL), WH_OK);
    assert_int_equal(frame.data[0], 0xFB);
    assert_int_equal(wh_field_set(&d, &frame, "motion", "rolling", sea_level, NULL), WH_OK);
    assert_int_equal(frame.data[1], 2);
    /* 1020 kPa would be the fault code, 1004 kPa not available: neither may be made by accident. */
    assert_int_equal(wh_field_set(&d, &frame, "pressure", "1020 kPa", sea_level, &error), WH_ERR_LIMIT);
    assert_non_null(strstr(error.what, "sensor error"));
    assert_int_equal(wh_field_set(&d, &frame, "pressure", "1004 kPa", sea_level, &error), WH_ERR_LIMIT);
    assert_int_equal(wh_field_set(&d, &frame, "pressure", "1024 kPa", sea_level, &error), WH_ERR_LIMIT);
    assert_non_null(strstr(error.fix, "0 to 1020 kPa gauge"));
    assert_int_equal(wh_field_set(&d, &frame, "pressure", "raw FC", sea_level, &error), WH_OK);
    assert_int_equal(frame.data[0], 0xFC);
}

/* Raw 0b1011 (4 bits): unsigned 11, two's complement -5, sign and magnitude -3; inverted 0b0100 = 4. */
static void test_signs_and_inversion(void **state)
{
    (void)state;
    static const struct {
        wh_sign sign;
        bool inverted;
        double number;
        uint8_t byte;
    } rows[] = {{WH_UNSIGNED, false, 11, 0xB0},       {WH_TWOS_COMPLEMENT, false, -5, 0xB0},
                {WH_SIGN_MAGNITUDE, false, -3, 0xB0}, {WH_UNSIGNED, true, 4, 0xB0},
                {WH_TWOS_COMPLEMENT, true, -5, 0x40}, {WH_TWOS_COMPLEMENT, false, -8, 0x80},
                {WH_SIGN_MAGNITUDE, false, -7, 0xF0}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        wh_descriptor d = {.name = "s"};
        d.frame.bits_min = d.frame.bits_max = 8;
        wh_field *t = add(&d, "temperature", WH_ROLE_TEMPERATURE, place(0, 4));
        t->sign = rows[i].sign;
        t->inverted = rows[i].inverted;
        wh_frame_bits frame = frame_of(8, &rows[i].byte);
        wh_reading reading = {0};
        wh_fields_decode(&d, &frame, sea_level, &reading);
        assert_near(reading.temperature_c, rows[i].number, 1e-9);
        char text[32];
        snprintf(text, sizeof text, "%.1f degC", rows[i].number);
        wh_frame_bits made = {.count = 8};
        assert_int_equal(wh_field_set(&d, &made, "temperature", text, sea_level, NULL), WH_OK);
        assert_int_equal(made.data[0], rows[i].byte);
    }
}

static void test_temperature_units(void **state)
{
    (void)state;
    wh_descriptor d = {.name = "t"};
    d.frame.bits_min = d.frame.bits_max = 8;
    add(&d, "temperature", WH_ROLE_TEMPERATURE, place(0, 8))->offset = -40.0;
    static const struct {
        const char *text;
        uint8_t raw;
    } rows[] = {{"18.4 degC", 58}, {"68 degF", 60}, {"212 F", 140}, {"293.15 K", 60}, {"-40C", 0}, {"+215 C", 255}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        wh_frame_bits frame = {.count = 8};
        assert_int_equal(wh_field_set(&d, &frame, "temperature", rows[i].text, sea_level, NULL), WH_OK);
        assert_int_equal(frame.data[0], rows[i].raw);
    }
    static const char *const bad[] = {"",           "18.5",          "warm",  "18.5 kPa", "215.6 degC",
                                      "-40.6 degC", "18.5 degC now", "fault", "1e999 C"};
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        wh_frame_bits frame = {.count = 8};
        wh_error error = {0};
        assert_int_not_equal(wh_field_set(&d, &frame, "temperature", bad[i], sea_level, &error), WH_OK);
        assert_true(error.what[0] && error.fix[0]);
        assert_int_equal(frame.data[0], 0);
    }
}

static void test_lookup_table(void **state)
{
    (void)state;
    double volts[] = {2.1, 2.2, NAN, 3.0};
    wh_descriptor d = {.name = "l"};
    d.frame.bits_min = d.frame.bits_max = 8;
    wh_field *b = add(&d, "battery", WH_ROLE_VALUE, place(0, 4));
    b->table = volts;
    b->table_count = 4;
    snprintf(b->unit, sizeof b->unit, "V");
    static const wh_value_state states[] = {WH_VALUE_OK, WH_VALUE_OK, WH_VALUE_FAULT, WH_VALUE_OK,
                                            WH_VALUE_IMPLAUSIBLE};
    for (uint8_t raw = 0; raw < 5; raw++) {
        const uint8_t byte = (uint8_t)(raw << 4);
        const wh_frame_bits frame = frame_of(8, &byte);
        wh_reading reading = {0};
        assert_int_equal(wh_fields_decode(&d, &frame, sea_level, &reading), raw == 4);
        assert_int_equal(reading.values[0].state, states[raw]);
        assert_string_equal(reading.values[0].unit, "V");
        if (states[raw] == WH_VALUE_OK)
            assert_near(reading.values[0].value, volts[raw], 1e-12);
    }
    wh_frame_bits frame = {.count = 8};
    assert_int_equal(wh_field_set(&d, &frame, "battery", "2.8 V", sea_level, NULL), WH_OK);
    assert_int_equal(frame.data[0], 0x30);
    assert_int_equal(wh_field_set(&d, &frame, "battery", "2.14", sea_level, NULL), WH_OK);
    assert_int_equal(frame.data[0], 0x00);
    assert_int_equal(wh_field_set(&d, &frame, "battery", "fault", sea_level, NULL), WH_OK);
    assert_int_equal(frame.data[0], 0x20);
    assert_int_equal(wh_field_set(&d, &frame, "battery", "3.3 V", sea_level, NULL), WH_ERR_LIMIT);
    assert_int_equal(wh_field_set(&d, &frame, "battery", "2.8 A", sea_level, NULL), WH_ERR_ARGUMENT);
}

static void test_sensor_and_flags(void **state)
{
    (void)state;
    wh_descriptor d = {.name = "f"};
    d.frame.bits_min = d.frame.bits_max = 40;
    add(&d, "sensor", WH_ROLE_SENSOR, place(0, 30));
    add(&d, "battery low", WH_ROLE_FLAG, place(30, 1));
    add(&d, "parked", WH_ROLE_FLAG, place(31, 1))->inverted = true;
    wh_frame_bits frame;
    wh_frame_blank(&d, &frame);
    assert_int_equal(wh_field_set(&d, &frame, "sensor", "0a1b2c3d", sea_level, NULL), WH_OK);
    assert_int_equal(wh_field_set(&d, &frame, "battery_low", "yes", sea_level, NULL), WH_OK);
    assert_int_equal(wh_field_set(&d, &frame, "parked", "0", sea_level, NULL), WH_OK);
    assert_int_equal(wh_bits_read(frame.data, 0, 32), (0x0A1B2C3DULL << 2) | 3);
    wh_reading reading = {0};
    wh_fields_decode(&d, &frame, sea_level, &reading);
    assert_string_equal(reading.sensor, "0A1B2C3D");
    assert_int_equal(reading.sensor_bits, 30);
    assert_false(reading.nickname);
    assert_int_equal(reading.flag_count, 2);
    assert_string_equal(reading.flags[0].name, "battery low");
    assert_true(reading.flags[0].set);
    assert_false(reading.flags[1].set);
    wh_error error = {0};
    assert_int_equal(wh_field_set(&d, &frame, "sensor", "FFFFFFFF", sea_level, &error), WH_ERR_LIMIT);
    assert_int_equal(wh_field_set(&d, &frame, "sensor", "wheel", sea_level, &error), WH_ERR_ARGUMENT);
    assert_int_equal(wh_field_set(&d, &frame, "sensor", "11112222333344445", sea_level, &error), WH_ERR_ARGUMENT);
    assert_int_equal(wh_field_set(&d, &frame, "parked", "maybe", sea_level, &error), WH_ERR_ARGUMENT);
    assert_int_equal(wh_field_set(&d, &frame, "presure", "1 bar", sea_level, &error), WH_ERR_NOT_FOUND);
    assert_non_null(strstr(error.fix, "sensor, battery low, parked"));
}

/* Each kind over A5 3C 96: by hand sum 0x177, XOR 0x0F; ones 4 + 4 + 4. CRC-16/XMODEM of the ASCII digits is the
 * catalogue's check value 31C3. */
static void test_check_kinds(void **state)
{
    (void)state;
    static const struct {
        wh_check check;
        uint64_t value;
    } rows[] = {
        {{.kind = WH_CHECK_SUM, .width = 8, .word = 8}, 0x77},
        {{.kind = WH_CHECK_SUM, .width = 12, .word = 8, .start = 0x10, .final_xor = 0xFFF}, 0xE78},
        {{.kind = WH_CHECK_TWOS_SUM, .width = 8, .word = 8}, 0x89},
        {{.kind = WH_CHECK_XOR, .width = 8, .word = 8}, 0x0F},
        {{.kind = WH_CHECK_XOR, .width = 8, .word = 8, .start = 0x5A, .final_xor = 0xF0}, 0xA5},
        {{.kind = WH_CHECK_XOR, .width = 4, .word = 4}, 0xF},
        {{.kind = WH_CHECK_PARITY_EVEN, .width = 1}, 0},
        {{.kind = WH_CHECK_PARITY_ODD, .width = 1}, 1},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        wh_descriptor d = {.name = "k", .check_count = 1};
        d.frame.bits_min = d.frame.bits_max = 40;
        d.checks[0] = rows[i].check;
        d.checks[0].over = place(0, 24);
        d.checks[0].at = place(24, d.checks[0].width);
        wh_frame_bits frame = frame_of(40, (const uint8_t[]){0xA5, 0x3C, 0x96, 0, 0});
        wh_checks_write(&d, &frame);
        assert_int_equal(wh_places_read(&frame, &d.checks[0].at, false, false), rows[i].value);
        assert_true(wh_check_holds(&d, 0, &frame));
        wh_bit_put(frame.data, 9, 1);
        assert_false(wh_check_holds(&d, 0, &frame));
    }
    wh_descriptor d = {.name = "crc", .check_count = 1};
    d.checks[0] = (wh_check){.kind = WH_CHECK_CRC,
                             .width = 16,
                             .polynomial = 0x1021,
                             .low_byte_first = true,
                             .over = place(0, 72),
                             .at = place(72, 16)};
    wh_frame_bits frame = frame_of(88, (const uint8_t *)"123456789\0\0");
    wh_checks_write(&d, &frame);
    assert_int_equal(frame.data[9], 0xC3);
    assert_int_equal(frame.data[10], 0x31);
    assert_true(wh_check_holds(&d, 0, &frame));
}

/* A parity bit inside the range of a CRC: written in order, both hold. Evidence counts overlapping bits once. */
static void test_several_checks(void **state)
{
    (void)state;
    wh_descriptor d = {.name = "m", .check_count = 2};
    d.frame.bits_min = d.frame.bits_max = 32;
    d.checks[0] = (wh_check){.kind = WH_CHECK_PARITY_EVEN, .width = 1, .over = place(0, 15), .at = place(15, 1)};
    d.checks[1] = (wh_check){
        .kind = WH_CHECK_CRC, .width = 5, .polynomial = 0x05, .start = 0x1F, .over = place(0, 16), .at = place(16, 5)};
    add(&d, "family", WH_ROLE_CONSTANT, place(0, 3))->constant = 5;
    add(&d, "mark", WH_ROLE_CONSTANT, place(2, 2))->constant = 2;
    wh_frame_bits frame;
    wh_frame_blank(&d, &frame);
    wh_bits_write(frame.data, 4, 8, 0x37);
    wh_checks_write(&d, &frame);
    assert_int_equal(wh_bits_read(frame.data, 0, 4), 0xA); /* 101 and 10 share a bit */
    assert_true(wh_check_holds(&d, 0, &frame));
    assert_true(wh_check_holds(&d, 1, &frame));
    assert_int_equal(wh_evidence_bits(&d), 1 + 5 + 4);
    wh_bit_put(frame.data, 5, !wh_bit_get(frame.data, 5));
    assert_false(wh_check_holds(&d, 0, &frame));
    assert_false(wh_check_holds(&d, 1, &frame));
}

static void test_nickname(void **state)
{
    (void)state;
    wh_descriptor d = {.name = "n", .partial = true, .steady = {2, {{0, 8}, {16, 8}}}};
    d.frame.bits_min = d.frame.bits_max = 64;
    wh_frame_bits frame = frame_of(64, (const uint8_t *)"\x0A\xFF\x3D\xFF\x01\x02\x03\x04");
    wh_reading reading = {0};
    wh_fields_decode(&d, &frame, sea_level, &reading);
    assert_true(reading.nickname);
    assert_string_equal(reading.sensor, "~000A3D"); /* few steady bits stand as they are */
    d.steady = place(0, 48);
    char first[72];
    wh_fields_decode(&d, &frame, sea_level, &reading);
    snprintf(first, sizeof first, "%s", reading.sensor);
    assert_int_equal(strlen(first), 7);
    wh_bit_put(frame.data, 60, 1); /* not steady: the name stays */
    wh_fields_decode(&d, &frame, sea_level, &reading);
    assert_string_equal(reading.sensor, first);
    wh_bit_put(frame.data, 3, 1);
    wh_fields_decode(&d, &frame, sea_level, &reading);
    assert_string_not_equal(reading.sensor, first);
    d.steady.count = 0;
    wh_fields_decode(&d, &frame, sea_level, &reading);
    assert_string_equal(reading.sensor, "~unknown");
}

/* When the ID's place becomes known the reading shows the ID, and the nickname still follows from the same bits. */
static void test_nickname_outlives_completion(void **state)
{
    (void)state;
    wh_descriptor d = {.name = "n", .partial = true, .steady = place(0, 16)};
    d.frame.bits_min = d.frame.bits_max = 64;
    wh_frame_bits frame = frame_of(64, (const uint8_t *)"\x0A\x3D\x01\x02\x03\x04\x05\x06");
    wh_reading reading = {0};
    wh_fields_decode(&d, &frame, sea_level, &reading);
    assert_string_equal(reading.sensor, "~000A3D");
    d.partial = false;
    d.field_count = 1;
    d.fields[0] = (wh_field){.name = "sensor", .role = WH_ROLE_SENSOR, .at = place(0, 32)};
    wh_fields_decode(&d, &frame, sea_level, &reading);
    assert_false(reading.nickname);
    assert_string_equal(reading.sensor, "0A3D0102");
    char name[WH_NICKNAME_SIZE];
    assert_int_equal(wh_nickname_of(&d, &frame, name), 16);
    assert_string_equal(name, "~000A3D");
}

/* A frame shorter than a field of the variable part has no such value; a reused reading keeps nothing old. */
static void test_short_frame_leaves_fields_out(void **state)
{
    (void)state;
    wh_descriptor d = {.name = "v"};
    add(&d, "sensor", WH_ROLE_SENSOR, place(0, 8));
    add(&d, "temperature", WH_ROLE_TEMPERATURE, place(8, 8));
    add(&d, "count", WH_ROLE_VALUE, place(16, 8));
    wh_frame_bits frame = frame_of(24, (const uint8_t[]){0x11, 0x22, 0x33});
    wh_reading reading = {.snr_db = 21.5};
    wh_fields_decode(&d, &frame, sea_level, &reading);
    assert_int_equal(reading.value_count, 1);
    assert_near(reading.temperature_c, 34.0, 1e-9);
    frame.count = 12;
    wh_fields_decode(&d, &frame, sea_level, &reading);
    assert_string_equal(reading.sensor, "11");
    assert_int_equal(reading.temperature_state, WH_VALUE_ABSENT);
    assert_int_equal(reading.value_count, 0);
    assert_near(reading.snr_db, 21.5, 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_published_frames),
        cmocka_unit_test(test_orders),
        cmocka_unit_test(test_split_places),
        cmocka_unit_test(test_pressure_references),
        cmocka_unit_test(test_codes_are_never_numbers),
        cmocka_unit_test(test_signs_and_inversion),
        cmocka_unit_test(test_temperature_units),
        cmocka_unit_test(test_lookup_table),
        cmocka_unit_test(test_sensor_and_flags),
        cmocka_unit_test(test_check_kinds),
        cmocka_unit_test(test_several_checks),
        cmocka_unit_test(test_nickname),
        cmocka_unit_test(test_nickname_outlives_completion),
        cmocka_unit_test(test_short_frame_leaves_fields_out),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
