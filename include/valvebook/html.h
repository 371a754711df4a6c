#ifndef VALVEBOOK_HTML_H
#define VALVEBOOK_HTML_H

#include <stddef.h>

#include "valvebook/out.h"

/*
 * HTML and SVG in it, so that no name, note or cell can become markup. Markup itself goes
 * out by vb_out_text or as the format of vb_html_put; data only by the functions below.
 * They are good for text between tags and for attribute values in double quotes, and for
 * nothing else: data never go into a tag, a style, a script, an address or an id.
 */

/*
 * vb_html_text - write data as text.
 *     & < > " '   become character references
 *     a blank     for a tab, a line end, U+2028 and U+2029: a name is one line
 *     U+FFFD      for every other control of vb_utf8_control, which has the marks of
 *                 direction and what nobody sees (U+00AD, 200B, FEFF ...), for
 *                 noncharacters (U+FDD0..FDEF, U+xxFFFE, U+xxFFFF), and for what is not
 *                 UTF-8, one for each maximal subpart
 *   s, n   [n] bytes, any content
 * Source: HTML Living Standard 13.1.2 to 13.1.4; Unicode 15.0, 3.9, "U+FFFD substitution of
 * maximal subparts" (tables 3-8 to 3-11).
 */
void vb_html_text(struct vb_out *o, const char *s, size_t n);

/*
 * vb_html_cut - the same, but at most `most` characters (code points): where there are
 * more, the last one written is an ellipsis. most >= 1.
 * Returns 1 if it was cut.
 */
int vb_html_cut(struct vb_out *o, const char *s, size_t n, size_t most);

/* vb_html_width - how many characters vb_html_text would write of it, as a person counts
 * them. */
size_t vb_html_width(const char *s, size_t n);

/*
 * vb_html_put - markup with data in it, as printf has it: the format is markup and is
 * written as it is, a %s is data and is written by vb_html_text. Of printf's directives
 * there are %s, %d, %zu, %f, %.Nf, %.*f and %%; a -0 loses its sign. A number that is not
 * finite has no place on a page and is an error of the caller.
 */
void vb_html_put(struct vb_out *o, const char *fmt, ...)
    __attribute__((format(printf, 2, 3)));

/*
 * vb_html_begin - a page up to and with <body>: UTF-8, English, as wide as the screen.
 *   title   data
 *   style   CSS, markup: written as it is; NULL for none
 * vb_html_end - the end of it.
 */
void vb_html_begin(struct vb_out *o, const char *title, const char *style);
void vb_html_end(struct vb_out *o);

#endif
