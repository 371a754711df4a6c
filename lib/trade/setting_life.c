/* How long settings last, and how valves are set: one valve's readings after another. */
#include <math.h>

#include "valvebook/life.h"
#include "valvebook/quantity.h"
#include "valvebook/service.h"

/* A setting that is being followed. */
struct follow {
    struct vb_service *s;
    const struct vb_engine *e;
    int side;
    int open;         // the lash was left inside its limits
    int number;       // of the valve's life
    double set_at;    // position
    double inside_at; // at which it was found inside last, or set_at
    int kept;         // `set` is being filled
    double set_running;
    struct vb_set set;
};

static double
position(const struct follow *f, const struct vb_visit *v)
{
    return f->s->wish.days ? floor(v->day) : v->running;
}

static int
is_inside(const struct follow *f, double lash)
{
    const struct vb_family *fam = f->e->family;
    return !(lash < fam->lash_min[f->side]) && !(lash > fam->lash_max[f->side]);
}

static int
has_limits(const struct follow *f)
{
    const struct vb_family *fam = f->e->family;
    return !isnan(fam->lash_min[f->side]) || !isnan(fam->lash_max[f->side]);
}

/* It was still inside when it was looked at last. */
static enum vb_err
let_go(struct follow *f)
{
    enum vb_err e = VB_OK;
    if (f->kept)
        e = vb_sets_add(&f->s->set[f->side], &f->set);
    if (!e && f->open && f->inside_at > f->set_at)
        e = vb_spans_add(&f->s->setting[f->side], f->inside_at - f->set_at, INFINITY);
    f->open = f->kept = 0;
    return e;
}

static enum vb_err
found(struct follow *f, const struct vb_lash *r, const struct vb_visit *v, double lash)
{
    double at = position(f, v);
    if (vb_life_number(f->e, r->valve, v->day, 0, VB_RENEWS_LASH) > f->number)
        return VB_OK; // it was renewed without being set: what is found is not its lash
    if (v->running > f->set_running) {
        f->set.seen = v->running - f->set_running;
        if (isnan(f->set.found)) {
            f->set.found = lash;
            f->set.gap = f->set.seen;
        }
    }
    if (!f->open || !(at > f->set_at))
        return VB_OK;
    if (is_inside(f, lash)) {
        f->inside_at = at;
        return VB_OK;
    }
    f->open = 0;
    return vb_spans_add(&f->s->setting[f->side], f->inside_at - f->set_at,
                        at - f->set_at);
}

static enum vb_err
left(struct follow *f, const struct vb_lash *r, const struct vb_visit *v, double lash)
{
    enum vb_err e = let_go(f);
    double u = vb_lash_u(f->e->family, f->side, r->u);
    double q = isnan(u) ? 1 : u / VB_U_REFERENCE;
    f->number = vb_life_number(f->e, r->valve, v->day, 1, VB_RENEWS_LASH);
    f->set_at = f->inside_at = position(f, v);
    f->open = has_limits(f) && is_inside(f, lash) && !isnan(f->set_at);
    f->kept = 1;
    f->set_running = v->running;
    f->set = (struct vb_set){lash, NAN, NAN, 0, q * q};
    return e;
}

/* Left as it was found in the same life: nobody touched it. */
static int
is_set(const struct follow *f, const struct vb_lash *r, double day)
{
    int number = vb_life_number(f->e, r->valve, day, 1, VB_RENEWS_LASH);
    return !isnan(r->left) &&
           (r->left != r->found ||
            (vb_life_number(f->e, r->valve, day, 0, VB_RENEWS_LASH) != number &&
             !(f->kept && f->number == number)));
}

static int
is_wished(const struct follow *f, const struct vb_lash *r)
{
    return !f->s->wish.side || f->s->wish.side == r->valve.side;
}

enum vb_err
vb_setting_lives(struct vb_service *s, const struct vb_engine *e)
{
    struct follow f = {.s = s, .e = e};
    enum vb_err err = VB_OK;
    for (size_t i = 0; !err && i < e->n_lash; i++) {
        const struct vb_lash *r = &e->lash[i];
        const struct vb_visit *v = &e->visit[r->visit];
        if (i > 0 && !vb_valve_same(r->valve, e->lash[i - 1].valve))
            err = let_go(&f);
        f.side = r->valve.side == 'E';
        if (err || !is_wished(&f, r))
            continue;
        if (!isnan(r->found) && f.kept) // what is open was kept
            err = found(&f, r, v,
                        vb_lash_reference(e->family, f.side, r->found, r->temp_c));
        if (!err && is_set(&f, r, v->day))
            err =
                left(&f, r, v, vb_lash_reference(e->family, f.side, r->left, r->temp_c));
    }
    return err ? err : let_go(&f);
}
