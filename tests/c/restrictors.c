/* Restrictors and the valve of a regulator on plain numbers.
 *
 * Carbon dioxide through 10 um x 20 cm at 100 degC from 200 bar: 11.570333 mg/min, an independent computation with CoolProp 8.0.0 and
 * scipy 1.17.1; critical mass flux 74405.1 kg/(m2 s) of the same fluid through a hole, CoolProp 8.0.0. */
#include "check.h"

#include <math.h>

static int near(double value, double expected, double relative)
{
    return fabs(value - expected) <= relative * fabs(expected);
}

int main(void)
{
    const double temperature = 373.15;
    const double inlet = 200e5;
    const double outlet = 1.013e5;
    const double milligram = 1e-6 / 60.0;
    dp_fluid *fluid = NULL;
    dp_state *state = NULL;
    double flow = 0.0;
    double size = 0.0;
    CHECK(dp_fluid_new("carbon dioxide", &fluid) == DP_OK);
    CHECK(dp_linear_restrictor_flow(fluid, 10e-6, 0.2, temperature, inlet, outlet, &flow) == DP_OK);
    CHECK(near(flow, 11.570333 * milligram, 1e-5));
    CHECK(dp_linear_restrictor_length(fluid, 10e-6, flow, temperature, inlet, outlet, &size) == DP_OK && near(size, 0.2, 1e-9));
    CHECK(dp_linear_restrictor_diameter(fluid, 0.2, flow, temperature, inlet, outlet, &size) == DP_OK && near(size, 10e-6, 1e-9));
    CHECK(dp_linear_restrictor_flow(fluid, 10e-6, 0.2, temperature, outlet, inlet, &flow) == DP_ERROR_FLOW_REVERSED);
    CHECK(dp_linear_restrictor_flow(NULL, 10e-6, 0.2, temperature, inlet, outlet, &flow) == DP_ERROR_ARGUMENT);
    CHECK(dp_tapered_restrictor_flow(fluid, 10e-6, 10e-6, 0.2, temperature, inlet, outlet, &flow) == DP_OK);
    CHECK(near(flow, 11.570333 * milligram, 1e-5));
    CHECK(dp_orifice_restrictor_flow(fluid, 1e-6, 1.0, temperature, inlet, outlet, &flow) == DP_OK);
    CHECK(near(flow, 74405.1 * 3.14159265358979 / 4.0 * 1e-12, 1e-3));
    CHECK(dp_frit_restrictor_flow(fluid, 1e-4, 0.02, 1e-15, 0.0, temperature, inlet, outlet, &flow) == DP_OK && flow > 0.0);
    CHECK(dp_state_from_tp(fluid, 313.15, 150e5, &state) == DP_OK);
    CHECK(dp_valve_flow_coefficient(state, 5e-5, 101325.0, &size) == DP_OK && size > 1.6e-5 && size < 2.5e-5);
    dp_state_free(state);
    dp_fluid_free(fluid);
    return report("restrictors");
}
