#include "frame_search.h"

#include "../ideal_chips.h"
#include "../near.h"

#define CHIPS_MAX 8192
#define TRIES_MAX 64

static wh_pattern pattern(bool chips, const char *digits)
{
    wh_pattern p = {.chips = chips};
    for (; *digits; digits++)
        if (*digits != ' ')
            p.value[p.count++] = (uint8_t)(*digits - '0');
    return p;
}

/* An emission under construction. */
typedef struct air {
    const wh_line_spec *line;
    uint8_t chip[CHIPS_MAX], level;
    size_t count;
} air;

static void put_pattern(air *a, const wh_pattern *p)
{
    if (p->chips) {
        memcpy(a->chip + a->count, p->value, p->count);
        a->count += p->count;
        a->level = a->chip[a->count - 1];
    } else if (p->count) {
        a->count += wh_line_encode(a->line, p->value, p->count, &a->level, a->chip + a->count, CHIPS_MAX - a->count);
    }
}

static void put_bits(air *a, const uint8_t *bits, size_t count)
{
    a->count += wh_line_encode(a->line, bits, count, &a->level, a->chip + a->count, CHIPS_MAX - a->count);
}

static void put_random_chips(air *a, size_t count, uint64_t seed)
{
    ideal_random(a->chip + a->count, count, seed);
    a->count += count;
}

/* Everything in order; returns the payload's first chip. */
static size_t put_frame(air *a, const wh_frame_spec *f, const uint8_t *bits, size_t count)
{
    for (unsigned i = 0; i < f->preamble_repeats; i++)
        put_pattern(a, &f->preamble);
    put_pattern(a, &f->sync);
    const size_t payload = a->count;
    put_bits(a, bits, count);
    put_pattern(a, &f->end);
    return payload;
}

typedef struct heard {
    size_t count;
    wh_frame_try tries[TRIES_MAX];
    bool refuse;
    const uint8_t *only; /* accept only this payload; NULL: any */
} heard;

static bool says(const wh_frame_try *found, const uint8_t *bits, size_t count)
{
    if (found->bits != count)
        return false;
    for (size_t i = 0; i < count; i++)
        if ((found->soft[i] > 0.0f) != (bits[i] == 1))
            return false;
    return true;
}

static bool accept(void *context, const wh_frame_try *found)
{
    heard *h = context;
    if (h->refuse || (h->only && !says(found, h->only, found->bits)))
        return false;
    assert_true(h->count < TRIES_MAX);
    h->tries[h->count++] = *found;
    return true;
}

static wh_frame_outcome search(const wh_frame_spec *frame, const air *a, size_t pad, heard *h)
{
    wh_framing framing;
    wh_framing_make(a->line, frame, &framing);
    wh_chips chips = {0};
    ideal_chips(&chips, a->chip, a->count, pad, false);
    const wh_frame_outcome outcome = wh_frame_search(&framing, &chips, accept, h);
    wh_chips_free(&chips);
    return outcome;
}

static const wh_line_spec manchester = {.kind = WH_LINE_MANCHESTER};
static const wh_line_spec biphase = {.kind = WH_LINE_BIPHASE_MARK};
static const wh_line_spec pulses = {
    .kind = WH_LINE_PULSE_WIDTH, .zero_count = 2, .one_count = 4, .zero_chips = {1, 0}, .one_chips = {1, 1, 1, 0}};
#define SYNC_BITS  "1110 0101 1010 1100"
#define SYNC_CHIPS "1110 0011 0100 0111"

static wh_frame_spec fixed_frame(bool raw_sync)
{
    return (wh_frame_spec){.preamble = pattern(false, "0"),
                           .preamble_repeats = 12,
                           .sync = raw_sync ? pattern(true, SYNC_CHIPS) : pattern(false, SYNC_BITS),
                           .bits_min = 80,
                           .bits_max = 80,
                           .bits_step = 8};
}

static void one_frame(const wh_line_spec *line, bool raw_sync, bool upside_down)
{
    const wh_frame_spec frame = fixed_frame(raw_sync);
    uint8_t bits[80];
    ideal_random(bits, 80, 4);
    air a = {.line = line, .level = upside_down};
    const size_t payload = put_frame(&a, &frame, bits, 80);
    heard h = {0};
    const wh_frame_outcome outcome = search(&frame, &a, 20, &h);
    assert_int_equal(outcome.verdict, WH_FRAME_FOUND);
    assert_int_equal(h.count, 1);
    const wh_frame_try *found = &h.tries[0];
    assert_true(says(found, bits, 80));
    assert_int_equal(found->payload_chip, 20 + payload);
    assert_int_equal(found->end_chip, 20 + a.count);
    assert_int_equal(found->first_chip + found->known_chips, found->payload_chip);
    assert_near((double)found->sync_score, 1.0, 1e-5);
    assert_near((double)outcome.best_sync, 1.0, 1e-5);
    assert_near((double)found->sync_against, 0.0, 1e-6);
    assert_int_equal(found->violations, 0);
    assert_int_equal(found->sync_chips, raw_sync ? 16 : 16 * wh_line_chips_min(line));
}

static void test_sync(void **state)
{
    (void)state;
    const wh_line_spec nrz = {.kind = WH_LINE_NRZ}, differential = {.kind = WH_LINE_DIFFERENTIAL_MANCHESTER};
    for (int raw = 0; raw < 2; raw++) {
        one_frame(&manchester, raw, false);
        one_frame(&nrz, raw, false);
        one_frame(&biphase, raw, false);
        one_frame(&differential, raw, false);
    }
    /* Codes that know only edges are read from either start level. */
    one_frame(&biphase, false, true);
    one_frame(&differential, false, true);
}

static void test_preamble_only(void **state)
{
    (void)state;
    const wh_frame_spec frame = {
        .preamble = pattern(true, "1100"), .preamble_repeats = 6, .bits_min = 64, .bits_max = 64, .bits_step = 8};
    uint8_t bits[64];
    ideal_random(bits, 64, 14);
    air a = {.line = &manchester};
    const size_t payload = put_frame(&a, &frame, bits, 64);
    heard h = {.only = bits}; /* as a check would */
    assert_int_equal(search(&frame, &a, 12, &h).verdict, WH_FRAME_FOUND);
    assert_int_equal(h.count, 1);
    assert_int_equal(h.tries[0].payload_chip, 12 + payload);
    assert_int_equal(h.tries[0].sync_chips, 0);
    assert_true(h.tries[0].known_chips > 0);
}

/* Nothing known: the payload begins where the carrier does, or a few chips off. */
static void test_no_known_beginning(void **state)
{
    (void)state;
    const wh_frame_spec frame = {.bits_min = 64, .bits_max = 64, .bits_step = 8};
    uint8_t bits[64];
    ideal_random(bits, 64, 15);
    for (size_t off = 0; off < 12; off++) {
        air a = {.line = &manchester};
        put_random_chips(&a, off, 3);
        const size_t payload = put_frame(&a, &frame, bits, 64);
        heard h = {.only = bits};
        assert_int_equal(search(&frame, &a, 12, &h).verdict, WH_FRAME_FOUND);
        assert_int_equal(h.tries[0].payload_chip, 12 + payload);
        assert_int_equal(h.tries[0].known_chips, 0);
        assert_near((double)h.tries[0].sync_score, 0.0, 0.0);
    }
}

/* The end pattern tells the length; what looks like frame behind it is not read. */
static void variable_length(const wh_line_spec *line, const wh_pattern *end, size_t trailing)
{
    const wh_frame_spec frame = {.sync = pattern(true, SYNC_CHIPS),
                                 .bits_min = 40,
                                 .bits_max = 128,
                                 .bits_step = 8,
                                 .end = end ? *end : (wh_pattern){0}};
    for (size_t count = 40; count <= 128; count += 8) {
        uint8_t bits[128];
        ideal_random(bits, count, count);
        air a = {.line = line};
        put_frame(&a, &frame, bits, count);
        const size_t sent = a.count;
        put_random_chips(&a, trailing, 9);
        heard h = {0};
        assert_int_equal(search(&frame, &a, 10, &h).verdict, WH_FRAME_FOUND);
        assert_true(h.count >= 1);
        assert_true(says(&h.tries[0], bits, count));
        assert_int_equal(h.tries[0].end_chip + h.tries[0].end_chips, 10 + sent);
        assert_near((double)h.tries[0].end_score, end ? 1.0 : 0.0, 1e-5);
    }
}

static void test_variable_length(void **state)
{
    (void)state;
    const wh_pattern end_chips = pattern(true, "0001 1100 0111");
    variable_length(&manchester, &end_chips, 0);
    variable_length(&manchester, &end_chips, 40);
    variable_length(&biphase, &end_chips, 0);
    variable_length(&pulses, &end_chips, 0);
    /* Without one the carrier's end tells. */
    variable_length(&manchester, NULL, 0);
    variable_length(&biphase, NULL, 0);
}

/* Four frames in one emission, with and without something in between: all are found, none twice, no two overlap. */
static void test_several_frames(void **state)
{
    (void)state;
    const wh_frame_spec frame = fixed_frame(false);
    for (size_t between = 0; between <= 31; between += 31) {
        uint8_t bits[4][80];
        size_t payload[4];
        air a = {.line = &manchester};
        for (uint64_t i = 0; i < 4; i++) {
            ideal_random(bits[i], 80, 40 + i);
            payload[i] = put_frame(&a, &frame, bits[i], 80);
            put_random_chips(&a, between, i);
        }
        heard h = {0};
        const wh_frame_outcome outcome = search(&frame, &a, 16, &h);
        assert_int_equal(outcome.verdict, WH_FRAME_FOUND);
        assert_int_equal(h.count, 4);
        unsigned seen = 0;
        for (size_t i = 0; i < 4; i++)
            for (size_t k = 0; k < 4; k++)
                if (h.tries[k].payload_chip == 16 + payload[i] && says(&h.tries[k], bits[i], 80))
                    seen |= 1u << i;
        assert_int_equal(seen, 15);
    }
}

/* Each group of eight bits is turned round, a shorter last one too: 20 bits with the numbers of their places. */
static void test_low_bit_first(void **state)
{
    (void)state;
    wh_frame_spec frame = fixed_frame(false);
    frame.bits_min = frame.bits_max = 20;
    frame.low_bit_first = true;
    static const uint8_t sent[20] = {1, 0, 0, 0, 0, 0, 0, 0, 0, 1, 1, 0, 1, 0, 0, 1, 1, 1, 0, 0};
    static const uint8_t numbered[20] = {0, 0, 0, 0, 0, 0, 0, 1, 1, 0, 0, 1, 0, 1, 1, 0, 0, 0, 1, 1};
    air a = {.line = &manchester};
    put_frame(&a, &frame, sent, 20);
    heard h = {0};
    assert_int_equal(search(&frame, &a, 16, &h).verdict, WH_FRAME_FOUND);
    assert_true(says(&h.tries[0], numbered, 20));
}

static void test_verdicts(void **state)
{
    (void)state;
    const wh_frame_spec frame = fixed_frame(false);
    uint8_t bits[80];
    ideal_random(bits, 80, 21);
    air a = {.line = &manchester};
    const size_t payload = put_frame(&a, &frame, bits, 80);
    heard h = {.refuse = true};
    wh_frame_outcome outcome = search(&frame, &a, 16, &h);
    assert_int_equal(outcome.verdict, WH_FRAME_REFUSED);
    assert_true(outcome.tries >= 1);

    h = (heard){0};
    air cut = a;
    cut.count -= 60; /* more than the padding can stand for */
    outcome = search(&frame, &cut, 16, &h);
    assert_int_equal(outcome.verdict, WH_FRAME_CUT_SHORT);
    assert_int_equal(h.count, 0);
    assert_near((double)outcome.best_sync, 1.0, 1e-5);

    air carrier = a; /* the keying stops after the sync: no Manchester bit looks like this */
    memset(carrier.chip + payload, 1, carrier.count - payload);
    outcome = search(&frame, &carrier, 16, &h);
    assert_int_equal(outcome.verdict, WH_FRAME_VIOLATIONS);
    assert_int_equal(h.count, 0);
    assert_near((double)outcome.best_mismatch, 0.5, 0.02);

    air nothing = {.line = &manchester};
    put_random_chips(&nothing, 400, 77);
    outcome = search(&frame, &nothing, 16, &h);
    assert_int_equal(outcome.verdict, WH_FRAME_NO_SYNC);
    assert_int_equal(h.count, 0);
    assert_true(outcome.best_sync < outcome.needed_sync);

    air short_one = {.line = &manchester};
    put_random_chips(&short_one, 10, 1);
    assert_int_equal(search(&frame, &short_one, 0, &h).verdict, WH_FRAME_NO_SYNC);
}

/* Chips turned over in the known beginning: a tenth does no harm, two fifths are another beginning, the score in between is
 * the share that agrees minus the share that does not. One chip that is very sure and wrong counts as one chip. */
static void test_threshold(void **state)
{
    (void)state;
    const wh_frame_spec frame = fixed_frame(false);
    wh_framing framing;
    wh_framing_make(&manchester, &frame, &framing);
    const size_t known = framing.known[0];
    uint8_t bits[80];
    ideal_random(bits, 80, 31);
    bool found_before = true;
    for (size_t wrong = 0; wrong <= known * 2 / 5; wrong++) {
        air a = {.line = &manchester};
        const size_t payload = put_frame(&a, &frame, bits, 80);
        wh_chips chips = {0};
        ideal_chips(&chips, a.chip, a.count, 16, false);
        for (size_t i = 0; i < wrong; i++) {
            const size_t at = 16 + payload - 1 - i * known / (wrong ? wrong : 1);
            ideal_put(&chips, at, !a.chip[at - 16]);
        }
        heard h = {.only = bits};
        const wh_frame_outcome outcome = wh_frame_search(&framing, &chips, accept, &h);
        const double score = 1.0 - 2.0 * (double)wrong / (double)known;
        const bool found = outcome.verdict == WH_FRAME_FOUND;
        assert_true((double)outcome.best_sync >= score - 1e-5);
        assert_int_equal(found, score >= (double)outcome.needed_sync);
        assert_true(found_before || !found);
        assert_true(found || wrong > known / 10);
        if (found)
            assert_near((double)h.tries[0].sync_score, score, 1e-5);
        found_before = found;
        wh_chips_free(&chips);
    }
    assert_false(found_before);
}

static void test_one_sure_chip(void **state)
{
    (void)state;
    const wh_frame_spec frame = fixed_frame(false);
    wh_framing framing;
    wh_framing_make(&manchester, &frame, &framing);
    uint8_t bits[80];
    ideal_random(bits, 80, 32);
    air a = {.line = &manchester};
    const size_t payload = put_frame(&a, &frame, bits, 80);
    wh_chips chips = {0};
    ideal_chips(&chips, a.chip, a.count, 16, false);
    for (size_t k = 0; k < chips.count; k++)
        chips.llr[k] *= 3.0f / IDEAL_LLR;
    chips.llr[16 + payload - 6] *= -20.0f;
    heard h = {.only = bits};
    assert_int_equal(wh_frame_search(&framing, &chips, accept, &h).verdict, WH_FRAME_FOUND);
    assert_near((double)h.tries[0].sync_against, (double)WH_AGAINST_BOUND, 1e-5);
    wh_chips_free(&chips);
}

/* Chips at 10 dB: half of exp(-5), three in a thousand, are wrong; the frame is placed to the chip, and every bit is right. */
static void test_in_noise(void **state)
{
    (void)state;
    const wh_frame_spec frame = fixed_frame(true);
    wh_framing framing;
    wh_framing_make(&manchester, &frame, &framing);
    for (uint64_t seed = 0; seed < 40; seed++) {
        uint8_t bits[80];
        ideal_random(bits, 80, seed);
        air a = {.line = &manchester};
        put_random_chips(&a, 30, seed);
        const size_t payload = put_frame(&a, &frame, bits, 80);
        wh_chips chips = {0};
        ideal_chips(&chips, a.chip, a.count, 16, false);
        ideal_noise(&chips, 0.1, seed);
        heard h = {.only = bits};
        assert_int_equal(wh_frame_search(&framing, &chips, accept, &h).verdict, WH_FRAME_FOUND);
        assert_int_equal(h.tries[0].payload_chip, 16 + payload);
        wh_chips_free(&chips);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_sync),
        cmocka_unit_test(test_preamble_only),
        cmocka_unit_test(test_no_known_beginning),
        cmocka_unit_test(test_variable_length),
        cmocka_unit_test(test_several_frames),
        cmocka_unit_test(test_low_bit_first),
        cmocka_unit_test(test_verdicts),
        cmocka_unit_test(test_threshold),
        cmocka_unit_test(test_one_sure_chip),
        cmocka_unit_test(test_in_noise),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
