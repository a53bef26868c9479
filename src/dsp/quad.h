/* Four floats in one register (or eight in one or two), for inner loops that the compilers do not find a vector in by themselves. A vector type of gcc and
 * clang; on processors without such registers they take it apart. */
#ifndef WH_QUAD_H
#define WH_QUAD_H

typedef float wh_quad __attribute__((vector_size(16)));
typedef float wh_quad_anywhere __attribute__((vector_size(16), aligned(4), may_alias)); /* four floats of an array */
typedef int wh_quad_bits __attribute__((vector_size(16)));
typedef float wh_oct __attribute__((vector_size(32)));
typedef float wh_oct_anywhere __attribute__((vector_size(32), aligned(4), may_alias));

/* Of the eight floats of a and b those at places i, j, k, l. */
#if defined __clang__ || __GNUC__ >= 12
#define WH_QUAD_PICK(a, b, i, j, k, l) __builtin_shufflevector((a), (b), (i), (j), (k), (l))
#else
#define WH_QUAD_PICK(a, b, i, j, k, l) __builtin_shuffle((a), (b), (wh_quad_bits){(i), (j), (k), (l)})
#endif

static inline wh_quad wh_quad_load(const float *from)
{
    return *(const wh_quad_anywhere *)from;
}

static inline wh_quad wh_quad_magnitude(wh_quad x)
{
    return (wh_quad)((wh_quad_bits)x & 0x7fffffff);
}

#endif
