/* A loop that holds the mass flow of a chilled pump while its pressure climbs and its head warms. The run is invented.
 *
 * The table of densities is made once, before the loop, and could have been read from a file (dp_table_write, dp_table_read). In the
 * loop dp_table_value asks for no memory, waits for nothing and costs the same every time.
 *
 * Build: cc -std=c99 pump_loop.c $(pkg-config --cflags --libs densepath) -o pump_loop */
#include <densepath.h>

#include <stdio.h>

#define MASS_FLOW (3e-3 / 60.0)
#define TICKS 10

static int fail(const char *what)
{
    char message[1024] = "";
    dp_last_error_message(message, sizeof message, NULL);
    fprintf(stderr, "%s: %s\n", what, message);
    return 1;
}

static int run(const dp_table *densities)
{
    double start = 0.0;
    int tick;
    printf("%4s %8s %8s %10s %10s %12s\n", "tick", "T", "p", "density", "piston", "uncorrected");
    printf("%4s %8s %8s %10s %10s %12s\n", "", "degC", "bar", "kg/m3", "mL/min", "g/min");
    for (tick = 0; tick < TICKS; tick++) {
        /* What the sensors of an instrument would tell. */
        const double temperature = 277.15 + 0.4 * tick;
        const double pressure = 100e5 + 15e5 * tick;
        double density = 0.0;
        double displaced;
        if (dp_table_value(densities, 0, temperature, pressure, &density) != DP_OK) {
            return fail("density");
        }
        displaced = MASS_FLOW / density;
        if (tick == 0) {
            start = displaced;
        }
        printf("%4d %8.2f %8.1f %10.3f %10.4f %12.4f\n", tick, temperature - 273.15, pressure / 1e5, density,
               displaced * 60e6, start * density * 60e3);
    }
    return 0;
}

int main(void)
{
    const int32_t properties[] = {DP_QUANTITY_DENSITY};
    dp_fluid *fluid = NULL;
    dp_table *densities = NULL;
    int outcome = 1;
    if (dp_fluid_new("carbon dioxide", &fluid) != DP_OK
        || dp_table_new(fluid, properties, 1, 274.0, 284.0, 6e6, 40e6, 1e-7, &densities) != DP_OK) {
        fail("table");
    } else {
        outcome = run(densities);
    }
    dp_table_free(densities);
    dp_fluid_free(fluid);
    return outcome;
}
