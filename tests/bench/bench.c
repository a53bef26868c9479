/* Where the time goes, as multiples of a bare FFTW pass over as many samples in the same run: machines and their
 * other work differ, the ratios hardly. Never passes or fails. Usage: bench PROTOCOLS [--seconds N] [--repeats N]
 * [--json] [--only STAGE] */
#include "bench_stages.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

typedef struct options {
    const char *protocols, *only;
    double seconds;
    unsigned repeats;
    bool json;
} options;

typedef struct stage {
    const char *name;
    bool (*run)(bench_bench *bench, bench_time *time);
    bench_traffic traffic; /* without `run`: the whole pipeline */
    unsigned threads;
} stage;

static const stage stages[] = {
    {"conversion", bench_conversion, BENCH_NONE, 0},
    {"spectra", bench_spectra, BENCH_NONE, 0},
    {"detector", bench_detector, BENCH_NONE, 0},
    {"isolation", bench_isolation, BENCH_NONE, 0},
    {"demodulation", bench_demodulation, BENCH_NONE, 0},
    {"burst-work", bench_burst_work, BENCH_NONE, 0},
    {"pipeline-none-0", NULL, BENCH_NONE, 0},
    {"pipeline-sparse-0", NULL, BENCH_SPARSE, 0},
    {"pipeline-sparse-1", NULL, BENCH_SPARSE, 1},
    {"pipeline-sparse-2", NULL, BENCH_SPARSE, 2},
    {"pipeline-dense-0", NULL, BENCH_DENSE, 0},
    {"pipeline-dense-1", NULL, BENCH_DENSE, 1},
    {"pipeline-dense-2", NULL, BENCH_DENSE, 2},
    {"pipeline-yard-0", NULL, BENCH_YARD, 0},
    {"pipeline-few-0", NULL, BENCH_FEW, 0},
    {"pipeline-many-0", NULL, BENCH_MANY, 0},
    {"pipeline-few-weak-0", NULL, BENCH_FEW_WEAK, 0},
    {"pipeline-many-weak-0", NULL, BENCH_MANY_WEAK, 0},
    {"pipeline-storm-0", NULL, BENCH_STORM, 0},
};

static bool run_stage(bench_bench *bench, const stage *s, bench_time *time)
{
    return s->run ? s->run(bench, time) : bench_pipeline(bench, s->traffic, s->threads, time);
}

/* The quickest of several runs is the one least disturbed; the yardstick is taken beside every one of them. */
static bool measure(bench_bench *bench, const stage *s, unsigned repeats, bench_time *best, bench_time *yardstick)
{
    for (unsigned i = 0; i < repeats; i++) {
        bench_time fft, time;
        if (!bench_fft(bench, &fft) || !run_stage(bench, s, &time))
            return false;
        if (i == 0 || fft.cpu_s < yardstick->cpu_s)
            *yardstick = fft;
        if (i == 0 || time.cpu_s < best->cpu_s)
            *best = time;
    }
    return true;
}

static void print_text(const stage *s, const bench_time *t, const bench_time *fft)
{
    const double rate = t->samples / t->cpu_s, ratio = fft->samples / fft->cpu_s / rate;
    printf("%-18s %9.1f MS/s %8.1f x real time %8.2f x FFTW", s->name, rate / 1e6, rate / BENCH_RATE_HZ, ratio);
    if (!s->run)
        printf("   wall %7.1f x real time", t->samples / t->wall_s / BENCH_RATE_HZ);
    if (t->bursts > 0.0 && s->run)
        printf("   %9.0f us a burst", 1e6 * t->cpu_s / t->bursts);
    printf("\n");
    fflush(stdout);
}

static void print_json(const stage *s, const bench_time *t, const bench_time *fft, bool first)
{
    const double rate = t->samples / t->cpu_s, yardstick = fft->samples / fft->cpu_s;
    printf("%s\n  {\"stage\": \"%s\", \"cpu_samples_per_s\": %.0f, \"wall_samples_per_s\": %.0f, "
           "\"fftw_samples_per_s\": %.0f, "
           "\"times_fftw\": %.3f, \"bursts\": %.0f, \"cpu_s\": %.6f}",
           first ? "" : ",", s->name, rate, t->samples / t->wall_s, yardstick, yardstick / rate, t->bursts, t->cpu_s);
}

static bool run_all(bench_bench *bench, const options *o)
{
    bool first = true;
    if (o->json)
        printf("[");
    for (size_t i = 0; i < sizeof stages / sizeof stages[0]; i++) {
        bench_time time, fft;
        if (o->only && strcmp(o->only, stages[i].name) != 0)
            continue;
        if (!measure(bench, &stages[i], o->repeats, &time, &fft))
            return false;
        if (o->json)
            print_json(&stages[i], &time, &fft, first);
        else
            print_text(&stages[i], &time, &fft);
        first = false;
    }
    if (o->json)
        printf("\n]\n");
    return true;
}

static bool read_options(int argc, char **argv, options *o)
{
    *o = (options){.seconds = 6.0, .repeats = 5};
    for (int i = 1; i < argc; i++) {
        const char *value = i + 1 < argc ? argv[i + 1] : "";
        if (strcmp(argv[i], "--json") == 0)
            o->json = true;
        else if (strcmp(argv[i], "--seconds") == 0)
            o->seconds = strtod(value, NULL), i++;
        else if (strcmp(argv[i], "--repeats") == 0)
            o->repeats = (unsigned)strtoul(value, NULL, 10), i++;
        else if (strcmp(argv[i], "--only") == 0)
            o->only = value, i++;
        else
            o->protocols = argv[i];
    }
    return o->protocols && o->seconds >= 2.0 && o->seconds <= 60.0 && o->repeats > 0;
}

int main(int argc, char **argv)
{
    options o;
    if (!read_options(argc, argv, &o)) {
        fprintf(stderr, "usage: bench PROTOCOLS [--seconds 2..60] [--repeats N] [--json] [--only STAGE]\n");
        return 64;
    }
    wh_descriptor_set *set = wh_descriptor_set_create();
    bool ok = set && wh_descriptor_set_load_folder(set, o.protocols, NULL, NULL) == WH_OK;
    bench_bench *bench = ok ? bench_create(set, o.protocols, o.seconds) : NULL;
    ok = bench && run_all(bench, &o);
    if (!ok)
        fprintf(stderr, "%s: no descriptors there, or no memory\n", o.protocols);
    bench_destroy(&bench);
    wh_descriptor_set_destroy(&set);
    return ok ? 0 : 70;
}
