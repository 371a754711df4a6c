#ifndef VALVEBOOK_RECIPE_IMPL_H
#define VALVEBOOK_RECIPE_IMPL_H

#include "valvebook/recipe.h"

/* recipe.c: a text of its own, NULL without memory; VB_ESYNTAX, and why in m. */
char *recipe_copy(struct vb_text t);
enum vb_err recipe_say(struct vb_msg *m, const char *what, struct vb_text t);

/* recipe_words.c: a word for a state; one for what stands in the cells of a column, of which name,
 * number and meaning are known. Errors: VB_EMEM, VB_ESYNTAX */
enum vb_err recipe_state_word(struct vb_recipe *r, char state, struct vb_text word);
enum vb_err recipe_cell_word(struct vb_recipe *r, const struct vb_recipe_col *c,
                             struct vb_text word, struct vb_text at,
                             struct vb_text format, struct vb_msg *m);
void recipe_words_free(struct vb_recipe *r);

#endif
