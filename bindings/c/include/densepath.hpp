/* densepath for C++17 and later: handles that free themselves, and exceptions that carry the numbers of an error.
 *
 * A layer of inline functions over densepath.h, whose rules hold: SI units, absolute pressures, objects that never change
 * once made, so that threads may share them. Every function throws densepath::Error where the C function returns anything
 * but DP_OK. Copies are as cheap as those of a pointer: they share one object. */

#ifndef DENSEPATH_HPP
#define DENSEPATH_HPP

#include "densepath.h"

#include <cstddef>
#include <cstdint>
#include <iterator>
#include <limits>
#include <memory>
#include <stdexcept>
#include <string>
#include <utility>
#include <vector>

namespace densepath {

/// What a call could not do: its number, and the numbers that belong to it.
class Error : public std::runtime_error {
public:
    explicit Error(const dp_error_info &info, const std::string &message) : std::runtime_error(message), info_(info) {}

    /// One of dp_error.
    dp_status code() const noexcept { return info_.code; }
    /// The error inside a part where code() is DP_ERROR_IN_ELEMENT; the same as code() elsewhere.
    dp_status cause() const noexcept { return info_.cause; }
    /// One of dp_quantity; DP_QUANTITY_NONE if no quantity is concerned.
    std::int32_t quantity() const noexcept { return info_.quantity; }
    /// The offending value in its SI unit, NaN if there is none; min() and max() likewise.
    double value() const noexcept { return info_.value; }
    double min() const noexcept { return info_.min; }
    double max() const noexcept { return info_.max; }
    /// Index of the array element or of the part of the instrument; -1 if there is none.
    std::int64_t element() const noexcept { return info_.element; }

private:
    dp_error_info info_;
};

namespace detail {

inline std::string last_message()
{
    std::size_t needed = 0;
    dp_last_error_message(nullptr, 0, &needed);
    std::string text(needed, '\0');
    if (needed > 0) {
        dp_last_error_message(&text[0], text.size(), nullptr);
        text.pop_back();
    }
    return text;
}

inline void check(dp_status status)
{
    if (status != DP_OK) {
        dp_error_info info = {};
        dp_last_error(&info);
        throw Error(info, last_message());
    }
}

/// The result of a function whose only output is its last argument.
template <class Out, class... In, class... Given> Out ask(dp_status (*function)(In...), Given... given)
{
    Out out{};
    check(function(given..., &out));
    return out;
}

template <class Object> std::shared_ptr<Object> own(Object *object, void (*release)(Object *))
{
    return std::shared_ptr<Object>(object, release);
}

} // namespace detail

/// Version of the library.
inline std::string version() { return dp_version(); }

class Fluid;

/// The state of a fluid at one point; see dp_state.
class State {
public:
    explicit State(dp_state *owned) : handle_(detail::own(owned, dp_state_free)) {}

    const dp_state *get() const noexcept { return handle_.get(); }

    /// A property, one of dp_quantity, in its SI unit.
    double property(std::int32_t quantity) const { return detail::ask<double>(dp_state_get, get(), quantity); }
    double temperature() const { return property(DP_QUANTITY_TEMPERATURE); }
    double pressure() const { return property(DP_QUANTITY_PRESSURE); }
    double density() const { return property(DP_QUANTITY_DENSITY); }
    double specific_enthalpy() const { return property(DP_QUANTITY_SPECIFIC_ENTHALPY); }
    double specific_entropy() const { return property(DP_QUANTITY_SPECIFIC_ENTROPY); }
    double dynamic_viscosity() const { return property(DP_QUANTITY_DYNAMIC_VISCOSITY); }

    /// Relative standard uncertainty of a property.
    double uncertainty(std::int32_t quantity) const
    {
        return detail::ask<double>(dp_state_uncertainty, get(), quantity);
    }

    /// Pressure in Pa above that at which a second phase appears; negative with two phases.
    double single_phase_margin() const { return detail::ask<double>(dp_state_single_phase_margin, get()); }
    double equilibrium_speed_of_sound() const { return detail::ask<double>(dp_state_equilibrium_speed_of_sound, get()); }

    /// One of dp_phase.
    std::int32_t phase() const { return detail::ask<std::int32_t>(dp_state_phase, get()); }
    std::string phase_name() const { return detail::ask<const char *>(dp_phase_name, phase()); }

    /// Mass fractions of vapour and of solid.
    double vapour_fraction() const { return detail::ask<double>(dp_state_vapour_fraction, get()); }
    double solid_fraction() const { return detail::ask<double>(dp_state_solid_fraction, get()); }

    /// The state after an isenthalpic expansion to a pressure in Pa, dry ice included.
    State expand_to(double pressure) const
    {
        return State(detail::ask<dp_state *>(dp_state_expand_to, get(), pressure));
    }

    inline Fluid fluid() const;

    /// What to know about the state: the texts of its notices.
    std::vector<std::string> notices() const
    {
        std::vector<std::string> texts(detail::ask<std::size_t>(dp_state_notice_count, get()));
        for (std::size_t index = 0; index < texts.size(); ++index) {
            std::size_t needed = 0;
            detail::check(dp_state_notice_text(get(), index, nullptr, 0, &needed));
            texts[index].resize(needed);
            detail::check(dp_state_notice_text(get(), index, &texts[index][0], needed, nullptr));
            texts[index].pop_back();
        }
        return texts;
    }

private:
    std::shared_ptr<dp_state> handle_;
};

/// Two phases in equilibrium.
struct Saturation {
    /// Temperature in K.
    double temperature;
    /// Pressure in Pa.
    double pressure;
    State liquid;
    State vapour;
};

/// One of the phases of a fluid at a temperature and a pressure.
struct Phase {
    /// Amount of the phase over the amount of the whole.
    double fraction;
    /// Mass of the phase over the mass of the whole.
    double mass_fraction;
    State state;
};

/// A critical point; its amount fraction, that of the second substance, is NaN except on a critical line.
using CriticalPoint = dp_critical;

/// A substance or a mixture with its models; see dp_fluid.
class Fluid {
public:
    /// A substance by its name.
    explicit Fluid(const char *name) : Fluid(detail::ask<dp_fluid *>(dp_fluid_new, name)) {}
    explicit Fluid(const std::string &name) : Fluid(name.c_str()) {}

    /// A mixture of substances by their amount fractions, which sum to 1, in the best model that measurements back, or in
    /// the model named.
    explicit Fluid(const std::vector<std::pair<std::string, double>> &amount_fractions, const char *model = nullptr)
        : Fluid(mix(amount_fractions, model))
    {
    }

    explicit Fluid(dp_fluid *owned) : handle_(detail::own(owned, dp_fluid_free)) {}

    const dp_fluid *get() const noexcept { return handle_.get(); }

    std::string name() const { return detail::ask<const char *>(dp_fluid_name, get()); }
    std::string model() const { return detail::ask<const char *>(dp_fluid_model, get()); }
    double molar_mass() const { return detail::ask<double>(dp_molar_mass, get()); }

    /// A property, one of dp_quantity, at a temperature in K and a pressure in Pa.
    double property(std::int32_t quantity, double temperature, double pressure) const
    {
        return detail::ask<double>(dp_property, get(), quantity, temperature, pressure);
    }
    double density(double temperature, double pressure) const
    {
        return detail::ask<double>(dp_density, get(), temperature, pressure);
    }
    /// Prepares densities between two temperatures in K and two pressures in Pa, see dp_fluid_prepare_densities.
    void prepare_densities(double temperature_min, double temperature_max, double pressure_min, double pressure_max) const
    {
        detail::check(dp_fluid_prepare_densities(get(), temperature_min, temperature_max, pressure_min, pressure_max));
    }
    /// A density as prepared, at a fixed cost, see dp_density_prepared.
    double density_prepared(double temperature, double pressure) const
    {
        return detail::ask<double>(dp_density_prepared, get(), temperature, pressure);
    }
    double dynamic_viscosity(double temperature, double pressure) const
    {
        return detail::ask<double>(dp_dynamic_viscosity, get(), temperature, pressure);
    }
    double specific_enthalpy(double temperature, double pressure) const
    {
        return detail::ask<double>(dp_specific_enthalpy, get(), temperature, pressure);
    }
    double specific_isobaric_heat_capacity(double temperature, double pressure) const
    {
        return detail::ask<double>(dp_specific_isobaric_heat_capacity, get(), temperature, pressure);
    }
    double speed_of_sound(double temperature, double pressure) const
    {
        return detail::ask<double>(dp_speed_of_sound, get(), temperature, pressure);
    }

    /// A property at many points: arrays, vectors or spans of equal lengths. Where a point has no value, NaN stands in
    /// the result and the number of the error in `status`, if one is given.
    template <class Temperatures, class Pressures>
    std::vector<double> property(std::int32_t quantity, const Temperatures &temperature, const Pressures &pressure,
                                 std::vector<std::int32_t> *status = nullptr) const
    {
        if (std::size(temperature) != std::size(pressure)) {
            throw std::invalid_argument("densepath: as many temperatures as pressures are needed");
        }
        std::vector<double> out(std::size(temperature), std::numeric_limits<double>::quiet_NaN());
        std::vector<std::int32_t> own(out.size());
        std::vector<std::int32_t> &codes = status == nullptr ? own : *status;
        codes.assign(out.size(), DP_OK);
        const dp_status result = dp_property_array(get(), quantity, std::data(temperature), std::data(pressure),
                                                   out.size(), out.data(), codes.data());
        if (result != DP_OK && status == nullptr) {
            detail::check(result);
        }
        return out;
    }

    /// Pressure in Pa at a temperature in K and a density in kg/m3.
    double pressure(double temperature, double density) const
    {
        return detail::ask<double>(dp_pressure, get(), temperature, density);
    }

    /// Relative standard uncertainty of a property.
    double uncertainty(std::int32_t quantity, double temperature, double pressure) const
    {
        return detail::ask<double>(dp_uncertainty, get(), quantity, temperature, pressure);
    }

    /// Pressure in Pa above that at which a second phase appears; negative with two phases.
    double single_phase_margin(double temperature, double pressure) const
    {
        return detail::ask<double>(dp_single_phase_margin, get(), temperature, pressure);
    }

    State state_from_tp(double temperature, double pressure) const
    {
        return State(detail::ask<dp_state *>(dp_state_from_tp, get(), temperature, pressure));
    }
    State state_from_t_rho(double temperature, double density) const
    {
        return State(detail::ask<dp_state *>(dp_state_from_t_rho, get(), temperature, density));
    }
    State state_from_ph(double pressure, double specific_enthalpy) const
    {
        return State(detail::ask<dp_state *>(dp_state_from_ph, get(), pressure, specific_enthalpy));
    }
    State state_from_ps(double pressure, double specific_entropy) const
    {
        return State(detail::ask<dp_state *>(dp_state_from_ps, get(), pressure, specific_entropy));
    }

    Saturation saturation_at_temperature(double temperature) const
    {
        return coexistence(dp_saturation_at_temperature, temperature, true);
    }
    Saturation saturation_at_pressure(double pressure) const
    {
        return coexistence(dp_saturation_at_pressure, pressure, false);
    }
    Saturation bubble_point_at_temperature(double temperature) const
    {
        return coexistence(dp_bubble_point_at_temperature, temperature, true);
    }
    Saturation bubble_point_at_pressure(double pressure) const
    {
        return coexistence(dp_bubble_point_at_pressure, pressure, false);
    }
    Saturation dew_point_at_temperature(double temperature) const
    {
        return coexistence(dp_dew_point_at_temperature, temperature, true);
    }
    Saturation dew_point_at_pressure(double pressure) const
    {
        return coexistence(dp_dew_point_at_pressure, pressure, false);
    }

    /// The phases at a temperature in K and a pressure in Pa, by falling density.
    std::vector<Phase> flash(double temperature, double pressure) const
    {
        const auto phases = detail::own(detail::ask<dp_phases *>(dp_flash, get(), temperature, pressure), dp_phases_free);
        std::vector<Phase> found;
        const auto count = detail::ask<std::size_t>(dp_phases_count, phases.get());
        for (std::size_t index = 0; index < count; ++index) {
            found.push_back({detail::ask<double>(dp_phases_fraction, phases.get(), index),
                             detail::ask<double>(dp_phases_mass_fraction, phases.get(), index),
                             State(detail::ask<dp_state *>(dp_phases_state, phases.get(), index))});
        }
        return found;
    }

    /// All critical points found, each with whether it is stable.
    std::vector<CriticalPoint> critical_points() const
    {
        std::vector<CriticalPoint> found(detail::ask<std::size_t>(dp_critical_point_count, get()));
        for (std::size_t index = 0; index < found.size(); ++index) {
            found[index] = detail::ask<CriticalPoint>(dp_critical_point_at, get(), index);
        }
        return found;
    }

    /// Names of the substances with their amount fractions.
    std::vector<std::pair<std::string, double>> amount_fractions() const
    {
        std::vector<std::pair<std::string, double>> found(detail::ask<std::size_t>(dp_fluid_substance_count, get()));
        for (std::size_t index = 0; index < found.size(); ++index) {
            found[index] = {detail::ask<const char *>(dp_fluid_substance_name, get(), index),
                            detail::ask<double>(dp_fluid_amount_fraction, get(), index)};
        }
        return found;
    }

    /// The same substances in another composition, which costs little.
    Fluid with_amount_fractions(const std::vector<double> &fractions) const
    {
        return Fluid(
            detail::ask<dp_fluid *>(dp_fluid_with_amount_fractions, get(), fractions.data(), fractions.size()));
    }

private:
    using Coexistence = dp_status (*)(const dp_fluid *, double, double *, dp_state **, dp_state **);

    Saturation coexistence(Coexistence function, double given, bool is_temperature) const
    {
        double other = 0.0;
        dp_state *liquid = nullptr;
        dp_state *vapour = nullptr;
        detail::check(function(get(), given, &other, &liquid, &vapour));
        return {is_temperature ? given : other, is_temperature ? other : given, State(liquid), State(vapour)};
    }

    static dp_fluid *mix(const std::vector<std::pair<std::string, double>> &amount_fractions, const char *model)
    {
        std::vector<const char *> names;
        std::vector<double> fractions;
        for (const auto &[name, fraction] : amount_fractions) {
            names.push_back(name.c_str());
            fractions.push_back(fraction);
        }
        if (model == nullptr) {
            return detail::ask<dp_fluid *>(dp_mixture_new, names.data(), fractions.data(), names.size());
        }
        return detail::ask<dp_fluid *>(dp_mixture_new_with_model, names.data(), fractions.data(), names.size(), model);
    }

    std::shared_ptr<dp_fluid> handle_;
};

inline Fluid State::fluid() const { return Fluid(detail::ask<dp_fluid *>(dp_state_fluid, get())); }

/// Properties of a fluid over a region as a table; see dp_table.
class PropertyTable {
public:
    /// The table of properties, numbers of dp_quantity, between two temperatures in K and two pressures in Pa.
    PropertyTable(const Fluid &fluid, const std::vector<std::int32_t> &properties,
                  std::pair<double, double> temperature, std::pair<double, double> pressure, double tolerance)
        : PropertyTable(detail::ask<dp_table *>(dp_table_new, fluid.get(), properties.data(), properties.size(),
                                                temperature.first, temperature.second, pressure.first,
                                                pressure.second, tolerance))
    {
    }
    /// The table that bytes() wrote.
    static PropertyTable of_bytes(const std::vector<std::uint8_t> &bytes)
    {
        return PropertyTable(detail::ask<dp_table *>(dp_table_read, bytes.data(), bytes.size()));
    }

    const dp_table *get() const noexcept { return handle_.get(); }

    /// The property with an index at a temperature in K and a pressure in Pa, at a fixed cost.
    double value(std::size_t index, double temperature, double pressure) const
    {
        return detail::ask<double>(dp_table_value, get(), index, temperature, pressure);
    }
    std::string fluid() const { return detail::ask<const char *>(dp_table_fluid, get()); }
    std::string model() const { return detail::ask<const char *>(dp_table_model, get()); }
    std::size_t property_count() const { return detail::ask<std::size_t>(dp_table_property_count, get()); }
    std::int32_t property(std::size_t index) const
    {
        return detail::ask<std::int32_t>(dp_table_property, get(), index);
    }
    /// Largest relative error of the property with an index against its equation.
    double largest_error(std::size_t index) const
    {
        return detail::ask<double>(dp_table_largest_error, get(), index);
    }
    std::vector<std::uint8_t> bytes() const
    {
        std::vector<std::uint8_t> bytes(detail::ask<std::size_t>(dp_table_write, get(), nullptr, std::size_t{0}));
        detail::ask<std::size_t>(dp_table_write, get(), bytes.data(), bytes.size());
        return bytes;
    }

private:
    explicit PropertyTable(dp_table *owned) : handle_(detail::own(owned, dp_table_free)) {}

    std::shared_ptr<dp_table> handle_;
};

/// What the runs of a method take and use up; see dp_cycle.
class Cycle {
public:
    explicit Cycle(dp_cycle *owned) : handle_(detail::own(owned, dp_cycle_free)) {}

    const dp_cycle *get() const noexcept { return handle_.get(); }

    dp_cycle_times times() const { return detail::ask<dp_cycle_times>(dp_cycle_times_of, get()); }

    /// What a run and a day use up; the names live as long as the cycle.
    std::vector<dp_use> uses() const
    {
        std::vector<dp_use> found(detail::ask<std::size_t>(dp_cycle_use_count, get()));
        for (std::size_t index = 0; index < found.size(); ++index) {
            found[index] = detail::ask<dp_use>(dp_cycle_use_at, get(), index);
        }
        return found;
    }

private:
    std::shared_ptr<dp_cycle> handle_;
};

/// All that follows from a method in steady flow; see dp_solution.
class Solution {
public:
    /// Solves a method document: its text in TOML or in JSON, or its file.
    static Solution of_toml(const std::string &text)
    {
        return Solution(detail::ask<dp_solution *>(dp_solve_toml, text.c_str()));
    }
    /// The same within a time in s.
    static Solution of_toml(const std::string &text, double time_limit)
    {
        return Solution(detail::ask<dp_solution *>(dp_solve_toml_within, text.c_str(), time_limit));
    }
    static Solution of_json(const std::string &text)
    {
        return Solution(detail::ask<dp_solution *>(dp_solve_json, text.c_str()));
    }
    static Solution of_file(const std::string &path)
    {
        return Solution(detail::ask<dp_solution *>(dp_solve_file, path.c_str()));
    }

    const dp_solution *get() const noexcept { return handle_.get(); }

    std::string title() const { return detail::ask<const char *>(dp_solution_title, get()); }
    std::string report() const { return detail::ask<const char *>(dp_solution_report, get()); }
    std::string json() const { return detail::ask<const char *>(dp_solution_json, get()); }
    double delivery_pressure() const { return detail::ask<double>(dp_solution_delivery_pressure, get()); }
    double mass_flow_rate() const { return detail::ask<double>(dp_solution_mass_flow_rate, get()); }
    /// What runs of a time in s take and use up when they follow each other.
    Cycle cycle(double run_time, double handling_time = 0.0, double equilibration_volumes = 10.0) const
    {
        return Cycle(
            detail::ask<dp_cycle *>(dp_solution_cycle, get(), run_time, handling_time, equilibration_volumes));
    }
    dp_band_budget bands() const { return detail::ask<dp_band_budget>(dp_solution_bands, get()); }

    /// Where bands arrive: detectors and the ends of lines where nothing detects; the names live as long as the solution.
    std::vector<dp_detection> detections() const
    {
        std::vector<dp_detection> found(detail::ask<std::size_t>(dp_detection_count, get()));
        for (std::size_t index = 0; index < found.size(); ++index) {
            found[index] = detail::ask<dp_detection>(dp_detection_at, get(), index);
        }
        return found;
    }
    /// Index of a detector, or of the last part of a line where nothing detects.
    std::size_t detection(const std::string &part) const
    {
        return detail::ask<std::size_t>(dp_detection_find, get(), part.c_str());
    }
    dp_band_budget bands_at(std::size_t detection) const
    {
        return detail::ask<dp_band_budget>(dp_detection_bands, get(), detection);
    }

    std::size_t station_count() const { return detail::ask<std::size_t>(dp_station_count, get()); }
    std::size_t station(const std::string &name) const
    {
        return detail::ask<std::size_t>(dp_station_find, get(), name.c_str());
    }
    std::string station_name(std::size_t index) const
    {
        return detail::ask<const char *>(dp_station_name, get(), index);
    }
    /// Name of the part at whose outlet the branch begins that a station lies on; empty on the main line.
    std::string station_branch_of(std::size_t index) const
    {
        return detail::ask<const char *>(dp_station_branch_of, get(), index);
    }
    /// A quantity at the outlet of a part, one of dp_quantity, in its SI unit.
    double at_station(std::size_t index, std::int32_t quantity) const
    {
        return detail::ask<double>(dp_station_get, get(), index, quantity);
    }
    State station_state(std::size_t index) const
    {
        return State(detail::ask<dp_state *>(dp_station_state, get(), index));
    }

    /// A result that only one part has to tell.
    double fact(const std::string &part, const std::string &name) const
    {
        return detail::ask<double>(dp_fact_find, get(), part.c_str(), name.c_str());
    }

    /// Doubt and caution, cautions first; the texts live as long as the solution.
    std::vector<dp_notice> notices() const
    {
        std::vector<dp_notice> found(detail::ask<std::size_t>(dp_notice_count, get()));
        for (std::size_t index = 0; index < found.size(); ++index) {
            found[index] = detail::ask<dp_notice>(dp_notice_at, get(), index);
        }
        return found;
    }

private:
    explicit Solution(dp_solution *owned) : handle_(detail::own(owned, dp_solution_free)) {}

    std::shared_ptr<dp_solution> handle_;
};

} // namespace densepath

#endif /* DENSEPATH_HPP */
