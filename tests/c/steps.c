/* Instructions that a call of a control loop takes: a traced child makes the calls one instruction after the other, and its parent
 * counts those between the marks that the child sets around each call. `steps COUNT SIDE` counts at so many random states and at
 * so many places a side of an even grid. */
#define _GNU_SOURCE
#include "check.h"

#include <signal.h>
#include <stdlib.h>
#include <sys/mman.h>
#include <sys/ptrace.h>
#include <sys/wait.h>
#include <unistd.h>

enum call { NONE, VALUE, OUTSIDE, PREPARED, FLOW, CALLS };

static const char *const NAMES[CALLS] = {"", "dp_table_value", "dp_table_value outside of the table", "dp_density_prepared", "dp_piston_mass_flow_rate"};

/* The most that the documentation of each call allows. */
static const long BOUNDS[CALLS] = {0, 1000, 500, 1000, 500};

static const int32_t PROPERTIES[] = {DP_QUANTITY_DENSITY, DP_QUANTITY_DYNAMIC_VISCOSITY};
static const double T_MIN = 280.0, T_MAX = 360.0, P_MIN = 9e6, P_MAX = 40e6;

struct shared {
    volatile enum call inside;
    volatile long wrong;
};

static void ask(struct shared *shared, const dp_fluid *fluid, const dp_table *table, double temperature, double pressure)
{
    double density = 0.0;
    double value = 0.0;
    dp_status status;
    size_t column;
    for (column = 0; column < 2; column++) {
        shared->inside = VALUE;
        status = dp_table_value(table, column, temperature, pressure, column == 0 ? &density : &value);
        shared->inside = NONE;
        shared->wrong += status != DP_OK;
    }
    shared->inside = OUTSIDE;
    status = dp_table_value(table, 0, temperature + 100.0, pressure, &value);
    shared->inside = NONE;
    shared->wrong += status != DP_ERROR_OUTSIDE_TABLE;
    shared->inside = PREPARED;
    status = dp_density_prepared(fluid, temperature, pressure, &value);
    shared->inside = NONE;
    shared->wrong += status != DP_OK && status != DP_ERROR_MISSING_MODEL;
    shared->inside = FLOW;
    status = dp_piston_mass_flow_rate(5e-8, 0.1, density, 1.05 * density, &value);
    shared->inside = NONE;
    shared->wrong += status != DP_OK;
}

static void ask_all(struct shared *shared, const dp_fluid *fluid, const dp_table *table, long count, long side)
{
    uint64_t state = 20261126;
    long i;
    long j;
    for (i = 0; i < count; i++) {
        const double temperature = T_MIN + (T_MAX - T_MIN) * chance(&state);
        ask(shared, fluid, table, temperature, P_MIN + (P_MAX - P_MIN) * chance(&state));
    }
    for (i = 0; i < side; i++) {
        for (j = 0; j < side; j++) {
            const double across = ((double)i + 0.5) / (double)side;
            const double up = ((double)j + 0.5) / (double)side;
            ask(shared, fluid, table, T_MIN + (T_MAX - T_MIN) * across, P_MIN + (P_MAX - P_MIN) * up);
        }
    }
}

/* Follows the child to its end; `most` gets the largest count of each call. Returns whether it ended well. */
static int follow(pid_t pid, const struct shared *shared, long most[CALLS])
{
    enum call inside = NONE;
    long steps = 0;
    int status = 0;
    for (;;) {
        if (waitpid(pid, &status, 0) != pid || !WIFSTOPPED(status)) {
            return WIFEXITED(status) && WEXITSTATUS(status) == 0;
        }
        if (shared->inside != inside) {
            if (steps > most[inside]) {
                most[inside] = steps;
            }
            inside = shared->inside;
            steps = 0;
        }
        steps++;
        if (ptrace(PTRACE_SINGLESTEP, pid, NULL, NULL) != 0) {
            return 0;
        }
    }
}

static void count_all(struct shared *shared, const dp_fluid *fluid, const dp_table *table, long count, long side)
{
    long most[CALLS] = {0};
    int call;
    const pid_t pid = fork();
    if (pid == 0) {
        if (ptrace(PTRACE_TRACEME, 0, NULL, NULL) != 0) {
            _exit(77);
        }
        raise(SIGSTOP);
        ask_all(shared, fluid, table, count, side);
        _exit(shared->wrong == 0 ? 0 : 1);
    }
    CHECK(follow(pid, shared, most));
    for (call = VALUE; call < CALLS; call++) {
        printf("%s: at most %ld instructions\n", NAMES[call], most[call]);
        CHECK(most[call] > 10 && most[call] <= BOUNDS[call]);
    }
}

int main(int argc, char **argv)
{
    const long count = argc > 1 ? atol(argv[1]) : 16;
    const long side = argc > 2 ? atol(argv[2]) : 4;
    dp_fluid *fluid = NULL;
    dp_table *table = NULL;
    struct shared *shared = mmap(NULL, sizeof *shared, PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0);
    if (is_run_by_valgrind()) {
        printf("valgrind runs instructions of its own in place of those of the program: nothing is counted\n");
        return report("steps");
    }
    CHECK(shared != MAP_FAILED);
    CHECK(dp_fluid_new("carbon dioxide", &fluid) == DP_OK);
    CHECK(dp_fluid_prepare_densities(fluid, T_MIN, T_MAX, P_MIN, P_MAX) == DP_OK);
    CHECK(dp_table_new(fluid, PROPERTIES, 2, T_MIN, T_MAX, P_MIN, P_MAX, 1e-6, &table) == DP_OK);
    ask_all(shared, fluid, table, 1, 0);
    CHECK(shared->wrong == 0);
    count_all(shared, fluid, table, count, side);
    dp_table_free(table);
    dp_fluid_free(fluid);
    munmap(shared, sizeof *shared);
    return report("steps");
}
