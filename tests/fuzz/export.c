/*
 * An export, read by one of several recipes: whatever its bytes are, the readings that come
 * out are a sound table, and every refused row is among the rejects.
 */
#include <string.h>

#include "fuzz.h"
#include "valvebook/input.h"
#include "valvebook/number.h"
#include "valvebook/tidy.h"

#define HEAD "column,means,unit,at,state,format,value\n"

static const char *const recipes[] = {
    HEAD "Engine,engine,,,,,\nDate,date,,,,,\nHours,meter,h,,,,\nValve,valve,,,,,\n"
         "Found,lash,mm,,found,,\nLeft,lash,mm,,left,,\nTemp,temp,Cel,,,,\nBy,by,,,,,\n",
    HEAD "Engine,engine,,,,,\nDate,date,,,,D.M.Y,\nKm,meter,km,,,,\n1I,lash,mm,1I,,,\n"
         "1E,lash,mm,1E,,,\n2I,lash,mm,2I,,,\n2E,lash,mm,2E,,,\nState,state,,,,,\n"
         ",decimal,,,,,\",\"\n,delimiter,,,,,;\n",
    HEAD "Engine,engine,,,,,\nDate,date,,,,M/D/y,\nCyl,cylinder,,,,,\nSide,side,,,,,\n"
         "Lash (mm),lash,mm,,found,,\nLash (in),lash,in,,found,,\nGo,lash,mm,,left,go,\n"
         "No-go,lash,mm,,left,no-go,\nU,u,mm,,,,\nNote,note,,,,,\nGauge,gauge,,,,,\n",
    HEAD "Engine,engine,,,,,\nDate,date,,,,,\nWhat,quantity,,,,,\nAt,valve,,,,,\n"
         "Value,reading,,,found,,\nUnit,unit,,,,,\n,checking_lift,,,,,1 mm\n",
    HEAD "1,lash,mm,,,,\n,engine,,,,,HC-1\n,date,,,,,2026-05-01\n,heading,,,,,no\n"
         ",order,,,,,1I 1E 2I 2E\n,passes,,,,,found left\n",
    HEAD "Engine,engine,,,,,\nDate,date,,,,D.M.Y,\nHours,meter,h,,,,\nCyl,cylinder,,,,,\n"
         "Side,side,,,,,\nNo,index,,,,,\nFound,lash,mm,,found,,\nLeft,lash,mm,,left,,\n"
         "Note,note,,,,,\n,merged,,,,,engine date meter cylinder side note\n"
         ",short_rows,,,,,yes\n,remark,,,,,#\n",
    HEAD
    "Engine,engine,,,,,\nDate,date,,,,,\nHours,meter,h,,,,\nBank,bank,,,,,\n"
    "Cyl,cylinder,,,,,\nCyl,cylinder,,5,,,B 1\nCyl,cylinder,,1,,,A 1\nSide,side,,,,,\n"
    "Side,side,,E2,,,rear exh\nLash,lash,mm,,,found/left,\nIn,lash,mm,1I,found,,\n"
    "In,lash,,,,0.25/0.35,ok\nTemp,temp,Cel,,,,\nTemp,temp,,,,20,cold\n",
};
#define N_RECIPES (sizeof recipes / sizeof *recipes)

static struct vb_recipe *
recipe(size_t i)
{
    static struct vb_recipe *kept[N_RECIPES];
    struct vb_input *in;
    struct vb_msg m = {0};
    if (kept[i])
        return kept[i];
    MUST(vb_input_memory(recipes[i], strlen(recipes[i]), 4096, "", &in, &m) == VB_OK);
    if (vb_recipe_read(in, &kept[i], &m)) {
        fprintf(stderr, "recipe %zu: line %llu: %s\n", i, m.line, m.text);
        abort();
    }
    return kept[i];
}

static void
tell(void *arg, const struct vb_msg *m)
{
    MUST(m->text[0]);
    ++*(size_t *)arg;
}

/* Cells of every row; returns how many rows there are behind the heading. */
static size_t
rows(const char *s, size_t n, size_t cells, unsigned long long *count)
{
    struct vb_input *in;
    struct vb_csv *c;
    struct vb_row row = {0};
    struct vb_msg m = {0};
    struct vb_dec d;
    size_t k = 0;
    MUST(vb_input_memory(s, n, 4096, "", &in, &m) == VB_OK);
    MUST(vb_csv_new(in, ',', &c) == VB_OK);
    enum vb_err e;
    while ((e = vb_csv_next(c, &row, &m)) != VB_EEND) {
        /* a refused row is kept as it was, even where that is no text */
        MUST(!e || (e == VB_ESYNTAX && cells == 5));
        MUST(e || row.n == cells);
        if (k++ && !e && cells == 16 && vb_text_is(row.cell[4], "end") &&
            !vb_dec_parse(row.cell[6].s, row.cell[6].n, '.', 0, &d))
            *count = (unsigned long long)d.mant;
    }
    vb_csv_free(c);
    return k - 1;
}

int
LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct vb_out *out, *rejects;
    struct vb_input *in;
    struct vb_tidy *t;
    struct vb_msg m = {0};
    char *s;
    size_t n, told = 0;
    unsigned long long count = 0;
    if (size < 2)
        return 0;
    const struct vb_recipe *r = recipe(data[0] % N_RECIPES);
    MUST(vb_out_memory(&out) == VB_OK && vb_out_memory(&rejects) == VB_OK);
    MUST(vb_tidy_new(r, out, rejects, tell, &told, &t) == VB_OK);
    MUST(vb_input_memory((const char *)data + 2, size - 2, (size_t)data[1] * 8 + 1, "",
                         &in, &m) == VB_OK);
    enum vb_err e = vb_tidy_input(t, in, &m);
    MUST(e == VB_OK || m.text[0]);
    vb_tidy_end(t);
    size_t refused = vb_tidy_refused(t);
    MUST(told >= refused);
    vb_tidy_free(t);
    MUST(vb_out_take(out, &s, &n) == VB_OK);
    MUST(rows(s, n, 16, &count) == count + 1);
    free(s);
    MUST(vb_out_take(rejects, &s, &n) == VB_OK);
    MUST(rows(s, n, 5, &count) == refused);
    free(s);
    return 0;
}
