#ifndef VALVEBOOK_MAIL_IMPL_H
#define VALVEBOOK_MAIL_IMPL_H

#include <stddef.h>

#include "valvebook/out.h"

/* A message on its way out. col: characters in the line so far. */
struct writer {
    struct vb_out *out;
    const char *eol;
    size_t col;
};

/* mail_head.c: fields of a header */
void head_begin(struct writer *w, const char *name);
void head_end(struct writer *w);
/* a word of ASCII that is not to be broken, with a blank or a fold before it */
void head_word(struct writer *w, const char *s, size_t n);
/* any text; a phrase stands before an address and needs quotes where a subject does not */
void head_text(struct writer *w, const char *s, int phrase);
/* ; name=value of a parameter */
void head_parameter(struct writer *w, const char *name, const char *value);

/* mail_body.c: bodies, from LF to the line ends of the message; the last line is left open,
 * because the line end before a boundary is part of the boundary */
void body_quoted(struct writer *w, const char *s, size_t n);
void body_base64(struct writer *w, const char *s, size_t n);

#endif
