#include "command.h"

#include <signal.h>
#include <stddef.h>

static volatile sig_atomic_t stop_asked;

static void on_signal(int number)
{
    (void)number;
    stop_asked = 1;
}

void wh_stop_install(void)
{
    /* Without SA_RESTART a blocked read comes back at once. With SA_RESETHAND a second Ctrl-C ends a program that
     * does not react to the first. */
    struct sigaction action = {.sa_handler = on_signal, .sa_flags = (int)SA_RESETHAND};
    sigemptyset(&action.sa_mask);
    sigaction(SIGINT, &action, NULL);
    sigaction(SIGTERM, &action, NULL);
}

bool wh_stop_asked(void)
{
    return stop_asked != 0;
}
