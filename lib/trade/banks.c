#include "valvebook/banks.h"

#include <string.h>

static int
is_bank(char c)
{
    return c >= 'A' && c <= 'Z' && c != 'I' && c != 'E';
}

/* Digits only, without a leading zero; 0 for anything else. Steps over them. */
static int
cylinder(const char **s)
{
    int v = 0;
    if (**s == '0')
        return 0;
    for (; **s >= '0' && **s <= '9' && v <= VB_CYL_MAX; ++*s)
        v = v * 10 + (**s - '0');
    return v <= VB_CYL_MAX ? v : 0;
}

enum vb_err
vb_banks_parse(const char *s, struct vb_banks *out)
{
    struct vb_banks b = {{0}};
    do {
        char bank = *s;
        if (!is_bank(bank) || memchr(b.of, bank, sizeof b.of) || s[1] != ':')
            return VB_ESYNTAX;
        s++;
        do {
            s++;
            int cyl = cylinder(&s);
            if (!cyl || b.of[cyl])
                return VB_ESYNTAX;
            b.of[cyl] = bank;
        } while (*s == '-');
    } while (*s == ' ' && *++s);
    if (*s || s[-1] == ' ')
        return VB_ESYNTAX;
    *out = b;
    return VB_OK;
}

int
vb_banks_list(const struct vb_banks *b, char *out)
{
    int n = 0;
    for (char c = 'A'; c <= 'Z'; c++)
        if (memchr(b->of, c, sizeof b->of))
            out[n++] = c;
    out[n] = 0;
    return n;
}
