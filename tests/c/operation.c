/* What a control program asks while an instrument runs. Numbers of an independent computation with CoolProp 8.0.0. */
#include "check.h"

#include <math.h>

static int near(double value, double expected, double relative)
{
    return fabs(value - expected) <= relative * fabs(expected);
}

int main(void)
{
    const double bar_per_minute = 1e5 / 60.0;
    const double millilitre_per_minute = 1e-6 / 60.0;
    const double gram_per_minute = 1e-3 / 60.0;
    dp_fluid *fluid = NULL;
    dp_state *dense = NULL;
    dp_state *feed = NULL;
    dp_state *barrel = NULL;
    double value = 0.0;
    double other = 0.0;
    int32_t suspect = -1;
    CHECK(dp_fluid_new("carbon dioxide", &fluid) == DP_OK);
    CHECK(dp_state_from_tp(fluid, 313.15, 150e5, &dense) == DP_OK);
    CHECK(dp_state_from_tp(fluid, 278.15, 57.3e5, &feed) == DP_OK);
    CHECK(dp_state_from_tp(fluid, 293.15, 100e5, &barrel) == DP_OK);

    CHECK(dp_fastest_pressure_rise(dense, 5e-6, 2.93214 * gram_per_minute, &value) == DP_OK);
    CHECK(near(value, 373.589 * bar_per_minute, 1e-4));
    CHECK(dp_storage_mass_flow_rate(dense, 5e-6, value, &other) == DP_OK && near(other, 2.93214 * gram_per_minute, 1e-12));
    CHECK(dp_leak_mass_flow_rate(dense, 5e-6, -value, &other) == DP_OK && near(other, 2.93214 * gram_per_minute, 1e-12));
    CHECK(dp_displacement_rate(barrel, 250e-6, 5.0 * bar_per_minute, 0.0, &value) == DP_OK);
    CHECK(near(value, 1.78582 * millilitre_per_minute, 1e-5));
    CHECK(dp_volumetric_efficiency(feed, 150e5, 0.2, 1.0, &value) == DP_OK && near(value, 0.986281, 2e-6));
    CHECK(dp_volumetric_efficiency(feed, 150e5, 1.1, 1.0, &value) == DP_ERROR_DOMAIN);
    CHECK(dp_density_error(dense, 0.0, 1e5, &value) == DP_OK && near(value, 0.00201186 * 780.233, 1e-4));
    CHECK(dp_mass_flow_from_gas_meter(fluid, 1e-5, 293.15, 101325.0, 0.0, &value) == DP_OK && value > 1.8e-5 && value < 1.9e-5);
    CHECK(dp_mass_flow_from_gas_meter(fluid, 1e-5, 293.15, 101325.0, 2e5, &value) == DP_ERROR_DOMAIN);
    CHECK(dp_ripple_suspect(0.51, 0.5, 2, 0.05, &suspect) == DP_OK && suspect == 1);
    CHECK(dp_ripple_suspect(1.0, 0.5, 2, 0.05, &suspect) == DP_OK && suspect == 2);
    CHECK(dp_ripple_suspect(0.2, 0.5, 2, 0.05, &suspect) == DP_OK && suspect == 0);
    CHECK(dp_ripple_suspect(0.2, 0.5, 2, 0.05, NULL) == DP_ERROR_ARGUMENT);
    dp_state_free(barrel);
    dp_state_free(feed);
    dp_state_free(dense);
    dp_fluid_free(fluid);
    return report("operation");
}
