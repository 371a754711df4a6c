#include "valvebook/date.h"

#include <math.h>
#include <string.h>
#include <time.h>

#include "valvebook/utf8.h"

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

/* A name of a month, as spreadsheets of several languages write it, with or without a point
 * behind it. Only names that no language gives to another month. Returns bytes used. */
static size_t
month_name(const char *s, size_t n, int *month)
{
    static const char *const names[12] = {
        " jan january januar januari janvier janv ene enero gen gennaio janeiro jaan ",
        " feb february februar februari fevrier fevr fev febrero febbraio fevereiro ",
        " mar march marz maerz mrz mars marzo maart mrt marco ",
        " apr april avr avril abr abril aprile ",
        " may mai mei maj mayo mag maggio maio ",
        " jun june juni juin junio giu giugno junho ",
        " jul july juli juil juillet julio lug luglio julho ",
        " aug august aout ago agosto augustus ",
        " sep sept september septembre septiembre set settembre setembro ",
        " oct october okt oktober octobre octubre ott ottobre out outubro ",
        " nov november novembre noviembre novembro ",
        " dec december dez dezember decembre dic diciembre dicembre dezembro des ",
    };
    char key[16] = " ";
    size_t i = 0, k = 1;
    for (; i < n && vb_utf8_letter(s[i]) && k < sizeof key - 2; i++) {
        unsigned char c = (unsigned char)s[i],
                      next = i + 1 < n ? (unsigned char)s[i + 1] : 0;
        if (c < 0x80) {
            key[k++] = (char)(c | 0x20);
            continue;
        }
        next |= 0x20; // the small letter
        if (c != 0xc3 || !(next == 0xa4 || next == 0xa7 || next == 0xa9 || next == 0xbb))
            return 0;
        key[k++] = next == 0xa4 ? 'a' : next == 0xa7 ? 'c' : next == 0xa9 ? 'e' : 'u';
        i++;
    }
    key[k] = ' ';
    key[k + 1] = 0;
    for (int m = 0; k > 3 && m < 12 && (i == n || !vb_utf8_letter(s[i])); m++)
        if (strstr(names[m], key)) {
            *month = m + 1;
            return i + (i < n && s[i] == '.');
        }
    return 0;
}

/* Read by the order's letters; returns bytes used, 0 if it does not fit. Months have names
 * only where an order is stated, and behind a day: 02-Mar-25 is not of 2002. */
static size_t
read_order(const char *s, size_t n, const char *order, int named, struct ymd *t)
{
    size_t i = 0;
    named &= *order != 'y';
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
        case 'M':
            if (!(k = digits(s + i, n - i, 2, &t->m)) && named)
                k = month_name(s + i, n - i, &t->m);
            break;
        case 'D': k = digits(s + i, n - i, 2, &t->d); break;
        default: k = i < n && s[i] == *order;
        }
        if (!k)
            return 0;
        i += k;
    }
    return i;
}

/* Seconds, which are cut off; returns bytes used, 0 if there are none. */
static size_t
read_seconds(const char *s, size_t n)
{
    int sec, more;
    size_t i = 3;
    if (n < 3 || *s != ':' || digits(s + 1, n - 1, 2, &sec) != 2 || sec > 60)
        return 0;
    if (i < n && (s[i] == '.' || s[i] == ',')) {
        size_t k = digits(s + i + 1, n - i - 1, 9, &more);
        i += k ? k + 1 : 0;
    }
    return i;
}

/* "PM", "p.m.": all that is left; 0 if it is not. */
static int
read_noon(const char *s, size_t n, int *h)
{
    char key[3] = "";
    size_t k = 0;
    for (size_t i = 0; i < n; i++) {
        if (s[i] == ' ' || s[i] == '.')
            continue;
        if (k == 2)
            return 0;
        key[k++] = (char)(s[i] | 0x20);
    }
    if (k != 2 || key[1] != 'm' || (key[0] != 'a' && key[0] != 'p') || *h < 1 || *h > 12)
        return 0;
    *h = *h % 12 + (key[0] == 'p' ? 12 : 0);
    return 1;
}

static int
read_time(const char *s, size_t n, int *h, int *min)
{
    size_t i = 1, k;
    if (n > 1 && *s == ',' && s[1] == ' ') // as in 3/2/2025, 7:30 AM
        s++, n--;
    if (n < 5 || (*s != ' ' && *s != 'T' && *s != 't'))
        return 0;
    if (!(k = digits(s + i, n - i, 2, h)) || *h > 23)
        return 0;
    i += k;
    if (s[i++] != ':' || digits(s + i, n - i, 2, min) != 2 || *min > 59)
        return 0;
    i += 2;
    i += read_seconds(s + i, n - i);
    return i == n || read_noon(s + i, n - i, h);
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

/* A day's number, and behind a mark the part of the day that is over. */
static int
serial(const char *s, size_t n, struct ymd *t, int *minutes)
{
    int v;
    double part = 0, digit = 0.1;
    size_t k = digits(s, n, 5, &v), i = k + 1;
    if (k < 2 || v <= 60 || (k < n && s[k] != '.' && s[k] != ',') || i == n)
        return 0;
    for (; i < n && s[i] >= '0' && s[i] <= '9'; i++, digit /= 10)
        part += digit * (s[i] - '0');
    if (i < n)
        return 0;
    long seconds = lround(part * 86400); // 0.520833333 is 12:30
    *t = from_days(to_days((struct ymd){1899, 12, 30}) + v + seconds / 86400);
    *minutes = k < n ? (int)(seconds % 86400 / 60) : -1;
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
    int h = 0, min = 0, minutes = -1;
    while (n > 0 && *s == ' ')
        s++, n--;
    while (n > 0 && s[n - 1] == ' ')
        n--;
    if (n == 0)
        return VB_ESYNTAX;
    int named = order && *order;
    if (!named)
        order = "Y-M-D";
    int is_serial = strcmp(order, "serial") == 0;
    size_t used = !is_serial                   ? read_order(s, n, order, named, &t)
                  : serial(s, n, &t, &minutes) ? n
                                               : 0;
    if (!used || !valid(t))
        return VB_ESYNTAX;
    if (used < n && !read_time(s + used, n - used, &h, &min))
        return VB_ESYNTAX;
    if (minutes >= 0)
        h = minutes / 60, min = minutes % 60;
    char *p = put_date(out, t);
    if (used < n || minutes >= 0) {
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
    size_t n = strlen(iso), used = read_order(iso, n, "Y-M-D", 0, &t);
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
