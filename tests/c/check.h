/* Counting of checks; a program ends with `return report("name");`. */
#ifndef CHECK_H
#define CHECK_H

#include <densepath.h>

#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static int passed_checks;
static int failed_checks;

static inline void count_check(int holds, const char *file, int line, const char *text)
{
    if (holds) {
        passed_checks++;
        return;
    }
    failed_checks++;
    fprintf(stderr, "%s:%d: %s\n", file, line, text);
}

#define CHECK(condition) count_check((condition) != 0, __FILE__, __LINE__, #condition)

static inline int report(const char *program)
{
    printf("%s: %d passed, %d failed\n", program, passed_checks, failed_checks);
    return failed_checks == 0 ? 0 : 1;
}

/* A number from 0 to 1 from a state that it moves on (Marsaglia, J. Stat. Softw. 8 (14), 2003, doi 10.18637/jss.v008.i14). */
static inline double chance(uint64_t *state)
{
    *state ^= *state << 13;
    *state ^= *state >> 7;
    *state ^= *state << 17;
    return (double)(*state >> 11) / 9007199254740992.0;
}

/* Whether valgrind runs the program. */
static inline int is_run_by_valgrind(void)
{
    const char *loaded = getenv("LD_PRELOAD");
    return loaded != NULL && strstr(loaded, "vgpreload") != NULL;
}

#endif
