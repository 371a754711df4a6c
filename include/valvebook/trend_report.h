#ifndef VALVEBOOK_TREND_REPORT_H
#define VALVEBOOK_TREND_REPORT_H

#include <stddef.h>

#include "valvebook/due.h"
#include "valvebook/engine.h"
#include "valvebook/err.h"
#include "valvebook/family_life.h"
#include "valvebook/fleet.h"
#include "valvebook/out.h"

/*
 * What a fleet's valves did and will do, for a person: a table for a terminal, or one page
 * of HTML with charts that needs nothing else. The worst comes first.
 *
 * It is made in steps, because readings come one engine at a time: vb_trend_report_new
 * decides what is shown, vb_trend_report_take is given the engines of
 * vb_trend_report_units in their order, and vb_trend_report_end writes what comes behind.
 */

/* Valves that get a chart where no engine was chosen: those that need attention, the most
 * urgent first, so many at most. */
#define VB_TREND_CHARTS 60

/*
 * vb_trend_wish - what is to be shown.
 *   book     its name, as data
 *   as_of    ISO date, as it was for vb_book_fleet
 *   html     a page; else a table
 *   all      every valve gets a chart, needed or not: one engine was chosen
 *   within   what needs attention; its bounds are those of vb_due_list
 *   lives    [n_lives] what was replaced, by family; NULL to leave that out
 */
struct vb_trend_wish {
    const char *book, *as_of;
    int html, all;
    struct vb_due_wish within;
    const struct vb_family_life *lives;
    size_t n_lives;
};

struct vb_trend_report;

/*
 * vb_trend_report_new - look at a pooled fleet.
 *   f, w   are not copied: they must live as long as the trend
 *   o      where everything is written; the head of a page is written now
 *   out    free with vb_trend_report_free
 * Errors: VB_EMEM
 */
enum vb_err vb_trend_report_new(const struct vb_fleet *f, const struct vb_trend_wish *w,
                                struct vb_out *o, struct vb_trend_report **out);

/* vb_trend_report_units - which units are to be taken, in which order; valid until it is freed. */
const size_t *vb_trend_report_units(const struct vb_trend_report *t, size_t *n);

/*
 * vb_trend_report_take - show an engine; it has the form of a vb_book_take.
 * Errors: VB_EMEM, VB_EDOM;  VB_ECONFLICT  these are not the readings that the fleet was
 *         made from: the book has changed meanwhile
 */
enum vb_err vb_trend_report_take(void *trend, size_t unit, const struct vb_engine *e);

/* vb_trend_report_end - what comes behind the engines. Errors: VB_EMEM */
enum vb_err vb_trend_report_end(struct vb_trend_report *t);

/* vb_trend_report_free - NULL is allowed. */
void vb_trend_report_free(struct vb_trend_report *t);

#endif
