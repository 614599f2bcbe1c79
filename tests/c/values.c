/* Every property at every point of a table that the Rust interface wrote: the same status, and the same number to the last bit,
 * from the function of its name and from the arrays. Argument: the table, lines of
 * `quantity,temperature / K,pressure / Pa,status,value`. */
#include "check.h"

#include <math.h>
#include <stdlib.h>

typedef dp_status (*one)(const dp_fluid *, double, double, double *);
typedef dp_status (*many)(const dp_fluid *, const double *, const double *, size_t, double *, int32_t *);

#define PROPERTY(name) {#name, dp_##name, dp_##name##_array}

static const struct {
    const char *name;
    one at_point;
    many at_points;
} PROPERTIES[] = {
#include "properties.h"
};

#define COUNT (sizeof PROPERTIES / sizeof PROPERTIES[0])

static size_t find(const char *name)
{
    size_t at = 0;
    while (at < COUNT && strcmp(PROPERTIES[at].name, name) != 0) {
        at++;
    }
    return at;
}

/* Equal bit for bit; any NaN equals any other. */
static int same(double left, double right)
{
    return memcmp(&left, &right, sizeof left) == 0 || (isnan(left) && isnan(right));
}

static void compare(const dp_fluid *co2, const char *name, double temperature, double pressure, dp_status status,
                    double value)
{
    const size_t at = find(name);
    double out = NAN;
    int32_t number = 0;
    int32_t code = -1;
    CHECK(at < COUNT);
    if (at == COUNT) {
        fprintf(stderr, "no function of %s\n", name);
        return;
    }
    CHECK(PROPERTIES[at].at_point(co2, temperature, pressure, &out) == status);
    CHECK(same(out, value));
    out = 0.0;
    CHECK(PROPERTIES[at].at_points(co2, &temperature, &pressure, 1, &out, &code) == status);
    CHECK(code == status && same(out, value));
    out = NAN;
    CHECK(dp_quantity_find(name, &number) == DP_OK);
    CHECK(dp_property(co2, number, temperature, pressure, &out) == status);
    CHECK(same(out, value));
}

int main(int count, char **arguments)
{
    char line[256];
    size_t lines = 0;
    size_t properties = 0;
    dp_fluid *co2 = NULL;
    FILE *table = count == 2 ? fopen(arguments[1], "r") : NULL;
    CHECK(table != NULL);
    CHECK(dp_fluid_new("carbon dioxide", &co2) == DP_OK);
    CHECK(dp_property_count(&properties) == DP_OK && properties == COUNT);
    while (table != NULL && fgets(line, sizeof line, table) != NULL) {
        char *rest = strchr(line, ',');
        double numbers[4];
        int at;
        if (rest == NULL) {
            break;
        }
        *rest = '\0';
        for (at = 0; at < 4; at++) {
            numbers[at] = strtod(rest + 1, &rest);
        }
        compare(co2, line, numbers[0], numbers[1], (dp_status)numbers[2], numbers[3]);
        lines++;
    }
    CHECK(lines > 1000);
    if (table != NULL) {
        fclose(table);
    }
    dp_fluid_free(co2);
    return report("values");
}
