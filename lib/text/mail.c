#include "valvebook/mail.h"

#include <math.h>
#include <pwd.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "mail_impl.h"
#include "valvebook/date.h"
#include "valvebook/utf8.h"

#define LOCAL_MAX  64
#define DOMAIN_MAX 255
#define LABEL_MAX  63

static int
is_alnum(char c)
{
    return (c >= '0' && c <= '9') || (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z');
}

/* dot-atom of RFC 5322 */
static int
local_ok(const char *s, size_t n)
{
    if (n == 0 || n > LOCAL_MAX || s[0] == '.' || s[n - 1] == '.')
        return 0;
    for (size_t i = 0; i < n; i++)
        if (s[i] == '.' ? s[i - 1] == '.'
                        : !is_alnum(s[i]) && !strchr("!#$%&'*+-/=?^_`{|}~", s[i]))
            return 0;
    return 1;
}

/* A host name of RFC 1123: labels of letters, digits and inner hyphens. */
static int
domain_ok(const char *s, size_t n)
{
    size_t label = 0;
    if (n == 0 || n > DOMAIN_MAX)
        return 0;
    for (size_t i = 0; i <= n; i++) {
        if (i == n || s[i] == '.') {
            if (label == 0 || label > LABEL_MAX || s[i - 1] == '-')
                return 0;
            label = 0;
        } else if (is_alnum(s[i]) || (s[i] == '-' && label > 0)) {
            label++;
        } else {
            return 0;
        }
    }
    return 1;
}

static enum vb_err
wrong(struct vb_msg *m, const char *why, const char *s)
{
    char q[80];
    vb_msg_set(m, "%s: '%s'", why, vb_quote(s, strlen(s), q, sizeof q));
    return VB_ESYNTAX;
}

static const char *
trim(const char *s, size_t *n)
{
    while (*n > 0 && *s == ' ')
        s++, --*n;
    while (*n > 0 && s[*n - 1] == ' ')
        --*n;
    return s;
}

/* Without the quotes around it, and without a backslash before what it quotes. */
static void
unquote(const char *s, size_t n, char *out)
{
    int quotes = n >= 2 && s[0] == '"' && s[n - 1] == '"';
    size_t k = 0;
    for (size_t i = quotes ? 1 : 0; i < n - (quotes ? 1 : 0); i++) {
        if (quotes && s[i] == '\\' && i + 2 < n)
            i++;
        out[k++] = s[i];
    }
    out[k] = 0;
}

enum vb_err
vb_mailbox_parse(const char *s, struct vb_mailbox *out, struct vb_msg *m)
{
    size_t n = strlen(s), name_n = 0;
    for (size_t i = 0; i < n; i++)
        if ((unsigned char)s[i] < 0x20 || s[i] == 0x7f)
            return wrong(m, "a control character in an address", s);
    if (!vb_utf8_ok(s, n))
        return wrong(m, "an address that is not UTF-8", s);
    const char *t = trim(s, &n), *name = t;
    const char *open = strrchr(t, '<');
    if (open && t[n - 1] == '>') {
        name_n = (size_t)(open - t);
        n = n - name_n - 2;
        t = trim(open + 1, &n);
    }
    const char *at = memchr(t, '@', n);
    if (!at || !local_ok(t, (size_t)(at - t)) ||
        !domain_ok(at + 1, n - (size_t)(at - t) - 1))
        return wrong(m, "no mail address", s);
    name = trim(name, &name_n);
    if (name_n >= VB_MAIL_NAME)
        return wrong(m, "a name of more than 1023 bytes", s);
    unquote(name, name_n, out->name);
    memcpy(out->addr, t, n);
    out->addr[n] = 0;
    return VB_OK;
}

void
vb_mailbox_self(struct vb_mailbox *out)
{
    char host[DOMAIN_MAX + 1] = "", s[VB_MAIL_ADDR + DOMAIN_MAX];
    const struct passwd *p = getpwuid(geteuid());
    if (gethostname(host, sizeof host - 1))
        host[0] = 0;
    snprintf(s, sizeof s, "%.64s@%s", p ? p->pw_name : "nobody", host);
    if (vb_mailbox_parse(s, out, NULL))
        vb_mailbox_parse("nobody@localhost", out, NULL);
}

static void
address(struct writer *w, const struct vb_mailbox *b, int more)
{
    char addr[VB_MAIL_ADDR + 3];
    const char *comma = more ? "," : "";
    if (b->name[0])
        head_text(w, b->name, 1);
    int n = snprintf(addr, sizeof addr, b->name[0] ? "<%s>%s" : "%s%s", b->addr, comma);
    head_word(w, addr, (size_t)n);
}

static void
field(struct writer *w, const char *name, const char *value)
{
    head_begin(w, name);
    while (*value) {
        size_t n = strcspn(value, " ");
        head_word(w, value, n);
        value += n + (value[n] == ' ');
    }
    head_end(w);
}

/* Sun, 01 Nov 2026 06:15:00 +0000 */
static enum vb_err
date_text(double days, char *out, size_t size)
{
    static const char *const week[] = {"Thu", "Fri", "Sat", "Sun", "Mon", "Tue", "Wed"};
    static const char *const year[] = {"Jan", "Feb", "Mar", "Apr", "May", "Jun",
                                       "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};
    char iso[VB_DATE_MAX];
    if (vb_date_iso(days, iso))
        return VB_EDOM;
    long long s = llround(days * 86400);
    long long day = (s - (s % 86400 + 86400) % 86400) / 86400;
    s -= day * 86400;
    (void)vb_date_iso((double)day, iso); // which may be the next, rounded to seconds
    int month = (iso[5] - '0') * 10 + iso[6] - '0';
    snprintf(out, size, "%s, %.2s %s %.4s %02lld:%02lld:%02lld +0000",
             week[(day % 7 + 7) % 7], iso + 8, year[month - 1], iso, s / 3600,
             s / 60 % 60, s % 60);
    return VB_OK;
}

static void
head(struct writer *w, const struct vb_mail *mail, const char *date)
{
    char id[VB_MAIL_ADDR + 128];
    field(w, "Date", date);
    head_begin(w, "From");
    address(w, mail->from, 0);
    head_end(w);
    head_begin(w, "To");
    for (size_t i = 0; i < mail->n_to; i++)
        address(w, &mail->to[i], i + 1 < mail->n_to);
    head_end(w);
    head_begin(w, "Subject");
    head_text(w, mail->subject, 0);
    head_end(w);
    snprintf(id, sizeof id, "<%.100s%s>", mail->id, strchr(mail->from->addr, '@'));
    field(w, "Message-ID", id);
    field(w, "Auto-Submitted", "auto-generated");
    field(w, "MIME-Version", "1.0");
}

/* No encoded body has "=_" in it, so no line of one is a boundary (RFC 2045, 6.7). */
static void
multipart(struct writer *w, const struct vb_mail *mail, const char *kind)
{
    char text[160];
    head_begin(w, "Content-Type");
    int n = snprintf(text, sizeof text, "multipart/%s", kind);
    head_word(w, text, (size_t)n);
    snprintf(text, sizeof text, "=_%.40s_%s", mail->id, kind);
    head_parameter(w, "boundary", text);
    head_end(w);
    vb_out_text(w->out, w->eol);
}

static void
boundary(struct writer *w, const struct vb_mail *mail, const char *kind, int last)
{
    char text[160];
    snprintf(text, sizeof text, "--=_%.40s_%s%s", mail->id, kind, last ? "--" : "");
    vb_out_text(w->out, text);
    vb_out_text(w->out, w->eol);
}

static void
part_head(struct writer *w, const char *type, const char *encoding)
{
    field(w, "Content-Type", type);
    field(w, "Content-Transfer-Encoding", encoding);
}

static void
text_part(struct writer *w, const struct vb_mail *mail, const char *type, const char *s)
{
    boundary(w, mail, "alternative", 0);
    part_head(w, type, "quoted-printable");
    vb_out_text(w->out, w->eol);
    body_quoted(w, s, strlen(s));
    vb_out_text(w->out, w->eol);
}

static void
attachment(struct writer *w, const struct vb_mail *mail)
{
    boundary(w, mail, "mixed", 0);
    part_head(w, "text/csv; charset=utf-8; header=present", "base64");
    head_begin(w, "Content-Disposition");
    head_word(w, "attachment", 10);
    head_parameter(w, "filename", mail->csv_name);
    head_end(w);
    vb_out_text(w->out, w->eol);
    body_base64(w, mail->csv, mail->csv_n);
    vb_out_text(w->out, w->eol);
}

enum vb_err
vb_mail_write(const struct vb_mail *mail, struct vb_out *out)
{
    struct writer w = {out, mail->eol, 0};
    char date[48];
    enum vb_err e = date_text(mail->date, date, sizeof date);
    if (e)
        return e;
    head(&w, mail, date);
    multipart(&w, mail, "mixed");
    boundary(&w, mail, "mixed", 0);
    multipart(&w, mail, "alternative");
    text_part(&w, mail, "text/plain; charset=utf-8", mail->text);
    text_part(&w, mail, "text/html; charset=utf-8", mail->html);
    boundary(&w, mail, "alternative", 1);
    attachment(&w, mail);
    boundary(&w, mail, "mixed", 1);
    return VB_OK;
}
