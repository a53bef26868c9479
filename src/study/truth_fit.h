/* Which bits follow the gauge and the thermometer, and by what scale and offset.
 *
 * For every place of 6 to 16 bits, in every order, value = scale x count + offset is fitted by least squares. A place is worth
 *     -(L - 2) ln(r) + how usual it is (whole bytes first; common practice, no source),
 * with r the residuals (and the instrument's own error) and L the number of different values that the instrument showed: two of
 * them are used up by scale and offset, and three sensors at one pressure each tell three things, however many frames there are.
 * The same figure for "no field follows at all", with the deviation of the truth itself as r, is the one to beat. */
#ifndef WH_TRUTH_FIT_H
#define WH_TRUTH_FIT_H

#include "columns.h"
#include "truth.h"

#define WH_FIT_ADVICE_SIZE 400

typedef struct wh_fit {
    bool told;  /* the truth says anything about this quantity in these recordings */
    bool found; /* a place follows it better than chance */
    unsigned at, bits;
    bool low_bit_first, low_byte_first;
    wh_sign sign;
    double scale, scale_error, offset, offset_error; /* measured: kPa as gauge pressure, or degC; standard errors */
    double simple_scale, simple_offset; /* the simplest that the measurement allows; pressure: of the reference below */
    bool absolute;                      /* pressure: the field counts from vacuum */
    wh_certainty place, calibration, reference;
    double probability;                 /* of this place among all that were tried */
    double residual_rms, residual_most; /* with the simple numbers */
    unsigned samples, levels;           /* frames with a known value; different known values */
    double least, most;                 /* of the known values */
    char advice[WH_FIT_ADVICE_SIZE];    /* what the data do not determine and which recording would; else "" */
} wh_fit;

typedef enum wh_fit_quantity { WH_FIT_PRESSURE, WH_FIT_TEMPERATURE } wh_fit_quantity;

/* `sensor_names` (may be NULL): for every sensor number the name it has in the truth, or "". `taken`: columns that are something
 * else already. `grid`: bit at which a byte begins, modulo 8. */
wh_status wh_truth_fit_run(const wh_field_rows *rows, const wh_columns *columns, const wh_frame_bits *taken,
                           unsigned grid, const wh_truth *truth, const char (*sensor_names)[WH_TRUTH_SENSOR_SIZE],
                           wh_fit_quantity quantity, wh_fit *out);

#endif
