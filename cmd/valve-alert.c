/* valve-alert: one message about what is new, worse or cleared, or silence. */
#include <getopt.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "valvebook/alerts.h"
#include "valvebook/book.h"
#include "valvebook/date.h"
#include "valvebook/letter.h"
#include "valvebook/lock.h"
#include "valvebook/mail.h"
#include "valvebook/number.h"
#include "valvebook/pipe.h"
#include "valvebook/report.h"
#include "valvebook/start.h"
#include "valvebook/tool.h"

#define TIMEOUT_MAX 86400 // s
#define TIMEOUT     300
#define LOCK_MORE   10 // s longer than a mailer may take, another run is waited for
#define WITHIN_DAYS 30
#define SETTLE_DAYS 3

struct wish {
    const char *book, *as_of, *pipe_to, *until;
    struct vb_scope scope; // of a site
    const char **ack;      // [n_ack]
    size_t n_ack;
    int list, text, dry_run, today;
    unsigned timeout;
    enum vb_format format;
    struct vb_mailbox from, *to; // to: [n_to]
    size_t n_to;
    double date;
    const char *eol;
    struct vb_alert_wish alert;
    char as_of_iso[VB_DATE_MAX], until_iso[VB_DATE_MAX];
};

/* What one run has found. */
struct night {
    struct vb_told told;
    struct vb_digest digest;
    struct vb_doubts doubts;
    struct vb_night *night;
};

static const struct option options[] = {{"ack", required_argument, NULL, 'k'},
                                        {"as-of", required_argument, NULL, 'a'},
                                        {"crlf", no_argument, NULL, 'c'},
                                        {"dry-run", no_argument, NULL, 'n'},
                                        {"format", required_argument, NULL, 'F'},
                                        {"from", required_argument, NULL, 'f'},
                                        {"help", no_argument, NULL, 'h'},
                                        {"list", no_argument, NULL, 'l'},
                                        {"pipe-to", required_argument, NULL, 'p'},
                                        {"remind", required_argument, NULL, 'r'},
                                        {"settle", required_argument, NULL, 's'},
                                        {"site", required_argument, NULL, 'S'},
                                        {"text", no_argument, NULL, 'x'},
                                        {"timeout", required_argument, NULL, 't'},
                                        {"to", required_argument, NULL, 'T'},
                                        {"until", required_argument, NULL, 'u'},
                                        {"version", no_argument, NULL, 'V'},
                                        {"within", required_argument, NULL, 'w'},
                                        {NULL, 0, NULL, 0}};

static enum vb_err
compose(const struct wish *w, const struct night *n, char **s, size_t *size)
{
    const struct vb_digest *g = &n->digest;
    struct vb_letter letter = {.book = w->book,
                               .site = w->scope.site,
                               .as_of = w->as_of,
                               .d = &g->dues,
                               .news = &g->news,
                               .w = &w->alert,
                               .sheet = w->text ? 0 : g->sheet,
                               .doubts = &n->doubts};
    struct vb_mail head = {
        .from = &w->from, .to = w->to, .n_to = w->n_to, .date = w->date, .eol = w->eol};
    struct vb_out *o = NULL;
    enum vb_err e = vb_out_memory(&o);
    if (!e && w->text)
        vb_letter_text(&letter, o);
    else if (!e)
        e = vb_letter_mail(&letter, &head, n->told.runs, o);
    if (!e)
        return vb_out_take(o, s, size);
    vb_out_close(o, NULL);
    return e;
}

static enum vb_err
print(const char *s, size_t n, struct vb_msg *m)
{
    struct vb_out *o;
    enum vb_err e = vb_out_open("-", &o, m);
    if (e)
        return e;
    vb_out_at_once(o, s, n);
    return vb_out_close(o, m);
}

static enum vb_err
say(const struct wish *w, const struct night *n, struct vb_msg *m)
{
    char *s = NULL;
    size_t size = 0;
    enum vb_err e = compose(w, n, &s, &size);
    if (!e)
        e = w->pipe_to ? vb_pipe_to(w->pipe_to, s, size, w->timeout, m)
                       : print(s, size, m);
    free(s);
    return e;
}

/* Looking back would clear what stands; the clock alone may have been wrong before, or be
 * wrong now. */
static enum vb_err
check_day(struct vb_book *b, const struct wish *w, const struct vb_told *told,
          struct vb_msg *m)
{
    if (w->today)
        return vb_book_clock(b, w->as_of, m);
    if (strncmp(w->as_of, told->as_of, 10) >= 0)
        return VB_OK;
    vb_msg_at(m, w->book, 0, NULL);
    vb_msg_set(m, "alerts were told as of %.10s already, later than --as-of",
               told->as_of);
    return VB_ECONFLICT;
}

static enum vb_err
keep(const struct wish *w, struct night *n, struct vb_msg *m)
{
    struct vb_msg why = {0};
    int said = n->digest.news.say;
    enum vb_err e = vb_night_keep(n->night, said, &n->told, w->as_of, &why);
    if (!e)
        return VB_OK;
    vb_msg_at(m, w->book, 0, NULL);
    vb_msg_set(m, said ? "said, but not remembered, so it will be said again: %s" : "%s",
               why.text);
    return e;
}

/* Said first, remembered then: what fails in between is said twice, never not at all. */
static enum vb_err
night(struct vb_book *b, const struct wish *w, struct vb_msg *m)
{
    struct night n = {0};
    enum vb_err e = vb_alerts_told(b, &n.told, m);
    if (!e)
        e = check_day(b, w, &n.told, m);
    if (!e)
        e = vb_night_look(b, &w->scope, &w->alert, w->as_of, &n.digest, &n.doubts,
                          &n.night, m);
    if (!e && n.digest.news.say)
        e = say(w, &n, m);
    if (!e && n.digest.news.changed && !w->dry_run)
        e = keep(w, &n, m);
    vb_night_close(n.night);
    vb_digest_clear(&n.digest);
    free(n.doubts.doubt);
    return e;
}

static enum vb_err
list(struct vb_book *b, const struct wish *w, struct vb_msg *m)
{
    struct vb_alerts all = {0};
    struct vb_out *o = NULL;
    enum vb_err e = vb_alerts_read(b, &w->scope, &all, m);
    if (!e)
        e = vb_out_open("-", &o, m);
    if (!e)
        e = vb_report_alerts(&all, w->format, o);
    enum vb_err closed = vb_out_close(o, m);
    vb_alerts_clear(&all);
    return e ? e : closed;
}

static enum vb_err
acknowledge(struct vb_tool *tool, struct vb_book *b, const struct wish *w,
            struct vb_msg *m)
{
    char q[80];
    enum vb_err e = VB_OK;
    for (size_t i = 0; !e && i < w->n_ack; i++) {
        size_t n = 0;
        e = vb_alerts_ack(b, w->ack[i], w->until, &n, m);
        if (e || n > 0)
            continue;
        vb_msg_at(m, w->book, 0, NULL);
        vb_msg_set(m, "no alert '%s' stands",
                   vb_quote(w->ack[i], strlen(w->ack[i]), q, sizeof q));
        vb_tool_tell(tool, m);
        vb_tool_raise(tool, VB_EXIT_SOME);
        vb_msg_clear(m);
    }
    return e;
}

static enum vb_err
work(struct vb_tool *tool, struct vb_book *b, const struct wish *w, struct vb_msg *m)
{
    struct vb_lock *lock = NULL;
    if (w->n_ack)
        return acknowledge(tool, b, w, m);
    if (w->list)
        return list(b, w, m);
    if (w->dry_run)
        return night(b, w, m);
    int wait = w->timeout ? (int)w->timeout + LOCK_MORE : -1;
    enum vb_err e = vb_lock_take(w->book, VB_ALERTS_LOCK, wait, &lock, m);
    if (e == VB_ECONFLICT) { // that one says what there is to say, or the next run does
        vb_msg_at(m, w->book, 0, NULL);
        vb_msg_set(m, "another valve-alert is at work; nothing was said");
        vb_tool_tell(tool, m);
        return VB_OK;
    }
    if (!e)
        e = night(b, w, m);
    vb_lock_drop(lock);
    return e;
}

static void
run(struct vb_tool *tool, const struct wish *w)
{
    struct vb_msg m = {0};
    struct vb_book *b = NULL;
    int only_reads = !w->n_ack && (w->list || w->dry_run);
    enum vb_book_mode mode = only_reads ? VB_BOOK_READ : VB_BOOK_UPDATE;
    enum vb_err e = vb_book_open(w->book, mode, &b, &m);
    if (!e)
        e = work(tool, b, w, &m);
    if (e)
        vb_tool_fail(tool, e, &m);
    if (vb_book_close(b, &m))
        vb_tool_fail(tool, VB_EDB, &m);
}

/* A span of days, like 7d or 2wk. */
static int
days(const char *s, double *out)
{
    struct vb_due_wish w = {.within_days = NAN};
    if (!vb_due_span(s, &w) || isnan(w.within_days))
        return 0;
    *out = w.within_days;
    return 1;
}

static int
seconds(const char *s, unsigned *out)
{
    double x;
    if (vb_double_parse(s, strlen(s), &x) || !(x >= 0 && x <= TIMEOUT_MAX) ||
        x != floor(x))
        return 0;
    *out = (unsigned)x;
    return 1;
}

static int
mailbox(struct vb_tool *tool, const char *s, struct vb_mailbox *out)
{
    struct vb_msg m = {0};
    if (!vb_mailbox_parse(s, out, &m))
        return 1;
    vb_tool_fail(tool, VB_ESYNTAX, &m);
    return 0;
}

/* One option with its argument; 0 after complaining. */
static int
take(struct vb_tool *tool, struct wish *w, int c)
{
    const char *wrong = NULL;
    switch (c) {
    case 'k': w->ack[w->n_ack++] = optarg; break;
    case 'a': w->as_of = optarg; break;
    case 'c': w->eol = "\r\n"; break;
    case 'n': w->dry_run = 1; break;
    case 'F':
        if (!vb_format_parse(optarg, &w->format))
            wrong = "csv, json or table, not";
        break;
    case 'f': return mailbox(tool, optarg, &w->from);
    case 'l': w->list = 1; break;
    case 'p': w->pipe_to = optarg; break;
    case 'r':
        if (!days(optarg, &w->alert.remind))
            wrong = "days are like 7d or 2wk, not";
        break;
    case 's':
        if (!days(optarg, &w->alert.settle))
            wrong = "days are like 7d or 2wk, not";
        break;
    case 'S': w->scope.site = optarg; break;
    case 'x': w->text = 1; break;
    case 't':
        if (!seconds(optarg, &w->timeout))
            wrong = "whole seconds, up to 86400, not";
        break;
    case 'T': return mailbox(tool, optarg, &w->to[w->n_to]) && ++w->n_to;
    case 'u': w->until = optarg; break;
    case 'w':
        if (!vb_due_span(optarg, &w->alert.due))
            wrong = "a span is like 30d, 6wk, 50h or 5000km, not";
        break;
    default: break;
    }
    if (wrong)
        tool->status = vb_tool_wrong(tool, wrong, optarg);
    return !wrong;
}

/* What is wrong with the options together; NULL if nothing is. */
static const char *
complaint(const struct wish *w)
{
    if (w->list && w->n_ack)
        return "either --ack or --list";
    if (w->scope.site && w->n_ack)
        return "either --ack or --site";
    if ((w->list || w->n_ack) && (w->dry_run || w->text || w->pipe_to))
        return "--ack and --list say nothing: they go with none of "
               "--dry-run, --pipe-to and --text";
    if (w->format != VB_FORMAT_AUTO && !w->list)
        return "--format goes with --list";
    if (w->text && strcmp(w->eol, "\n") != 0)
        return "either --crlf or --text";
    return NULL;
}

/* What follows from the options together; 0 after complaining. */
static int
settle(struct vb_tool *tool, struct wish *w)
{
    struct vb_due_wish *due = &w->alert.due;
    w->today = !w->as_of;
    if (!vb_tool_as_of(tool, &w->as_of, w->as_of_iso) ||
        vb_date_days(w->as_of, &due->as_of))
        return 0;
    w->date = due->as_of;
    if (w->today && vb_date_now(&w->date))
        tool->status =
            vb_tool_wrong(tool, "the clock cannot be read: --as-of is needed", NULL);
    else if (w->until &&
             (!w->n_ack || vb_date_parse(w->until, strlen(w->until), "", w->until_iso)))
        tool->status =
            vb_tool_wrong(tool, "a date (YYYY-MM-DD) for --ack, not", w->until);
    else if (complaint(w))
        tool->status = vb_tool_wrong(tool, complaint(w), NULL);
    if (w->until)
        w->until = w->until_iso;
    if (!vb_due_within(due))
        due->within_days = WITHIN_DAYS;
    if (!w->n_to)
        w->to[w->n_to++] = w->from;
    return !tool->status;
}

int
main(int argc, char **argv)
{
    vb_start();
    struct vb_tool tool = {
        .name = "valve-alert",
        .about = "one message about what is new, worse or cleared, or silence",
        .usage =
            "valve-alert [--ack selection] [--as-of date] [--crlf] [--dry-run]\n"
            "                   [--format csv|json|table] [--from mailbox] [--list]\n"
            "                   [--pipe-to command] [--remind days] [--settle days]\n"
            "                   [--site name] [--text] [--timeout seconds]\n"
            "                   [--to mailbox] [--until date] [--within span] book"};
    struct wish w = {
        .format = VB_FORMAT_AUTO,
        .eol = "\n",
        .timeout = TIMEOUT,
        .alert = {{NAN, NAN, NAN, NAN, 0, 0.95, NULL, NULL}, NAN, SETTLE_DAYS}};
    int c, go = 1;
    opterr = 0;
    w.ack = calloc((size_t)argc + 1, sizeof *w.ack);
    w.to = calloc((size_t)argc + 1, sizeof *w.to);
    if (!w.ack || !w.to)
        vb_tool_fail(&tool, VB_EMEM, &(struct vb_msg){0}), go = 0;
    vb_mailbox_self(&w.from);
    while (go && (c = getopt_long(argc, argv, "hV", options, NULL)) != -1) {
        if (c == 'h' || c == 'V')
            tool.status = c == 'h' ? vb_tool_help(&tool) : vb_tool_version(&tool), go = 0;
        else if (c == '?')
            tool.status = vb_tool_option(&tool, argv[optind - 1], optopt), go = 0;
        else
            go = take(&tool, &w, c);
    }
    if (go && optind + 1 != argc)
        tool.status = vb_tool_wrong(&tool, "one book is needed", NULL), go = 0;
    w.book = argv[argc - 1];
    if (go && settle(&tool, &w))
        run(&tool, &w);
    free(w.ack);
    free(w.to);
    return tool.status;
}
