#ifndef VALVEBOOK_LOCK_H
#define VALVEBOOK_LOCK_H

#include "valvebook/err.h"

/* vb_lock - the right to be the only one who does something with a file. */
struct vb_lock;

/*
 * vb_lock_take - take it, or wait for whoever has it. The lock is on a file of its own
 * beside the real path of the file, which is made and left there; it ends with the
 * process, whatever ends that, and is not handed to commands that it starts.
 *   suffix   of the lock's file
 *   wait_s   how many seconds to wait; below 0 for ever
 *   out      free with vb_lock_drop
 * Errors: VB_ECONFLICT  another process has it still
 *         VB_EIO        the file cannot be made, or a symbolic link has its name; m says why
 *         VB_EMEM
 */
enum vb_err vb_lock_take(const char *path, const char *suffix, int wait_s,
                         struct vb_lock **out, struct vb_msg *m);

/* vb_lock_drop - give it up and free; NULL is allowed. */
void vb_lock_drop(struct vb_lock *l);

#endif
