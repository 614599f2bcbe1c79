/* Nanoseconds of calls through the C library, each beside its name; `calls.rs` makes the same ones without it. */
#define _POSIX_C_SOURCE 199309L
#include <densepath.h>
#include <math.h>
#include <stdio.h>
#include <time.h>

enum { POINTS = 256, ROUNDS = 8000 };

static double temperature[POINTS];
static double pressure[POINTS];
static dp_fluid *fluid;
static dp_table *table;

static dp_status from_table(int i, double *out) { return dp_table_value(table, 0, temperature[i], pressure[i], out); }

static dp_status prepared(int i, double *out) { return dp_density_prepared(fluid, temperature[i], pressure[i], out); }

static dp_status piston(int i, double *out)
{
    return dp_piston_mass_flow_rate(5e-8, 0.1, 800.0 + 0.1 * i, 900.0 + 0.1 * i, out);
}

static double now(void)
{
    struct timespec time;
    clock_gettime(CLOCK_MONOTONIC, &time);
    return (double)time.tv_sec + 1e-9 * (double)time.tv_nsec;
}

/* Tells the last error. */
static int told(void)
{
    char text[512] = "";
    size_t length = 0;
    (void)dp_last_error_message(text, sizeof text, &length);
    fprintf(stderr, "%s\n", text);
    return 1;
}

/* Whether all calls ended well; each call is inlined here, as it would stand in a control loop. */
#define TIME(name, call)                                                                         \
    do {                                                                                         \
        double sum = 0.0, value = 0.0, start = now();                                            \
        for (int round = 0; round < ROUNDS; round++) {                                           \
            for (int i = 0; i < POINTS; i++) {                                                   \
                if (call(i, &value) != DP_OK) {                                                  \
                    return told();                                                               \
                }                                                                                \
                sum += value;                                                                    \
            }                                                                                    \
        }                                                                                        \
        printf("%s,%.3f,%.17g\n", name, 1e9 * (now() - start) / ((double)ROUNDS * POINTS), sum); \
    } while (0)

int main(void)
{
    const int32_t properties[] = {DP_QUANTITY_DENSITY};
    for (int i = 0; i < POINTS; i++) {
        double share = (double)i / POINTS;
        temperature[i] = 280.0 + 40.0 * share;
        pressure[i] = 15e6 + 15e6 * fmod(i * 0.61803398874989484, 1.0);
    }
    if (dp_fluid_new("carbon dioxide", &fluid) != DP_OK
        || dp_fluid_prepare_densities(fluid, 275.0, 325.0, 14e6, 31e6) != DP_OK
        || dp_table_new(fluid, properties, 1, 275.0, 325.0, 14e6, 31e6, 1e-6, &table) != DP_OK) {
        return told();
    }
    TIME("density from a table", from_table);
    TIME("density from prepared polynomials", prepared);
    TIME("mass flow rate of a piston", piston);
    dp_table_free(table);
    dp_fluid_free(fluid);
    return 0;
}
