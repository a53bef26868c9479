#include "sha512.h"

#include <setjmp.h>
#include <stdarg.h>
#include <string.h>

#include <cmocka.h>

/* FIPS 180-4 example computations (NIST, "Secure Hash Standard", SHA-512): "abc" and the 896-bit message. */
static const char abc[] = "ddaf35a193617abacc417349ae20413112e6fa4e89a97ea20a9eeee64b55d39a"
                          "2192992a274fc1a836ba3c23a3feebbd454d4423643ce80e2a9ac94fa54ca49f";
static const char long_hash[] = "8e959b75dae313da8cf4f72814fc143f8f7779c6eb9f7fa17299aeadb6889018"
                                "501d289e4900f7e4331b99dec4b5433ac7d329eeb6dd26545e96e55b874be909";
static const char long_message[] = "abcdefghbcdefghicdefghijdefghijkefghijklfghijklmghijklmn"
                                   "hijklmnoijklmnopjklmnopqklmnopqrlmnopqrsmnopqrstnopqrstu";

static void test_nist_examples(void **state)
{
    (void)state;
    char hex[WH_SHA512_HEX_SIZE];
    wh_sha512 hash;
    wh_sha512_init(&hash);
    wh_sha512_update(&hash, "abc", 3);
    wh_sha512_hex(&hash, hex);
    assert_string_equal(hex, abc);
    /* The context is fresh again, and pieces of any size give the same hash. */
    for (size_t i = 0; i < strlen(long_message); i += 7)
        wh_sha512_update(&hash, long_message + i, strlen(long_message + i) < 7 ? strlen(long_message + i) : 7);
    wh_sha512_hex(&hash, hex);
    assert_string_equal(hex, long_hash);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_nist_examples)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
