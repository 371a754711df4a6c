#ifndef VALVEBOOK_TOOL_H
#define VALVEBOOK_TOOL_H

#include "valvebook/err.h"

/* Exit statuses of every command. */
enum { VB_EXIT_OK = 0, VB_EXIT_SOME = 1, VB_EXIT_FAIL = 2 };

/*
 * vb_tool - what a command knows of itself.
 *   name     for messages
 *   about    what it is for, as in the NAME of its page
 *   usage    as in the SYNOPSIS of its page, without a line end
 *   status   the worst so far
 */
struct vb_tool {
    const char *name, *about;
    const char *usage;
    int status;
};

/* vb_tool_tell - print a message as "name: file:line: column 'x': text"; arg is a
 * vb_tool. */
void vb_tool_tell(void *arg, const struct vb_msg *m);

/* vb_tool_fail - the same, and the status becomes 2. Without a text err is put in words.
 */
void vb_tool_fail(struct vb_tool *t, enum vb_err err, const struct vb_msg *m);

/* vb_tool_raise - the status becomes at least this. */
void vb_tool_raise(struct vb_tool *t, int status);

/* vb_tool_wrong - complain of the command line and print the usage; returns 2. */
int vb_tool_wrong(struct vb_tool *t, const char *what, const char *arg);

/*
 * vb_tool_option - the same of an option that getopt_long has not taken.
 *   known   what getopt_long leaves in optopt: not 0 for a long option that lacks its value,
 *           or has one that it may not have
 */
int vb_tool_option(struct vb_tool *t, const char *option, int known);

/* vb_tool_help - usage on standard output;  vb_tool_version - name and version.
 * Both return the exit status: 2 when standard output cannot be written. */
int vb_tool_help(struct vb_tool *t);
int vb_tool_version(struct vb_tool *t);

/*
 * vb_tool_as_of - check an --as-of date, or take today's where *as_of is NULL.
 *   iso     [VB_DATE_MAX] receives the date as ISO 8601; *as_of points at it afterwards
 * Returns 0 after complaining of a bad date.
 */
int vb_tool_as_of(struct vb_tool *t, const char **as_of, char *iso);

#endif
