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
    char wanted[SHIM], own[SHIM], to[VB_VALVE_MAX];
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
    if (!r->to.cyl)
        return;
    vb_valve_format(r->to, to);
    size_t k = strlen(out);
    snprintf(out + k, size - k, "; its own of %s goes to %s",
             words_shim(vb_shim_units(r->shim), length, own), to);
}

int
words_other_side(const struct vb_sheet *s, const struct vb_sheet_row *r)
{
    return s->unit->family->shim_fits == VB_SHIM_FITS_UNKNOWN &&
           r->todo == VB_TODO_SHIM && r->choice.source == VB_SHIM_SWAP &&
           r->from.side != r->valve.side;
}

/* From a shelf that does not say for which side, where that matters. */
static int
of_no_side(const struct vb_sheet *s, const struct vb_sheet_row *r)
{
    return s->unit->family->shim_fits == VB_SHIM_FITS_SIDE && r->todo == VB_TODO_SHIM &&
           r->choice.source == VB_SHIM_SHELF && !s->wish.stock[r->choice.from].side;
}

/* What shims are taken to fit where nobody has said it. */
void
words_fits(const struct vb_sheet *s, words_say *say, void *arg)
{
    size_t swap = 0, shelf = 0;
    while (swap < s->n && !words_other_side(s, &s->row[swap]))
        swap++;
    while (shelf < s->n && !of_no_side(s, &s->row[shelf]))
        shelf++;
    if (swap < s->n)
        say(arg, "Shims are taken to fit both sides, and go from one to the other: the "
                 "family states no shim_fits.");
    if (shelf < s->n)
        say(arg, "Shims of the stock that name no side are taken to fit the valve that "
                 "gets them: look at their size.");
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

/* side 0: both */
static size_t
sizes_from(const struct vb_sheet *s, enum vb_shim_source source, char side, int64_t *size)
{
    size_t n = 0;
    for (size_t i = 0; i < s->n; i++)
        if (s->row[i].todo == VB_TODO_SHIM && s->row[i].choice.source == source &&
            (!side || s->row[i].valve.side == side))
            size[n++] = s->row[i].choice.thickness;
    return n;
}

/* Shims that come out and go into no other valve. */
static size_t
sizes_over(const struct vb_sheet *s, char side, int64_t *size)
{
    size_t n = 0;
    for (size_t i = 0; i < s->n; i++) {
        int over =
            s->row[i].todo == VB_TODO_SHIM && (!side || s->row[i].valve.side == side);
        for (size_t j = 0; j < s->n && over; j++)
            over = !(s->row[j].todo == VB_TODO_SHIM &&
                     s->row[j].choice.source == VB_SHIM_SWAP &&
                     vb_valve_same(s->row[j].from, s->row[i].valve));
        if (over)
            size[n++] = vb_shim_units(s->row[i].shim);
    }
    return n;
}

/* Do shims of one thickness differ by side? */
static int
sides_differ(const struct vb_sheet *s)
{
    for (size_t k = 0; k < s->wish.n_stock; k++)
        if (s->wish.stock[k].side)
            return 1;
    return s->unit->family->shim_fits == VB_SHIM_FITS_SIDE;
}

/* What is to be fetched, bought and put away of a side; 0: of both. */
static void
say_lists(const struct vb_sheet *s, char side, const struct listed *to)
{
    static const char *const what[][3] = {
        {"Fetch from stock", "Buy", "Left over"},
        {"Fetch from stock, inlet", "Buy, inlet", "Left over, inlet"},
        {"Fetch from stock, exhaust", "Buy, exhaust", "Left over, exhaust"},
    };
    const char *const *name = what[side == 'I' ? 1 : side == 'E' ? 2 : 0];
    int64_t size[VB_SHIM_VALVES];
    say_sizes(name[0], size, sizes_from(s, VB_SHIM_SHELF, side, size), to);
    say_sizes(name[1], size, sizes_from(s, VB_SHIM_BUY, side, size), to);
    say_sizes(name[2], size, sizes_over(s, side, size), to);
}

void
words_shims(const struct vb_sheet *s, enum vb_length length, words_say *say, void *arg)
{
    const struct listed to = {length, say, arg};
    char text[WORDS + 80], at[VB_VALVE_MAX], why[WORDS];
    if (s->n > VB_SHIM_VALVES)
        return;
    for (const char *side = sides_differ(s) ? "IE" : ""; *side; side++)
        say_lists(s, *side, &to);
    if (!sides_differ(s))
        say_lists(s, 0, &to);
    for (size_t i = 0; i < s->n; i++) {
        if (s->row[i].todo != VB_TODO_UNSERVED)
            continue;
        vb_valve_format(s->row[i].valve, at);
        snprintf(text, sizeof text, "%s cannot be set: it %s.", at,
                 words_why(s, &s->row[i], length, why, sizeof why));
        say(arg, text);
    }
}
