/*
 * mail_write - writes one message with what it is given:
 *     mail_write FROM TO SUBJECT NAME DAYS lf|crlf TEXT HTML CSV
 * NAME is that of the attachment, TEXT, HTML and CSV are files; TO is several mailboxes,
 * one a line. Prints why not, with status 1, if a mailbox is refused.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "valvebook/mail.h"

static struct vb_mailbox from, to[8];
static struct vb_msg msg;

static char *
slurp(const char *path, size_t *n)
{
    char *s = calloc(1, 1 << 20);
    FILE *f = fopen(path, "rb");
    if (!s || !f)
        exit(2);
    *n = fread(s, 1, (1 << 20) - 1, f);
    fclose(f);
    return s;
}

static size_t
recipients(char *list)
{
    size_t n = 0;
    for (char *s = list; n < 8; n++) {
        char *end = strchr(s, '\n');
        if (end)
            *end = 0;
        if (vb_mailbox_parse(s, &to[n], &msg))
            return 0;
        if (!end)
            return n + 1;
        s = end + 1;
    }
    return n;
}

int
main(int argc, char **argv)
{
    size_t n, csv_n;
    struct vb_out *out;
    if (argc != 10)
        return 2;
    struct vb_mail mail = {
        .from = &from, .to = to, .subject = argv[3], .csv_name = argv[4]};
    if (vb_mailbox_parse(argv[1], &from, &msg) || !(mail.n_to = recipients(argv[2]))) {
        puts(msg.text);
        return 1;
    }
    mail.date = strtod(argv[5], NULL);
    mail.id = "20261101.3.00112233445566ff";
    mail.eol = strcmp(argv[6], "crlf") == 0 ? "\r\n" : "\n";
    char *text = slurp(argv[7], &n), *html = slurp(argv[8], &n),
         *csv = slurp(argv[9], &csv_n);
    mail.text = text;
    mail.html = html;
    mail.csv = csv;
    mail.csv_n = csv_n;
    if (vb_out_open("-", &out, &msg))
        return 2;
    if (vb_mail_write(&mail, out)) {
        vb_out_close(out, NULL);
        return 3;
    }
    int bad = vb_out_close(out, &msg);
    free(text);
    free(html);
    free(csv);
    return bad ? 2 : 0;
}
