//! The one table of quantities: name, symbol and SI unit, for errors, reports, C and Python alike.
//!
//! Names follow the ISQ (ISO 80000-3, -4, -5, -9) and, for chromatography, the IUPAC nomenclature of 1993
//! (Pure Appl. Chem. 65, 819).

macro_rules! quantities {
    ($($variant:ident $name:literal $symbol:literal $unit:literal;)*) => {
        /// A physical quantity.
        ///
        /// ```
        /// use densepath_fluid::{Fluid, Quantity, State};
        /// let state = State::from_tp(&Fluid::new("CO2")?, 313.15, 15e6)?;
        /// assert_eq!(state.get(Quantity::Density)?, state.density());
        /// assert_eq!((Quantity::Density.name(), Quantity::Density.symbol(), Quantity::Density.unit()), ("density", "rho", "kg/m3"));
        /// # Ok::<(), densepath_fluid::Error>(())
        /// ```
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
        #[non_exhaustive]
        pub enum Quantity {
            $(#[doc = concat!($name, ", ", $symbol, ", in ", $unit)] $variant,)*
        }

        impl Quantity {
            /// Every quantity of the table, in its order.
            pub const ALL: &[Quantity] = &[$(Quantity::$variant,)*];

            /// Name in words, snake case, as used by all public interfaces.
            ///
            /// ```
            /// assert_eq!(densepath_fluid::Quantity::MolarVolume.name(), "molar_volume");
            /// ```
            pub const fn name(self) -> &'static str {
                match self { $(Quantity::$variant => $name,)* }
            }

            /// Symbol of the standard.
            ///
            /// ```
            /// assert_eq!(densepath_fluid::Quantity::MolarVolume.symbol(), "V_m");
            /// ```
            pub const fn symbol(self) -> &'static str {
                match self { $(Quantity::$variant => $symbol,)* }
            }

            /// SI unit.
            ///
            /// ```
            /// assert_eq!(densepath_fluid::Quantity::MolarVolume.unit(), "m3/mol");
            /// ```
            pub const fn unit(self) -> &'static str {
                match self { $(Quantity::$variant => $unit,)* }
            }
        }
    };
}

// The C interface numbers quantities by the order in which they first appeared: `cargo xtask header` keeps those numbers.
quantities! {
    Temperature "temperature" "T" "K";
    Pressure "pressure" "p" "Pa";
    Density "density" "rho" "kg/m3";
    MolarDensity "molar_density" "rho_m" "mol/m3";
    MolarVolume "molar_volume" "V_m" "m3/mol";
    MolarMass "molar_mass" "M" "kg/mol";
    AmountFraction "amount_fraction" "x" "1";
    MassFraction "mass_fraction" "w" "1";
    VapourFraction "vapour_fraction" "q" "1";
    SolidFraction "solid_fraction" "w_s" "1";
    SpecificEnthalpy "specific_enthalpy" "h" "J/kg";
    SpecificEntropy "specific_entropy" "s" "J/(kg K)";
    SpecificInternalEnergy "specific_internal_energy" "u" "J/kg";
    SpecificGibbsEnergy "specific_gibbs_energy" "g" "J/kg";
    SpecificHelmholtzEnergy "specific_helmholtz_energy" "a" "J/kg";
    SpecificIsobaricHeatCapacity "specific_isobaric_heat_capacity" "c_p" "J/(kg K)";
    SpecificIsochoricHeatCapacity "specific_isochoric_heat_capacity" "c_v" "J/(kg K)";
    SpeedOfSound "speed_of_sound" "c" "m/s";
    JouleThomsonCoefficient "joule_thomson_coefficient" "mu_JT" "K/Pa";
    IsothermalCompressibility "isothermal_compressibility" "kappa_T" "1/Pa";
    IsobaricExpansivity "isobaric_expansivity" "alpha_V" "1/K";
    CompressionFactor "compression_factor" "Z" "1";
    DynamicViscosity "dynamic_viscosity" "eta" "Pa s";
    KinematicViscosity "kinematic_viscosity" "nu" "m2/s";
    ThermalConductivity "thermal_conductivity" "lambda" "W/(m K)";
    DiffusionCoefficient "diffusion_coefficient" "D" "m2/s";
    RelativePermittivity "relative_permittivity" "epsilon_r" "1";
    RefractiveIndex "refractive_index" "n" "1";
    SurfaceTension "surface_tension" "gamma" "N/m";
    MassFlowRate "mass_flow_rate" "q_m" "kg/s";
    VolumeFlowRate "volume_flow_rate" "q_V" "m3/s";
    Velocity "velocity" "u" "m/s";
    MassFlux "mass_flux" "G" "kg/(m2 s)";
    Length "length" "L" "m";
    Diameter "diameter" "d" "m";
    Roughness "roughness" "k_s" "m";
    ParticleDiameter "particle_diameter" "d_p" "m";
    FilmThickness "film_thickness" "d_f" "m";
    Area "area" "A" "m2";
    Volume "volume" "V" "m3";
    Mass "mass" "m" "kg";
    Time "time" "t" "s";
    Frequency "frequency" "f" "Hz";
    InterparticlePorosity "interparticle_porosity" "epsilon_e" "1";
    TotalPorosity "total_porosity" "epsilon_t" "1";
    Permeability "permeability" "B_0" "m2";
    PressureDrop "pressure_drop" "Delta p" "Pa";
    ReynoldsNumber "reynolds_number" "Re" "1";
    FrictionFactor "friction_factor" "f" "1";
    MachNumber "mach_number" "Ma" "1";
    PlateHeight "plate_height" "H" "m";
    PlateNumber "plate_number" "N" "1";
    RetentionFactor "retention_factor" "k" "1";
    HoldUpTime "hold_up_time" "t_M" "s";
    RetentionTime "retention_time" "t_R" "s";
    VolumeVariance "volume_variance" "sigma_V^2" "m6";
    TimeVariance "time_variance" "sigma_t^2" "s2";
    HeatFlowRate "heat_flow_rate" "Phi" "W";
    TemperatureDifference "temperature_difference" "Delta T" "K";
    SpecificVolume "specific_volume" "v" "m3/kg";
    VolumeFraction "volume_fraction" "phi" "1";
    Acceleration "acceleration" "a" "m/s2";
    PressureRate "pressure_rate" "dp/dt" "Pa/s";
    SinglePhaseMargin "single_phase_margin" "p - p_2" "Pa";
    SinglePhaseTemperatureMargin "single_phase_temperature_margin" "|T - T_2|" "K";
    PressureCoefficient "pressure_coefficient" "beta" "Pa/K";
    ClearanceRatio "clearance_ratio" "c" "1";
    Wavelength "wavelength" "lambda" "m";
    SquaredSpecificVolume "squared_specific_volume" "v^2" "m6/kg2";
    Ratio "ratio" "r" "1";
    HeatTransferCoefficient "heat_transfer_coefficient" "alpha" "W/(m2 K)";
    Energy "energy" "E" "J";
}

impl core::fmt::Display for Quantity {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        f.write_str(self.name())
    }
}

impl core::str::FromStr for Quantity {
    type Err = ();

    fn from_str(name: &str) -> Result<Self, ()> {
        Self::ALL
            .iter()
            .copied()
            .find(|q| q.name() == name)
            .ok_or(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_unique_and_read_back() {
        for &quantity in Quantity::ALL {
            assert_eq!(quantity.name().parse(), Ok(quantity));
        }
    }
}
