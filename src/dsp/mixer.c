#include "mixer.h"

#include "wide.h"

#include <math.h>

/* Each power of two from the half below it, in double precision. */
void wh_mixer_begin(wh_mixer *mixer, double radians)
{
    double re[WH_MIXER_BLOCK] = {1.0}, im[WH_MIXER_BLOCK] = {0.0};
    double step_re = cos(radians), step_im = -sin(radians);
    for (size_t have = 1; have < WH_MIXER_BLOCK; have *= 2) {
        for (size_t k = 0; k < have; k++) {
            re[have + k] = re[k] * step_re - im[k] * step_im;
            im[have + k] = re[k] * step_im + im[k] * step_re;
        }
        const double squared = step_re * step_re - step_im * step_im;
        step_im = 2.0 * step_re * step_im;
        step_re = squared;
    }
    mixer->radians = radians;
    for (size_t k = 0; k < WH_MIXER_BLOCK; k++) {
        mixer->re[k] = (float)re[k];
        mixer->im[k] = (float)im[k];
    }
}

WH_WIDE static void mix(const float *restrict in, size_t count, const float *restrict table_re,
                        const float *restrict table_im, float start_re, float start_im, float *restrict re,
                        float *restrict im)
{
    for (size_t k = 0; k < count; k++) {
        const float pr = table_re[k] * start_re - table_im[k] * start_im;
        const float pi = table_re[k] * start_im + table_im[k] * start_re;
        const float xr = in[2 * k], xi = in[2 * k + 1];
        re[k] = xr * pr - xi * pi;
        im[k] = xr * pi + xi * pr;
    }
}

void wh_mixer_run(const wh_mixer *mixer, const float complex *samples, size_t at, double offset, size_t count,
                  float *re, float *im)
{
    for (size_t done = 0, step; done < count; done += step) {
        const size_t inside = (at + done) % WH_MIXER_BLOCK, left = WH_MIXER_BLOCK - inside;
        step = count - done < left ? count - done : left;
        /* Whole turns are taken off first, which costs less than fmod and loses nothing in double precision. */
        const double turns = mixer->radians / (2.0 * M_PI) * ((double)(at + done - inside) + offset);
        const double phase = 2.0 * M_PI * (turns - (double)(long long)turns);
        mix((const float *)samples + 2 * done, step, mixer->re + inside, mixer->im + inside, (float)cos(phase),
            (float)-sin(phase), re + done, im + done);
    }
}
