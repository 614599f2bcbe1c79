/* Bad input: the number of the error, its fields, and a message with the value, its unit, the limit and what to do. */
#include "check.h"

#include <float.h>
#include <math.h>
#include <stdlib.h>

static const double UNTOUCHED = -12345.0;

static dp_error_info last(void)
{
    dp_error_info info;
    CHECK(dp_last_error(&info) == DP_OK);
    return info;
}

static int says(const char *words)
{
    char message[1024];
    size_t needed = 0;
    if (dp_last_error_message(message, sizeof message, &needed) != DP_OK) {
        return 0;
    }
    if (needed != strlen(message) + 1 || strstr(message, words) == NULL) {
        fprintf(stderr, "\"%s\" is not in: %s\n", words, message);
        return 0;
    }
    return 1;
}

static void names(void)
{
    dp_fluid *fluid = NULL;
    CHECK(dp_fluid_new("carbon dioxid", &fluid) == DP_ERROR_UNKNOWN_FLUID);
    CHECK(fluid == NULL);
    CHECK(says("carbon dioxid") && says("did you mean \"carbon dioxide\"?"));
    CHECK(last().code == DP_ERROR_UNKNOWN_FLUID && last().quantity == DP_QUANTITY_NONE);
    CHECK(isnan(last().value) && isnan(last().min) && isnan(last().max) && last().element == -1);

    CHECK(dp_fluid_new("", &fluid) == DP_ERROR_UNKNOWN_FLUID);
    CHECK(dp_fluid_new("carbon \xff dioxide", &fluid) == DP_ERROR_ARGUMENT);
    CHECK(says("name") && says("UTF-8") && says("offset 7"));
    CHECK(dp_fluid_new(NULL, &fluid) == DP_ERROR_ARGUMENT && says("name") && says("NULL"));
    CHECK(dp_fluid_new("CO2", NULL) == DP_ERROR_ARGUMENT && says("out") && says("NULL"));
    CHECK(fluid == NULL);
}

/* One bad pair of temperature and pressure. */
struct bad {
    double temperature;
    double pressure;
    dp_status code;
    int32_t quantity;
    double value;
    const char *words[3];
};

static void temperatures_and_pressures(const dp_fluid *co2)
{
    const struct bad table[] = {
        /* Celsius for kelvin. */
        {40.0, 150e5, DP_ERROR_OUT_OF_RANGE, DP_QUANTITY_TEMPERATURE, 40.0,
         {"temperature T = 40 K", "216.592 K", "did you mean 40 degC = 313.15 K?"}},
        /* Bar for pascal. */
        {313.15, 150.0, DP_ERROR_OUT_OF_RANGE, DP_QUANTITY_PRESSURE, 150.0,
         {"pressure p = 150 Pa", "1000 Pa", "did you mean 150 bar = 1.5e7 Pa?"}},
        /* More than the equation of state was fitted to. */
        {313.15, 9e8, DP_ERROR_OUT_OF_RANGE, DP_QUANTITY_PRESSURE, 9e8,
         {"pressure p = 9e8 Pa", "8e8 Pa", "Span"}},
        {2000.0, 1e5, DP_ERROR_OUT_OF_RANGE, DP_QUANTITY_TEMPERATURE, 2000.0, {"2000 K", "1100 K", ""}},
        {-1.0, 150e5, DP_ERROR_DOMAIN, DP_QUANTITY_TEMPERATURE, -1.0, {"T = -1 K", "above zero", ""}},
        {313.15, 0.0, DP_ERROR_DOMAIN, DP_QUANTITY_PRESSURE, 0.0, {"p = 0 Pa", "above zero", ""}},
        {313.15, -150e5, DP_ERROR_DOMAIN, DP_QUANTITY_PRESSURE, -150e5, {"-1.5e7 Pa", "above zero", ""}},
    };
    size_t at;
    for (at = 0; at < sizeof table / sizeof table[0]; at++) {
        const struct bad *bad = &table[at];
        double density = UNTOUCHED;
        CHECK(dp_density(co2, bad->temperature, bad->pressure, &density) == bad->code);
        CHECK(density == UNTOUCHED);
        CHECK(last().code == bad->code && last().cause == bad->code && last().quantity == bad->quantity && last().value == bad->value);
        CHECK(says(bad->words[0]) && says(bad->words[1]) && says(bad->words[2]));
    }
    CHECK(dp_density(co2, 40.0, 150e5, &(double){0.0}) == DP_ERROR_OUT_OF_RANGE);
    CHECK(last().min == 216.592 && last().max == 1100.0);
}

static void not_finite(const dp_fluid *co2)
{
    const double values[] = {NAN, INFINITY, -INFINITY};
    size_t at;
    for (at = 0; at < 3; at++) {
        double out = UNTOUCHED;
        dp_state *state = NULL;
        CHECK(dp_density(co2, values[at], 1e7, &out) == DP_ERROR_DOMAIN);
        CHECK(last().quantity == DP_QUANTITY_TEMPERATURE && says("temperature T"));
        CHECK(dp_density(co2, 300.0, values[at], &out) == DP_ERROR_DOMAIN);
        CHECK(last().quantity == DP_QUANTITY_PRESSURE && says("pressure p"));
        CHECK(dp_pressure(co2, 300.0, values[at], &out) == DP_ERROR_DOMAIN);
        CHECK(last().quantity == DP_QUANTITY_DENSITY);
        CHECK(dp_state_from_ph(co2, 1e7, values[at], &state) == DP_ERROR_DOMAIN);
        CHECK(last().quantity == DP_QUANTITY_SPECIFIC_ENTHALPY);
        CHECK(dp_state_from_ps(co2, values[at], 1e3, &state) == DP_ERROR_DOMAIN);
        CHECK(out == UNTOUCHED && state == NULL);
    }
}

static void phases(const dp_fluid *co2)
{
    double temperature = UNTOUCHED;
    double pressure = UNTOUCHED;
    dp_state *liquid = NULL;
    dp_state *vapour = NULL;
    dp_state *two = NULL;
    double out = UNTOUCHED;

    CHECK(dp_saturation_at_temperature(co2, 310.0, &pressure, &liquid, &vapour) == DP_ERROR_NO_COEXISTENCE);
    CHECK(says("310 K") && says("304.128") && last().max > 304.12 && last().max < 304.13);
    CHECK(dp_saturation_at_pressure(co2, 8e6, &temperature, &liquid, &vapour) == DP_ERROR_NO_COEXISTENCE);
    CHECK(last().quantity == DP_QUANTITY_PRESSURE && says("8e6 Pa"));
    CHECK(pressure == UNTOUCHED && temperature == UNTOUCHED && liquid == NULL && vapour == NULL);

    CHECK(dp_state_from_t_rho(co2, 280.0, 400.0, &two) == DP_OK);
    CHECK(dp_state_get(two, DP_QUANTITY_SPEED_OF_SOUND, &out) == DP_ERROR_TWO_PHASE);
    CHECK(says("speed_of_sound") && says("T = 280 K") && last().quantity == DP_QUANTITY_SPEED_OF_SOUND);
    CHECK(dp_state_get(two, DP_QUANTITY_LENGTH, &out) == DP_ERROR_MISSING_MODEL && says("length"));
    CHECK(dp_state_get(two, 999, &out) == DP_ERROR_ARGUMENT && says("999"));
    CHECK(dp_state_get(two, DP_QUANTITY_NONE, &out) == DP_ERROR_ARGUMENT);
    CHECK(out == UNTOUCHED);
    dp_state_free(two);

    CHECK(dp_state_from_tp(co2, 313.15, 150e5, &two) == DP_OK);
    CHECK(dp_state_vapour_fraction(two, &out) == DP_ERROR_MISSING_MODEL && says("supercritical"));
    CHECK(dp_state_liquid(two, &liquid) == DP_ERROR_ARGUMENT && says("supercritical"));
    CHECK(out == UNTOUCHED && liquid == NULL);
    dp_state_free(two);
}

static void null_pointers(const dp_fluid *co2)
{
    const double t = 313.15;
    const double p = 150e5;
    double out = UNTOUCHED;
    int32_t number = -1;
    const char *text = NULL;
    dp_state *state = NULL;

    CHECK(dp_density(NULL, t, p, &out) == DP_ERROR_ARGUMENT && says("fluid") && says("NULL"));
    CHECK(dp_density(co2, t, p, NULL) == DP_ERROR_ARGUMENT && says("out"));
    CHECK(dp_pressure(NULL, t, 700.0, &out) == DP_ERROR_ARGUMENT);
    CHECK(dp_property(NULL, DP_QUANTITY_DENSITY, t, p, &out) == DP_ERROR_ARGUMENT);
    CHECK(dp_state_from_tp(NULL, t, p, &state) == DP_ERROR_ARGUMENT);
    CHECK(dp_state_from_tp(co2, t, p, NULL) == DP_ERROR_ARGUMENT);
    CHECK(dp_state_get(NULL, DP_QUANTITY_DENSITY, &out) == DP_ERROR_ARGUMENT && says("state"));
    CHECK(dp_state_phase(NULL, &number) == DP_ERROR_ARGUMENT);
    CHECK(dp_state_expand_to(NULL, 101325.0, &state) == DP_ERROR_ARGUMENT);
    CHECK(dp_critical_point(co2, &out, NULL, &out) == DP_ERROR_ARGUMENT && says("pressure"));
    CHECK(dp_fluid_name(NULL, &text) == DP_ERROR_ARGUMENT);
    CHECK(dp_quantity_find(NULL, &number) == DP_ERROR_ARGUMENT);
    CHECK(dp_quantity_name(DP_QUANTITY_DENSITY, NULL) == DP_ERROR_ARGUMENT);
    CHECK(dp_substance_count(NULL) == DP_ERROR_ARGUMENT);
    CHECK(out == UNTOUCHED && number == -1 && text == NULL && state == NULL);
    dp_fluid_free(NULL);
    dp_state_free(NULL);
}

static void arrays(const dp_fluid *co2)
{
    const double temperature[4] = {313.15, 40.0, 313.15, 313.15};
    const double pressure[4] = {150e5, 150e5, NAN, 100e5};
    double out[4] = {0.0, 0.0, 0.0, 0.0};
    int32_t status[4] = {-1, -1, -1, -1};
    double alone = 0.0;
    double shared[5] = {313.15, 313.15, 313.15, 313.15, 313.15};

    CHECK(dp_density_array(co2, temperature, pressure, 4, out, status) == DP_ERROR_OUT_OF_RANGE);
    CHECK(status[0] == DP_OK && status[1] == DP_ERROR_OUT_OF_RANGE);
    CHECK(status[2] == DP_ERROR_DOMAIN && status[3] == DP_OK);
    CHECK(isnan(out[1]) && isnan(out[2]));
    CHECK(last().element == 1 && last().value == 40.0 && says("element 1") && says("40 K"));
    CHECK(dp_density(co2, 313.15, 100e5, &alone) == DP_OK && out[3] == alone);
    CHECK(dp_density_array(co2, temperature, pressure, 1, out, NULL) == DP_OK);
    CHECK(last().code == DP_OK && last().element == -1);

    CHECK(dp_density_array(co2, NULL, NULL, 0, NULL, NULL) == DP_OK);
    CHECK(dp_density_array(NULL, NULL, NULL, 0, NULL, NULL) == DP_ERROR_ARGUMENT);
    CHECK(dp_density_array(co2, NULL, pressure, 4, out, status) == DP_ERROR_ARGUMENT && says("temperature"));
    CHECK(dp_density_array(co2, temperature, NULL, 4, out, status) == DP_ERROR_ARGUMENT && says("pressure"));
    CHECK(dp_density_array(co2, temperature, pressure, 4, NULL, status) == DP_ERROR_ARGUMENT && says("out"));
    CHECK(dp_density_array(co2, shared, pressure, 4, shared + 1, NULL) == DP_ERROR_ARGUMENT && says("overlap"));
    CHECK(shared[1] == 313.15);
    CHECK(dp_density_array(co2, temperature, pressure, SIZE_MAX, out, NULL) == DP_ERROR_ARGUMENT);
    CHECK(says("memory") && last().element == -1);
    CHECK(dp_density_array(co2, (const double *)(const void *)((const char *)shared + 1), pressure, 1, out, NULL)
          == DP_ERROR_ARGUMENT);
    CHECK(says("unaligned"));
    CHECK(dp_property_array(co2, 999, temperature, pressure, 4, out, status) == DP_ERROR_ARGUMENT);
    CHECK(dp_property_array(co2, DP_QUANTITY_LENGTH, temperature, pressure, 1, out, status)
          == DP_ERROR_MISSING_MODEL);
}

static void messages(const dp_fluid *co2)
{
    double out = 0.0;
    dp_state *state = NULL;
    char whole[1024];
    char cut[8];
    size_t needed = 0;

    CHECK(dp_density(co2, 40.0, 150e5, &out) == DP_ERROR_OUT_OF_RANGE);
    CHECK(dp_last_error_message(NULL, 0, &needed) == DP_OK && needed > sizeof cut);
    CHECK(dp_last_error_message(whole, sizeof whole, NULL) == DP_OK && strlen(whole) + 1 == needed);
    CHECK(dp_last_error_message(cut, sizeof cut, &needed) == DP_OK && strlen(cut) == sizeof cut - 1);
    CHECK(strncmp(cut, whole, sizeof cut - 1) == 0 && needed == strlen(whole) + 1);
    CHECK(dp_last_error_message(NULL, 5, &needed) == DP_ERROR_ARGUMENT);
    CHECK(dp_last_error(NULL) == DP_ERROR_ARGUMENT);
    /* Asking does not change what is asked for. */
    CHECK(last().code == DP_ERROR_OUT_OF_RANGE && last().value == 40.0);
    /* Nor does cleaning up. */
    CHECK(dp_state_from_tp(co2, 313.15, 150e5, &state) == DP_OK);
    CHECK(dp_density(co2, 40.0, 150e5, &out) == DP_ERROR_OUT_OF_RANGE);
    dp_state_free(state);
    dp_fluid_free(NULL);
    CHECK(last().code == DP_ERROR_OUT_OF_RANGE && says("40 K"));
    CHECK(dp_density(co2, 313.15, 150e5, &out) == DP_OK);
    CHECK(last().code == DP_OK && isnan(last().value));
    CHECK(dp_last_error_message(whole, sizeof whole, &needed) == DP_OK && needed == 1 && whole[0] == '\0');
}

int main(void)
{
    dp_fluid *co2 = NULL;
    names();
    CHECK(dp_fluid_new("carbon dioxide", &co2) == DP_OK);
    temperatures_and_pressures(co2);
    not_finite(co2);
    phases(co2);
    null_pointers(co2);
    arrays(co2);
    messages(co2);
    dp_fluid_free(co2);
    return report("errors");
}
