/*
 * measure - run a shell command and print what it took:
 *   measure COMMAND   ->   wall_s cpu_s maxrss_kib   on the last line of standard error
 * maxrss is that of the largest process among all that the command ran.
 */
#include <stdio.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

int
main(int argc, char **argv)
{
    struct timespec a, b;
    struct rusage u;
    int status;
    if (argc != 2)
        return 2;
    clock_gettime(CLOCK_MONOTONIC, &a);
    pid_t pid = fork();
    if (pid == 0) {
        execl("/bin/sh", "sh", "-c", argv[1], (char *)NULL);
        _exit(127);
    }
    if (pid < 0 || waitpid(pid, &status, 0) < 0 || !WIFEXITED(status))
        return 2;
    clock_gettime(CLOCK_MONOTONIC, &b);
    getrusage(RUSAGE_CHILDREN, &u);
    double wall = (double)(b.tv_sec - a.tv_sec) + (double)(b.tv_nsec - a.tv_nsec) / 1e9;
    double cpu = (double)(u.ru_utime.tv_sec + u.ru_stime.tv_sec) +
                 (double)(u.ru_utime.tv_usec + u.ru_stime.tv_usec) / 1e6;
    fprintf(stderr, "%.3f %.3f %ld\n", wall, cpu, u.ru_maxrss);
    return WEXITSTATUS(status);
}
