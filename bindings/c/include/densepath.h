/* densepath: the state of the fluid at every station of a supercritical fluid chromatograph.
 *
 * Rules
 *
 * Units: every number is in SI (K, Pa, kg/m3, J/kg, m, s); every pressure is absolute.
 *
 * Results: every function that can fail returns a dp_status: DP_OK, or a number of dp_error that never changes its meaning.
 * Inputs come first, outputs last. Outputs are written only if the function returns DP_OK; the arrays of the functions
 * *_array are the exception and say so.
 *
 * Errors: dp_last_error and dp_last_error_message tell the numbers and the message of the last error of the calling thread.
 * Every other function that returns a status sets them, or clears them if it succeeds; freeing leaves them as they are.
 *
 * Pointers: NULL is refused with DP_ERROR_ARGUMENT unless a comment allows it, and so is an unaligned address. Text is UTF-8
 * and ends with a NUL.
 *
 * Ownership: what a function gives out through a `dp_x **out` belongs to the caller, who frees it once with dp_x_free;
 * freeing NULL does nothing. Text given out through a `const char **out` is never freed by the caller: it lives as long as
 * the object it came from, or as long as the program where a comment says that it stays valid.
 *
 * Threads: objects never change once made. Any number of threads may read the same object; freeing it must wait for them.
 * No function prints, and none keeps state beyond the last error of its thread.
 */


#ifndef DENSEPATH_H
#define DENSEPATH_H

/* Written by `cargo xtask header` from the sources of the library; not to be edited by hand. */

#include <stddef.h>
#include <stdint.h>

/// Version of the binary interface. It rises when a function or a structure changes so that old programs must be built again.
#define DP_ABI_VERSION 2

/// Values of a dp_status.
typedef enum dp_error {
    /// Success.
    DP_OK = 0,
    /// A value that no state or part can have: not finite, negative where it must be positive, and the like.
    DP_ERROR_DOMAIN = 101,
    /// A value outside the range of the model asked.
    DP_ERROR_OUT_OF_RANGE = 102,
    /// Fractions that do not describe a mixture.
    DP_ERROR_COMPOSITION = 103,
    /// An argument of the wrong kind: a null pointer, text that is not UTF-8, arrays that do not match.
    DP_ERROR_ARGUMENT = 104,
    /// A temperature or a pressure outside the region of a table.
    DP_ERROR_OUTSIDE_TABLE = 105,
    /// A substance that the library does not know.
    DP_ERROR_UNKNOWN_FLUID = 201,
    /// A property for which the fluid has no model.
    DP_ERROR_MISSING_MODEL = 202,
    /// A property of one phase was asked of a state of two.
    DP_ERROR_TWO_PHASE = 301,
    /// No two phases coexist at the value given.
    DP_ERROR_NO_COEXISTENCE = 302,
    /// The stable phase at the state given is solid, and the property asked belongs to a fluid.
    DP_ERROR_SOLID = 303,
    /// An iteration that ended without meeting its tolerance.
    DP_ERROR_NO_CONVERGENCE = 401,
    /// A target that no value of the unknown reaches within its bounds.
    DP_ERROR_UNREACHABLE = 402,
    /// More than one state has the two values given.
    DP_ERROR_NOT_UNIQUE = 403,
    /// Measurements that do not determine every coefficient asked of them.
    DP_ERROR_UNDETERMINED = 404,
    /// A wanted result that no value of the input tried leads to.
    DP_ERROR_NO_ANSWER = 405,
    /// Work that its caller stopped, or that was not done within the time given for it.
    DP_ERROR_STOPPED = 406,
    /// A region in which no table of the size allowed comes as near to the model as was asked.
    DP_ERROR_NO_TABLE = 407,
    /// The flow reaches the speed of sound before the end of the part.
    DP_ERROR_CHOKED = 501,
    /// The fluid splits, freezes or leaves its model inside a part that needs one dense phase.
    DP_ERROR_PHASE_CHANGE = 502,
    /// The pressures given would drive the flow backwards.
    DP_ERROR_FLOW_REVERSED = 503,
    /// The feed of a pump is not liquid.
    DP_ERROR_FEED_NOT_LIQUID = 504,
    /// A setting changes faster than the instrument can follow.
    DP_ERROR_TOO_FAST = 505,
    /// A cylinder without vapour space at its temperature that was not said to be one.
    DP_ERROR_LIQUID_FULL = 506,
    /// An error inside one part of a path.
    DP_ERROR_IN_ELEMENT = 590,
    /// An error at one point of a program.
    DP_ERROR_IN_PROGRAM = 591,
    /// A document that is not TOML.
    DP_ERROR_SYNTAX = 601,
    /// A key that the document's schema does not know.
    DP_ERROR_UNKNOWN_KEY = 602,
    /// A key that is required and missing.
    DP_ERROR_MISSING_KEY = 603,
    /// A value that cannot be read: a wrong or missing unit, a word not in the list.
    DP_ERROR_BAD_VALUE = 604,
    /// A flow in volume per time without the state at which the volume is counted.
    DP_ERROR_COUNTING_MISSING = 605,
    /// A combination of parts that is no instrument.
    DP_ERROR_LAYOUT = 606,
    /// A file that cannot be read.
    DP_ERROR_FILE = 610,
    /// Bytes that are no table, or not a whole and unchanged one.
    DP_ERROR_UNREADABLE_TABLE = 611,
    /// A fault of the library itself.
    DP_ERROR_INTERNAL = 901,
} dp_error;

/// What a notice is about.
typedef enum dp_notice_code {
    /// Solid forms: a warning
    DP_NOTICE_SOLID_FORMS = 1,
    /// Blocked in liquid: a caution
    DP_NOTICE_BLOCKED_IN_LIQUID = 2,
    /// Overpressure: a caution
    DP_NOTICE_OVERPRESSURE = 3,
    /// Asphyxiation: a caution
    DP_NOTICE_ASPHYXIATION = 4,
    /// Cold burn: a caution
    DP_NOTICE_COLD_BURN = 5,
    /// Hot surface: a caution
    DP_NOTICE_HOT_SURFACE = 6,
    /// Flammable: a caution
    DP_NOTICE_FLAMMABLE = 7,
    /// Suction margin: a warning
    DP_NOTICE_SUCTION_MARGIN = 8,
    /// Two phases: a warning
    DP_NOTICE_TWO_PHASES = 9,
    /// Near critical: a warning
    DP_NOTICE_NEAR_CRITICAL = 10,
    /// Extrapolated: a warning
    DP_NOTICE_EXTRAPOLATED = 11,
    /// Choked: a remark
    DP_NOTICE_CHOKED = 12,
    /// Transitional flow: a warning
    DP_NOTICE_TRANSITIONAL_FLOW = 13,
    /// Dispersion undeveloped: a warning
    DP_NOTICE_DISPERSION_UNDEVELOPED = 14,
    /// Radial gradients: a warning
    DP_NOTICE_RADIAL_GRADIENTS = 15,
    /// Injection wide: a warning
    DP_NOTICE_INJECTION_WIDE = 16,
    /// Loop filling: a remark
    DP_NOTICE_LOOP_FILLING = 17,
    /// Heater duty: a remark
    DP_NOTICE_HEATER_DUTY = 18,
    /// Cylinder level: a warning
    DP_NOTICE_CYLINDER_LEVEL = 19,
    /// Estimated: a remark
    DP_NOTICE_ESTIMATED = 20,
    /// Detector unsuited: a warning
    DP_NOTICE_DETECTOR_UNSUITED = 21,
    /// Pulsation: a warning
    DP_NOTICE_PULSATION = 22,
    /// Wall not reached: a warning
    DP_NOTICE_WALL_NOT_REACHED = 23,
    /// Cubic stands in: a remark
    DP_NOTICE_CUBIC_STANDS_IN = 25,
    /// Thin margin: a warning
    DP_NOTICE_THIN_MARGIN = 26,
    /// Above optimum: a warning
    DP_NOTICE_ABOVE_OPTIMUM = 24,
    /// Plugging: a warning
    DP_NOTICE_PLUGGING = 27,
    /// Aerosol: a warning
    DP_NOTICE_AEROSOL = 28,
    /// Controllability: a warning
    DP_NOTICE_CONTROLLABILITY = 29,
    /// Unsteady: a warning
    DP_NOTICE_UNSTEADY = 30,
    /// Stored energy: a caution
    DP_NOTICE_STORED_ENERGY = 31,
    /// Unknown: a remark
    DP_NOTICE_UNKNOWN = 32,
} dp_notice_code;

/// Phases that a state consists of.
typedef enum dp_phase {
    /// Liquid
    DP_PHASE_LIQUID = 1,
    /// Vapour
    DP_PHASE_VAPOUR = 2,
    /// Supercritical
    DP_PHASE_SUPERCRITICAL = 3,
    /// Liquid + vapour
    DP_PHASE_LIQUID_VAPOUR = 4,
    /// Solid + vapour
    DP_PHASE_SOLID_VAPOUR = 5,
    /// Solid
    DP_PHASE_SOLID = 6,
    /// Liquid + liquid
    DP_PHASE_LIQUID_LIQUID = 7,
    /// Liquid + liquid + vapour
    DP_PHASE_LIQUID_LIQUID_VAPOUR = 8,
    /// Solid + liquid
    DP_PHASE_SOLID_LIQUID = 9,
    /// Solid + liquid + vapour
    DP_PHASE_SOLID_LIQUID_VAPOUR = 10,
} dp_phase;

/// Quantities, each with its symbol and its SI unit.
typedef enum dp_quantity {
    /// No quantity.
    DP_QUANTITY_NONE = 0,
    /// Temperature T, in K
    DP_QUANTITY_TEMPERATURE = 1,
    /// Pressure p, in Pa
    DP_QUANTITY_PRESSURE = 2,
    /// Density rho, in kg/m3
    DP_QUANTITY_DENSITY = 3,
    /// Molar density rho_m, in mol/m3
    DP_QUANTITY_MOLAR_DENSITY = 4,
    /// Molar volume V_m, in m3/mol
    DP_QUANTITY_MOLAR_VOLUME = 5,
    /// Molar mass M, in kg/mol
    DP_QUANTITY_MOLAR_MASS = 6,
    /// Amount fraction x, dimensionless
    DP_QUANTITY_AMOUNT_FRACTION = 7,
    /// Mass fraction w, dimensionless
    DP_QUANTITY_MASS_FRACTION = 8,
    /// Vapour fraction q, dimensionless
    DP_QUANTITY_VAPOUR_FRACTION = 9,
    /// Solid fraction w_s, dimensionless
    DP_QUANTITY_SOLID_FRACTION = 10,
    /// Specific enthalpy h, in J/kg
    DP_QUANTITY_SPECIFIC_ENTHALPY = 11,
    /// Specific entropy s, in J/(kg K)
    DP_QUANTITY_SPECIFIC_ENTROPY = 12,
    /// Specific internal energy u, in J/kg
    DP_QUANTITY_SPECIFIC_INTERNAL_ENERGY = 13,
    /// Specific Gibbs energy g, in J/kg
    DP_QUANTITY_SPECIFIC_GIBBS_ENERGY = 14,
    /// Specific Helmholtz energy a, in J/kg
    DP_QUANTITY_SPECIFIC_HELMHOLTZ_ENERGY = 15,
    /// Specific isobaric heat capacity c_p, in J/(kg K)
    DP_QUANTITY_SPECIFIC_ISOBARIC_HEAT_CAPACITY = 16,
    /// Specific isochoric heat capacity c_v, in J/(kg K)
    DP_QUANTITY_SPECIFIC_ISOCHORIC_HEAT_CAPACITY = 17,
    /// Speed of sound c, in m/s
    DP_QUANTITY_SPEED_OF_SOUND = 18,
    /// Joule-Thomson coefficient mu_JT, in K/Pa
    DP_QUANTITY_JOULE_THOMSON_COEFFICIENT = 19,
    /// Isothermal compressibility kappa_T, in 1/Pa
    DP_QUANTITY_ISOTHERMAL_COMPRESSIBILITY = 20,
    /// Isobaric expansivity alpha_V, in 1/K
    DP_QUANTITY_ISOBARIC_EXPANSIVITY = 21,
    /// Compression factor Z, dimensionless
    DP_QUANTITY_COMPRESSION_FACTOR = 22,
    /// Dynamic viscosity eta, in Pa s
    DP_QUANTITY_DYNAMIC_VISCOSITY = 23,
    /// Kinematic viscosity nu, in m2/s
    DP_QUANTITY_KINEMATIC_VISCOSITY = 24,
    /// Thermal conductivity lambda, in W/(m K)
    DP_QUANTITY_THERMAL_CONDUCTIVITY = 25,
    /// Diffusion coefficient D, in m2/s
    DP_QUANTITY_DIFFUSION_COEFFICIENT = 26,
    /// Relative permittivity epsilon_r, dimensionless
    DP_QUANTITY_RELATIVE_PERMITTIVITY = 27,
    /// Refractive index n, dimensionless
    DP_QUANTITY_REFRACTIVE_INDEX = 28,
    /// Surface tension gamma, in N/m
    DP_QUANTITY_SURFACE_TENSION = 29,
    /// Mass flow rate q_m, in kg/s
    DP_QUANTITY_MASS_FLOW_RATE = 30,
    /// Volume flow rate q_V, in m3/s
    DP_QUANTITY_VOLUME_FLOW_RATE = 31,
    /// Velocity u, in m/s
    DP_QUANTITY_VELOCITY = 32,
    /// Mass flux G, in kg/(m2 s)
    DP_QUANTITY_MASS_FLUX = 33,
    /// Length L, in m
    DP_QUANTITY_LENGTH = 34,
    /// Diameter d, in m
    DP_QUANTITY_DIAMETER = 35,
    /// Roughness k_s, in m
    DP_QUANTITY_ROUGHNESS = 36,
    /// Particle diameter d_p, in m
    DP_QUANTITY_PARTICLE_DIAMETER = 37,
    /// Film thickness d_f, in m
    DP_QUANTITY_FILM_THICKNESS = 38,
    /// Area A, in m2
    DP_QUANTITY_AREA = 39,
    /// Volume V, in m3
    DP_QUANTITY_VOLUME = 40,
    /// Mass m, in kg
    DP_QUANTITY_MASS = 41,
    /// Time t, in s
    DP_QUANTITY_TIME = 42,
    /// Frequency f, in Hz
    DP_QUANTITY_FREQUENCY = 43,
    /// Interparticle porosity epsilon_e, dimensionless
    DP_QUANTITY_INTERPARTICLE_POROSITY = 44,
    /// Total porosity epsilon_t, dimensionless
    DP_QUANTITY_TOTAL_POROSITY = 45,
    /// Permeability B_0, in m2
    DP_QUANTITY_PERMEABILITY = 46,
    /// Pressure drop Delta p, in Pa
    DP_QUANTITY_PRESSURE_DROP = 47,
    /// Reynolds number Re, dimensionless
    DP_QUANTITY_REYNOLDS_NUMBER = 48,
    /// Friction factor f, dimensionless
    DP_QUANTITY_FRICTION_FACTOR = 49,
    /// Mach number Ma, dimensionless
    DP_QUANTITY_MACH_NUMBER = 50,
    /// Plate height H, in m
    DP_QUANTITY_PLATE_HEIGHT = 51,
    /// Plate number N, dimensionless
    DP_QUANTITY_PLATE_NUMBER = 52,
    /// Retention factor k, dimensionless
    DP_QUANTITY_RETENTION_FACTOR = 53,
    /// Hold up time t_M, in s
    DP_QUANTITY_HOLD_UP_TIME = 54,
    /// Retention time t_R, in s
    DP_QUANTITY_RETENTION_TIME = 55,
    /// Volume variance sigma_V^2, in m6
    DP_QUANTITY_VOLUME_VARIANCE = 56,
    /// Time variance sigma_t^2, in s2
    DP_QUANTITY_TIME_VARIANCE = 57,
    /// Heat flow rate Phi, in W
    DP_QUANTITY_HEAT_FLOW_RATE = 58,
    /// Temperature difference Delta T, in K
    DP_QUANTITY_TEMPERATURE_DIFFERENCE = 59,
    /// Specific volume v, in m3/kg
    DP_QUANTITY_SPECIFIC_VOLUME = 60,
    /// Volume fraction phi, dimensionless
    DP_QUANTITY_VOLUME_FRACTION = 61,
    /// Acceleration a, in m/s2
    DP_QUANTITY_ACCELERATION = 62,
    /// Pressure rate dp/dt, in Pa/s
    DP_QUANTITY_PRESSURE_RATE = 63,
    /// Pressure coefficient beta, in Pa/K
    DP_QUANTITY_PRESSURE_COEFFICIENT = 64,
    /// Clearance ratio c, dimensionless
    DP_QUANTITY_CLEARANCE_RATIO = 65,
    /// Ratio r, dimensionless
    DP_QUANTITY_RATIO = 66,
    /// Single phase margin p - p_2, in Pa
    DP_QUANTITY_SINGLE_PHASE_MARGIN = 67,
    /// Single phase temperature margin |T - T_2|, in K
    DP_QUANTITY_SINGLE_PHASE_TEMPERATURE_MARGIN = 68,
    /// Heat transfer coefficient alpha, in W/(m2 K)
    DP_QUANTITY_HEAT_TRANSFER_COEFFICIENT = 69,
    /// Wavelength lambda, in m
    DP_QUANTITY_WAVELENGTH = 70,
    /// Squared specific volume v^2, in m6/kg2
    DP_QUANTITY_SQUARED_SPECIFIC_VOLUME = 71,
    /// Energy E, in J
    DP_QUANTITY_ENERGY = 72,
} dp_quantity;

/// How much a notice matters; the smallest number the most.
typedef enum dp_severity {
    /// Caution
    DP_SEVERITY_CAUTION = 1,
    /// Warning
    DP_SEVERITY_WARNING = 2,
    /// Remark
    DP_SEVERITY_REMARK = 3,
} dp_severity;

/// What pumps deliver together.
///
/// Made by `dp_blend_new`, freed by `dp_blend_free`. It does not need the fluids of its feeds any more and never changes, so that
/// threads may share it.
typedef struct dp_blend dp_blend;

/// Every border between one and two phases of a fluid at a temperature or at a pressure.
///
/// Made by `dp_boundaries_at_temperature` and `dp_boundaries_at_pressure`, freed by `dp_boundaries_free`. It never changes, so
/// that threads may share it.
typedef struct dp_boundaries dp_boundaries;

/// The critical lines of two substances.
///
/// Made by `dp_critical_locus_new`, freed by `dp_critical_locus_free`. It never changes, so that threads may share it.
typedef struct dp_critical_locus dp_critical_locus;

/// What the runs of a method take and use up.
///
/// Made by `dp_solution_cycle`, freed by `dp_cycle_free`. It does not need its `dp_solution` any more and never changes, so that threads
/// may share it.
typedef struct dp_cycle dp_cycle;

/// What can hurt, in numbers, with the cautions that belong to them.
///
/// Made by `dp_blocked_in`, `dp_stored_energy` and others that say so, freed by `dp_danger_free`. It never changes, so that threads may
/// share it.
typedef struct dp_danger dp_danger;

/// A substance or a mixture with its models.
///
/// Made by `dp_fluid_new`, `dp_mixture_new` and others that say so, freed by `dp_fluid_free`. It never changes, so that threads
/// may share it.
typedef struct dp_fluid dp_fluid;

/// The phases of a fluid at a temperature and a pressure, by falling density.
///
/// Made by `dp_flash`, freed by `dp_phases_free`. It never changes, so that threads may share it.
typedef struct dp_phases dp_phases;

/// All that follows from a method in steady flow.
///
/// Made by `dp_solve_toml` and `dp_solve_file`, freed by `dp_solution_free`. It never changes, so that threads may share it.
typedef struct dp_solution dp_solution;

/// The state of a fluid at one point.
///
/// Made by the functions `dp_state_from_*` and others that say so, freed by `dp_state_free`. It does not need its `dp_fluid`
/// any more and never changes, so that threads may share it.
typedef struct dp_state dp_state;

/// Properties of a fluid over a region as a table.
///
/// Made by `dp_table_new` and `dp_table_read`, freed by `dp_table_free`. It never changes, so that threads may share it.
typedef struct dp_table dp_table;

/// `DP_OK`, or the number of an error: one of `dp_error`.
typedef int32_t dp_status;

/// The times of a cycle.
typedef struct dp_cycle_times {
    /// Time in s in which the mobile phase passes from where its last change is made through all parts that are no columns to the last
    /// column; of several ways to columns the one that takes longest counts.
    double dwell_time;
    /// Time in s in which it passes the columns on that way, their hold-up time.
    double column_time;
    /// Time in s to bring the columns back to their start.
    double equilibration_time;
    /// Time in s from one injection to the next.
    double cycle_time;
    /// Runs in a day.
    double runs_per_day;
} dp_cycle_times;

/// What a run and a day use up of one thing.
typedef struct dp_use {
    /// The name of a substance, "gas let out (20 degC, 1 atm)", or the part with what its heat is for. It belongs to the cycle.
    const char *name;
    /// Its quantity, one of `dp_quantity`: mass in kg, volume in m3 or energy in J.
    int32_t quantity;
    /// Of one run with what follows it; heat is negative where it is taken from the fluid.
    double per_run;
    /// Of as many runs as a day holds.
    double per_day;
} dp_use;

/// A result that only one part has to tell, or a number of a danger.
typedef struct dp_fact {
    /// Name of the part; it belongs to what was asked and is valid as long as that.
    const char *part;
    /// What it is, in words; they belong to what was asked and are valid as long as that.
    const char *name;
    /// Its quantity, one of `dp_quantity`.
    int32_t quantity;
    /// Its value in the SI unit of the quantity.
    double value;
} dp_fact;

/// Doubt or caution that belongs to a solution or a danger.
typedef struct dp_notice {
    /// What it is about, one of `dp_notice_code`.
    int32_t code;
    /// How much it matters, one of `dp_severity`.
    int32_t severity;
    /// Quantity concerned, one of `dp_quantity`; `DP_QUANTITY_NONE` if there is none.
    int32_t quantity;
    /// Name of the part, empty if it concerns the whole; it belongs to what was asked and is valid as long as that.
    const char *station;
    /// What to know and to do; it belongs to what was asked and is valid as long as that.
    const char *text;
} dp_notice;

/// Where bands arrive: a detector, or the last part of a line where nothing detects.
///
/// Of an injected amount n the concentration there is n w f(t) / q_V, with the injected share w, the profile f of unit area that the
/// chromatogram of a solute has, and the volume flow rate q_V.
typedef struct dp_detection {
    /// Name of the part; it belongs to the solution and is valid as long as it.
    const char *part;
    /// Name of the part at whose outlet its branch begins, empty on the main line; it belongs to the solution and is valid as long as it.
    const char *branch_of;
    /// Share of the injected amount of every solute that arrives.
    double injected_share;
    /// Volume flow rate q_V in m3/s that arrives.
    double volume_flow_rate;
} dp_detection;

/// What all parts together do to the band of the solute.
typedef struct dp_band_budget {
    /// Sum of the variances in time, sigma_t^2, in s2.
    double time_variance;
    /// Time t from injection to detection in s.
    double time;
    /// Retention time t_R on the columns in s.
    double retention_time;
    /// Hold-up time t_M of the columns in s.
    double hold_up_time;
    /// Retention factor k over the columns.
    double retention_factor;
    /// Plate number N of the columns alone.
    double column_plate_number;
    /// Apparent plate number N with the variance of all parts.
    double apparent_plate_number;
} dp_band_budget;

/// What one part does to the band of the solute.
typedef struct dp_band {
    /// Name of the part; it belongs to the solution and is valid as long as it.
    const char *part;
    /// Time t that the solute spends in it, in s.
    double time;
    /// Variance in time that it adds, sigma_t^2, in s2.
    double time_variance;
    /// Share of the sum of all variances.
    double share;
    /// Smallest variance in s2 where the law leaves a bracket; NaN elsewhere.
    double time_variance_min;
    /// Largest variance in s2 where the law leaves a bracket; NaN elsewhere.
    double time_variance_max;
} dp_band;

/// The numbers of the last error of the calling thread.
typedef struct dp_error_info {
    /// Number of the error, one of `dp_error`; `DP_OK` if the last call succeeded.
    dp_status code;
    /// Number of the error that was found inside a part where `code` is `DP_ERROR_IN_ELEMENT`; the same as `code` elsewhere.
    dp_status cause;
    /// Number of the quantity concerned, one of `dp_quantity`; `DP_QUANTITY_NONE` if there is none.
    int32_t quantity;
    /// The offending value in the SI unit of the quantity; NaN if there is none.
    double value;
    /// Smallest value allowed, in the same unit; NaN if there is none.
    double min;
    /// Largest value allowed, in the same unit; NaN if there is none.
    double max;
    /// Index, from 0, of the array element or of the part of the instrument; -1 if there is none.
    int64_t element;
} dp_error_info;

/// A critical point.
typedef struct dp_critical {
    /// Temperature T in K.
    double temperature;
    /// Pressure p in Pa.
    double pressure;
    /// Density rho in kg/m3.
    double density;
    /// Amount fraction of the second substance on a critical line; NaN elsewhere.
    double amount_fraction;
    /// 1 if no other phase is more stable there, 0 otherwise.
    int32_t is_stable;
} dp_critical;

/// A border between one and two phases.
typedef struct dp_boundary {
    /// Temperature T in K.
    double temperature;
    /// Pressure p in Pa.
    double pressure;
    /// 1 where a thinner phase appears, a bubble; 0 where a denser one does, a drop.
    int32_t is_bubble;
} dp_boundary;

/// A column at a glance.
typedef struct dp_column {
    /// Name of the part; it belongs to the solution and is valid as long as it.
    const char *name;
    /// Pressure drop Delta p in Pa.
    double pressure_drop;
    /// Hold-up time t_M in s.
    double hold_up_time;
    /// Number of points of its profile.
    size_t points;
} dp_column;

/// One point along a column.
typedef struct dp_profile_point {
    /// Distance from the inlet in m.
    double position;
    /// Temperature T in K.
    double temperature;
    /// Pressure p in Pa.
    double pressure;
    /// Density rho in kg/m3.
    double density;
    /// Mean velocity u in m/s.
    double velocity;
    /// Retention factor k of the solute.
    double retention_factor;
    /// Local plate height H in m.
    double plate_height;
} dp_profile_point;

/// Heat that a part takes up or gives off.
typedef struct dp_duty {
    /// Name of the part; it belongs to the solution and is valid as long as it.
    const char *part;
    /// What the heat is for; it belongs to the solution and is valid as long as it.
    const char *purpose;
    /// Heat flow rate Phi in W into the fluid; negative where the fluid is cooled.
    double heat_flow_rate;
} dp_duty;

/// What a method uses up.
typedef struct dp_consumption {
    /// Mass flow rate q_m in kg/s.
    double mass_flow_rate;
    /// Volume flow rate q_V of the gas let out in m3/s, at 20 degC and 101325 Pa.
    double gas_volume_flow_rate;
    /// Time t in s for which the liquid in the supply lasts.
    double running_time;
} dp_consumption;

#ifdef __cplusplus
extern "C" {
#endif // __cplusplus

/// What `n` pumps deliver together: each feeds one of `fluids` at one of `volume_flow_rates` in m3/s, counted at one of `temperatures`
/// in K and one of `pressures` in Pa (absolute).
///
/// Valid for pumps that lose nothing. The caller owns the result and frees it with `dp_blend_free`.
/// Errors: 101 for a flow not above zero, 104 for `NULL` and for no pump, and those of `dp_state_from_tp` of each feed.
dp_status dp_blend_new(const struct dp_fluid *const *fluids,
                       const double *volume_flow_rates,
                       const double *temperatures,
                       const double *pressures,
                       size_t n,
                       struct dp_blend **out);

/// The volume flow rates in m3/s to set, `n` of them in `out`, for wanted `fractions` of the feeds and a whole `mass_flow_rate` in
/// kg/s: the inverse of `dp_blend_new`.
///
/// `basis` tells what the fractions are shares of: "mass", "amount" or "volume", that of the set volumes. They must sum to 1.
/// `out` may not overlap another array. Errors as `dp_blend_new`; besides 103 for fractions that do not sum to 1, 104 for another
/// word for the basis.
dp_status dp_blend_volume_flow_rates(const struct dp_fluid *const *fluids,
                                     const double *fractions,
                                     const double *temperatures,
                                     const double *pressures,
                                     size_t n,
                                     const char *basis,
                                     double mass_flow_rate,
                                     double *out);

/// The mixture with its best model.
///
/// The caller owns the result and frees it with `dp_fluid_free`. Error 202 for a pair without parameters.
dp_status dp_blend_fluid(const struct dp_blend *blend, struct dp_fluid **out);

/// Mass flow rate q_m of all pumps in kg/s.
dp_status dp_blend_mass_flow_rate(const struct dp_blend *blend, double *out);

/// Number of the substances, in the order in which they are first fed.
dp_status dp_blend_substance_count(const struct dp_blend *blend, size_t *out);

/// Name of the substance at `index`, from 0. The text belongs to the blend and is valid as long as it.
/// Error 104 for an index beyond the last.
dp_status dp_blend_substance_name(const struct dp_blend *blend, size_t index, const char **out);

/// Amount fraction x of the substance at `index`, from 0. Error 104 for an index beyond the last.
dp_status dp_blend_amount_fraction(const struct dp_blend *blend, size_t index, double *out);

/// Mass fraction w of the substance at `index`, from 0. Error 104 for an index beyond the last.
dp_status dp_blend_mass_fraction(const struct dp_blend *blend, size_t index, double *out);

/// Frees a blend; `NULL` is left alone. Fluids made of it stay valid.
void dp_blend_free(struct dp_blend *blend);

/// What runs of a `run_time` in s from injection to end take and use up when they follow each other, by the program of the method where it
/// has one; between runs the settings of the start count. `handling_time` in s goes by between runs, and the mobile phase of the columns is
/// replaced `equilibration_volumes` times before the next injection: 5 to 10 (common practice, no source), 0 where nothing has changed.
///
/// The caller frees the result with `dp_cycle_free`. A method with a program is solved at each point of it. Errors: 606 for a method
/// without column, 101 for a time not above zero or values that are negative.
dp_status dp_solution_cycle(const struct dp_solution *solution,
                            double run_time,
                            double handling_time,
                            double equilibration_volumes,
                            struct dp_cycle **out);

/// Writes the times of a cycle.
dp_status dp_cycle_times_of(const struct dp_cycle *cycle, struct dp_cycle_times *out);

/// Count of the things that a cycle uses up.
dp_status dp_cycle_use_count(const struct dp_cycle *cycle, size_t *out);

/// The thing at `index`, from 0, that a cycle uses up. Error 104 for an index beyond the last.
dp_status dp_cycle_use_at(const struct dp_cycle *cycle, size_t index, struct dp_use *out);

/// Frees a cycle; `NULL` is left alone.
void dp_cycle_free(struct dp_cycle *cycle);

/// A fluid that is shut in at a state in a rigid volume and warms to a `temperature` in K, against the `rating` in Pa of the weakest part,
/// NaN where that is not known: "pressure" and "density" at the end, "pressure_coefficient" at the start in Pa/K of one phase.
///
/// The caller frees the result with `dp_danger_free`. Errors: 102 outside the range of the model, 101 for a rating not above zero.
dp_status dp_blocked_in(const struct dp_state *state,
                        double temperature,
                        double rating,
                        struct dp_danger **out);

/// A fluid shut in a `volume` in m3 that takes up a `heat_flow_rate` in W: "pressure_rate" in Pa/s, and "relief_volume_flow_rate" in m3/s
/// that a relief device has to pass instead.
///
/// The caller frees the result with `dp_danger_free`. Errors: 101 for a volume not above zero or a heat flow rate that is negative, 301
/// for a state of two phases.
dp_status dp_heated_shut_in(const struct dp_state *state,
                            double volume,
                            double heat_flow_rate,
                            struct dp_danger **out);

/// Largest work that a fluid shut in a `volume` in m3 can do when it expands into a room of a `room_temperature` in K and a `room_pressure`
/// in Pa: "energy" in J with heat from the room, "sudden_energy" in J of a part that bursts at once.
///
/// The caller frees the result with `dp_danger_free`. Errors: 101 for values not above zero, those of the state at the end.
dp_status dp_stored_energy(const struct dp_state *state,
                           double volume,
                           double room_temperature,
                           double room_pressure,
                           struct dp_danger **out);

/// Pressure inside a straight round tube at which its inner wall reaches an `allowable_stress` in Pa: "pressure" in Pa, above that outside.
///
/// The caller frees the result with `dp_danger_free`. Errors: 101 for values not above zero, or a wall without thickness.
dp_status dp_tube_rating(double inner_diameter,
                         double outer_diameter,
                         double allowable_stress,
                         struct dp_danger **out);

/// Rise of the pressure where a flow of a `velocity` in m/s is stopped at once: "pressure_rise" in Pa, an upper bound.
///
/// The caller frees the result with `dp_danger_free`. Errors: 101 for a velocity that is not finite, 301 for a state of two phases.
dp_status dp_pressure_hammer(const struct dp_state *state,
                             double velocity,
                             struct dp_danger **out);

/// A mixed room of a `volume` in m3 whose air changes `air_change_rate` times per second, with a flow of carbon dioxide in m3/s at 20 degC
/// and 101325 Pa let out into it: "steady_fraction" and "oxygen_fraction" by volume in the long run, and "time_to_exposure_limit" in s to
/// the limit of a working day, 5000 ppm (29 CFR 1910.1000, table Z-1, seen quoted), where it comes.
///
/// The caller frees the result with `dp_danger_free`. Errors: 101 for a volume not above zero or negative rates.
dp_status dp_room_exposure(double volume,
                           double air_change_rate,
                           double gas_volume_flow_rate,
                           struct dp_danger **out);

/// A `mass` in kg of a fluid set free at once in a room of a `volume` in m3, such as a whole cylinder: "fraction" by volume of its gas and
/// "oxygen_fraction", mixed.
///
/// The caller frees the result with `dp_danger_free`. Errors: 101 for values not above zero, those of the gas.
dp_status dp_room_release(const struct dp_fluid *fluid,
                          double mass,
                          double volume,
                          struct dp_danger **out);

/// A vessel of a `volume` in m3 let down from a state to an `end_pressure` in Pa through a hole of a `diameter` in m with a
/// `discharge_coefficient`, into a room of 20 degC and 101325 Pa, with a `wall_conductance` in W/K: "time" in s, "lowest_temperature" in K,
/// and "end_pressure" in Pa, which is above the one asked for where dry ice in the hole ends the course.
///
/// All phases leave as they are mixed. Uncertainty 10 to 30 %, that of the hole. The caller frees the result with `dp_danger_free`. A
/// mixture may take minutes: `dp_let_down_within` bounds it.
/// Errors: 101 for values not above zero, 503 for an end pressure not between those of the start and the room.
dp_status dp_let_down(const struct dp_state *state,
                      double volume,
                      double diameter,
                      double discharge_coefficient,
                      double wall_conductance,
                      double end_pressure,
                      struct dp_danger **out);

/// As `dp_let_down`, within `time_limit` in s, looked at before each of some fifty steps, which take up to seconds each for a mixture.
///
/// The caller owns the result and frees it with `dp_danger_free`. Error 406 if the time is over, 101 for one that is negative or no
/// number; the others as for `dp_let_down`.
dp_status dp_let_down_within(const struct dp_state *state,
                             double volume,
                             double diameter,
                             double discharge_coefficient,
                             double wall_conductance,
                             double end_pressure,
                             double time_limit,
                             struct dp_danger **out);

/// The vapour that a gas takes along beside a liquid `modifier` at a `temperature` in K and a `pressure` in Pa: "volume_fraction", and
/// "lower_flammable_limit" in air where it is known (IEC 60079-20-1:2010).
///
/// The caller frees the result with `dp_danger_free`. Errors: 101 for a pressure not above zero, 302 above the critical temperature of the
/// modifier.
dp_status dp_vapour_in_vent(const struct dp_fluid *modifier,
                            double temperature,
                            double pressure,
                            struct dp_danger **out);

/// Count of the numbers of a danger.
dp_status dp_danger_count(const struct dp_danger *danger, size_t *out);

/// The number at `index`, from 0, of a danger; its part is empty. Error 104 for an index beyond the last.
dp_status dp_danger_at(const struct dp_danger *danger, size_t index, struct dp_fact *out);

/// The number called `name` of a danger, in the SI unit of its quantity. Error 104 if it has none of that name.
dp_status dp_danger_find(const struct dp_danger *danger,
                         const char *name,
                         double *out);

/// Count of the notices of a danger.
dp_status dp_danger_notice_count(const struct dp_danger *danger, size_t *out);

/// The notice at `index`, from 0, of a danger. Error 104 for an index beyond the last.
dp_status dp_danger_notice_at(const struct dp_danger *danger, size_t index, struct dp_notice *out);

/// Frees a danger; `NULL` is left alone.
void dp_danger_free(struct dp_danger *danger);

/// Number of the places where bands arrive: the detectors and the ends of lines where nothing detects, those of the main line first; 0
/// without an injector. What `dp_solution_bands` tells is that of the first.
dp_status dp_detection_count(const struct dp_solution *solution,
                             size_t *out);

/// Where bands arrive, by an index from 0. Error 104 for an index beyond the last.
dp_status dp_detection_at(const struct dp_solution *solution, size_t index, struct dp_detection *out);

/// Index, from 0, of the detector called `part`, or of the last part of a line where nothing detects. Error 104 if there is none of that
/// name.
dp_status dp_detection_find(const struct dp_solution *solution,
                            const char *part,
                            size_t *out);

/// What all parts on the way to the detection at `index`, from 0, do to the band of the solute.
/// Error 104 for an index beyond the last, 202 where no band of a solute arrives that passed a column.
dp_status dp_detection_bands(const struct dp_solution *solution, size_t index, struct dp_band_budget *out);

/// Number of the parts that add to the band of the solute on its way to the detection at `index`, from 0.
/// Errors as of `dp_detection_bands`.
dp_status dp_detection_band_count(const struct dp_solution *solution, size_t index, size_t *out);

/// What the part at `row`, from 0, does to the band of the solute on its way to the detection at `index`, from 0.
/// Error 104 for a number beyond the last, 202 where no band of a solute arrives that passed a column.
dp_status dp_detection_band_at(const struct dp_solution *solution,
                               size_t index,
                               size_t row,
                               struct dp_band *out);

/// Writes what the detection at `index`, from 0, records of an injection at time zero, without noise, with the area 1 for the peak of each
/// solute: `n` samples in 1/s from `start` in s on, `data_rate` of them in a second; programmed if the document has programs.
/// Error 101 for a rate not above zero, 102 where a law of a solute leaves its range on the way, 104 for an index beyond the last, and
/// where no band arrives that passed a column.
dp_status dp_detection_chromatogram(const struct dp_solution *solution,
                                    size_t index,
                                    double start,
                                    double data_rate,
                                    size_t n,
                                    double *out);

/// The substance called `name`: its name in words, a trade name or its formula, in any case; UTF-8.
///
/// The caller owns the result and frees it with `dp_fluid_free`.
/// Error 201 for an unknown name (the message suggests the nearest), 104 for `NULL` or text that is not UTF-8.
dp_status dp_fluid_new(const char *name,
                       struct dp_fluid **out);

/// Frees a fluid; `NULL` is left alone. States made of it stay valid.
void dp_fluid_free(struct dp_fluid *fluid);

/// Name of the fluid in words; of a mixture the names of its substances. The text belongs to the fluid and is valid as long as it.
dp_status dp_fluid_name(const struct dp_fluid *fluid,
                        const char **out);

/// Name of the equation of state, with author and year; of a mixture with the parameters of each pair. The text belongs to the fluid
/// and is valid as long as it.
dp_status dp_fluid_model(const struct dp_fluid *fluid,
                         const char **out);

/// Molar mass M in kg/mol.
dp_status dp_molar_mass(const struct dp_fluid *fluid, double *out);

/// Temperature of the triple point in K. Error 202 for a mixture.
dp_status dp_triple_temperature(const struct dp_fluid *fluid, double *out);

/// Range of the equation of state stated by its authors: temperatures in K, highest pressure in Pa.
dp_status dp_fluid_range(const struct dp_fluid *fluid,
                         double *temperature_min,
                         double *temperature_max,
                         double *pressure_max);

/// Critical point of the equation of state: temperature in K, pressure in Pa, density in kg/m3; of a mixture the stable one of liquid
/// and vapour. Error 402 if a mixture has none.
dp_status dp_critical_point(const struct dp_fluid *fluid,
                            double *temperature,
                            double *pressure,
                            double *density);

/// Liquid and vapour in equilibrium at a temperature in K: their pressure in Pa, and each as a state.
///
/// The caller owns both states and frees them with `dp_state_free`.
/// Valid from the triple point to the critical point; error 302 outside, 101 for a value that is not finite, 202 for a mixture: ask
/// for its bubble point or its dew point.
dp_status dp_saturation_at_temperature(const struct dp_fluid *fluid,
                                       double temperature,
                                       double *pressure,
                                       struct dp_state **liquid,
                                       struct dp_state **vapour);

/// Liquid and vapour in equilibrium at a pressure in Pa: their temperature in K, and each as a state.
///
/// The caller owns both states and frees them with `dp_state_free`.
/// Valid from the triple point to the critical point; error 302 outside, 101 for a value that is not finite, 202 for a mixture: ask
/// for its bubble point or its dew point.
dp_status dp_saturation_at_pressure(const struct dp_fluid *fluid,
                                    double pressure,
                                    double *temperature,
                                    struct dp_state **liquid,
                                    struct dp_state **vapour);

/// Pressure p in Pa (absolute) at `temperature` in K and `density` in kg/m3; inside the dome the vapour pressure.
///
/// Errors: 101 for a value that is not finite or not above zero, 102 outside the range of the equation of state.
dp_status dp_pressure(const struct dp_fluid *fluid,
                      double temperature,
                      double density,
                      double *out);

/// Pressure p in Pa (absolute) at each of `n` pairs of `temperature` in K and `density` in kg/m3.
/// Arrays as `dp_property_array`, errors of each element as `dp_pressure`.
dp_status dp_pressure_array(const struct dp_fluid *fluid,
                            const double *temperature,
                            const double *density,
                            size_t n,
                            double *out,
                            int32_t *status);

/// Pressure p in Pa (absolute) on an isopycnic, of one phase, at `temperature` in K and `density` in kg/m3.
///
/// Errors as `dp_pressure`; besides 301 where the density is that of several phases together, 303 of a solid.
dp_status dp_isopycnic(const struct dp_fluid *fluid, double temperature, double density, double *out);

/// Pressure p in Pa (absolute) on isopycnics at each of `n` pairs of `temperature` in K and `density` in kg/m3.
/// Arrays as `dp_property_array`, errors of each element as `dp_isopycnic`.
dp_status dp_isopycnic_array(const struct dp_fluid *fluid,
                             const double *temperature,
                             const double *density,
                             size_t n,
                             double *out,
                             int32_t *status);

/// Pressure p in Pa (absolute) above which the solid is stable at `temperature` in K: that of melting, or of sublimation below
/// the triple point; infinite where the solid of the fluid is not known.
dp_status dp_melting_pressure(const struct dp_fluid *fluid,
                              double temperature,
                              double *out);

/// Relative standard uncertainty of the vapour pressure at `temperature` in K that its source states.
///
/// Errors as `dp_saturation_at_temperature`; besides 202 where the source states none.
dp_status dp_vapour_pressure_uncertainty(const struct dp_fluid *fluid, double temperature, double *out);

/// Relative standard uncertainty that the source of its model states for the property with the number `property` of
/// `dp_quantity`, at `temperature` in K and `pressure` in Pa (absolute); for the refractive index relative to n - 1.
///
/// Errors as `dp_property`; besides 102 beyond the range for which it is stated, 202 for a property without a stated uncertainty
/// and near the critical point.
dp_status dp_uncertainty(const struct dp_fluid *fluid,
                         int32_t property,
                         double temperature,
                         double pressure,
                         double *out);

/// Pressure in Pa by which the state at `temperature` in K and `pressure` in Pa (absolute) lies above the pressure where a second
/// phase appears at its temperature.
///
/// Infinite where no second phase appears at any pressure of the range: of a substance at and above its critical temperature.
/// Negative in two phases, where it counts from the pressure that brings back one phase, and for a vapour.
/// Errors as `dp_state_from_tp`.
dp_status dp_single_phase_margin(const struct dp_fluid *fluid,
                                 double temperature,
                                 double pressure,
                                 double *out);

/// The property with the number `property` of `dp_quantity`, in its SI unit, at `temperature` in K and `pressure` in Pa (absolute).
///
/// Errors: 101 for a value that is not finite or not above zero, 102 outside the range of the model, 104 for a number that is
/// not in `dp_quantity`, 202 for a quantity that is no property of the fluid, 303 where the stable phase is solid.
dp_status dp_property(const struct dp_fluid *fluid,
                      int32_t property,
                      double temperature,
                      double pressure,
                      double *out);

/// Prepares the densities of one substance between two temperatures in K and two pressures in Pa for `dp_density_prepared`.
///
/// It may take seconds where the region is wide, and asks for memory, which the substance keeps. Errors: 101 for a value that
/// is not finite or not above zero, 202 for a mixture, which has no prepared densities.
dp_status dp_fluid_prepare_densities(const struct dp_fluid *fluid,
                                     double temperature_min,
                                     double temperature_max,
                                     double pressure_min,
                                     double pressure_max);

/// Density in kg/m3 at `temperature` in K and `pressure` in Pa as prepared by `dp_fluid_prepare_densities`, at a fixed cost, for loops
/// that control an instrument.
///
/// The worst case of a call that succeeds: nine steps down a tree and one polynomial of two variables with 48 coefficients, fewer than
/// 1000 instructions on x86-64, which a test counts. It does not iterate, wait for another thread, or ask for memory. The bits are those
/// of `dp_density`. Error 202 where nothing is prepared: outside of the region, and close to the vapour pressure, the critical point, the
/// critical isochore and the solid; `dp_density` answers there.
dp_status dp_density_prepared(const struct dp_fluid *fluid,
                              double temperature,
                              double pressure,
                              double *out);

/// The property with the number `property` of `dp_quantity` at each of `n` pairs of `temperature` in K and `pressure` in Pa.
///
/// `out` receives `n` values, NaN where an element failed. `status` receives `n` numbers of `dp_error`, `DP_OK` where an element
/// succeeded; it may be `NULL`. Every element is computed. The result is `DP_OK` if all succeeded, else the status of the first that
/// failed, whose index `dp_last_error` tells. `out` and `status` may not overlap another array (error 104).
/// The pointers may be `NULL` if `n` is 0. Errors of each element as `dp_property`.
dp_status dp_property_array(const struct dp_fluid *fluid,
                            int32_t property,
                            const double *temperature,
                            const double *pressure,
                            size_t n,
                            double *out,
                            int32_t *status);

/// Number of the substances that the library knows.
dp_status dp_substance_count(size_t *out);

/// Name, as `dp_fluid_new` takes it, of the substance at `index`, from 0; the text stays valid, do not free it.
/// Error 104 for an index beyond the last.
dp_status dp_substance_name(size_t index,
                            const char **out);

/// The numbers of the last error of the calling thread.
///
/// Every other function that returns a status sets or clears it; this one and `dp_last_error_message` leave it as it is.
/// Error 104 if `out` is `NULL`.
dp_status dp_last_error(struct dp_error_info *out);

/// The message of the last error of the calling thread: what was refused, its value with unit, the limit, and what to do.
///
/// At most `capacity` bytes are written to `buffer`, the closing NUL included; a longer message is cut between two characters.
/// `buffer` may be `NULL` if `capacity` is 0. `needed`, unless it is `NULL`, receives the bytes of the whole message, the
/// closing NUL included. The message is empty if the last call succeeded. Text is UTF-8.
/// Error 104 if `buffer` is `NULL` and `capacity` is not 0.
dp_status dp_last_error_message(char *buffer,
                                size_t capacity,
                                size_t *needed);

/// Number of quantities known; their numbers are those of `dp_quantity`, from 1 to this one.
dp_status dp_quantity_count(size_t *out);

/// Name of a quantity, such as "specific_enthalpy"; the text stays valid, do not free it.
/// Error 104 for a number that is not in `dp_quantity`.
dp_status dp_quantity_name(int32_t quantity, const char **out);

/// Symbol of a quantity, such as "h"; the text stays valid, do not free it.
/// Error 104 for a number that is not in `dp_quantity`.
dp_status dp_quantity_symbol(int32_t quantity, const char **out);

/// SI unit of a quantity, such as "J/kg"; the text stays valid, do not free it.
/// Error 104 for a number that is not in `dp_quantity`.
dp_status dp_quantity_unit(int32_t quantity, const char **out);

/// Number of the quantity called `name`, one of `dp_quantity`. Error 104 if there is none of that name.
dp_status dp_quantity_find(const char *name, int32_t *out);

/// Number of the properties that a temperature and a pressure determine.
dp_status dp_property_count(size_t *out);

/// Quantity, one of `dp_quantity`, of the property at `index`, from 0. Error 104 for an index beyond the last.
dp_status dp_property_at(size_t index,
                         int32_t *out);

/// Name of a phase, such as "liquid + vapour"; the text stays valid, do not free it.
/// Error 104 for a number that is not in `dp_phase`.
dp_status dp_phase_name(int32_t phase, const char **out);

/// Name of what a notice is about, such as "solid_forms"; the text stays valid, do not free it.
/// Error 104 for a number that is not in `dp_notice_code`.
dp_status dp_notice_name(int32_t code, const char **out);

/// The word for a severity, such as "caution"; the text stays valid, do not free it.
/// Error 104 for a number that is not in `dp_severity`.
dp_status dp_severity_name(int32_t severity, const char **out);

/// Number of errors in the table.
dp_status dp_error_count(size_t *out);

/// Number of the error at `index` of the table, from 0; one of `dp_error`. Error 104 for an index beyond the last.
dp_status dp_error_at(size_t index,
                      dp_status *out);

/// Name of the constant of an error, such as "DP_ERROR_DOMAIN"; the text stays valid, do not free it.
/// Error 104 for a number that is not in the table.
dp_status dp_error_name(dp_status code, const char **out);

/// What an error means, in a sentence; the text stays valid, do not free it.
/// Error 104 for a number that is not in the table.
dp_status dp_error_meaning(dp_status code, const char **out);

/// The substance called `name` with the model wanted: "best", "multi-fluid" (the reference equation) or "cubic".
///
/// The caller owns the result and frees it with `dp_fluid_free`.
/// Errors as `dp_fluid_new`; besides 104 for another word for the model, 202 if the substance has no such model.
dp_status dp_fluid_new_with_model(const char *name,
                                  const char *model,
                                  struct dp_fluid **out);

/// A mixture of `n` substances told by their `names`, as `dp_fluid_new` takes them, with their `amount_fractions`, which must sum to
/// 1 within 1e-9 and may be zero.
///
/// The model is the multi-fluid equation where every pair has parameters from measurements, else the cubic equation, which a
/// notice of every state then tells. The caller owns the result and frees it with `dp_fluid_free`.
/// Errors: 103 for fractions that are none or do not sum to 1, 104 for `NULL`, for no substance, and for one named twice, 201 for
/// an unknown name, 202 for a pair without parameters.
dp_status dp_mixture_new(const char *const *names,
                         const double *amount_fractions,
                         size_t n,
                         struct dp_fluid **out);

/// As `dp_mixture_new`, with the model wanted: "best", "multi-fluid" or "cubic".
///
/// The caller owns the result and frees it with `dp_fluid_free`.
/// Errors as `dp_mixture_new`; besides 104 for another word for the model.
dp_status dp_mixture_new_with_model(const char *const *names,
                                    const double *amount_fractions,
                                    size_t n,
                                    const char *model,
                                    struct dp_fluid **out);

/// The same substances with the same model in other amount fractions, `n` of them; cheaper than a new mixture.
///
/// The caller owns the result and frees it with `dp_fluid_free`.
/// Errors: 103 for fractions that are none or do not sum to 1, 104 for another number of them than of substances.
dp_status dp_fluid_with_amount_fractions(const struct dp_fluid *fluid,
                                         const double *amount_fractions,
                                         size_t n,
                                         struct dp_fluid **out);

/// The same fluid, whose models may be asked beyond their ranges: up to one and a half times the highest temperature and ten
/// times the highest pressure of each. A notice of the state tells of it, and no uncertainty is known there.
///
/// The caller owns the result and frees it with `dp_fluid_free`.
dp_status dp_fluid_extrapolating(const struct dp_fluid *fluid,
                                 struct dp_fluid **out);

/// The same fluid with a dynamic viscosity that is `factor`, 0.1 to 10, times that of its model: a measured ratio, or the model's
/// uncertainty put into a budget.
///
/// Reynolds numbers, friction and estimates of diffusion follow; the thermal conductivity does not. Errors: 102 for another factor.
/// The caller owns the result and frees it with `dp_fluid_free`.
dp_status dp_fluid_with_viscosity_factor(const struct dp_fluid *fluid,
                                         double factor,
                                         struct dp_fluid **out);

/// The same fluid whose density at a temperature in K and a pressure in Pa of one phase is `factor`, 0.8 to 1.25, times that of its model: a
/// measured ratio, or the model's uncertainty put into a budget. It replaces one that is in force.
///
/// A constant is added to the specific volume at each temperature and pressure, and that times the pressure to the enthalpy, so that states
/// stay consistent; entropy, internal energy, heat capacities, phase equilibria, viscosity and conductivity stay. Errors: 102 for another
/// factor, 301 for two phases there, and those of `dp_state_from_tp`. The caller owns the result and frees it with `dp_fluid_free`.
dp_status dp_fluid_with_density_factor(const struct dp_fluid *fluid,
                                       double factor,
                                       double temperature,
                                       double pressure,
                                       struct dp_fluid **out);

/// Number of the substances of the fluid.
dp_status dp_fluid_substance_count(const struct dp_fluid *fluid, size_t *out);

/// Name of the substance at `index`, from 0. The text belongs to the fluid and is valid as long as it.
/// Error 104 for an index beyond the last.
dp_status dp_fluid_substance_name(const struct dp_fluid *fluid, size_t index, const char **out);

/// Amount fraction x of the substance at `index`, from 0. Error 104 for an index beyond the last.
dp_status dp_fluid_amount_fraction(const struct dp_fluid *fluid, size_t index, double *out);

/// Mass fraction w of the substance at `index`, from 0. Error 104 for an index beyond the last.
dp_status dp_fluid_mass_fraction(const struct dp_fluid *fluid, size_t index, double *out);

/// Number of the critical points of the composition, the metastable ones too; 1 for a substance.
dp_status dp_critical_point_count(const struct dp_fluid *fluid, size_t *out);

/// The critical point at `index`, from 0, by falling temperature. Error 104 for an index beyond the last.
dp_status dp_critical_point_at(const struct dp_fluid *fluid, size_t index, struct dp_critical *out);

/// The bubble point at a temperature in K: the pressure in Pa at which the fluid begins to boil, the fluid itself as a liquid, and the
/// first bubble. Of several that of the lowest pressure; `dp_boundaries_at_temperature` gives all.
///
/// The caller owns both states and frees them with `dp_state_free`.
/// Errors: 101 for a value that is not finite, 102 outside the range of the equation of state, 302 for a substance outside the
/// range from its triple point to its critical point, 402 for a mixture that has none.
dp_status dp_bubble_point_at_temperature(const struct dp_fluid *fluid,
                                         double temperature,
                                         double *pressure,
                                         struct dp_state **liquid,
                                         struct dp_state **vapour);

/// The bubble point at a pressure in Pa: the temperature in K at which the fluid begins to boil, the fluid itself as a liquid, and the
/// first bubble. Of several that of the highest temperature; `dp_boundaries_at_pressure` gives all.
///
/// The caller owns both states and frees them with `dp_state_free`.
/// Errors: 101 for a value that is not finite, 102 outside the range of the equation of state, 302 for a substance outside the
/// range from its triple point to its critical point, 402 for a mixture that has none.
dp_status dp_bubble_point_at_pressure(const struct dp_fluid *fluid,
                                      double pressure,
                                      double *temperature,
                                      struct dp_state **liquid,
                                      struct dp_state **vapour);

/// The dew point at a temperature in K: the pressure in Pa at which the fluid begins to condense, the first drop, and the fluid itself
/// as a vapour. Of several that of the lowest pressure; `dp_boundaries_at_temperature` gives the retrograde ones too.
///
/// The caller owns both states and frees them with `dp_state_free`.
/// Errors: 101 for a value that is not finite, 102 outside the range of the equation of state, 302 for a substance outside the
/// range from its triple point to its critical point, 402 for a mixture that has none.
dp_status dp_dew_point_at_temperature(const struct dp_fluid *fluid,
                                      double temperature,
                                      double *pressure,
                                      struct dp_state **liquid,
                                      struct dp_state **vapour);

/// The dew point at a pressure in Pa: the temperature in K at which the fluid begins to condense, the first drop, and the fluid itself
/// as a vapour. Of several that of the highest temperature; `dp_boundaries_at_pressure` gives all.
///
/// The caller owns both states and frees them with `dp_state_free`.
/// Errors: 101 for a value that is not finite, 102 outside the range of the equation of state, 302 for a substance outside the
/// range from its triple point to its critical point, 402 for a mixture that has none.
dp_status dp_dew_point_at_pressure(const struct dp_fluid *fluid,
                                   double pressure,
                                   double *temperature,
                                   struct dp_state **liquid,
                                   struct dp_state **vapour);

/// Every border between one and two phases at a temperature in K, by rising pressure: bubble and dew points, the retrograde ones and
/// those between liquids too; none where there is one phase throughout.
///
/// The caller owns the result and frees it with `dp_boundaries_free`. Errors as `dp_bubble_point_at_temperature`, without 402.
dp_status dp_boundaries_at_temperature(const struct dp_fluid *fluid,
                                       double temperature,
                                       struct dp_boundaries **out);

/// Every border between one and two phases at a pressure in Pa, by rising temperature; see `dp_boundaries_at_temperature`.
///
/// The caller owns the result and frees it with `dp_boundaries_free`.
dp_status dp_boundaries_at_pressure(const struct dp_fluid *fluid,
                                    double pressure,
                                    struct dp_boundaries **out);

/// Number of the borders.
dp_status dp_boundaries_count(const struct dp_boundaries *boundaries, size_t *out);

/// The border at `index`, from 0, with the denser and the thinner phase as states.
///
/// The caller owns both states and frees them with `dp_state_free`. Error 104 for an index beyond the last.
dp_status dp_boundaries_at(const struct dp_boundaries *boundaries,
                           size_t index,
                           struct dp_boundary *out,
                           struct dp_state **liquid,
                           struct dp_state **vapour);

/// Frees borders; `NULL` is left alone.
void dp_boundaries_free(struct dp_boundaries *boundaries);

/// The phases of the fluid at `temperature` in K and `pressure` in Pa (absolute), by falling density; one where it does not part.
///
/// The caller owns the result and frees it with `dp_phases_free`. Errors as `dp_state_from_tp`.
dp_status dp_flash(const struct dp_fluid *fluid,
                   double temperature,
                   double pressure,
                   struct dp_phases **out);

/// Number of the phases.
dp_status dp_phases_count(const struct dp_phases *phases, size_t *out);

/// Share of the amount of the whole fluid that is in the phase at `index`, from 0. Error 104 for an index beyond the last.
dp_status dp_phases_fraction(const struct dp_phases *phases,
                             size_t index,
                             double *out);

/// Share of the mass of the whole fluid that is in the phase at `index`, from 0. Error 104 for an index beyond the last.
dp_status dp_phases_mass_fraction(const struct dp_phases *phases,
                                  size_t index,
                                  double *out);

/// The phase at `index`, from 0, as a state; its composition is told by `dp_state_amount_fraction`.
///
/// The caller owns the result and frees it with `dp_state_free`. Error 104 for an index beyond the last.
dp_status dp_phases_state(const struct dp_phases *phases, size_t index, struct dp_state **out);

/// Frees phases; `NULL` is left alone. States made of them stay valid.
void dp_phases_free(struct dp_phases *phases);

/// Every critical line of two substances told by their names, within the range of their mixtures; `model` is "best", "multi-fluid"
/// or "cubic".
///
/// The caller owns the result and frees it with `dp_critical_locus_free`. It may take a second. Of three points in a row of a line one is
/// tested for stability; those between two that agree have their answer.
/// Errors: 104 for another word for the model, 201 for an unknown name, 202 for a pair without parameters.
dp_status dp_critical_locus_new(const char *first,
                                const char *second,
                                const char *model,
                                struct dp_critical_locus **out);

/// How the lines hang together: "joined" where one line joins the critical points of both substances, "joined, with a line of two
/// liquids", "interrupted" where phases on a part within it are not stable, "interrupted, with a line of two liquids", "broken"
/// where no line joins both, and "not known" where a line of stable phases was lost, or left the temperatures of the mixture,
/// before it told. The text belongs to the lines and is valid as long as they are.
dp_status dp_critical_locus_kind(const struct dp_critical_locus *locus,
                                 const char **out);

/// 1 if one line of stable phases joins the critical points of both substances, 0 otherwise, and where that is not known.
dp_status dp_critical_locus_is_joined(const struct dp_critical_locus *locus,
                                      int32_t *out);

/// Number of the lines: first that from the first substance, then, if it does not end there, that from the second, then others.
dp_status dp_critical_locus_branch_count(const struct dp_critical_locus *locus,
                                         size_t *out);

/// Number of the points of the line `branch`, from 0. Error 104 for a number beyond the last.
dp_status dp_critical_locus_point_count(const struct dp_critical_locus *locus, size_t branch, size_t *out);

/// The point at `index`, from 0, of the line `branch`, from 0. Error 104 for a number beyond the last.
dp_status dp_critical_locus_point(const struct dp_critical_locus *locus,
                                  size_t branch,
                                  size_t index,
                                  struct dp_critical *out);

/// Frees critical lines; `NULL` is left alone.
void dp_critical_locus_free(struct dp_critical_locus *locus);

/// Mass flow rate in kg/s that leaks from a shut `volume` in m3 whose pressure changes at a `pressure_rate` in Pa/s.
///
/// Valid for a volume that keeps its temperature. Errors: 101 for a volume not above zero, 301 for a state of two phases.
dp_status dp_leak_mass_flow_rate(const struct dp_state *state,
                                 double volume,
                                 double pressure_rate,
                                 double *out);

/// Mass flow rate in kg/s that a `volume` in m3 takes up while its pressure changes at a `pressure_rate` in Pa/s. Errors as
/// `dp_leak_mass_flow_rate`.
dp_status dp_storage_mass_flow_rate(const struct dp_state *state,
                                    double volume,
                                    double pressure_rate,
                                    double *out);

/// Fastest rise of the pressure in Pa/s that a `mass_flow_rate` in kg/s of the pumps brings about in a `volume` in m3 while nothing
/// leaves it. Errors: 101 for values not above zero, 301 for a state of two phases.
dp_status dp_fastest_pressure_rise(const struct dp_state *state,
                                   double volume,
                                   double mass_flow_rate,
                                   double *out);

/// Volume flow rate in m3/s that the piston of a syringe pump displaces while a `volume` in m3 is left in its barrel, the pressure
/// changes at a `pressure_rate` in Pa/s and a `mass_flow_rate` in kg/s leaves: during a program not the flow of the column.
///
/// Errors: 101 for a volume not above zero or rates that are not finite, 301 for a state of two phases.
dp_status dp_displacement_rate(const struct dp_state *barrel,
                               double volume,
                               double pressure_rate,
                               double mass_flow_rate,
                               double *out);

/// Mass that a stroke of a piston pump delivers against a `delivery_pressure` in Pa, over the mass that its swept volume holds at the
/// state `suction`, with a `clearance_ratio` (volume never swept over volume swept) and an `isothermal_share` of the stroke, 1 for
/// isothermal and 0 for isentropic.
///
/// Errors: 504 if the feed is not liquid, 503 if the delivery pressure is not above it, 101 for a clearance above 1 or one that takes the
/// whole stroke, or another impossible value.
dp_status dp_volumetric_efficiency(const struct dp_state *suction,
                                   double delivery_pressure,
                                   double clearance_ratio,
                                   double isothermal_share,
                                   double *out);

/// Mass flow rate in kg/s of a piston that sweeps a `displacement_rate` in m3/s with a `clearance_ratio` (volume never swept over volume
/// swept), from the densities in kg/m3 at suction and where the outlet valve opens, as `dp_table_value` tells them in a loop:
/// `q_V rho_1 (1 - c (rho_2/rho_1 - 1))`.
///
/// It asks for no memory and calls no system. Errors: 101 for a clearance above 1 or one that takes the whole stroke, or another
/// impossible value.
dp_status dp_piston_mass_flow_rate(double displacement_rate,
                                   double clearance_ratio,
                                   double suction_density,
                                   double delivery_density,
                                   double *out);

/// Standard uncertainty in kg/m3 of the density of a state, from those of its temperature in K and its pressure in Pa, independent of
/// each other; that of the equation of state comes on top. Errors: 101 for a negative uncertainty, 301 for a state of two phases.
dp_status dp_density_error(const struct dp_state *state,
                           double temperature_error,
                           double pressure_error,
                           double *out);

/// Mass flow rate in kg/s of the gas of a fluid through a meter that shows a `volume_flow_rate` in m3/s at a `temperature` in K and a
/// `pressure` in Pa, with a `vapour_pressure` in Pa of water or modifier in it, 0 for none.
///
/// Errors: 101 for a flow not above zero or vapours that leave no gas, 102 outside the range of the model.
dp_status dp_mass_flow_from_gas_meter(const struct dp_fluid *fluid,
                                      double volume_flow_rate,
                                      double temperature,
                                      double pressure,
                                      double vapour_pressure,
                                      double *out);

/// What a rhythm of the pressure of a `frequency` in Hz points to in a pump of several `heads` that each make strokes at a
/// `stroke_frequency` in Hz: 1 for one head (its valve or seal), 2 for every head (the compression), 0 for not the pump. Frequencies within
/// a relative `tolerance` count as the same.
///
/// Common practice, no source. Errors: 101 for a frequency not above zero or a tolerance not between 0 and 1.
dp_status dp_ripple_suspect(double frequency,
                            double stroke_frequency,
                            uint32_t heads,
                            double tolerance,
                            int32_t *out);

/// Density rho, in kg/m3, at `temperature` in K and `pressure` in Pa (absolute). Errors as `dp_property`.
dp_status dp_density(const struct dp_fluid *fluid, double temperature, double pressure, double *out);

/// Density rho, in kg/m3, at `n` pairs of `temperature` in K and `pressure` in Pa (absolute).
/// Arrays and errors as `dp_property_array`.
dp_status dp_density_array(const struct dp_fluid *fluid,
                           const double *temperature,
                           const double *pressure,
                           size_t n,
                           double *out,
                           int32_t *status);

/// Compression factor Z, dimensionless, at `temperature` in K and `pressure` in Pa (absolute). Errors as `dp_property`.
dp_status dp_compression_factor(const struct dp_fluid *fluid,
                                double temperature,
                                double pressure,
                                double *out);

/// Compression factor Z, dimensionless, at `n` pairs of `temperature` in K and `pressure` in Pa (absolute).
/// Arrays and errors as `dp_property_array`.
dp_status dp_compression_factor_array(const struct dp_fluid *fluid,
                                      const double *temperature,
                                      const double *pressure,
                                      size_t n,
                                      double *out,
                                      int32_t *status);

/// Specific enthalpy h, in J/kg, at `temperature` in K and `pressure` in Pa (absolute). Errors as `dp_property`.
dp_status dp_specific_enthalpy(const struct dp_fluid *fluid,
                               double temperature,
                               double pressure,
                               double *out);

/// Specific enthalpy h, in J/kg, at `n` pairs of `temperature` in K and `pressure` in Pa (absolute).
/// Arrays and errors as `dp_property_array`.
dp_status dp_specific_enthalpy_array(const struct dp_fluid *fluid,
                                     const double *temperature,
                                     const double *pressure,
                                     size_t n,
                                     double *out,
                                     int32_t *status);

/// Specific entropy s, in J/(kg K), at `temperature` in K and `pressure` in Pa (absolute). Errors as `dp_property`.
dp_status dp_specific_entropy(const struct dp_fluid *fluid,
                              double temperature,
                              double pressure,
                              double *out);

/// Specific entropy s, in J/(kg K), at `n` pairs of `temperature` in K and `pressure` in Pa (absolute).
/// Arrays and errors as `dp_property_array`.
dp_status dp_specific_entropy_array(const struct dp_fluid *fluid,
                                    const double *temperature,
                                    const double *pressure,
                                    size_t n,
                                    double *out,
                                    int32_t *status);

/// Specific internal energy u, in J/kg, at `temperature` in K and `pressure` in Pa (absolute). Errors as `dp_property`.
dp_status dp_specific_internal_energy(const struct dp_fluid *fluid,
                                      double temperature,
                                      double pressure,
                                      double *out);

/// Specific internal energy u, in J/kg, at `n` pairs of `temperature` in K and `pressure` in Pa (absolute).
/// Arrays and errors as `dp_property_array`.
dp_status dp_specific_internal_energy_array(const struct dp_fluid *fluid,
                                            const double *temperature,
                                            const double *pressure,
                                            size_t n,
                                            double *out,
                                            int32_t *status);

/// Specific Gibbs energy g, in J/kg, at `temperature` in K and `pressure` in Pa (absolute). Errors as `dp_property`.
dp_status dp_specific_gibbs_energy(const struct dp_fluid *fluid,
                                   double temperature,
                                   double pressure,
                                   double *out);

/// Specific Gibbs energy g, in J/kg, at `n` pairs of `temperature` in K and `pressure` in Pa (absolute).
/// Arrays and errors as `dp_property_array`.
dp_status dp_specific_gibbs_energy_array(const struct dp_fluid *fluid,
                                         const double *temperature,
                                         const double *pressure,
                                         size_t n,
                                         double *out,
                                         int32_t *status);

/// Specific Helmholtz energy a, in J/kg, at `temperature` in K and `pressure` in Pa (absolute). Errors as `dp_property`.
dp_status dp_specific_helmholtz_energy(const struct dp_fluid *fluid,
                                       double temperature,
                                       double pressure,
                                       double *out);

/// Specific Helmholtz energy a, in J/kg, at `n` pairs of `temperature` in K and `pressure` in Pa (absolute).
/// Arrays and errors as `dp_property_array`.
dp_status dp_specific_helmholtz_energy_array(const struct dp_fluid *fluid,
                                             const double *temperature,
                                             const double *pressure,
                                             size_t n,
                                             double *out,
                                             int32_t *status);

/// Specific isobaric heat capacity c_p, in J/(kg K), at `temperature` in K and `pressure` in Pa (absolute). Errors as `dp_property`.
dp_status dp_specific_isobaric_heat_capacity(const struct dp_fluid *fluid,
                                             double temperature,
                                             double pressure,
                                             double *out);

/// Specific isobaric heat capacity c_p, in J/(kg K), at `n` pairs of `temperature` in K and `pressure` in Pa (absolute).
/// Arrays and errors as `dp_property_array`.
dp_status dp_specific_isobaric_heat_capacity_array(const struct dp_fluid *fluid,
                                                   const double *temperature,
                                                   const double *pressure,
                                                   size_t n,
                                                   double *out,
                                                   int32_t *status);

/// Specific isochoric heat capacity c_v, in J/(kg K), at `temperature` in K and `pressure` in Pa (absolute). Errors as `dp_property`.
dp_status dp_specific_isochoric_heat_capacity(const struct dp_fluid *fluid,
                                              double temperature,
                                              double pressure,
                                              double *out);

/// Specific isochoric heat capacity c_v, in J/(kg K), at `n` pairs of `temperature` in K and `pressure` in Pa (absolute).
/// Arrays and errors as `dp_property_array`.
dp_status dp_specific_isochoric_heat_capacity_array(const struct dp_fluid *fluid,
                                                    const double *temperature,
                                                    const double *pressure,
                                                    size_t n,
                                                    double *out,
                                                    int32_t *status);

/// Speed of sound c, in m/s, at `temperature` in K and `pressure` in Pa (absolute). Errors as `dp_property`.
dp_status dp_speed_of_sound(const struct dp_fluid *fluid, double temperature, double pressure, double *out);

/// Speed of sound c, in m/s, at `n` pairs of `temperature` in K and `pressure` in Pa (absolute).
/// Arrays and errors as `dp_property_array`.
dp_status dp_speed_of_sound_array(const struct dp_fluid *fluid,
                                  const double *temperature,
                                  const double *pressure,
                                  size_t n,
                                  double *out,
                                  int32_t *status);

/// Joule-Thomson coefficient mu_JT, in K/Pa, at `temperature` in K and `pressure` in Pa (absolute). Errors as `dp_property`.
dp_status dp_joule_thomson_coefficient(const struct dp_fluid *fluid,
                                       double temperature,
                                       double pressure,
                                       double *out);

/// Joule-Thomson coefficient mu_JT, in K/Pa, at `n` pairs of `temperature` in K and `pressure` in Pa (absolute).
/// Arrays and errors as `dp_property_array`.
dp_status dp_joule_thomson_coefficient_array(const struct dp_fluid *fluid,
                                             const double *temperature,
                                             const double *pressure,
                                             size_t n,
                                             double *out,
                                             int32_t *status);

/// Isothermal compressibility kappa_T, in 1/Pa, at `temperature` in K and `pressure` in Pa (absolute). Errors as `dp_property`.
dp_status dp_isothermal_compressibility(const struct dp_fluid *fluid,
                                        double temperature,
                                        double pressure,
                                        double *out);

/// Isothermal compressibility kappa_T, in 1/Pa, at `n` pairs of `temperature` in K and `pressure` in Pa (absolute).
/// Arrays and errors as `dp_property_array`.
dp_status dp_isothermal_compressibility_array(const struct dp_fluid *fluid,
                                              const double *temperature,
                                              const double *pressure,
                                              size_t n,
                                              double *out,
                                              int32_t *status);

/// Isobaric expansivity alpha_V, in 1/K, at `temperature` in K and `pressure` in Pa (absolute). Errors as `dp_property`.
dp_status dp_isobaric_expansivity(const struct dp_fluid *fluid,
                                  double temperature,
                                  double pressure,
                                  double *out);

/// Isobaric expansivity alpha_V, in 1/K, at `n` pairs of `temperature` in K and `pressure` in Pa (absolute).
/// Arrays and errors as `dp_property_array`.
dp_status dp_isobaric_expansivity_array(const struct dp_fluid *fluid,
                                        const double *temperature,
                                        const double *pressure,
                                        size_t n,
                                        double *out,
                                        int32_t *status);

/// Dynamic viscosity eta, in Pa s, at `temperature` in K and `pressure` in Pa (absolute). Errors as `dp_property`.
dp_status dp_dynamic_viscosity(const struct dp_fluid *fluid,
                               double temperature,
                               double pressure,
                               double *out);

/// Dynamic viscosity eta, in Pa s, at `n` pairs of `temperature` in K and `pressure` in Pa (absolute).
/// Arrays and errors as `dp_property_array`.
dp_status dp_dynamic_viscosity_array(const struct dp_fluid *fluid,
                                     const double *temperature,
                                     const double *pressure,
                                     size_t n,
                                     double *out,
                                     int32_t *status);

/// Kinematic viscosity nu, in m2/s, at `temperature` in K and `pressure` in Pa (absolute). Errors as `dp_property`.
dp_status dp_kinematic_viscosity(const struct dp_fluid *fluid,
                                 double temperature,
                                 double pressure,
                                 double *out);

/// Kinematic viscosity nu, in m2/s, at `n` pairs of `temperature` in K and `pressure` in Pa (absolute).
/// Arrays and errors as `dp_property_array`.
dp_status dp_kinematic_viscosity_array(const struct dp_fluid *fluid,
                                       const double *temperature,
                                       const double *pressure,
                                       size_t n,
                                       double *out,
                                       int32_t *status);

/// Thermal conductivity lambda, in W/(m K), at `temperature` in K and `pressure` in Pa (absolute). Errors as `dp_property`.
dp_status dp_thermal_conductivity(const struct dp_fluid *fluid,
                                  double temperature,
                                  double pressure,
                                  double *out);

/// Thermal conductivity lambda, in W/(m K), at `n` pairs of `temperature` in K and `pressure` in Pa (absolute).
/// Arrays and errors as `dp_property_array`.
dp_status dp_thermal_conductivity_array(const struct dp_fluid *fluid,
                                        const double *temperature,
                                        const double *pressure,
                                        size_t n,
                                        double *out,
                                        int32_t *status);

/// Relative permittivity epsilon_r, dimensionless, at `temperature` in K and `pressure` in Pa (absolute). Errors as `dp_property`.
dp_status dp_relative_permittivity(const struct dp_fluid *fluid,
                                   double temperature,
                                   double pressure,
                                   double *out);

/// Relative permittivity epsilon_r, dimensionless, at `n` pairs of `temperature` in K and `pressure` in Pa (absolute).
/// Arrays and errors as `dp_property_array`.
dp_status dp_relative_permittivity_array(const struct dp_fluid *fluid,
                                         const double *temperature,
                                         const double *pressure,
                                         size_t n,
                                         double *out,
                                         int32_t *status);

/// Refractive index n, dimensionless, at `temperature` in K and `pressure` in Pa (absolute). Errors as `dp_property`.
dp_status dp_refractive_index(const struct dp_fluid *fluid,
                              double temperature,
                              double pressure,
                              double *out);

/// Refractive index n, dimensionless, at `n` pairs of `temperature` in K and `pressure` in Pa (absolute).
/// Arrays and errors as `dp_property_array`.
dp_status dp_refractive_index_array(const struct dp_fluid *fluid,
                                    const double *temperature,
                                    const double *pressure,
                                    size_t n,
                                    double *out,
                                    int32_t *status);

/// The table of `n` properties, numbers of `dp_quantity`, of a fluid between two temperatures in K and two pressures in Pa, with a
/// largest relative error `tolerance` from 1e-10 to 0.1.
///
/// The caller owns the result and frees it with `dp_table_free`. It takes from milliseconds to a minute, and memory. Errors: 101 for
/// limits that are not positive or in rising order; 104 for no property, more than 32, one named twice or one that is no property of a
/// state; those of `dp_property` where a state has none; 301 where a state has several phases; 407 where a border of the phases, a
/// critical point or the size of a table stands in the way.
dp_status dp_table_new(const struct dp_fluid *fluid,
                       const int32_t *properties,
                       size_t n,
                       double temperature_min,
                       double temperature_max,
                       double pressure_min,
                       double pressure_max,
                       double tolerance,
                       struct dp_table **out);

/// Frees a table; `NULL` is left alone.
void dp_table_free(struct dp_table *table);

/// The property with an `index`, from 0, of a table at `temperature` in K and `pressure` in Pa, in its SI unit.
///
/// For loops that control an instrument: the worst case is 14 steps down a tree and one polynomial of 48 coefficients, fewer than 1000
/// instructions on x86-64, which a test counts. It does not iterate, wait, ask for memory or call the system, and gives the same bits on every processor; neither does error 105, outside of the
/// table, unless another error came before on this thread. Error 104 for an index beyond the last.
dp_status dp_table_value(const struct dp_table *table,
                         size_t index,
                         double temperature,
                         double pressure,
                         double *out);

/// Name of the fluid of a table; the text belongs to the table and is valid as long as it.
dp_status dp_table_fluid(const struct dp_table *table, const char **out);

/// Name of the equation of state that a table stands for; the text belongs to the table and is valid as long as it.
dp_status dp_table_model(const struct dp_table *table,
                         const char **out);

/// Number of the properties of a table.
dp_status dp_table_property_count(const struct dp_table *table, size_t *out);

/// Number of `dp_quantity` of the property with an `index`, from 0, of a table. Error 104 for an index beyond the last.
dp_status dp_table_property(const struct dp_table *table,
                            size_t index,
                            int32_t *out);

/// Largest relative error of the property with an `index`, from 0, of a table against its equation: twice the largest found at 25 places
/// of each of its rectangles; of a property that can be zero relative to the span of its values where that is larger. Error 104 for an
/// index beyond the last.
dp_status dp_table_largest_error(const struct dp_table *table,
                                 size_t index,
                                 double *out);

/// Limits of a table: temperatures in K, pressures in Pa.
dp_status dp_table_range(const struct dp_table *table,
                         double *temperature_min,
                         double *temperature_max,
                         double *pressure_min,
                         double *pressure_max);

/// Writes a table as bytes, for `dp_table_read` on this or another machine.
///
/// `needed` receives the number of bytes. They are written to `buffer` if its `capacity` is as large; otherwise nothing is written to
/// it. `buffer` may be `NULL` if `capacity` is 0.
dp_status dp_table_write(const struct dp_table *table,
                         uint8_t *buffer,
                         size_t capacity,
                         size_t *needed);

/// The table that `dp_table_write` wrote as `n` bytes.
///
/// The caller owns the result and frees it with `dp_table_free`. Every number is checked: bytes that were damaged or made up lead to error
/// 611, or to a table that answers at a fixed cost, never to anything else.
dp_status dp_table_read(const uint8_t *bytes,
                        size_t n,
                        struct dp_table **out);

/// Mass flow rate in kg/s through a capillary of one bore `diameter` and a `length` in m at a `temperature` in K, between two
/// pressures in Pa (absolute).
///
/// Valid for one phase, real gas with friction, kinetic energy and choking at one temperature; uncertainty 2 % below Re = 2300 and 5
/// to 10 % above, in practice that of the bore. Errors: 101 and 102 for an impossible restrictor or state, 501 and 502 if the fluid
/// chokes or boils on the way, 503 if the pressures drive no flow.
dp_status dp_linear_restrictor_flow(const struct dp_fluid *fluid,
                                    double diameter,
                                    double length,
                                    double temperature,
                                    double inlet_pressure,
                                    double outlet_pressure,
                                    double *out);

/// Length in m with which a capillary of a bore `diameter` in m passes a `mass_flow_rate` in kg/s; otherwise as
/// `dp_linear_restrictor_flow`. Error 402 if the bore cannot pass it.
dp_status dp_linear_restrictor_length(const struct dp_fluid *fluid,
                                      double diameter,
                                      double mass_flow_rate,
                                      double temperature,
                                      double inlet_pressure,
                                      double outlet_pressure,
                                      double *out);

/// Bore in m with which a capillary of a `length` in m passes a `mass_flow_rate` in kg/s; otherwise as `dp_linear_restrictor_flow`.
dp_status dp_linear_restrictor_diameter(const struct dp_fluid *fluid,
                                        double length,
                                        double mass_flow_rate,
                                        double temperature,
                                        double inlet_pressure,
                                        double outlet_pressure,
                                        double *out);

/// Mass flow rate in kg/s through a cone of bores `inlet_diameter` and `outlet_diameter` and a `length` in m; otherwise as
/// `dp_linear_restrictor_flow`. Error 102 for a cone steeper than 0.2 of bore per length.
dp_status dp_tapered_restrictor_flow(const struct dp_fluid *fluid,
                                     double inlet_diameter,
                                     double outlet_diameter,
                                     double length,
                                     double temperature,
                                     double inlet_pressure,
                                     double outlet_pressure,
                                     double *out);

/// Mass flow rate in kg/s through a short hole of a `diameter` in m with a `discharge_coefficient`, from a fluid at rest at a
/// `temperature` in K, between two pressures in Pa (absolute): isentropic expansion in equilibrium of the phases.
///
/// Uncertainty 10 % with a measured coefficient, 30 % where the fluid boils. Errors as `dp_linear_restrictor_flow`.
dp_status dp_orifice_restrictor_flow(const struct dp_fluid *fluid,
                                     double diameter,
                                     double discharge_coefficient,
                                     double temperature,
                                     double inlet_pressure,
                                     double outlet_pressure,
                                     double *out);

/// Mass flow rate in kg/s through a plug of frit of a `diameter` and a `length` in m, a `permeability` in m2 and pores of
/// `pore_diameter` in m (0 leaves the slip at their walls out), at a `temperature` in K, between two pressures in Pa (absolute).
///
/// Valid for slow flow; error 102 above a Reynolds number of 1 in the pores. Errors otherwise as `dp_linear_restrictor_flow`.
dp_status dp_frit_restrictor_flow(const struct dp_fluid *fluid,
                                  double diameter,
                                  double length,
                                  double permeability,
                                  double pore_diameter,
                                  double temperature,
                                  double inlet_pressure,
                                  double outlet_pressure,
                                  double *out);

/// Flow coefficient `K_v` in m3/h of a valve that passes a `mass_flow_rate` in kg/s from the state `inlet` to an `outlet_pressure`
/// in Pa (absolute), after IEC 60534-2-1 with the factors 0.9 and 0.7 of a globe valve.
///
/// A supercritical fluid counts as a liquid that chokes where its expansion in equilibrium does: an estimate. Errors: 101 for a flow
/// not above zero, 503 if the pressures drive no flow.
dp_status dp_valve_flow_coefficient(const struct dp_state *inlet,
                                    double mass_flow_rate,
                                    double outlet_pressure,
                                    double *out);

/// Number of stations: the supply, the pump, and the outlet of each part, in the order of the flow; those of branches come behind those
/// of the main line.
dp_status dp_station_count(const struct dp_solution *solution,
                           size_t *out);

/// Index, from 0, of the station at the outlet of the part called `name`. Error 104 if there is no part of that name.
dp_status dp_station_find(const struct dp_solution *solution,
                          const char *name,
                          size_t *out);

/// Name of the station at `index`, from 0: that of its part. The text belongs to the solution and is valid as long as it.
/// Error 104 for an index beyond the last.
dp_status dp_station_name(const struct dp_solution *solution,
                          size_t index,
                          const char **out);

/// Sort of part of the station at `index`, from 0, such as "tube". The text belongs to the solution and is valid as long as it.
/// Error 104 for an index beyond the last.
dp_status dp_station_kind(const struct dp_solution *solution,
                          size_t index,
                          const char **out);

/// Name of the part at whose outlet the branch begins that the station at `index`, from 0, lies on; empty on the main line. The text
/// belongs to the solution and is valid as long as it. Error 104 for an index beyond the last.
dp_status dp_station_branch_of(const struct dp_solution *solution,
                               size_t index,
                               const char **out);

/// The quantity with the number `property` of `dp_quantity` at the station with `index`, from 0, in its SI unit: every property of
/// a state, mass_flow_rate, volume_flow_rate, velocity, reynolds_number, vapour_fraction, solid_fraction, single_phase_margin,
/// which is infinite where no second phase is known at any pressure.
///
/// Errors: 104 for an index beyond the last or a number that is not in `dp_quantity`, 202 for a quantity that is not defined
/// there, 301 for a property of one phase where there are two.
dp_status dp_station_get(const struct dp_solution *solution,
                         size_t index,
                         int32_t property,
                         double *out);

/// Phase, one of `dp_phase`, at the station with `index`, from 0. Error 104 for an index beyond the last.
dp_status dp_station_phase(const struct dp_solution *solution, size_t index, int32_t *out);

/// State at the station with `index`, from 0.
///
/// The caller owns the result and frees it with `dp_state_free`; it outlives the solution.
/// Error 104 for an index beyond the last.
dp_status dp_station_state(const struct dp_solution *solution, size_t index, struct dp_state **out);

/// Share of the injected amount of every solute that goes on at the station with `index`, from 0; NaN before the injector. Where a branch
/// begins it is that of the stream behind the tee. Error 104 for an index beyond the last.
dp_status dp_station_injected_share(const struct dp_solution *solution,
                                    size_t index,
                                    double *out);

/// Number of the parts that add to the band of the solute.
/// Error 202 if the method has no injection, no column or no solute.
dp_status dp_band_count(const struct dp_solution *solution, size_t *out);

/// What the part at `index`, from 0, does to the band of the solute.
/// Error 202 if the method has no injection, no column or no solute, 104 for an index beyond the last.
dp_status dp_band_at(const struct dp_solution *solution, size_t index, struct dp_band *out);

/// Number of columns.
dp_status dp_column_count(const struct dp_solution *solution, size_t *out);

/// The column at `index`, from 0. Error 104 for an index beyond the last.
dp_status dp_column_at(const struct dp_solution *solution, size_t index, struct dp_column *out);

/// The point at `point`, from 0 at the inlet, of the profile of the column at `column`, from 0.
/// Error 104 for a number beyond the last.
dp_status dp_column_point(const struct dp_solution *solution,
                          size_t column,
                          size_t point,
                          struct dp_profile_point *out);

/// Number of parts that are heated or cooled.
dp_status dp_duty_count(const struct dp_solution *solution, size_t *out);

/// Heat that the part at `index` of the list, from 0, takes up or gives off. Error 104 for an index beyond the last.
dp_status dp_duty_at(const struct dp_solution *solution,
                     size_t index,
                     struct dp_duty *out);

/// Number of results that only single parts have to tell.
dp_status dp_fact_count(const struct dp_solution *solution, size_t *out);

/// The result at `index`, from 0, of those that only single parts have to tell. Error 104 for an index beyond the last.
dp_status dp_fact_at(const struct dp_solution *solution,
                     size_t index,
                     struct dp_fact *out);

/// Number of notices.
dp_status dp_notice_count(const struct dp_solution *solution, size_t *out);

/// The notice at `index`, from 0, cautions first. Error 104 for an index beyond the last.
dp_status dp_notice_at(const struct dp_solution *solution, size_t index, struct dp_notice *out);

/// The result called `name` of the part called `part`, in the SI unit of its quantity.
/// Error 104 if there is no such part or result.
dp_status dp_fact_find(const struct dp_solution *solution, const char *part, const char *name, double *out);

/// Solves the method document in `text`, TOML in UTF-8: everything that follows from it in steady flow.
///
/// The caller owns the result and frees it with `dp_solution_free`. It may take seconds.
/// Errors: 601 to 606 for a document that cannot be read (the message tells line, key and what to write), 590 for an error in
/// one part, 402 if no setting within the limits of the pump closes the balance.
dp_status dp_solve_toml(const char *text,
                        struct dp_solution **out);

/// Solves the method document in `text`, TOML in UTF-8, within `time_limit` in s; see `dp_solve_toml`.
///
/// The caller owns the result and frees it with `dp_solution_free`. The time is looked at before each march along the path: the call
/// ends within one march after it, a fraction of a second. Error 406 if the time is over, 101 for one that is negative or no number.
dp_status dp_solve_toml_within(const char *text,
                               double time_limit,
                               struct dp_solution **out);

/// Solves the method document in `text`, JSON in UTF-8 with the same keys and values as in TOML; see `dp_solve_toml`.
///
/// The caller owns the result and frees it with `dp_solution_free`.
dp_status dp_solve_json(const char *text,
                        struct dp_solution **out);

/// Solves the method document in the file at `path`, TOML, its name in UTF-8; see `dp_solve_toml`.
///
/// The caller owns the result and frees it with `dp_solution_free`. Error 610 if the file cannot be read.
dp_status dp_solve_file(const char *path, struct dp_solution **out);

/// Frees a solution with all texts that it gave out; `NULL` is left alone.
void dp_solution_free(struct dp_solution *solution);

/// Title of the method. The text belongs to the solution and is valid as long as it.
dp_status dp_solution_title(const struct dp_solution *solution, const char **out);

/// The whole solution as text for people, in the units of the laboratory, at most 100 columns wide unless a title
/// or a single word takes more.
/// The text belongs to the solution and is valid as long as it.
dp_status dp_solution_report(const struct dp_solution *solution,
                             const char **out);

/// The whole solution as JSON for programs, in SI units. The text belongs to the solution and is valid as long as it.
dp_status dp_solution_json(const struct dp_solution *solution,
                           const char **out);

/// Pressure p in Pa (absolute) at which the pump delivers.
dp_status dp_solution_delivery_pressure(const struct dp_solution *solution, double *out);

/// Mass flow rate q_m in kg/s, the same along the whole path.
dp_status dp_solution_mass_flow_rate(const struct dp_solution *solution, double *out);

/// What the method uses up.
dp_status dp_solution_consumption(const struct dp_solution *solution, struct dp_consumption *out);

/// What all parts together do to the band of the solute.
/// Error 202 if the method has no injection, no column or no solute.
dp_status dp_solution_bands(const struct dp_solution *solution, struct dp_band_budget *out);

/// Writes what the detector records of an injection at time zero, without noise, with the area 1 for the peak of each solute: `n` samples
/// in 1/s from `start` in s on, `data_rate` of them in a second; programmed if the document has programs.
/// Error 101 for a rate not above zero, 102 where a law of a solute leaves its range on the way.
dp_status dp_solution_chromatogram(const struct dp_solution *solution,
                                   double start,
                                   double data_rate,
                                   size_t n,
                                   double *out);

/// Name of the solute whose band is followed. The text belongs to the solution and is valid as long as it.
/// Error 202 if the method has no injection, no column or no solute.
dp_status dp_solution_solute(const struct dp_solution *solution, const char **out);

/// The state at `temperature` in K and `pressure` in Pa (absolute); exactly at saturation the liquid.
///
/// The caller owns the result and frees it with `dp_state_free`.
/// Errors: 101 for a value that is not finite or not above zero, 102 outside the range of the equation of state,
/// 303 where the stable phase is solid.
dp_status dp_state_from_tp(const struct dp_fluid *fluid,
                           double temperature,
                           double pressure,
                           struct dp_state **out);

/// The state at `temperature` in K and `density` in kg/m3; two phases inside the dome.
///
/// The caller owns the result and frees it with `dp_state_free`.
/// Errors: 101 for a value that is not finite or not above zero, 102 outside the range of the equation of state.
dp_status dp_state_from_t_rho(const struct dp_fluid *fluid,
                              double temperature,
                              double density,
                              struct dp_state **out);

/// The state on the pseudo-critical line at `temperature` in K, above the critical one, by the `definition` named: of the largest
/// `heat_capacity` at constant pressure, the largest `density_gradient` by pressure, or the largest isobaric `expansivity` on the
/// isotherm.
///
/// The caller owns the result and frees it with `dp_state_free`.
/// Errors: 102 below the critical temperature, 104 for another definition, 402 where the property has no largest value.
dp_status dp_pseudo_critical(const struct dp_fluid *fluid,
                             double temperature,
                             const char *definition,
                             struct dp_state **out);

/// The state at `pressure` in Pa (absolute) and `specific_enthalpy` in J/kg; two phases inside the dome.
///
/// The caller owns the result and frees it with `dp_state_free`.
/// Errors: 101 for a value that is not finite, 102 outside the range of the equation of state.
dp_status dp_state_from_ph(const struct dp_fluid *fluid,
                           double pressure,
                           double specific_enthalpy,
                           struct dp_state **out);

/// The state at `pressure` in Pa (absolute) and `specific_entropy` in J/(kg K); two phases inside the dome.
///
/// The caller owns the result and frees it with `dp_state_free`.
/// Errors: 101 for a value that is not finite, 102 outside the range of the equation of state.
dp_status dp_state_from_ps(const struct dp_fluid *fluid,
                           double pressure,
                           double specific_entropy,
                           struct dp_state **out);

/// Frees a state; `NULL` is left alone.
void dp_state_free(struct dp_state *state);

/// The quantity with the number `property` of `dp_quantity`, in its SI unit: temperature, pressure, or any property of the list
/// of `dp_property_at`.
///
/// Errors: 104 for a number that is not in `dp_quantity`, 202 for a quantity that is no property of a state, 301 for a property of
/// one phase of a state of two, 102 outside the range of the model.
dp_status dp_state_get(const struct dp_state *state,
                       int32_t property,
                       double *out);

/// Relative standard uncertainty that the source of its model states for the property with the number `property` of
/// `dp_quantity` at the state; for the refractive index relative to n - 1.
///
/// Errors as `dp_state_get`; besides 102 beyond the range for which it is stated, 202 for a property without a stated uncertainty
/// and near the critical point.
dp_status dp_state_uncertainty(const struct dp_state *state,
                               int32_t property,
                               double *out);

/// Pressure in Pa by which the state lies above the pressure where a second phase appears at its temperature; see
/// `dp_single_phase_margin`.
dp_status dp_state_single_phase_margin(const struct dp_state *state,
                                       double *out);

/// Speed of sound in m/s of slow waves, in which the phases of the state stay in equilibrium; that of one phase alone.
///
/// Error 301 at a triple point, where the pressure stays while the volume changes.
dp_status dp_state_equilibrium_speed_of_sound(const struct dp_state *state,
                                              double *out);

/// Phase of the state, one of `dp_phase`.
dp_status dp_state_phase(const struct dp_state *state, int32_t *out);

/// Mass fraction of vapour: 1 for a vapour, 0 for a liquid or a solid, between for two phases.
///
/// Error 202 for a supercritical state, which is neither.
dp_status dp_state_vapour_fraction(const struct dp_state *state, double *out);

/// Mass fraction of solid.
dp_status dp_state_solid_fraction(const struct dp_state *state, double *out);

/// The fluid of the state, which for a phase of a mixture has the composition of the phase.
///
/// The caller owns the result and frees it with `dp_fluid_free`.
dp_status dp_state_fluid(const struct dp_state *state, struct dp_fluid **out);

/// Amount fraction x of the substance at `index`, from 0, in the state. Error 104 for an index beyond the last.
dp_status dp_state_amount_fraction(const struct dp_state *state,
                                   size_t index,
                                   double *out);

/// Number of the doubts that belong to the state itself.
dp_status dp_state_notice_count(const struct dp_state *state, size_t *out);

/// What the doubt at `index`, from 0, is about, one of `dp_notice_code`. Error 104 for an index beyond the last.
dp_status dp_state_notice_code(const struct dp_state *state,
                               size_t index,
                               int32_t *out);

/// The words of the doubt at `index`, from 0, in `buffer` of `capacity` bytes; see `dp_last_error_message`.
/// Error 104 for an index beyond the last, and if `buffer` is `NULL` and `capacity` is not 0.
dp_status dp_state_notice_text(const struct dp_state *state,
                               size_t index,
                               char *buffer,
                               size_t capacity,
                               size_t *needed);

/// The liquid of a state of several phases, the densest if there are more.
///
/// The caller owns the result and frees it with `dp_state_free`. Error 104 if the state is of another kind.
dp_status dp_state_liquid(const struct dp_state *state, struct dp_state **out);

/// The vapour of a state of several phases.
///
/// The caller owns the result and frees it with `dp_state_free`. Error 104 if the state is of another kind.
dp_status dp_state_vapour(const struct dp_state *state, struct dp_state **out);

/// The state after throttling to `pressure` in Pa (absolute): the same enthalpy, solid included.
///
/// Valid for a valve or an orifice without heat exchange, once the velocity has died out.
/// The caller owns the result and frees it with `dp_state_free`. Errors as `dp_state_from_ph`.
dp_status dp_state_expand_to(const struct dp_state *state, double pressure, struct dp_state **out);

/// A result of a solution by its name, in SI units: of a part ("column") any quantity of the fluid at its outlet ("density") and
/// the words of its facts, of a solute "retention_time" and the like, of "method" "delivery_pressure" and the like.
/// Error 602 for a name that the solution does not tell; the message lists those that it does.
dp_status dp_solution_output(const struct dp_solution *solution,
                             const char *of,
                             const char *name,
                             double *out);

/// The value in SI units that the document of a solution states for a key of a part, of a solute, of "room" or of "document" (the keys
/// before the first heading).
/// Error 602 for a key that is not there, 603 for one that the document does not state.
dp_status dp_solution_input(const struct dp_solution *solution,
                            const char *of,
                            const char *key,
                            double *out);

/// Solves the method of a solution with another value in SI units for one key, see `dp_solution_input`; a pressure is absolute.
///
/// The caller owns the result and frees it with `dp_solution_free`. Errors as `dp_solve_toml`, and 602 for a key that is not there.
dp_status dp_solution_with(const struct dp_solution *solution,
                           const char *of,
                           const char *key,
                           double in_si,
                           struct dp_solution **out);

/// All values of one key between `low` and `high` for which a result comes to `target`, all in SI units, by rising value.
///
/// `of` and `key` name the input as in `dp_solution_input`, `output_of` and `output_name` the result as in `dp_solution_output`.
/// `samples` values are solved first, 2 at least, to see where the result passes the target. At most `capacity` answers are written to
/// `answers`, which may be `NULL` if it is 0; `count` receives how many there are. It may take seconds, all of them on the calling thread.
/// Errors: 101 for bounds that do not rise or too few samples, 602 for an unknown name, 405 if no value leads to the target:
/// `dp_last_error` tells the range that the result has between the bounds.
dp_status dp_solution_find_input(const struct dp_solution *solution,
                                 const char *of,
                                 const char *key,
                                 const char *output_of,
                                 const char *output_name,
                                 double target,
                                 double low,
                                 double high,
                                 size_t samples,
                                 double *answers,
                                 size_t capacity,
                                 size_t *count);

/// Everything that is wrong with the method document in `text`, TOML in UTF-8, one problem a line in the order of the text:
/// `line:column: what is wrong`, with 0 for a place that is not known; empty for a document that can be read.
///
/// At most `capacity` bytes are written to `buffer`, the closing NUL included; `buffer` may be `NULL` if `capacity` is 0. `needed`,
/// unless it is `NULL`, receives the bytes of the whole text. `count` receives the number of problems.
dp_status dp_check_toml(const char *text,
                        char *buffer,
                        size_t capacity,
                        size_t *needed,
                        size_t *count);

/// Version of the binary interface of the library that the program runs with; compare it with `DP_ABI_VERSION`.
uint32_t dp_abi_version(void);

/// Version of the library that the program runs with, such as "1.2.3"; it stays valid, do not free it.
const char *dp_version(void);

#ifdef __cplusplus
}  // extern "C"
#endif  // __cplusplus

#endif  /* DENSEPATH_H */
