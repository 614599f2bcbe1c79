/* Densities prepared for a control loop: the bits of dp_density inside of the region, an error outside of it. */
#include "check.h"

#include <math.h>

static void bits_are_those_of_the_density(const dp_fluid *fluid)
{
    int step;
    for (step = 0; step < 1000; step++) {
        const double temperature = 310.0 + 0.01 * step;
        const double pressure = 120e5 + 4000.0 * step;
        double prepared = 0.0;
        double density = 0.0;
        CHECK(dp_density_prepared(fluid, temperature, pressure, &prepared) == DP_OK);
        CHECK(dp_density(fluid, temperature, pressure, &density) == DP_OK && density == prepared);
    }
}

static void nothing_else_is_prepared(const dp_fluid *fluid)
{
    double density = -1.0;
    CHECK(dp_density_prepared(fluid, 350.0, 150e5, &density) == DP_ERROR_MISSING_MODEL);
    CHECK(dp_density_prepared(fluid, (double)NAN, 150e5, &density) == DP_ERROR_MISSING_MODEL && density == -1.0);
    CHECK(dp_density_prepared(fluid, 313.15, 150e5, NULL) == DP_ERROR_ARGUMENT);
    CHECK(dp_density_prepared(NULL, 313.15, 150e5, &density) == DP_ERROR_ARGUMENT);
    CHECK(dp_fluid_prepare_densities(fluid, 310.0, -1.0, 120e5, 160e5) == DP_ERROR_DOMAIN);
}

int main(void)
{
    dp_fluid *fluid = NULL;
    double density = 0.0;
    CHECK(dp_fluid_new("carbon dioxide", &fluid) == DP_OK);
    CHECK(dp_density_prepared(fluid, 313.15, 150e5, &density) == DP_ERROR_MISSING_MODEL);
    CHECK(dp_fluid_prepare_densities(fluid, 310.0, 320.0, 120e5, 160e5) == DP_OK);
    bits_are_those_of_the_density(fluid);
    nothing_else_is_prepared(fluid);
    dp_fluid_free(fluid);
    return report("prepared");
}
