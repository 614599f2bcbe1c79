/* Entries of the C interface with numbers and pointers by chance: `adversary SECONDS SEED`. Compiled with the checks of the compiler, which
 * end the program at the first fault of memory. Every call must return a status of dp_error, and write its output only with DP_OK. The last
 * line is the summary as JSON. */
#include <densepath.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

static uint64_t state;
static uint64_t calls;
static uint64_t answered;
static uint64_t findings;

static uint64_t bits(void)
{
    /* Marsaglia, J. Stat. Softw. 8 (14), 2003, doi 10.18637/jss.v008.i14. */
    state ^= state << 13;
    state ^= state >> 7;
    state ^= state << 17;
    return state;
}

static double number(double low, double high)
{
    static const double special[] = {0.0, -0.0, 5e-324, 1.7e308, -1.0, 1.0, 40.0, 150.0, 304.1282, 7.3773e6, 101325.0, 1e-300};
    const uint64_t kind = bits() % 100;
    if (kind == 0) {
        double any;
        const uint64_t raw = bits();
        memcpy(&any, &raw, sizeof any);
        return any;
    }
    if (kind < 3) {
        return kind == 1 ? (double)NAN : (double)INFINITY;
    }
    if (kind < 15) {
        return special[bits() % (sizeof special / sizeof *special)];
    }
    return low * pow(high / low, (double)(bits() >> 11) / 9007199254740992.0);
}

static void finding(const char *entry, dp_status status, double value)
{
    findings++;
    if (findings < 50) {
        printf("FOUND %s: status %d, %g\n", entry, (int)status, value);
    }
}

/* The rules of every entry with one number for its output. */
static void judge(const char *entry, dp_status status, double value)
{
    const char *name = NULL;
    calls++;
    if (status == DP_OK) {
        answered++;
        if (!isfinite(value)) {
            finding(entry, status, value);
        }
    } else if (value != -123.5 || dp_error_name(status, &name) != DP_OK || status == DP_ERROR_INTERNAL) {
        finding(entry, status, value);
    }
}

typedef dp_status (*property_of)(const dp_fluid *, double, double, double *);

static const struct {
    const char *name;
    property_of call;
} PROPERTIES[] = {
#define PROPERTY(name) {#name, dp_##name}
#include "properties.h"
};

static void fluid_calls(const dp_fluid *fluid)
{
    const size_t at = bits() % (sizeof PROPERTIES / sizeof *PROPERTIES);
    double out = -123.5;
    judge(PROPERTIES[at].name, PROPERTIES[at].call(fluid, number(60.0, 1500.0), number(1.0, 1e9), &out), out);
    out = -123.5;
    judge("dp_pressure", dp_pressure(fluid, number(60.0, 1500.0), number(1e-6, 3000.0), &out), out);
    out = -123.5;
    judge("dp_property", dp_property(fluid, (int32_t)(bits() % 90) - 5, number(60.0, 1500.0), number(1.0, 1e9), &out), out);
    out = -123.5;
    judge("dp_linear_restrictor_flow",
          dp_linear_restrictor_flow(fluid, number(1e-7, 1e-2), number(1e-4, 10.0), number(200.0, 500.0), number(1e4, 1e8),
                                    number(1e4, 1e8), &out),
          out);
}

static void array_calls(const dp_fluid *fluid)
{
    enum { COUNT = 16 };
    double temperature[COUNT];
    double pressure[COUNT];
    double out[COUNT];
    int32_t status[COUNT];
    int at;
    dp_status whole;
    for (at = 0; at < COUNT; at++) {
        temperature[at] = number(60.0, 1500.0);
        pressure[at] = number(1.0, 1e9);
    }
    whole = dp_density_array(fluid, temperature, pressure, COUNT, out, status);
    calls++;
    for (at = 0; at < COUNT; at++) {
        if ((status[at] == DP_OK) != (isfinite(out[at]) != 0) || (whole == DP_OK && status[at] != DP_OK)) {
            finding("dp_density_array", status[at], out[at]);
        }
    }
    /* An output on top of an input, and arrays that no memory holds. */
    judge("overlap", dp_density_array(fluid, temperature, pressure, COUNT, pressure, NULL) == DP_ERROR_ARGUMENT ? DP_OK : 1, 0.0);
    judge("too long", dp_density_array(fluid, temperature, pressure, SIZE_MAX, out, NULL) == DP_ERROR_ARGUMENT ? DP_OK : 1, 0.0);
}

static void state_calls(const dp_fluid *fluid)
{
    typedef dp_status (*make)(const dp_fluid *, double, double, dp_state **);
    static const make MAKERS[] = {dp_state_from_tp, dp_state_from_t_rho, dp_state_from_ph, dp_state_from_ps};
    dp_state *made = NULL;
    dp_state *expanded = NULL;
    double out = -123.5;
    calls++;
    if (MAKERS[bits() % 4](fluid, number(1.0, 1e8), number(1e-3, 1e7), &made) != DP_OK) {
        if (made != NULL) {
            finding("dp_state_from", 0, 0.0);
        }
        return;
    }
    judge("dp_state_get", dp_state_get(made, (int32_t)(bits() % 90) - 5, &out), out);
    if (dp_state_expand_to(made, number(1e3, 1e8), &expanded) == DP_OK) {
        out = -123.5;
        judge("dp_state_get", dp_state_get(expanded, DP_QUANTITY_DENSITY, &out), out);
    }
    dp_state_free(expanded);
    dp_state_free(made);
}

/* Text and bytes that mean nothing. */
static void text_calls(void)
{
    char text[64];
    dp_fluid *fluid = NULL;
    dp_solution *solution = NULL;
    dp_table *table = NULL;
    size_t at;
    const size_t length = bits() % (sizeof text - 1);
    for (at = 0; at < length; at++) {
        text[at] = (char)(1 + bits() % 255);
    }
    text[length] = '\0';
    calls += 3;
    if (dp_fluid_new(text, &fluid) == DP_OK) {
        dp_fluid_free(fluid);
    }
    if (dp_solve_toml(text, &solution) == DP_OK) {
        dp_solution_free(solution);
    }
    if (dp_table_read((const uint8_t *)text, length, &table) == DP_OK) {
        finding("dp_table_read", DP_OK, 0.0);
        dp_table_free(table);
    }
}

int main(int count, char **arguments)
{
    const char *names[] = {"carbon dioxide", "methanol"};
    const double fractions[] = {0.9, 0.1};
    dp_fluid *fluids[3] = {NULL, NULL, NULL};
    const time_t start = time(NULL);
    const long seconds = count > 1 ? atol(arguments[1]) : 5;
    const uint64_t seed = count > 2 ? (uint64_t)atoll(arguments[2]) : 1U;
    state = seed | 1U;
    if (dp_fluid_new("carbon dioxide", &fluids[0]) != DP_OK || dp_fluid_new("water", &fluids[1]) != DP_OK
        || dp_mixture_new(names, fractions, 2, &fluids[2]) != DP_OK) {
        return 1;
    }
    while (time(NULL) - start < seconds) {
        const uint64_t kind = bits() % 100;
        const dp_fluid *fluid = fluids[bits() % 50 == 0 ? 2 : bits() % 2];
        if (kind < 70) {
            fluid_calls(fluid);
        } else if (kind < 80) {
            array_calls(fluid);
        } else if (kind < 95) {
            state_calls(fluid);
        } else {
            text_calls();
        }
    }
    printf("{\"part\": \"c\", \"seed\": %llu, \"seconds\": %ld, \"calls\": %llu, \"answered\": %llu, \"findings\": %llu}\n",
           (unsigned long long)seed, (long)(time(NULL) - start), (unsigned long long)calls, (unsigned long long)answered,
           (unsigned long long)findings);
    dp_fluid_free(fluids[0]);
    dp_fluid_free(fluids[1]);
    dp_fluid_free(fluids[2]);
    return findings == 0 ? 0 : 1;
}
