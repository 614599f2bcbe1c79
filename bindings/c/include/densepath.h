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
 * Every other function that returns a status sets them, or clears them if it succeeds.
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
#define DP_ABI_VERSION 1

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
    /// The flow reaches the speed of sound before the end of the part.
    DP_ERROR_CHOKED = 501,
    /// The fluid splits, freezes or leaves its model inside a part that needs one dense phase.
    DP_ERROR_PHASE_CHANGE = 502,
    /// The pressures given would drive the flow backwards.
    DP_ERROR_FLOW_REVERSED = 503,
    /// The feed of a pump is not liquid.
    DP_ERROR_FEED_NOT_LIQUID = 504,
    /// An error inside one part of a path.
    DP_ERROR_IN_ELEMENT = 590,
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
    /// A fault of the library itself.
    DP_ERROR_INTERNAL = 901,
} dp_error;

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
} dp_quantity;

/// A substance with its models.
///
/// Made by `dp_fluid_new`, freed by `dp_fluid_free`. It never changes, so that threads may share it.
typedef struct dp_fluid dp_fluid;

/// The state of a fluid at one point.
///
/// Made by the functions `dp_state_from_*` and others that say so, freed by `dp_state_free`. It does not need its `dp_fluid`
/// any more and never changes, so that threads may share it.
typedef struct dp_state dp_state;

/// `DP_OK`, or the number of an error: one of `dp_error`.
typedef int32_t dp_status;

/// The numbers of the last error of the calling thread.
typedef struct dp_error_info {
    /// Number of the error, one of `dp_error`; `DP_OK` if the last call succeeded.
    dp_status code;
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

#ifdef __cplusplus
extern "C" {
#endif // __cplusplus

/// The substance called `name`: its name in words, a trade name or its formula, in any case; UTF-8.
///
/// The caller owns the result and frees it with `dp_fluid_free`.
/// Error 201 for an unknown name (the message suggests the nearest), 104 for `NULL` or text that is not UTF-8.
dp_status dp_fluid_new(const char *name,
                       struct dp_fluid **out);

/// Frees a fluid; `NULL` is left alone. States made of it stay valid.
void dp_fluid_free(struct dp_fluid *fluid);

/// Name of the fluid in words. The text belongs to the fluid and is valid as long as it.
dp_status dp_fluid_name(const struct dp_fluid *fluid, const char **out);

/// Name of the equation of state, with author and year. The text belongs to the fluid and is valid as long as it.
dp_status dp_fluid_model(const struct dp_fluid *fluid,
                         const char **out);

/// Molar mass M in kg/mol.
dp_status dp_molar_mass(const struct dp_fluid *fluid, double *out);

/// Temperature of the triple point in K.
dp_status dp_triple_temperature(const struct dp_fluid *fluid, double *out);

/// Range of the equation of state stated by its authors: temperatures in K, highest pressure in Pa.
dp_status dp_fluid_range(const struct dp_fluid *fluid,
                         double *temperature_min,
                         double *temperature_max,
                         double *pressure_max);

/// Critical point of the equation of state: temperature in K, pressure in Pa, density in kg/m3.
dp_status dp_critical_point(const struct dp_fluid *fluid,
                            double *temperature,
                            double *pressure,
                            double *density);

/// Liquid and vapour in equilibrium at a temperature in K: their pressure in Pa, and each as a state.
///
/// The caller owns both states and frees them with `dp_state_free`.
/// Valid from the triple point to the critical point; error 302 outside, 101 for a value that is not finite.
dp_status dp_saturation_at_temperature(const struct dp_fluid *fluid,
                                       double temperature,
                                       double *pressure,
                                       struct dp_state **liquid,
                                       struct dp_state **vapour);

/// Liquid and vapour in equilibrium at a pressure in Pa: their temperature in K, and each as a state.
///
/// The caller owns both states and frees them with `dp_state_free`.
/// Valid from the triple point to the critical point; error 302 outside, 101 for a value that is not finite.
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

/// The property with the number `property` of `dp_quantity`, in its SI unit, at `temperature` in K and `pressure` in Pa (absolute).
///
/// Errors: 101 for a value that is not finite or not above zero, 102 outside the range of the model, 104 for a number that is
/// not in `dp_quantity`, 202 for a quantity that is no property of the fluid, 303 where the stable phase is solid.
dp_status dp_property(const struct dp_fluid *fluid,
                      int32_t property,
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

/// Phase of the state, one of `dp_phase`.
dp_status dp_state_phase(const struct dp_state *state, int32_t *out);

/// Mass fraction of vapour: 1 for a vapour, 0 for a liquid or a solid, between for two phases.
///
/// Error 202 for a supercritical state, which is neither.
dp_status dp_state_vapour_fraction(const struct dp_state *state, double *out);

/// Mass fraction of solid.
dp_status dp_state_solid_fraction(const struct dp_state *state, double *out);

/// The liquid of a state of liquid and vapour.
///
/// The caller owns the result and frees it with `dp_state_free`. Error 104 if the state is of another kind.
dp_status dp_state_liquid(const struct dp_state *state, struct dp_state **out);

/// The vapour of a state of two phases.
///
/// The caller owns the result and frees it with `dp_state_free`. Error 104 if the state is of another kind.
dp_status dp_state_vapour(const struct dp_state *state, struct dp_state **out);

/// The state after throttling to `pressure` in Pa (absolute): the same enthalpy, solid included.
///
/// Valid for a valve or an orifice without heat exchange, once the velocity has died out.
/// The caller owns the result and frees it with `dp_state_free`. Errors as `dp_state_from_ph`.
dp_status dp_state_expand_to(const struct dp_state *state, double pressure, struct dp_state **out);

/// Version of the binary interface of the library that the program runs with; compare it with `DP_ABI_VERSION`.
uint32_t dp_abi_version(void);

/// Version of the library that the program runs with, such as "1.2.3"; it stays valid, do not free it.
const char *dp_version(void);

#ifdef __cplusplus
}  // extern "C"
#endif  // __cplusplus

#endif  /* DENSEPATH_H */
