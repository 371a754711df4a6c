#ifndef VALVEBOOK_DATE_H
#define VALVEBOOK_DATE_H

#include <stddef.h>

#include "valvebook/err.h"

#define VB_DATE_MAX 17 // "2026-11-25T08:30" and a NUL

/*
 * vb_date_parse - read a date, and a time of day if one follows.
 *   s, n     [n] bytes, blanks around allowed
 *   order    how the parts stand: "" or "Y-M-D" for ISO 8601, else the letters Y (four
 *            digits), y (two digits: 20yy), M and D with their separators ("D.M.Y",
 *            "M/D/y"), or "serial" for a spreadsheet's day number (1 = 1900-01-01 with
 *            the customary leap-year slip, so 60 and below are refused; a fraction is
 *            the time of day); in an order that is stated M may also be a month's name
 *   out      [VB_DATE_MAX] receives YYYY-MM-DD or YYYY-MM-DDThh:mm and a NUL
 * A time of day may be followed by AM or PM. Seconds are cut off; a zone is refused.
 * Errors: VB_ESYNTAX  not a date of this order, or no such day
 */
enum vb_err vb_date_parse(const char *s, size_t n, const char *order, char *out);

/* vb_date_order_ok - can a date be read by this order? Day, month and year stand in it once. */
int vb_date_order_ok(const char *order);

/*
 * vb_date_days - days since 1970-01-01 of an ISO date, with a time as a fraction.
 * Errors: VB_ESYNTAX
 */
enum vb_err vb_date_days(const char *iso, double *days);

/* vb_date_iso - the date of a day number, whole days: out [VB_DATE_MAX]. */
enum vb_err vb_date_iso(double days, char *out);

/* vb_date_today - the local calendar date of the clock: out [VB_DATE_MAX]. Commands
 * call this once where nobody gave --as-of; nothing else here looks at the clock.
 * Errors: VB_EIO it cannot be read; VB_ERANGE its year is none from 1900 to 2199. */
enum vb_err vb_date_today(char *out);

/* vb_date_now - the clock, days since 1970-01-01 in UTC, for the date of a message. */
enum vb_err vb_date_now(double *days);

#endif
