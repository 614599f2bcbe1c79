/* Threads that share a fluid and a state get the same numbers, and each has its own last error. */
#define _POSIX_C_SOURCE 200809L
#include "check.h"

#include <pthread.h>

enum { MOST_THREADS = 16, ROUNDS = 200 };

struct task {
    const dp_fluid *fluid;
    const dp_state *state;
    double bad_temperature;
    double sum;
    int errors_kept;
};

static void *work(void *argument)
{
    struct task *task = argument;
    int round;
    for (round = 0; round < ROUNDS; round++) {
        double value = 0.0;
        dp_error_info info;
        if (dp_density(task->fluid, 300.0 + 0.1 * round, 150e5, &value) == DP_OK) {
            task->sum += value;
        }
        if (dp_state_get(task->state, DP_QUANTITY_DYNAMIC_VISCOSITY, &value) == DP_OK) {
            task->sum += value;
        }
        if (dp_density(task->fluid, task->bad_temperature, 150e5, &value) == DP_ERROR_OUT_OF_RANGE
            && dp_last_error(&info) == DP_OK && info.value == task->bad_temperature) {
            task->errors_kept++;
        }
    }
    return NULL;
}

static void threads_agree(const dp_fluid *fluid, const dp_state *state, int count)
{
    pthread_t threads[MOST_THREADS];
    struct task tasks[MOST_THREADS];
    int at;
    for (at = 0; at < count; at++) {
        const struct task task = {fluid, state, 20.0 + at, 0.0, 0};
        tasks[at] = task;
        CHECK(pthread_create(&threads[at], NULL, work, &tasks[at]) == 0);
    }
    for (at = 0; at < count; at++) {
        CHECK(pthread_join(threads[at], NULL) == 0);
        CHECK(tasks[at].errors_kept == ROUNDS);
        CHECK(tasks[at].sum > 0.0 && tasks[at].sum == tasks[0].sum);
    }
}

int main(void)
{
    dp_fluid *fluid = NULL;
    dp_state *state = NULL;
    dp_error_info info;
    CHECK(dp_fluid_new("carbon dioxide", &fluid) == DP_OK);
    CHECK(dp_state_from_tp(fluid, 313.15, 150e5, &state) == DP_OK);
    threads_agree(fluid, state, 2);
    threads_agree(fluid, state, MOST_THREADS);
    CHECK(dp_last_error(&info) == DP_OK && info.code == DP_OK);
    dp_state_free(state);
    dp_fluid_free(fluid);
    return report("threads");
}
