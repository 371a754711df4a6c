/*
 * The words of a heading. Ordinary English and German words of the shop; what they mean
 * together is decided in draft_columns.c, since "valve lash" is not a valve and "found
 * by" not a reading.
 */
#include <string.h>

#include "draft.h"
#include "valvebook/utf8.h"

struct word {
    const char *text;
    unsigned flags;
    const char *more; // quantity, unit of a meter, side; "" if none
};

#define NOISE 0u

// clang-format off
static const struct word dict[] = {
    {"engine", D_ENGINE, ""}, {"engines", D_ENGINE, ""}, {"eng", D_ENGINE, ""},
    {"motor", D_ENGINE, ""}, {"mot", D_ENGINE, ""}, {"aggregat", D_ENGINE, ""},
    {"car", D_VEHICLE, ""}, {"truck", D_VEHICLE, ""}, {"vehicle", D_VEHICLE, ""},
    {"fahrzeug", D_VEHICLE, ""}, {"fzg", D_VEHICLE, ""}, {"lkw", D_VEHICLE, ""},
    {"wagen", D_VEHICLE, ""}, {"auto", D_VEHICLE, ""}, {"bus", D_VEHICLE, ""},
    {"boat", D_VEHICLE, ""}, {"ferry", D_VEHICLE, ""}, {"vessel", D_VEHICLE, ""},
    {"ship", D_VEHICLE, ""}, {"genset", D_VEHICLE, ""},
    {"maschine", D_VEHICLE, ""}, {"machine", D_VEHICLE, ""}, {"asset", D_VEHICLE, ""},
    {"date", D_DATE, ""}, {"datum", D_DATE, ""}, {"day", D_DATE, ""}, {"tag", D_DATE, ""},
    {"dated", D_DATE, ""},
    {"hours", D_METER, "h"}, {"hour", D_METER, "h"}, {"hrs", D_METER, "h"},
    {"hr", D_METER, "h"}, {"h", D_METER, "h"}, {"std", D_METER, "h"},
    {"stunden", D_METER, "h"}, {"betriebsstunden", D_METER, "h"}, {"bstd", D_METER, "h"},
    {"bh", D_METER, "h"}, {"runtime", D_METER, "h"}, {"laufzeit", D_METER, "h"},
    {"km", D_METER, "km"}, {"kms", D_METER, "km"}, {"kilometer", D_METER, "km"},
    {"kilometers", D_METER, "km"}, {"kilometre", D_METER, "km"},
    {"kilometres", D_METER, "km"}, {"mi", D_METER, "mi"}, {"miles", D_METER, "mi"},
    {"mile", D_METER, "mi"}, {"mileage", D_METER, ""}, {"odo", D_METER, ""},
    {"odometer", D_METER, ""}, {"meter", D_METER, ""}, {"counter", D_METER, ""},
    {"z\xc3\xa4hler", D_METER, ""}, {"zaehler", D_METER, ""}, {"tacho", D_METER, ""},
    {"laufleistung", D_METER, ""}, {"kilometerstand", D_METER, "km"},
    {"cyl", D_CYL, ""}, {"cyls", D_CYL, ""}, {"cylinder", D_CYL, ""}, {"zyl", D_CYL, ""},
    {"zylinder", D_CYL, ""}, {"valve", D_VALVE, ""}, {"valves", D_VALVE, ""},
    {"ventil", D_VALVE, ""}, {"ventile", D_VALVE, ""}, {"vlv", D_VALVE, ""},
    {"position", D_PLACE, ""}, {"pos", D_PLACE, ""}, {"location", D_PLACE, ""},
    {"place", D_PLACE, ""}, {"stelle", D_PLACE, ""}, {"at", D_PLACE, ""},
    {"side", D_SIDECOL, ""}, {"seite", D_SIDECOL, ""},
    {"bank", D_BANK, ""}, {"zylinderbank", D_BANK, ""},
    {"i", D_SIDE, "I"}, {"inl", D_SIDE, "I"}, {"inlet", D_SIDE, "I"}, {"int", D_SIDE, "I"},
    {"intake", D_SIDE, "I"}, {"einlass", D_SIDE, "I"}, {"einla\xc3\x9f", D_SIDE, "I"},
    {"einl", D_SIDE, "I"}, {"iv", D_SIDE, "I"}, {"in", D_SIDE | D_IN, "I"},
    {"ex", D_SIDE, "E"}, {"exh", D_SIDE, "E"}, {"exhaust", D_SIDE, "E"},
    {"auslass", D_SIDE, "E"}, {"ausla\xc3\x9f", D_SIDE, "E"}, {"ausl", D_SIDE, "E"},
    {"e", D_SIDE, "e"}, {"ev", D_SIDE, "w"}, {"a", D_SIDE, "a"}, {"av", D_SIDE, "v"},
    {"state", D_STATECOL, ""}, {"status", D_STATECOL, ""}, {"zustand", D_STATECOL, ""},
    {"condition", D_STATECOL, ""}, {"stage", D_STATECOL, ""}, {"when", D_STATECOL, ""},
    {"found", D_FOUND, ""}, {"before", D_FOUND, ""}, {"pre", D_FOUND, ""},
    {"vorher", D_FOUND, ""}, {"vor", D_FOUND, ""}, {"ist", D_FOUND, ""},
    {"gefunden", D_FOUND, ""}, {"initial", D_FOUND, ""}, {"old", D_FOUND, ""},
    {"left", D_LEFT, ""}, {"after", D_LEFT, ""}, {"post", D_LEFT, ""},
    {"nachher", D_LEFT, ""}, {"nach", D_LEFT, ""}, {"set", D_LEFT, ""},
    {"reset", D_LEFT, ""}, {"adjusted", D_LEFT, ""}, {"eingestellt", D_LEFT, ""},
    {"final", D_LEFT, ""}, {"new", D_LEFT, ""}, {"soll", D_LEFT | D_SOLL, ""},
    {"quantity", D_QUANTCOL, ""}, {"parameter", D_QUANTCOL, ""}, {"item", D_QUANTCOL, ""},
    {"gr\xc3\xb6\xc3\x9f""e", D_QUANTCOL, ""}, {"groesse", D_QUANTCOL, ""},
    {"lash", D_QUANTITY, "lash"}, {"clearance", D_QUANTITY, "lash"},
    {"clearances", D_QUANTITY, "lash"}, {"gap", D_QUANTITY, "lash"},
    {"spiel", D_QUANTITY, "lash"}, {"luft", D_QUANTITY, "lash"},
    {"play", D_QUANTITY, "lash"}, {"tappet", NOISE, ""},
    {"opens", D_QUANTITY, "opens"}, {"open", D_QUANTITY, "opens"},
    {"opening", D_QUANTITY, "opens"}, {"\xc3\xb6""ffnet", D_QUANTITY, "opens"},
    {"oeffnet", D_QUANTITY, "opens"}, {"closes", D_QUANTITY, "closes"},
    {"close", D_QUANTITY, "closes"}, {"closing", D_QUANTITY, "closes"},
    {"schlie\xc3\x9ft", D_QUANTITY, "closes"}, {"schliesst", D_QUANTITY, "closes"},
    {"ivo", D_QUANTITY | D_SIDE, "Iopens"}, {"io", D_QUANTITY | D_SIDE, "Iopens"},
    {"ivc", D_QUANTITY | D_SIDE, "Icloses"}, {"ic", D_QUANTITY | D_SIDE, "Icloses"},
    {"evo", D_QUANTITY | D_SIDE, "Eopens"}, {"eo", D_QUANTITY | D_SIDE, "Eopens"},
    {"evc", D_QUANTITY | D_SIDE, "Ecloses"}, {"ec", D_QUANTITY | D_SIDE, "Ecloses"},
    {"shim", D_QUANTITY, "shim"}, {"shims", D_QUANTITY, "shim"},
    {"recess", D_QUANTITY, "recess"}, {"stem", D_QUANTITY, "stem_height"},
    {"leakdown", D_QUANTITY, "leakdown"}, {"leak", D_QUANTITY, "leakdown"},
    {"compression", D_QUANTITY, "compression"}, {"kompression", D_QUANTITY, "compression"},
    {"spring", D_QUANTITY, "spring_load"}, {"sprocket", D_QUANTITY, "sprocket_step"},
    {"injector", D_QUANTITY, "injector_lash"}, {"injectors", D_QUANTITY, "injector_lash"},
    {"inj", D_QUANTITY, "injector_lash"}, {"injektor", D_QUANTITY, "injector_lash"},
    {"pump", NOISE, "injector_lash"},
    {"brake", D_QUANTITY, "brake_lash"}, {"motorbremse", D_QUANTITY, "brake_lash"},
    {"bridge", D_QUANTITY, "bridge_gap"}, {"crosshead", D_QUANTITY, "bridge_gap"},
    {"value", D_VALUE, ""}, {"reading", D_VALUE, ""}, {"readings", D_VALUE, ""},
    {"values", D_VALUE, ""}, {"wert", D_VALUE, ""}, {"werte", D_VALUE, ""},
    {"measurement", D_VALUE, ""}, {"result", D_VALUE, ""},
    {"unit", D_UNIT, ""}, {"units", D_UNIT, ""}, {"einheit", D_UNIT, ""},
    {"temp", D_TEMP, ""}, {"temperature", D_TEMP, ""}, {"temperatur", D_TEMP, ""},
    {"u", D_U, ""}, {"uncertainty", D_U, ""}, {"unsicherheit", D_U, ""},
    {"gauge", D_GAUGE, ""}, {"gage", D_GAUGE, ""}, {"indicator", D_GAUGE, ""},
    {"messuhr", D_GAUGE, ""}, {"messger\xc3\xa4t", D_GAUGE, ""},
    {"messgeraet", D_GAUGE, ""}, {"feeler", D_GAUGE, ""}, {"lehre", D_GAUGE, ""},
    {"f\xc3\xbchlerlehre", D_GAUGE, ""}, {"instrument", D_GAUGE, ""}, {"tool", D_GAUGE, ""},
    {"by", D_BY, ""}, {"fitter", D_BY, ""}, {"mechanic", D_BY, ""}, {"mech", D_BY, ""},
    {"initials", D_BY, ""}, {"monteur", D_BY, ""}, {"technician", D_BY, ""},
    {"tech", D_BY, ""}, {"inspector", D_BY, ""}, {"pr\xc3\xbc""fer", D_BY, ""},
    {"pruefer", D_BY, ""}, {"k\xc3\xbcrzel", D_BY, ""}, {"kuerzel", D_BY, ""},
    {"operator", D_BY, ""}, {"mechaniker", D_BY, ""}, {"who", D_BY, ""}, {"wer", D_BY, ""},
    {"note", D_NOTE, ""}, {"notes", D_NOTE, ""}, {"remark", D_NOTE, ""},
    {"remarks", D_NOTE, ""}, {"comment", D_NOTE, ""}, {"comments", D_NOTE, ""},
    {"bemerkung", D_NOTE, ""}, {"bemerkungen", D_NOTE, ""}, {"notiz", D_NOTE, ""},
    {"anmerkung", D_NOTE, ""}, {"kommentar", D_NOTE, ""}, {"hinweis", D_NOTE, ""},
    {"go", D_GO, ""}, {"gut", D_GO, ""}, {"nogo", D_GO | D_NO, ""},
    {"ausschuss", D_GO | D_NO, ""}, {"no", D_NO, ""},
    {"spec", D_OTHER, ""}, {"target", D_OTHER, ""}, {"nominal", D_OTHER, ""},
    {"min", D_OTHER, ""}, {"max", D_OTHER, ""}, {"limit", D_OTHER, ""},
    {"grenze", D_OTHER, ""}, {"tol", D_OTHER, ""}, {"tolerance", D_OTHER, ""},
    {"sollwert", D_OTHER, ""}, {"due", D_OTHER, ""}, {"next", D_OTHER, ""},
    {"last", D_OTHER, ""}, {"since", D_OTHER, ""}, {"seit", D_OTHER, ""},
    {"time", D_OTHER, ""}, {"uhrzeit", D_OTHER, ""}, {"mean", D_OTHER, ""},
    {"average", D_OTHER, ""}, {"avg", D_OTHER, ""}, {"mittel", D_OTHER, ""},
    {"diff", D_OTHER, ""}, {"delta", D_OTHER, ""}, {"change", D_OTHER, ""},
    {"type", D_OTHER, ""}, {"typ", D_OTHER, ""}, {"model", D_OTHER, ""},
    {"modell", D_OTHER, ""}, {"interval", D_OTHER, ""}, {"sum", D_OTHER, ""},
    {"summe", D_OTHER, ""},
    {"btdc", D_BEFORE_DC, ""}, {"bbdc", D_BEFORE_DC, ""}, {"atdc", D_AFTER_DC, ""},
    {"abdc", D_AFTER_DC, ""}, {"tdc", D_DC, ""}, {"bdc", D_DC, ""},
    {"as", NOISE, ""}, {"nr", NOISE, ""}, {"number", NOISE, ""}, {"nummer", NOISE, ""},
    {"num", NOISE, ""}, {"the", NOISE, ""}, {"of", NOISE, ""}, {"for", NOISE, ""},
    {"hot", NOISE, "hot"}, {"warm", NOISE, "hot"}, {"heiss", NOISE, "hot"},
    {"hei\xc3\x9f", NOISE, "hot"}, {"betriebswarm", NOISE, "hot"},
    {"and", NOISE, ""}, {"cold", NOISE, ""}, {"kalt", NOISE, ""}, {"mess", NOISE, ""},
    {"measured", NOISE, ""}, {"gemessen", NOISE, ""}, {"id", NOISE, ""},
    {"name", NOISE, ""}, {"visit", NOISE, ""}, {"stand", NOISE, ""}, {"blade", NOISE, ""},
    {"height", NOISE, ""}, {"thickness", NOISE, ""}, {"load", NOISE, ""},
    {"down", NOISE, ""}, {"step", NOISE, ""}, {"running", NOISE, ""}, {"run", NOISE, ""},
    {"oil", NOISE, ""}, {"\xc3\xb6l", NOISE, ""}, {"oel", NOISE, ""}, {"water", NOISE, ""},
    {"wasser", NOISE, ""}, {"head", NOISE, ""}, {"kopf", NOISE, ""}, {"block", NOISE, ""},
    {"ambient", NOISE, ""}, {"check", NOISE, ""}, {"chk", NOISE, ""},
    {"checking", NOISE, ""}, {"coolant", NOISE, ""},
    {"pr\xc3\xbc""f", NOISE, ""},
    {"c", D_LETTER_C, ""}, {"f", D_LETTER_F, ""}, {"v", NOISE, ""},
    {"lift", NOISE, ""}, {"lobe", NOISE, ""}, {"stop", NOISE, ""}, {"cam", NOISE, ""},
};
// clang-format on

static const struct word *
find(const char *s, size_t n)
{
    for (size_t i = 0; i < sizeof dict / sizeof *dict; i++)
        if (strlen(dict[i].text) == n && memcmp(dict[i].text, s, n) == 0)
            return &dict[i];
    return NULL;
}

/* Lower case, of A-Z and of the capital letters of Latin-1 in UTF-8. */
static void
lower(char *s, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        unsigned char c = (unsigned char)s[i], before = i ? (unsigned char)s[i - 1] : 0;
        if (c >= 'A' && c <= 'Z')
            s[i] = (char)(c + ('a' - 'A'));
        else if (before == 0xc3 && c >= 0x80 && c <= 0x9e)
            s[i] = (char)(c + 0x20);
    }
}

static void
see_side(struct draft_head *h, char side)
{
    if ((h->flags & D_SIDE) && h->side != side)
        h->flags |= D_SIDECOL; // "In/Ex" names a column of sides
    else
        h->side = side;
}

/* Words whose meaning hangs on what stood before them. */
static void
see_pairs(struct draft_head *h, const struct word *w, const struct word *last)
{
    unsigned was = last ? last->flags : 0;
    if ((w->flags & D_DC) && (was & (D_FOUND | D_LEFT))) {
        h->flags &= ~(unsigned)(D_FOUND | D_LEFT | D_DC);
        h->flags |= was & D_FOUND ? D_BEFORE_DC : D_AFTER_DC;
    }
    if (w->flags & D_GO)
        h->pair = (w->flags & D_NO) || was == D_NO ? VB_PAIR_NOGO : VB_PAIR_GO;
    int injects = strcmp(w->more, "injector_lash") == 0;
    if (injects && was == D_UNIT) { // a unit injector, or a unit pump
        h->flags = (h->flags & ~(unsigned)D_UNIT) | D_QUANTITY;
        h->quantity = vb_quantity_find(w->more, strlen(w->more));
    }
    h->hot |= strcmp(w->more, "hot") == 0;
    h->lift |= strcmp(w->text, "lift") == 0;
    h->check |= strcmp(w->text, "check") == 0 || strcmp(w->text, "checking") == 0 ||
                strcmp(w->text, "chk") == 0;
    h->lobe |= strcmp(w->text, "lobe") == 0 || strcmp(w->text, "cam") == 0;
    h->stop |= strcmp(w->text, "stop") == 0;
}

/* "Lash injector": a lash, but not that of a valve. */
static int
is_other_lash(const struct vb_quantity *q, const char *name)
{
    return strcmp(q->name, "lash") == 0 &&
           (strstr(name, "_lash") || strcmp(name, "bridge_gap") == 0);
}

static void
see_word(struct draft_head *h, const struct word *w, const struct word *last)
{
    const char *more = w->more;
    if ((w->flags & D_IN) && (h->flags & D_SIDE)) {
        h->flags |= D_IN; // a side is named already: an inch
        return;
    }
    if (w->flags & D_SIDE)
        see_side(h, *more++);
    if ((w->flags & D_QUANTITY) && (!h->quantity || is_other_lash(h->quantity, more)))
        h->quantity = vb_quantity_find(more, strlen(more));
    if ((w->flags & D_METER) && *more && !h->unit)
        h->unit = vb_unit_find(more, strlen(more));
    if (w->flags && w->flags != D_NO && strlen(w->text) > strlen(h->word))
        strncpy(h->word, w->text, sizeof h->word - 1);
    h->flags |= w->flags;
    see_pairs(h, w, last);
}

/* "Motornummer", "AsFound": whole only if every piece is a word. */
static int
see_compound(struct draft_head *h, const char *s, size_t n, const struct word **last)
{
    const struct word *piece[6];
    size_t count = 0, i = 0;
    while (i < n && count < 6) {
        size_t len = n - i;
        while (len >= 2 && !(piece[count] = find(s + i, len)))
            len--;
        if (len < 2)
            return 0;
        i += len;
        count++;
    }
    if (i < n)
        return 0;
    for (size_t k = 0; k < count; k++) {
        see_word(h, piece[k], *last);
        *last = piece[k];
    }
    return 1;
}

static void
see_letters(struct draft_head *h, const char *s, size_t n, const struct word **last)
{
    char key[48];
    if (n >= sizeof key) {
        h->unknown++;
        return;
    }
    memcpy(key, s, n);
    lower(key, n);
    const struct word *w = find(key, n);
    const struct vb_unit *u = w || n < 2 ? NULL : vb_unit_find(key, n);
    if (w)
        see_word(h, w, *last);
    else if (u && !h->unit)
        h->unit = u;
    else if (!u && !see_compound(h, key, n, last))
        h->unknown++;
    if (w)
        *last = w;
}

static size_t
see_number(struct draft_head *h, const char *s, size_t n, const struct word *last)
{
    size_t i = 0;
    int v = 0;
    for (; i < n && s[i] >= '0' && s[i] <= '9'; i++)
        v = v < 1000 ? v * 10 + (s[i] - '0') : v;
    if (h->n_num == 2) {
        h->unknown++;
        return i;
    }
    unsigned was = last ? last->flags : 0;
    h->before[h->n_num] = was & (D_CYL | D_LETTER_C) ? 'C' : was & D_SIDE ? 'S' : 0;
    h->num[h->n_num++] = v;
    return i;
}

/* What several words say only together. */
static void
see_together(struct draft_head *h)
{
    const char *q = NULL;
    unsigned both = D_FOUND | D_LEFT;
    if (h->stop && (h->flags & (both | D_BEFORE_DC | D_AFTER_DC)))
        q = h->flags & (D_FOUND | D_BEFORE_DC) ? "stop_before" : "stop_after";
    else if (h->lift && h->check)
        q = "checking_lift";
    else if (h->lift && (h->flags & D_DC))
        q = "lift_tdc";
    else if (h->lobe && h->lift)
        q = "lobe_lift";
    if (q) {
        h->quantity = vb_quantity_find(q, strlen(q));
        h->flags = (h->flags & ~(unsigned)(h->stop ? both : 0)) | D_QUANTITY;
        strncpy(h->word, q, sizeof h->word - 1);
    }
    h->both = (h->flags & both) == both;
    if (h->both)
        h->flags = (h->flags & ~both) | D_STATECOL;
    h->state = h->flags & D_LEFT ? 'l' : h->flags & D_FOUND ? 'f' : 0;
}

/* A unit in brackets is taken out: "(in)" must not be read as an inlet valve. */
static void
take_bracket(struct draft_head *h, char *s, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        if (s[i] != '(' && s[i] != '[')
            continue;
        const char *close = memchr(s + i, s[i] == '(' ? ')' : ']', n - i);
        const struct vb_unit *u = NULL;
        size_t len = close ? (size_t)(close - (s + i)) + 1 : 0;
        if (close && !(u = vb_unit_find(s + i, len)))
            u = vb_unit_find(s + i + 1, len - 2);
        if (!u)
            continue;
        memset(s + i, ' ', len);
        if (!h->unit)
            h->unit = u;
        if (u->dim == VB_DIM_TIME || u->dim == VB_DIM_DISTANCE)
            h->flags |= D_METER;
    }
}

/* "IN 1/100 mm" at its end: neither numbers of a valve nor a mm. */
static void
take_tail(struct draft_head *h, char *s, size_t n)
{
    const struct vb_unit *u;
    while (n > 0 && s[n - 1] == ' ')
        n--;
    size_t i = vb_heading_tail((struct vb_text){s, n}, &u);
    if (i == n)
        return;
    h->unit = h->unit ? h->unit : u;
    memset(s + i, ' ', n - i);
}

static void
take_words(char *s, size_t n, struct draft_head *h)
{
    const struct word *last = NULL;
    memset(h, 0, sizeof *h);
    take_bracket(h, s, n);
    take_tail(h, s, n);
    for (size_t i = 0; i < n;) {
        size_t k = i;
        while (k < n && vb_utf8_letter(s[k]))
            k++;
        if (k > i)
            see_letters(h, s + i, k - i, &last);
        else if (s[i] >= '0' && s[i] <= '9')
            k += see_number(h, s + i, n - i, last);
        else if (s[k++] == '"' || s[i] == '%')
            h->unit = h->unit ? h->unit : vb_unit_find(s + i, 1);
        i = k;
    }
    see_together(h);
}

int
draft_is_event(const struct vb_quantity *q)
{
    return q && (strcmp(q->name, "opens") == 0 || strcmp(q->name, "closes") == 0);
}

void
draft_words(struct vb_text t, struct draft_head *h)
{
    char s[256];
    struct vb_text lift = vb_heading_lift(t);
    size_t n = t.n < sizeof s ? t.n : sizeof s, at = (size_t)(lift.s - t.s);
    if (n)
        memcpy(s, t.s, n);
    take_words(s, n, h);
    /* "IVO @ 1 mm": neither the valve's number nor the unit of its angle */
    if (draft_is_event(h->quantity) && lift.n && lift.n < sizeof h->named &&
        at + lift.n <= n) {
        memcpy(s, t.s, n);
        memset(s + at, ' ', lift.n);
        take_words(s, n, h);
        memcpy(h->named, lift.s, lift.n);
    }
    if (draft_is_event(h->quantity) && vb_heading_centre(t).cam)
        h->unit = vb_unit_find("deg_cam", 7); // not the deg of "cam deg BTDC"
    h->doubt = h->unit && h->unit->dim == VB_DIM_LENGTH && vb_heading_doubt(t);
    h->unit = h->doubt ? NULL : h->unit;
}
