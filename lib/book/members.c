/*
 * Members of the structs of lib/trade as bytes, so that what is written and what is read
 * back cannot differ. Whole numbers take as many bytes as they need, seven bits each, least
 * first; reals eight, least first; texts their length and their bytes. A book can be carried
 * to another machine.
 */
#include "kept_impl.h"

#include <math.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#define M(name, kind, type, in)                                                          \
    {                                                                                    \
        name, kind, offsetof(type, in), sizeof(((type *)0)->in)                          \
    }
#define U(name, kind, in) M(name, kind, struct vb_unit_now, in)
#define L(name, kind, in) M(name, kind, struct vb_life, in)
#define WEAR(prefix, in)                                                                 \
    L(prefix "n", AS_SIZE, in.n), L(prefix "intervals", AS_SIZE, in.intervals),          \
        L(prefix "df", AS_LONG, in.df), L(prefix "sxx", AS_REAL, in.sxx),                \
        L(prefix "sxy", AS_REAL, in.sxy), L(prefix "sse", AS_REAL, in.sse),              \
        L(prefix "rate", AS_REAL, in.rate), L(prefix "movement", AS_REAL, in.movement),  \
        L(prefix "now", AS_REAL, in.now), L(prefix "now_meter", AS_REAL, in.now_meter),  \
        L(prefix "last_w", AS_REAL, in.last_w),                                          \
        L(prefix "last_mbar", AS_REAL, in.last_mbar),                                    \
        L(prefix "last_ybar", AS_REAL, in.last_ybar)
/* What is asked of a fit that only predicts a reading behind it. */
#define FIT(prefix, in)                                                                  \
    L(prefix "n", AS_SIZE, in.n), L(prefix "df", AS_LONG, in.df),                        \
        L(prefix "sxx", AS_REAL, in.sxx), L(prefix "sse", AS_REAL, in.sse),              \
        L(prefix "rate", AS_REAL, in.rate), L(prefix "last_w", AS_REAL, in.last_w),      \
        L(prefix "last_mbar", AS_REAL, in.last_mbar),                                    \
        L(prefix "last_ybar", AS_REAL, in.last_ybar)
#define OBS(prefix, in)                                                                  \
    L(prefix "meter", AS_REAL, in.meter), L(prefix "lash", AS_REAL, in.lash),            \
        L(prefix "w", AS_REAL, in.w), L(prefix "interval", AS_SIZE, in.interval)

/* Where this does not compile, a member was added: whatever vb_fleet_add sets must be
 * kept too, or lists from kept rows differ from those computed afresh. */
#define SIZE_64(type, n)                                                                 \
    _Static_assert(sizeof(size_t) != 8 || sizeof(type) == (n), "keep the new member")
SIZE_64(struct vb_wear, 104);
SIZE_64(struct vb_obs, 32);

SIZE_64(struct vb_life_sum, 64);

const struct member sum_members[] = {
    M("meter_unit", AS_TEXT, struct vb_life_sum, meter_unit),
    M("side", AS_INT, struct vb_life_sum, side),
    M("n", AS_SIZE, struct vb_life_sum, n),
    M("with_u", AS_SIZE, struct vb_life_sum, with_u),
    M("df", AS_LONG, struct vb_life_sum, df),
    M("sse", AS_REAL, struct vb_life_sum, sse),
    M("sxx", AS_REAL, struct vb_life_sum, sxx),
    M("rate", AS_REAL, struct vb_life_sum, rate),
};
const size_t n_sum_members = sizeof sum_members / sizeof *sum_members;

const struct member unit_members[] = {
    U("visits", AS_SIZE, n_visits),
    U("meter_unit", AS_TEXT, meter_unit),
    U("ended", AS_INT, ended),
    U("read_day", AS_REAL, read_day),
    U("last_day", AS_REAL, last_day),
    U("last_running", AS_REAL, last_running),
    U("last_meter", AS_REAL, last_meter),
    U("meter_offset", AS_REAL, offset),
    U("pace", AS_REAL, pace),
    U("set_day", AS_REAL, set_day),
    U("set_date", AS_TEXT, set_date),
    U("round_day", AS_REAL, round_day),
    U("round_running", AS_REAL, round_running),
    U("round_unread", AS_INT, round_unread),
    U("round_date", AS_TEXT, round_date),
    U("build", AS_TEXT, build),
    U("unread", AS_TEXT, unread),
    U("n_unread", AS_SIZE, n_unread),
    U("renewed", AS_INT, renewed),
};
const size_t n_unit_members = sizeof unit_members / sizeof *unit_members;

const struct member life_members[] = {
    L("number", AS_INT, number),
    L("is_current", AS_INT, current),
    L("build", AS_TEXT, build),
    L("since", AS_TEXT, since),
    WEAR("", wear),
    L("closed", AS_REAL, closed),
    L("closed_v", AS_REAL, closed_v),
    L("closed_over", AS_REAL, closed_over),
    L("first_meter", AS_REAL, first_meter),
    L("read_meter", AS_REAL, read_meter),
    L("no_gap", AS_INT, no_gap),
    L("no_temp", AS_SIZE, no_temp),
    L("no_meter", AS_SIZE, no_meter),
    L("with_u", AS_SIZE, with_u),
    L("unplaced", AS_INT, unplaced),
    L("unplaced_lash", AS_REAL, unplaced_lash),
    FIT("before_", before),
    OBS("newest_", newest),
    FIT("before2_", before2),
    OBS("second_", second),
};
const size_t n_life_members = sizeof life_members / sizeof *life_members;

/* Room for n more, NULL if there is none. */
static unsigned char *
room(struct bytes *to, size_t n)
{
    if (to->n + n > to->size) {
        size_t size = 2 * (to->n + n) + 16384;
        unsigned char *p = realloc(to->at, size);
        if (!p) {
            to->failed = 1;
            return NULL;
        }
        to->at = p;
        to->size = size;
    }
    to->n += n;
    return to->at + to->n - n;
}

enum vb_err
bytes_put_all(struct bytes *to, const void *bytes, size_t n)
{
    unsigned char *p = room(to, n);
    if (p && n)
        memcpy(p, bytes, n);
    return p ? VB_OK : VB_EMEM;
}

void
bytes_put(struct bytes *to, uint64_t v)
{
    unsigned char buf[10], *p;
    size_t n = 0;
    for (; v > 0x7f; v >>= 7)
        buf[n++] = (unsigned char)(v | 0x80);
    buf[n++] = (unsigned char)v;
    if ((p = room(to, n)))
        memcpy(p, buf, n);
}

int
bytes_get(struct view *from, uint64_t *v)
{
    *v = 0;
    for (int shift = 0; shift < 64 && from->at < from->end; shift += 7) {
        unsigned char c = *from->at++;
        *v |= (uint64_t)(c & 0x7f) << shift;
        if (!(c & 0x80))
            return 1;
    }
    return 0;
}

static void
put_word(struct bytes *to, uint64_t v)
{
    unsigned char *p = room(to, REAL_BYTES);
    for (int k = 0; p && k < REAL_BYTES; k++)
        *p++ = (unsigned char)(v >> 8 * k);
}

void
bytes_put_real(struct bytes *to, double x)
{
    uint64_t v;
    x += 0.0; // -0 + 0 is 0
    memcpy(&v, &x, sizeof v);
    put_word(to, v);
}

void
bytes_put_sum(struct bytes *to)
{
    put_word(to, bytes_sum(to->at, to->n));
}

int
bytes_get_reals(struct view *from, double *x, size_t n)
{
    if ((size_t)(from->end - from->at) / REAL_BYTES < n)
        return 0;
    for (; n > 0; n--, x++, from->at += REAL_BYTES) {
        uint64_t v = 0;
        for (int k = 0; k < REAL_BYTES; k++)
            v |= (uint64_t)from->at[k]
                 << 8 * k; // one load where the machine has that order
        memcpy(x, &v, sizeof v);
    }
    return 1;
}

static uint64_t
word_at(const unsigned char *at, size_t n)
{
    uint64_t v = 0;
    for (size_t k = 0; k < REAL_BYTES && k < n; k++)
        v |= (uint64_t)at[k] << 8 * k;
    return v;
}

static uint64_t
mixed(uint64_t h, uint64_t v)
{
    h = (h ^ v) * UINT64_C(0xd1342543de82ef95);
    return h ^ h >> 29;
}

/* Every step can be undone, so two runs that differ in one word never have one sum. Four
 * sums side by side: a processor multiplies one while it waits for the others. */
uint64_t
bytes_sum(const unsigned char *at, size_t n)
{
    uint64_t h[4] = {n, n + 1, n + 2, n + 3};
    size_t i = 0;
    for (; i + 4 * REAL_BYTES <= n; i += 4 * REAL_BYTES)
        for (size_t k = 0; k < 4; k++)
            h[k] = mixed(h[k], word_at(at + i + k * REAL_BYTES, REAL_BYTES));
    for (; i < n; i += REAL_BYTES)
        h[0] = mixed(h[0], word_at(at + i, n - i));
    return mixed(mixed(mixed(h[0], h[1]), h[2]), h[3]);
}

static void
put_text(struct bytes *to, const char *s)
{
    size_t n = strlen(s);
    bytes_put(to, n);
    unsigned char *p = room(to, n);
    if (p && n)
        memcpy(p, s, n);
}

/* Into `size` bytes, its NUL included. */
static int
get_text(struct view *from, char *s, size_t size)
{
    uint64_t n;
    if (!bytes_get(from, &n) || n >= size || n > (uint64_t)(from->end - from->at))
        return 0;
    memcpy(s, from->at, n);
    s[n] = 0;
    from->at += n;
    return 1;
}

/* Small numbers of either sign become small ones: 0, -1, 1, -2, ... */
static uint64_t
folded(int64_t v)
{
    return (uint64_t)v << 1 ^ (v < 0 ? UINT64_MAX : 0);
}

static int64_t
unfolded(uint64_t v)
{
    return (int64_t)(v >> 1 ^ (v & 1 ? UINT64_MAX : 0));
}

void
members_put(const struct member *m, size_t n, const void *of, struct bytes *to)
{
    for (const struct member *end = m + n; m < end; m++) {
        const void *at = (const char *)of + m->at;
        switch (m->kind) {
        case AS_INT: bytes_put(to, folded(*(const int *)at)); break;
        case AS_LONG: bytes_put(to, folded(*(const long *)at)); break;
        case AS_SIZE: bytes_put(to, *(const size_t *)at); break;
        case AS_TEXT: put_text(to, at); break;
        case AS_REAL: bytes_put_real(to, *(const double *)at);
        }
    }
}

static int
get_whole(struct view *from, enum member_kind kind, void *at)
{
    uint64_t v;
    if (!bytes_get(from, &v))
        return 0;
    if (kind == AS_INT)
        *(int *)at = (int)unfolded(v);
    else if (kind == AS_LONG)
        *(long *)at = (long)unfolded(v);
    else
        *(size_t *)at = (size_t)v;
    return 1;
}

int
members_get(const struct member *m, size_t n, struct view *from, void *of)
{
    for (const struct member *end = m + n; m < end; m++) {
        void *at = (char *)of + m->at;
        if (m->kind == AS_REAL   ? !bytes_get_reals(from, at, 1)
            : m->kind == AS_TEXT ? !get_text(from, at, m->size)
                                 : !get_whole(from, m->kind, at))
            return 0;
    }
    return 1;
}
