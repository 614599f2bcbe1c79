//! Properties of one phase from the derivatives of its Helmholtz energy (Span and Wagner 1996, table 3), written once for a state and
//! for several states side by side.

use super::kernel::{All, Density, Scaled};
use super::points::EnergyPoint;
use crate::num::number::Number;
use crate::quantity::Quantity;

/// One phase at a temperature in K and a density in kg/m3.
#[derive(Debug, Clone, Copy)]
pub(crate) struct OnePhase<N> {
    /// Specific gas constant in J/(kg K).
    pub(crate) gas_constant: f64,
    pub(crate) temperature: N,
    pub(crate) density: N,
    /// Both parts of the reduced Helmholtz energy.
    pub(super) ideal: Scaled<N>,
    pub(super) residual: All<N>,
}

impl OnePhase<f64> {
    /// The phase whose energy is known.
    pub(crate) fn new(
        gas_constant: f64,
        [temperature, density]: [f64; 2],
        EnergyPoint { ideal, residual }: EnergyPoint,
    ) -> Self {
        Self {
            gas_constant,
            temperature,
            density,
            ideal: ideal.into(),
            residual: residual.into(),
        }
    }

    /// Whether [`OnePhase::get`] knows a quantity.
    pub(crate) fn knows(quantity: Quantity) -> bool {
        let some = Self::new(1.0, [1.0, 1.0], EnergyPoint::default());
        some.get(quantity).is_some()
    }
}

impl<N: Number> OnePhase<N> {
    /// A quantity of those below in its unit; nothing for others.
    #[inline(always)]
    pub(crate) fn get(&self, quantity: Quantity) -> Option<N> {
        Some(match quantity {
            Quantity::Density => self.density,
            Quantity::SpecificEnthalpy => self.specific_enthalpy(),
            Quantity::SpecificEntropy => self.specific_entropy(),
            Quantity::SpecificInternalEnergy => self.specific_internal_energy(),
            Quantity::SpecificIsobaricHeatCapacity => self.specific_isobaric_heat_capacity(),
            Quantity::SpecificIsochoricHeatCapacity => self.specific_isochoric_heat_capacity(),
            Quantity::SpeedOfSound => self.speed_of_sound(),
            Quantity::JouleThomsonCoefficient => self.joule_thomson_coefficient(),
            Quantity::IsothermalCompressibility => self.isothermal_compressibility(),
            Quantity::IsobaricExpansivity => self.isobaric_expansivity(),
            _ => return None,
        })
    }

    /// `R T` in J/kg.
    #[inline(always)]
    fn thermal_energy(&self) -> N {
        self.temperature.times(self.gas_constant)
    }

    /// `c_v / R`.
    #[inline(always)]
    fn capacity(&self) -> N {
        -(self.ideal.second + self.residual.a_tt)
    }

    #[inline(always)]
    pub(crate) fn specific_enthalpy(&self) -> N {
        let first = self.ideal.first.plus(1.0) + self.residual.a_t;
        self.thermal_energy() * (first + self.residual.density.a_d)
    }

    #[inline(always)]
    pub(crate) fn specific_internal_energy(&self) -> N {
        self.thermal_energy() * (self.ideal.first + self.residual.a_t)
    }

    #[inline(always)]
    pub(crate) fn specific_entropy(&self) -> N {
        let energy = self.ideal.value + self.residual.density.a;
        (self.ideal.first + self.residual.a_t - energy).times(self.gas_constant)
    }

    #[inline(always)]
    pub(crate) fn specific_isochoric_heat_capacity(&self) -> N {
        self.capacity().times(self.gas_constant)
    }

    /// That of the ideal gas over R.
    pub(crate) fn ideal_isochoric_heat_capacity(&self) -> N {
        -self.ideal.second
    }

    /// `-s_res / R`.
    pub(crate) fn reduced_residual_entropy(&self) -> N {
        self.residual.density.a - self.residual.a_t
    }

    #[inline(always)]
    pub(crate) fn specific_isobaric_heat_capacity(&self) -> N {
        let spring = self.residual.spring();
        let expansion = spring * spring * self.residual.stiffness().recip();
        (self.capacity() + expansion).times(self.gas_constant)
    }

    #[inline(always)]
    pub(crate) fn speed_of_sound(&self) -> N {
        let spring = self.residual.spring();
        let square = self.residual.stiffness() + spring * spring * self.capacity().recip();
        (self.thermal_energy() * square).sqrt()
    }

    #[inline(always)]
    pub(crate) fn joule_thomson_coefficient(&self) -> N {
        let Density { a_d, a_dd, .. } = self.residual.density;
        let spring = self.residual.spring();
        let yielding = spring * spring + self.capacity() * self.residual.stiffness();
        let scale = self.density.times(self.gas_constant) * yielding;
        -(a_d + a_dd + self.residual.a_dt) * scale.recip()
    }

    #[inline(always)]
    pub(crate) fn isothermal_compressibility(&self) -> N {
        (self.density * self.thermal_energy() * self.residual.stiffness()).recip()
    }

    #[inline(always)]
    pub(crate) fn isobaric_expansivity(&self) -> N {
        self.residual.spring() * (self.temperature * self.residual.stiffness()).recip()
    }

    /// `(dp/drho)_T` in J/kg.
    #[inline(always)]
    pub(crate) fn dp_drho_t(&self) -> N {
        self.thermal_energy() * self.residual.stiffness()
    }

    /// `(dp/dT)_rho` in Pa/K.
    #[inline(always)]
    pub(crate) fn dp_dt_rho(&self) -> N {
        self.density.times(self.gas_constant) * self.residual.spring()
    }
}
