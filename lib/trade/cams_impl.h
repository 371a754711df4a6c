#ifndef VALVEBOOK_CAMS_IMPL_H
#define VALVEBOOK_CAMS_IMPL_H

#include "valvebook/cams.h"

/* timed - one valve at one visit, as found or as left.
 *   anew     it was read behind the events of its day: as left, or found behind that
 *   build    placings of its cam so far
 *   item     which cam it is, "" if nobody said; own_profile: its lobe is of that name
 *   lobe     its profile, NULL;  u_lobe   mm, of its lifts
 *   lift     checking lift, mm
 *   by_lift  from lift at TDC: its duration is the profile's
 */
struct timed {
    size_t visit;
    int left, anew;
    struct vb_valve v;
    struct vb_cam_place cam;
    int build;
    const char *item;
    int own_profile;
    const struct vb_lobe *lobe;
    double u_lobe;
    double lift;
    int by_lift;
    struct vb_timing_read r;
};

static inline int
cams_same(struct vb_cam_place a, struct vb_cam_place b)
{
    return a.bank == b.bank && a.side == b.side;
}

/* set - the valves of one cam at one visit, as found or as left: neighbours in cams.t */
struct set {
    const struct timed *t;
    size_t n;
};

/* cams - an engine being worked out. */
struct cams {
    const struct vb_cam_engine *e;
    struct vb_profiles *p;
    const struct vb_cam_wish *w;
    struct vb_cam_list *out;
    size_t engine;
    struct timed *t; // in order of cam, visit, state, valve
    size_t n, size;
    int earlier; // rows are of a timing behind which this build has a newer one
    int oom;     // something could not be worked out or kept: the whole fails in the end
};

/* cam_list.c */
struct vb_cam_row *cams_new_row(struct cams *c);
/* "ENGINE DATE PLACE: text"; date may be NULL, place too */
void cams_refuse(struct cams *c, const char *date, const char *place, const char *fmt,
                 ...) __attribute__((format(printf, 4, 5)));

/* cam_profile.c: the lobe of a name as it turns, and how well its lifts are known; NULL if
 * there is none, which is refused once */
const struct vb_lobe *cams_lobe(struct cams *c, const char *name, int reversed,
                                double *u_lobe);
/* is there a profile of this name? */
int cams_has_profile(const struct cams *c, const char *name);

/* cam_build.c. inclusive: events of that very day count */
int cams_build(const struct cams *c, struct vb_cam_place cam, double day, int inclusive);
const struct vb_cam_event *cams_placing(const struct cams *c, struct vb_cam_place cam,
                                        int number);
const char *cams_build_name(const struct cams *c, struct vb_cam_place cam, int number);
/* which cam stands there, "" if nobody said; and does it face the other way? */
const char *cams_item(const struct cams *c, struct vb_cam_place cam, double day,
                      int inclusive);
/* the profile of the lobes there: the item's, *own, or the family's. An item that was fitted
 * to the other side of one cam has the profile of that side, and of this one nobody said: "" */
const char *cams_lobe_name(const struct cams *c, struct vb_cam_place cam, double day,
                           int inclusive, int *own);
int cams_reversed(const struct cams *c, struct vb_cam_place cam, double day,
                  int inclusive);

/* cam_read.c: fill c->t */
enum vb_err cams_gather(struct cams *c);

/* cam_compare.c */
/* nominal events of a side; of a cam with a lobe of its own about the same centre, NULL:
 * the family's. 0 if they are not known */
int cams_events(struct cams *c, int side, const struct vb_lobe *own,
                struct vb_events *out);
/* what the valve would show if its cam stood as the family says; 0 if that is not known */
int cams_nominal(struct cams *c, const struct timed *to, struct timed *out);
/* 0 if the two cannot be compared (other checking lifts, and no profile), or refused */
int cams_shift(struct cams *c, const struct timed *from, const struct timed *to,
               struct vb_shift *out);
/* the train of a timed valve, checking lift as read */
struct vb_train cams_train(const struct cams *c, const struct timed *t);

/* cam_figures.c */
enum vb_err cams_figures(const struct set *own, const struct set *fellow,
                         struct vb_cam_figures *f);

/* cam_rows.c: shifts [VB_CAM_VALVES] of the valves of a set; from NULL: from nominal. of: whose
 * each is. Returns how many. */
size_t cams_shifts(struct cams *c, const struct set *from, const struct set *to,
                   struct vb_shift *out, const struct timed **of);

/* cam_rows.c, cam_banks.c, cam_marks.c: append rows */
enum vb_err cams_rows(struct cams *c);
enum vb_err cams_banks(struct cams *c);
enum vb_err cams_marks(struct cams *c);
/* the set that begins at t */
struct set cams_set(const struct cams *c, const struct timed *t);
/* that of a cam, at the visit and in the state of another set; n = 0 if it was not timed then */
struct set cams_beside(const struct cams *c, const struct set *s,
                       struct vb_cam_place cam);
/* what a row says of whom and when; fig is left NaN */
struct vb_cam_row *cams_row(struct cams *c, const struct set *s, struct vb_valve v);

/* cam_mix.c: is it the right cam? Sets mix, other. */
void cams_mix(struct cams *c, const struct set *s, struct vb_cam_row *r);

/* cam_both.c: one cam that works both sides moves both alike. Sets n_both, both, parted,
 * apart of a row with own [n] shifts. */
enum vb_err cams_both(struct cams *c, const struct set *from, const struct set *to,
                      const struct vb_shift *own, size_t n, struct vb_cam_row *r);

/* cam_words.c: cause, verdict, hint and alarm of a row whose shift is known */
void cams_judge(const struct cams *c, struct vb_cam_row *r);

#endif
