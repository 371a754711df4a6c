/*
 * The letter as a page for mail programs, of which many drop styles and all have colours
 * of their own: so it has none, and a level is a word. A list is readable on a telephone
 * where a table is not.
 */
#include <stdio.h>
#include <string.h>

#include "letter_impl.h"
#include "valvebook/html.h"
#include "valvebook/table.h"
#include "valvebook/utf8.h"

static void
item(const struct vb_letter *l, const struct vb_news_item *it, size_t width,
     struct vb_out *o)
{
    char when[LETTER_WHEN];
    (void)width; // of a column: a page has none
    letter_when(l, it, when);
    vb_html_put(o, "<li><b>%s</b> %s %s%s%s: %s", vb_alert_level_name(it->now.level),
                it->now.engine, it->now.kind, it->now.at[0] ? " " : "", it->now.at, when);
    if (it->due != VB_NEWS_NO_DUE && it->kind != VB_NEWS_CLEARED)
        vb_html_put(o, "<br>%s", l->d->due[it->due].reason);
    vb_html_put(o, "</li>\n");
}

static void
group(const struct vb_letter *l, enum vb_news_kind kind, struct vb_out *o)
{
    static const char *const title[] = {"New", "Worse", "Still", "Cleared"};
    if (!l->news->count[kind])
        return;
    vb_html_put(o, "<h2>%s</h2>\n<ul>\n", title[kind]);
    size_t n = letter_items(l, kind, item, 0, o);
    vb_html_put(o, "</ul>\n");
    if (n)
        vb_html_put(o, "<p>" LETTER_MORE "</p>\n", n);
}

static void
doubts(const struct vb_letter *l, struct vb_out *o)
{
    if (!l->doubts || !l->doubts->n)
        return;
    vb_html_put(o, "<h2>" LETTER_DOUBTS "</h2>\n<ul>\n");
    for (size_t i = 0; i < l->doubts->n; i++)
        vb_html_put(o, "<li>family %s: %s</li>\n", l->doubts->doubt[i].family,
                    l->doubts->doubt[i].text);
    vb_html_put(o, "</ul>\n");
}

static void
cautions(struct vb_out *o)
{
    vb_html_put(o, "<p>");
    for (const char *s = vb_cautions + strspn(vb_cautions, "\n"); *s;) {
        size_t n = strcspn(s, "\n");
        vb_html_text(o, s, n);
        s += n + strspn(s + n, "\n");
        vb_out_text(o, *s ? " " : "");
    }
    vb_html_put(o, "</p>\n");
}

void
vb_letter_html(const struct vb_letter *l, struct vb_out *o)
{
    char text[320], title[560];
    const char *name, *site = letter_site(l);
    size_t n;
    letter_book(l, &name, &n);
    snprintf(title, sizeof title, "%.*s%s%.*s as of %s", n < 256 ? (int)n : 256, name,
             *site ? ", " : "", vb_utf8_fit(site, 256), site, l->as_of);
    vb_html_begin(o, title, NULL);
    letter_counts(l, 1, text, sizeof text);
    vb_html_put(o, "<h1>%s</h1>\n<p>%s", title, text);
    if (l->news->quiet)
        vb_html_put(o, "; %zu acknowledged, not listed", l->news->quiet);
    vb_html_put(o, "</p>\n");
    for (int k = 0; k < VB_NEWS_COUNT; k++)
        group(l, (enum vb_news_kind)k, o);
    doubts(l, o);
    if (l->sheet > VB_DIGEST_SHEET)
        vb_html_put(o, "<p>" LETTER_SHEET "</p>\n", VB_DIGEST_SHEET, l->sheet);
    letter_meanings(l, text, sizeof text);
    vb_html_put(o, "<p>%s</p>\n<p>%s<br><code>%s</code></p>\n", text, LETTER_ACK,
                LETTER_COMMAND);
    cautions(o);
    vb_html_end(o);
}
