#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "valvebook/hash.h"
#include "valvebook/letter.h"
#include "valvebook/report.h"

enum { SUBJECT, TEXT, HTML, NAME, SHEET, PARTS };

/* What is cleared, and far enough away, is no line of the sheet. */
static void
mark_gone(const struct vb_letter *l, unsigned char *gone)
{
    for (size_t i = 0; i < l->news->n; i++) {
        const struct vb_news_item *it = &l->news->item[i];
        if (it->kind != VB_NEWS_CLEARED || it->due == VB_NEWS_NO_DUE)
            continue;
        const struct vb_due *d = &l->d->due[it->due];
        gone[it->due] = !vb_alert_level(&l->d->unit[d->unit], d, &l->w->due, 0);
    }
}

/* What is within the horizon, and what still stands though it no longer is. */
static enum vb_err
write_sheet(const struct vb_letter *l, struct vb_out *o)
{
    struct vb_dues sheet = *l->d;
    unsigned char *gone = calloc(l->d->n + 1, 1);
    sheet.due = malloc((l->d->n + 1) * sizeof *sheet.due);
    sheet.n = 0;
    if (gone)
        mark_gone(l, gone);
    for (size_t i = 0; gone && sheet.due && i < l->d->n; i++)
        if (!gone[i])
            sheet.due[sheet.n++] = l->d->due[i];
    enum vb_err e =
        gone && sheet.due ? vb_report_due(&sheet, VB_FORMAT_SHEET, o) : VB_EMEM;
    free(gone);
    free(sheet.due);
    return e;
}

static enum vb_err
write_part(const struct vb_letter *l, int part, struct vb_out *o)
{
    switch (part) {
    case SUBJECT: vb_letter_subject(l, o); break;
    case TEXT: vb_letter_text(l, o); break;
    case HTML: vb_letter_html(l, o); break;
    case NAME: vb_letter_file(l, o); break;
    default: return write_sheet(l, o);
    }
    return VB_OK;
}

static enum vb_err
make_part(const struct vb_letter *l, int part, char **s, size_t *n)
{
    struct vb_out *o = NULL;
    enum vb_err e = vb_out_memory(&o);
    if (!e)
        e = write_part(l, part, o);
    if (!e)
        return vb_out_take(o, s, n);
    vb_out_close(o, NULL);
    return e;
}

static void
make_id(const struct vb_letter *l, const struct vb_mail *head, long long run,
        char *const part[PARTS], const size_t n[PARTS], char *id, size_t size)
{
    uint64_t h = vb_hash_text(VB_HASH_BEGIN, head->from->addr);
    for (size_t i = 0; i < head->n_to; i++)
        h = vb_hash_text(h, head->to[i].addr);
    for (int i = 0; i < PARTS; i++)
        h = vb_hash(h, part[i], n[i]);
    snprintf(id, size, "%.4s%.2s%.2s.%lld.%016" PRIx64, l->as_of, l->as_of + 5,
             l->as_of + 8, run, h);
}

enum vb_err
vb_letter_mail(const struct vb_letter *l, const struct vb_mail *head, long long run,
               struct vb_out *o)
{
    char *part[PARTS] = {NULL}, id[80];
    size_t n[PARTS] = {0};
    struct vb_mail mail = *head;
    enum vb_err e = VB_OK;
    for (int i = 0; !e && i < PARTS; i++)
        e = make_part(l, i, &part[i], &n[i]);
    if (!e) {
        make_id(l, head, run, part, n, id, sizeof id);
        mail.subject = part[SUBJECT];
        mail.text = part[TEXT];
        mail.html = part[HTML];
        mail.csv_name = part[NAME];
        mail.csv = part[SHEET];
        mail.csv_n = n[SHEET];
        mail.id = id;
        e = vb_mail_write(&mail, o);
    }
    for (int i = 0; i < PARTS; i++)
        free(part[i]);
    return e;
}
