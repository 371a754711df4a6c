#ifndef VALVEBOOK_SETTING_IMPL_H
#define VALVEBOOK_SETTING_IMPL_H

#include "valvebook/setting.h"

/* setting_shim.c: what is done to the valves of a shim engine whose todo is SHIM: choose
 * among them, and fill choice, from, after and the final todo. */
enum vb_err sheet_choose_shims(struct vb_sheet *s);

#endif
