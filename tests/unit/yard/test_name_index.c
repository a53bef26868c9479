#include "name_index.h"

#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include "../near.h"

static void test_empty(void **state)
{
    (void)state;
    wh_name_index index = {0};
    assert_true(wh_name_index_find(&index, "A") == SIZE_MAX);
    wh_name_index_free(&index);
}

/* Many more names than slots at the start; each is found with its own number, others are not. */
static void test_many(void **state)
{
    (void)state;
    enum { N = 5000 };
    static char names[N][12];
    wh_name_index index = {0};
    for (size_t i = 0; i < N; i++) {
        snprintf(names[i], sizeof names[i], "%zX", i * 2654435761u % 4294967296u);
        assert_true(wh_name_index_find(&index, names[i]) == SIZE_MAX);
        assert_true(wh_name_index_add(&index, names[i], i));
    }
    for (size_t i = 0; i < N; i++) {
        char copy[12];
        memcpy(copy, names[i], sizeof copy); /* by content, not by address */
        assert_true(wh_name_index_find(&index, copy) == i);
    }
    assert_true(wh_name_index_find(&index, "") == SIZE_MAX);
    assert_true(wh_name_index_find(&index, "ZZ") == SIZE_MAX);
    wh_name_index_free(&index);
    assert_true(wh_name_index_find(&index, names[0]) == SIZE_MAX);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_empty), cmocka_unit_test(test_many)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
