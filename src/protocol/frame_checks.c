/* Places, checks and constants of a frame: everything about a frame that needs no units. */
#include "bits.h"
#include "checksum.h"
#include "crc.h"
#include "field_value.h"
#include "frame_fields.h"

#include <string.h>

#define GATHER_BITS_MAX (WH_PIECES_MAX * WH_FRAME_BITS_MAX)

/* A bit beyond the storage reads as 0, so that no descriptor can make a reader leave the array. */
static unsigned bit_at(const wh_frame_bits *frame, size_t index)
{
    return index < WH_FRAME_BITS_MAX ? wh_bit_get(frame->data, index) : 0;
}

unsigned wh_places_bits(const wh_places *places)
{
    unsigned sum = 0;
    for (unsigned i = 0; i < places->count; i++)
        sum += places->piece[i].length;
    return sum;
}

/* Between the order on the air and a plain number; its own inverse. Low bit first turns the whole value round, which
 * puts the bytes in order as well. */
static uint64_t reorder(uint64_t value, unsigned bits, bool low_bit_first, bool low_byte_first)
{
    if (low_bit_first)
        return wh_bits_reverse(value, bits);
    if (!low_byte_first || bits % 8 != 0)
        return value;
    uint64_t swapped = 0;
    for (unsigned i = 0; i < bits; i += 8)
        swapped = swapped << 8 | (value >> i & 0xFF);
    return swapped;
}

uint64_t wh_places_read(const wh_frame_bits *frame, const wh_places *places, bool low_bit_first, bool low_byte_first)
{
    uint64_t value = 0;
    unsigned bits = 0;
    for (unsigned i = 0; i < places->count; i++) {
        const wh_piece piece = places->piece[i];
        for (unsigned k = 0; k < piece.length && bits < 64; k++, bits++)
            value = value << 1 | bit_at(frame, (size_t)piece.at + k);
    }
    return reorder(value, bits, low_bit_first, low_byte_first);
}

void wh_places_write(wh_frame_bits *frame, const wh_places *places, bool low_bit_first, bool low_byte_first,
                     uint64_t raw)
{
    unsigned bits = wh_places_bits(places);
    if (bits > 64)
        bits = 64;
    const uint64_t value = reorder(raw & wh_bits_mask(bits), bits, low_bit_first, low_byte_first);
    unsigned written = 0;
    for (unsigned i = 0; i < places->count; i++) {
        const wh_piece piece = places->piece[i];
        for (unsigned k = 0; k < piece.length && written < bits; k++, written++) {
            const size_t at = (size_t)piece.at + k;
            if (at < WH_FRAME_BITS_MAX)
                wh_bit_put(frame->data, at, (unsigned)(value >> (bits - 1 - written) & 1u));
        }
    }
}

/* The bits of `places` one after the other, packed; returns how many. */
static size_t gather(const wh_frame_bits *frame, const wh_places *places, uint8_t packed[GATHER_BITS_MAX / 8])
{
    size_t count = 0;
    memset(packed, 0, GATHER_BITS_MAX / 8);
    for (unsigned i = 0; i < places->count; i++) {
        const wh_piece piece = places->piece[i];
        for (size_t k = 0; k < piece.length && count < GATHER_BITS_MAX; k++, count++)
            wh_bit_put(packed, count, bit_at(frame, piece.at + k));
    }
    return count;
}

uint32_t wh_check_value(const wh_check *check, const wh_frame_bits *frame)
{
    uint8_t packed[GATHER_BITS_MAX / 8];
    const size_t count = gather(frame, &check->over, packed);
    const uint32_t mask = (uint32_t)wh_bits_mask(check->width);
    const unsigned word = check->word ? check->word : 8;
    switch (check->kind) {
    case WH_CHECK_CRC: {
        const wh_crc crc = {check->width,     check->polynomial, check->start,
                            check->final_xor, check->reflect_in, check->reflect_out};
        return wh_crc_of(&crc, packed, count);
    }
    case WH_CHECK_SUM: return ((check->start + wh_sum_words(packed, count, word, 32)) ^ check->final_xor) & mask;
    case WH_CHECK_TWOS_SUM:
        return (0u - ((check->start + wh_sum_words(packed, count, word, 32)) ^ check->final_xor)) & mask;
    case WH_CHECK_XOR: return (check->start ^ wh_xor_words(packed, count, word, 32) ^ check->final_xor) & mask;
    case WH_CHECK_PARITY_ODD: return wh_parity_of(packed, count) ^ 1u;
    default: return wh_parity_of(packed, count);
    }
}

bool wh_check_right(const wh_check *check, const wh_frame_bits *frame)
{
    return wh_places_read(frame, &check->at, check->low_bit_first, check->low_byte_first) == wh_check_value(check, frame);
}

bool wh_check_holds(const wh_descriptor *descriptor, unsigned index, const wh_frame_bits *frame)
{
    return wh_check_right(&descriptor->checks[index], frame);
}

void wh_checks_write(const wh_descriptor *descriptor, wh_frame_bits *frame)
{
    for (unsigned i = 0; i < descriptor->check_count; i++) {
        const wh_check *check = &descriptor->checks[i];
        wh_places_write(frame, &check->at, check->low_bit_first, check->low_byte_first, wh_check_value(check, frame));
    }
}

int wh_constants_mismatch(const wh_descriptor *descriptor, const wh_frame_bits *frame)
{
    for (unsigned i = 0; i < descriptor->field_count; i++) {
        const wh_field *field = &descriptor->fields[i];
        if (field->role == WH_ROLE_CONSTANT && wh_field_raw(field, frame) != field->constant)
            return (int)i;
    }
    return -1;
}

static void mark(const wh_places *places, uint8_t marks[WH_FRAME_BITS_MAX / 8])
{
    for (unsigned i = 0; i < places->count; i++)
        for (unsigned k = 0; k < places->piece[i].length; k++)
            if (places->piece[i].at + k < WH_FRAME_BITS_MAX)
                wh_bit_put(marks, places->piece[i].at + k, 1);
}

unsigned wh_evidence_bits(const wh_descriptor *descriptor)
{
    uint8_t marks[WH_FRAME_BITS_MAX / 8] = {0};
    for (unsigned i = 0; i < descriptor->check_count; i++)
        mark(&descriptor->checks[i].at, marks);
    for (unsigned i = 0; i < descriptor->field_count; i++)
        if (descriptor->fields[i].role == WH_ROLE_CONSTANT)
            mark(&descriptor->fields[i].at, marks);
    unsigned bits = 0;
    for (unsigned i = 0; i < WH_FRAME_BITS_MAX; i++)
        bits += wh_bit_get(marks, i);
    return bits;
}

void wh_constant_bits(const wh_descriptor *descriptor, uint8_t marks[WH_FRAME_BITS_MAX / 8])
{
    memset(marks, 0, WH_FRAME_BITS_MAX / 8);
    for (unsigned i = 0; i < descriptor->field_count; i++)
        if (descriptor->fields[i].role == WH_ROLE_CONSTANT)
            mark(&descriptor->fields[i].at, marks);
}

void wh_bits_that_matter(const wh_descriptor *descriptor, uint8_t marks[WH_FRAME_BITS_MAX / 8])
{
    uint8_t constant[WH_FRAME_BITS_MAX / 8];
    wh_constant_bits(descriptor, constant);
    memset(marks, 0, WH_FRAME_BITS_MAX / 8);
    for (unsigned i = 0; i < descriptor->check_count; i++) {
        mark(&descriptor->checks[i].over, marks);
        mark(&descriptor->checks[i].at, marks);
    }
    for (unsigned i = 0; i < descriptor->field_count; i++)
        mark(&descriptor->fields[i].at, marks);
    mark(&descriptor->steady, marks);
    for (unsigned i = 0; i < WH_FRAME_BITS_MAX / 8; i++)
        marks[i] = (uint8_t)(marks[i] & ~constant[i]);
}

unsigned wh_guard_bits(const wh_descriptor *descriptor)
{
    unsigned bits = 0;
    for (unsigned i = 0; i < descriptor->check_count; i++) {
        const wh_check *check = &descriptor->checks[i];
        if (check->kind == WH_CHECK_CRC) {
            bits += check->width;
        } else if (check->kind == WH_CHECK_PARITY_EVEN || check->kind == WH_CHECK_PARITY_ODD) {
            bits += 1;
        } else {
            for (unsigned word = check->word; word > 1; word /= 2)
                bits += 1;
        }
    }
    return bits;
}

void wh_frame_blank(const wh_descriptor *descriptor, wh_frame_bits *frame)
{
    memset(frame, 0, sizeof *frame);
    frame->count = descriptor->frame.bits_min;
    for (unsigned i = 0; i < descriptor->field_count; i++) {
        const wh_field *field = &descriptor->fields[i];
        if (field->role == WH_ROLE_CONSTANT)
            wh_field_raw_write(field, frame, field->constant);
    }
}
