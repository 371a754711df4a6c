#ifndef VALVEBOOK_TREND_IMPL_H
#define VALVEBOOK_TREND_IMPL_H

#include "valvebook/chart.h"
#include "valvebook/trend_report.h"

#define NO_DUE ((size_t)-1)
#define COURSE                                                                           \
    24 // readings in the course of a terminal's line, settings between them too

enum charted { UNCHARTED, CHARTED, LEFT_OUT };

/* A valve in the terminal's table. */
struct course {
    size_t life, rank, index; // index: as they came
    double at_0, at_9;        // mm, what its digits stand for; NaN: no digits
    char text[2 * COURSE + 1];
};

struct vb_trend_report {
    const struct vb_fleet *f;
    const struct vb_trend_wish *w;
    struct vb_out *o;
    struct vb_dues all, soon;
    size_t *first_life;  // [n_units + 1] of each unit
    size_t *due_of;      // [lives.n] its most urgent line in all, or NO_DUE
    size_t *due_of_unit; // [n_units] likewise: of the engine, its valves and cams
    size_t *due_of_its_valves;
    size_t *due_of_its_parts;     // valves and cams
    unsigned char *cams_due;      // [n_units] something about its cams needs attention
    enum charted *charted;        // [lives.n]
    size_t n_charted, n_left_out; // of those that need attention
    size_t *order;                // units that are in the fleet, worst first
    size_t n_order;
    size_t *shown; // of these, those to be taken
    size_t n_shown;
    size_t n_drawings;
    struct course *course;
    size_t n_courses;
};

/* A valve of the engine being shown: its present life and the one before, if it had one. */
struct shown_valve {
    struct vb_trend_report *t;
    const struct vb_engine *e;
    const struct vb_unit_now *u;
    const struct vb_life *life;   // in the fleet
    const struct vb_life *last;   // NULL
    const struct vb_point *point; // of both, the last life's first
    size_t n_points, n_last;
    struct vb_state st;
};

/* trend.c: is this a life that is shown at all? */
int trend_in_use(const struct vb_trend_report *t, size_t life);
/* points of the whole engine */
struct shown_valve trend_valve(struct vb_trend_report *t, size_t life,
                               const struct vb_engine *e, const struct vb_points *points);
/* "3E1, cylinder 3, exhaust valve 1": what a person who does not know the notation needs */
#define VALVE_WORDS 48
void trend_valve_words(struct vb_valve v, char *out);
/* a day as a date, "" for NaN; out [VB_DATE_MAX] */
void trend_date(double day, char *out);

/* trend_page.c: head and overview;  trend_engine.c: engines and foot */
enum vb_err page_begin(struct vb_trend_report *t);
enum vb_err page_engine(struct vb_trend_report *t, size_t unit, const struct vb_engine *e,
                        const struct vb_points *points);
void page_end(struct vb_trend_report *t);
void page_words(struct vb_out *o, const char *s);
/* a line of the list: what, when and why; markup */
void page_due(struct vb_trend_report *t, const struct vb_due *d);

/* Words about something, cut where there are too many. */
#define WORDS 1024
struct words {
    size_t n;
    char text[WORDS];
};
void words_add(struct words *w, const char *fmt, ...)
    __attribute__((format(printf, 2, 3)));

/* trend_cams.c: does an engine have cams that were timed? and their chart */
int cams_has(const struct vb_trend_report *t, size_t unit);
enum vb_err page_cams(struct vb_trend_report *t, size_t unit);

/* trend_lives.c: what was replaced, by family */
enum vb_err page_lives(struct vb_trend_report *t);

/* trend_valve.c: the charts of a valve and their words */
enum vb_err page_valve(struct shown_valve *v);

/* trend_text.c */
void text_take(struct vb_trend_report *t, const struct shown_valve *v);
enum vb_err text_end(struct vb_trend_report *t);

#endif
