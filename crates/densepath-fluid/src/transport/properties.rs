//! Transport, optical, electrical and interfacial properties of a state.

use super::diffusion::{Diffusing, DiffusionModel, Medium, RELATIVE_UNCERTAINTY, Solvent};
use super::permittivity::Filling;
use super::{Dense, Point};
use crate::error::{Error, Result, finite, within};
use crate::fluids::FluidRecord;
use crate::fluids::record::Range;
use crate::fluids::uncertainty::{FluidPhase, RegionalUncertainty};
use crate::notice::{Notice, NoticeCode, rounded};
#[cfg(not(feature = "std"))]
use crate::prelude::*;

use crate::quantity::Quantity;
use crate::state::{Fluid, Saturation, State};

/// Vacuum wavelength in m of the refractive index where none is given: the sodium D line.
pub const SODIUM_D_LINE: f64 = 589.3e-9;

impl State {
    /// Dynamic viscosity eta in Pa s.
    ///
    /// *Valid*: in the range of the fluid's correlation; error 102 outside, 301 for two phases, 202 for a fluid without a model.
    /// *Uncertainty* and *Source*: of the correlation, in the fluid's record; see [`State::uncertainty`]. Of a mixture from its
    /// residual entropy, an estimate that [`State::transport_notices`] comments on.
    ///
    /// ```
    /// use densepath_fluid::{Fluid, State};
    /// let column = State::from_tp(&Fluid::new("carbon dioxide")?, 313.15, 15e6)?;
    /// assert!((column.dynamic_viscosity()? - 68.46e-6).abs() < 5e-9);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn dynamic_viscosity(&self) -> Result<f64> {
        Ok(self.fluid().viscosity_factor() * self.of_model().modelled_viscosity()?)
    }

    /// The dynamic viscosity in Pa s as its model has it.
    fn modelled_viscosity(&self) -> Result<f64> {
        if let Some(mixture) = self.mixture() {
            return mixture.dynamic_viscosity();
        }
        let property = Quantity::DynamicViscosity;
        let record = self.model(property, |record| record.viscosity.as_ref())?;
        self.inside(property, &record.valid, &record.name)?;
        if let Some(dense) = &record.valid_dense
            && self.density() > self.fluid().critical_point()?.density
        {
            self.inside(property, dense, &record.name)?;
        }
        let critical = record.critical.as_ref();
        let reference = critical.map(|critical| critical.correlation_length.temperature_reference);
        finite(property, record.dynamic_viscosity(&self.point(reference)?))
    }

    /// Kinematic viscosity nu = eta / rho in m2/s; as [`State::dynamic_viscosity`].
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// let state = State::from_tp(&fluid, 313.15, 150e5)?;
    /// assert!((state.kinematic_viscosity()? * state.density() / state.dynamic_viscosity()? - 1.0).abs() < 1e-12);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn kinematic_viscosity(&self) -> Result<f64> {
        Ok(self.dynamic_viscosity()? / self.density())
    }

    /// Thermal conductivity lambda in W/(m K), with its enhancement near the critical point where the correlation has one.
    ///
    /// *Valid*: in the range of the fluid's correlation; error 102 outside, 301 for two phases, 202 for a fluid without a model,
    /// 101 at the critical point itself, where it is infinite.
    /// *Uncertainty* and *Source*: of the correlation, in the fluid's record; see [`State::uncertainty`]. Of a mixture from its
    /// residual entropy, an estimate that [`State::transport_notices`] comments on.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// let state = State::from_tp(&fluid, 313.15, 150e5)?;
    /// // The stated uncertainty is some percent.
    /// use densepath_fluid::Quantity;
    /// let uncertainty = state.uncertainty(Quantity::ThermalConductivity)?;
    /// assert!(state.thermal_conductivity()? > 0.0 && uncertainty > 0.0 && uncertainty <= 0.1);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn thermal_conductivity(&self) -> Result<f64> {
        let state = self.of_model();
        if let Some(mixture) = state.mixture() {
            return mixture.thermal_conductivity();
        }
        let property = Quantity::ThermalConductivity;
        let record = state.model(property, |record| record.thermal_conductivity.as_ref())?;
        state.inside(property, &record.valid, &record.name)?;
        let viscosity = state.model(property, |record| record.viscosity.as_ref())?;
        let lambda = record.thermal_conductivity(
            &state.point(record.reference_temperature())?,
            state.modelled_viscosity()?,
            viscosity.zero_density(state.temperature()),
        );
        finite(property, lambda)
    }

    /// What the laws of viscosity and thermal conductivity need to know, with the compressibility at a reference temperature
    /// in K if one is given.
    fn point(&self, reference: Option<f64>) -> Result<Point> {
        let molar_density = self.density() / self.fluid().molar_mass();
        let reference = match reference {
            Some(temperature) => {
                let isotherm = self.fluid().helmholtz()?.isotherm(temperature);
                Some(isotherm.pressure(self.density()).dp_drho)
            }
            None => None,
        };
        Ok(Point {
            temperature: self.temperature(),
            density: self.density(),
            molar_density,
            pressure: self.pressure(),
            ideal_pressure: self.pressure() / self.compression_factor(),
            thermal_pressure: self.temperature() * self.dp_dt_rho()?,
            drho_dp_t: 1.0 / self.dp_drho_t()?,
            drho_dp_t_reference: reference.map_or(0.0, |dp_drho| 1.0 / dp_drho),
            isobaric_heat_capacity: self.specific_isobaric_heat_capacity()?,
            isochoric_heat_capacity: self.specific_isochoric_heat_capacity()?,
            ideal_isochoric_heat_capacity: self.ideal_isochoric_heat_capacity()?,
            dense: self.dense()?,
        })
    }

    /// Relative permittivity `epsilon_r` of the static field, dimensionless.
    ///
    /// *Valid*: in the range of the fluid's equation; error 102 outside, 301 for two phases, 202 for a fluid without a model.
    /// *Uncertainty* and *Source*: of the equation, in the fluid's record; see [`State::uncertainty`]. Of a mixture by Oster, J.
    /// Am. Chem. Soc. 68, 2036 (1946), doi 10.1021/ja01214a050 (citation from memory).
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// let state = State::from_tp(&fluid, 313.15, 150e5)?;
    /// // Carbon dioxide stays nearly as little polar as a vacuum, however dense.
    /// let permittivity = state.relative_permittivity()?;
    /// assert!(permittivity > 1.3 && permittivity < 1.6);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn relative_permittivity(&self) -> Result<f64> {
        let state = self.of_model();
        if let Some(mixture) = state.mixture() {
            return mixture.relative_permittivity();
        }
        let property = Quantity::RelativePermittivity;
        let record = state.model(property, |record| record.relative_permittivity.as_ref())?;
        state.inside(property, &record.valid, &record.name)?;
        record.relative_permittivity(state.filling())
    }

    /// Refractive index n at the sodium D line; as [`State::refractive_index_at`].
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// let state = State::from_tp(&fluid, 313.15, 150e5)?;
    /// use densepath_fluid::transport::SODIUM_D_LINE;
    /// assert_eq!(state.refractive_index()?, state.refractive_index_at(SODIUM_D_LINE)?);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn refractive_index(&self) -> Result<f64> {
        self.refractive_index_at(SODIUM_D_LINE)
    }

    /// Refractive index n for light of a vacuum wavelength in m.
    ///
    /// *Valid*: in the range of the fluid's equation, that of carbon dioxide from 0.1807 to 1.6945 um, of most others at the
    /// sodium D line only; error 102 outside, 301 for two phases, 202 for a fluid without a model.
    /// *Uncertainty* and *Source*: of the molar refraction, in the fluid's record; relation of Lorentz and Lorenz for the
    /// density. The molar refractions of a mixture add up.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// let state = State::from_tp(&fluid, 313.15, 150e5)?;
    /// // Blue light is refracted more than red light.
    /// assert!(state.refractive_index_at(486.1e-9)? > state.refractive_index_at(656.3e-9)?);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn refractive_index_at(&self, wavelength: f64) -> Result<f64> {
        let state = self.of_model();
        if let Some(mixture) = state.mixture() {
            return mixture.refractive_index(wavelength);
        }
        let property = Quantity::RefractiveIndex;
        let record = state.model(property, |record| record.refractivity.as_ref())?;
        state.inside(property, &record.valid, &record.name)?;
        record.refractive_index(state.filling(), wavelength)
    }

    /// What the scaling of transport properties by residual entropy needs to know. Error 301 for two phases, 303 for a solid.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// # let fluid = Fluid::new("ethyl acetate")?;
    /// // A liquid lacks several gas constants of the entropy of the ideal gas at its density.
    /// assert!(State::from_tp(&fluid, 298.15, 1e5)?.dense()?.residual_entropy > 3.0);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn dense(&self) -> Result<Dense> {
        let molar_mass = self.fluid().molar_mass();
        Ok(Dense {
            temperature: self.temperature(),
            molar_density: self.density() / molar_mass,
            molar_mass,
            residual_entropy: self.reduced_residual_entropy()?,
        })
    }

    /// Temperature and densities.
    pub(super) fn filling(&self) -> Filling {
        Filling {
            temperature: self.temperature(),
            density: self.density(),
            molar_density: self.density() / self.fluid().molar_mass(),
        }
    }

    /// Diffusion coefficient D in m2/s of a solute at infinite dilution.
    ///
    /// *Valid*: in dense fluids away from the critical point; error 102 below 0.43 of the critical density, 202 in a fluid that is
    /// not known as a solvent.
    /// *Uncertainty* and *Source*: of the law, see [`DiffusionModel`].
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// let state = State::from_tp(&fluid, 313.15, 150e5)?;
    /// use densepath_fluid::transport::diffusion::{Diffusing, DiffusionModel};
    /// let naphthalene = Diffusing { molar_volume: 147.6e-6, molar_mass: Some(128.17e-3) };
    /// // Ten times as fast as in liquids.
    /// let d = state.diffusion_coefficient(DiffusionModel::WilkeChang, naphthalene)?;
    /// assert!(d > 0.5e-8 && d < 3e-8);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn diffusion_coefficient(&self, model: DiffusionModel, solute: Diffusing) -> Result<f64> {
        model.diffusion_coefficient(&self.medium()?, solute)
    }

    /// Diffusion coefficient D in m2/s of a solute at infinite dilution by each law that what is known of the solute suffices
    /// for; their spread is a lower bound of their uncertainty. Errors as [`State::diffusion_coefficient`].
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// let state = State::from_tp(&fluid, 313.15, 150e5)?;
    /// use densepath_fluid::transport::diffusion::Diffusing;
    /// let of = |molar_mass| state.diffusion_estimates(Diffusing { molar_volume: 147.6e-6, molar_mass }).map(|laws| laws.len());
    /// // Some laws need the molar mass too.
    /// assert!(of(Some(128.17e-3))? > of(None)?);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn diffusion_estimates(&self, solute: Diffusing) -> Result<Vec<(DiffusionModel, f64)>> {
        let medium = self.medium()?;
        let known =
            |model: &&DiffusionModel| !model.asks_for_molar_mass() || solute.molar_mass.is_some();
        DiffusionModel::ALL
            .iter()
            .filter(known)
            .map(|model| Ok((*model, model.diffusion_coefficient(&medium, solute)?)))
            .collect()
    }

    /// How far the laws of [`State::diffusion_estimates`] lie apart, which tells the least that a coefficient is uncertain by;
    /// nothing where one law answers alone.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// let state = State::from_tp(&fluid, 313.15, 150e5)?;
    /// use densepath_fluid::transport::diffusion::Diffusing;
    /// // Several laws never agree: by how much is told.
    /// let naphthalene = Diffusing { molar_volume: 147.6e-6, molar_mass: Some(128.17e-3) };
    /// assert!(!state.diffusion_notices(naphthalene)?.is_empty());
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn diffusion_notices(&self, solute: Diffusing) -> Result<Vec<Notice>> {
        let mut estimates = self.diffusion_estimates(solute)?;
        estimates.sort_by(|one, other| one.1.total_cmp(&other.1));
        let (Some((slow, low)), Some((fast, high))) = (estimates.first(), estimates.last()) else {
            return Ok(Vec::new());
        };
        if slow == fast {
            return Ok(Vec::new());
        }
        let percent = |model: &DiffusionModel| rounded(100.0 * model.mean_deviation());
        let text = format!(
            "the laws of diffusion answer from {} m2/s ({}, off by {} % on average) to {} m2/s ({}, {} %): take no single one for \
             certain",
            rounded(*low),
            slow.name(),
            percent(slow),
            rounded(*high),
            fast.name(),
            percent(fast)
        );
        let notice = Notice::new(NoticeCode::Estimated, text).about(Quantity::DiffusionCoefficient);
        Ok(vec![notice])
    }

    /// The fluid as the medium of diffusion.
    fn medium(&self) -> Result<Medium> {
        let state = self.of_model();
        let solvent = match state.mixture() {
            Some(mixture) => mixture.solvent()?,
            None => state.solvent()?,
        };
        Ok(Medium {
            temperature: state.temperature(),
            density: state.density(),
            dynamic_viscosity: state.dynamic_viscosity()?,
            solvent,
        })
    }

    /// A substance as a solvent.
    fn solvent(&self) -> Result<Solvent> {
        let known = self.model(Quantity::DiffusionCoefficient, |record| {
            record.diffusion_solvent.as_ref()
        })?;
        let critical = self.fluid().critical_point()?;
        let molar_mass = self.fluid().molar_mass();
        Ok(Solvent {
            associated_molar_mass: known.association_factor * molar_mass,
            molar_mass,
            molar_volume: known.molar_volume,
            critical_temperature: critical.temperature,
            critical_volume: known
                .critical_volume
                .unwrap_or(molar_mass / critical.density),
        })
    }

    /// The model of a property, error 202 if there is none.
    fn model<T>(
        &self,
        property: Quantity,
        of: impl Fn(&'static FluidRecord) -> Option<&'static T>,
    ) -> Result<&'static T> {
        model(self.fluid(), property, of)
    }

    /// Error 301 for several phases, 303 for a solid.
    pub(super) fn refuse_phases(&self, property: Quantity) -> Result<()> {
        if self.is_one_phase() {
            return Ok(());
        }
        Err(self.not_one_fluid(property))
    }

    /// Error 301 for two phases, 102 outside the range of a model.
    fn inside(&self, property: Quantity, valid: &Range, model: &str) -> Result<()> {
        self.refuse_phases(property)?;
        self.in_range(valid, model)
    }

    /// Error 102 outside the range of a model.
    pub(super) fn in_range(&self, valid: &Range, model: &str) -> Result<()> {
        in_range(
            self.fluid(),
            self.temperature(),
            self.pressure(),
            valid,
            model,
        )
    }
}

/// Error 102 for a temperature in K and a pressure in Pa outside the range of a model.
pub(super) fn in_range(
    fluid: &Fluid,
    temperature: f64,
    pressure: f64,
    valid: &Range,
    model: &str,
) -> Result<()> {
    let admitted = fluid.admitted(*valid);
    let (low, high) = (admitted.temperature_min, admitted.temperature_max);
    within(Quantity::Temperature, temperature, low, high, model)?;
    let highest = admitted.pressure_max;
    within(Quantity::Pressure, pressure, 0.0, highest, model)?;
    Ok(())
}

/// What is needed where a fluid has no model of a property.
pub(super) const NO_MODEL: &str = "no model of it is known for this fluid";

/// The model of a property in the record of a fluid, error 202 if there is none.
pub(super) fn model<T>(
    fluid: &Fluid,
    property: Quantity,
    of: impl Fn(&'static FluidRecord) -> Option<&'static T>,
) -> Result<&'static T> {
    fluid
        .record()
        .ok()
        .and_then(of)
        .ok_or_else(|| Error::MissingModel {
            property,
            fluid: fluid.name().to_owned(),
            need: NO_MODEL,
        })
}

/// Relative standard uncertainty stated for a property of this module at a state; nothing for other properties.
///
/// That of the refractive index is relative to n - 1.
///
/// ```
/// # use densepath_fluid::{Fluid, State};
/// # let fluid = Fluid::new("carbon dioxide")?;
/// let state = State::from_tp(&fluid, 313.15, 150e5)?;
/// use densepath_fluid::{Quantity, transport::relative_uncertainty};
/// assert!(relative_uncertainty(&state, Quantity::DynamicViscosity).is_some_and(|u| u > 0.0 && u < 0.1));
/// // A density is no property of transport.
/// assert_eq!(relative_uncertainty(&state, Quantity::Density), None);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
pub fn relative_uncertainty(state: &State, property: Quantity) -> Option<f64> {
    if let Some(mixture) = state.mixture() {
        return mixture.relative_uncertainty(property);
    }
    let record = state.fluid().record().ok()?;
    // The tension between liquid and vapour is stated with the liquid.
    let phase = state.phase().fluid().unwrap_or(FluidPhase::Liquid);
    let (temperature, pressure) = (state.temperature(), state.pressure());
    let at = |valid: &Range, uncertainty: &RegionalUncertainty| {
        let stated = valid.contains(temperature, pressure);
        stated.then(|| uncertainty.at(temperature, pressure, phase))
    };
    macro_rules! of {
        ($block:ident) => {{
            let model = record.$block.as_ref()?;
            at(&model.valid, &model.uncertainty)
        }};
    }
    match property {
        Quantity::DynamicViscosity => of!(viscosity),
        Quantity::ThermalConductivity => of!(thermal_conductivity),
        Quantity::RelativePermittivity => of!(relative_permittivity),
        Quantity::RefractiveIndex => of!(refractivity),
        Quantity::SurfaceTension => of!(surface_tension),
        Quantity::DiffusionCoefficient => Some(RELATIVE_UNCERTAINTY),
        _ => None,
    }
}

impl Fluid {
    /// Surface tension gamma in N/m between liquid and vapour in equilibrium at a temperature T in K.
    ///
    /// *Valid*: from the triple point to the critical point; error 302 outside, 202 for a fluid without a model.
    /// *Uncertainty* and *Source*: of the record, which tells an estimate by corresponding states from a measured line; of most
    /// Mulero, Cachadiña, Parra, J. Phys. Chem. Ref. Data 41, 043105 (2012), doi 10.1063/1.4768782, 5 % (k = 2; common practice,
    /// no source).
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// // It vanishes towards the critical point.
    /// assert!(fluid.surface_tension(300.0)? < fluid.surface_tension(250.0)?);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn surface_tension(&self, temperature: f64) -> Result<f64> {
        let record = model(self, Quantity::SurfaceTension, |record| {
            record.surface_tension.as_ref()
        })?;
        record.surface_tension(temperature)
    }
}

impl Saturation {
    /// Surface tension gamma in N/m between the two phases; as [`Fluid::surface_tension`].
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// assert_eq!(fluid.saturation_at_temperature(250.0)?.surface_tension()?, fluid.surface_tension(250.0)?);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn surface_tension(&self) -> Result<f64> {
        self.liquid.fluid().surface_tension(self.temperature)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::{BAR, from_celsius};
    use proptest::prelude::*;

    fn co2() -> Fluid {
        Fluid::new("carbon dioxide").unwrap()
    }

    /// CoolProp 8.0.0 at T (degC) and p (bar): eta in Pa s, lambda in W/(m K). Its viscosity is up to 2e-6 higher because of
    /// other constants, and the enhancement of the conductivity with it.
    #[test]
    fn agrees_with_an_independent_implementation() {
        for (degc, bar, eta, lambda) in STATES {
            let state = State::from_tp(&co2(), from_celsius(degc), bar * BAR).unwrap();
            let got = state.dynamic_viscosity().unwrap();
            assert!((got / eta - 1.0).abs() < 2e-6, "{degc} {bar} {got}");
            let got = state.thermal_conductivity().unwrap();
            assert!((got / lambda - 1.0).abs() < 2e-6, "{degc} {bar} {got}");
        }
    }

    const STATES: [(f64, f64, f64, f64); 14] = [
        (5.0, 60.0, 9.738833430951799e-05, 0.10726148803624062),
        (-40.0, 20.0, 0.00019469785613926934, 0.15769491948735018),
        (10.0, 150.0, 0.00010798123709059395, 0.11545883434999021),
        (25.0, 64.0, 1.949256280288009e-05, 0.04482028355610642),
        (31.2, 74.0, 2.6499301219498365e-05, 0.11638048208691863),
        (35.0, 80.0, 2.916097968914608e-05, 0.08490843132029124),
        (40.0, 1.0, 1.562997012292009e-05, 0.01778929180541468),
        (40.0, 100.0, 4.765199145869375e-05, 0.07186664086787903),
        (40.0, 150.0, 6.846172890423862e-05, 0.08533488088572641),
        (60.0, 150.0, 4.5881634924203386e-05, 0.06638760378000488),
        (60.0, 400.0, 9.062510574750313e-05, 0.10484249426396247),
        (100.0, 200.0, 3.670919738790364e-05, 0.05505066927648643),
        (150.0, 300.0, 3.9894476248635114e-05, 0.05782508577835985),
        (200.0, 600.0, 5.682962384552845e-05, 0.07595897104148511),
    ];

    /// Independent computation with CoolProp 8.0.0: benzene (V = 96.0 cm3/mol) at 40 degC and 100 bar, 2.08601e-8 m2/s.
    #[test]
    fn diffusion_follows_from_the_state() {
        let benzene = Diffusing {
            molar_volume: 96e-6,
            molar_mass: None,
        };
        let state = State::from_tp(&co2(), 313.15, 10e6).unwrap();
        let d = state.diffusion_coefficient(DiffusionModel::WilkeChang, benzene);
        assert!((d.unwrap() / 2.08601e-8 - 1.0).abs() < 1e-5);
        assert_eq!(state.diffusion_estimates(benzene).unwrap().len(), 3);
        let notices = state.diffusion_notices(benzene).unwrap();
        assert_eq!(notices.len(), 1);
        assert_eq!(notices[0].code, NoticeCode::Estimated);
        let laws = state.diffusion_estimates(benzene).unwrap();
        let fastest = laws.iter().map(|law| law.1).fold(0.0, f64::max);
        assert!(
            notices[0].text.contains(&rounded(fastest)),
            "{}",
            notices[0].text
        );
        let gas = State::from_tp(&co2(), 313.15, 1e6).unwrap();
        let error = gas.diffusion_estimates(benzene).unwrap_err();
        assert_eq!(
            (error.code(), error.quantity()),
            (102, Some(Quantity::Density))
        );
    }

    #[test]
    fn ranges_and_phases_are_kept() {
        let fluid = co2();
        let at = |temperature, pressure| State::from_tp(&fluid, temperature, pressure).unwrap();
        assert_eq!(
            at(800.0, 7.9e8).dynamic_viscosity().unwrap_err().code(),
            102
        );
        assert!(at(800.0, 1e7).dynamic_viscosity().is_ok());
        assert_eq!(
            at(400.0, 3e8).thermal_conductivity().unwrap_err().code(),
            102
        );
        assert_eq!(
            at(600.0, 1e7).relative_permittivity().unwrap_err().code(),
            102
        );
        assert_eq!(
            at(300.0, 1e7).refractive_index_at(3e-6).unwrap_err().code(),
            102
        );
        let two = State::from_t_rho(&fluid, 280.0, 400.0).unwrap();
        assert_eq!(two.dynamic_viscosity().unwrap_err().code(), 301);
        assert_eq!(two.refractive_index().unwrap_err().code(), 301);
        let saturation = fluid.saturation_at_temperature(280.0).unwrap();
        assert!((saturation.surface_tension().unwrap() - 0.00327734).abs() < 5e-9);
        let state = at(313.15, 15e6);
        assert_eq!(
            relative_uncertainty(&state, Quantity::ThermalConductivity),
            Some(0.025)
        );
        assert_eq!(relative_uncertainty(&state, Quantity::Density), None);
    }

    /// The conductivity grows without bound towards the critical point and is refused where it is infinite.
    #[test]
    fn the_critical_point_is_no_trap() {
        let fluid = co2();
        let critical = fluid.critical_point().unwrap();
        let mut before = 0.0;
        for offset in [3.0, 1.0, 0.1, 0.01, 1e-3, 1e-5] {
            let temperature = critical.temperature + offset;
            let state = State::from_t_rho(&fluid, temperature, critical.density).unwrap();
            let lambda = state.thermal_conductivity().unwrap();
            assert!(lambda > before, "{offset} {lambda}");
            before = lambda;
        }
        let state = State::from_t_rho(&fluid, critical.temperature, critical.density).unwrap();
        match state.thermal_conductivity() {
            Ok(lambda) => assert!(lambda > before, "{lambda}"),
            Err(error) => assert_eq!(error.code(), 101),
        }
    }

    proptest! {
        #[test]
        fn properties_are_finite_and_in_order(temperature in 217.0..490.0f64, log_pressure in 4.0..7.6f64) {
            let state = State::from_tp(&co2(), temperature, 10f64.powf(log_pressure));
            prop_assume!(!matches!(state, Err(Error::Solid { .. })));
            let state = state.unwrap();
            let eta = state.dynamic_viscosity().unwrap();
            prop_assert!((9e-6..1e-3).contains(&eta));
            prop_assert!((state.kinematic_viscosity().unwrap() * state.density() / eta - 1.0).abs() < 1e-15);
            prop_assert!((8e-3..10.0).contains(&state.thermal_conductivity().unwrap()));
            // Without dipole and far from infrared bands n^2 is a little below epsilon_r.
            let (n, epsilon) = (state.refractive_index().unwrap(), state.relative_permittivity().unwrap());
            prop_assert!(1.0 < n && n * n < epsilon, "{n} {epsilon}");
        }
    }
}
