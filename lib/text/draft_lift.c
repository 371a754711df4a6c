/* The lift that the headings of events name: "IVO @ 1 mm". */
#include "draft.h"

#include <stdio.h>
#include <string.h>

static int
is_event(const struct draft_col *c)
{
    return c->means == VB_MEANS_READING && draft_is_event(c->quantity);
}

static int
is_lift(const struct draft_col *c)
{
    return c->means == VB_MEANS_READING && c->quantity &&
           strcmp(c->quantity->name, "checking_lift") == 0;
}

/* As the recipe would read it. */
static int
is_readable(const struct draft *d, const char *lift)
{
    const char *mark = strpbrk(lift, ".,");
    return !mark || *mark == d->shape.decimal;
}

/* One for all of them is stated; of several, or of one that others have not, it is told. */
void
draft_lift(struct draft *d)
{
    const char *lift = NULL;
    int same = 1;
    for (size_t i = 0; i < d->n_cols; i++) {
        const struct draft_col *c = &d->col[i];
        if (is_lift(c))
            return;
        if (!is_event(c))
            continue;
        same &= !lift || strcmp(lift, c->words.named) == 0;
        lift = lift ? lift : c->words.named;
    }
    if (lift && *lift && same && is_readable(d, lift)) {
        snprintf(d->lift.value, sizeof d->lift.value, "%s", lift);
        snprintf(d->lift.why, sizeof d->lift.why, "the headings of events name it");
        return;
    }
    for (size_t i = 0; i < d->n_cols; i++)
        if (is_event(&d->col[i]) && d->col[i].words.named[0])
            draft_say(&d->col[i],
                      "CHECK THE LIFT: the heading names %s, which nothing states",
                      d->col[i].words.named);
}
