/* Every entry of the C interface with numbers, words and handles by chance: `adversary SECONDS SEED`. Compiled with the checks of the
 * compiler, which end the program at the first fault of memory. Every call must return a status of dp_error, and write its output only
 * with DP_OK; numbers given out are finite, and no call takes long that is not said to. The calls are written from the header into entries.h. The last line is the summary as JSON.
 *
 * With GUIDED the choices come from the inputs of libFuzzer, which keeps those that reach new code of the library. */
#include <densepath.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

enum { ROOM = 16, POOL = 12, KEPT = 3 };
#define UNTOUCHED (-123.5)
/* Seconds of a processor beyond which a call is a finding, unless its documentation says that it may take long. */
#define SLOW 1.0

static uint64_t calls;
static uint64_t answered;
static uint64_t findings;
static double slowest;
static const char *slowest_name = "";

#ifdef GUIDED
static const uint8_t *input;
static size_t left;

/* Up to eight bytes of the input; zeros after its end. */
static uint64_t bits(void)
{
    uint64_t found = 0;
    const size_t taken = left < sizeof found ? left : sizeof found;
    memcpy(&found, input, taken);
    input += taken;
    left -= taken;
    return found;
}

/* One byte for a small choice, so that one byte changed changes one choice. */
static uint64_t below(uint64_t limit)
{
    uint64_t found = 0;
    if (left > 0) {
        found = *input++;
        left--;
    }
    return found % limit;
}
#else
static uint64_t state;

static uint64_t bits(void)
{
    /* Marsaglia, J. Stat. Softw. 8 (14), 2003, doi 10.18637/jss.v008.i14. */
    state ^= state << 13;
    state ^= state >> 7;
    state ^= state << 17;
    return state;
}

static uint64_t below(uint64_t limit)
{
    return (bits() >> 11) % limit;
}
#endif

static double number(double low, double high)
{
    static const double special[] = {0.0, -0.0, 5e-324, 1.7e308, -1.0, 1.0, 40.0, 150.0, 304.1282, 7.3773e6, 101325.0, 1e-300};
    const uint64_t kind = below(100);
    if (kind == 0) {
        double any_bits;
        const uint64_t raw = bits();
        memcpy(&any_bits, &raw, sizeof any_bits);
        return any_bits;
    }
    if (kind < 3) {
        return kind == 1 ? (double)NAN : (double)INFINITY;
    }
    if (kind < 12) {
        return special[below(sizeof special / sizeof *special)];
    }
    return low * pow(high / low, (double)(bits() >> 11) / 9007199254740992.0);
}

/* Numbers that a parameter of that name may well have, so that many calls get past the first check. */
static double named_number(const char *name)
{
    static const struct {
        const char *part;
        double low;
        double high;
    } RANGES[] = {
        {"pressure_rate", 1e-3, 1e8}, {"temperature_error", 1e-6, 10.0}, {"pressure_error", 1.0, 1e6},
        {"temperature", 60.0, 1500.0}, {"pressure", 1.0, 1e9}, {"density", 1e-6, 3000.0},
        {"enthalpy", 1e3, 1e7}, {"entropy", 1.0, 1e5}, {"diameter", 1e-7, 1e-2},
        {"length", 1e-4, 10.0}, {"mass_flow", 1e-10, 1e-2}, {"volume_flow", 1e-12, 1e-4},
        {"fraction", 1e-9, 1.0}, {"ratio", 1e-6, 10.0}, {"tolerance", 1e-4, 0.1},
        {"time", 1e-3, 10.0}, {"rate", 1e-3, 1e3}, {"volume", 1e-9, 100.0},
    };
    size_t at;
    for (at = 0; at < sizeof RANGES / sizeof *RANGES; at++) {
        if (strstr(name, RANGES[at].part) != NULL) {
            return number(RANGES[at].low, RANGES[at].high);
        }
    }
    return number(1e-9, 1e9);
}

static int32_t code(void)
{
    return below(20) == 0 ? (int32_t)bits() : (int32_t)below(110) - 5;
}

/* A length that the arrays have, often two. */
static size_t room(void)
{
    return below(3) == 0 ? 2 : (size_t)below(ROOM + 1);
}

/* An index or a count that may be anything. */
static size_t place(void)
{
    return below(30) == 0 ? (size_t)bits() : (size_t)below(6);
}

static const char *const WORDS[] = {
    "carbon dioxide", "CO2", "methanol", "water", "nitrogen", "ethanol", "carbon dioxide", "", "none", "cubic", "multi-fluid", "best", "mass",
    "amount", "largest heat capacity", "column", "pump", "oven", "temperature", "outlet_pressure", "flow", "method", "density", "\xff", "\xc3\xa9",
    "title = \"invented\"", "{}", "[", "/dev/null", "column.pressure_drop",
};

static char made_up[64];

/* A name, an option, a key, a document or nothing of the kind. */
static const char *word(const char *name)
{
    const uint64_t kind = below(20);
    if (kind == 0) {
        return NULL;
    }
    if (kind == 1) {
        size_t at;
        const size_t length = (size_t)below(sizeof made_up - 1);
        for (at = 0; at < length; at++) {
            made_up[at] = (char)(1 + below(255));
        }
        made_up[length] = '\0';
        return made_up;
    }
    if (strcmp(name, "name") == 0 || strcmp(name, "names") == 0) {
        return WORDS[below(7)];
    }
    return WORDS[below(sizeof WORDS / sizeof *WORDS)];
}

#define or_null(pointer) (below(40) == 0 ? NULL : (pointer))
#define fill(list, element)                  \
    do {                                     \
        size_t entry_;                       \
        for (entry_ = 0; entry_ < ROOM; entry_++) { \
            (list)[entry_] = (element);      \
        }                                    \
    } while (0)

/* Fractions of two, or anything. */
static void fill_fractions(double *list)
{
    const double share = (double)below(101) / 100.0;
    fill(list, number(1e-9, 1.0));
    if (below(4) != 0) {
        list[0] = share;
        list[1] = 1.0 - share;
    }
}

static void finding(const char *entry, dp_status status, double value)
{
    findings++;
    if (findings < 50) {
        printf("FOUND %s: status %d, %g\n", entry, (int)status, value);
    }
#ifdef GUIDED
    fflush(stdout);
    abort();
#endif
}

static const char *entry_called = "";

/* The rules of every entry. */
static void judge(const char *entry, dp_status status)
{
    const char *name = NULL;
    entry_called = entry;
    calls++;
    if (status == DP_OK) {
        answered++;
    } else if (dp_error_name(status, &name) != DP_OK || name == NULL || status == DP_ERROR_INTERNAL) {
        finding(entry, status, 0.0);
    }
}

/* Those of an entry that gives one number out. */
static void judge_number(dp_status status, double value)
{
    const int is_untouched = value == UNTOUCHED;
    if (status == DP_OK ? !isfinite(value) || is_untouched : !is_untouched) {
        finding(entry_called, status, value);
    }
}

/* A handle came out of a call. */
static void given_out(const char *kind, dp_status status)
{
    if (status != DP_OK) {
        finding(kind, status, 0.0);
    }
}

#include "entries.h"

/* The first of each kind stay, so that there is always something to ask. */
static void *pool[KINDS][POOL];

static void *any(int kind)
{
    return below(40) == 0 ? NULL : pool[kind][below(POOL)];
}

static void keep(int kind, void *handle)
{
    const size_t at = KEPT + (size_t)below(POOL - KEPT);
    free_handle(kind, pool[kind][at]);
    pool[kind][at] = handle;
}

static void empty(size_t from)
{
    int kind;
    size_t at;
    for (kind = 0; kind < KINDS; kind++) {
        for (at = from; at < POOL; at++) {
            free_handle(kind, pool[kind][at]);
            pool[kind][at] = NULL;
        }
    }
}

/* Handles to begin with, of every kind that can be made at once. */
static int begin(void)
{
    const char *names[] = {"carbon dioxide", "methanol"};
    const double fractions[] = {0.9, 0.1};
    const double rates[] = {3e-8, 3e-9};
    const double temperatures[] = {278.15, 298.15};
    const double pressures[] = {15e6, 15e6};
    const int32_t properties[] = {DP_QUANTITY_DENSITY};
    struct dp_fluid **fluids = (struct dp_fluid **)pool[KIND_dp_fluid];
    const struct dp_fluid *pumped[2];
    struct dp_state **states = (struct dp_state **)pool[KIND_dp_state];
    struct dp_solution **solutions = (struct dp_solution **)pool[KIND_dp_solution];
    if (dp_fluid_new("carbon dioxide", &fluids[0]) != DP_OK || dp_fluid_new("methanol", &fluids[1]) != DP_OK
        || dp_mixture_new(names, fractions, 2, &fluids[2]) != DP_OK) {
        return 0;
    }
    pumped[0] = fluids[0];
    pumped[1] = fluids[1];
    return dp_state_from_tp(fluids[0], 313.15, 15e6, &states[0]) == DP_OK && dp_state_from_tp(fluids[2], 313.15, 15e6, &states[1]) == DP_OK
           && dp_state_from_t_rho(fluids[0], 293.15, 600.0, &states[2]) == DP_OK && dp_solve_file(DOCUMENT, &solutions[0]) == DP_OK
           && dp_solution_cycle(solutions[0], 300.0, 60.0, 5.0, (struct dp_cycle **)&pool[KIND_dp_cycle][0]) == DP_OK
           && dp_blocked_in(states[0], 333.15, 40e6, (struct dp_danger **)&pool[KIND_dp_danger][0]) == DP_OK
           && dp_flash(fluids[2], 313.15, 6e6, (struct dp_phases **)&pool[KIND_dp_phases][0]) == DP_OK
           && dp_boundaries_at_temperature(fluids[2], 313.15, (struct dp_boundaries **)&pool[KIND_dp_boundaries][0]) == DP_OK
           && dp_blend_new(pumped, rates, temperatures, pressures, 2, (struct dp_blend **)&pool[KIND_dp_blend][0]) == DP_OK
           && dp_table_new(fluids[0], properties, 1, 313.0, 314.0, 15e6, 15.1e6, 1e-3, (struct dp_table **)&pool[KIND_dp_table][0]) == DP_OK;
}

/* One entry by chance, timed. */
static void call(void)
{
    const size_t at = (size_t)(256 * below(256) + below(256)) % (sizeof ENTRIES / sizeof *ENTRIES);
    const clock_t start = clock();
    double taken;
    ENTRIES[at].call();
    taken = (double)(clock() - start) / CLOCKS_PER_SEC;
    if (taken > SLOW && !ENTRIES[at].is_long) {
        finding(ENTRIES[at].name, DP_OK, taken);
    }
    if (taken > slowest) {
        slowest = taken;
        slowest_name = ENTRIES[at].name;
    }
}

/* An output on top of an input, and arrays that no memory holds. */
static void overlaps(void)
{
    double temperature[2] = {300.0, 310.0};
    double pressure[2] = {1e7, 1e7};
    double out[2];
    const struct dp_fluid *fluid = pool[KIND_dp_fluid][0];
    if (dp_density_array(fluid, temperature, pressure, 2, pressure, NULL) != DP_ERROR_ARGUMENT
        || dp_density_array(fluid, temperature, pressure, SIZE_MAX, out, NULL) != DP_ERROR_ARGUMENT) {
        finding("dp_density_array", DP_OK, 0.0);
    }
}

#ifdef GUIDED
int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static int has_begun;
    if (!has_begun) {
        if (!begin()) {
            abort();
        }
        overlaps();
        has_begun = 1;
    }
    input = data;
    left = size;
    while (left > 0) {
        call();
    }
    empty(KEPT);
    return 0;
}
#else
int main(int count, char **arguments)
{
    const time_t start = time(NULL);
    const long seconds = count > 1 ? atol(arguments[1]) : 5;
    const uint64_t seed = count > 2 ? (uint64_t)atoll(arguments[2]) : 1U;
    state = seed | 1U;
    if (!begin()) {
        return 1;
    }
    overlaps();
    while (time(NULL) - start < seconds) {
        call();
    }
    printf("{\"part\": \"c\", \"seed\": %llu, \"seconds\": %ld, \"functions\": %llu, \"calls\": %llu, \"answered\": %llu, \"findings\": %llu, "
           "\"slowest\": \"%s\", \"slowest_ms\": %.3f}\n",
           (unsigned long long)seed, (long)(time(NULL) - start), (unsigned long long)(sizeof ENTRIES / sizeof *ENTRIES),
           (unsigned long long)calls, (unsigned long long)answered, (unsigned long long)findings, slowest_name, slowest * 1e3);
    empty(0);
    return findings == 0 ? 0 : 1;
}
#endif
