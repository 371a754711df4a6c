/*
 * A second thread that computes an engine while the first one reads the next out of the book.
 * The connection stays with the first; the fleet's units and lives belong to the second while
 * it has an engine, to the first after adder_wait.
 */
#include "book_impl.h"

static enum vb_err
add(struct vb_fleet *f, const struct vb_engine *e, double as_of)
{
    enum vb_err err = vb_fleet_add(f, e, as_of);
    if (!err)
        kept_one_zero(f);
    return err;
}

static void *
adder_main(void *arg)
{
    struct adder *a = arg;
    pthread_mutex_lock(&a->lock);
    for (;;) {
        while (!a->engine && !a->stop)
            pthread_cond_wait(&a->wake, &a->lock);
        if (!a->engine)
            break;
        pthread_mutex_unlock(&a->lock);
        enum vb_err e = add(a->fleet, a->engine, a->as_of);
        pthread_mutex_lock(&a->lock);
        a->err = a->err ? a->err : e;
        a->engine = NULL;
        pthread_cond_signal(&a->done);
    }
    pthread_mutex_unlock(&a->lock);
    return NULL;
}

static int
start(struct adder *a)
{
    if (a->running)
        return 1;
    pthread_mutex_init(&a->lock, NULL);
    pthread_cond_init(&a->wake, NULL);
    pthread_cond_init(&a->done, NULL);
    a->running = pthread_create(&a->thread, NULL, adder_main, a) == 0;
    return a->running;
}

enum vb_err
adder_wait(struct adder *a)
{
    if (!a->running)
        return VB_OK;
    pthread_mutex_lock(&a->lock);
    while (a->engine)
        pthread_cond_wait(&a->done, &a->lock);
    enum vb_err e = a->err;
    pthread_mutex_unlock(&a->lock);
    return e;
}

enum vb_err
adder_give(struct adder *a, struct vb_fleet *f, const struct vb_engine *e, double as_of)
{
    if (!start(a)) // no thread to be had: then here
        return add(f, e, as_of);
    enum vb_err err = adder_wait(a);
    if (err)
        return err;
    pthread_mutex_lock(&a->lock);
    a->fleet = f;
    a->as_of = as_of;
    a->engine = e;
    pthread_cond_signal(&a->wake);
    pthread_mutex_unlock(&a->lock);
    return VB_OK;
}

enum vb_err
adder_stop(struct adder *a)
{
    if (!a->running)
        return VB_OK;
    pthread_mutex_lock(&a->lock);
    a->stop = 1;
    pthread_cond_signal(&a->wake);
    pthread_mutex_unlock(&a->lock);
    pthread_join(a->thread, NULL);
    pthread_cond_destroy(&a->wake);
    pthread_cond_destroy(&a->done);
    pthread_mutex_destroy(&a->lock);
    a->running = 0;
    return a->err;
}
