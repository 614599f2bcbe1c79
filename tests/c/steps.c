/* Instructions that a call of a control loop takes: a traced child makes the calls one instruction after the other, and its parent
 * counts those between the marks that the child sets around each call. `steps COUNT SIDE [FILE]` counts at so many random states, at
 * so many places a side of an even grid, and at the states of a file, a temperature and a pressure a line. */
#define _GNU_SOURCE
#include <signal.h>
#include <stdlib.h>
#include <sys/mman.h>
#include <sys/ptrace.h>
#include <sys/wait.h>
#include <unistd.h>

static volatile int *inside;

#define ENTER(call) (*inside = (call))
#define LEAVE(call) (*inside = NONE)
#include "loop.h"

static const struct range RANGE = {280.0, 360.0, 9e6, 40e6};

/* The most that the documentation of each call allows. */
static const long BOUNDS[CALLS] = {0, 1000, 1000, 500, 1000, 500};

/* The states that are asked for, by their number. */
struct states {
    long random;
    long side;
    uint64_t chance;
    FILE *file;
};

static int next(struct states *states, long number, double *temperature, double *pressure)
{
    const long i = number - states->random;
    if (i < 0) {
        *temperature = between(RANGE.t_min, RANGE.t_max, chance(&states->chance));
        *pressure = between(RANGE.p_min, RANGE.p_max, chance(&states->chance));
        return 1;
    }
    if (i < states->side * states->side) {
        *temperature = between(RANGE.t_min, RANGE.t_max, ((double)(i / states->side) + 0.5) / (double)states->side);
        *pressure = between(RANGE.p_min, RANGE.p_max, ((double)(i % states->side) + 0.5) / (double)states->side);
        return 1;
    }
    return states->file != NULL && fscanf(states->file, "%lf %lf", temperature, pressure) == 2;
}

static int ask_all(const struct loop *loop, struct states *states)
{
    double temperature;
    double pressure;
    long number;
    int wrong = 0;
    for (number = 0; next(states, number, &temperature, &pressure); number++) {
        wrong += ask(loop, temperature, pressure);
    }
    return wrong;
}

/* Follows the child to its end; `most` gets the largest count of each call. Returns whether it ended well. */
static int follow(pid_t pid, long most[CALLS])
{
    int was = NONE;
    long steps = 0;
    int status = 0;
    for (;;) {
        if (waitpid(pid, &status, 0) != pid || !WIFSTOPPED(status)) {
            return WIFEXITED(status) && WEXITSTATUS(status) == 0;
        }
        if (*inside != was) {
            if (steps > most[was]) {
                most[was] = steps;
            }
            was = *inside;
            steps = 0;
        }
        steps++;
        if (ptrace(PTRACE_SINGLESTEP, pid, NULL, NULL) != 0) {
            return 0;
        }
    }
}

static void count_all(const struct loop *loop, struct states *states)
{
    long most[CALLS] = {0};
    int call;
    const pid_t pid = fork();
    if (pid == 0) {
        if (ptrace(PTRACE_TRACEME, 0, NULL, NULL) != 0) {
            _exit(77);
        }
        raise(SIGSTOP);
        _exit(ask_all(loop, states) == 0 ? 0 : 1);
    }
    CHECK(follow(pid, most));
    for (call = DENSITY; call < CALLS; call++) {
        printf("%s: at most %ld instructions of %ld\n", NAMES[call], most[call], BOUNDS[call]);
        CHECK(most[call] > 10 && most[call] <= BOUNDS[call]);
    }
}

int main(int argc, char **argv)
{
    struct states states = {16, 4, 20261126, NULL};
    struct loop loop = {NULL, NULL};
    if (is_run_by_valgrind()) {
        printf("valgrind runs instructions of its own in place of those of the program: nothing is counted\n");
        return report("steps");
    }
    if (argc > 2) {
        states.random = atol(argv[1]);
        states.side = atol(argv[2]);
    }
    if (argc > 3) {
        states.file = fopen(argv[3], "r");
        CHECK(states.file != NULL);
    }
    inside = mmap(NULL, sizeof *inside, PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0);
    CHECK(inside != MAP_FAILED);
    CHECK(make(&loop, RANGE) == DP_OK);
    /* What a first call sets up is not counted. */
    CHECK(ask(&loop, 313.15, 15e6) == 0);
    count_all(&loop, &states);
    release(&loop);
    return report("steps");
}
