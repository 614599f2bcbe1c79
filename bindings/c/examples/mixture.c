/* A mobile phase from two pumps: its composition, its density in the column, and how far it is from two phases.
 * Build: cc mixture.c $(pkg-config --cflags --libs densepath) */
#include <densepath.h>
#include <stdio.h>

static dp_status print_phases(const dp_fluid *fluid, double temperature, double pressure)
{
    dp_phases *phases = NULL;
    size_t count = 0;
    size_t at;
    dp_status status = dp_flash(fluid, temperature, pressure, &phases);
    if (status == DP_OK) {
        status = dp_phases_count(phases, &count);
    }
    for (at = 0; status == DP_OK && at < count; at++) {
        dp_state *state = NULL;
        double share = 0.0;
        double density = 0.0;
        double second = 0.0;
        status = dp_phases_fraction(phases, at, &share);
        if (status == DP_OK) {
            status = dp_phases_state(phases, at, &state);
        }
        if (status == DP_OK) {
            status = dp_state_get(state, DP_QUANTITY_DENSITY, &density);
        }
        if (status == DP_OK) {
            status = dp_state_amount_fraction(state, 1, &second);
        }
        if (status == DP_OK) {
            printf("  %.3f of the amount: %.1f kg/m3, amount fraction of acetone %.4f\n", share, density, second);
        }
        dp_state_free(state);
    }
    dp_phases_free(phases);
    return status;
}

int main(void)
{
    const char *names[2] = {"carbon dioxide", "acetone"};
    dp_fluid *pumped[2] = {NULL, NULL};
    const dp_fluid *feeds[2];
    const double flows[2] = {2.4e-6 / 60.0, 0.6e-6 / 60.0};
    const double temperatures[2] = {278.15, 295.15};
    const double pressures[2] = {150e5, 150e5};
    dp_blend *blend = NULL;
    dp_fluid *mixture = NULL;
    double flow = 0.0;
    double fraction = 0.0;
    double density = 0.0;
    double margin = 0.0;
    char message[512] = "";
    dp_status status = dp_fluid_new(names[0], &pumped[0]);
    if (status == DP_OK) {
        status = dp_fluid_new(names[1], &pumped[1]);
    }
    feeds[0] = pumped[0];
    feeds[1] = pumped[1];
    if (status == DP_OK) {
        status = dp_blend_new(feeds, flows, temperatures, pressures, 2, &blend);
    }
    if (status == DP_OK) {
        status = dp_blend_mass_flow_rate(blend, &flow);
    }
    if (status == DP_OK) {
        status = dp_blend_amount_fraction(blend, 1, &fraction);
    }
    if (status == DP_OK) {
        status = dp_blend_fluid(blend, &mixture);
    }
    if (status == DP_OK) {
        status = dp_density(mixture, 313.15, 150e5, &density);
    }
    if (status == DP_OK) {
        status = dp_single_phase_margin(mixture, 313.15, 150e5, &margin);
    }
    if (status == DP_OK) {
        printf("%.3f g/min with an amount fraction of acetone of %.4f\n", flow * 60e3, fraction);
        printf("%.1f kg/m3 at 40 degC and 150 bar, %.0f bar above two phases; at 20 bar:\n", density, margin / 1e5);
        status = print_phases(mixture, 313.15, 20e5);
    }
    dp_last_error_message(message, sizeof message, NULL);
    printf("%s", message);
    dp_fluid_free(mixture);
    dp_blend_free(blend);
    dp_fluid_free(pumped[0]);
    dp_fluid_free(pumped[1]);
    return status == DP_OK ? 0 : 1;
}
