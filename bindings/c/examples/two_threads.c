/* Densities of a list from two threads that share one fluid, and the same bits as from one.
 *
 * Build: cc -std=c99 two_threads.c $(pkg-config --cflags --libs densepath) -lpthread -o two_threads */
#define _POSIX_C_SOURCE 200809L
#include <densepath.h>

#include <pthread.h>
#include <stdio.h>
#include <string.h>

enum { COUNT = 20000, HALF = COUNT / 2 };

static double temperatures[COUNT];
static double pressures[COUNT];
static double together[COUNT];
static double alone[COUNT];

struct half {
    const dp_fluid *fluid;
    size_t start;
    dp_status status;
};

static void *work(void *argument)
{
    struct half *half = argument;
    half->status = dp_density_array(half->fluid, temperatures + half->start, pressures + half->start, HALF,
                                    together + half->start, NULL);
    return NULL;
}

int main(void)
{
    dp_fluid *fluid = NULL;
    struct half halves[2];
    pthread_t threads[2];
    size_t index;
    int outcome = 1;
    for (index = 0; index < COUNT; index++) {
        temperatures[index] = 300.0 + 60.0 * (double)index / COUNT;
        pressures[index] = 8e6 + 22e6 * (double)(index * 7919 % COUNT) / COUNT;
    }
    if (dp_fluid_new("carbon dioxide", &fluid) != DP_OK) {
        return 1;
    }
    for (index = 0; index < 2; index++) {
        halves[index].fluid = fluid;
        halves[index].start = index * HALF;
        halves[index].status = DP_ERROR_INTERNAL;
        if (pthread_create(&threads[index], NULL, work, &halves[index]) != 0) {
            return 1;
        }
    }
    for (index = 0; index < 2; index++) {
        pthread_join(threads[index], NULL);
    }
    if (halves[0].status == DP_OK && halves[1].status == DP_OK
        && dp_density_array(fluid, temperatures, pressures, COUNT, alone, NULL) == DP_OK) {
        const int same = memcmp(together, alone, sizeof alone) == 0;
        printf("%d densities, the first %.6f and the last %.6f kg/m3: %s\n", COUNT, together[0], together[COUNT - 1],
               same ? "the same bits from one thread" : "DIFFERENT from one thread");
        outcome = same ? 0 : 1;
    }
    dp_fluid_free(fluid);
    return outcome;
}
