#include "valvebook/valve.h"

#include <string.h>

/* The parts a name can be made of, in the order in which they stood. */
enum kind { NUMBER, SIDE, CYL_WORD, VALVE_WORD };

struct part {
    enum kind kind;
    int value; // number, or 'I' / 'E'
    int cyl;   // a number that "cyl" stands before
};

struct word {
    const char *text;
    enum kind kind;
    int value;
};

static const struct word words[] = {
    {"i", SIDE, 'I'},          {"in", SIDE, 'I'},        {"inl", SIDE, 'I'},
    {"inlet", SIDE, 'I'},      {"int", SIDE, 'I'},       {"intake", SIDE, 'I'},
    {"e", SIDE, 'E'},          {"ex", SIDE, 'E'},        {"exh", SIDE, 'E'},
    {"exhaust", SIDE, 'E'},    {"c", CYL_WORD, 0},       {"cyl", CYL_WORD, 0},
    {"cylinder", CYL_WORD, 0}, {"zyl", CYL_WORD, 0},     {"zylinder", CYL_WORD, 0},
    {"v", VALVE_WORD, 0},      {"valve", VALVE_WORD, 0}, {"no", VALVE_WORD, 0},
};

static int
is_letter(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}

static int
is_digit(char c)
{
    return c >= '0' && c <= '9';
}

static const struct word *
find_word(const char *s, size_t n)
{
    char key[12];
    if (n >= sizeof key)
        return NULL;
    for (size_t i = 0; i < n; i++)
        key[i] = (char)(s[i] >= 'A' && s[i] <= 'Z' ? s[i] + ('a' - 'A') : s[i]);
    key[n] = 0;
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        if (strcmp(words[i].text, key) == 0)
            return &words[i];
    return NULL;
}

/* One number or word; returns the bytes it takes, 0 for anything else. */
static size_t
next_part(const char *s, size_t n, struct part *p)
{
    size_t i = 0;
    if (is_digit(*s)) {
        int v = 0;
        while (i < n && is_digit(s[i]) && v < 1000)
            v = v * 10 + (s[i++] - '0');
        *p = (struct part){NUMBER, v, 0};
        return v <= 99 ? i : 0;
    }
    while (i < n && is_letter(s[i]))
        i++;
    const struct word *w = i ? find_word(s, i) : NULL;
    if (!w)
        return 0;
    *p = (struct part){w->kind, w->value, 0};
    return i;
}

static int
split(const char *s, size_t n, struct part *p, int most)
{
    int count = 0, cyl = 0;
    for (size_t i = 0; i < n;) {
        if (strchr(" \t-_./#:", s[i]) && s[i]) {
            i++;
            continue;
        }
        struct part q;
        size_t used = next_part(s + i, n - i, &q);
        if (!used)
            return -1;
        i += used;
        if (q.kind == CYL_WORD)
            cyl = 1;
        if (q.kind == CYL_WORD || q.kind == VALVE_WORD)
            continue;
        if (count == most)
            return -1;
        if (q.kind == NUMBER) {
            q.cyl = cyl;
            cyl = 0;
        }
        p[count++] = q;
    }
    return count;
}

/*
 * number side [index]  |  side number [index]  |  side  |  number. Of two numbers the
 * first is the cylinder, unless "cyl" stands before the second alone: "ex 2 cyl 1" is
 * 1E2.
 */
static int
arrange(const struct part *p, int count, struct vb_valve *v)
{
    *v = (struct vb_valve){0, 0, 0};
    if (count == 3 && p[2].kind != NUMBER)
        return 0;
    int side_at = p[0].kind == SIDE ? 0 : 1;
    if (count <= side_at) { // one number
        v->cyl = p[0].value;
        return v->cyl > 0;
    }
    if (p[side_at].kind != SIDE)
        return 0;
    v->side = (char)p[side_at].value;
    if (count >= 2) {
        if (p[1 - side_at].kind != NUMBER)
            return 0;
        v->cyl = p[1 - side_at].value;
    }
    if (count == 3)
        v->index = p[2].value;
    if (count == 3 && p[2].cyl && !p[1 - side_at].cyl) {
        v->index = v->cyl;
        v->cyl = p[2].value;
    }
    return (count < 2 || v->cyl > 0) && (count < 3 || v->index > 0) && v->index <= 9;
}

/* Nearly every name is written "3E" or "3E2" already; no need to take those apart. */
static int
plain_name(const char *s, size_t n, struct vb_valve *v)
{
    if (n < 2 || n > 3 || s[0] < '1' || s[0] > '9' || (s[1] != 'I' && s[1] != 'E'))
        return 0;
    if (n == 3 && (s[2] < '1' || s[2] > '9'))
        return 0;
    *v = (struct vb_valve){s[0] - '0', s[1], n == 3 ? s[2] - '0' : 0};
    return 1;
}

enum vb_err
vb_valve_parse(const char *s, size_t n, struct vb_valve *out)
{
    struct part p[3];
    struct vb_valve v;
    if (plain_name(s, n, out))
        return VB_OK;
    int count = split(s, n, p, 3);
    if (count < 2 || !arrange(p, count, &v))
        return VB_ESYNTAX;
    *out = v;
    return VB_OK;
}

enum vb_err
vb_valve_part(const char *s, size_t n, struct vb_valve *out)
{
    struct part p[3];
    struct vb_valve v;
    int count = split(s, n, p, 3);
    if (count < 1 || !arrange(p, count, &v))
        return VB_ESYNTAX;
    if (count == 2 && p[0].kind == SIDE &&
        !p[1].cyl) { // "E2": the cylinder stands elsewhere
        v.index = v.cyl;
        v.cyl = 0;
        if (v.index > 9)
            return VB_ESYNTAX;
    }
    *out = v;
    return VB_OK;
}

size_t
vb_valve_format(struct vb_valve v, char *out)
{
    size_t k = 0;
    if (v.cyl >= 10)
        out[k++] = (char)('0' + v.cyl / 10 % 10);
    if (v.cyl > 0)
        out[k++] = (char)('0' + v.cyl % 10);
    if (v.side)
        out[k++] = v.side;
    if (v.index)
        out[k++] = (char)('0' + v.index % 10);
    out[k] = 0;
    return k;
}

int
vb_valve_same(struct vb_valve a, struct vb_valve b)
{
    return a.cyl == b.cyl && a.side == b.side && a.index == b.index;
}

int
vb_valve_order(struct vb_valve a, struct vb_valve b)
{
    if (a.cyl != b.cyl)
        return a.cyl - b.cyl;
    if (a.side != b.side)
        return b.side - a.side;
    return a.index - b.index;
}

char
vb_side_parse(const char *s, size_t n)
{
    while (n > 0 && (*s == ' ' || *s == '\t'))
        s++, n--;
    while (n > 0 && (s[n - 1] == ' ' || s[n - 1] == '\t' || s[n - 1] == '.'))
        n--;
    const struct word *w = find_word(s, n);
    return w && w->kind == SIDE ? (char)w->value : 0;
}
