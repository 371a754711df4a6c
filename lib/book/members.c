/*
 * Members of the structs of lib/trade as columns of a table, so that what is written and
 * what is read back cannot differ. SQLite keeps the bits of a double, but for NaN, which
 * is NULL here, and -0, which comes back as 0.
 */
#include "book_impl.h"

#include <math.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
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
#define OBS(prefix, in)                                                                  \
    L(prefix "meter", AS_REAL, in.meter), L(prefix "lash", AS_REAL, in.lash),            \
        L(prefix "w", AS_REAL, in.w), L(prefix "interval", AS_SIZE, in.interval)

/* Where this does not compile, a member was added: whatever vb_fleet_add sets must be
 * kept too, or lists from kept rows differ from those computed afresh. */
#define SIZE_64(type, n)                                                                 \
    _Static_assert(sizeof(size_t) != 8 || sizeof(type) == (n), "keep the new member")
SIZE_64(struct vb_wear, 104);
SIZE_64(struct vb_obs, 32);

const struct member unit_members[] = {
    U("visits", AS_SIZE, n_visits),
    U("meter_unit", AS_TEXT, meter_unit),
    U("ended", AS_INT, ended),
    U("last_day", AS_REAL, last_day),
    U("last_running", AS_REAL, last_running),
    U("meter_offset", AS_REAL, offset),
    U("pace", AS_REAL, pace),
    U("set_day", AS_REAL, set_day),
    U("set_running", AS_REAL, set_running),
    U("set_date", AS_TEXT, set_date),
    U("build", AS_TEXT, build),
    U("unread", AS_TEXT, unread),
    U("n_unread", AS_SIZE, n_unread),
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
    L("first_meter", AS_REAL, first_meter),
    L("no_temp", AS_SIZE, no_temp),
    L("no_meter", AS_SIZE, no_meter),
    L("with_u", AS_SIZE, with_u),
    WEAR("before_", before),
    OBS("newest_", newest),
    WEAR("before2_", before2),
    OBS("second_", second),
};
const size_t n_life_members = sizeof life_members / sizeof *life_members;

void
members_names(const struct member *m, size_t n, char *sql, size_t size)
{
    size_t k = strlen(sql);
    for (size_t i = 0; i < n && k < size; i++)
        k += (size_t)snprintf(sql + k, size - k, "%s%s", i ? ", " : "", m[i].column);
}

static void
read_text(sqlite3_stmt *s, int i, char *to, size_t size)
{
    const char *t = (const char *)sqlite3_column_text(s, i);
    snprintf(to, size, "%s", t ? t : "");
}

void
members_read(const struct member *m, size_t n, sqlite3_stmt *s, int i, void *to)
{
    for (const struct member *end = m + n; m < end; m++, i++) {
        char *at = (char *)to + m->at;
        switch (m->kind) {
        case AS_INT: *(int *)(void *)at = sqlite3_column_int(s, i); break;
        case AS_LONG: *(long *)(void *)at = (long)sqlite3_column_int64(s, i); break;
        case AS_SIZE: *(size_t *)(void *)at = (size_t)sqlite3_column_int64(s, i); break;
        case AS_TEXT: read_text(s, i, at, m->size); break;
        case AS_REAL:
            *(double *)(void *)at = sqlite3_column_type(s, i) == SQLITE_NULL
                                        ? NAN
                                        : sqlite3_column_double(s, i);
        }
    }
}

void
members_bind(const struct member *m, size_t n, sqlite3_stmt *s, int i, const void *from)
{
    for (const struct member *end = m + n; m < end; m++, i++) {
        const char *at = (const char *)from + m->at;
        switch (m->kind) {
        case AS_INT: sqlite3_bind_int(s, i, *(const int *)(const void *)at); break;
        case AS_LONG: sqlite3_bind_int64(s, i, *(const long *)(const void *)at); break;
        case AS_SIZE:
            sqlite3_bind_int64(s, i, (sqlite3_int64) * (const size_t *)(const void *)at);
            break;
        case AS_TEXT: sqlite3_bind_text(s, i, at, -1, SQLITE_STATIC); break;
        case AS_REAL: // NaN is bound as NULL
            sqlite3_bind_double(s, i, *(const double *)(const void *)at);
        }
    }
}

void
members_one_zero(const struct member *m, size_t n, void *in)
{
    for (const struct member *end = m + n; m < end; m++)
        if (m->kind == AS_REAL)
            *(double *)(void *)((char *)in + m->at) += 0.0; // -0 + 0 is 0
}

/* Least byte first, whatever the machine: a book can be carried to another one. */
void
reals_write(const double *x, size_t n, unsigned char *bytes)
{
    for (size_t i = 0; i < n; i++) {
        uint64_t v;
        memcpy(&v, &x[i], sizeof v);
        for (int k = 0; k < REAL_BYTES; k++)
            *bytes++ = (unsigned char)(v >> 8 * k);
    }
}

void
reals_read(const unsigned char *bytes, size_t n, double *x)
{
    for (size_t i = 0; i < n; i++) {
        uint64_t v = 0;
        for (int k = 0; k < REAL_BYTES; k++)
            v |= (uint64_t)*bytes++ << 8 * k;
        memcpy(&x[i], &v, sizeof v);
    }
}
