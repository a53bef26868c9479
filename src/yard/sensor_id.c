#include "sensor_id.h"

#include <ctype.h>
#include <inttypes.h>
#include <stdio.h>
#include <string.h>

static const char decimal_digits[] = "0123456789", hex_digits[] = "0123456789abcdefABCDEF";

/* 1.23E+09 or 4,29E+09: a spreadsheet's short form of a long number. A hex ID such as 12E05 has no sign and no point. */
static bool is_short_form(const char *text)
{
    const size_t whole = strspn(text, decimal_digits);
    if (whole == 0)
        return false;
    text += whole;
    if (*text == '.' || *text == ',')
        text += 1 + strspn(text + 1, decimal_digits);
    if ((*text != 'E' && *text != 'e') || (text[1] != '+' && text[1] != '-'))
        return false;
    text += 2;
    return *text != '\0' && text[strspn(text, decimal_digits)] == '\0';
}

/* Spreadsheets keep 15 digits of a number and put zeros for the rest. */
static bool is_rounded(const char *digits, size_t length)
{
    return length > 15 && strspn(digits + 15, "0") == length - 15;
}

static wh_status check_damage(const char *text, size_t length, wh_id_base base, wh_error *error)
{
    static const char as_text[] = "take the ID from its source again, in hex with 0x before it (0x0A1B2C3D): a "
                                  "spreadsheet leaves that alone";
    if (is_short_form(text))
        return wh_fail(error, WH_ERR_DATA, as_text,
                       "'%.40s' is what a spreadsheet made of a long number: digits are lost", text);
    if (base != WH_ID_HEX && strspn(text, decimal_digits) == length && is_rounded(text, length))
        return wh_fail(error, WH_ERR_DATA, as_text,
                       "'%.40s' was rounded by a spreadsheet: it keeps 15 digits and puts zeros for the rest", text);
    if (length > 0 && strspn(text, "0123456789.,' ") == length && strspn(text, decimal_digits) < length)
        return wh_fail(error, WH_ERR_DATA, "write the ID without points, commas and blanks",
                       "'%.40s' has separators between its digits", text);
    return WH_OK;
}

/* Upper-case copy; the digits have been checked and fit. */
static void copy_upper(char *to, const char *from, size_t length)
{
    for (size_t i = 0; i < length; i++)
        to[i] = (char)toupper((unsigned char)from[i]);
    to[length] = '\0';
}

static wh_status read_hex(const char *text, size_t length, const char *whole, char sensor[WH_SENSOR_SIZE],
                          wh_error *error)
{
    if (length == 0 || strspn(text, hex_digits) != length)
        return wh_fail(error, WH_ERR_DATA, "an ID in hex is made of 0 to 9 and A to F, e.g. 0x0A1B2C3D",
                       "'%.40s' is no sensor ID", whole);
    if (length > WH_ID_DIGITS_MAX)
        return wh_fail(error, WH_ERR_DATA, "is this one ID?", "'%.40s...' has %zu hex digits, %d at most", whole,
                       length, WH_ID_DIGITS_MAX);
    copy_upper(sensor, text, length);
    return WH_OK;
}

static wh_status read_decimal(const char *text, size_t length, unsigned digits, char sensor[WH_SENSOR_SIZE],
                              wh_error *error)
{
    uint64_t number = 0;
    if (length == 0 || strspn(text, decimal_digits) != length)
        return wh_fail(error, WH_ERR_DATA, "write it with digits only, or say that the column is hex",
                       "'%.40s' is no decimal sensor ID", text);
    for (size_t i = 0; i < length; i++) {
        const unsigned digit = (unsigned)(text[i] - '0');
        if (number > (UINT64_MAX - digit) / 10)
            return wh_fail(error, WH_ERR_DATA, "write longer IDs in hex, with 0x before them",
                           "'%.40s' is larger than 64 bits hold", text);
        number = 10 * number + digit;
    }
    snprintf(sensor, WH_SENSOR_SIZE, "%0*" PRIX64, (int)(digits <= WH_ID_DIGITS_MAX ? digits : WH_ID_DIGITS_MAX),
             number);
    return WH_OK;
}

wh_status wh_sensor_id_parse(const char *text, wh_id_base base, unsigned digits, char sensor[WH_SENSOR_SIZE],
                             wh_error *error)
{
    char id[2 * WH_SENSOR_SIZE];
    text += strspn(text, " ");
    size_t length = strlen(text);
    while (length > 0 && text[length - 1] == ' ')
        length--;
    if (length >= sizeof id)
        return wh_fail(error, WH_ERR_DATA, "is this one ID?", "'%.40s...' is far too long for a sensor ID", text);
    memcpy(id, text, length);
    id[length] = '\0';
    if (id[0] == '~' && length > 1 && length < WH_SENSOR_SIZE && strspn(id + 1, hex_digits) == length - 1) {
        copy_upper(sensor, id, length);
        return WH_OK;
    }
    if (id[0] == '0' && (id[1] == 'x' || id[1] == 'X'))
        return read_hex(id + 2, length - 2, id, sensor, error);
    const wh_status status = check_damage(id, length, base, error);
    if (status != WH_OK)
        return status;
    if (base == WH_ID_DECIMAL)
        return read_decimal(id, length, digits, sensor, error);
    if (base == WH_ID_BASE_OPEN && length > 0 && strspn(id, decimal_digits) == length)
        return wh_fail(error, WH_ERR_DATA, "write 0x before it if it is hex, or say hex or decimal for all",
                       "'%.40s' can be hex or decimal", id);
    return read_hex(id, length, id, sensor, error);
}

bool wh_sensor_id_decimal(const char *sensor, char text[WH_ID_DECIMAL_SIZE])
{
    const char *digits = sensor + strspn(sensor, "0");
    const size_t length = strlen(digits);
    if (*sensor == '\0' || length > 16 || strspn(digits, hex_digits) != length)
        return false;
    uint64_t number = 0;
    for (size_t i = 0; i < length; i++)
        number =
            number << 4 | (uint64_t)(isdigit((unsigned char)digits[i]) ? digits[i] - '0'
                                                                       : toupper((unsigned char)digits[i]) - 'A' + 10);
    snprintf(text, WH_ID_DECIMAL_SIZE, "%" PRIu64, number);
    return true;
}
