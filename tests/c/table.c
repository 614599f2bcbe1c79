/* Tables of properties: within the stated error of the fluid, the same after a way through bytes, refused where they must be. */
#include "check.h"

#include <math.h>
#include <stdlib.h>

static const int32_t PROPERTIES[] = {DP_QUANTITY_DENSITY, DP_QUANTITY_DYNAMIC_VISCOSITY};

static void values_are_within_the_error(const dp_fluid *fluid, const dp_table *table)
{
    double largest[2] = {0.0, 0.0};
    int step;
    int property;
    for (property = 0; property < 2; property++) {
        CHECK(dp_table_largest_error(table, (size_t)property, &largest[property]) == DP_OK);
        CHECK(largest[property] > 0.0 && largest[property] <= 1e-6);
    }
    for (step = 0; step <= 1000; step++) {
        const double temperature = 310.0 + 0.02 * step;
        const double pressure = 30e6 - 18e3 * step;
        for (property = 0; property < 2; property++) {
            double of_table = 0.0;
            double of_fluid = 0.0;
            CHECK(dp_table_value(table, (size_t)property, temperature, pressure, &of_table) == DP_OK);
            CHECK(dp_property(fluid, PROPERTIES[property], temperature, pressure, &of_fluid) == DP_OK);
            CHECK(fabs(of_table / of_fluid - 1.0) <= largest[property]);
        }
    }
}

static void tells_what_it_is(const dp_table *table)
{
    const char *name = NULL;
    const char *model = NULL;
    double range[4] = {0.0, 0.0, 0.0, 0.0};
    size_t count = 0;
    int32_t property = 0;
    CHECK(dp_table_fluid(table, &name) == DP_OK && strcmp(name, "carbon dioxide") == 0);
    CHECK(dp_table_model(table, &model) == DP_OK && strlen(model) > 0);
    CHECK(dp_table_property_count(table, &count) == DP_OK && count == 2);
    CHECK(dp_table_property(table, 1, &property) == DP_OK && property == DP_QUANTITY_DYNAMIC_VISCOSITY);
    CHECK(dp_table_range(table, &range[0], &range[1], &range[2], &range[3]) == DP_OK);
    CHECK(range[0] == 310.0 && range[1] == 330.0 && range[2] == 12e6 && range[3] == 30e6);
}

static void nothing_lies_outside(const dp_table *table)
{
    double value = -1.0;
    double largest = -1.0;
    int32_t property = -1;
    dp_error_info info;
    CHECK(dp_table_value(table, 0, 309.0, 20e6, &value) == DP_ERROR_OUTSIDE_TABLE);
    CHECK(dp_last_error(&info) == DP_OK && info.quantity == DP_QUANTITY_TEMPERATURE);
    CHECK(info.value == 309.0 && info.min == 310.0 && info.max == 330.0);
    CHECK(dp_table_value(table, 0, 320.0, (double)NAN, &value) == DP_ERROR_OUTSIDE_TABLE);
    CHECK(dp_table_value(table, 2, 320.0, 20e6, &value) == DP_ERROR_ARGUMENT && value == -1.0);
    CHECK(dp_table_value(NULL, 0, 320.0, 20e6, &value) == DP_ERROR_ARGUMENT);
    CHECK(dp_table_value(table, 0, 320.0, 20e6, NULL) == DP_ERROR_ARGUMENT);
    CHECK(dp_table_largest_error(table, 2, &largest) == DP_ERROR_ARGUMENT && largest == -1.0);
    CHECK(dp_table_property(table, 2, &property) == DP_ERROR_ARGUMENT && property == -1);
}

static void bytes_lead_back(const dp_table *table)
{
    dp_table *read = NULL;
    size_t needed = 0;
    size_t cut;
    unsigned char *bytes;
    double values[2] = {0.0, 0.0};
    CHECK(dp_table_write(table, NULL, 0, &needed) == DP_OK && needed > 400);
    bytes = malloc(needed);
    CHECK(bytes != NULL);
    if (bytes == NULL) {
        return;
    }
    CHECK(dp_table_write(table, bytes, needed, &needed) == DP_OK);
    CHECK(dp_table_read(bytes, needed, &read) == DP_OK);
    CHECK(dp_table_value(table, 1, 313.15, 15e6, &values[0]) == DP_OK);
    CHECK(dp_table_value(read, 1, 313.15, 15e6, &values[1]) == DP_OK && values[0] == values[1]);
    dp_table_free(read);
    read = NULL;
    for (cut = 0; cut < needed; cut += 97) {
        CHECK(dp_table_read(bytes, cut, &read) == DP_ERROR_UNREADABLE_TABLE && read == NULL);
    }
    bytes[needed / 2] ^= 1;
    CHECK(dp_table_read(bytes, needed, &read) == DP_ERROR_UNREADABLE_TABLE && read == NULL);
    CHECK(dp_table_read(NULL, 0, &read) == DP_ERROR_UNREADABLE_TABLE);
    CHECK(dp_table_read(NULL, 5, &read) == DP_ERROR_ARGUMENT);
    free(bytes);
}

static void what_has_no_table_is_refused(const dp_fluid *fluid)
{
    const int32_t length = DP_QUANTITY_LENGTH;
    dp_table *table = NULL;
    CHECK(dp_table_new(fluid, PROPERTIES, 0, 310.0, 330.0, 12e6, 30e6, 1e-6, &table) == DP_ERROR_ARGUMENT);
    CHECK(dp_table_new(fluid, &length, 1, 310.0, 330.0, 12e6, 30e6, 1e-6, &table) == DP_ERROR_ARGUMENT);
    CHECK(dp_table_new(fluid, PROPERTIES, 2, 330.0, 310.0, 12e6, 30e6, 1e-6, &table) == DP_ERROR_DOMAIN);
    CHECK(dp_table_new(fluid, PROPERTIES, 1, 280.0, 300.0, 3e6, 9e6, 1e-6, &table) == DP_ERROR_NO_TABLE);
    CHECK(dp_table_new(NULL, PROPERTIES, 2, 310.0, 330.0, 12e6, 30e6, 1e-6, &table) == DP_ERROR_ARGUMENT);
    CHECK(table == NULL);
}

int main(void)
{
    dp_fluid *fluid = NULL;
    dp_table *table = NULL;
    CHECK(dp_fluid_new("carbon dioxide", &fluid) == DP_OK);
    CHECK(dp_table_new(fluid, PROPERTIES, 2, 310.0, 330.0, 12e6, 30e6, 1e-6, &table) == DP_OK);
    values_are_within_the_error(fluid, table);
    tells_what_it_is(table);
    nothing_lies_outside(table);
    bytes_lead_back(table);
    what_has_no_table_is_refused(fluid);
    dp_table_free(table);
    dp_table_free(NULL);
    dp_fluid_free(fluid);
    return report("table");
}
