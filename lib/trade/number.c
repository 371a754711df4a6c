#include "valvebook/number.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define DIGITS_IN 17
#define MANT_MAX  INT64_C(999999999999999999)

static const int64_t ten[19] = {INT64_C(1),
                                INT64_C(10),
                                INT64_C(100),
                                INT64_C(1000),
                                INT64_C(10000),
                                INT64_C(100000),
                                INT64_C(1000000),
                                INT64_C(10000000),
                                INT64_C(100000000),
                                INT64_C(1000000000),
                                INT64_C(10000000000),
                                INT64_C(100000000000),
                                INT64_C(1000000000000),
                                INT64_C(10000000000000),
                                INT64_C(100000000000000),
                                INT64_C(1000000000000000),
                                INT64_C(10000000000000000),
                                INT64_C(100000000000000000),
                                INT64_C(1000000000000000000)};

static int
is_blank(char c)
{
    return c == ' ' || c == '\t';
}

static int
is_digit(char c)
{
    return c >= '0' && c <= '9';
}

/* scan - where the reader stands in a number that is being read. */
struct scan {
    const char *s;
    size_t i, n;
    int64_t mant;
    int digits; // significant ones so far
    int seen;   // any digit at all
};

static int
take_digit(struct scan *k)
{
    int d = k->s[k->i++] - '0';
    k->seen = 1;
    if (k->mant > 0 || d > 0)
        k->digits++;
    if (k->digits > DIGITS_IN)
        return 0;
    k->mant = k->mant * 10 + d;
    return 1;
}

/*
 * Digits before the decimal mark. A group mark counts only where three digits follow
 * it and one to three stood before it: "1,234" is grouped, "1,23" is not a number.
 */
static enum vb_err
scan_whole(struct scan *k, char group)
{
    int run = 0, grouped = 0;
    while (k->i < k->n) {
        char c = k->s[k->i];
        if (is_digit(c)) {
            if (!take_digit(k))
                return VB_ERANGE;
            run++;
        } else if (group && c == group && run >= 1 && run <= 3 &&
                   (!grouped || run == 3) && k->i + 1 < k->n &&
                   is_digit(k->s[k->i + 1])) {
            k->i++;
            grouped = 1;
            run = 0;
        } else {
            break;
        }
    }
    return grouped && run != 3 ? VB_ESYNTAX : VB_OK;
}

static enum vb_err
scan_fraction(struct scan *k, char mark, int *scale)
{
    *scale = 0;
    if (k->i >= k->n || k->s[k->i] != mark)
        return VB_OK;
    k->i++;
    while (k->i < k->n && is_digit(k->s[k->i])) {
        if (!take_digit(k) || ++*scale > 18)
            return VB_ERANGE;
    }
    return VB_OK;
}

/* An exponent is taken only when it is whole: in "3E2" somebody may mean a valve. */
static enum vb_err
scan_exponent(struct scan *k, int *scale)
{
    size_t i = k->i;
    if (i >= k->n || (k->s[i] != 'e' && k->s[i] != 'E'))
        return VB_OK;
    int minus = 0, e = 0, any = 0;
    i++;
    if (i < k->n && (k->s[i] == '-' || k->s[i] == '+'))
        minus = k->s[i++] == '-';
    for (; i < k->n && is_digit(k->s[i]); i++, any = 1)
        if ((e = e * 10 + (k->s[i] - '0')) > 99)
            return VB_ERANGE;
    if (!any)
        return VB_OK;
    k->i = i;
    *scale += minus ? e : -e;
    if (k->mant == 0)
        *scale = *scale < 0 || *scale > 18 ? 0 : *scale;
    return *scale < -18 || *scale > 18 ? VB_ERANGE : VB_OK;
}

/*
 * Digits and at most one mark, nothing else: what nearly every cell holds. At most 17
 * bytes, so that the mantissa cannot overflow. Returns 0 for anything else.
 */
static int
plain_number(const char *s, size_t n, char mark, struct vb_dec *out)
{
    int64_t m = 0;
    size_t dot = n;
    if (n == 0 || n > DIGITS_IN)
        return 0;
    for (size_t i = 0; i < n; i++) {
        unsigned d = (unsigned)(s[i] - '0');
        if (d <= 9)
            m = m * 10 + (int64_t)d;
        else if (s[i] == mark && dot == n && n > 1)
            dot = i;
        else
            return 0;
    }
    *out = (struct vb_dec){m, dot < n ? (int)(n - dot - 1) : 0};
    return 1;
}

enum vb_err
vb_dec_prefix(const char *s, size_t n, char mark, char group, struct vb_dec *out,
              size_t *used)
{
    struct scan k = {.s = s, .n = n};
    int minus = 0, scale = 0;
    if (plain_number(s, n, mark, out)) {
        *used = n;
        return VB_OK;
    }
    while (k.i < n && is_blank(s[k.i]))
        k.i++;
    if (k.i < n && (s[k.i] == '-' || s[k.i] == '+'))
        minus = s[k.i++] == '-';
    enum vb_err e = scan_whole(&k, group);
    if (!e)
        e = scan_fraction(&k, mark, &scale);
    if (!e && !k.seen)
        e = VB_ESYNTAX;
    if (!e)
        e = scan_exponent(&k, &scale);
    if (e)
        return e;
    *out = (struct vb_dec){minus ? -k.mant : k.mant, scale};
    *used = k.i;
    return VB_OK;
}

enum vb_err
vb_dec_parse(const char *s, size_t n, char mark, char group, struct vb_dec *out)
{
    struct vb_dec d;
    size_t used;
    if (plain_number(s, n, mark, out))
        return VB_OK;
    enum vb_err e = vb_dec_prefix(s, n, mark, group, &d, &used);
    if (e)
        return e;
    while (used < n && is_blank(s[used]))
        used++;
    if (used < n)
        return VB_ESYNTAX;
    *out = d;
    return VB_OK;
}

/* Trailing zeros carry no value; dropping them makes room for exact products. */
static struct vb_dec
trim(struct vb_dec a)
{
    if (a.mant == 0)
        return (struct vb_dec){0, 0};
    if (a.mant % 10)
        return a;
    while (a.mant % 10 == 0 && a.scale > -18) {
        a.mant /= 10;
        a.scale--;
    }
    return a;
}

/* hi * 10^18 + lo, both of one sign and |lo| < 10^18: what two mantissas multiply to. */
struct wide {
    int64_t hi, lo;
};

#define E9  INT64_C(1000000000)
#define E18 (E9 * E9)

static struct wide
wide_mul(int64_t a, int64_t b)
{
    if (a < E9 && a > -E9 && b < E9 && b > -E9)
        return (struct wide){0, a * b};
    int64_t a1 = a / E9, a0 = a % E9, b1 = b / E9, b0 = b % E9;
    int64_t mid = a1 * b0 + a0 * b1;
    int64_t lo = a0 * b0 + mid % E9 * E9;
    return (struct wide){a1 * b1 + mid / E9 + lo / E18, lo % E18};
}

static struct wide
wide_add(struct wide a, int64_t b)
{
    int64_t lo = a.lo + b, hi = a.hi + lo / E18;
    lo %= E18;
    if (hi > 0 && lo < 0)
        return (struct wide){hi - 1, lo + E18};
    if (hi < 0 && lo > 0)
        return (struct wide){hi + 1, lo - E18};
    return (struct wide){hi, lo};
}

static enum vb_err
fits(struct wide m, int scale, struct vb_dec *out)
{
    for (; (m.hi || scale > 18) && m.lo % 10 == 0; scale--) {
        m.lo = m.lo / 10 + m.hi % 10 * (E18 / 10);
        m.hi /= 10;
    }
    if (m.hi || scale > 18 || scale < -18)
        return VB_ERANGE;
    *out = (struct vb_dec){m.lo, scale};
    return VB_OK;
}

enum vb_err
vb_dec_mul(struct vb_dec a, struct vb_dec b, struct vb_dec *out)
{
    if (a.mant == 0 || b.mant == 0) {
        *out = (struct vb_dec){0, 0};
        return VB_OK;
    }
    return fits(wide_mul(a.mant, b.mant), a.scale + b.scale, out);
}

enum vb_err
vb_dec_add(struct vb_dec a, struct vb_dec b, struct vb_dec *out)
{
    if (a.scale < b.scale) {
        struct vb_dec t = a;
        a = b;
        b = t;
    }
    if (a.scale - b.scale > 18)
        return VB_ERANGE;
    return fits(wide_add(wide_mul(b.mant, ten[a.scale - b.scale]), a.mant), a.scale, out);
}

/*
 * A mantissa below 2^53 and a power of ten up to 10^22 are both exact doubles, so one
 * division or product is rounded once: the nearest double. Longer ones go by strtod.
 */
double
vb_dec_double(struct vb_dec a)
{
    if (a.mant <= INT64_C(9007199254740992) && a.mant >= -INT64_C(9007199254740992))
        return a.scale >= 0 ? (double)a.mant / (double)ten[a.scale]
                            : (double)a.mant * (double)ten[-a.scale];
    char text[VB_NUM_MAX + 8];
    snprintf(text, sizeof text, "%llde%d", (long long)a.mant, -a.scale);
    return strtod(text, NULL);
}

double
vb_dec_half(struct vb_dec a)
{
    return a.scale >= 0 ? 0.5 / (double)ten[a.scale] : 0.5 * (double)ten[-a.scale];
}

static char *
put_digits(char *end, int64_t m, int count)
{
    for (int i = 0; i < count || (count == 0 && m > 0); i++, m /= 10)
        *--end = (char)('0' + m % 10);
    return end;
}

size_t
vb_dec_format(struct vb_dec a, char *out)
{
    char buf[64], *end = buf + sizeof buf, *p = end;
    a = trim(a);
    int64_t m = a.mant < 0 ? -a.mant : a.mant;
    if (a.scale > 0) {
        p = put_digits(p, m % ten[a.scale], a.scale);
        *--p = '.';
        m /= ten[a.scale];
    }
    for (int z = a.scale; z < 0; z++)
        *--p = '0';
    if (m == 0)
        *--p = '0';
    else
        p = put_digits(p, m, 0);
    if (a.mant < 0)
        *--p = '-';
    size_t len = (size_t)(end - p);
    if (len >= VB_NUM_MAX) // 18 digits and 18 zeros: no measured value is that large
        len = (size_t)snprintf(out, VB_NUM_MAX, "%llde%d", (long long)a.mant, -a.scale);
    else
        memcpy(out, p, len), out[len] = 0;
    return len;
}

/* "%.15g" turns to an exponent below 1e-4; readings are read by people: no exponent. */
static size_t
plain_decimals(const char *g, char *out)
{
    struct vb_dec d;
    if (vb_dec_parse(g, strlen(g), '.', 0, &d))
        return (size_t)snprintf(out, VB_NUM_MAX, "%s", g);
    return vb_dec_format(d, out);
}

size_t
vb_double_format(double x, char *out)
{
    char g[VB_NUM_MAX];
    if (!isfinite(x)) {
        out[0] = 0;
        return 0;
    }
    snprintf(g, sizeof g, "%.15g", x);
    for (int digits = 16; digits <= 17; digits++) {
        if (strtod(g, NULL) == x)
            break;
        snprintf(g, sizeof g, "%.*g", digits, x);
    }
    return plain_decimals(g, out);
}

enum vb_err
vb_double_parse(const char *s, size_t n, double *out)
{
    struct vb_dec d;
    enum vb_err e = vb_dec_parse(s, n, '.', 0, &d);
    if (!e) {
        *out = vb_dec_double(d);
        return VB_OK;
    }
    char text[64], *end;
    if (e != VB_ERANGE || n >= sizeof text)
        return e;
    memcpy(text, s, n);
    text[n] = 0;
    errno = 0;
    double x = strtod(text, &end);
    if (*end || errno)
        return VB_ERANGE;
    *out = x;
    return VB_OK;
}
