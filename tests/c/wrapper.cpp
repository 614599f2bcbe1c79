// The layer for C++: the same numbers as from C, handles that copy and free themselves, exceptions with their numbers.
#include <densepath.hpp>

#include <array>
#include <cmath>
#include <cstdio>
#include <fstream>
#include <sstream>
#include <thread>

namespace {

int passed = 0;
int failed = 0;

void check(bool holds, int line)
{
    ++(holds ? passed : failed);
    if (!holds) {
        std::fprintf(stderr, "wrapper.cpp:%d does not hold\n", line);
    }
}

#define CHECK(condition) check(condition, __LINE__)

double in_c(dp_status (*function)(const dp_fluid *, double, double, double *), const densepath::Fluid &fluid)
{
    double out = 0.0;
    CHECK(function(fluid.get(), 313.15, 150e5, &out) == DP_OK);
    return out;
}

void numbers_are_those_of_c()
{
    const densepath::Fluid co2("carbon dioxide");
    CHECK(co2.name() == "carbon dioxide" && !co2.model().empty());
    CHECK(co2.density(313.15, 150e5) == in_c(dp_density, co2));
    co2.prepare_densities(313.0, 314.0, 149e5, 151e5);
    CHECK(co2.density_prepared(313.15, 150e5) == co2.density(313.15, 150e5));
    CHECK(co2.dynamic_viscosity(313.15, 150e5) == in_c(dp_dynamic_viscosity, co2));
    CHECK(co2.specific_enthalpy(313.15, 150e5) == in_c(dp_specific_enthalpy, co2));
    CHECK(co2.specific_isobaric_heat_capacity(313.15, 150e5) == in_c(dp_specific_isobaric_heat_capacity, co2));
    CHECK(co2.speed_of_sound(313.15, 150e5) == in_c(dp_speed_of_sound, co2));
    CHECK(co2.property(DP_QUANTITY_DENSITY, 313.15, 150e5) == co2.density(313.15, 150e5));
    const densepath::State state = co2.state_from_tp(313.15, 150e5);
    CHECK(std::fabs(co2.density(313.15, 150e5) / state.density() - 1.0) < 1e-11 && state.temperature() == 313.15);
    CHECK(std::fabs(co2.pressure(313.15, state.density()) / 150e5 - 1.0) < 1e-9);
    CHECK(state.phase() == DP_PHASE_SUPERCRITICAL && state.phase_name() == "supercritical");
    CHECK(co2.uncertainty(DP_QUANTITY_DENSITY, 313.15, 150e5) == state.uncertainty(DP_QUANTITY_DENSITY));
    const densepath::State same = co2.state_from_ph(150e5, state.specific_enthalpy());
    CHECK(std::fabs(same.temperature() - 313.15) < 1e-7);
    CHECK(std::fabs(co2.state_from_ps(150e5, state.specific_entropy()).temperature() - 313.15) < 1e-7);
    const densepath::State end = state.expand_to(101325.0);
    CHECK(end.solid_fraction() > 0.2 && std::fabs(end.solid_fraction() + end.vapour_fraction() - 1.0) < 1e-12);
    CHECK(state.fluid().name() == "carbon dioxide");
    const densepath::Saturation border = co2.saturation_at_temperature(280.0);
    CHECK(border.temperature == 280.0 && border.liquid.density() > border.vapour.density());
    CHECK(std::fabs(co2.saturation_at_pressure(border.pressure).temperature - 280.0) < 1e-7);
}

void arrays_of_any_kind_are_taken()
{
    const densepath::Fluid co2("carbon dioxide");
    const std::vector<double> temperature = {300.0, 310.0, -1.0};
    const std::array<double, 3> pressure = {150e5, 160e5, 150e5};
    std::vector<std::int32_t> status;
    const std::vector<double> found = co2.property(DP_QUANTITY_DENSITY, temperature, pressure, &status);
    CHECK(found[0] == co2.density(300.0, 150e5) && found[1] == co2.density(310.0, 160e5));
    CHECK(std::isnan(found[2]) && status[0] == DP_OK && status[2] == DP_ERROR_DOMAIN);
    try {
        co2.property(DP_QUANTITY_DENSITY, temperature, pressure);
        CHECK(false);
    } catch (const densepath::Error &error) {
        CHECK(error.code() == DP_ERROR_DOMAIN && error.element() == 2 && error.value() == -1.0);
    }
    try {
        co2.property(DP_QUANTITY_DENSITY, temperature, std::vector<double>{1e5});
        CHECK(false);
    } catch (const std::invalid_argument &) {
        CHECK(true);
    }
}

void mixtures_have_their_phases()
{
    const densepath::Fluid mixture({{"carbon dioxide", 0.9}, {"methanol", 0.1}});
    CHECK(mixture.amount_fractions().size() == 2 && mixture.amount_fractions()[1].second == 0.1);
    double whole = 0.0;
    const std::vector<densepath::Phase> phases = mixture.flash(300.0, 50e5);
    for (const densepath::Phase &phase : phases) {
        whole += phase.fraction;
    }
    CHECK(phases.size() == 2 && std::fabs(whole - 1.0) < 1e-12);
    const densepath::Saturation bubble = mixture.bubble_point_at_temperature(300.0);
    CHECK(bubble.pressure > 50e5 && bubble.pressure > mixture.dew_point_at_temperature(300.0).pressure);
    CHECK(std::fabs(mixture.single_phase_margin(300.0, 150e5) - (150e5 - bubble.pressure)) < 1e3);
    CHECK(!mixture.critical_points().empty());
    const densepath::Fluid other = mixture.with_amount_fractions({0.8, 0.2});
    CHECK(other.amount_fractions()[0].second == 0.8 && other.model() == mixture.model());
    const densepath::Fluid cubic({{"carbon dioxide", 0.9}, {"methanol", 0.1}}, "cubic");
    CHECK(cubic.model() != mixture.model());
}

void errors_carry_their_numbers()
{
    try {
        densepath::Fluid("phlogiston");
        CHECK(false);
    } catch (const densepath::Error &error) {
        CHECK(error.code() == DP_ERROR_UNKNOWN_FLUID && error.cause() == error.code());
        CHECK(std::string(error.what()).find("phlogiston") != std::string::npos);
    }
    try {
        densepath::Fluid("carbon dioxide").density(40.0, 150e5);
        CHECK(false);
    } catch (const densepath::Error &error) {
        CHECK(error.code() == DP_ERROR_OUT_OF_RANGE && error.quantity() == DP_QUANTITY_TEMPERATURE);
        CHECK(error.value() == 40.0 && error.min() > 40.0 && error.max() > error.min() && error.element() == -1);
    }
}

void a_table_is_kept_as_bytes()
{
    const densepath::Fluid co2("carbon dioxide");
    const densepath::PropertyTable table(co2, {DP_QUANTITY_DENSITY}, {310.0, 316.0}, {14e6, 16e6}, 1e-6);
    const densepath::PropertyTable again = densepath::PropertyTable::of_bytes(table.bytes());
    CHECK(again.value(0, 313.15, 15e6) == table.value(0, 313.15, 15e6));
    CHECK(again.fluid() == "carbon dioxide" && !again.model().empty());
    CHECK(again.property_count() == 1 && again.property(0) == DP_QUANTITY_DENSITY);
    CHECK(again.largest_error(0) > 0.0 && again.largest_error(0) <= 1e-6);
    try {
        densepath::PropertyTable::of_bytes({});
        CHECK(false);
    } catch (const densepath::Error &error) {
        CHECK(error.code() == DP_ERROR_UNREADABLE_TABLE);
    }
}

void copies_share_one_object_over_threads()
{
    const densepath::Fluid co2("carbon dioxide");
    double found[2] = {0.0, 0.0};
    {
        const densepath::Fluid copy = co2;
        std::thread other([&found, copy] { found[0] = copy.density(313.15, 150e5); });
        found[1] = copy.density(313.15, 150e5);
        other.join();
    }
    CHECK(found[0] == found[1] && found[0] == co2.density(313.15, 150e5));
}

void a_method_is_solved(const char *path)
{
    const densepath::Solution solution = densepath::Solution::of_file(path);
    std::ifstream file(path);
    std::stringstream text;
    text << file.rdbuf();
    const densepath::Solution again = densepath::Solution::of_toml(text.str());
    CHECK(again.delivery_pressure() == solution.delivery_pressure() && solution.mass_flow_rate() > 0.0);
    CHECK(!solution.title().empty() && !solution.report().empty() && solution.json() == again.json());
    const std::size_t column = solution.station("column");
    CHECK(column < solution.station_count() && solution.station_name(column) == "column");
    CHECK(solution.station_branch_of(column).empty());
    const double pressure = solution.at_station(column, DP_QUANTITY_PRESSURE);
    CHECK(pressure < solution.delivery_pressure() && solution.station_state(column).pressure() == pressure);
    CHECK(solution.bands().apparent_plate_number > 0.0 && !solution.notices().empty());
    const dp_detection first = solution.detections()[0];
    CHECK(solution.detection(first.part) == 0 && first.injected_share == 1.0);
    CHECK(solution.bands_at(0).time == solution.bands().time);
    CHECK(solution.fact("column", "hold-up volume") > 0.0);
    const densepath::Cycle cycle = solution.cycle(8.0 * 3600.0, 0.0, 0.0);
    CHECK(cycle.times().runs_per_day == 3.0 && cycle.uses().size() > 2 && cycle.uses()[0].per_run > 0.0);
    CHECK(solution.cycle(240.0).times().equilibration_time > 10.0 * cycle.times().column_time);
    try {
        densepath::Solution::of_toml("title = ");
        CHECK(false);
    } catch (const densepath::Error &error) {
        CHECK(error.code() == DP_ERROR_SYNTAX);
    }
}

} // namespace

int main(int count, char **arguments)
{
    CHECK(!densepath::version().empty());
    numbers_are_those_of_c();
    arrays_of_any_kind_are_taken();
    mixtures_have_their_phases();
    errors_carry_their_numbers();
    a_table_is_kept_as_bytes();
    copies_share_one_object_over_threads();
    if (count == 2) {
        a_method_is_solved(arguments[1]);
    } else {
        CHECK(false);
    }
    std::printf("wrapper: %d passed, %d failed\n", passed, failed);
    return failed == 0 ? 0 : 1;
}
