/* Calls of a control loop ask for no memory and call no system: memory is watched by functions of our own, the system by the strict
 * mode of seccomp, in which anything but reading, writing and ending kills. `control COUNT` makes so many calls. */
#define _GNU_SOURCE
#include "loop.h"

#include <linux/seccomp.h>
#include <stdlib.h>
#include <sys/prctl.h>
#include <sys/syscall.h>
#include <sys/wait.h>
#include <unistd.h>

#if defined(__SANITIZE_ADDRESS__)
/* The checks of the compiler have functions for memory of their own. */
enum { HAS_OWN_FUNCTIONS = 0 };
static const long asked = 0;
static void watch(int on) { (void)on; }
#else
enum { HAS_OWN_FUNCTIONS = 1 };

/* What the C library of GNU offers beneath its own names. */
extern void *__libc_malloc(size_t size);
extern void *__libc_calloc(size_t count, size_t size);
extern void *__libc_realloc(void *memory, size_t size);
extern void *__libc_memalign(size_t alignment, size_t size);
extern void __libc_free(void *memory);

static volatile int watching;
static volatile long asked;

static void watch(int on) { watching = on; }

static void count(void)
{
    if (watching) {
        asked++;
    }
}

void *malloc(size_t size)
{
    count();
    return __libc_malloc(size);
}

void *calloc(size_t n, size_t size)
{
    count();
    return __libc_calloc(n, size);
}

void *realloc(void *memory, size_t size)
{
    count();
    return __libc_realloc(memory, size);
}

int posix_memalign(void **memory, size_t alignment, size_t size)
{
    count();
    *memory = __libc_memalign(alignment, size);
    return *memory == NULL ? 12 : 0;
}

void *aligned_alloc(size_t alignment, size_t size)
{
    count();
    return __libc_memalign(alignment, size);
}

void free(void *memory)
{
    count();
    __libc_free(memory);
}
#endif

static const struct range RANGE = {310.0, 330.0, 12e6, 30e6};

/* Rounds of every call of the loop at random states, a tenth of them outside of the table; how many did not answer as they should. */
static long rounds(const struct loop *loop, long count)
{
    uint64_t state = 20261126;
    long wrong = 0;
    long round;
    for (round = 0; round < count; round++) {
        const double temperature = between(RANGE.t_min - 1.0, RANGE.t_max, chance(&state));
        const double pressure = between(RANGE.p_min - 1e6, RANGE.p_max, chance(&state));
        const int outside = temperature < RANGE.t_min || pressure < RANGE.p_min;
        const dp_status wanted = outside ? DP_ERROR_OUTSIDE_TABLE : DP_OK;
        double density = 0.0;
        double viscosity = 0.0;
        double prepared = 0.0;
        double flow = 0.0;
        wrong += dp_table_value(loop->table, 0, temperature, pressure, &density) != wanted;
        wrong += dp_table_value(loop->table, 1, temperature, pressure, &viscosity) != wanted;
        if (!outside) {
            wrong += dp_density_prepared(loop->fluid, temperature, pressure, &prepared) != DP_OK;
            wrong += !(density > prepared * (1.0 - 1e-6) && density < prepared * (1.0 + 1e-6));
            wrong += !(viscosity > 1e-5 && viscosity < 2e-4);
            wrong += dp_piston_mass_flow_rate(5e-8, 0.1, density, 1.05 * density, &flow) != DP_OK;
            wrong += !(flow > 4.9e-8 * density && flow < 5e-8 * density);
        }
    }
    return wrong;
}

/* How a child ends that makes the calls, or calls the system, in the strict mode. */
static int child(const struct loop *loop, int calls_the_system)
{
    int status = 0;
    const pid_t pid = fork();
    if (pid == 0) {
        if (prctl(PR_SET_SECCOMP, SECCOMP_MODE_STRICT) != 0) {
            _exit(77);
        }
        if (calls_the_system) {
            getppid();
        }
        syscall(SYS_exit, rounds(loop, 20000) == 0 ? 0 : 1);
    }
    waitpid(pid, &status, 0);
    return status;
}

static void the_watch_sees(void)
{
    dp_fluid *other = NULL;
    watch(1);
    CHECK(dp_fluid_new("nitrogen", &other) == DP_OK);
    watch(0);
    CHECK(asked > 0);
    dp_fluid_free(other);
}

static void the_system_is_not_called(const struct loop *loop)
{
    const int status = child(loop, 0);
    const int killed = child(loop, 1);
    CHECK(WIFEXITED(status) && WEXITSTATUS(status) == 0);
    CHECK(WIFSIGNALED(killed));
}

int main(int argc, char **argv)
{
    const long count = argc > 1 ? atol(argv[1]) : 100000;
    struct loop loop = {NULL, NULL};
    long wrong;
    CHECK(make(&loop, RANGE) == DP_OK);
    CHECK(rounds(&loop, 1000) == 0);
    watch(1);
    wrong = rounds(&loop, count);
    watch(0);
    CHECK(wrong == 0);
    CHECK(asked == 0);
    if (HAS_OWN_FUNCTIONS && !is_run_by_valgrind()) {
        the_watch_sees();
        the_system_is_not_called(&loop);
    }
    release(&loop);
    return report("control");
}
