#include "crc_names.h"

/* Catalogue of parametrised CRC algorithms (reveng.sourceforge.net): width, poly, init, xorout, refin, refout. The widths
 * and polynomials that small transmitters use; the order within a width is that of the catalogue's names. */
static const wh_crc_name names[] = {
    {"CRC-4/G-704", {4, 0x3, 0x0, 0x0, true, true}},
    {"CRC-5/USB", {5, 0x05, 0x1F, 0x1F, true, true}},
    {"CRC-6/GSM", {6, 0x2F, 0x00, 0x3F, false, false}},
    {"CRC-7/MMC", {7, 0x09, 0x00, 0x00, false, false}},
    {"CRC-8/AUTOSAR", {8, 0x2F, 0xFF, 0xFF, false, false}},
    {"CRC-8/BLUETOOTH", {8, 0xA7, 0x00, 0x00, true, true}},
    {"CRC-8/DARC", {8, 0x39, 0x00, 0x00, true, true}},
    {"CRC-8/DVB-S2", {8, 0xD5, 0x00, 0x00, false, false}},
    {"CRC-8/GSM-A", {8, 0x1D, 0x00, 0x00, false, false}},
    {"CRC-8/GSM-B", {8, 0x49, 0x00, 0xFF, false, false}},
    {"CRC-8/HITAG", {8, 0x1D, 0xFF, 0x00, false, false}},
    {"CRC-8/I-432-1", {8, 0x07, 0x00, 0x55, false, false}},
    {"CRC-8/LTE", {8, 0x9B, 0x00, 0x00, false, false}},
    {"CRC-8/MAXIM-DOW", {8, 0x31, 0x00, 0x00, true, true}},
    {"CRC-8/NRSC-5", {8, 0x31, 0xFF, 0x00, false, false}},
    {"CRC-8/OPENSAFETY", {8, 0x2F, 0x00, 0x00, false, false}},
    {"CRC-8/ROHC", {8, 0x07, 0xFF, 0x00, true, true}},
    {"CRC-8/SAE-J1850", {8, 0x1D, 0xFF, 0xFF, false, false}},
    {"CRC-8/SMBUS", {8, 0x07, 0x00, 0x00, false, false}},
    {"CRC-8/TECH-3250", {8, 0x1D, 0xFF, 0x00, true, true}},
    {"CRC-16/ARC", {16, 0x8005, 0x0000, 0x0000, true, true}},
    {"CRC-16/CMS", {16, 0x8005, 0xFFFF, 0x0000, false, false}},
    {"CRC-16/DNP", {16, 0x3D65, 0x0000, 0xFFFF, true, true}},
    {"CRC-16/GENIBUS", {16, 0x1021, 0xFFFF, 0xFFFF, false, false}},
    {"CRC-16/IBM-3740", {16, 0x1021, 0xFFFF, 0x0000, false, false}},
    {"CRC-16/IBM-SDLC", {16, 0x1021, 0xFFFF, 0xFFFF, true, true}},
    {"CRC-16/KERMIT", {16, 0x1021, 0x0000, 0x0000, true, true}},
    {"CRC-16/MCRF4XX", {16, 0x1021, 0xFFFF, 0x0000, true, true}},
    {"CRC-16/MODBUS", {16, 0x8005, 0xFFFF, 0x0000, true, true}},
    {"CRC-16/SPI-FUJITSU", {16, 0x1021, 0x1D0F, 0x0000, false, false}},
    {"CRC-16/UMTS", {16, 0x8005, 0x0000, 0x0000, false, false}},
    {"CRC-16/USB", {16, 0x8005, 0xFFFF, 0xFFFF, true, true}},
    {"CRC-16/XMODEM", {16, 0x1021, 0x0000, 0x0000, false, false}},
};
#define NAMES (sizeof names / sizeof *names)

size_t wh_crc_name_count(void)
{
    return NAMES;
}

const wh_crc_name *wh_crc_name_at(size_t index)
{
    return &names[index];
}

unsigned wh_crc_named_polynomials(unsigned width)
{
    unsigned count = 0;
    for (size_t i = 0; i < NAMES; i++) {
        bool seen = names[i].crc.width != width;
        for (size_t k = 0; k < i && !seen; k++)
            seen = names[k].crc.width == width && names[k].crc.polynomial == names[i].crc.polynomial;
        count += !seen;
    }
    return count;
}
