/* What a sheet says of shims: which to fetch, to buy, to put away, and which are lacking. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "sheet_impl.h"

#define SHIM (2 * VB_LENGTH_TEXT + 4)

/* "2.450 mm (0.0965 inch)": as it is stamped, and as a micrometer may show it. */
static const char *
words_shim(int64_t thickness, enum vb_length length, char *out)
{
    char mm[VB_LENGTH_TEXT], also[VB_LENGTH_TEXT];
    double x = vb_shim_mm(thickness);
    vb_length_with_unit(VB_LENGTH_MM, x, mm);
    if (length == VB_LENGTH_MM)
        snprintf(out, SHIM, "%s", mm);
    else
        snprintf(out, SHIM, "%s (%s)", mm, vb_length_with_unit(length, x, also));
    return out;
}

void
words_unserved(const struct vb_sheet_row *r, enum vb_length length, char *out,
               size_t size)
{
    char wanted[SHIM];
    words_shim(r->choice.wanted, length, wanted);
    if (r->choice.fits == 1)
        snprintf(out, size,
                 "wants a shim of %s; the only one that lands inside its limits serves "
                 "another valve",
                 wanted);
    else if (r->choice.fits)
        snprintf(out, size,
                 "wants a shim of %s; the %zu that land inside its limits serve other "
                 "valves",
                 wanted, r->choice.fits);
    else
        snprintf(out, size,
                 "wants a shim of %s; none at hand or to be ordered lands "
                 "inside its limits",
                 wanted);
}

static int
by_size(const void *a, const void *b)
{
    int64_t x = *(const int64_t *)a, y = *(const int64_t *)b;
    return (x > y) - (x < y);
}

/* Where and to whom a list of sizes is said. */
struct listed {
    enum vb_length length;
    words_say *say;
    void *arg;
};

/* "2 x 2.450 mm, 1 x 2.500 mm"; cut where the room ends. */
static void
say_sizes(const char *what, int64_t *size, size_t n, const struct listed *to)
{
    char text[3000], shim[SHIM];
    if (!n)
        return;
    qsort(size, n, sizeof *size, by_size);
    size_t k = (size_t)snprintf(text, sizeof text, "%s:", what);
    for (size_t i = 0, j; i < n && k + SHIM + 24 < sizeof text; i = j) {
        for (j = i; j < n && size[j] == size[i];)
            j++;
        k += (size_t)snprintf(text + k, sizeof text - k, "%s %zu x %s", i ? "," : "",
                              j - i, words_shim(size[i], to->length, shim));
    }
    to->say(to->arg, text);
}

static size_t
sizes_from(const struct vb_sheet *s, enum vb_shim_source source, int64_t *size)
{
    size_t n = 0;
    for (size_t i = 0; i < s->n; i++)
        if (s->row[i].todo == VB_TODO_SHIM && s->row[i].choice.source == source)
            size[n++] = s->row[i].choice.thickness;
    return n;
}

/* Shims that come out and go into no other valve. */
static size_t
sizes_over(const struct vb_sheet *s, int64_t *size)
{
    size_t n = 0;
    for (size_t i = 0; i < s->n; i++) {
        int over = s->row[i].todo == VB_TODO_SHIM;
        for (size_t j = 0; j < s->n && over; j++)
            over = !(s->row[j].todo == VB_TODO_SHIM &&
                     s->row[j].choice.source == VB_SHIM_SWAP &&
                     vb_valve_same(s->row[j].from, s->row[i].valve));
        if (over)
            size[n++] = vb_shim_units(s->row[i].shim);
    }
    return n;
}

void
words_shims(const struct vb_sheet *s, enum vb_length length, words_say *say, void *arg)
{
    const struct listed to = {length, say, arg};
    int64_t size[VB_SHIM_VALVES];
    char text[WORDS + 80], at[VB_VALVE_MAX], why[WORDS];
    if (s->n > VB_SHIM_VALVES)
        return;
    say_sizes("Fetch from stock", size, sizes_from(s, VB_SHIM_SHELF, size), &to);
    say_sizes("Buy", size, sizes_from(s, VB_SHIM_BUY, size), &to);
    say_sizes("Left over", size, sizes_over(s, size), &to);
    for (size_t i = 0; i < s->n; i++) {
        if (s->row[i].todo != VB_TODO_UNSERVED)
            continue;
        vb_valve_format(s->row[i].valve, at);
        snprintf(text, sizeof text, "%s cannot be set: it %s.", at,
                 words_why(s, &s->row[i], length, why, sizeof why));
        say(arg, text);
    }
}
