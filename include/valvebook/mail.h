#ifndef VALVEBOOK_MAIL_H
#define VALVEBOOK_MAIL_H

#include <stddef.h>

#include "valvebook/err.h"
#include "valvebook/out.h"

#define VB_MAIL_NAME 1024 // bytes of a display name and its NUL
#define VB_MAIL_ADDR 321  // 64 of a mailbox, @, 255 of a domain, and a NUL

/* vb_mailbox - who sends or receives; name "" if there is none. */
struct vb_mailbox {
    char name[VB_MAIL_NAME], addr[VB_MAIL_ADDR];
};

/*
 * vb_mailbox_parse - read "a@b" or "Name <a@b>". The name is what stands before the last
 * "<", commas and all; one in double quotes is taken out of them.
 * Errors: VB_ESYNTAX  a control character (so nobody can forge a header), bytes that are
 *                     not UTF-8, a name or address that is too long, an address that is
 *                     not letters, digits and !#$%&'*+-/=?^_`{|}~ with single dots between
 *                     on the left of "@", or no host name on its right; m says which (out
 *                     untouched)
 * Source: RFC 5322, 3.4.1, dot-atom only;  RFC 5321, 4.5.3.1 for the lengths.
 */
enum vb_err vb_mailbox_parse(const char *s, struct vb_mailbox *out, struct vb_msg *m);

/* vb_mailbox_self - the user of this process at this host, as cron has it. */
void vb_mailbox_self(struct vb_mailbox *out);

/*
 * vb_mail - one message: a text, the same in HTML, and a table attached.
 *   to, n_to   n_to >= 1
 *   subject, csv_name   any text: what cannot stand in a header is encoded, and a control
 *              character becomes "?"
 *   date       days since 1970-01-01 with a fraction, UTC; within what vb_date_iso knows
 *   id         left part of the Message-ID, letters, digits and dots: whoever sends a
 *              message again gives it the same, so that it is known again; the right part
 *              is the domain of from
 *   text, html UTF-8, lines end in LF
 *   csv, csv_n  UTF-8; becomes the attachment
 *   eol        "\n", as a mailer wants it from a pipe, or "\r\n", as it goes over the net
 */
struct vb_mail {
    const struct vb_mailbox *from, *to;
    size_t n_to;
    const char *subject;
    double date;
    const char *id;
    const char *text, *html;
    const char *csv, *csv_name;
    size_t csv_n;
    const char *eol;
};

/*
 * vb_mail_write - multipart/mixed of (multipart/alternative of text and HTML) and the
 * attachment. Only ASCII goes out, and no line is longer than 78 characters, but for an
 * address that is longer itself.
 * Errors: VB_EDOM  the date
 * Source: RFC 5322 (message), 2045 (quoted-printable, base64), 2046 (multipart), 2047
 *         (encoded words), 2183 (disposition), 2231 (name of a file), 3834
 *         (Auto-Submitted), 7111 and 4180 (text/csv).
 */
enum vb_err vb_mail_write(const struct vb_mail *mail, struct vb_out *out);

#endif
