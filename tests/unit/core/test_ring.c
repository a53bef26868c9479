#include "ring.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>
#include <pthread.h>
#include <stdatomic.h>

static void test_bytes_come_out_in_order(void **state)
{
    (void)state;
    wh_ring *ring = wh_ring_create(100);
    uint8_t out[16];
    uint64_t lost;
    assert_false(wh_ring_ready(ring));
    assert_int_equal(wh_ring_read(ring, out, sizeof out, &lost), 0);
    assert_true(wh_ring_write(ring, "abcdef", 6));
    assert_true(wh_ring_write(ring, "gh", 2));
    assert_true(wh_ring_ready(ring));
    assert_int_equal(wh_ring_read(ring, out, 4, &lost), 4); /* part of a write */
    assert_memory_equal(out, "abcd", 4);
    assert_int_equal(wh_ring_read(ring, out, sizeof out, &lost), 2); /* its rest; never two writes at once */
    assert_memory_equal(out, "ef", 2);
    assert_int_equal(wh_ring_read(ring, out, sizeof out, &lost), 2);
    assert_memory_equal(out, "gh", 2);
    assert_int_equal(lost, 0);
    assert_false(wh_ring_ready(ring));
    wh_ring_destroy(&ring);
    assert_null(ring);
}

static void test_loss_is_told_at_its_place(void **state)
{
    (void)state;
    wh_ring *ring = wh_ring_create(5000); /* becomes 8192 */
    static uint8_t block[4000], out[4000];
    uint64_t lost;
    memset(block, 1, sizeof block);
    assert_true(wh_ring_write(ring, block, 4000));
    assert_true(wh_ring_write(ring, block, 4000));
    assert_false(wh_ring_write(ring, block, 300));
    assert_false(wh_ring_write(ring, block, 4000));
    assert_int_equal(wh_ring_dropped(ring), 4300);
    assert_int_equal(wh_ring_read(ring, out, sizeof out, &lost), 4000);
    assert_int_equal(lost, 0);
    block[0] = 2;
    assert_true(wh_ring_write(ring, block, 100));
    assert_int_equal(wh_ring_read(ring, out, sizeof out, &lost), 4000);
    assert_int_equal(lost, 0);
    assert_int_equal(wh_ring_read(ring, out, sizeof out, &lost), 0);
    assert_int_equal(lost, 4300);
    assert_int_equal(wh_ring_read(ring, out, sizeof out, &lost), 100);
    assert_int_equal(lost, 0);
    assert_int_equal(out[0], 2);
    assert_int_equal(wh_ring_lost_at_end(ring), 0);
    wh_ring_lose(ring, 7);
    assert_int_equal(wh_ring_lost_at_end(ring), 7);
    assert_int_equal(wh_ring_lost_at_end(ring), 0);
    assert_int_equal(wh_ring_dropped(ring), 4307);
    wh_ring_destroy(&ring);
}

static void test_larger_than_the_ring(void **state)
{
    (void)state;
    wh_ring *ring = wh_ring_create(1);
    static uint8_t block[5000];
    assert_false(wh_ring_write(ring, block, sizeof block));
    assert_int_equal(wh_ring_lost_at_end(ring), 5000);
    wh_ring_destroy(&ring);
    assert_null(wh_ring_create(0));
    assert_null(wh_ring_create(((size_t)1 << 30) + 1));
}

#define WRITES 40000u

typedef struct writer {
    wh_ring *ring;
    atomic_bool done;
} writer;

/* A count in 32 bit words, in writes of changing length: whatever is dropped, the reader can tell by the numbers. */
static void *write_all(void *context)
{
    writer *self = context;
    uint32_t words[64], next = 0;
    for (unsigned i = 0; i < WRITES; i++) {
        const size_t count = 1 + i % 64;
        for (size_t k = 0; k < count; k++)
            words[k] = next++;
        wh_ring_write(self->ring, words, count * sizeof *words);
    }
    atomic_store(&self->done, true);
    return NULL;
}

static void test_two_threads_agree_on_every_byte(void **state)
{
    (void)state;
    writer self = {.ring = wh_ring_create(4000)};
    pthread_t thread;
    assert_int_equal(pthread_create(&thread, NULL, write_all, &self), 0);
    uint32_t words[50], expected = 0;
    uint64_t lost_in_all = 0;
    for (;;) {
        const bool done = atomic_load(&self.done);
        uint64_t lost;
        const size_t got = wh_ring_read(self.ring, words, sizeof words, &lost);
        assert_int_equal(got % 4, 0);
        assert_int_equal(lost % 4, 0);
        expected += (uint32_t)(lost / 4);
        lost_in_all += lost;
        for (size_t i = 0; i < got / 4; i++)
            assert_int_equal(words[i], expected++);
        if (done && got == 0 && lost == 0)
            break;
    }
    pthread_join(thread, NULL);
    const uint64_t last = wh_ring_lost_at_end(self.ring);
    assert_int_equal(lost_in_all + last, wh_ring_dropped(self.ring));
    /* 40000 writes of 1, 2 ... 64 words: 625 rounds of 2080 */
    assert_int_equal(expected + last / 4, 625 * 2080);
    wh_ring_destroy(&self.ring);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_bytes_come_out_in_order),
        cmocka_unit_test(test_loss_is_told_at_its_place),
        cmocka_unit_test(test_larger_than_the_ring),
        cmocka_unit_test(test_two_threads_agree_on_every_byte),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
