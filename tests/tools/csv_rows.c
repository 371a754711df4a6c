/* csv_rows [FILE]: the records of a CSV file as JSON arrays of strings, one a line. */
#include <stdio.h>

#include "valvebook/csv.h"

static void
put_string(struct vb_text t)
{
    putchar('"');
    for (size_t i = 0; i < t.n; i++) {
        unsigned char c = (unsigned char)t.s[i];
        if (c < 0x20 || c == '"' || c == '\\')
            printf("\\u%04x", c);
        else
            putchar(c);
    }
    putchar('"');
}

int
main(int argc, char **argv)
{
    struct vb_input *in;
    struct vb_csv *c;
    struct vb_row row = {0};
    struct vb_msg m = {0};
    enum vb_err e = vb_input_open(argc > 1 ? argv[1] : "-", "", &in, &m);
    if (!e)
        e = vb_csv_new(in, ',', &c);
    if (e) {
        fprintf(stderr, "csv_rows: %s: %s\n", m.file, m.text);
        return 2;
    }
    while (!(e = vb_csv_next(c, &row, &m))) {
        for (size_t i = 0; i < row.n; i++) {
            putchar(i ? ',' : '[');
            put_string(row.cell[i]);
        }
        puts("]");
    }
    vb_csv_free(c);
    if (e != VB_EEND)
        fprintf(stderr, "csv_rows: %s:%llu: %s\n", m.file, m.line, m.text);
    return e == VB_EEND && fflush(stdout) == 0 ? 0 : 2;
}
