#include "bits.h"
#include "crc.h"

#include <setjmp.h>
#include <stdarg.h>
#include <string.h>

#include <cmocka.h>

typedef struct entry {
    const char *name;
    wh_crc crc;
    uint32_t check;
} entry;

/* Catalogue of parametrised CRC algorithms (reveng.sourceforge.net): width, poly, init, xorout, refin, refout and
 * the check value over the nine ASCII bytes "123456789". */
static const entry catalogue[] = {
    {"CRC-4/G-704", {4, 0x3, 0x0, 0x0, true, true}, 0x7},
    {"CRC-5/USB", {5, 0x05, 0x1F, 0x1F, true, true}, 0x19},
    {"CRC-6/GSM", {6, 0x2F, 0x00, 0x3F, false, false}, 0x13},
    {"CRC-7/MMC", {7, 0x09, 0x00, 0x00, false, false}, 0x75},
    {"CRC-8/SMBUS", {8, 0x07, 0x00, 0x00, false, false}, 0xF4},
    {"CRC-8/I-432-1", {8, 0x07, 0x00, 0x55, false, false}, 0xA1},
    {"CRC-8/ROHC", {8, 0x07, 0xFF, 0x00, true, true}, 0xD0},
    {"CRC-8/MAXIM-DOW", {8, 0x31, 0x00, 0x00, true, true}, 0xA1},
    {"CRC-8/NRSC-5", {8, 0x31, 0xFF, 0x00, false, false}, 0xF7},
    {"CRC-8/SAE-J1850", {8, 0x1D, 0xFF, 0xFF, false, false}, 0x4B},
    {"CRC-8/GSM-A", {8, 0x1D, 0x00, 0x00, false, false}, 0x37},
    {"CRC-8/HITAG", {8, 0x1D, 0xFF, 0x00, false, false}, 0xB4},
    {"CRC-8/TECH-3250", {8, 0x1D, 0xFF, 0x00, true, true}, 0x97},
    {"CRC-8/AUTOSAR", {8, 0x2F, 0xFF, 0xFF, false, false}, 0xDF},
    {"CRC-8/OPENSAFETY", {8, 0x2F, 0x00, 0x00, false, false}, 0x3E},
    {"CRC-8/DVB-S2", {8, 0xD5, 0x00, 0x00, false, false}, 0xBC},
    {"CRC-8/LTE", {8, 0x9B, 0x00, 0x00, false, false}, 0xEA},
    {"CRC-8/BLUETOOTH", {8, 0xA7, 0x00, 0x00, true, true}, 0x26},
    {"CRC-8/DARC", {8, 0x39, 0x00, 0x00, true, true}, 0x15},
    {"CRC-8/GSM-B", {8, 0x49, 0x00, 0xFF, false, false}, 0x94},
    {"CRC-16/ARC", {16, 0x8005, 0x0000, 0x0000, true, true}, 0xBB3D},
    {"CRC-16/MODBUS", {16, 0x8005, 0xFFFF, 0x0000, true, true}, 0x4B37},
    {"CRC-16/UMTS", {16, 0x8005, 0x0000, 0x0000, false, false}, 0xFEE8},
    {"CRC-16/CMS", {16, 0x8005, 0xFFFF, 0x0000, false, false}, 0xAEE7},
    {"CRC-16/USB", {16, 0x8005, 0xFFFF, 0xFFFF, true, true}, 0xB4C8},
    {"CRC-16/IBM-3740", {16, 0x1021, 0xFFFF, 0x0000, false, false}, 0x29B1},
    {"CRC-16/XMODEM", {16, 0x1021, 0x0000, 0x0000, false, false}, 0x31C3},
    {"CRC-16/KERMIT", {16, 0x1021, 0x0000, 0x0000, true, true}, 0x2189},
    {"CRC-16/IBM-SDLC", {16, 0x1021, 0xFFFF, 0xFFFF, true, true}, 0x906E},
    {"CRC-16/GENIBUS", {16, 0x1021, 0xFFFF, 0xFFFF, false, false}, 0xD64E},
    {"CRC-16/MCRF4XX", {16, 0x1021, 0xFFFF, 0x0000, true, true}, 0x6F91},
    {"CRC-16/SPI-FUJITSU", {16, 0x1021, 0x1D0F, 0x0000, false, false}, 0xE5CC},
    {"CRC-16/DNP", {16, 0x3D65, 0x0000, 0xFFFF, true, true}, 0xEA82},
};

static const wh_crc sae_j1850 = {8, 0x1D, 0xFF, 0xFF, false, false};
static const wh_crc autosar_8 = {8, 0x2F, 0xFF, 0xFF, false, false};
static const wh_crc ccitt_false = {16, 0x1021, 0xFFFF, 0x0000, false, false};
static const wh_crc arc = {16, 0x8005, 0x0000, 0x0000, true, true};

static void test_catalogue(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof catalogue / sizeof *catalogue; i++) {
        const uint32_t got = wh_crc_of(&catalogue[i].crc, (const uint8_t *)"123456789", 72);
        if (got != catalogue[i].check)
            fail_msg("%s: %X instead of %X", catalogue[i].name, got, catalogue[i].check);
    }
}

/* AUTOSAR, Specification of CRC Routines, the tables of example values. */
static void test_autosar_examples(void **state)
{
    (void)state;
    static const struct {
        uint8_t data[9];
        size_t size;
        uint32_t sae, h2f, ccitt;
    } rows[] = {
        {{0x00, 0x00, 0x00, 0x00}, 4, 0x59, 0x12, 0x84C0},
        {{0xF2, 0x01, 0x83}, 3, 0x37, 0xC2, 0xD374},
        {{0x0F, 0xAA, 0x00, 0x55}, 4, 0x79, 0xC6, 0x2023},
        {{0x00, 0xFF, 0x55, 0x11}, 4, 0xB8, 0x77, 0xB8F9},
        {{0x33, 0x22, 0x55, 0xAA, 0xBB, 0xCC, 0xDD, 0xEE, 0xFF}, 9, 0xCB, 0x11, 0xF53F},
        {{0x92, 0x6B, 0x55}, 3, 0x8C, 0x33, 0x0745},
        {{0xFF, 0xFF, 0xFF, 0xFF}, 4, 0x74, 0x6C, 0x1D0F},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        assert_int_equal(wh_crc_of(&sae_j1850, rows[i].data, 8 * rows[i].size), rows[i].sae);
        assert_int_equal(wh_crc_of(&autosar_8, rows[i].data, 8 * rows[i].size), rows[i].h2f);
        assert_int_equal(wh_crc_of(&ccitt_false, rows[i].data, 8 * rows[i].size), rows[i].ccitt);
    }
}

/* Codewords of CRC-16/ARC in the catalogue (from AUTOSAR R22-11), CRC low byte first: the residue is 0. */
static void test_arc_codewords(void **state)
{
    (void)state;
    static const struct {
        uint8_t data[11];
        size_t size;
    } words[] = {
        {{0}, 6},
        {{0xF2, 0x01, 0x83, 0xE1, 0xC2}, 5},
        {{0x0F, 0xAA, 0x00, 0x55, 0xE3, 0x0B}, 6},
        {{0x00, 0xFF, 0x55, 0x11, 0xCF, 0x6C}, 6},
        {{0x33, 0x22, 0x55, 0xAA, 0xBB, 0xCC, 0xDD, 0xEE, 0xFF, 0x98, 0xAE}, 11},
        {{0x92, 0x6B, 0x55, 0x4E, 0xE2}, 5},
        {{0xFF, 0xFF, 0xFF, 0xFF, 0x01, 0x94}, 6},
    };
    for (size_t i = 0; i < sizeof words / sizeof *words; i++) {
        assert_int_equal(wh_crc_of(&arc, words[i].data, 8 * words[i].size), 0);
        const uint32_t check = wh_crc_of(&arc, words[i].data, 8 * (words[i].size - 2));
        assert_int_equal(check & 0xFF, words[i].data[words[i].size - 2]);
        assert_int_equal(check >> 8, words[i].data[words[i].size - 1]);
    }
}

/* Residues of the catalogue: the register over message and CRC, before the final XOR, whatever the message. */
static void test_residues(void **state)
{
    (void)state;
    static const struct {
        wh_crc crc;
        uint32_t residue;
    } rows[] = {
        {{8, 0x1D, 0xFF, 0xFF, false, false}, 0xC4},          /* CRC-8/SAE-J1850 */
        {{8, 0x2F, 0xFF, 0xFF, false, false}, 0x42},          /* CRC-8/AUTOSAR */
        {{16, 0x1021, 0xFFFF, 0xFFFF, false, false}, 0x1D0F}, /* CRC-16/GENIBUS */
        {{16, 0x1021, 0xFFFF, 0xFFFF, true, true}, 0xF0B8},   /* CRC-16/IBM-SDLC */
        {{16, 0x8005, 0xFFFF, 0xFFFF, true, true}, 0xB001},   /* CRC-16/USB */
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        uint8_t message[8] = {0x12, 0x34, 0xAB, 0x00, 0x7F};
        const uint32_t crc = wh_crc_of(&rows[i].crc, message, 40);
        const bool wide = rows[i].crc.width == 16;
        message[5] = (uint8_t)(wide && !rows[i].crc.reflect_in ? crc >> 8 : crc);
        message[6] = (uint8_t)(rows[i].crc.reflect_in ? crc >> 8 : crc);
        const uint32_t whole = wh_crc_of(&rows[i].crc, message, 40 + rows[i].crc.width);
        assert_int_equal(whole ^ rows[i].crc.final_xor, rows[i].residue);
    }
}

/* CRC-8/SAE-J1850 over a CAN message as published by elektronik-keller.de, and CRC-8/NRSC-5 of BE EF. */
static void test_further_published_values(void **state)
{
    (void)state;
    static const uint8_t can[] = {0x00, 0xC0, 0xDF, 0xAC, 0xAA, 0x07, 0x40};
    assert_int_equal(wh_crc_of(&sae_j1850, can, 56), 0x6C);
    static const wh_crc nrsc_5 = {8, 0x31, 0xFF, 0x00, false, false};
    assert_int_equal(wh_crc_of(&nrsc_5, (const uint8_t[]){0xBE, 0xEF}, 16), 0x92);
}

/* Bits that are no whole number of bytes: long division by hand. Message 11010011101100, generator x^3 + x + 1
 * gives the remainder 100 (the worked example of the encyclopedia article on CRC computation). */
static void test_odd_number_of_bits(void **state)
{
    (void)state;
    static const wh_crc crc3 = {3, 0x3, 0x0, 0x0, false, false};
    static const uint8_t message[] = {0xD3, 0xB0}; /* 1101 0011 1011 00(00) */
    assert_int_equal(wh_crc_of(&crc3, message, 14), 0x4);
}

/* Reflection of a short last word is among its own bits: 11 bits reflected are the same as the bits turned round
 * by hand and not reflected. */
static void test_reflected_short_word(void **state)
{
    (void)state;
    static const wh_crc reflected = {8, 0x07, 0xFF, 0x00, true, false};
    static const wh_crc plain = {8, 0x07, 0xFF, 0x00, false, false};
    static const uint8_t message[] = {0xB1, 0xC0}; /* 10110001 110 */
    static const uint8_t by_hand[] = {0x8D, 0x60}; /* 10001101 011 */
    assert_int_equal(wh_crc_of(&reflected, message, 11), wh_crc_of(&plain, by_hand, 11));
    assert_int_not_equal(wh_crc_of(&reflected, message, 11), wh_crc_of(&plain, message, 11));
}

/* Every burst error not longer than the CRC changes it (a property of every generator with a constant term). */
static void test_bursts_are_seen(void **state)
{
    (void)state;
    uint8_t frame[10] = {0x0A, 0x1B, 0x2C, 0x3D, 0xFE, 0x3A, 0x00, 0x80};
    const uint32_t right = wh_crc_of(&sae_j1850, frame, 72);
    for (size_t at = 0; at + 8 <= 72; at++) {
        for (uint64_t error = 1; error < 256; error++) {
            uint8_t damaged[10];
            memcpy(damaged, frame, sizeof damaged);
            wh_bits_write(damaged, at, 8, wh_bits_read(frame, at, 8) ^ error);
            assert_int_not_equal(wh_crc_of(&sae_j1850, damaged, 72), right);
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_catalogue),
        cmocka_unit_test(test_autosar_examples),
        cmocka_unit_test(test_arc_codewords),
        cmocka_unit_test(test_residues),
        cmocka_unit_test(test_further_published_values),
        cmocka_unit_test(test_odd_number_of_bits),
        cmocka_unit_test(test_reflected_short_word),
        cmocka_unit_test(test_bursts_are_seen),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
