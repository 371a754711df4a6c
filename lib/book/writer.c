/*
 * A second thread that hands full batches to SQLite while the first one reads and checks
 * the rows behind them. The connection belongs to whoever works: the writer while it has
 * a batch, the reader after writer_wait. Nothing else is shared.
 */
#include "reading_impl.h"

static enum vb_err
find_top(struct writer *w)
{
    int rc = sqlite3_step(w->top);
    if (rc == SQLITE_ROW)
        w->work.top = sqlite3_column_int64(w->top, 0);
    enum vb_err e = rc == SQLITE_ROW ? VB_OK : db_fail(w->b, &w->msg);
    sqlite3_reset(w->top);
    return e;
}

static enum vb_err
write_readings(struct writer *w)
{
    enum vb_err e = find_top(w);
    if (!e)
        e = db_run(w->b, w->flush, &w->msg);
    if (!e && !incoming_in(w->b->db, w->work.batch)) // GCOVR_EXCL_BR_LINE: they are
        return db_damaged(w->b, &w->msg);            // GCOVR_EXCL_LINE
    return e;
}

/* Both inserts of one batch; visits first, since readings point at them. */
static enum vb_err
write_batch(struct writer *w)
{
    enum vb_err e = VB_OK;
    if (w->work.batch->n_visits)
        e = db_run(w->b, w->flush_visits, &w->msg);
    if (!e && w->work.batch->n)
        e = write_readings(w);
    return e;
}

static void *
writer_main(void *arg)
{
    struct writer *w = arg;
    pthread_mutex_lock(&w->lock);
    for (;;) {
        while (!w->busy && !w->stop)
            pthread_cond_wait(&w->wake, &w->lock);
        if (!w->busy)
            break;
        pthread_mutex_unlock(&w->lock);
        enum vb_err e = write_batch(w);
        pthread_mutex_lock(&w->lock);
        if (e && !w->err) // GCOVR_EXCL_BR_LINE: nothing is given after an error
            w->err = e;
        w->busy = 0;
        pthread_cond_signal(&w->done);
    }
    pthread_mutex_unlock(&w->lock);
    return NULL;
}

enum vb_err
writer_start(struct writer *w)
{
    pthread_mutex_init(&w->lock, NULL);
    pthread_cond_init(&w->wake, NULL);
    pthread_cond_init(&w->done, NULL);
    w->running = pthread_create(&w->thread, NULL, writer_main, w) == 0;
    return w->running ? VB_OK : VB_EMEM;
}

enum vb_err
writer_wait(struct writer *w, struct vb_msg *m)
{
    pthread_mutex_lock(&w->lock);
    while (w->busy)
        pthread_cond_wait(&w->done, &w->lock);
    enum vb_err e = w->err;
    pthread_mutex_unlock(&w->lock);
    if (e && m)
        *m = w->msg;
    return e;
}

enum vb_err
writer_give(struct writer *w, struct batch *b, struct vb_msg *m)
{
    enum vb_err e = writer_wait(w, m);
    if (e)
        return e;
    pthread_mutex_lock(&w->lock);
    w->work.batch = b;
    w->busy = 1;
    pthread_cond_signal(&w->wake);
    pthread_mutex_unlock(&w->lock);
    return VB_OK;
}

void
writer_stop(struct writer *w)
{
    if (!w->running)
        return;
    pthread_mutex_lock(&w->lock);
    w->stop = 1;
    pthread_cond_signal(&w->wake);
    pthread_mutex_unlock(&w->lock);
    pthread_join(w->thread, NULL);
    pthread_cond_destroy(&w->wake);
    pthread_cond_destroy(&w->done);
    pthread_mutex_destroy(&w->lock);
    w->running = 0;
}
