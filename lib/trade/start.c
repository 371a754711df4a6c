#include "valvebook/start.h"

#include <gsl/gsl_errno.h>
#include <signal.h>

void
vb_start(void)
{
    gsl_set_error_handler_off();
    signal(SIGXFSZ, SIG_IGN);
}
