#ifndef VALVEBOOK_ICAL_H
#define VALVEBOOK_ICAL_H

#include "valvebook/due.h"
#include "valvebook/out.h"

/*
 * vb_ical_due - a due list as a calendar: an event of a whole day for each line that has a
 * date, on that day, or on as_of if that is past. A line without a date has no place in it.
 *   as_of   days since 1970-01-01, with a time of day as fraction if there is one
 * An event's UID is made of engine, kind, valve and life and never changes, so that a
 * calendar moves it. DTSTAMP, LAST-MODIFIED and SEQUENCE (minutes since 1970) are as_of.
 * Where there is no event there is a journal entry that says so, since a calendar must not
 * be empty.
 * Source: RFC 5545.
 */
void vb_ical_due(const struct vb_dues *d, double as_of, struct vb_out *o);

#endif
