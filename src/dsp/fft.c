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
