/* The header can be included twice, before and after others, and from two files of one program. */
#include <densepath.h>
#include <densepath.h>

#include "check.h"

uint32_t version_seen_elsewhere(void);

int main(void)
{
    const char *version = dp_version();
    CHECK(dp_abi_version() == DP_ABI_VERSION);
    CHECK(version_seen_elsewhere() == DP_ABI_VERSION);
    CHECK(version != NULL && strlen(version) >= 5 && strchr(version, '.') != NULL);
    return report("include_twice");
}
