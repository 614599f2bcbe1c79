/* The header can be included twice, and after headers of the system, whose macros are none of its names; the program runs with the
 * library that it was built for. */
#define _GNU_SOURCE
#include <complex.h>
#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <netinet/in.h>
#include <pthread.h>
#include <signal.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/time.h>
#include <termios.h>

#include <densepath.h>
#include <densepath.h>

#include "check.h"

int main(void)
{
    const char *version = dp_version();
    CHECK(dp_abi_version() == DP_ABI_VERSION);
    CHECK(version != NULL && strlen(version) >= 5 && strchr(version, '.') != NULL);
    return report("include_twice");
}
