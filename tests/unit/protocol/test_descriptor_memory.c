/* Running out of memory at any place while a descriptor is read: told as such, nothing leaks, the set stays as it is.
 * (The YAML scanner's own allocations are not among those that fail here.) */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "descriptor_sample.h"

#include <stdlib.h>
#include <string.h>

static unsigned allowed = UINT32_MAX; /* allocations until one fails */

void *__real_malloc(size_t size);
void *__real_calloc(size_t count, size_t size);
void *__real_realloc(void *memory, size_t size);
void *__wrap_malloc(size_t size);
void *__wrap_calloc(size_t count, size_t size);
void *__wrap_realloc(void *memory, size_t size);

static bool fails(void)
{
    if (allowed == UINT32_MAX)
        return false;
    return allowed == 0 || allowed-- == 0;
}

void *__wrap_malloc(size_t size)
{
    return fails() ? NULL : __real_malloc(size);
}

void *__wrap_calloc(size_t count, size_t size)
{
    return fails() ? NULL : __real_calloc(count, size);
}

void *__wrap_realloc(void *memory, size_t size)
{
    return fails() ? NULL : __real_realloc(memory, size);
}

/* Loads with 0, 1, 2, ... allocations until it comes out as it does with enough memory; returns that number. */
static unsigned fail_everywhere(const char *text, wh_status expected)
{
    sample_log *const log = malloc(sizeof *log);
    wh_descriptor_set *set = wh_descriptor_set_create();
    unsigned granted = 0;
    for (wh_status status = WH_ERR_MEMORY; status == WH_ERR_MEMORY; granted++) {
        memset(log, 0, sizeof *log);
        allowed = granted;
        status = wh_descriptor_set_load_text(set, "sample.yaml", text, strlen(text), sample_note, log);
        allowed = UINT32_MAX;
        assert_true(status == WH_ERR_MEMORY || status == expected);
        assert_int_equal(wh_descriptor_set_count(set), status == WH_OK);
    }
    wh_descriptor_set_destroy(&set);
    free(log);
    return granted;
}

static void test_good_file(void **state)
{
    (void)state;
    assert_in_range(fail_everywhere(sample_text, WH_OK), 100, 5000); /* each scalar of the file is some */
}

static void test_bad_file(void **state)
{
    (void)state;
    char *const text = sample_with("code: manchester", "code: manchestr", NULL, NULL);
    assert_in_range(fail_everywhere(text, WH_ERR_DATA), 100, 5000);
    free(text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_good_file),
        cmocka_unit_test(test_bad_file),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
