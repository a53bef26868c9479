#include "id_disguise.h"

#include <setjmp.h>
#include <stdarg.h>
#include <string.h>

#include <cmocka.h>

/* An ID of 16 bits in two places, an XOR of bytes as check: 12 ^ 34 ^ 56 = 70. */
static wh_descriptor kind = {
    .name = "kind",
    .frame = {.bits_min = 32, .bits_max = 32, .bits_step = 1},
    .check_count = 1,
    .checks = {{.kind = WH_CHECK_XOR, .width = 8, .word = 8, .over = {1, {{0, 24}}}, .at = {1, {{24, 8}}}}},
    .field_count = 2,
    .fields = {{.name = "sensor", .role = WH_ROLE_SENSOR, .at = {2, {{0, 8}, {16, 8}}}},
               {.name = "counter", .role = WH_ROLE_VALUE, .at = {1, {{8, 8}}}, .scale = 1.0}},
};

static void test_frames(void **state)
{
    (void)state;
    wh_id_disguise disguise = {0};
    wh_error error;
    wh_frame_bits one = {32, {0x12, 0x34, 0x56, 0x70}}, later = {32, {0x12, 0x35, 0x56, 0x71}};
    wh_frame_bits other = {32, {0x12, 0x34, 0x57, 0x71}};
    assert_true(wh_disguise_possible(&kind));
    assert_int_equal(wh_disguise_frame(&disguise, &kind, &one, &error), WH_OK);
    assert_int_equal(wh_disguise_frame(&disguise, &kind, &other, &error), WH_OK);
    assert_int_equal(wh_disguise_frame(&disguise, &kind, &later, &error), WH_OK);
    assert_int_equal(disguise.count, 2);
    assert_true(one.data[0] != 0x12 || one.data[2] != 0x56);
    assert_int_equal(one.data[1], 0x34); /* what is not the ID stays */
    assert_int_equal(later.data[1], 0x35);
    assert_int_equal(one.data[0], later.data[0]);
    assert_int_equal(one.data[2], later.data[2]);
    assert_true(one.data[0] != other.data[0] || one.data[2] != other.data[2]);
    const wh_frame_bits *const frames[] = {&one, &later, &other};
    for (size_t i = 0; i < 3; i++) {
        const uint8_t *d = frames[i]->data;
        assert_int_equal(d[0] ^ d[1] ^ d[2], d[3]);
    }
    wh_disguise_free(&disguise);
}

static void test_not_from_the_real_one(void **state)
{
    (void)state;
    wh_error error;
    wh_id_disguise a = {0}, b = {0};
    wh_frame_bits x = {32, {0x12, 0x34, 0x56, 0x70}}, y = {32, {0xAB, 0x34, 0xCD, 0x52}};
    assert_int_equal(wh_disguise_frame(&a, &kind, &x, &error), WH_OK);
    assert_int_equal(wh_disguise_frame(&b, &kind, &y, &error), WH_OK);
    assert_memory_equal(x.data, y.data, 4); /* both are the first sensor of their pack */
    wh_disguise_free(&a);
    wh_disguise_free(&b);
    wh_descriptor partial = kind;
    partial.partial = true;
    assert_false(wh_disguise_possible(&partial));
}

static void test_text(void **state)
{
    (void)state;
    wh_text out = {0};
    wh_descriptor_stripped("# gate 4\nname: a # by day\nnote: \"a # b\"\nexamples:\n  - frame: x\n- frame: y\n# end\n"
                           "fields: # none\n  - {name: it's, x: 1} # c\n",
                           "examples:\n  - z\n", &out);
    assert_string_equal(out.data, "name: a\nnote: \"a # b\"\nfields:\n  - {name: it's, x: 1}\nexamples:\n  - z\n");
    wh_text_free(&out);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_frames), cmocka_unit_test(test_not_from_the_real_one),
                                       cmocka_unit_test(test_text)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
