/* The ways through the code that the calls of a control loop take: `control COUNT SEED STATES` makes so many calls at random states and
 * writes one state for each set of blocks of the code that a call ran through, as often as it did, to a file. The library must have been
 * compiled with guards that tell of every block (SanitizerCoverage of LLVM, trace-pc-guard). Calls that run the same blocks as often run
 * the same instructions, so that counting them at these states counts them for all. The last line is the summary as JSON. */
#include <stdint.h>
#include <time.h>

/* The sum over the blocks of a number by chance for each, and how many there were. */
static uint64_t sum;
static long blocks;

#define ENTER(call) (sum = 0, blocks = 0)
#define LEAVE(call) keep((call), temperature, pressure)
static void keep(int call, double temperature, double pressure);
#include "../c/loop.h"

static const struct range RANGE = {280.0, 360.0, 9e6, 40e6};

enum { KEPT = 1 << 20 };

/* The sums seen, in a table with open places. */
static uint64_t seen[KEPT];
static long ways[CALLS];
static long most[CALLS];
static long kept;
static FILE *states;

/* The guards are the numbers of the blocks, from one on. */
void __sanitizer_cov_trace_pc_guard_init(uint32_t *start, uint32_t *stop)
{
    static uint32_t number;
    for (; start < stop; start++) {
        *start = ++number;
    }
}

void __sanitizer_cov_trace_pc_guard(uint32_t *guard)
{
    /* Steele, Lea and Flood, OOPSLA 2014, doi 10.1145/2660193.2660195: the mixing of SplitMix. */
    uint64_t mixed = *guard * UINT64_C(0x9e3779b97f4a7c15);
    mixed = (mixed ^ (mixed >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
    sum += mixed ^ (mixed >> 27);
    blocks++;
}

static void keep(int call, double temperature, double pressure)
{
    const uint64_t way = sum + (uint64_t)call;
    size_t place = (size_t)(way % KEPT);
    if (blocks > most[call]) {
        most[call] = blocks;
    }
    while (seen[place] != 0 && seen[place] != way) {
        place = (place + 1) % KEPT;
    }
    if (seen[place] == 0 && kept < KEPT / 2) {
        seen[place] = way;
        kept++;
        ways[call]++;
        fprintf(states, "%.17g %.17g\n", temperature, pressure);
    }
}

int main(int argc, char **argv)
{
    const long count = argc > 3 ? atol(argv[1]) : 0;
    uint64_t state = argc > 3 ? strtoull(argv[2], NULL, 10) : 0;
    struct loop loop = {NULL, NULL};
    const clock_t start = clock();
    long calls;
    int wrong = 0;
    int call;
    states = argc > 3 ? fopen(argv[3], "w") : NULL;
    if (states == NULL || state == 0 || make(&loop, RANGE) != DP_OK) {
        fprintf(stderr, "control COUNT SEED STATES\n");
        return 2;
    }
    for (calls = 0; calls < count; calls += CALLS - 1) {
        const double temperature = between(RANGE.t_min, RANGE.t_max, chance(&state));
        wrong += ask(&loop, temperature, between(RANGE.p_min, RANGE.p_max, chance(&state)));
    }
    release(&loop);
    fclose(states);
    printf("{\"calls\": %ld, \"findings\": %d, \"seconds\": %.1f", calls, wrong + (kept == KEPT / 2), (double)(clock() - start) / CLOCKS_PER_SEC);
    for (call = DENSITY; call < CALLS; call++) {
        printf("%s\"%s\": {\"ways\": %ld, \"blocks\": %ld}", call == DENSITY ? ", \"control\": {" : ", ", NAMES[call], ways[call], most[call]);
    }
    printf("}}\n");
    return wrong == 0 && kept < KEPT / 2 ? 0 : 1;
}
