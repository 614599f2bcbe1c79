/* What a control loop asks for, and its calls at one state, each between ENTER and LEAVE, which the program that includes this may define. */
#ifndef LOOP_H
#define LOOP_H

#include "check.h"

#ifndef ENTER
#define ENTER(call)
#define LEAVE(call)
#endif

enum call { NONE, DENSITY, VISCOSITY, OUTSIDE, PREPARED, FLOW, CALLS };

static const char *const NAMES[CALLS] = {"", "dp_table_value of the density", "dp_table_value of the viscosity", "dp_table_value outside of the table", "dp_density_prepared", "dp_piston_mass_flow_rate"};

static const int32_t PROPERTIES[] = {DP_QUANTITY_DENSITY, DP_QUANTITY_DYNAMIC_VISCOSITY};

struct loop {
    dp_fluid *fluid;
    dp_table *table;
};

/* The range of a loop: temperatures in K, pressures in Pa. */
struct range {
    double t_min, t_max, p_min, p_max;
};

static inline dp_status make(struct loop *loop, struct range range)
{
    dp_status status = dp_fluid_new("carbon dioxide", &loop->fluid);
    if (status == DP_OK) {
        status = dp_fluid_prepare_densities(loop->fluid, range.t_min, range.t_max, range.p_min, range.p_max);
    }
    if (status == DP_OK) {
        status = dp_table_new(loop->fluid, PROPERTIES, 2, range.t_min, range.t_max, range.p_min, range.p_max, 1e-6, &loop->table);
    }
    return status;
}

static inline void release(const struct loop *loop)
{
    dp_table_free(loop->table);
    dp_fluid_free(loop->fluid);
}

static inline double between(double low, double high, double share)
{
    return low + (high - low) * share;
}

/* How many of the calls did not end as they should. */
static inline int ask(const struct loop *loop, double temperature, double pressure)
{
    double density = 0.0;
    double value = 0.0;
    dp_status status;
    int wrong = 0;
    ENTER(DENSITY);
    status = dp_table_value(loop->table, 0, temperature, pressure, &density);
    LEAVE(DENSITY);
    wrong += status != DP_OK;
    ENTER(VISCOSITY);
    status = dp_table_value(loop->table, 1, temperature, pressure, &value);
    LEAVE(VISCOSITY);
    wrong += status != DP_OK;
    ENTER(OUTSIDE);
    status = dp_table_value(loop->table, 0, temperature + 100.0, pressure, &value);
    LEAVE(OUTSIDE);
    wrong += status != DP_ERROR_OUTSIDE_TABLE;
    ENTER(PREPARED);
    status = dp_density_prepared(loop->fluid, temperature, pressure, &value);
    LEAVE(PREPARED);
    wrong += status != DP_OK && status != DP_ERROR_MISSING_MODEL;
    ENTER(FLOW);
    status = dp_piston_mass_flow_rate(5e-8, 0.1, density, 1.05 * density, &value);
    LEAVE(FLOW);
    wrong += status != DP_OK;
    return wrong;
}

#endif
