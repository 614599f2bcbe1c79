//! Numbers and words of the tables of the library, for C.
//!
//! Written by `cargo xtask header`; not to be edited by hand. Numbers once given are kept.

use densepath_core::{NoticeCode, Phase, Quantity, Severity};

use crate::lookup::{ErrorRow, NoticeRow, PhaseRow, QuantityRow, SeverityRow};

/// Quantities, each with its symbol and its SI unit.
#[repr(C)]
#[derive(Clone, Copy)]
#[expect(dead_code, reason = "most constants are for C only")]
pub enum dp_quantity {
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
}

/// One row for each constant.
pub(crate) const QUANTITIES: &[QuantityRow] = &[
    QuantityRow {
        number: 1,
        quantity: Quantity::Temperature,
        name: c"temperature",
        symbol: c"T",
        unit: c"K",
    },
    QuantityRow {
        number: 2,
        quantity: Quantity::Pressure,
        name: c"pressure",
        symbol: c"p",
        unit: c"Pa",
    },
    QuantityRow {
        number: 3,
        quantity: Quantity::Density,
        name: c"density",
        symbol: c"rho",
        unit: c"kg/m3",
    },
    QuantityRow {
        number: 4,
        quantity: Quantity::MolarDensity,
        name: c"molar_density",
        symbol: c"rho_m",
        unit: c"mol/m3",
    },
    QuantityRow {
        number: 5,
        quantity: Quantity::MolarVolume,
        name: c"molar_volume",
        symbol: c"V_m",
        unit: c"m3/mol",
    },
    QuantityRow {
        number: 6,
        quantity: Quantity::MolarMass,
        name: c"molar_mass",
        symbol: c"M",
        unit: c"kg/mol",
    },
    QuantityRow {
        number: 7,
        quantity: Quantity::AmountFraction,
        name: c"amount_fraction",
        symbol: c"x",
        unit: c"1",
    },
    QuantityRow {
        number: 8,
        quantity: Quantity::MassFraction,
        name: c"mass_fraction",
        symbol: c"w",
        unit: c"1",
    },
    QuantityRow {
        number: 9,
        quantity: Quantity::VapourFraction,
        name: c"vapour_fraction",
        symbol: c"q",
        unit: c"1",
    },
    QuantityRow {
        number: 10,
        quantity: Quantity::SolidFraction,
        name: c"solid_fraction",
        symbol: c"w_s",
        unit: c"1",
    },
    QuantityRow {
        number: 11,
        quantity: Quantity::SpecificEnthalpy,
        name: c"specific_enthalpy",
        symbol: c"h",
        unit: c"J/kg",
    },
    QuantityRow {
        number: 12,
        quantity: Quantity::SpecificEntropy,
        name: c"specific_entropy",
        symbol: c"s",
        unit: c"J/(kg K)",
    },
    QuantityRow {
        number: 13,
        quantity: Quantity::SpecificInternalEnergy,
        name: c"specific_internal_energy",
        symbol: c"u",
        unit: c"J/kg",
    },
    QuantityRow {
        number: 14,
        quantity: Quantity::SpecificGibbsEnergy,
        name: c"specific_gibbs_energy",
        symbol: c"g",
        unit: c"J/kg",
    },
    QuantityRow {
        number: 15,
        quantity: Quantity::SpecificHelmholtzEnergy,
        name: c"specific_helmholtz_energy",
        symbol: c"a",
        unit: c"J/kg",
    },
    QuantityRow {
        number: 16,
        quantity: Quantity::SpecificIsobaricHeatCapacity,
        name: c"specific_isobaric_heat_capacity",
        symbol: c"c_p",
        unit: c"J/(kg K)",
    },
    QuantityRow {
        number: 17,
        quantity: Quantity::SpecificIsochoricHeatCapacity,
        name: c"specific_isochoric_heat_capacity",
        symbol: c"c_v",
        unit: c"J/(kg K)",
    },
    QuantityRow {
        number: 18,
        quantity: Quantity::SpeedOfSound,
        name: c"speed_of_sound",
        symbol: c"c",
        unit: c"m/s",
    },
    QuantityRow {
        number: 19,
        quantity: Quantity::JouleThomsonCoefficient,
        name: c"joule_thomson_coefficient",
        symbol: c"mu_JT",
        unit: c"K/Pa",
    },
    QuantityRow {
        number: 20,
        quantity: Quantity::IsothermalCompressibility,
        name: c"isothermal_compressibility",
        symbol: c"kappa_T",
        unit: c"1/Pa",
    },
    QuantityRow {
        number: 21,
        quantity: Quantity::IsobaricExpansivity,
        name: c"isobaric_expansivity",
        symbol: c"alpha_V",
        unit: c"1/K",
    },
    QuantityRow {
        number: 22,
        quantity: Quantity::CompressionFactor,
        name: c"compression_factor",
        symbol: c"Z",
        unit: c"1",
    },
    QuantityRow {
        number: 23,
        quantity: Quantity::DynamicViscosity,
        name: c"dynamic_viscosity",
        symbol: c"eta",
        unit: c"Pa s",
    },
    QuantityRow {
        number: 24,
        quantity: Quantity::KinematicViscosity,
        name: c"kinematic_viscosity",
        symbol: c"nu",
        unit: c"m2/s",
    },
    QuantityRow {
        number: 25,
        quantity: Quantity::ThermalConductivity,
        name: c"thermal_conductivity",
        symbol: c"lambda",
        unit: c"W/(m K)",
    },
    QuantityRow {
        number: 26,
        quantity: Quantity::DiffusionCoefficient,
        name: c"diffusion_coefficient",
        symbol: c"D",
        unit: c"m2/s",
    },
    QuantityRow {
        number: 27,
        quantity: Quantity::RelativePermittivity,
        name: c"relative_permittivity",
        symbol: c"epsilon_r",
        unit: c"1",
    },
    QuantityRow {
        number: 28,
        quantity: Quantity::RefractiveIndex,
        name: c"refractive_index",
        symbol: c"n",
        unit: c"1",
    },
    QuantityRow {
        number: 29,
        quantity: Quantity::SurfaceTension,
        name: c"surface_tension",
        symbol: c"gamma",
        unit: c"N/m",
    },
    QuantityRow {
        number: 30,
        quantity: Quantity::MassFlowRate,
        name: c"mass_flow_rate",
        symbol: c"q_m",
        unit: c"kg/s",
    },
    QuantityRow {
        number: 31,
        quantity: Quantity::VolumeFlowRate,
        name: c"volume_flow_rate",
        symbol: c"q_V",
        unit: c"m3/s",
    },
    QuantityRow {
        number: 32,
        quantity: Quantity::Velocity,
        name: c"velocity",
        symbol: c"u",
        unit: c"m/s",
    },
    QuantityRow {
        number: 33,
        quantity: Quantity::MassFlux,
        name: c"mass_flux",
        symbol: c"G",
        unit: c"kg/(m2 s)",
    },
    QuantityRow {
        number: 34,
        quantity: Quantity::Length,
        name: c"length",
        symbol: c"L",
        unit: c"m",
    },
    QuantityRow {
        number: 35,
        quantity: Quantity::Diameter,
        name: c"diameter",
        symbol: c"d",
        unit: c"m",
    },
    QuantityRow {
        number: 36,
        quantity: Quantity::Roughness,
        name: c"roughness",
        symbol: c"k_s",
        unit: c"m",
    },
    QuantityRow {
        number: 37,
        quantity: Quantity::ParticleDiameter,
        name: c"particle_diameter",
        symbol: c"d_p",
        unit: c"m",
    },
    QuantityRow {
        number: 38,
        quantity: Quantity::FilmThickness,
        name: c"film_thickness",
        symbol: c"d_f",
        unit: c"m",
    },
    QuantityRow {
        number: 39,
        quantity: Quantity::Area,
        name: c"area",
        symbol: c"A",
        unit: c"m2",
    },
    QuantityRow {
        number: 40,
        quantity: Quantity::Volume,
        name: c"volume",
        symbol: c"V",
        unit: c"m3",
    },
    QuantityRow {
        number: 41,
        quantity: Quantity::Mass,
        name: c"mass",
        symbol: c"m",
        unit: c"kg",
    },
    QuantityRow {
        number: 42,
        quantity: Quantity::Time,
        name: c"time",
        symbol: c"t",
        unit: c"s",
    },
    QuantityRow {
        number: 43,
        quantity: Quantity::Frequency,
        name: c"frequency",
        symbol: c"f",
        unit: c"Hz",
    },
    QuantityRow {
        number: 44,
        quantity: Quantity::InterparticlePorosity,
        name: c"interparticle_porosity",
        symbol: c"epsilon_e",
        unit: c"1",
    },
    QuantityRow {
        number: 45,
        quantity: Quantity::TotalPorosity,
        name: c"total_porosity",
        symbol: c"epsilon_t",
        unit: c"1",
    },
    QuantityRow {
        number: 46,
        quantity: Quantity::Permeability,
        name: c"permeability",
        symbol: c"B_0",
        unit: c"m2",
    },
    QuantityRow {
        number: 47,
        quantity: Quantity::PressureDrop,
        name: c"pressure_drop",
        symbol: c"Delta p",
        unit: c"Pa",
    },
    QuantityRow {
        number: 48,
        quantity: Quantity::ReynoldsNumber,
        name: c"reynolds_number",
        symbol: c"Re",
        unit: c"1",
    },
    QuantityRow {
        number: 49,
        quantity: Quantity::FrictionFactor,
        name: c"friction_factor",
        symbol: c"f",
        unit: c"1",
    },
    QuantityRow {
        number: 50,
        quantity: Quantity::MachNumber,
        name: c"mach_number",
        symbol: c"Ma",
        unit: c"1",
    },
    QuantityRow {
        number: 51,
        quantity: Quantity::PlateHeight,
        name: c"plate_height",
        symbol: c"H",
        unit: c"m",
    },
    QuantityRow {
        number: 52,
        quantity: Quantity::PlateNumber,
        name: c"plate_number",
        symbol: c"N",
        unit: c"1",
    },
    QuantityRow {
        number: 53,
        quantity: Quantity::RetentionFactor,
        name: c"retention_factor",
        symbol: c"k",
        unit: c"1",
    },
    QuantityRow {
        number: 54,
        quantity: Quantity::HoldUpTime,
        name: c"hold_up_time",
        symbol: c"t_M",
        unit: c"s",
    },
    QuantityRow {
        number: 55,
        quantity: Quantity::RetentionTime,
        name: c"retention_time",
        symbol: c"t_R",
        unit: c"s",
    },
    QuantityRow {
        number: 56,
        quantity: Quantity::VolumeVariance,
        name: c"volume_variance",
        symbol: c"sigma_V^2",
        unit: c"m6",
    },
    QuantityRow {
        number: 57,
        quantity: Quantity::TimeVariance,
        name: c"time_variance",
        symbol: c"sigma_t^2",
        unit: c"s2",
    },
    QuantityRow {
        number: 58,
        quantity: Quantity::HeatFlowRate,
        name: c"heat_flow_rate",
        symbol: c"Phi",
        unit: c"W",
    },
    QuantityRow {
        number: 59,
        quantity: Quantity::TemperatureDifference,
        name: c"temperature_difference",
        symbol: c"Delta T",
        unit: c"K",
    },
    QuantityRow {
        number: 60,
        quantity: Quantity::SpecificVolume,
        name: c"specific_volume",
        symbol: c"v",
        unit: c"m3/kg",
    },
    QuantityRow {
        number: 61,
        quantity: Quantity::VolumeFraction,
        name: c"volume_fraction",
        symbol: c"phi",
        unit: c"1",
    },
    QuantityRow {
        number: 62,
        quantity: Quantity::Acceleration,
        name: c"acceleration",
        symbol: c"a",
        unit: c"m/s2",
    },
    QuantityRow {
        number: 63,
        quantity: Quantity::PressureRate,
        name: c"pressure_rate",
        symbol: c"dp/dt",
        unit: c"Pa/s",
    },
    QuantityRow {
        number: 64,
        quantity: Quantity::PressureCoefficient,
        name: c"pressure_coefficient",
        symbol: c"beta",
        unit: c"Pa/K",
    },
    QuantityRow {
        number: 65,
        quantity: Quantity::ClearanceRatio,
        name: c"clearance_ratio",
        symbol: c"c",
        unit: c"1",
    },
    QuantityRow {
        number: 66,
        quantity: Quantity::Ratio,
        name: c"ratio",
        symbol: c"r",
        unit: c"1",
    },
    QuantityRow {
        number: 67,
        quantity: Quantity::SinglePhaseMargin,
        name: c"single_phase_margin",
        symbol: c"p - p_2",
        unit: c"Pa",
    },
    QuantityRow {
        number: 68,
        quantity: Quantity::SinglePhaseTemperatureMargin,
        name: c"single_phase_temperature_margin",
        symbol: c"|T - T_2|",
        unit: c"K",
    },
    QuantityRow {
        number: 69,
        quantity: Quantity::HeatTransferCoefficient,
        name: c"heat_transfer_coefficient",
        symbol: c"alpha",
        unit: c"W/(m2 K)",
    },
    QuantityRow {
        number: 70,
        quantity: Quantity::Wavelength,
        name: c"wavelength",
        symbol: c"lambda",
        unit: c"m",
    },
    QuantityRow {
        number: 71,
        quantity: Quantity::SquaredSpecificVolume,
        name: c"squared_specific_volume",
        symbol: c"v^2",
        unit: c"m6/kg2",
    },
    QuantityRow {
        number: 72,
        quantity: Quantity::Energy,
        name: c"energy",
        symbol: c"E",
        unit: c"J",
    },
];

/// Phases that a state consists of.
#[repr(C)]
#[derive(Clone, Copy)]
#[expect(dead_code, reason = "most constants are for C only")]
pub enum dp_phase {
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
}

/// One row for each constant.
pub(crate) const PHASES: &[PhaseRow] = &[
    PhaseRow {
        number: 1,
        phase: Phase::Liquid,
        name: c"liquid",
    },
    PhaseRow {
        number: 2,
        phase: Phase::Vapour,
        name: c"vapour",
    },
    PhaseRow {
        number: 3,
        phase: Phase::Supercritical,
        name: c"supercritical",
    },
    PhaseRow {
        number: 4,
        phase: Phase::LiquidVapour,
        name: c"liquid + vapour",
    },
    PhaseRow {
        number: 5,
        phase: Phase::SolidVapour,
        name: c"solid + vapour",
    },
    PhaseRow {
        number: 6,
        phase: Phase::Solid,
        name: c"solid",
    },
    PhaseRow {
        number: 7,
        phase: Phase::LiquidLiquid,
        name: c"liquid + liquid",
    },
    PhaseRow {
        number: 8,
        phase: Phase::LiquidLiquidVapour,
        name: c"liquid + liquid + vapour",
    },
    PhaseRow {
        number: 9,
        phase: Phase::SolidLiquid,
        name: c"solid + liquid",
    },
    PhaseRow {
        number: 10,
        phase: Phase::SolidLiquidVapour,
        name: c"solid + liquid + vapour",
    },
];

/// What a notice is about.
#[repr(C)]
#[derive(Clone, Copy)]
#[expect(dead_code, reason = "most constants are for C only")]
pub enum dp_notice_code {
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
}

/// One row for each constant.
pub(crate) const NOTICES: &[NoticeRow] = &[
    NoticeRow {
        number: 1,
        code: NoticeCode::SolidForms,
        name: c"solid_forms",
    },
    NoticeRow {
        number: 2,
        code: NoticeCode::BlockedInLiquid,
        name: c"blocked_in_liquid",
    },
    NoticeRow {
        number: 3,
        code: NoticeCode::Overpressure,
        name: c"overpressure",
    },
    NoticeRow {
        number: 4,
        code: NoticeCode::Asphyxiation,
        name: c"asphyxiation",
    },
    NoticeRow {
        number: 5,
        code: NoticeCode::ColdBurn,
        name: c"cold_burn",
    },
    NoticeRow {
        number: 6,
        code: NoticeCode::HotSurface,
        name: c"hot_surface",
    },
    NoticeRow {
        number: 7,
        code: NoticeCode::Flammable,
        name: c"flammable",
    },
    NoticeRow {
        number: 8,
        code: NoticeCode::SuctionMargin,
        name: c"suction_margin",
    },
    NoticeRow {
        number: 9,
        code: NoticeCode::TwoPhases,
        name: c"two_phases",
    },
    NoticeRow {
        number: 10,
        code: NoticeCode::NearCritical,
        name: c"near_critical",
    },
    NoticeRow {
        number: 11,
        code: NoticeCode::Extrapolated,
        name: c"extrapolated",
    },
    NoticeRow {
        number: 12,
        code: NoticeCode::Choked,
        name: c"choked",
    },
    NoticeRow {
        number: 13,
        code: NoticeCode::TransitionalFlow,
        name: c"transitional_flow",
    },
    NoticeRow {
        number: 14,
        code: NoticeCode::DispersionUndeveloped,
        name: c"dispersion_undeveloped",
    },
    NoticeRow {
        number: 15,
        code: NoticeCode::RadialGradients,
        name: c"radial_gradients",
    },
    NoticeRow {
        number: 16,
        code: NoticeCode::InjectionWide,
        name: c"injection_wide",
    },
    NoticeRow {
        number: 17,
        code: NoticeCode::LoopFilling,
        name: c"loop_filling",
    },
    NoticeRow {
        number: 18,
        code: NoticeCode::HeaterDuty,
        name: c"heater_duty",
    },
    NoticeRow {
        number: 19,
        code: NoticeCode::CylinderLevel,
        name: c"cylinder_level",
    },
    NoticeRow {
        number: 20,
        code: NoticeCode::Estimated,
        name: c"estimated",
    },
    NoticeRow {
        number: 21,
        code: NoticeCode::DetectorUnsuited,
        name: c"detector_unsuited",
    },
    NoticeRow {
        number: 22,
        code: NoticeCode::Pulsation,
        name: c"pulsation",
    },
    NoticeRow {
        number: 23,
        code: NoticeCode::WallNotReached,
        name: c"wall_not_reached",
    },
    NoticeRow {
        number: 25,
        code: NoticeCode::CubicStandsIn,
        name: c"cubic_stands_in",
    },
    NoticeRow {
        number: 26,
        code: NoticeCode::ThinMargin,
        name: c"thin_margin",
    },
    NoticeRow {
        number: 24,
        code: NoticeCode::AboveOptimum,
        name: c"above_optimum",
    },
    NoticeRow {
        number: 27,
        code: NoticeCode::Plugging,
        name: c"plugging",
    },
    NoticeRow {
        number: 28,
        code: NoticeCode::Aerosol,
        name: c"aerosol",
    },
    NoticeRow {
        number: 29,
        code: NoticeCode::Controllability,
        name: c"controllability",
    },
    NoticeRow {
        number: 30,
        code: NoticeCode::Unsteady,
        name: c"unsteady",
    },
    NoticeRow {
        number: 31,
        code: NoticeCode::StoredEnergy,
        name: c"stored_energy",
    },
    NoticeRow {
        number: 32,
        code: NoticeCode::Unknown,
        name: c"unknown",
    },
];

/// How much a notice matters; the smallest number the most.
#[repr(C)]
#[derive(Clone, Copy)]
#[expect(dead_code, reason = "most constants are for C only")]
pub enum dp_severity {
    /// Caution
    DP_SEVERITY_CAUTION = 1,
    /// Warning
    DP_SEVERITY_WARNING = 2,
    /// Remark
    DP_SEVERITY_REMARK = 3,
}

/// One row for each constant.
pub(crate) const SEVERITIES: &[SeverityRow] = &[
    SeverityRow {
        number: 1,
        severity: Severity::Caution,
        name: c"caution",
    },
    SeverityRow {
        number: 2,
        severity: Severity::Warning,
        name: c"warning",
    },
    SeverityRow {
        number: 3,
        severity: Severity::Remark,
        name: c"remark",
    },
];

/// Values of a dp_status.
#[repr(C)]
#[derive(Clone, Copy)]
#[expect(dead_code, reason = "most constants are for C only")]
pub enum dp_error {
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
}

/// One row for each constant.
pub(crate) const ERRORS: &[ErrorRow] = &[
ErrorRow { number: 101, name: c"DP_ERROR_DOMAIN", meaning: c"A value that no state or part can have: not finite, negative where it must be positive, and the like." },
ErrorRow { number: 102, name: c"DP_ERROR_OUT_OF_RANGE", meaning: c"A value outside the range of the model asked." },
ErrorRow { number: 103, name: c"DP_ERROR_COMPOSITION", meaning: c"Fractions that do not describe a mixture." },
ErrorRow { number: 104, name: c"DP_ERROR_ARGUMENT", meaning: c"An argument of the wrong kind: a null pointer, text that is not UTF-8, arrays that do not match." },
ErrorRow { number: 105, name: c"DP_ERROR_OUTSIDE_TABLE", meaning: c"A temperature or a pressure outside the region of a table." },
ErrorRow { number: 201, name: c"DP_ERROR_UNKNOWN_FLUID", meaning: c"A substance that the library does not know." },
ErrorRow { number: 202, name: c"DP_ERROR_MISSING_MODEL", meaning: c"A property for which the fluid has no model." },
ErrorRow { number: 301, name: c"DP_ERROR_TWO_PHASE", meaning: c"A property of one phase was asked of a state of two." },
ErrorRow { number: 302, name: c"DP_ERROR_NO_COEXISTENCE", meaning: c"No two phases coexist at the value given." },
ErrorRow { number: 303, name: c"DP_ERROR_SOLID", meaning: c"The stable phase at the state given is solid, and the property asked belongs to a fluid." },
ErrorRow { number: 401, name: c"DP_ERROR_NO_CONVERGENCE", meaning: c"An iteration that ended without meeting its tolerance." },
ErrorRow { number: 402, name: c"DP_ERROR_UNREACHABLE", meaning: c"A target that no value of the unknown reaches within its bounds." },
ErrorRow { number: 403, name: c"DP_ERROR_NOT_UNIQUE", meaning: c"More than one state has the two values given." },
ErrorRow { number: 404, name: c"DP_ERROR_UNDETERMINED", meaning: c"Measurements that do not determine every coefficient asked of them." },
ErrorRow { number: 405, name: c"DP_ERROR_NO_ANSWER", meaning: c"A wanted result that no value of the input tried leads to." },
ErrorRow { number: 406, name: c"DP_ERROR_STOPPED", meaning: c"Work that its caller stopped, or that was not done within the time given for it." },
ErrorRow { number: 407, name: c"DP_ERROR_NO_TABLE", meaning: c"A region in which no table of the size allowed comes as near to the model as was asked." },
ErrorRow { number: 501, name: c"DP_ERROR_CHOKED", meaning: c"The flow reaches the speed of sound before the end of the part." },
ErrorRow { number: 502, name: c"DP_ERROR_PHASE_CHANGE", meaning: c"The fluid splits, freezes or leaves its model inside a part that needs one dense phase." },
ErrorRow { number: 503, name: c"DP_ERROR_FLOW_REVERSED", meaning: c"The pressures given would drive the flow backwards." },
ErrorRow { number: 504, name: c"DP_ERROR_FEED_NOT_LIQUID", meaning: c"The feed of a pump is not liquid." },
ErrorRow { number: 505, name: c"DP_ERROR_TOO_FAST", meaning: c"A setting changes faster than the instrument can follow." },
ErrorRow { number: 506, name: c"DP_ERROR_LIQUID_FULL", meaning: c"A cylinder without vapour space at its temperature that was not said to be one." },
ErrorRow { number: 590, name: c"DP_ERROR_IN_ELEMENT", meaning: c"An error inside one part of a path." },
ErrorRow { number: 591, name: c"DP_ERROR_IN_PROGRAM", meaning: c"An error at one point of a program." },
ErrorRow { number: 601, name: c"DP_ERROR_SYNTAX", meaning: c"A document that is not TOML." },
ErrorRow { number: 602, name: c"DP_ERROR_UNKNOWN_KEY", meaning: c"A key that the document's schema does not know." },
ErrorRow { number: 603, name: c"DP_ERROR_MISSING_KEY", meaning: c"A key that is required and missing." },
ErrorRow { number: 604, name: c"DP_ERROR_BAD_VALUE", meaning: c"A value that cannot be read: a wrong or missing unit, a word not in the list." },
ErrorRow { number: 605, name: c"DP_ERROR_COUNTING_MISSING", meaning: c"A flow in volume per time without the state at which the volume is counted." },
ErrorRow { number: 606, name: c"DP_ERROR_LAYOUT", meaning: c"A combination of parts that is no instrument." },
ErrorRow { number: 610, name: c"DP_ERROR_FILE", meaning: c"A file that cannot be read." },
ErrorRow { number: 611, name: c"DP_ERROR_UNREADABLE_TABLE", meaning: c"Bytes that are no table, or not a whole and unchanged one." },
ErrorRow { number: 901, name: c"DP_ERROR_INTERNAL", meaning: c"A fault of the library itself." },
];
