/* A unit that is known is known by its own name; a value converts into a finite one. */
#include <math.h>
#include <string.h>

#include "fuzz.h"
#include "valvebook/unit.h"

int
LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    const char *s = (const char *)data;
    struct vb_dec d, to;
    size_t used;
    const struct vb_unit *u = vb_unit_find(s, size);
    if (u)
        MUST(vb_unit_find(u->name, strlen(u->name)) == u);
    if (vb_dec_prefix(s, size, '.', 0, &d, &used))
        return 0;
    MUST(used <= size);
    u = vb_unit_find(s + used, size - used);
    if (u && !vb_unit_convert(u, d, &to))
        MUST(isfinite(vb_dec_double(to)));
    return 0;
}
