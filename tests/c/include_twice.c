/* The header can be included twice, and the program runs with the library that it was built for. */
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
