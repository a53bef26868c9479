/* Logarithm and exponential for loops over many values: without branches and calls, so that the compilers put them into vector
 * registers, and the same to the last bit everywhere. */
#ifndef WH_QUICK_MATH_H
#define WH_QUICK_MATH_H

#include <stdint.h>
#include <string.h>

static inline int32_t wh_float_bits(float x)
{
    int32_t bits;
    memcpy(&bits, &x, sizeof bits);
    return bits;
}

static inline float wh_bits_float(int32_t bits)
{
    float x;
    memcpy(&x, &bits, sizeof x);
    return x;
}

/* ln x, x >= 1e-37: x is 2^e m with m between sqrt(1/2) and sqrt(2), ln m a polynomial in m - 1 with the least greatest relative
 * error. Error below 1e-6 of the value plus 1e-7. */
static inline float wh_quick_ln(float x)
{
    const int32_t bits = wh_float_bits(x), e = (bits - 0x3f3504f3) >> 23; /* sqrt(1/2) has these bits */
    const float w = wh_bits_float(bits - e * (1 << 23)) - 1.0f;
    const float p =
        w * (0.33334246f +
             w * (-0.24983263f + w * (0.19924477f + w * (-0.17137173f + w * (0.16024682f + w * -0.1019196f)))));
    return (float)e * 0.69314718f + (w + w * w * (p - 0.5f));
}

/* exp x; what is beyond -86 .. 86 counts as that. 2^k times a polynomial in what x exceeds k ln 2 by. Relative error below 1e-6 plus
 * 1e-7 |x|. */
static inline float wh_quick_exp(float x)
{
    const float bounded = x < -86.0f ? -86.0f : x > 86.0f ? 86.0f : x;
    const float shift = 12582912.0f, turns = bounded * 1.44269504f + shift; /* 1.5 2^23: rounds to whole numbers */
    const float z = bounded - (turns - shift) * 0.69314718f;
    const float p = 1.0f + z * (1.0f + z * (0.49999231f + z * (0.16667115f + z * (0.04189016f + z * 0.00831253f))));
    return wh_bits_float(wh_float_bits(p) + (wh_float_bits(turns) - wh_float_bits(shift)) * (1 << 23));
}

#endif
