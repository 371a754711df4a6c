/* The page: where the cams of an engine stand, and against what. */
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "trend_impl.h"
#include "valvebook/cam_span.h"
#include "valvebook/digits.h"
#include "valvebook/html.h"
#include "valvebook/timing_chart.h"

/* Rows of an engine's cams stand together; *n = 0 if it has none. */
static const struct vb_cam_row *
rows_of(const struct vb_trend_report *t, size_t unit, size_t *n)
{
    const struct vb_cam_list *l = t->w->within.cams;
    size_t from = 0, engine = 0;
    *n = 0;
    if (!l)
        return NULL;
    while (engine < l->n_engines && strcmp(l->engine[engine].name, t->f->unit[unit].name))
        engine++;
    while (from < l->n && l->row[from].engine != engine)
        from++;
    while (from + *n < l->n && l->row[from + *n].engine == engine)
        ++*n;
    return l->row + from;
}

int
cams_has(const struct vb_trend_report *t, size_t unit)
{
    size_t n;
    rows_of(t, unit, &n);
    return n > 0;
}

static size_t
cam_end(const struct vb_cam_row *r, size_t n, size_t from)
{
    size_t end = from + 1;
    while (end < n && strcmp(r[end].at, r[from].at) == 0)
        end++;
    return end;
}

static struct vb_timing_span
as_span(struct vb_events e)
{
    int sound = e.opens < e.closes && e.closes - e.opens <= 720 && e.opens >= -720 &&
                e.closes <= 720;
    return sound ? (struct vb_timing_span){e.opens, e.closes}
                 : (struct vb_timing_span){NAN, NAN};
}

static void
find_spans(const struct vb_cam_row *r, size_t n, struct vb_timing_cam *cam)
{
    const struct vb_timing_span none = {NAN, NAN};
    *cam = (struct vb_timing_cam){r->at, as_span(vb_cam_span_now(r)), none, none};
    for (size_t i = 0; i < n; i++) {
        struct vb_timing_span s = as_span(vb_cam_span_reference(&r[i]));
        if (r[i].against == VB_AGAINST_LAST)
            cam->last = s;
        else if (r[i].against == VB_AGAINST_NOMINAL)
            cam->nominal = s;
    }
}

static void
say_angle(struct words *w, const char *what, struct vb_angle_said a)
{
    words_add(w, "%s %.1f %s", what, a.deg, a.from);
}

/* "Cam E, ...: opens 4.6 BBDC, closes 5.0 ATDC, centre 89.8 +- 0.2 BTDC, duration ..." */
static void
say_stand(struct words *w, const struct vb_cam_row *r)
{
    char figure[VB_DIGITS_PAIR];
    const char *before = ": "; // the first thing known; of a mark there is none
    struct vb_events e = vb_cam_span_now(r);
    words_add(w, "Cam %s, ", r->at);
    if (r->build[0])
        words_add(w, "build %s, ", r->build);
    words_add(w, "as %s %.10s", r->left ? "left" : "found", r->date);
    if (r->n)
        words_add(w, " (%zu valve%s)", r->n, r->n == 1 ? "" : "s");
    if (!isnan(e.opens)) {
        words_add(w, "%s", before);
        say_angle(w, "opens", vb_event_said(e.opens));
        say_angle(w, ", closes", vb_event_said(e.closes));
        before = ", ";
    }
    if (!isnan(r->fig.centre)) {
        struct vb_angle_said a = vb_centre_said(r->fig.centre);
        words_add(w, "%scentre %s %s", before,
                  vb_digits_pair(a.deg, r->fig.u_centre, 1, figure), a.from);
        before = ", ";
    }
    if (!isnan(r->fig.duration) && !r->by_lift)
        words_add(w, "%sduration %s deg", before,
                  vb_digits_pair(r->fig.duration, r->fig.u_duration, 1, figure));
    words_add(w, ".");
}

static void
say_against(struct words *w, const struct vb_cam_row *r)
{
    static const char *const against[] = {
        [VB_AGAINST_NOMINAL] = "nominal", [VB_AGAINST_TIMED] = "as timed",
        [VB_AGAINST_LAST] = "last build", [VB_AGAINST_BANK] = "the other bank",
        [VB_AGAINST_MARK] = "its mark",
    };
    static const char *const is[] = {[VB_VERDICT_CLOSE] = "too close to say",
                                     [VB_VERDICT_IN] = "in",
                                     [VB_VERDICT_OUT] = "out"};
    const struct vb_cam_shift *s = &r->shift;
    char figure[VB_DIGITS_PAIR];
    if (r->against == VB_AGAINST_NOTHING || isnan(s->drive))
        return;
    words_add(w, " %s deg %s than %s%s%.10s",
              vb_digits_pair(fabs(s->drive), s->u_drive, 1, figure),
              s->drive < 0 ? "earlier" : "later", against[r->against],
              r->reference_date[0] ? " " : "", r->reference_date);
    if (!isnan(r->limit))
        words_add(w, ", limit %s", vb_digits_pair(r->limit, NAN, 1, figure));
    if (r->has_verdict)
        words_add(w, ": %s", is[r->verdict.verdict]);
    words_add(w, ".");
}

/* A cam in words, the most suspicious row's hint last. */
static void
say_cam(struct words *w, const struct vb_cam_row *r, size_t n)
{
    const struct vb_cam_row *worst = r;
    w->text[w->n = 0] = 0;
    say_stand(w, r);
    for (size_t i = 0; i < n; i++) {
        say_against(w, &r[i]);
        if (vb_cam_rank(&r[i]) > vb_cam_rank(worst))
            worst = &r[i];
    }
    if (worst->hint[0])
        words_add(w, " Look: %s.", worst->hint);
}

static enum vb_err
write_cams(struct vb_trend_report *t, size_t unit, const struct vb_cam_row *r, size_t n,
           const struct vb_timing_cam *cam, size_t n_cams)
{
    struct words all = {0}, one = {0};
    char name[80], title[120];
    vb_quote(t->f->unit[unit].name, strlen(t->f->unit[unit].name), name, sizeof name);
    snprintf(title, sizeof title, "Timing of the cams, engine %s", name);
    for (size_t i = 0; i < n; i = cam_end(r, n, i)) {
        say_cam(&one, r + i, cam_end(r, n, i) - i);
        words_add(&all, "%s%s", all.n ? " " : "", one.text);
    }
    vb_out_text(t->o, "<figure>\n<h3>Cams over two turns</h3>\n");
    enum vb_err e =
        vb_timing_chart_write(t->o, ++t->n_drawings, title, all.text, cam, n_cams);
    vb_out_text(t->o,
                "<figcaption>Filled: this build. Outlined: the last one. Thin line: "
                "nominal. Degrees of the crank about overlap TDC.\n<ul>\n");
    for (size_t i = 0; i < n; i = cam_end(r, n, i)) {
        say_cam(&one, r + i, cam_end(r, n, i) - i);
        vb_out_text(t->o, "<li>");
        page_words(t->o, one.text);
        vb_out_text(t->o, "</li>\n");
    }
    vb_out_text(t->o, "</ul></figcaption>\n</figure>\n");
    return e;
}

enum vb_err
page_cams(struct vb_trend_report *t, size_t unit)
{
    size_t n, n_cams = 0;
    const struct vb_cam_row *r = rows_of(t, unit, &n);
    if (!n)
        return VB_OK;
    struct vb_timing_cam *cam = calloc(n, sizeof *cam);
    if (!cam)
        return VB_EMEM;
    for (size_t i = 0; i < n; i = cam_end(r, n, i))
        if (r[i].against != VB_AGAINST_MARK)
            find_spans(r + i, cam_end(r, n, i) - i, &cam[n_cams++]);
    enum vb_err e = n_cams ? write_cams(t, unit, r, n, cam, n_cams) : VB_OK;
    free(cam);
    return e;
}
