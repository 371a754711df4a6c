/*
 * A second thread that works on jobs while the first one prepares the next: a ring of a few,
 * handed on and taken back in order. Where no thread is to be had the first one does both.
 */
#include "kept_impl.h"

static void *
relay_main(void *arg)
{
    struct relay *r = arg;
    pthread_mutex_lock(&r->lock);
    for (;;) {
        while (r->done == r->given && !r->stop)
            pthread_cond_wait(&r->more, &r->lock);
        if (r->done == r->given)
            break;
        void *job = r->job[r->done % RELAY];
        pthread_mutex_unlock(&r->lock);
        r->work(job);
        pthread_mutex_lock(&r->lock);
        r->done++;
        pthread_cond_signal(&r->ready);
    }
    pthread_mutex_unlock(&r->lock);
    return NULL;
}

static int
start(struct relay *r)
{
    if (r->running || r->alone)
        return r->running;
    pthread_mutex_init(&r->lock, NULL);
    pthread_cond_init(&r->more, NULL);
    pthread_cond_init(&r->ready, NULL);
    r->running = pthread_create(&r->thread, NULL, relay_main, r) == 0;
    r->alone = !r->running;
    return r->running;
}

void *
relay_room(struct relay *r)
{
    return r->given - r->taken < RELAY ? r->job[r->given % RELAY] : NULL;
}

void
relay_give(struct relay *r)
{
    if (!start(r)) {
        r->work(r->job[r->given++ % RELAY]);
        r->done = r->given;
        return;
    }
    pthread_mutex_lock(&r->lock);
    r->given++;
    pthread_cond_signal(&r->more);
    pthread_mutex_unlock(&r->lock);
}

void *
relay_take(struct relay *r)
{
    if (r->taken == r->given)
        return NULL;
    if (r->running) {
        pthread_mutex_lock(&r->lock);
        while (r->done == r->taken)
            pthread_cond_wait(&r->ready, &r->lock);
        pthread_mutex_unlock(&r->lock);
    }
    return r->job[r->taken++ % RELAY];
}

void *
relay_ready(struct relay *r)
{
    if (!r->running || r->taken == r->given)
        return NULL;
    pthread_mutex_lock(&r->lock);
    int done = r->done != r->taken;
    pthread_mutex_unlock(&r->lock);
    return done ? r->job[r->taken++ % RELAY] : NULL;
}

void
relay_stop(struct relay *r)
{
    if (!r->running)
        return;
    pthread_mutex_lock(&r->lock);
    r->stop = 1;
    pthread_cond_signal(&r->more);
    pthread_mutex_unlock(&r->lock);
    pthread_join(r->thread, NULL);
    pthread_cond_destroy(&r->more);
    pthread_cond_destroy(&r->ready);
    pthread_mutex_destroy(&r->lock);
    r->running = 0;
}
