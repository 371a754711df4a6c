/*
 * kill_after - runs a command and kills it at a moment of its life:
 *     kill_after MICROSECONDS COMMAND [ARGUMENT ...]
 * Prints "killed", or "ended N" with the command's status if it was faster. With 0 it
 * lets the command end and prints how many microseconds it took.
 */
#include <errno.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

static long
microseconds(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (long)t.tv_sec * 1000000 + t.tv_nsec / 1000;
}

static void
sleep_for(long us)
{
    struct timespec t = {us / 1000000, us % 1000000 * 1000};
    while (nanosleep(&t, &t) && errno == EINTR)
        continue;
}

int
main(int argc, char **argv)
{
    int status;
    long us = argc > 2 ? strtol(argv[1], NULL, 10) : -1, start = microseconds();
    if (us < 0) {
        fputs("usage: kill_after microseconds command [argument ...]\n", stderr);
        return 2;
    }
    pid_t pid = fork();
    if (pid == 0) {
        execv(argv[2], argv + 2);
        _exit(127);
    }
    if (pid > 0 && us) {
        sleep_for(us);
        kill(pid, SIGKILL); // not yet waited for, so the number is still its own
    }
    if (pid < 0 || waitpid(pid, &status, 0) < 0) {
        perror("kill_after");
        return 2;
    }
    if (WIFSIGNALED(status) && WTERMSIG(status) == SIGKILL)
        puts("killed");
    else if (us)
        printf("ended %d\n",
               WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status));
    else
        printf("%ld\n", microseconds() - start);
    return 0;
}
