#include "fft.h"

#include <fftw3.h>
#include <pthread.h>
#include <stdlib.h>

struct wh_fft {
    size_t size, batch;
    float complex *input, *output;
    fftwf_plan plan;
};

static pthread_mutex_t planner = PTHREAD_MUTEX_INITIALIZER;

static void drop_plan(fftwf_plan plan)
{
    if (!plan)
        return;
    pthread_mutex_lock(&planner);
    fftwf_destroy_plan(plan);
    pthread_mutex_unlock(&planner);
}

wh_fft *wh_fft_create(size_t size, size_t batch)
{
    wh_fft *fft = calloc(1, sizeof *fft);
    if (!fft)
        return NULL;
    fft->size = size;
    fft->batch = batch;
    fft->input = fftwf_malloc(size * batch * sizeof *fft->input);
    fft->output = fftwf_malloc(size * batch * sizeof *fft->output);
    if (fft->input && fft->output) {
        const int n[1] = {(int)size};
        pthread_mutex_lock(&planner);
        fft->plan = fftwf_plan_many_dft(1, n, (int)batch, (fftwf_complex *)fft->input, NULL, 1, (int)size,
                                        (fftwf_complex *)fft->output, NULL, 1, (int)size, FFTW_FORWARD, FFTW_ESTIMATE);
        pthread_mutex_unlock(&planner);
    }
    if (!fft->plan)
        wh_fft_destroy(&fft);
    return fft;
}

void wh_fft_destroy(wh_fft **fft)
{
    if (!fft || !*fft)
        return;
    drop_plan((*fft)->plan);
    fftwf_free((*fft)->input);
    fftwf_free((*fft)->output);
    free(*fft);
    *fft = NULL;
}

float complex *wh_fft_input(wh_fft *fft)
{
    return fft->input;
}

const float complex *wh_fft_output(const wh_fft *fft)
{
    return fft->output;
}

void wh_fft_execute(wh_fft *fft)
{
    fftwf_execute(fft->plan);
}

size_t wh_fft_size(const wh_fft *fft)
{
    return fft->size;
}

struct wh_split_fft {
    float *memory; /* real and imaginary input, real and imaginary output */
    size_t points; /* of each */
    fftwf_plan plan;
};

wh_split_fft *wh_split_fft_create(size_t size, size_t batch)
{
    wh_split_fft *fft = calloc(1, sizeof *fft);
    if (!fft)
        return NULL;
    fft->points = size * batch;
    fft->memory = fftwf_malloc(4 * fft->points * sizeof *fft->memory);
    if (fft->memory) {
        const fftwf_iodim within = {(int)size, 1, 1}, between = {(int)batch, (int)size, (int)size};
        float *const memory = fft->memory;
        const size_t points = fft->points;
        pthread_mutex_lock(&planner);
        fft->plan = fftwf_plan_guru_split_dft(1, &within, 1, &between, memory, memory + points, memory + 2 * points,
                                              memory + 3 * points, FFTW_ESTIMATE | FFTW_DESTROY_INPUT);
        pthread_mutex_unlock(&planner);
    }
    if (!fft->plan)
        wh_split_fft_destroy(&fft);
    return fft;
}

void wh_split_fft_destroy(wh_split_fft **fft)
{
    if (!fft || !*fft)
        return;
    drop_plan((*fft)->plan);
    fftwf_free((*fft)->memory);
    free(*fft);
    *fft = NULL;
}

float *wh_split_fft_input_real(wh_split_fft *fft)
{
    return fft->memory;
}

float *wh_split_fft_input_imag(wh_split_fft *fft)
{
    return fft->memory + fft->points;
}

const float *wh_split_fft_output_real(const wh_split_fft *fft)
{
    return fft->memory + 2 * fft->points;
}

const float *wh_split_fft_output_imag(const wh_split_fft *fft)
{
    return fft->memory + 3 * fft->points;
}

void wh_split_fft_execute(wh_split_fft *fft)
{
    fftwf_execute(fft->plan);
}
