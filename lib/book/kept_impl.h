#ifndef VALVEBOOK_KEPT_IMPL_H
#define VALVEBOOK_KEPT_IMPL_H

/* What lists compute, and keep of it in the book. */
#include <pthread.h>

#include "book_impl.h"

/* relay.c: jobs on their way to a second thread and back, in order. The connection to the
 * book stays with the first; the second may have one of its own. Set work and job, the rest
 * zeros; relay_stop must end it. */
#define RELAY 4
struct relay {
    void (*work)(void *job);
    void *job[RELAY];
    size_t given, done, taken; // of the jobs so far
    int stop, running, alone;
    pthread_t thread;
    pthread_mutex_t lock;
    pthread_cond_t more, ready;
};
/* the job that is given next; NULL where one must be taken before */
void *relay_room(struct relay *r);
void relay_give(struct relay *r);
/* the oldest that was given, when it is done; NULL: there is none. It is the caller's until
 * the next relay_room */
void *relay_take(struct relay *r);
/* the same without waiting: NULL too where it is not done */
void *relay_ready(struct relay *r);
void relay_stop(struct relay *r);

/* afresh.c: engines of which nothing is kept. They are computed into the temporary table
 * `computed`, whose columns are those of fresh; newest is NULL where something of the engine
 * is later than as_of. Within a transaction of the caller's. */
struct afresh;
struct bytes;
enum vb_err afresh_open(struct vb_book *b, const char *as_of, struct query *q,
                        struct afresh **out, struct vb_msg *m);
/* compute one; it may take until afresh_wait */
enum vb_err afresh_give(struct afresh *a, const char *name,
                        const struct vb_family_kept *k);
enum vb_err afresh_wait(struct afresh *a);
/* the same at once; *sums and *kept are valid until the next call */
enum vb_err afresh_now(struct afresh *a, const char *name, const struct vb_family_kept *k,
                       const struct bytes **sums, const struct bytes **kept);
/* keep what was computed in fresh, if that can be done at once; ends the transaction */
void afresh_keep(struct afresh *a);
void afresh_close(struct afresh *a);

/* kept.c: what was computed of an engine, as bytes */
#define KEPT_VERSION                                                                     \
    VB_VERSION "/14" // other methods, or members (the number), compute afresh
/* of a fleet of one engine: what pooling needs of it, and all the rest */
enum vb_err kept_put(const struct vb_fleet *f, struct bytes *sums, struct bytes *kept);
/* are they still what was put? */
int kept_whole(const void *bytes, size_t n);
/* Count the lives of an engine of this family; bytes are whole. */
enum vb_err kept_count(const void *bytes, size_t n, const char *family,
                       struct vb_fleet *f);
/* Add an engine (name, family and plan in e). */
enum vb_err kept_take(const void *bytes, size_t n, const struct vb_engine *e,
                      double as_of, struct vb_fleet *f);

/* kept_near.c: do two whole pieces say the same, but for the last digits? */
int kept_near_sums(const struct bytes *a, const struct bytes *b);
int kept_near(const struct bytes *a, const struct bytes *b);

/* members.c: members of a struct as bytes */
enum member_kind { AS_INT, AS_LONG, AS_SIZE, AS_REAL, AS_TEXT };
struct member {
    const char *name;
    enum member_kind kind;
    size_t at, size; // in the struct
};
extern const struct member sum_members[], unit_members[], life_members[];
extern const size_t n_sum_members, n_unit_members, n_life_members;
/* bytes - a growing run of them; free at with free().  view - some that are read. */
struct bytes {
    unsigned char *at;
    size_t n, size;
    int failed; // out of memory
};
struct view {
    const unsigned char *at, *end;
};
/* the get functions return 0 where the bytes end too soon or do not fit */
#define REAL_BYTES 8
enum vb_err bytes_put_all(struct bytes *to, const void *bytes, size_t n);
void bytes_put(struct bytes *to, uint64_t v);
int bytes_get(struct view *from, uint64_t *v);
void bytes_put_real(struct bytes *to, double x);
int bytes_get_reals(struct view *from, double *x, size_t n);
/* that they are still what they were; no defence against anybody */
uint64_t bytes_sum(const unsigned char *at, size_t n);
void bytes_put_sum(struct bytes *to);
void members_put(const struct member *m, size_t n, const void *of, struct bytes *to);
int members_get(const struct member *m, size_t n, struct view *from, void *of);

#endif
