/* The other file of the program. */
#include <densepath.h>
#include <densepath.h>

uint32_t version_seen_elsewhere(void);

uint32_t version_seen_elsewhere(void)
{
    return dp_abi_version();
}
