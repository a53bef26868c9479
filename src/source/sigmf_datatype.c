#include "sigmf_meta.h"

#include <string.h>

/* datatype = ("c" / "r") (type of several bytes ("_le" / "_be") / type of one byte), from the ABNF of the standard. */
typedef struct datatype {
    bool is_complex, one_byte, big_endian, has_order;
    char type[4];
} datatype;

static bool split(const char *text, datatype *out)
{
    static const char *const types[] = {"f32", "f64", "i32", "i16", "u32", "u16", "i8", "u8"};
    *out = (datatype){.is_complex = text[0] == 'c'};
    if (text[0] != 'c' && text[0] != 'r')
        return false;
    text++;
    for (size_t i = 0; i < sizeof types / sizeof *types; i++) {
        const size_t length = strlen(types[i]);
        if (strncmp(text, types[i], length) != 0)
            continue;
        memcpy(out->type, types[i], length + 1);
        out->one_byte = length == 2;
        text += length;
        out->big_endian = strcmp(text, "_be") == 0;
        out->has_order = out->big_endian || strcmp(text, "_le") == 0;
        return out->has_order || *text == '\0';
    }
    return false;
}

wh_status wh_sigmf_datatype_parse(const char *text, wh_iq_format *format, bool *tolerated, const char *name,
                                  wh_error *error)
{
    static const struct {
        const char *type;
        wh_iq_format format;
    } known[] = {{"u8", WH_IQ_CU8}, {"i8", WH_IQ_CI8}, {"i16", WH_IQ_CI16}, {"f32", WH_IQ_CF32}};
    datatype type;
    if (!split(text, &type))
        return wh_fail(error, WH_ERR_FORMAT, "write one of cu8, ci8, ci16_le, cf32_le",
                       "%s: core:datatype \"%.40s\" is no SigMF datatype", name, text);
    if (!type.is_complex)
        return wh_fail(error, WH_ERR_UNSUPPORTED, "record I and Q, or make complex baseband samples of them first",
                       "%s: real samples (core:datatype %s); only complex ones can be read", name, text);
    if (type.big_endian && !type.one_byte)
        return wh_fail(error, WH_ERR_UNSUPPORTED, "swap the bytes and write ..._le",
                       "%s: big-endian samples (core:datatype %s)", name, text);
    for (size_t i = 0; i < sizeof known / sizeof *known; i++) {
        if (strcmp(type.type, known[i].type) == 0) {
            *format = known[i].format;
            *tolerated = type.one_byte == type.has_order;
            return WH_OK;
        }
    }
    return wh_fail(error, WH_ERR_UNSUPPORTED, "convert the samples to cf32_le or ci16_le",
                   "%s: samples of core:datatype %s are not read; cu8, ci8, ci16_le and cf32_le are", name, text);
}
