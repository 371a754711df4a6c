#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "sheet_impl.h"
#include "valvebook/digits.h"

#define DEG "\xc2\xb0"

const char *
words_do(const struct vb_sheet_row *r)
{
    switch (r->todo) {
    case VB_TODO_LEAVE: return "leave";
    case VB_TODO_SCREW: return r->turns > 0 ? "in" : "out";
    case VB_TODO_SHIM: return "swap";
    case VB_TODO_KEEP: return "keep";
    case VB_TODO_BY: return r->by > 0 ? "tighten" : "loosen";
    case VB_TODO_MEASURE: return "measure";
    case VB_TODO_READ: return "read";
    default: break; // no target, not served
    }
    return "none";
}

const char *
words_from(const struct vb_sheet_row *r, char *out, size_t size)
{
    char at[VB_VALVE_MAX];
    const char *from = "";
    if (r->todo == VB_TODO_KEEP)
        from = "own";
    if (r->todo == VB_TODO_SHIM && r->choice.source == VB_SHIM_SHELF)
        from = "stock";
    if (r->todo == VB_TODO_SHIM && r->choice.source == VB_SHIM_BUY)
        from = "buy";
    if (r->todo == VB_TODO_SHIM && r->choice.source == VB_SHIM_SWAP) {
        vb_valve_format(r->from, at);
        from = at;
    }
    snprintf(out, size, "%s", from);
    return out;
}

static void
shim_task(const struct vb_sheet_row *r, char *out, size_t size)
{
    char from[24];
    words_from(r, from, sizeof from);
    snprintf(out, size, "%.3f \xe2\x86\x92 %.3f, %s%s", r->shim,
             vb_shim_mm(r->choice.thickness),
             r->choice.source == VB_SHIM_SWAP ? "of " : "", from);
}

/* A valve that stays as it is, and by when it may not. */
static void
stay_task(const struct vb_sheet *s, const struct vb_sheet_row *r, char *out, size_t size)
{
    char due[VB_DIGITS_PAIR], keep[32] = "leave";
    if (r->todo == VB_TODO_KEEP)
        snprintf(keep, sizeof keep, "keep %.3f", r->shim);
    if (isnan(r->due))
        snprintf(out, size, "%s", keep);
    else
        snprintf(out, size, "%s, due by %s %s", keep,
                 vb_digits_pair(r->due - s->unit->offset, NAN, 0, due),
                 s->unit->meter_unit);
}

/* Whoever pulls its shim must know that it goes elsewhere. */
static void
none_task(const struct vb_sheet_row *r, char *out, size_t size)
{
    char to[VB_VALVE_MAX];
    if (!r->to.cyl) {
        snprintf(out, size, "cannot be set");
        return;
    }
    vb_valve_format(r->to, to);
    snprintf(out, size, "cannot be set; its %.3f goes to %s", r->shim, to);
}

const char *
words_task(const struct vb_sheet *s, const struct vb_sheet_row *r, enum vb_length length,
           char *out, size_t size)
{
    char by[VB_LENGTH_TEXT];
    const char *word = words_do(r);
    switch (r->todo) {
    case VB_TODO_SCREW:
        snprintf(out, size, "%s %.2f turn, %.0f" DEG, word, fabs(r->turns),
                 360 * fabs(r->turns));
        break;
    case VB_TODO_SHIM: shim_task(r, out, size); break;
    case VB_TODO_BY:
        snprintf(out, size, "%s by %s", word,
                 vb_length_with_unit(length, fabs(r->by), by));
        break;
    case VB_TODO_MEASURE:
        snprintf(out, size, "measure shim, %.3f %s", fabs(r->by),
                 r->by > 0 ? "thicker" : "thinner");
        break;
    case VB_TODO_READ: snprintf(out, size, "read it"); break;
    case VB_TODO_LEAVE:
    case VB_TODO_KEEP: stay_task(s, r, out, size); break;
    default: none_task(r, out, size); break; // no target, not served
    }
    return out;
}

/* Why a valve is due though it stays as it is. */
static const char *
words_due(const struct vb_sheet *s)
{
    return isnan(s->unit->plan_running)
               ? "may have reached a limit by now"
               : "may reach a limit before the next planned event is over";
}

static void
why_so(const struct vb_sheet *s, const struct vb_sheet_row *r, enum vb_length length,
       char *out, size_t size)
{
    out[0] = 0;
    switch (r->todo) {
    case VB_TODO_LEAVE:
        if (!isnan(r->due))
            snprintf(out, size, "%s", words_due(s));
        break;
    case VB_TODO_SCREW:
        if (vb_screw_assumed(s->unit->family, r->valve.side == 'E'))
            snprintf(out, size, "screw taken to be on the valve's side: no screw_on");
        break;
    case VB_TODO_SHIM:
        if (words_other_side(s, r))
            snprintf(out, size, "its shim taken to fit this side too: no shim_fits");
        break;
    case VB_TODO_KEEP:
        snprintf(out, size, "best for all valves together%s%s", isnan(r->due) ? "" : "; ",
                 isnan(r->due) ? "" : words_due(s));
        break;
    case VB_TODO_BY:
        snprintf(out, size, "the family does not state with what it is set");
        break;
    case VB_TODO_MEASURE:
        snprintf(out, size,
                 r->shim_known == VB_SHIM_CHANGED ? "set since its shim was noted"
                                                  : "no shim on record");
        break;
    case VB_TODO_READ: snprintf(out, size, "not read in its present life"); break;
    case VB_TODO_NO_TARGET:
        snprintf(out, size, "the family states no lash_target");
        break;
    case VB_TODO_UNSERVED: words_unserved(r, length, out, size); break;
    default: break;
    }
}

const char *
words_why(const struct vb_sheet *s, const struct vb_sheet_row *r, enum vb_length length,
          char *out, size_t size)
{
    why_so(s, r, length, out, size);
    size_t k = strlen(out);
    if (r->no_gap)
        snprintf(out + k, size - k, "%sno gap: may be held open, set it twice",
                 k ? "; " : "");
    return out;
}

const char *
words_stop(const struct vb_sheet *s, int stop, char *out, size_t size)
{
    if (stop < 0) {
        snprintf(out, size, "nowhere closed");
        return out;
    }
    const struct vb_crank_stop *c = &s->crank.stop[stop];
    if (s->wish.order == VB_ORDER_OPPOSITE)
        snprintf(out, size, "%d rocks: set %d", c->rocking, c->firing);
    else if (c->firing && c->rocking)
        snprintf(out, size, "%d fires, %d rocks", c->firing, c->rocking);
    else if (c->firing)
        snprintf(out, size, "%d fires", c->firing);
    else
        snprintf(out, size, "%d rocks", c->rocking);
    return out;
}

const char *
words_window(const struct vb_sheet_row *r, enum vb_length length, char *out, size_t size)
{
    char lo[VB_LENGTH_TEXT], hi[VB_LENGTH_TEXT];
    out[0] = 0;
    if (!isnan(r->lo))
        vb_length_print(length, r->lo, lo);
    if (!isnan(r->hi))
        vb_length_print(length, r->hi, hi);
    if (!isnan(r->lo) && !isnan(r->hi))
        snprintf(out, size, "%s-%s", lo, hi);
    else if (!isnan(r->lo))
        snprintf(out, size, "from %s", lo);
    else if (!isnan(r->hi))
        snprintf(out, size, "up to %s", hi);
    return out;
}

int
words_has_shims(const struct vb_sheet *s)
{
    for (size_t i = 0; i < s->n; i++)
        switch (s->row[i].todo) {
        case VB_TODO_SHIM:
        case VB_TODO_KEEP:
        case VB_TODO_MEASURE:
        case VB_TODO_UNSERVED: return 1;
        default: break;
        }
    return 0;
}

const char *
words_verdict(const struct vb_sheet_row *r)
{
    if (!r->has_verdict)
        return "";
    return r->verdict.verdict == VB_VERDICT_IN    ? "in"
           : r->verdict.verdict == VB_VERDICT_OUT ? "out"
                                                  : "close";
}

const char *
words_read(const struct vb_sheet_row *r, char *out, size_t size)
{
    snprintf(out, size, "%s", isnan(r->found) ? "" : *r->date ? r->date : "forecast");
    return out;
}

const char *
words_newest(const struct vb_sheet *s)
{
    const char *newest = "";
    for (size_t i = 0; i < s->n; i++)
        if (strcmp(s->row[i].date, newest) > 0)
            newest = s->row[i].date;
    return newest;
}

const char *
words_count(const struct vb_sheet *s, char *out, size_t size)
{
    size_t leave = 0, keep = 0, read = 0, none = 0;
    for (size_t i = 0; i < s->n; i++) {
        enum vb_todo t = s->row[i].todo;
        leave += t == VB_TODO_LEAVE;
        keep += t == VB_TODO_KEEP;
        read += t == VB_TODO_READ;
        none += t == VB_TODO_NO_TARGET || t == VB_TODO_UNSERVED;
    }
    int k = snprintf(out, size, "%zu to set, %zu to leave",
                     s->n - leave - keep - read - none, leave);
    if (keep)
        k += snprintf(out + k, size - (size_t)k, ", %zu to keep", keep);
    if (read)
        k += snprintf(out + k, size - (size_t)k, ", %zu to read", read);
    if (none)
        snprintf(out + k, size - (size_t)k, ", %zu that cannot be set", none);
    return out;
}

/* --- sentences --------------------------------------------------------------------- */

/* "inlet 231, exhaust 224 degrees of freedom" */
static const char *
freedom(const struct vb_sheet *s, char *out, size_t size)
{
    static const char *const side[] = {"inlet", "exhaust"};
    size_t k = 0;
    out[0] = 0;
    for (int i = 0; i < 2; i++)
        if (isfinite(s->df[i]))
            k += (size_t)snprintf(out + k, size - k, "%s%s %.0f", k ? ", " : "", side[i],
                                  s->df[i]);
    if (k)
        snprintf(out + k, size - k, " degrees of freedom");
    else
        snprintf(out, size, "no scatter is known yet: as stated, or a dial's");
    return out;
}

static void
say_lash(const struct vb_sheet *s, enum vb_length length, words_say *say, void *arg)
{
    static const char *const units[] = {[VB_LENGTH_MM] = "mm",
                                        [VB_LENGTH_IN] = "inches",
                                        [VB_LENGTH_THOU] = "thou (0.001 inch)"};
    char text[300], df[80];
    snprintf(text, sizeof text,
             "Lash in %s at the valve tip and 20 " DEG "C. \xc2\xb1 is the standard "
             "uncertainty of %s (%s).",
             units[length],
             s->wish.plan ? "what is expected, or of the newest reading where nothing is"
                          : "a reading",
             freedom(s, df, sizeof df));
    say(arg, text);
    if (length != VB_LENGTH_MM && words_has_shims(s))
        say(arg, "Shims in mm, as most are stamped; compare with what is on yours.");
    say(arg,
        s->wish.all
            ? "Every valve that is not at its target is set. In, out: of its window by "
              "the guard band (5 %, one-sided); close: too close to a limit to say."
            : "Leave: inside its window by the guard band (5 %, one-sided). Close: too "
              "close to a limit to say.");
}

static void
say_plan(const struct vb_sheet *s, words_say *say, void *arg)
{
    const struct vb_unit_now *u = s->unit;
    char text[300];
    if (!s->wish.plan || isnan(s->meter))
        return;
    if (isfinite(u->plan_running))
        snprintf(text, sizeof text,
                 "Expected at %.10g %s, when the next planned event%s%s%s is over.",
                 s->meter, u->meter_unit, *u->plan_label ? " '" : "", u->plan_label,
                 *u->plan_label ? "'" : "");
    else
        snprintf(text, sizeof text, "Expected at %.10g %s, by the meter's pace.",
                 s->meter, u->meter_unit);
    say(arg, text);
}

static void
say_reads(const struct vb_sheet *s, words_say *say, void *arg)
{
    const struct vb_family *f = s->unit->family;
    char text[200];
    double least = NAN, most = NAN; // an engine cools while it is read
    for (size_t i = 0; i < s->n; i++) {
        least = fmin(least, s->row[i].temp_c);
        most = fmax(most, s->row[i].temp_c);
    }
    int lobe = f->read_at_lobe[0] || f->read_at_lobe[1];
    int grows = (f->lash_growth[0] != 0 || f->lash_growth[1] != 0) && !isnan(least);
    if (!lobe && !grows)
        return;
    int k = snprintf(text, sizeof text, "Then reads: what the gauge shows after setting");
    if (lobe)
        k += snprintf(text + k, sizeof text - (size_t)k,
                      ", at the lobe where it is read "
                      "there");
    if (grows && least < most)
        k += snprintf(text + k, sizeof text - (size_t)k,
                      ", each at the temperature of its reading, %.3g to %.3g " DEG "C",
                      least, most);
    else if (grows)
        k += snprintf(text + k, sizeof text - (size_t)k,
                      ", at the %.0f " DEG "C of the "
                      "readings",
                      least);
    snprintf(text + k, sizeof text - (size_t)k, ".");
    say(arg, text);
}

static void
say_order(const struct vb_sheet *s, words_say *say, void *arg)
{
    static const char *const ways[] = {
        [VB_ORDER_CYLINDERS] =
            "Cylinder by cylinder as they fire, each at its firing TDC",
        [VB_ORDER_TWO] = "At the fewest positions; degrees are of the crank, from firing "
                         "TDC of no. 1",
        [VB_ORDER_OPPOSITE] = "Each cylinder while the valves of its companion rock",
    };
    char text[600], apart[60] = "";
    if (!s->has_firing) {
        say(arg, "No firing order is stated: cylinder by cylinder by number, each at its "
                 "firing TDC.");
        return;
    }
    const char *sides = s->assumed[0] && s->assumed[1] ? ""
                        : s->assumed[0]                ? " of the inlet"
                                                       : " of the exhaust";
    if (!s->firing.stated && s->firing.n > 1)
        snprintf(apart, sizeof apart, ", taken to fire evenly, %.4g" DEG " apart",
                 720.0 / s->firing.n);
    snprintf(text, sizeof text,
             "%s (order %.200s%s). A valve is set %.0f" DEG
             " of the crank or more from its "
             "events%s%s%s.",
             ways[s->wish.order], s->unit->family->firing_order, apart, VB_SET_MARGIN,
             s->assumed[0] || s->assumed[1] ? "; those" : "",
             s->assumed[0] || s->assumed[1] ? sides : "",
             s->assumed[0] || s->assumed[1]
                 ? " are not stated and taken to be wider than usual: look whether "
                   "it is closed"
                 : ", taken to be as wide as usual at least");
    say(arg, text);
}

/* Turns that rest on where the screw was taken to be. */
static void
say_screws(const struct vb_sheet *s, words_say *say, void *arg)
{
    size_t i = 0;
    while (i < s->n && (s->row[i].todo != VB_TODO_SCREW ||
                        !vb_screw_assumed(s->unit->family, s->row[i].valve.side == 'E')))
        i++;
    if (i < s->n)
        say(arg,
            "Turns: the family states a ratio and no screw_on. The screw is taken to be "
            "on the valve's side; on the push-rod's side, or on a stud, other turns are "
            "right.");
}

/* A reading of 0 is no length: the valve may be held off its seat. */
static void
say_no_gap(const struct vb_sheet *s, words_say *say, void *arg)
{
    char at[VB_VALVE_MAX], text[400], more[40] = "";
    size_t k = 0, named = 0, all = 0;
    for (size_t i = 0; i < s->n; i++) {
        all += s->row[i].no_gap != 0;
        if (!s->row[i].no_gap || k > 200)
            continue;
        vb_valve_format(s->row[i].valve, at);
        k += (size_t)snprintf(text + k, sizeof text - k, "%s%s", named++ ? ", " : "", at);
    }
    if (all > named)
        snprintf(more, sizeof more, " and %zu more", all - named);
    snprintf(
        text + k, sizeof text - k,
        "%s read%s no gap: held open, perhaps, and nobody knows how far. Set, read and "
        "set again.",
        more, all == 1 ? "s" : "");
    if (all)
        say(arg, text);
}

/* What a word among the tasks means, said once where it occurs. */
static void
say_tasks(const struct vb_sheet *s, words_say *say, void *arg)
{
    static const struct {
        enum vb_todo todo;
        const char *text;
    } tasks[] = {
        {VB_TODO_KEEP, "Keep: wants another shim, but its own is best for all valves "
                       "together: fewest out of their window, then fewest too close to a "
                       "limit, then fewest bought."},
        {VB_TODO_MEASURE, "Measure: no shim on record in its present life, or the valve "
                          "was set since; by so much another one is wanted."},
        {VB_TODO_BY,
         "Tighten, loosen: by so much; the family does not state with what lash is "
         "set."},
        {VB_TODO_READ, "Read it: not read in its present life."},
        {VB_TODO_NO_TARGET, "Cannot be set: the family states no lash_target."},
    };
    int due = 0;
    for (size_t i = 0; i < s->n; i++)
        due |= !isnan(s->row[i].due);
    if (due) {
        char text[WORDS];
        snprintf(text, sizeof text, "Due: %s.", words_due(s));
        say(arg, text);
    }
    for (size_t k = 0; k < sizeof tasks / sizeof *tasks; k++)
        for (size_t i = 0; i < s->n; i++)
            if (s->row[i].todo == tasks[k].todo) {
                say(arg, tasks[k].text);
                break;
            }
}

void
words_notes(const struct vb_sheet *s, enum vb_length length, words_say *say, void *arg)
{
    say_plan(s, say, arg);
    say_lash(s, length, say, arg);
    say_reads(s, say, arg);
    say_order(s, say, arg);
    say_screws(s, say, arg);
    words_fits(s, say, arg);
    say_no_gap(s, say, arg);
    say_tasks(s, say, arg);
}
