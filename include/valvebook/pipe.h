#ifndef VALVEBOOK_PIPE_H
#define VALVEBOOK_PIPE_H

#include <stddef.h>

#include "valvebook/err.h"

/*
 * vb_pipe_to - run a command by sh -c, with bytes on its standard input, and wait for it.
 *   s, n       [n] bytes
 *   timeout_s  after so many seconds the command and all it has started (its process
 *              group) are ended, by SIGTERM and two seconds later by SIGKILL; 0: never
 * It has the output, the errors and the environment of this process.
 * Errors: VB_EIO  it could not be started, did not read all of it, took too long, was
 *                 killed, or ended with a status other than 0; m says which
 */
enum vb_err vb_pipe_to(const char *command, const char *s, size_t n, unsigned timeout_s,
                       struct vb_msg *m);

#endif
