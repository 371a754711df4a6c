#ifndef VALVEBOOK_CAMS_H
#define VALVEBOOK_CAMS_H

#include <stddef.h>

#include "valvebook/cam_place.h"
#include "valvebook/engine.h"
#include "valvebook/err.h"
#include "valvebook/guard.h"
#include "valvebook/lobe.h"
#include "valvebook/quantity.h"
#include "valvebook/shift.h"
#include "valvebook/teeth.h"

/*
 * The cams of engines: where each stands in each build, how far from its nominal events
 * and from where it stood, and what explains that. From readings as they were taken to
 * rows for a person. Crank degrees, positive later; lengths in mm.
 *
 * Expected sizes: an engine has 1 to 4 cams, 4 to 48 valves, and is timed at a few visits.
 */

#define VB_U_WHEEL 0.5 // deg, of an angle that states no u: a degree wheel turned by hand
#define VB_U_TDC   1.0 // deg, of a TDC without stop readings: taken as read
// both common practice

/* --- what was read and what happened ------------------------------------------------ */

enum vb_cam_what {
    VB_CAM_OPENS,
    VB_CAM_CLOSES,
    VB_CAM_LIFT_TDC,
    VB_CAM_CHECKING_LIFT,
    VB_CAM_STOP_BEFORE,
    VB_CAM_STOP_AFTER,
    VB_CAM_LASH,
    VB_CAM_STEP, // of a sprocket off its mark
    VB_CAM_WHATS
};

/* vb_cam_what_find - by the quantity's name; VB_CAM_WHATS for any other. */
enum vb_cam_what vb_cam_what_find(const char *quantity);

/*
 * vb_cam_reading - one reading.
 *   at            members 0: all of them
 *   place         of a step: as in the book
 *   value         found and left; NaN for what was not read
 *   u             standard uncertainty, NaN if unknown
 *   from          sheet and line it came from, "" if unknown
 */
struct vb_cam_reading {
    enum vb_cam_what what;
    size_t visit;
    struct vb_valve at;
    char place[VB_AT_MAX];
    double value[2];
    double u;
    char from[72];
};

/*
 * vb_cam_event - something that places cams anew, or says which cam is where.
 *   fit        item and reversed are said
 *   at, place  whom it concerns, both; members 0: all of them
 *   item       "" if nobody named it;  reversed   -1 not said
 */
struct vb_cam_event {
    double day;
    int fit;
    struct vb_valve at;
    struct vb_cam_place place;
    char build[32], date[VB_DAY_TEXT], item[VB_LOBE_NAME];
    int reversed;
};

/*
 * vb_profile - a profile of the table lobes.
 *   step     mm, the last digit its lifts are written with
 *   lobe     made when first needed; [1] is that of a cam that turns the other way
 */
struct vb_profile {
    char name[VB_LOBE_NAME];
    struct vb_lobe_point *point;
    size_t n, size;
    double step;
    struct vb_lobe *lobe[2];
    int tried[2];
};

/* vb_profiles - of all engines. A name that a family states and nobody has a profile of is
 * added without points, so that it is refused once. Free with vb_profiles_clear. */
struct vb_profiles {
    struct vb_profile *profile;
    size_t n, size;
};

/*
 * vb_profiles_add - append a point to the newest profile, or to a new one of that name.
 *   lift, step   mm; step is the last digit of lift
 * Errors: VB_EMEM
 */
enum vb_err vb_profiles_add(struct vb_profiles *p, const char *name,
                            struct vb_lobe_point point, double step);
void vb_profiles_clear(struct vb_profiles *p);

/* vb_cam_engine - one engine, in order of day; readings in order of visit. */
struct vb_cam_engine {
    const char *name, *family_name;
    const struct vb_family *family;
    const struct vb_visit *visit;
    size_t n_visits;
    const struct vb_cam_reading *reading;
    size_t n_readings;
    const struct vb_cam_event *event;
    size_t n_events;
};

/* --- what comes of it --------------------------------------------------------------- */

/* Against what a cam is held. In the order in which rows come. */
enum vb_cam_against {
    VB_AGAINST_NOTHING, // nothing to hold it against
    VB_AGAINST_NOMINAL, // the family's events
    VB_AGAINST_TIMED,   // where it stood when this build was timed first
    VB_AGAINST_LAST,    // where it stood last in the build before
    VB_AGAINST_BANK,    // the same cam of another bank
    VB_AGAINST_MARK,    // a sprocket's mark
};

enum vb_cam_mix {
    VB_CAM_OWN,      // nothing speaks against its being the right cam
    VB_CAM_SIDES,    // the events are those of the other side's cam
    VB_CAM_BANKS,    // those of another bank's
    VB_CAM_STRANGER, // of none that the engine has
};

/* vb_cam_figures - u_: standard uncertainty; NaN where something cannot be said. Overlap,
 * separation and advance are of a cam and its fellow of the other side at that visit;
 * separation in cam degrees. */
struct vb_cam_figures {
    double centre, u_centre, duration, u_duration;
    double overlap, u_overlap, separation, u_separation, advance, u_advance;
};

/*
 * vb_cam_row - a cam or a valve in a build, held against one thing.
 *   engine     index into vb_cam_list.engine
 *   cam        of the row;  valve   all 0 where the row is of the cam
 *   at         both in words: "AI", "3E2", or a sprocket's place as written
 *   build, since    name of the newest rebuild so far; date of what placed the cam
 *   number     of what placed it, 0 before the first
 *   current    it stands so still, as far as events and later timings say
 *   date, left      visit, and whether as left
 *   n          valves that were read (1 in a row of a valve, 0 of a sprocket's)
 *   reference, reference_date   what it is held against: "B1", "bank B"
 *   n_shift    valves that both have; 0: no shift
 *   shift      VB_AGAINST_BANK: phase, drive, their u, k and beyond only; MARK: the same
 *   by_lift    timed by lift at TDC: its duration is the profile's, and not printed
 *   plain      some valve was not split by a profile
 *   limit      tolerance or limit stated for it, deg, NaN if none
 *   verdict    against it, where has_verdict
 *   mix, other the right cam? other: the place whose events it shows
 *   odd        valve that contradicts its fellows, "" if none
 *   n_both, both   where one cam works both sides: the shifts of all its valves that were
 *              read with these, pooled as one; 0: not both sides have some, or a row of a valve
 *   parted, apart  inlet shift less exhaust shift, deg, where parted: beyond its uncertainty, so
 *              that no drive has done it
 *   hint       in words; "" if there is nothing to say
 *   alarm      more than a note: valve-due lists it
 */
struct vb_cam_row {
    size_t engine;
    struct vb_cam_place cam;
    struct vb_valve valve;
    char at[VB_AT_MAX], build[32], since[VB_DAY_TEXT], date[VB_DAY_TEXT];
    int number, current, left;
    size_t n;
    struct vb_cam_figures fig;
    enum vb_cam_against against;
    char reference[40], reference_date[VB_DAY_TEXT];
    size_t n_shift;
    struct vb_cam_shift shift;
    int by_lift, plain;
    double limit;
    struct vb_guard verdict;
    int has_verdict;
    struct vb_cause_found cause;
    int has_cause;
    enum vb_cam_mix mix;
    size_t n_both;
    struct vb_cam_shift both;
    int parted;
    double apart;
    char other[VB_AT_MAX], odd[VB_VALVE_MAX];
    char hint[256];
    int alarm;
};

struct vb_cam_unit {
    char *name, *family;
    size_t refused; // readings of it that could not be used
};

/*
 * vb_cam_list - rows in order of engine, cam, valve, build, timing and against; and what was
 * refused, each with the engine, the date, the place and the reason. Free with
 * vb_cam_list_clear.
 */
struct vb_cam_list {
    struct vb_cam_unit *engine;
    size_t n_engines, engines_size;
    struct vb_cam_row *row;
    size_t n, size;
    struct vb_msg *refused;
    size_t n_refused, refused_size;
};

/* vb_cam_wish - what to list: past builds and earlier timings too; valves, not cams. */
struct vb_cam_wish {
    int all, each_valve;
};

/*
 * vb_cams_add - work out one engine and append its rows.
 *   Of a visit the readings as found and as left are two timings. On the day of an event
 *   the reading as found belongs to what was before and the one as left to what came.
 *   Opening and closing need a checking lift: the visit's for that valve, the one stated
 *   of fewest valves first, else the family's. TDC is that of the stop readings of the
 *   valve's own cylinder, else of the lowest cylinder that has some, else as read. Lash
 *   is that of the same valve, visit and state; as found where it was not set.
 *   A cam is timed by events where one of its valves has some, else by lift at TDC.
 * Errors: VB_EMEM, VB_EDOM (the sum of a cam cannot be worked out)
 * Cost:   O(visits x readings of a visit x valves), and Brent roots for each comparison.
 * Source: docs/methods.md, Cam timing.
 */
enum vb_err vb_cams_add(struct vb_cam_list *out, const struct vb_cam_engine *e,
                        struct vb_profiles *p, const struct vb_cam_wish *w);

void vb_cam_list_clear(struct vb_cam_list *l);

/* vb_cam_rank - how urgent a row is, for tables: greater is more suspicious. */
double vb_cam_rank(const struct vb_cam_row *r);

const char *vb_cam_against_name(enum vb_cam_against a);

#endif
