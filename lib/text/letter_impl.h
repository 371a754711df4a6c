#ifndef VALVEBOOK_LETTER_IMPL_H
#define VALVEBOOK_LETTER_IMPL_H

#include <stddef.h>

#include "valvebook/date.h"
#include "valvebook/letter.h"

#define LETTER_ACK     "To be told no more of one until it is worse:"
#define LETTER_COMMAND "valve-alert --ack ENGINE/KIND/VALVE BOOK"

/* behind the last that is written out */
#define LETTER_MORE "and %zu more: valve-alert --list BOOK"

/* over what can never be due (doubt.h) */
#define LETTER_DOUBTS "What may be missing"

/* where the list that is attached ends before all have come */
#define LETTER_SHEET "Attached are the %d most urgent of %zu lines; all: valve-due BOOK"

extern const char *const letter_group[VB_NEWS_COUNT];

/* the name of the book without directory and ending: *n bytes */
void letter_book(const struct vb_letter *l, const char **name, size_t *n);
/* what stands behind it where one site alone is looked at, else "" */
const char *letter_site(const struct vb_letter *l);
void letter_day(double day, char *out); // [VB_DATE_MAX]
/* when it is due, was said, got better: [LETTER_WHEN] */
#define LETTER_WHEN 200
void letter_when(const struct vb_letter *l, const struct vb_news_item *it, char *out);
void letter_horizon(const struct vb_letter *l, char *out, size_t size);
void letter_counts(const struct vb_letter *l, int still, char *out, size_t size);
/* write the items of a group that are written out; returns how many are not */
typedef void letter_write(const struct vb_letter *l, const struct vb_news_item *it,
                          size_t width, struct vb_out *o);
size_t letter_items(const struct vb_letter *l, enum vb_news_kind kind,
                    letter_write *write, size_t width, struct vb_out *o);
void letter_meanings(const struct vb_letter *l, char *out, size_t size);

#endif
