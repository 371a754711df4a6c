/* A recipe that is taken can be laid on an export, whatever it says. */
#include <string.h>

#include "fuzz.h"
#include "valvebook/input.h"
#include "valvebook/tidy.h"

static const char export[] = "Engine,Date,Hours,Valve,Found,Left,Temp\n"
                             "HC-1,2026-05-01,120,1I,0.25,0.30,20\n"
                             "HC-1,2026-05-01,120,1E,0.006 in,-,68\n"
                             "HC-1,01.05.2026,\"1,200\",2I1,0.2/0.25,,n/a\n"
                             ",,,2E,0.25\n# \"cold\n//\n0.25\n";

static void
tell(void *arg, const struct vb_msg *m)
{
    (void)arg;
    MUST(strlen(m->text) < sizeof m->text);
}

static void
tidy(const struct vb_recipe *r)
{
    struct vb_out *out, *rejects;
    struct vb_input *in;
    struct vb_tidy *t;
    struct vb_msg m = {0};
    MUST(vb_out_memory(&out) == VB_OK && vb_out_memory(&rejects) == VB_OK);
    MUST(vb_tidy_new(r, out, rejects, tell, NULL, &t) == VB_OK);
    MUST(vb_input_memory(export, sizeof export - 1, 16, "", &in, &m) == VB_OK);
    enum vb_err e = vb_tidy_input(t, in, &m);
    MUST(e == VB_OK || m.text[0]);
    vb_tidy_free(t);
    vb_out_close(out, NULL);
    vb_out_close(rejects, NULL);
}

int
LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct vb_input *in;
    struct vb_recipe *r;
    struct vb_msg m = {0};
    MUST(vb_input_memory((const char *)data, size, 4096, "", &in, &m) == VB_OK);
    enum vb_err e = vb_recipe_read(in, &r, &m);
    MUST(e == VB_OK || m.text[0]);
    if (e)
        return 0;
    tidy(r);
    vb_recipe_free(r);
    return 0;
}
