/*
 * Fields of a header. Lines are folded before a word; a text that cannot stand as it is
 * goes into encoded words (RFC 2047), of which each holds whole characters only, and a
 * parameter is continued (RFC 2231).
 */
#include <stdio.h>
#include <string.h>

#include "mail_impl.h"
#include "valvebook/utf8.h"

#define LINE         76 // RFC 2047 where there are encoded words, which are 75 at most then
#define WORD_PLAIN   60 // longer words are encoded, so that they can be folded
#define WORD_BEGINS  "=?UTF-8?Q?"
#define WORD_ENDS    "?="
#define FRAME        12 // bytes of both
#define ENCODED_CHAR 12 // most bytes that one character needs: =F0=9F=94=A7

static void
put(struct writer *w, const char *s, size_t n)
{
    vb_out_bytes(w->out, s, n);
    w->col += n;
}

static void
fold(struct writer *w)
{
    vb_out_text(w->out, w->eol);
    w->col = 0;
    put(w, " ", 1);
}

void
head_begin(struct writer *w, const char *name)
{
    w->col = 0;
    put(w, name, strlen(name));
    put(w, ":", 1);
}

void
head_end(struct writer *w)
{
    vb_out_text(w->out, w->eol);
    w->col = 0;
}

void
head_word(struct writer *w, const char *s, size_t n)
{
    if (w->col > 1 && w->col + 1 + n > LINE)
        fold(w);
    else
        put(w, " ", 1);
    put(w, s, n);
}

static int
is_atext(unsigned char c)
{
    return (c >= '0' && c <= '9') || (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z') ||
           (c && strchr("!#$%&'*+-/=?^_`{|}~", c));
}

enum shape { ATOMS, QUOTED, ENCODED_WORDS };

/*
 * What a text can be written as. Words are parted by single blanks; what only looks like
 * an encoded word is encoded, so that nobody decodes it.
 */
static enum shape
shape_of(const char *s)
{
    enum shape shape = ATOMS;
    size_t word = 0;
    if (!*s || strstr(s, "=?"))
        return ENCODED_WORDS;
    for (; *s; s++) {
        unsigned char c = (unsigned char)*s;
        if (c == ' ' && (word == 0 || s[1] == 0))
            return ENCODED_WORDS;
        word = c == ' ' ? 0 : word + 1;
        if (c < 0x20 || c >= 0x7f || word > WORD_PLAIN)
            return ENCODED_WORDS;
        if (c != ' ' && !is_atext(c))
            shape = QUOTED;
    }
    return shape;
}

static void
words(struct writer *w, const char *s)
{
    while (*s) {
        size_t n = strcspn(s, " ");
        head_word(w, s, n);
        s += n + (s[n] == ' ');
    }
}

/* Folds stand where blanks stand, and take none away. */
static void
quoted(struct writer *w, const char *s)
{
    char word[2 * WORD_PLAIN + 3];
    int first = 1;
    while (*s) {
        size_t n = 0;
        if (first)
            word[n++] = '"';
        for (; *s && *s != ' '; s++) {
            if (*s == '"' || *s == '\\')
                word[n++] = '\\';
            word[n++] = *s;
        }
        s += *s == ' ';
        if (!*s)
            word[n++] = '"';
        head_word(w, word, n);
        first = 0;
    }
}

/* One character as RFC 2047 has it in a phrase, the strictest place. */
static size_t
encode_char(const char *ch, size_t n, char *to)
{
    unsigned char c = (unsigned char)*ch;
    size_t k = 0;
    if (n == 1 && c == ' ') {
        to[k++] = '_';
    } else if (n == 1 && is_atext(c) && !strchr("#$%&'=?^_`{|}~", c)) {
        to[k++] = (char)c;
    } else {
        for (size_t i = 0; i < n; i++)
            k += (size_t)snprintf(to + k, 4, "=%02X", (unsigned)(unsigned char)ch[i]);
    }
    return k;
}

static void
encoded(struct writer *w, const char *s)
{
    const char *end = s + strlen(s), *ch;
    char one[ENCODED_CHAR + 1];
    size_t n;
    int open = 0; // a word is open
    while ((n = vb_utf8_next(&s, end, &ch))) {
        size_t k = encode_char(ch, n, one);
        if (open && w->col + k + 2 > LINE) {
            put(w, WORD_ENDS, 2);
            open = 0;
        }
        if (!open) {
            if (w->col > 1 && w->col + 1 + FRAME + ENCODED_CHAR > LINE)
                fold(w);
            else if (w->col != 1)
                put(w, " ", 1);
            put(w, WORD_BEGINS, FRAME - 2);
            open = 1;
        }
        put(w, one, k);
    }
    if (open)
        put(w, WORD_ENDS, 2);
}

void
head_text(struct writer *w, const char *s, int phrase)
{
    enum shape shape = shape_of(s);
    if (shape == ENCODED_WORDS)
        encoded(w, s);
    else if (shape == QUOTED && phrase)
        quoted(w, s);
    else
        words(w, s);
}

/* One character of a parameter's value: attribute-char of RFC 2231, no tspecials. */
static size_t
extended_char(const char *ch, size_t n, char *to)
{
    size_t k = 0;
    if (n == 1 &&
        ((is_atext((unsigned char)*ch) && !strchr("*'%/=?", *ch)) || *ch == '.')) {
        to[k++] = *ch;
    } else {
        for (size_t i = 0; i < n; i++)
            k += (size_t)snprintf(to + k, 4, "%%%02X", (unsigned)(unsigned char)ch[i]);
    }
    return k;
}

static void
extended(struct writer *w, const char *name, const char *s)
{
    const char *end = s + strlen(s), *ch;
    char one[ENCODED_CHAR + 1], label[40];
    size_t n;
    int part = 0, open = 0;
    while ((n = vb_utf8_next(&s, end, &ch))) {
        size_t k = extended_char(ch, n, one);
        if (!open || w->col + k + 1 > LINE) {
            put(w, ";", 1);
            fold(w);
            int l = snprintf(label, sizeof label, "%s*%d*=%s", name, part,
                             part == 0 ? "UTF-8''" : "");
            put(w, label, (size_t)l);
            part++;
            open = 1;
        }
        put(w, one, k);
    }
}

void
head_parameter(struct writer *w, const char *name, const char *value)
{
    char whole[2 * WORD_PLAIN];
    enum shape shape = shape_of(value);
    if (strpbrk(value, "\"\\") || shape == ENCODED_WORDS ||
        strlen(value) > WORD_PLAIN - 4) {
        extended(w, name, value);
        return;
    }
    int n = snprintf(whole, sizeof whole, "%s=\"%s\"", name, value);
    put(w, ";", 1);
    head_word(w, whole, (size_t)n);
}
