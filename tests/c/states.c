/* States by every pair of variables, their phases, and the tables of the library.
 *
 * Numbers: Span and Wagner (1996), computed independently with CoolProp 8.0.0; the solid at 1 atm from the energy balance of the
 * expansion with the solid's Gibbs energy, computed independently with scipy 1.17.1. */
#include "check.h"

#include <math.h>

static int near(double value, double expected, double tolerance)
{
    return fabs(value - expected) <= tolerance;
}

static double get(const dp_state *state, int32_t quantity)
{
    double value = NAN;
    CHECK(dp_state_get(state, quantity, &value) == DP_OK);
    return value;
}

static int32_t phase(const dp_state *state)
{
    int32_t number = 0;
    CHECK(dp_state_phase(state, &number) == DP_OK);
    return number;
}

static void the_fluid(const dp_fluid *co2)
{
    const char *text = NULL;
    double temperature = 0.0;
    double pressure = 0.0;
    double density = 0.0;
    double value = 0.0;
    CHECK(dp_fluid_name(co2, &text) == DP_OK && strcmp(text, "carbon dioxide") == 0);
    CHECK(dp_fluid_model(co2, &text) == DP_OK && strstr(text, "Span") != NULL && strstr(text, "1996") != NULL);
    CHECK(dp_critical_point(co2, &temperature, &pressure, &density) == DP_OK);
    CHECK(temperature == 304.1282 && pressure == 7.3773e6 && near(density, 467.6, 1e-4));
    CHECK(dp_fluid_range(co2, &temperature, &density, &pressure) == DP_OK);
    CHECK(temperature == 216.592 && density == 1100.0 && pressure == 8e8);
    CHECK(dp_molar_mass(co2, &value) == DP_OK && near(value, 44.0098e-3, 1e-9));
    CHECK(dp_triple_temperature(co2, &value) == DP_OK && value == 216.592);
    CHECK(dp_pressure(co2, 313.15, 780.233, &value) == DP_OK && near(value, 150e5, 200.0));
}

static void every_pair(const dp_fluid *co2)
{
    dp_state *states[4] = {NULL, NULL, NULL, NULL};
    int at;
    CHECK(dp_state_from_tp(co2, 313.15, 150e5, &states[0]) == DP_OK);
    CHECK(near(get(states[0], DP_QUANTITY_DENSITY), 780.233, 6e-4));
    CHECK(near(get(states[0], DP_QUANTITY_DYNAMIC_VISCOSITY), 68.462e-6, 1e-9));
    CHECK(dp_state_from_t_rho(co2, 313.15, get(states[0], DP_QUANTITY_DENSITY), &states[1]) == DP_OK);
    CHECK(dp_state_from_ph(co2, 150e5, get(states[0], DP_QUANTITY_SPECIFIC_ENTHALPY), &states[2]) == DP_OK);
    CHECK(dp_state_from_ps(co2, 150e5, get(states[0], DP_QUANTITY_SPECIFIC_ENTROPY), &states[3]) == DP_OK);
    for (at = 0; at < 4; at++) {
        CHECK(phase(states[at]) == DP_PHASE_SUPERCRITICAL);
        CHECK(near(get(states[at], DP_QUANTITY_TEMPERATURE), 313.15, 1e-9));
        CHECK(near(get(states[at], DP_QUANTITY_PRESSURE), 150e5, 1e-2));
        dp_state_free(states[at]);
    }
}

static void two_phases(const dp_fluid *co2)
{
    double pressure = 0.0;
    double temperature = 0.0;
    double fraction = -1.0;
    dp_state *liquid = NULL;
    dp_state *vapour = NULL;
    dp_state *two = NULL;
    dp_state *part = NULL;
    double lightest;
    double densest;

    CHECK(dp_saturation_at_temperature(co2, 280.0, &pressure, &liquid, &vapour) == DP_OK);
    densest = get(liquid, DP_QUANTITY_DENSITY);
    lightest = get(vapour, DP_QUANTITY_DENSITY);
    CHECK(phase(liquid) == DP_PHASE_LIQUID && phase(vapour) == DP_PHASE_VAPOUR);
    CHECK(dp_state_vapour_fraction(liquid, &fraction) == DP_OK && fraction == 0.0);
    CHECK(dp_state_vapour_fraction(vapour, &fraction) == DP_OK && fraction == 1.0);
    dp_state_free(liquid);
    dp_state_free(vapour);

    CHECK(dp_saturation_at_pressure(co2, pressure, &temperature, &liquid, &vapour) == DP_OK);
    CHECK(near(temperature, 280.0, 1e-8));
    dp_state_free(liquid);
    dp_state_free(vapour);

    CHECK(dp_state_from_t_rho(co2, 280.0, 400.0, &two) == DP_OK && phase(two) == DP_PHASE_LIQUID_VAPOUR);
    CHECK(dp_state_vapour_fraction(two, &fraction) == DP_OK);
    CHECK(near(fraction * (1.0 / lightest - 1.0 / densest), 1.0 / 400.0 - 1.0 / densest, 1e-15));
    CHECK(dp_state_liquid(two, &part) == DP_OK && near(get(part, DP_QUANTITY_DENSITY), densest, 1e-9 * densest));
    dp_state_free(part);
    CHECK(dp_state_vapour(two, &part) == DP_OK && near(get(part, DP_QUANTITY_DENSITY), lightest, 1e-9 * lightest));
    dp_state_free(two);
    /* A part outlives the whole. */
    CHECK(phase(part) == DP_PHASE_VAPOUR);
    dp_state_free(part);
}

static void expansion(const dp_fluid *co2)
{
    dp_state *inlet = NULL;
    dp_state *snow = NULL;
    double solid = -1.0;
    CHECK(dp_state_from_tp(co2, 313.15, 150e5, &inlet) == DP_OK);
    CHECK(dp_state_solid_fraction(inlet, &solid) == DP_OK && solid == 0.0);
    CHECK(dp_state_expand_to(inlet, 101325.0, &snow) == DP_OK);
    dp_state_free(inlet);
    CHECK(phase(snow) == DP_PHASE_SOLID_VAPOUR);
    CHECK(dp_state_solid_fraction(snow, &solid) == DP_OK && near(solid, 0.240, 1e-3));
    CHECK(near(get(snow, DP_QUANTITY_TEMPERATURE), 273.15 - 78.5, 0.05));
    dp_state_free(snow);
}

static void doubt(const dp_fluid *co2)
{
    dp_state *state = NULL;
    double value = 0.0;
    double again = 0.0;
    CHECK(dp_state_from_tp(co2, 280.0, 100e5, &state) == DP_OK);
    /* Span and Wagner (1996), abstract, from memory: density within 0.05 % up to 523 K and 30 MPa. */
    CHECK(dp_uncertainty(co2, DP_QUANTITY_DENSITY, 280.0, 100e5, &value) == DP_OK && value > 0.0 && value <= 5e-4);
    CHECK(dp_state_uncertainty(state, DP_QUANTITY_DENSITY, &again) == DP_OK && again == value);
    CHECK(dp_uncertainty(co2, DP_QUANTITY_SPECIFIC_ENTROPY, 280.0, 100e5, &value) == DP_ERROR_MISSING_MODEL);
    CHECK(dp_uncertainty(co2, 999, 280.0, 100e5, &value) == DP_ERROR_ARGUMENT);
    CHECK(dp_single_phase_margin(co2, 280.0, 100e5, &value) == DP_OK && value > 50e5 && value < 60e5);
    CHECK(dp_state_single_phase_margin(state, &again) == DP_OK && again == value);
    CHECK(dp_single_phase_margin(co2, 310.0, 100e5, &value) == DP_OK && isinf(value));
    CHECK(dp_state_get(state, DP_QUANTITY_SPEED_OF_SOUND, &value) == DP_OK);
    CHECK(dp_state_equilibrium_speed_of_sound(state, &again) == DP_OK && again == value);
    dp_state_free(state);
}

static void pressures(const dp_fluid *co2)
{
    const double temperature[3] = {313.15, 280.0, 313.15};
    const double density[3] = {780.233, 400.0, -1.0};
    double out[3] = {0.0, 0.0, 0.0};
    int32_t status[3] = {-1, -1, -1};
    double alone = 0.0;
    int at;
    CHECK(dp_pressure_array(co2, temperature, density, 3, out, status) == DP_ERROR_DOMAIN);
    CHECK(status[0] == DP_OK && status[1] == DP_OK && status[2] == DP_ERROR_DOMAIN && isnan(out[2]));
    for (at = 0; at < 2; at++) {
        CHECK(dp_pressure(co2, temperature[at], density[at], &alone) == DP_OK && alone == out[at]);
    }
}

/* The pseudo-critical line by its definitions. CoolProp 8.0.0 at 40 degC: 88.6365 bar for the largest heat capacity, 88.3593 bar for the
   largest slope. */
static void pseudo_critical_line(const dp_fluid *co2)
{
    dp_state *line = NULL;
    double pressure = 0.0;
    CHECK(dp_pseudo_critical(co2, 313.15, "heat_capacity", &line) == DP_OK);
    CHECK(dp_state_get(line, DP_QUANTITY_PRESSURE, &pressure) == DP_OK && fabs(pressure / 88.6365e5 - 1.0) < 5e-6);
    dp_state_free(line);
    CHECK(dp_pseudo_critical(co2, 313.15, "density_gradient", &line) == DP_OK);
    CHECK(dp_state_get(line, DP_QUANTITY_PRESSURE, &pressure) == DP_OK && fabs(pressure / 88.3593e5 - 1.0) < 5e-6);
    dp_state_free(line);
    CHECK(dp_pseudo_critical(co2, 313.15, "viscosity", &line) == 104);
    CHECK(dp_pseudo_critical(co2, 300.0, "expansivity", &line) == 102);
}

/* Carbon dioxide of 900 kg/m3 boils below 282.4 K and is one phase above. */
static void isopycnics(const dp_fluid *co2)
{
    const double temperature[2] = {270.0, 310.0};
    const double density[2] = {900.0, 900.0};
    double out[2] = {0.0, 0.0};
    int32_t status[2] = {-1, -1};
    double alone = 0.0;
    CHECK(dp_isopycnic_array(co2, temperature, density, 2, out, status) == 301);
    CHECK(status[0] == 301 && isnan(out[0]) && status[1] == DP_OK);
    CHECK(dp_isopycnic(co2, temperature[1], density[1], &alone) == DP_OK && alone == out[1]);
    CHECK(dp_density(co2, temperature[1], alone, &alone) == DP_OK && fabs(alone / 900.0 - 1.0) < 1e-12);
    /* Span and Wagner 1996, eq. 3.10: 67.30 MPa; the solid's own equation gives 67.42 MPa. */
    CHECK(dp_melting_pressure(co2, 230.0, &alone) == DP_OK && fabs(alone / 67.42e6 - 1.0) < 1e-3);
    CHECK(dp_vapour_pressure_uncertainty(co2, 280.0, &alone) == DP_OK && alone == 0.00012);
}

static void tables(void)
{
    size_t count = 0;
    size_t at;
    int32_t number = 0;
    const char *text = NULL;

    CHECK(dp_quantity_count(&count) == DP_OK && count > 50);
    for (at = 1; at <= count; at++) {
        CHECK(dp_quantity_name((int32_t)at, &text) == DP_OK && text[0] != '\0');
        CHECK(dp_quantity_find(text, &number) == DP_OK && number == (int32_t)at);
        CHECK(dp_quantity_symbol((int32_t)at, &text) == DP_OK && text[0] != '\0');
        CHECK(dp_quantity_unit((int32_t)at, &text) == DP_OK && text[0] != '\0');
    }
    CHECK(dp_quantity_name((int32_t)count + 1, &text) == DP_ERROR_ARGUMENT);
    CHECK(dp_quantity_unit(DP_QUANTITY_SPECIFIC_ENTHALPY, &text) == DP_OK && strcmp(text, "J/kg") == 0);
    CHECK(dp_quantity_symbol(DP_QUANTITY_SPEED_OF_SOUND, &text) == DP_OK && strcmp(text, "c") == 0);
    CHECK(dp_quantity_find("viscosity of honey", &number) == DP_ERROR_ARGUMENT);

    CHECK(dp_property_count(&count) == DP_OK && count > 10);
    CHECK(dp_property_at(0, &number) == DP_OK && number == DP_QUANTITY_DENSITY);
    CHECK(dp_property_at(count, &number) == DP_ERROR_ARGUMENT);

    CHECK(dp_error_count(&count) == DP_OK && count > 10);
    for (at = 0; at < count; at++) {
        CHECK(dp_error_at(at, &number) == DP_OK);
        CHECK(dp_error_name(number, &text) == DP_OK && strncmp(text, "DP_ERROR_", 9) == 0);
        CHECK(dp_error_meaning(number, &text) == DP_OK && strlen(text) > 10);
    }
    CHECK(dp_error_at(count, &number) == DP_ERROR_ARGUMENT);
    CHECK(dp_error_name(DP_ERROR_OUT_OF_RANGE, &text) == DP_OK && strcmp(text, "DP_ERROR_OUT_OF_RANGE") == 0);

    CHECK(dp_phase_name(DP_PHASE_LIQUID_VAPOUR, &text) == DP_OK && strcmp(text, "liquid + vapour") == 0);
    CHECK(dp_phase_name(0, &text) == DP_ERROR_ARGUMENT);

    CHECK(dp_substance_count(&count) == DP_OK && count >= 1);
    CHECK(dp_substance_name(0, &text) == DP_OK && text[0] != '\0');
    CHECK(dp_substance_name(count, &text) == DP_ERROR_ARGUMENT);
}

int main(void)
{
    dp_fluid *co2 = NULL;
    CHECK(dp_fluid_new("CO2", &co2) == DP_OK);
    the_fluid(co2);
    every_pair(co2);
    two_phases(co2);
    expansion(co2);
    doubt(co2);
    pressures(co2);
    isopycnics(co2);
    pseudo_critical_line(co2);
    dp_fluid_free(co2);
    tables();
    return report("states");
}
