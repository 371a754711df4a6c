#include "valvebook/recipe.h"

#include "plain.h"
#include "recipe_impl.h"

#include <stdlib.h>
#include <string.h>

#include "valvebook/date.h"
#include "valvebook/number.h"
#include "valvebook/utf8.h"

static const char *const means_names[VB_MEANS_COUNT] = {
    "ignore", "engine",   "date", "meter", "meter_unit", "quantity", "valve",
    "bank",   "cylinder", "side", "index", "state",      "unit",     "temp",
    "u",      "gauge",    "by",   "note",  "reading"};

enum { COLUMN, MEANS, UNIT, AT, STATE, FORMAT, VALUE, WHY, N_FIELDS };
static const char *const field_names[N_FIELDS] = {"column", "means",  "unit",  "at",
                                                  "state",  "format", "value", "why"};

const char *
vb_means_name(enum vb_means m)
{
    return means_names[m];
}

char *
recipe_copy(struct vb_text t)
{
    char *s = malloc(t.n + 1);
    if (s) {
        if (t.n)
            memcpy(s, t.s, t.n);
        s[t.n] = 0;
    }
    return s;
}

static struct vb_text
text_of(const char *s)
{
    return (struct vb_text){s, strlen(s)};
}

static int
ascii_is(struct vb_text t, const char *lower)
{
    char key[32];
    return t.n < sizeof key - 2 && vb_heading_norm(t, key, sizeof key) == strlen(lower) &&
           strcmp(key, lower) == 0;
}

char
vb_state_find(const struct vb_recipe *r, struct vb_text w)
{
    static const char *const found[] = {"found", "as found", "before",
                                        "f",     "vorher",   "pre"};
    static const char *const left[] = {"left", "as left", "after", "l", "nachher", "set"};
    for (size_t i = 0; i < r->n_words; i++)
        if (vb_text_is(w, r->word[i].word))
            return r->word[i].state;
    for (size_t i = 0; i < sizeof found / sizeof *found; i++)
        if (ascii_is(w, found[i]))
            return 'f';
    for (size_t i = 0; i < sizeof left / sizeof *left; i++)
        if (ascii_is(w, left[i]))
            return 'l';
    return 0;
}

/* A mark is one byte, or the word for it, since a lone comma is hard to see in a sheet.
 */
static int
mark_of(struct vb_text t, char *out)
{
    static const struct {
        const char *word;
        char mark;
    } marks[] = {{"comma", ','}, {"semicolon", ';'}, {"tab", '\t'},        {"pipe", '|'},
                 {"point", '.'}, {"space", ' '},     {"apostrophe", '\''}, {"none", 0}};
    if (t.n == 1) {
        *out = *t.s;
        return !strchr("\"\r\n", *t.s); // those and NUL have a meaning of their own
    }
    for (size_t i = 0; i < sizeof marks / sizeof *marks; i++)
        if (ascii_is(t, marks[i].word)) {
            *out = marks[i].mark;
            return 1;
        }
    return 0;
}

enum vb_err
recipe_say(struct vb_msg *m, const char *what, struct vb_text t)
{
    char q[80];
    vb_msg_set(m, "%s '%s'", what, vb_quote(t.s, t.n, q, sizeof q));
    return VB_ESYNTAX;
}

static int
is_ordered(const struct vb_recipe *r, struct vb_valve v)
{
    for (size_t i = 0; i < r->n_order; i++)
        if (vb_valve_same(r->order[i], v))
            return 1;
    return 0;
}

static enum vb_err
set_order(struct vb_recipe *r, struct vb_text v, struct vb_msg *m)
{
    r->n_order = 0;
    for (size_t i = 0; i < v.n;) {
        size_t k = i;
        while (k < v.n && v.s[k] != ' ' && v.s[k] != ',')
            k++;
        struct vb_text one = {v.s + i, k - i};
        i = k + 1;
        if (!one.n)
            continue;
        if (r->n_order == VB_ORDER_MAX)
            return recipe_say(m, "too long an order", v);
        struct vb_valve valve;
        if (vb_valve_parse(one.s, one.n, &valve))
            return recipe_say(m, "unknown valve", one);
        if (is_ordered(r, valve))
            return recipe_say(m, "twice in the order:", one);
        r->order[r->n_order++] = valve;
    }
    return r->n_order ? VB_OK : recipe_say(m, "no valve in order", v);
}

static enum vb_err
set_passes(struct vb_recipe *r, struct vb_text v, struct vb_msg *m)
{
    static const struct {
        const char *text, *passes;
    } known[] = {
        {"found", "f"}, {"left", "l"}, {"found left", "fl"}, {"left found", "lf"}};
    for (size_t i = 0; i < sizeof known / sizeof *known; i++)
        if (ascii_is(v, known[i].text)) {
            r->n_passes = strlen(known[i].passes);
            memcpy(r->passes, known[i].passes, r->n_passes);
            return VB_OK;
        }
    return recipe_say(m, "passes are 'found', 'left' or 'found left', not", v);
}

static enum vb_err
set_flag(int *flag, struct vb_text v, struct vb_msg *m)
{
    if (!ascii_is(v, "yes") && !ascii_is(v, "no"))
        return recipe_say(m, "neither yes nor no:", v);
    *flag = ascii_is(v, "yes");
    return VB_OK;
}

static enum vb_err
set_number(const char *name, struct vb_recipe *r, struct vb_text v, struct vb_msg *m)
{
    struct vb_dec d;
    if (vb_dec_parse(v.s, v.n, '.', 0, &d) || d.mant < 0)
        return recipe_say(m, "bad number", v);
    if (strcmp(name, "agree") == 0) {
        r->agree = vb_dec_double(d);
    } else {
        if (d.scale || d.mant > 1000000)
            return recipe_say(m, "lines to skip is a whole number, not", v);
        r->has_skip = 1;
        r->skip = (unsigned long long)d.mant;
    }
    return VB_OK;
}

static enum vb_err
set_total(struct vb_recipe *r, struct vb_text v)
{
    char **p = realloc(r->totals, (r->n_totals + 1) * sizeof *p);
    if (!p)
        return VB_EMEM;
    r->totals = p;
    if (!(p[r->n_totals] = recipe_copy(v)))
        return VB_EMEM;
    r->n_totals++;
    return VB_OK;
}

/* With a letter or a digit the mark might begin an engine's name or a number. */
static enum vb_err
set_remark(struct vb_recipe *r, struct vb_text v, struct vb_msg *m)
{
    static const char signs[] = "!#$%&'()*+,./:;<=>?@[\\]^_`{|}~-";
    int good = v.n > 0 && v.n < sizeof r->remark;
    for (size_t i = 0; good && i < v.n; i++)
        good = v.s[i] && strchr(signs, v.s[i]);
    if (!good)
        return recipe_say(m, "remarks begin with one to eight signs as # or //, not", v);
    memcpy(r->remark, v.s, v.n);
    r->remark[v.n] = 0;
    return VB_OK;
}

/* Readings are never taken from above: each was measured where it stands. */
static enum vb_err
set_merged(struct vb_recipe *r, struct vb_text v, struct vb_msg *m)
{
    unsigned long all = 0;
    for (size_t i = 0; i < v.n;) {
        size_t k = i;
        while (k < v.n && v.s[k] != ' ' && v.s[k] != ',')
            k++;
        struct vb_text one = {v.s + i, k - i};
        int means = VB_MEANS_ENGINE;
        while (means < VB_MEANS_READING && !vb_text_is(one, means_names[means]))
            means++;
        i = k + 1;
        if (!one.n)
            continue;
        if (means == VB_MEANS_READING)
            return recipe_say(m, "merged cells are of engine to note, not of", one);
        all |= 1UL << means;
    }
    r->merged |= all;
    return all ? VB_OK : recipe_say(m, "merged cells of what:", v);
}

static enum vb_err
replace(char **slot, struct vb_text v)
{
    char *s = recipe_copy(v);
    if (!s)
        return VB_EMEM;
    free(*slot);
    *slot = s;
    return VB_OK;
}

static enum vb_err
set_constant(struct vb_recipe *r, struct vb_text name, struct vb_text v, struct vb_msg *m)
{
    char iso[VB_DATE_MAX];
    for (int i = VB_MEANS_ENGINE; i < VB_MEANS_READING; i++) {
        if (!vb_text_is(name, means_names[i]))
            continue;
        if (i == VB_MEANS_DATE && vb_date_parse(v.s, v.n, "", iso))
            return recipe_say(m, "bad date (YYYY-MM-DD)", v);
        if (i == VB_MEANS_DATE)
            v = text_of(iso);
        return replace(&r->constant[i], v);
    }
    return recipe_say(m, "no such setting or field:", name);
}

static enum vb_err
set_one(struct vb_recipe *r, struct vb_text name, struct vb_text v, struct vb_msg *m)
{
    struct {
        const char *name;
        char *mark;
    } marks[] = {
        {"delimiter", &r->delim}, {"decimal", &r->decimal}, {"group", &r->group}};
    for (size_t i = 0; i < 3; i++)
        if (vb_text_is(name, marks[i].name))
            return mark_of(v, marks[i].mark) ? VB_OK : recipe_say(m, "not one mark:", v);
    if (vb_text_is(name, "encoding"))
        return replace(&r->encoding, v);
    if (vb_text_is(name, "checking_lift"))
        return replace(&r->checking_lift, v);
    if (vb_text_is(name, "heading"))
        return set_flag(&r->heading, v, m);
    if (vb_text_is(name, "units_row"))
        return set_flag(&r->units_row, v, m);
    if (vb_text_is(name, "short_rows"))
        return set_flag(&r->short_rows, v, m);
    if (vb_text_is(name, "skip"))
        return set_number("skip", r, v, m);
    if (vb_text_is(name, "agree"))
        return set_number("agree", r, v, m);
    if (vb_text_is(name, "totals"))
        return set_total(r, v);
    if (vb_text_is(name, "remark"))
        return set_remark(r, v, m);
    if (vb_text_is(name, "merged"))
        return set_merged(r, v, m);
    if (vb_text_is(name, "order"))
        return set_order(r, v, m);
    if (vb_text_is(name, "passes"))
        return set_passes(r, v, m);
    return set_constant(r, name, v, m);
}

enum vb_err
vb_recipe_set(struct vb_recipe *r, const char *name, const char *value, struct vb_msg *m)
{
    if (!vb_utf8_ok(value, strlen(value)))
        return recipe_say(m, "not UTF-8:", text_of(value));
    enum vb_err e = set_one(r, text_of(name), text_of(value), m);
    for (int i = VB_MEANS_ENGINE; !e && i < VB_MEANS_READING; i++)
        if (vb_text_is(text_of(name), means_names[i]))
            r->stated |= 1UL << i;
    return e;
}

static enum vb_err
col_means(struct vb_recipe_col *c, struct vb_text t, struct vb_msg *m)
{
    for (int i = 0; i < VB_MEANS_COUNT; i++)
        if (vb_text_is(t, means_names[i])) {
            c->means = (enum vb_means)i;
            return VB_OK;
        }
    c->means = VB_MEANS_READING;
    c->quantity = vb_quantity_find(t.s, t.n);
    return c->quantity ? VB_OK : recipe_say(m, "no such meaning or quantity:", t);
}

static enum vb_err
col_at(struct vb_recipe_col *c, struct vb_text t, struct vb_msg *m)
{
    if (!t.n)
        return VB_OK;
    c->has_at = 1;
    if (!c->quantity || c->quantity->at == VB_AT_VALVE || c->quantity->at == VB_AT_PART)
        return vb_valve_part(t.s, t.n, &c->at) ? recipe_say(m, "unknown valve", t)
                                               : VB_OK;
    return vb_quantity_at(c->quantity, t.s, t.n, c->place)
               ? recipe_say(m, "unknown place", t)
               : VB_OK;
}

static enum vb_err
col_unit(struct vb_recipe_col *c, struct vb_text t, struct vb_msg *m)
{
    int turns = !c->quantity || c->quantity->dim == VB_DIM_ANGLE;
    if (t.n && turns && !vb_centre_parse(t.s, t.n, &c->centre))
        return VB_OK;
    if (t.n && !(c->unit = vb_unit_find(t.s, t.n)))
        return recipe_say(m, "unknown unit", t);
    if (c->unit && c->quantity && c->unit->dim != c->quantity->dim)
        return recipe_say(m, "a unit of another kind:", t);
    return VB_OK;
}

static enum vb_err
col_format(struct vb_recipe_col *c, struct vb_text t, struct vb_msg *m)
{
    static const char *const pairs[] = {"go", "no-go", "go/no-go", "found/left"};
    if (c->means == VB_MEANS_READING && t.n) {
        int k = 0;
        while (k < 4 && !ascii_is(t, pairs[k]))
            k++;
        c->pair = (enum vb_pair)(k + 1);
        if (k == 4)
            return recipe_say(m,
                              "the format of a reading is go, no-go, go/no-go or "
                              "found/left, not",
                              t);
    } else if (t.n && c->means != VB_MEANS_DATE) {
        return recipe_say(m, "only dates and readings have a format, not", t);
    }
    if (!(c->format = recipe_copy(t)))
        return VB_EMEM;
    if (c->means == VB_MEANS_DATE && !vb_date_order_ok(c->format))
        return recipe_say(m, "a date is like D.M.Y or M/D/y, a letter for each part, not",
                          t);
    return VB_OK;
}

static enum vb_err
col_name(struct vb_recipe_col *c, struct vb_text t, struct vb_msg *m)
{
    char norm[256];
    struct vb_dec d;
    if (t.n > 1 && *t.s == '#' && !vb_dec_parse(t.s + 1, t.n - 1, '.', 0, &d)) {
        if (d.scale || d.mant < 1 || d.mant > 10000)
            return recipe_say(m, "bad column number", t);
        c->number = (size_t)d.mant;
        t.n = 0;
    }
    vb_heading_norm(t, norm, sizeof norm);
    return (c->name = strdup(norm)) ? VB_OK : VB_EMEM;
}

static enum vb_err
add_col(struct vb_recipe *r, const struct vb_text *f, struct vb_msg *m)
{
    if (r->n_cols == VB_COLS_MAX) {
        vb_msg_set(m, "more than %d columns", VB_COLS_MAX);
        return VB_ESYNTAX;
    }
    struct vb_recipe_col *p = realloc(r->col, (r->n_cols + 1) * sizeof *p);
    if (!p)
        return VB_EMEM;
    r->col = p;
    struct vb_recipe_col *c = &p[r->n_cols++];
    memset(c, 0, sizeof *c);
    enum vb_err e = col_name(c, f[COLUMN], m);
    if (!e)
        e = col_means(c, f[MEANS], m);
    if (!e)
        e = col_unit(c, f[UNIT], m);
    if (!e)
        e = col_at(c, f[AT], m);
    if (!e)
        e = col_format(c, f[FORMAT], m);
    if (!e && f[STATE].n && !(c->state = vb_state_find(r, f[STATE])))
        e = recipe_say(m, "a state is found or left, not", f[STATE]);
    if (!e && c->state && c->pair == VB_PAIR_STATES)
        e = recipe_say(m, "with found/left the cells say both, not only", f[STATE]);
    return e;
}

/* A word in the cells of a column, and what it stands for. */
static enum vb_err
add_word(struct vb_recipe *r, const struct vb_text *f, struct vb_msg *m)
{
    struct vb_recipe none = {0};
    struct vb_recipe_col c = {0};
    if (vb_text_is(f[MEANS], "state")) {
        char state = vb_state_find(&none, f[STATE]);
        if (!state)
            return recipe_say(m, "a word for a state needs found or left, not", f[STATE]);
        return recipe_state_word(r, state, f[VALUE]);
    }
    if (f[UNIT].n || f[STATE].n)
        return recipe_say(m, "unit and state are those of the column, not of the word",
                          f[VALUE]);
    enum vb_err e = col_name(&c, f[COLUMN], m);
    if (!e)
        e = col_means(&c, f[MEANS], m);
    if (!e)
        e = recipe_cell_word(r, &c, f[VALUE], f[AT], f[FORMAT], m);
    free(c.name);
    return e;
}

static enum vb_err
take_row(struct vb_recipe *r, const struct vb_text *f, struct vb_msg *m)
{
    if (!f[COLUMN].n)
        return set_one(r, f[MEANS], f[VALUE], m);
    if (!vb_text_trim(f[VALUE]).n)
        return add_col(r, f, m);
    return add_word(r, f, m);
}

static enum vb_err
check_heading(const struct vb_row *row, struct vb_msg *m)
{
    for (size_t i = 0; i < row->n; i++)
        if (i >= N_FIELDS || !vb_text_is(vb_text_trim(row->cell[i]), field_names[i]))
            return recipe_say(
                m,
                "a recipe has the columns column,means,unit,at,state,format,value; not",
                row->cell[i]);
    if (row->n < WHY)
        vb_msg_set(m, "a recipe has the columns column,means,unit,at,state,format,value");
    return row->n < WHY ? VB_ESYNTAX : VB_OK;
}

static enum vb_err
read_rows(struct vb_csv *c, struct vb_recipe *r, struct vb_msg *m)
{
    struct vb_row row = {0};
    struct plain_row plain = {0};
    int heading = 1;
    enum vb_err e;
    while (!(e = vb_csv_next(c, &row, m)) && !(e = plain_cells(&plain, &row))) {
        struct vb_text f[N_FIELDS] = {0};
        for (size_t i = 0; i < row.n && i < N_FIELDS; i++)
            f[i] = i == VALUE && row.cell[i].n == 1 ? row.cell[i]
                                                    : vb_text_trim(row.cell[i]);
        vb_msg_at(m, vb_csv_name(c), row.line, NULL);
        e = heading ? check_heading(&row, m) : take_row(r, f, m);
        if (e)
            break;
        heading = 0;
    }
    plain_free(&plain);
    if (e == VB_EEND && heading) {
        vb_msg_at(m, vb_csv_name(c), 0, NULL);
        vb_msg_set(m, "empty recipe");
        return VB_ESYNTAX;
    }
    return e == VB_EEND ? VB_OK : e;
}

enum vb_err
vb_recipe_read(struct vb_input *in, struct vb_recipe **out, struct vb_msg *m)
{
    struct vb_csv *c = NULL;
    struct vb_recipe *r = NULL;
    enum vb_err e = vb_csv_new(in, ',', &c);
    if (e)
        return e;
    e = VB_EMEM;
    if (!(r = calloc(1, sizeof *r)) || !(r->encoding = strdup("")))
        goto out;
    r->delim = ',';
    r->decimal = '.';
    r->heading = 1;
    r->passes[0] = 'f';
    r->n_passes = 1;
    e = read_rows(c, r, m);
out:
    vb_csv_free(c);
    if (e)
        vb_recipe_free(r);
    else
        *out = r;
    return e;
}

void
vb_recipe_free(struct vb_recipe *r)
{
    if (!r)
        return;
    for (size_t i = 0; i < r->n_cols; i++) {
        free(r->col[i].name);
        free(r->col[i].format);
    }
    recipe_words_free(r);
    for (size_t i = 0; i < r->n_totals; i++)
        free(r->totals[i]);
    for (size_t i = 0; i < VB_MEANS_COUNT; i++)
        free(r->constant[i]);
    free(r->col);
    free(r->totals);
    free(r->checking_lift);
    free(r->encoding);
    free(r);
}
