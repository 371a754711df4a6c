/* Profiles of lobes: tens of them, some hundred points each. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "cams_impl.h"
#include "valvebook/gauge.h"

static struct vb_profile *
find(const struct vb_profiles *p, const char *name)
{
    for (size_t i = 0; i < p->n; i++)
        if (strcmp(p->profile[i].name, name) == 0)
            return &p->profile[i];
    return NULL;
}

/* A new profile without points; NULL when out of memory. */
static struct vb_profile *
add(struct vb_profiles *p, const char *name)
{
    if (p->n == p->size) {
        size_t size = p->size ? 2 * p->size : 8;
        struct vb_profile *q = realloc(p->profile, size * sizeof *q);
        if (!q)
            return NULL;
        p->profile = q;
        p->size = size;
    }
    struct vb_profile *q = &p->profile[p->n++];
    memset(q, 0, sizeof *q);
    strncpy(q->name, name, sizeof q->name - 1);
    q->step = INFINITY;
    return q;
}

enum vb_err
vb_profiles_add(struct vb_profiles *p, const char *name, struct vb_lobe_point point,
                double step)
{
    struct vb_profile *q = p->n ? &p->profile[p->n - 1] : NULL;
    if ((!q || strcmp(q->name, name) != 0) && !(q = add(p, name)))
        return VB_EMEM;
    if (q->n == q->size) {
        size_t size = q->size ? 2 * q->size : 256;
        struct vb_lobe_point *t = realloc(q->point, size * sizeof *t);
        if (!t)
            return VB_EMEM;
        q->point = t;
        q->size = size;
    }
    q->point[q->n++] = point;
    q->step = fmin(q->step, step);
    return VB_OK;
}

void
vb_profiles_clear(struct vb_profiles *p)
{
    for (size_t i = 0; i < p->n; i++) {
        free(p->profile[i].point);
        vb_lobe_free(p->profile[i].lobe[0]);
        vb_lobe_free(p->profile[i].lobe[1]);
    }
    free(p->profile);
    memset(p, 0, sizeof *p);
}

int
cams_has_profile(const struct cams *c, const char *name)
{
    const struct vb_profile *q = find(c->p, name);
    return q && q->n > 0;
}

const struct vb_lobe *
cams_lobe(struct cams *c, const char *name, int reversed, double *u_lobe)
{
    struct vb_msg m = {0};
    struct vb_profile *q = find(c->p, name);
    if (!*name)
        return NULL;
    if (!q && !(q = add(c->p, name))) {
        c->oom = 1;
        return NULL;
    }
    if (!q->tried[reversed]) {
        q->tried[reversed] = 1;
        enum vb_err e = vb_lobe_new(q->point, q->n, reversed, &q->lobe[reversed], &m);
        c->oom |= e == VB_EMEM;
        if (e && !q->tried[!reversed])
            cams_refuse(c, NULL, NULL, "lobe '%s': %s", name,
                        q->n ? m.text : "no profile of this name in the table lobes");
    }
    if (q->lobe[reversed] && vb_u_resolution(q->step, u_lobe))
        *u_lobe = 0;
    return q->lobe[reversed];
}
