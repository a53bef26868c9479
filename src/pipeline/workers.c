#include "workers.h"

#include <math.h>
#include <pthread.h>
#include <stdlib.h>

/* Jobs in flight. They leave in order, so one that takes long holds up those behind it: enough of them must fit that all threads go on
 * meanwhile. Bursts are short, and a few long ones must not fill the memory: beyond two for each thread they are bounded by their samples
 * together, 6 MiB. */
#define SLOTS        32
#define SAMPLES_MOST (768u * 1024u)

typedef enum slot_state { SLOT_WAITING, SLOT_RUNNING, SLOT_DONE } slot_state;

typedef struct worker_thread {
    struct wh_workers *pool;
    wh_burst_worker *worker;
    pthread_t thread;
    bool started;
} worker_thread;

struct wh_workers {
    unsigned threads;
    worker_thread *thread; /* [threads] */
    wh_burst_worker *own;  /* without threads */
    pthread_mutex_t lock;
    pthread_cond_t work, done;
    bool stop;
    size_t first, count, next; /* ring of jobs: oldest, number, next to start (counted from oldest) */
    wh_burst_job *job[SLOTS];
    slot_state state[SLOTS];
};

static void *work(void *context)
{
    worker_thread *self = context;
    wh_workers *pool = self->pool;
    pthread_mutex_lock(&pool->lock);
    for (;;) {
        while (!pool->stop && pool->next == pool->count)
            pthread_cond_wait(&pool->work, &pool->lock);
        if (pool->stop)
            break;
        const size_t slot = (pool->first + pool->next++) % SLOTS;
        wh_burst_job *job = pool->job[slot];
        pool->state[slot] = SLOT_RUNNING;
        pthread_mutex_unlock(&pool->lock);
        wh_burst_worker_run(self->worker, job);
        pthread_mutex_lock(&pool->lock);
        pool->state[slot] = SLOT_DONE;
        pthread_cond_broadcast(&pool->done);
    }
    pthread_mutex_unlock(&pool->lock);
    return NULL;
}

static bool start_threads(wh_workers *workers, const wh_catalog *catalog)
{
    workers->thread = calloc(workers->threads, sizeof *workers->thread);
    if (!workers->thread)
        return false;
    for (unsigned i = 0; i < workers->threads; i++) {
        worker_thread *thread = &workers->thread[i];
        thread->pool = workers;
        thread->worker = wh_burst_worker_create(catalog);
        thread->started = thread->worker && pthread_create(&thread->thread, NULL, work, thread) == 0;
        if (!thread->started)
            return false;
    }
    return true;
}

wh_workers *wh_workers_create(const wh_catalog *catalog, unsigned threads)
{
    wh_workers *workers = calloc(1, sizeof *workers);
    if (!workers)
        return NULL;
    pthread_mutex_init(&workers->lock, NULL);
    pthread_cond_init(&workers->work, NULL);
    pthread_cond_init(&workers->done, NULL);
    workers->threads = threads < SLOTS / 2 ? threads : SLOTS / 2;
    bool ready;
    if (workers->threads > 0) {
        ready = start_threads(workers, catalog);
    } else {
        workers->own = wh_burst_worker_create(catalog);
        ready = workers->own != NULL;
    }
    if (!ready)
        wh_workers_destroy(&workers);
    return workers;
}

void wh_workers_destroy(wh_workers **workers)
{
    if (!workers || !*workers)
        return;
    wh_workers *pool = *workers;
    pthread_mutex_lock(&pool->lock);
    pool->stop = true;
    pthread_cond_broadcast(&pool->work);
    pthread_mutex_unlock(&pool->lock);
    for (unsigned i = 0; pool->thread && i < pool->threads; i++) {
        if (pool->thread[i].started)
            pthread_join(pool->thread[i].thread, NULL);
        wh_burst_worker_destroy(&pool->thread[i].worker);
    }
    free(pool->thread);
    wh_burst_worker_destroy(&pool->own);
    for (size_t i = 0; i < pool->count; i++)
        wh_burst_job_destroy(&pool->job[(pool->first + i) % SLOTS]);
    pthread_cond_destroy(&pool->work);
    pthread_cond_destroy(&pool->done);
    pthread_mutex_destroy(&pool->lock);
    free(pool);
    *workers = NULL;
}

bool wh_workers_full(wh_workers *workers)
{
    pthread_mutex_lock(&workers->lock);
    const size_t least = workers->own ? 1 : 2 * workers->threads;
    size_t samples = 0;
    for (size_t i = 0; i < workers->count; i++)
        samples += workers->job[(workers->first + i) % SLOTS]->count;
    const bool full = workers->count >= least && (workers->own || workers->count == SLOTS || samples >= SAMPLES_MOST);
    pthread_mutex_unlock(&workers->lock);
    return full;
}

void wh_workers_put(wh_workers *workers, wh_burst_job *job)
{
    if (workers->own)
        wh_burst_worker_run(workers->own, job);
    pthread_mutex_lock(&workers->lock);
    const size_t slot = (workers->first + workers->count++) % SLOTS;
    workers->job[slot] = job;
    workers->state[slot] = workers->own ? SLOT_DONE : SLOT_WAITING;
    pthread_cond_signal(&workers->work);
    pthread_mutex_unlock(&workers->lock);
}

wh_burst_job *wh_workers_get(wh_workers *workers, bool wait)
{
    wh_burst_job *job = NULL;
    pthread_mutex_lock(&workers->lock);
    while (wait && workers->count > 0 && workers->state[workers->first] != SLOT_DONE)
        pthread_cond_wait(&workers->done, &workers->lock);
    if (workers->count > 0 && workers->state[workers->first] == SLOT_DONE) {
        job = workers->job[workers->first];
        workers->first = (workers->first + 1) % SLOTS;
        workers->count--;
        if (workers->next > 0)
            workers->next--;
    }
    pthread_mutex_unlock(&workers->lock);
    return job;
}

double wh_workers_earliest_s(wh_workers *workers)
{
    double earliest = INFINITY;
    pthread_mutex_lock(&workers->lock);
    for (size_t i = 0; i < workers->count; i++)
        earliest = fmin(earliest, workers->job[(workers->first + i) % SLOTS]->first_s);
    pthread_mutex_unlock(&workers->lock);
    return earliest;
}
