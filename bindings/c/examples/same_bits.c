/* Numbers to their last bits: a program in Rust and one in Python print the same. The instrument is invented.
 *
 * Run it in the folder of the method document, tests/methods, or name the document.
 *
 * Build: cc -std=c99 same_bits.c $(pkg-config --cflags --libs densepath) -o same_bits */
#include <densepath.h>

#include <stdio.h>
#include <string.h>

/* Longer than a block, so that threads share it. */
#define LIST 5000

static int failed;

static void show(const char *name, dp_status status, double value)
{
    uint64_t bits;
    if (status != DP_OK) {
        char message[1024] = "";
        dp_last_error_message(message, sizeof message, NULL);
        fprintf(stderr, "%s: %s\n", name, message);
        failed = 1;
        return;
    }
    memcpy(&bits, &value, sizeof bits);
    printf("%s %016llx\n", name, (unsigned long long)bits);
}

static void of_states(const dp_fluid *co2, const dp_fluid *mixture)
{
    static const int32_t quantities[] = {DP_QUANTITY_DENSITY, DP_QUANTITY_SPECIFIC_ENTHALPY, DP_QUANTITY_SPEED_OF_SOUND,
                                         DP_QUANTITY_DYNAMIC_VISCOSITY, DP_QUANTITY_THERMAL_CONDUCTIVITY};
    dp_state *state = NULL;
    dp_state *expanded = NULL;
    double value = 0.0;
    dp_status status;
    int step;
    for (step = 0; step < 12; step++) {
        const double t = 300.0 + 5.0 * step;
        const double p = 8e6 + 2e6 * step;
        size_t at;
        for (at = 0; at < sizeof quantities / sizeof *quantities; at++) {
            status = dp_property(co2, quantities[at], t, p, &value);
            show("carbon dioxide", status, value);
        }
        status = dp_property(mixture, DP_QUANTITY_DENSITY, t, p + 8e6, &value);
        show("mixture", status, value);
    }
    for (step = 0; step < 5; step++) {
        dp_state *liquid = NULL;
        dp_state *vapour = NULL;
        status = dp_saturation_at_temperature(co2, 220.0 + 20.0 * step, &value, &liquid, &vapour);
        show("saturation", status, value);
        dp_state_free(liquid);
        dp_state_free(vapour);
    }
    status = dp_state_from_tp(co2, 313.15, 15e6, &state);
    if (status == DP_OK) {
        status = dp_state_expand_to(state, 1e5, &expanded);
    }
    if (status == DP_OK) {
        status = dp_state_get(expanded, DP_QUANTITY_TEMPERATURE, &value);
    }
    show("expanded", status, value);
    dp_state_free(expanded);
    dp_state_free(state);
    status = dp_linear_restrictor_flow(co2, 25e-6, 0.2, 373.15, 15e6, 1e5, &value);
    show("restrictor", status, value);
}

static void of_list(const dp_fluid *co2)
{
    static double t[LIST];
    static double p[LIST];
    static double densities[LIST];
    /* FNV-1a over the bits of all, the lowest first. */
    uint64_t sum = 0xcbf29ce484222325u;
    int at;
    for (at = 0; at < LIST; at++) {
        t[at] = 290.0 + 0.02 * at;
        p[at] = 7e6 + 4e3 * at;
    }
    if (dp_property_array(co2, DP_QUANTITY_DENSITY, t, p, LIST, densities, NULL) != DP_OK) {
        failed = 1;
    }
    for (at = 0; at < LIST; at++) {
        uint64_t bits;
        int byte;
        memcpy(&bits, &densities[at], sizeof bits);
        for (byte = 0; byte < 8; byte++) {
            sum = (sum ^ ((bits >> (8 * byte)) & 0xff)) * 0x100000001b3u;
        }
    }
    printf("list %016llx\n", (unsigned long long)sum);
}

static void of_method(const char *document)
{
    dp_solution *solution = NULL;
    double value = 0.0;
    dp_status status = dp_solve_file(document, &solution);
    if (status == DP_OK) {
        status = dp_solution_delivery_pressure(solution, &value);
    }
    show("delivery", status, value);
    if (status == DP_OK) {
        status = dp_solution_mass_flow_rate(solution, &value);
    }
    show("mass flow", status, value);
    dp_solution_free(solution);
}

int main(int count, char **arguments)
{
    const char *names[] = {"carbon dioxide", "methanol"};
    const double fractions[] = {0.9, 0.1};
    dp_fluid *co2 = NULL;
    dp_fluid *mixture = NULL;
    if (dp_fluid_new("carbon dioxide", &co2) == DP_OK && dp_mixture_new(names, fractions, 2, &mixture) == DP_OK) {
        of_states(co2, mixture);
        of_list(co2);
        of_method(count > 1 ? arguments[1] : "tests/methods/packed.toml");
    } else {
        failed = 1;
    }
    dp_fluid_free(mixture);
    dp_fluid_free(co2);
    return failed;
}
