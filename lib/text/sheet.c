#include "valvebook/sheet.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "sheet_impl.h"
#include "valvebook/utf8.h"

#define LINE     96 // columns of a sentence above a table
#define COUNT(a) (sizeof(a) / sizeof *(a))

const char vb_sheet_recipe[] = "column,means,unit,at,state,format,value\n"
                               "engine,engine\n"
                               "date,date\n"
                               "meter,meter\n"
                               "meter_unit,meter_unit\n"
                               "stop,ignore\n"
                               "crank_deg,ignore\n"
                               "firing,ignore\n"
                               "rocking,ignore\n"
                               "at,valve\n"
                               "read,ignore\n"
                               "found,ignore\n"
                               "u,ignore\n"
                               "target,ignore\n"
                               "lash_min,ignore\n"
                               "lash_max,ignore\n"
                               "verdict,ignore\n"
                               "do,ignore\n"
                               "close_by,ignore\n"
                               "turns,ignore\n"
                               "turn_deg,ignore\n"
                               "shim_out,ignore\n"
                               "shim_in,shim,mm,,left\n"
                               "shim_from,ignore\n"
                               "shim_wanted,ignore\n"
                               "after,ignore\n"
                               "reads,ignore\n"
                               "temp_c,temp,Cel\n"
                               "left,lash,mm,,left\n"
                               "why,ignore\n";

/* The columns of the recipe, in its order, and those that only a table has. */
static const struct vb_field fields[] = {
    {"engine", NULL, 0, 0},
    {"date", NULL, 0, 0},
    {"meter", NULL, 1, 0},
    {"meter_unit", NULL, 0, 0},
    {"stop", NULL, 1, 0},
    {"crank_deg", "crank deg", 1, 0},
    {"firing", NULL, 1, 0},
    {"rocking", NULL, 1, 0},
    {"at", "valve", 0, 0},
    {"read", "read", 0, 0},
    {"found", "found mm", 1, 3},
    {"u", "\xc2\xb1", 1, 3},
    {"target", "target mm", 1, 3},
    {"lash_min", NULL, 1, 3},
    {"lash_max", NULL, 1, 3},
    {"verdict", "is", 0, 0},
    {"do", NULL, 0, 0},
    {"close_by", NULL, 1, 0},
    {"turns", NULL, 1, 0},
    {"turn_deg", NULL, 1, 0},
    {"shim_out", NULL, 1, 0},
    {"shim_in", NULL, 1, 0},
    {"shim_from", NULL, 0, 0},
    {"shim_wanted", NULL, 1, 0},
    {"after", NULL, 1, 0},
    {"reads", NULL, 1, 0},
    {"temp_c", NULL, 1, 0},
    {"left", NULL, 1, 0},
    {"why", NULL, 0, 0},
};

enum { CRANK, TDC, VALVE, READ, FOUND, U, TARGET, WINDOW, IS, DO, THEN, LEFT, PEOPLE };

/* The columns of a table; headings that end in a blank get the unit of length. */
static const struct vb_field people[PEOPLE] = {
    [CRANK] = {"", "crank deg", 1, 0},
    [TDC] = {"", "at TDC", 0, 0},
    [VALVE] = {"", "valve", 0, 0},
    [READ] = {"", "read", 0, 0},
    [FOUND] = {"", "found ", 1, 0},
    [U] = {"", "\xc2\xb1 ", 1, 0},
    [TARGET] = {"", "target ", 1, 0},
    [WINDOW] = {"", "window ", 0, 0},
    [IS] = {"", "is", 0, 0},
    [DO] = {"", "do", 0, 0},
    [THEN] = {"", "then reads ", 1, 0},
    [LEFT] = {"", "left ", 0, 0},
};

/* The room in which the headings of a table live as long as it. */
struct headings {
    struct vb_field field[PEOPLE];
    char text[PEOPLE][24];
};

static void
people_headings(const struct vb_sheet *s, enum vb_length l, struct headings *h)
{
    memcpy(h->field, people, sizeof h->field);
    if (words_has_shims(s))
        h->field[DO].heading = "do, shims in mm";
    for (size_t i = 0; i < PEOPLE; i++) {
        const char *name = people[i].heading;
        if (name[strlen(name) - 1] != ' ')
            continue;
        snprintf(h->text[i], sizeof h->text[i], "%s%s", name, vb_length_name(l));
        h->field[i].heading = h->text[i];
        h->field[i].decimals = vb_length_decimals(l);
    }
}

static void
whole(struct vb_table *t, int x)
{
    vb_table_number(t, x > 0 ? (double)x : NAN);
}

static void
row_place(struct vb_table *t, const struct vb_sheet *s, const struct vb_sheet_row *r)
{
    const struct vb_crank_stop none = {NAN, 0, 0};
    const struct vb_crank_stop *c = r->stop < 0 ? &none : &s->crank.stop[r->stop];
    char at[VB_VALVE_MAX];
    vb_valve_format(r->valve, at);
    vb_table_text(t, s->unit->name);
    vb_table_text(t, s->date);
    vb_table_number(t, s->meter);
    vb_table_text(t, isnan(s->meter) ? "" : s->unit->meter_unit);
    whole(t, r->stop + 1);
    vb_table_number(t, c->deg);
    whole(t, c->firing);
    whole(t, c->rocking);
    vb_table_text(t, at);
}

static void
row_shim(struct vb_table *t, const struct vb_sheet_row *r)
{
    char from[24];
    int shims = r->todo == VB_TODO_SHIM || r->todo == VB_TODO_UNSERVED;
    vb_table_number(t, r->todo == VB_TODO_SHIM ? r->shim : NAN);
    vb_table_number(t, r->todo == VB_TODO_SHIM ? vb_shim_mm(r->choice.thickness) : NAN);
    vb_table_text(t, words_from(r, from, sizeof from));
    vb_table_number(t, shims || r->todo == VB_TODO_KEEP ? vb_shim_mm(r->choice.wanted)
                                                        : NAN);
}

static void
data_row(struct vb_table *t, const struct vb_sheet *s, const struct vb_sheet_row *r)
{
    char why[WORDS], read[24];
    row_place(t, s, r);
    vb_table_text(t, words_read(r, read, sizeof read));
    vb_table_number(t, r->found);
    vb_table_number(t, r->u);
    vb_table_number(t, r->target);
    vb_table_number(t, r->lo);
    vb_table_number(t, r->hi);
    vb_table_text(t, words_verdict(r));
    vb_table_text(t, words_do(r));
    vb_table_number(t, r->by);
    vb_table_number(t, r->turns);
    vb_table_number(t, 360 * r->turns);
    row_shim(t, r);
    vb_table_number(t, r->after);
    vb_table_number(t, r->reads);
    vb_table_number(t, r->temp_c);
    vb_table_number(t, NAN);
    vb_table_text(t, words_why(s, r, VB_LENGTH_MM, why, sizeof why));
}

static void
people_row(struct vb_table *t, const struct vb_sheet *s, const struct vb_sheet_row *r,
           enum vb_length l)
{
    char text[WORDS];
    int first = r == s->row || r[-1].stop != r->stop;
    vb_table_number(t, first && r->stop >= 0 ? s->crank.stop[r->stop].deg : NAN);
    vb_table_text(t, first ? words_stop(s, r->stop, text, sizeof text) : "");
    vb_valve_format(r->valve, text);
    vb_table_text(t, text);
    vb_table_text(t, words_read(r, text, sizeof text));
    vb_table_pair(t, vb_length_of(l, r->found), vb_length_of(l, r->u));
    vb_table_number(t, vb_length_of(l, r->target));
    vb_table_text(t, words_window(r, l, text, sizeof text));
    vb_table_text(t, words_verdict(r));
    vb_table_text(t, words_task(s, r, l, text, sizeof text));
    vb_table_number(t, vb_length_of(l, r->reads));
    vb_table_text(t, "_____");
}

/* How many bytes of a text fit on a line: up to a blank, or to the end of a long word. */
static size_t
line_of(const char *s)
{
    size_t end = 0, wide = 0;
    for (size_t i = 0; s[i]; i++) {
        wide += ((unsigned char)s[i] & 0xc0) != 0x80;
        if (wide > LINE && end)
            return end;
        if (s[i] == ' ')
            end = i;
    }
    return strlen(s);
}

static void
say_line(void *out, const char *text)
{
    for (size_t n; *text; text += n + (text[n] == ' ')) {
        n = line_of(text);
        vb_out_shown(out, text, n);
        vb_out_text(out, "\n");
    }
}

static void
heading(const struct vb_sheet *s, enum vb_length length, struct vb_out *out)
{
    char text[512], count[WORDS], meter[48] = "";
    const char *family = s->unit->family_name;
    if (!isnan(s->meter))
        snprintf(meter, sizeof meter, ", %.10g %s", s->meter, s->unit->meter_unit);
    snprintf(text, sizeof text, "%.120s (%.*s), %s %s%s: %s", s->unit->name,
             vb_utf8_fit(family, 120), family, s->wish.plan ? "to plan" : "to set",
             s->date, meter, words_count(s, count, sizeof count));
    say_line(out, text);
    words_notes(s, length, say_line, out);
    words_shims(s, length, say_line, out);
    vb_out_text(out, "\n");
}

enum vb_err
vb_report_sheet(const struct vb_sheet *s, enum vb_length length, enum vb_format format,
                struct vb_out *out)
{
    struct vb_table *t;
    struct headings h;
    int shown = vb_format_auto(format) == VB_FORMAT_TABLE;
    people_headings(s, length, &h);
    enum vb_err e = vb_table_new(out, format, shown ? h.field : fields,
                                 shown ? PEOPLE : COUNT(fields), &t);
    if (e)
        return e;
    if (shown)
        heading(s, length, out);
    for (size_t i = 0; i < s->n; i++)
        if (shown)
            people_row(t, s, &s->row[i], length);
        else
            data_row(t, s, &s->row[i]);
    return vb_table_end(t, "there is no valve");
}
