#ifndef VALVEBOOK_LETTER_H
#define VALVEBOOK_LETTER_H

#include "valvebook/digest.h"
#include "valvebook/doubt.h"
#include "valvebook/err.h"
#include "valvebook/mail.h"
#include "valvebook/out.h"

/*
 * vb_letter - what a message about alerts is made of.
 *   book    file of the book; its name without directory and ending is shown
 *   site    whose engines alone are looked at; NULL: all, "": those that have none
 *   as_of   ISO date
 *   news    of these dues; its items are written out, its counts are of all
 *   sheet   how many lines the list that is attached would have with no end to it; 0: none
 *           is attached
 *   doubts  why some things can never be said; NULL: none
 */
struct vb_letter {
    const char *book, *site, *as_of;
    const struct vb_dues *d;
    const struct vb_news *news;
    const struct vb_alert_wish *w;
    size_t sheet;
    const struct vb_doubts *doubts;
};

/*
 * vb_letter_subject - how many are new, worse and cleared, and the most urgent of what is new
 * or worse, else of what still stands.
 * vb_letter_text - for a terminal or a mail program: groups new, worse, still, cleared,
 * each with the most urgent first; two lines an alert, the second says why; the cautions.
 * What is not among the items (digest.h) is counted: a message that no server takes, or
 * nobody can open, says nothing of what is new.
 * vb_letter_html - the same as a page.
 * Control characters and bytes that are no UTF-8 in names are shown as "?" and U+FFFD.
 */
void vb_letter_subject(const struct vb_letter *l, struct vb_out *o);
void vb_letter_text(const struct vb_letter *l, struct vb_out *o);
void vb_letter_html(const struct vb_letter *l, struct vb_out *o);

/* vb_letter_file - write the name of the table that goes with it. */
void vb_letter_file(const struct vb_letter *l, struct vb_out *o);

/*
 * vb_letter_mail - the whole message: text, HTML, and the due list attached as a sheet
 * (VB_FORMAT_SHEET): lines within the horizon, and those of alerts that still stand.
 *   head   from, to, n_to, date and eol are looked at
 *   run    a number that no other message about this book has had. The Message-ID is made
 *          of it, the day and the content: sent again it is the same
 * Errors: VB_EMEM, VB_EDOM (the date)
 */
enum vb_err vb_letter_mail(const struct vb_letter *l, const struct vb_mail *head,
                           long long run, struct vb_out *o);

#endif
