#include "valvebook/date.h"

#include <math.h>
#include <string.h>
#include <time.h>

struct ymd {
    int y, m, d;
};

static int
month_days(int y, int m)
{
    static const int days[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    int leap = (y % 4 == 0 && y % 100 != 0) || y % 400 == 0;
    return days[m - 1] + (m == 2 && leap);
}

static int
valid(struct ymd t)
{
    return t.y >= 1900 && t.y <= 2199 && t.m >= 1 && t.m <= 12 && t.d >= 1 &&
           t.d <= month_days(t.y, t.m);
}

/* Up to `most` digits; returns how many there were. */
static size_t
digits(const char *s, size_t n, size_t most, int *v)
{
    size_t i = 0;
    for (*v = 0; i < n && i < most && s[i] >= '0' && s[i] <= '9'; i++)
        *v = *v * 10 + (s[i] - '0');
    return i;
}

/* Read by the order's letters; returns bytes used, 0 if it does not fit. */
static size_t
read_order(const char *s, size_t n, const char *order, struct ymd *t)
{
    size_t i = 0;
    for (; *order; order++) {
        int v;
        size_t k;
        switch (*order) {
        case 'Y':
            if ((k = digits(s + i, n - i, 4, &t->y)) != 4)
                return 0;
            break;
        case 'y':
            if ((k = digits(s + i, n - i, 2, &v)) != 2)
                return 0;
            t->y = 2000 + v;
            break;
        case 'M': k = digits(s + i, n - i, 2, &t->m); break;
        case 'D': k = digits(s + i, n - i, 2, &t->d); break;
        default: k = i < n && s[i] == *order;
        }
        if (!k)
            return 0;
        i += k;
    }
    return i;
}

static int
read_time(const char *s, size_t n, int *h, int *min)
{
    int sec;
    size_t i = 1, k;
    if (n < 5 || (*s != ' ' && *s != 'T' && *s != 't'))
        return 0;
    if (!(k = digits(s + i, n - i, 2, h)) || *h > 23)
        return 0;
    i += k;
    if (s[i++] != ':' || digits(s + i, n - i, 2, min) != 2 || *min > 59)
        return 0;
    i += 2;
    if (i < n && s[i] == ':' && digits(s + i + 1, n - i - 1, 2, &sec) == 2 && sec < 61)
        i += 3;
    return i == n;
}

/* Proleptic Gregorian calendar; March first, so that the leap day comes last. */
static long
to_days(struct ymd t)
{
    long y = t.y - (t.m <= 2), era = y / 400, yoe = y - era * 400;
    long doy = (153 * (t.m + (t.m > 2 ? -3 : 9)) + 2) / 5 + t.d - 1;
    return era * 146097 + yoe * 365 + yoe / 4 - yoe / 100 + doy - 719468;
}

static struct ymd
from_days(long z)
{
    struct ymd t;
    z += 719468;
    long era = z / 146097, doe = z - era * 146097;
    long yoe = (doe - doe / 1460 + doe / 36524 - doe / 146096) / 365;
    long doy = doe - (365 * yoe + yoe / 4 - yoe / 100), mp = (5 * doy + 2) / 153;
    t.d = (int)(doy - (153 * mp + 2) / 5 + 1);
    t.m = (int)(mp < 10 ? mp + 3 : mp - 9);
    t.y = (int)(yoe + era * 400) + (t.m <= 2);
    return t;
}

static int
serial(const char *s, size_t n, struct ymd *t)
{
    int v;
    if (n < 2 || n > 5 || digits(s, n, n, &v) != n || v <= 60)
        return 0;
    *t = from_days(to_days((struct ymd){1899, 12, 30}) + v);
    return 1;
}

static char *
put2(char *p, int v)
{
    *p++ = (char)('0' + v / 10);
    *p++ = (char)('0' + v % 10);
    return p;
}

static char *
put_date(char *p, struct ymd t)
{
    p = put2(put2(p, t.y / 100), t.y % 100);
    *p++ = '-';
    p = put2(p, t.m);
    *p++ = '-';
    return put2(p, t.d);
}

enum vb_err
vb_date_parse(const char *s, size_t n, const char *order, char *out)
{
    struct ymd t = {0, 0, 0};
    int h = 0, min = 0;
    while (n > 0 && *s == ' ')
        s++, n--;
    while (n > 0 && s[n - 1] == ' ')
        n--;
    if (n == 0)
        return VB_ESYNTAX;
    if (!order || !*order)
        order = "Y-M-D";
    int is_serial = strcmp(order, "serial") == 0;
    size_t used = is_serial ? (serial(s, n, &t) ? n : 0) : read_order(s, n, order, &t);
    if (!used || !valid(t))
        return VB_ESYNTAX;
    if (used < n && !read_time(s + used, n - used, &h, &min))
        return VB_ESYNTAX;
    char *p = put_date(out, t);
    if (used < n) {
        *p++ = 'T';
        p = put2(p, h);
        *p++ = ':';
        p = put2(p, min);
    }
    *p = 0;
    return VB_OK;
}

int
vb_date_order_ok(const char *order)
{
    int days = 0, months = 0, years = 0;
    if (!*order || strcmp(order, "serial") == 0)
        return 1;
    for (; *order; order++) {
        days += *order == 'D';
        months += *order == 'M';
        years += *order == 'Y' || *order == 'y';
    }
    return days == 1 && months == 1 && years == 1;
}

enum vb_err
vb_date_days(const char *iso, double *days)
{
    struct ymd t = {0, 0, 0};
    int h = 0, min = 0;
    size_t n = strlen(iso), used = read_order(iso, n, "Y-M-D", &t);
    if (!used || !valid(t) || (used < n && !read_time(iso + used, n - used, &h, &min)))
        return VB_ESYNTAX;
    *days = (double)to_days(t) + (h * 60 + min) / 1440.0;
    return VB_OK;
}

enum vb_err
vb_date_iso(double days, char *out)
{
    if (!isfinite(days) || days < -25567 || days > 84005)
        return VB_EDOM;
    struct ymd t = from_days((long)floor(days));
    *put_date(out, t) = 0;
    return VB_OK;
}

enum vb_err
vb_date_today(char *out)
{
    struct tm tm;
    time_t now = time(NULL);
    if (now == (time_t)-1 || !localtime_r(&now, &tm))
        return VB_EIO;
    if (tm.tm_year < 0 || tm.tm_year > 299)
        return VB_ERANGE; // no date of 1900 to 2199
    *put_date(out, (struct ymd){tm.tm_year + 1900, tm.tm_mon + 1, tm.tm_mday}) = 0;
    return VB_OK;
}

enum vb_err
vb_date_now(double *days)
{
    time_t now = time(NULL);
    if (now == (time_t)-1)
        return VB_EIO;
    *days = (double)now / 86400;
    return VB_OK;
}
