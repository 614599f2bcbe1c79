/* Mixtures: how they are made and refused, their phases, their critical points, and what pumps deliver together.
 *
 * The blend: independent computation with CoolProp 8.0.0, tests/vectors/worked_blend.json, example blend-1. The pressure of
 * carbon dioxide with nitrogen: CoolProp 8.0.0 at 320 K, 12000 mol/m3 and an amount fraction of nitrogen of 0.1, its gas constants
 * not normalized. */
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

static dp_fluid *mixture(const char *first, const char *second, double fraction)
{
    const char *names[2];
    double fractions[2];
    dp_fluid *fluid = NULL;
    names[0] = first;
    names[1] = second;
    fractions[0] = 1.0 - fraction;
    fractions[1] = fraction;
    CHECK(dp_mixture_new(names, fractions, 2, &fluid) == DP_OK);
    return fluid;
}

static void what_it_is(void)
{
    dp_fluid *fluid = mixture("CO2", "nitrogen", 0.1);
    dp_fluid *other = NULL;
    const double fractions[2] = {0.5, 0.5};
    const char *text = NULL;
    size_t count = 0;
    double value = 0.0;
    double molar_mass = 0.0;
    double mass = 0.0;
    CHECK(dp_fluid_name(fluid, &text) == DP_OK && strcmp(text, "carbon dioxide + nitrogen") == 0);
    CHECK(dp_fluid_model(fluid, &text) == DP_OK && strstr(text, "multi-fluid") != NULL);
    CHECK(dp_fluid_substance_count(fluid, &count) == DP_OK && count == 2);
    CHECK(dp_fluid_substance_name(fluid, 1, &text) == DP_OK && strcmp(text, "nitrogen") == 0);
    CHECK(dp_fluid_substance_name(fluid, 2, &text) == DP_ERROR_ARGUMENT);
    CHECK(dp_fluid_amount_fraction(fluid, 1, &value) == DP_OK && value == 0.1);
    CHECK(dp_fluid_mass_fraction(fluid, 1, &mass) == DP_OK);
    CHECK(dp_molar_mass(fluid, &molar_mass) == DP_OK && near(mass, 0.1 * 28.0134e-3 / molar_mass, 1e-5));
    CHECK(dp_pressure(fluid, 320.0, 12000.0 * molar_mass, &value) == DP_OK && near(value, 14139525.91489859, 0.1));
    CHECK(dp_triple_temperature(fluid, &value) == DP_ERROR_MISSING_MODEL);
    CHECK(dp_fluid_with_amount_fractions(fluid, fractions, 2, &other) == DP_OK);
    CHECK(dp_fluid_amount_fraction(other, 1, &value) == DP_OK && value == 0.5);
    dp_fluid_free(other);
    other = NULL;
    CHECK(dp_fluid_with_amount_fractions(fluid, fractions, 1, &other) == DP_ERROR_ARGUMENT && other == NULL);
    dp_fluid_free(fluid);
}

static dp_status made(const char *first, const char *second, double x, double y, const char *model)
{
    const char *names[2];
    double fractions[2];
    dp_fluid *fluid = NULL;
    dp_status status;
    names[0] = first;
    names[1] = second;
    fractions[0] = x;
    fractions[1] = y;
    status = dp_mixture_new_with_model(names, fractions, 2, model, &fluid);
    CHECK((status == DP_OK) == (fluid != NULL));
    dp_fluid_free(fluid);
    return status;
}

static void what_is_none(void)
{
    const char *names[2] = {"carbon dioxide", "acetone"};
    const double fractions[2] = {0.9, 0.1};
    dp_fluid *fluid = NULL;
    dp_error_info info;
    char message[512] = "";
    CHECK(made("carbon dioxide", "acetone", 0.9, 0.1, "best") == DP_OK);
    CHECK(made("carbon dioxide", "acetone", 0.9, 0.1, "multi-fluid") == DP_OK);
    CHECK(made("carbon dioxide", "acetone", 0.9, 0.2, "best") == DP_ERROR_COMPOSITION);
    CHECK(dp_last_error(&info) == DP_OK && info.quantity == DP_QUANTITY_AMOUNT_FRACTION && info.value == 0.2);
    CHECK(made("carbon dioxide", "acetone", 1.1, -0.1, "best") == DP_ERROR_COMPOSITION);
    CHECK(made("carbon dioxide", "acetone", NAN, 0.1, "best") == DP_ERROR_COMPOSITION);
    CHECK(made("carbon dioxide", "phlogiston", 0.9, 0.1, "best") == DP_ERROR_UNKNOWN_FLUID);
    CHECK(made("carbon dioxide", "CO2", 0.9, 0.1, "best") == DP_ERROR_ARGUMENT);
    CHECK(made("xenon", "water", 0.9, 0.1, "best") == DP_ERROR_MISSING_MODEL);
    CHECK(dp_last_error_message(message, sizeof message, NULL) == DP_OK && strstr(message, "xenon + water") != NULL);
    CHECK(made("carbon dioxide", "acetone", 0.9, 0.1, "PR") == DP_ERROR_ARGUMENT);
    CHECK(dp_last_error_message(message, sizeof message, NULL) == DP_OK && strstr(message, "multi-fluid") != NULL);
    CHECK(dp_mixture_new(names, fractions, 0, &fluid) == DP_ERROR_ARGUMENT);
    CHECK(dp_mixture_new(NULL, fractions, 2, &fluid) == DP_ERROR_ARGUMENT);
    CHECK(dp_mixture_new(names, NULL, 2, &fluid) == DP_ERROR_ARGUMENT);
    CHECK(dp_mixture_new(names, fractions, 2, NULL) == DP_ERROR_ARGUMENT);
    names[1] = NULL;
    CHECK(dp_mixture_new(names, fractions, 2, &fluid) == DP_ERROR_ARGUMENT && fluid == NULL);
    CHECK(dp_fluid_new_with_model("carbon dioxide", "cubic", NULL) == DP_ERROR_ARGUMENT);
}

static void models_of_one_substance(void)
{
    dp_fluid *cubic = NULL;
    dp_fluid *wide = NULL;
    dp_state *state = NULL;
    const char *text = NULL;
    size_t count = 0;
    size_t needed = 0;
    int32_t code = 0;
    char buffer[400] = "";
    double value = 0.0;
    double corrected = 0.0;
    CHECK(dp_fluid_new_with_model("carbon dioxide", "cubic", &cubic) == DP_OK);
    CHECK(dp_fluid_model(cubic, &text) == DP_OK && strstr(text, "Peng") != NULL);
    dp_fluid_free(cubic);
    CHECK(dp_fluid_new_with_model("carbon dioxide", "multi-fluid", &cubic) == DP_OK);
    CHECK(dp_density(cubic, 1200.0, 1e6, &value) == DP_ERROR_OUT_OF_RANGE);
    CHECK(dp_fluid_extrapolating(cubic, &wide) == DP_OK);
    CHECK(dp_state_from_tp(wide, 1200.0, 1e6, &state) == DP_OK);
    CHECK(dp_state_notice_count(state, &count) == DP_OK && count > 0);
    CHECK(dp_state_notice_code(state, 0, &code) == DP_OK && code == DP_NOTICE_EXTRAPOLATED);
    CHECK(dp_state_notice_text(state, 0, buffer, sizeof buffer, &needed) == DP_OK);
    CHECK(needed == strlen(buffer) + 1 && strstr(buffer, "uncertainty") != NULL);
    CHECK(dp_state_notice_text(state, 0, buffer, 10, &needed) == DP_OK && strlen(buffer) == 9);
    CHECK(dp_state_notice_text(state, 0, NULL, 10, &needed) == DP_ERROR_ARGUMENT);
    CHECK(dp_state_notice_code(state, count, &code) == DP_ERROR_ARGUMENT);
    dp_state_free(state);
    dp_fluid_free(wide);
    CHECK(dp_fluid_with_viscosity_factor(cubic, 20.0, &wide) == DP_ERROR_OUT_OF_RANGE);
    CHECK(dp_fluid_with_viscosity_factor(cubic, 1.02, &wide) == DP_OK);
    CHECK(dp_dynamic_viscosity(cubic, 313.15, 15e6, &value) == DP_OK);
    CHECK(dp_dynamic_viscosity(wide, 313.15, 15e6, &corrected) == DP_OK && fabs(corrected / value - 1.02) < 1e-14);
    CHECK(dp_fluid_model(wide, &text) == DP_OK && strstr(text, "dynamic viscosity times 1.02") != NULL);
    dp_fluid_free(wide);
    CHECK(dp_fluid_with_density_factor(cubic, 2.0, 313.15, 15e6, &wide) == DP_ERROR_OUT_OF_RANGE);
    CHECK(dp_fluid_with_density_factor(cubic, 1.01, 313.15, 15e6, &wide) == DP_OK);
    CHECK(dp_density(cubic, 313.15, 15e6, &value) == DP_OK);
    CHECK(dp_density(wide, 313.15, 15e6, &corrected) == DP_OK && fabs(corrected / value - 1.01) < 1e-14);
    CHECK(dp_fluid_model(wide, &text) == DP_OK && strstr(text, "specific volume plus") != NULL);
    dp_fluid_free(wide);
    dp_fluid_free(cubic);
}

static void borders(void)
{
    dp_fluid *fluid = mixture("carbon dioxide", "acetone", 0.7);
    dp_state *liquid = NULL;
    dp_state *vapour = NULL;
    dp_boundaries *all = NULL;
    dp_boundary border;
    double bubble = 0.0;
    double dew = 0.0;
    double value = 0.0;
    size_t count = 0;
    CHECK(dp_bubble_point_at_temperature(fluid, 313.15, &bubble, &liquid, &vapour) == DP_OK);
    CHECK(get(liquid, DP_QUANTITY_DENSITY) > get(vapour, DP_QUANTITY_DENSITY));
    CHECK(dp_state_amount_fraction(liquid, 1, &value) == DP_OK && near(value, 0.7, 1e-12));
    CHECK(dp_state_amount_fraction(vapour, 1, &value) == DP_OK && value < 0.2);
    dp_state_free(liquid);
    dp_state_free(vapour);
    CHECK(dp_bubble_point_at_pressure(fluid, bubble, &value, &liquid, &vapour) == DP_OK && near(value, 313.15, 1e-5));
    dp_state_free(liquid);
    dp_state_free(vapour);
    CHECK(dp_dew_point_at_temperature(fluid, 313.15, &dew, &liquid, &vapour) == DP_OK && dew < bubble);
    dp_state_free(liquid);
    dp_state_free(vapour);
    CHECK(dp_dew_point_at_pressure(fluid, dew, &value, &liquid, &vapour) == DP_OK && near(value, 313.15, 1e-5));
    dp_state_free(liquid);
    dp_state_free(vapour);
    CHECK(dp_boundaries_at_temperature(fluid, 313.15, &all) == DP_OK);
    CHECK(dp_boundaries_count(all, &count) == DP_OK && count >= 2);
    CHECK(dp_boundaries_at(all, 1, &border, &liquid, &vapour) == DP_OK);
    CHECK(border.is_bubble == 1 && border.temperature == 313.15 && near(border.pressure / bubble, 1.0, 1e-7));
    dp_state_free(liquid);
    dp_state_free(vapour);
    CHECK(dp_boundaries_at(all, count, &border, &liquid, &vapour) == DP_ERROR_ARGUMENT);
    dp_boundaries_free(all);
    dp_boundaries_free(NULL);
    CHECK(dp_single_phase_margin(fluid, 313.15, 150e5, &value) == DP_OK && near(value, 150e5 - bubble, 10.0));
    CHECK(dp_saturation_at_temperature(fluid, 313.15, &value, &liquid, &vapour) == DP_ERROR_MISSING_MODEL);
    dp_fluid_free(fluid);
}

static void phases(void)
{
    dp_fluid *fluid = mixture("carbon dioxide", "acetone", 0.7);
    dp_phases *found = NULL;
    size_t count = 0;
    size_t at;
    double whole = 0.0;
    double second = 0.0;
    double mass = 0.0;
    CHECK(dp_flash(fluid, 313.15, 10e5, &found) == DP_OK);
    dp_fluid_free(fluid);
    CHECK(dp_phases_count(found, &count) == DP_OK && count == 2);
    for (at = 0; at < count; at++) {
        dp_state *state = NULL;
        dp_fluid *own = NULL;
        double share = 0.0;
        double fraction = 0.0;
        double again = 0.0;
        CHECK(dp_phases_fraction(found, at, &share) == DP_OK);
        CHECK(dp_phases_state(found, at, &state) == DP_OK);
        CHECK(dp_state_amount_fraction(state, 1, &fraction) == DP_OK);
        CHECK(dp_state_fluid(state, &own) == DP_OK);
        CHECK(dp_fluid_amount_fraction(own, 1, &again) == DP_OK && again == fraction);
        whole += share;
        second += share * fraction;
        CHECK(dp_phases_mass_fraction(found, at, &share) == DP_OK);
        mass += share;
        dp_fluid_free(own);
        dp_state_free(state);
    }
    CHECK(near(whole, 1.0, 1e-12) && near(mass, 1.0, 1e-12) && near(second, 0.7, 1e-10));
    CHECK(dp_phases_fraction(found, 2, &whole) == DP_ERROR_ARGUMENT);
    dp_phases_free(found);
    dp_phases_free(NULL);
}

static void critical_points(void)
{
    dp_fluid *fluid = mixture("carbon dioxide", "acetone", 0.1);
    dp_critical_locus *locus = NULL;
    dp_critical point;
    size_t count = 0;
    size_t points = 0;
    int32_t joined = -1;
    const char *kind = NULL;
    double temperature = 0.0;
    double pressure = 0.0;
    double density = 0.0;
    CHECK(dp_critical_point(fluid, &temperature, &pressure, &density) == DP_OK);
    CHECK(dp_critical_point_count(fluid, &count) == DP_OK && count >= 1);
    CHECK(dp_critical_point_at(fluid, 0, &point) == DP_OK && isnan(point.amount_fraction));
    CHECK(dp_critical_point_at(fluid, count, &point) == DP_ERROR_ARGUMENT);
    dp_fluid_free(fluid);
    CHECK(dp_critical_locus_new("carbon dioxide", "ethanol", "best", &locus) == DP_OK);
    CHECK(dp_critical_locus_is_joined(locus, &joined) == DP_OK && joined == 1);
    CHECK(dp_critical_locus_kind(locus, &kind) == DP_OK && strcmp(kind, "joined") == 0);
    CHECK(dp_critical_locus_branch_count(locus, &count) == DP_OK && count >= 1);
    CHECK(dp_critical_locus_point_count(locus, 0, &points) == DP_OK && points > 10);
    CHECK(dp_critical_locus_point(locus, 0, 0, &point) == DP_OK);
    CHECK(point.amount_fraction < 1e-3 && near(point.pressure, 7.3773e6, 5e4));
    CHECK(dp_critical_locus_point(locus, 0, points - 1, &point) == DP_OK);
    CHECK(point.amount_fraction > 0.999 && near(point.temperature, 514.71, 0.05));
    CHECK(dp_critical_locus_point(locus, 0, points, &point) == DP_ERROR_ARGUMENT);
    CHECK(dp_critical_locus_point_count(locus, count, &points) == DP_ERROR_ARGUMENT);
    dp_critical_locus_free(locus);
    dp_critical_locus_free(NULL);
    locus = NULL;
    CHECK(dp_critical_locus_new("xenon", "water", "best", &locus) == DP_ERROR_MISSING_MODEL && locus == NULL);
}

static void blends(void)
{
    dp_fluid *carbon_dioxide = NULL;
    dp_fluid *methanol = NULL;
    const dp_fluid *fluids[2];
    const double flows[2] = {4.9e-8, 0.1e-8};
    const double temperatures[2] = {278.15, 295.15};
    const double pressures[2] = {150e5, 150e5};
    double fractions[2] = {0.0, 0.0};
    double again[2] = {0.0, 0.0};
    dp_blend *blend = NULL;
    const char *text = NULL;
    size_t count = 0;
    double rate = 0.0;
    double mass = 0.0;
    CHECK(dp_fluid_new("carbon dioxide", &carbon_dioxide) == DP_OK);
    CHECK(dp_fluid_new("methanol", &methanol) == DP_OK);
    fluids[0] = carbon_dioxide;
    fluids[1] = methanol;
    CHECK(dp_blend_new(fluids, flows, temperatures, pressures, 2, &blend) == DP_OK);
    CHECK(dp_blend_mass_flow_rate(blend, &rate) == DP_OK && near(rate / 4.86943333333e-05, 1.0, 2e-5));
    CHECK(dp_blend_mass_fraction(blend, 1, &mass) == DP_OK && near(mass / 0.0164818, 1.0, 2e-5));
    CHECK(dp_blend_amount_fraction(blend, 1, &fractions[1]) == DP_OK && near(fractions[1] / 0.0224992, 1.0, 2e-5));
    CHECK(dp_blend_amount_fraction(blend, 0, &fractions[0]) == DP_OK);
    CHECK(dp_blend_substance_count(blend, &count) == DP_OK && count == 2);
    CHECK(dp_blend_substance_name(blend, 1, &text) == DP_OK && strcmp(text, "methanol") == 0);
    CHECK(dp_blend_amount_fraction(blend, 2, &mass) == DP_ERROR_ARGUMENT);
    dp_blend_free(blend);
    dp_blend_free(NULL);
    CHECK(dp_blend_volume_flow_rates(fluids, fractions, temperatures, pressures, 2, "amount", rate, again) == DP_OK);
    CHECK(near(again[0] / flows[0], 1.0, 1e-12) && near(again[1] / flows[1], 1.0, 1e-12));
    CHECK(dp_blend_volume_flow_rates(fluids, fractions, temperatures, pressures, 2, "weight", rate, again)
          == DP_ERROR_ARGUMENT);
    CHECK(dp_blend_volume_flow_rates(fluids, fractions, temperatures, pressures, 2, "mass", rate, fractions)
          == DP_ERROR_ARGUMENT);
    CHECK(dp_blend_new(fluids, flows, temperatures, pressures, 0, &blend) == DP_ERROR_ARGUMENT);
    fluids[1] = NULL;
    CHECK(dp_blend_new(fluids, flows, temperatures, pressures, 2, &blend) == DP_ERROR_ARGUMENT);
    dp_fluid_free(carbon_dioxide);
    dp_fluid_free(methanol);
}

int main(void)
{
    what_it_is();
    what_is_none();
    models_of_one_substance();
    borders();
    phases();
    critical_points();
    blends();
    return report("mixtures");
}
