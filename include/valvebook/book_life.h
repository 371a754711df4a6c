#ifndef VALVEBOOK_BOOK_LIFE_H
#define VALVEBOOK_BOOK_LIFE_H

#include <stddef.h>

#include "valvebook/book.h"
#include "valvebook/family_life.h"
#include "valvebook/service.h"

/*
 * vb_family_service - what happened in the engines of a family whose meters run in one unit.
 *   meter_unit   h or km; "" if no meter was read
 */
struct vb_family_service {
    char *family;
    struct vb_family facts;
    char meter_unit[8];
    struct vb_service service;
};

struct vb_services {
    struct vb_family_service *of;
    size_t n, size;
};

/*
 * vb_lives_wish - what is asked.
 *   scope     which engines
 *   as_of     YYYY-MM-DD; nothing later is looked at
 *   part, side, days   as in struct vb_service_wish; part must live as long as the answer
 *   risk      above 0, below 1
 *   replaced_only   how many parts were replaced and at which ages, and nothing else: no
 *             reading of lash is looked at then, and risk is not used
 */
struct vb_lives_wish {
    struct vb_scope scope;
    const char *as_of, *part;
    char side;
    int days;
    double risk;
    int replaced_only;
};

/*
 * vb_book_services - gather it from the book, in order of family.
 *   out       free with vb_services_clear
 * Errors: VB_EUNKNOWN  no engine is meant;  VB_EDB, VB_EMEM
 * Cost:   one engine at a time; memory grows with events and settings only.
 */
enum vb_err vb_book_services(struct vb_book *b, const struct vb_lives_wish *w,
                             struct vb_services *out, struct vb_msg *m);

void vb_services_clear(struct vb_services *s);

/* vb_family_lives - what follows from what was gathered; life [n] points into services. */
struct vb_family_lives {
    struct vb_services services;
    struct vb_family_life *life;
    size_t n;
};

/*
 * vb_book_family_lives - gather it and work it out, in order of family.
 *   f     pooled, of the same families and day
 *   out   free with vb_family_lives_clear; empty on failure
 * Errors: those of vb_book_services and vb_family_life_fit
 */
enum vb_err vb_book_family_lives(struct vb_book *b, const struct vb_fleet *f,
                                 const struct vb_lives_wish *w,
                                 struct vb_family_lives *out, struct vb_msg *m);

void vb_family_lives_clear(struct vb_family_lives *l);

#endif
