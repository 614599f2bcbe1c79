/* What can hurt comes with its caution, whatever is asked. Numbers of an independent computation with CoolProp 8.0.0. */
#include "check.h"

#include <math.h>
#include <string.h>

static int near(double value, double expected, double relative)
{
    return fabs(value - expected) <= relative * fabs(expected);
}

/* The number of that name is as expected, and a caution of that code comes with it. */
static int told(dp_danger *danger, const char *name, double expected, double relative, int32_t code, const char *word)
{
    double value = 0.0;
    size_t count = 0;
    int found = 0;
    dp_notice notice;
    dp_fact fact;
    const int numbers = dp_danger_find(danger, name, &value) == DP_OK && near(value, expected, relative) &&
                        dp_danger_find(danger, "nothing", &value) == DP_ERROR_ARGUMENT && dp_danger_at(danger, 0, &fact) == DP_OK &&
                        fact.part[0] == '\0' && dp_danger_notice_count(danger, &count) == DP_OK;
    for (size_t i = 0; numbers && i < count; i++) {
        found |= dp_danger_notice_at(danger, i, &notice) == DP_OK && notice.code == code && notice.severity == DP_SEVERITY_CAUTION &&
                 strstr(notice.text, word) != NULL;
    }
    found = found && dp_danger_notice_at(danger, count, &notice) == DP_ERROR_ARGUMENT && dp_danger_count(danger, &count) == DP_OK &&
            dp_danger_at(danger, count, &fact) == DP_ERROR_ARGUMENT;
    dp_danger_free(danger);
    return numbers && found;
}

int main(void)
{
    dp_fluid *fluid = NULL;
    dp_fluid *methanol = NULL;
    dp_state *feed = NULL;
    dp_state *dense = NULL;
    dp_danger *danger = NULL;
    const double ratings[] = {NAN, 100e5, 400e5, 1e12};
    const double gas = 1594e-6 / 60.0 * 3.0 / 2.932;
    CHECK(dp_fluid_new("carbon dioxide", &fluid) == DP_OK);
    CHECK(dp_fluid_new("methanol", &methanol) == DP_OK);
    CHECK(dp_state_from_tp(fluid, 278.15, 57.3e5, &feed) == DP_OK);
    CHECK(dp_state_from_tp(fluid, 313.15, 400e5, &dense) == DP_OK);
    /* No rating silences the caution. */
    for (size_t i = 0; i < sizeof ratings / sizeof *ratings; i++) {
        CHECK(dp_blocked_in(feed, 293.15, ratings[i], &danger) == DP_OK);
        CHECK(told(danger, "pressure", 164.624e5, 1e-5, DP_NOTICE_BLOCKED_IN_LIQUID, "165 bar"));
    }
    CHECK(dp_blocked_in(feed, 293.15, -1.0, &danger) == DP_ERROR_DOMAIN);
    CHECK(dp_heated_shut_in(feed, 50e-6, 10.0, &danger) == DP_OK);
    CHECK(told(danger, "relief_volume_flow_rate", 1.91134e-6 / 60.0, 1e-5, DP_NOTICE_BLOCKED_IN_LIQUID, "dry ice"));
    CHECK(dp_stored_energy(dense, 20e-6, 293.15, 101325.0, &danger) == DP_OK);
    CHECK(told(danger, "energy", 3829.8907, 1e-6, DP_NOTICE_STORED_ENERGY, "Depressurise"));
    CHECK(dp_tube_rating(0.25e-3, 1.5875e-3, 115e6, &danger) == DP_OK);
    CHECK(told(danger, "pressure", 1094.3e5, 1e-4, DP_NOTICE_OVERPRESSURE, "maker"));
    CHECK(dp_pressure_hammer(feed, 0.5, &danger) == DP_OK);
    CHECK(told(danger, "pressure_rise", 2.43418e5, 1e-5, DP_NOTICE_OVERPRESSURE, "loosen"));
    /* 3 g/min let out into 60 m3 that change half a time an hour: 3682 ppm. */
    CHECK(dp_room_exposure(60.0, 0.5 / 3600.0, gas, &danger) == DP_OK);
    CHECK(told(danger, "steady_fraction", 3682.03e-6, 2e-3, DP_NOTICE_ASPHYXIATION, "ppm"));
    CHECK(dp_room_release(fluid, 30.0, 60.0, &danger) == DP_OK);
    CHECK(told(danger, "fraction", 0.238, 3e-3, DP_NOTICE_ASPHYXIATION, "dangerous to life"));
    CHECK(dp_let_down(feed, 5e-6, 1e-4, 0.8, 0.0, 20e5, &danger) == DP_OK);
    /* The vapour pressure at the end: 20 bar are boiling at -19.5 degC. */
    CHECK(told(danger, "lowest_temperature", 253.65, 1e-3, DP_NOTICE_COLD_BURN, "seals"));
    CHECK(dp_let_down_within(feed, 5e-6, 1e-4, 0.8, 0.0, 20e5, 60.0, &danger) == DP_OK);
    CHECK(told(danger, "lowest_temperature", 253.65, 1e-3, DP_NOTICE_COLD_BURN, "seals"));
    CHECK(dp_let_down_within(feed, 5e-6, 1e-4, 0.8, 0.0, 20e5, 0.0, &danger) == DP_ERROR_STOPPED);
    CHECK(dp_vapour_in_vent(methanol, 293.15, 101325.0, &danger) == DP_OK);
    CHECK(told(danger, "volume_fraction", 0.128613, 1e-5, DP_NOTICE_FLAMMABLE, "flames"));
    CHECK(dp_stored_energy(NULL, 1e-6, 293.15, 101325.0, &danger) == DP_ERROR_ARGUMENT);
    CHECK(dp_stored_energy(dense, 1e-6, 293.15, 101325.0, NULL) == DP_ERROR_ARGUMENT);
    dp_danger_free(NULL);
    dp_state_free(dense);
    dp_state_free(feed);
    dp_fluid_free(methanol);
    dp_fluid_free(fluid);
    return report("danger");
}
