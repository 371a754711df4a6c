#ifndef VALVEBOOK_TIDY_H
#define VALVEBOOK_TIDY_H

#include "valvebook/err.h"
#include "valvebook/out.h"
#include "valvebook/recipe.h"

/* vb_tell - what a command does with a message; the library itself never prints. */
typedef void vb_tell(void *arg, const struct vb_msg *m);

/* vb_tidy - turns exports into one stream of readings. */
struct vb_tidy;

/*
 * vb_tidy_new - begin a stream: writes the heading of the table `readings`.
 *   r         how to read; the caller keeps it until vb_tidy_free
 *   out       receives the readings
 *   rejects   receives refused rows whole, with source, line, column and reason; NULL:
 * none tell      is called for every refused cell or row Errors: VB_EMEM
 */
enum vb_err vb_tidy_new(const struct vb_recipe *r, struct vb_out *out,
                        struct vb_out *rejects, vb_tell *tell, void *arg,
                        struct vb_tidy **t);

/*
 * vb_tidy_file - read one export.
 *   path   file name, or "-" for standard input
 * A wrong cell is refused by name and its row goes to the rejects; the other readings of
 * the row stand. Memory does not grow with the file. Errors: VB_EIO      the file cannot
 * be opened or read to its end VB_ESYNTAX  its heading does not fit the recipe (nothing
 * was written) VB_EMEM
 */
enum vb_err vb_tidy_file(struct vb_tidy *t, const char *path, struct vb_msg *m);

/* The same from an open stream, which is closed in every case. */
enum vb_err vb_tidy_input(struct vb_tidy *t, struct vb_input *in, struct vb_msg *m);

/* vb_tidy_end - write the row that says the stream is whole: count and CRC-32. */
void vb_tidy_end(struct vb_tidy *t);

/* vb_tidy_refused - how many rows were refused so far. */
unsigned long long vb_tidy_refused(const struct vb_tidy *t);

void vb_tidy_free(struct vb_tidy *t);

/*
 * vb_draft - guess a recipe from an export's heading and first rows and write it, with
 * the reason of each guess in the column `why`.
 * Errors: VB_EIO, VB_EMEM; VB_ESYNTAX if nothing in it looks like a table of readings
 */
enum vb_err vb_draft(const char *path, struct vb_out *out, struct vb_msg *m);

#endif
