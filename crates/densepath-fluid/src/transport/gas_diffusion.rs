//! Diffusion of a solute at infinite dilution in thin gas, where the laws of [`super::diffusion`] end.
//!
//! *Source*: Fuller, Schettler, Giddings, Ind. Eng. Chem. 58 (5), 18 (1966), doi 10.1021/ie50677a007, with the diffusion volumes of
//! Fuller, Ensley, Giddings, J. Phys. Chem. 73, 3679 (1969), doi 10.1021/j100845a020; a mixture of gases by Blanc, J. Phys. Theor.
//! Appl. 7, 825 (1908); all constants from memory, those of carbon dioxide, nitrogen, water, carbon and hydrogen as public
//! implementations have them too.

#[cfg(not(feature = "std"))]
use crate::prelude::*;

use crate::consts::{MOLAR_GAS_CONSTANT, STANDARD_ATMOSPHERE};
use crate::error::{Error, Result, positive, within};
use crate::fluids::{self, FluidRecord};
use crate::quantity::Quantity;
use crate::state::State;

/// Density over the critical one above which the law is refused. There the product of density and diffusion coefficient of hard spheres
/// is some 4 % below that of the thin gas (Enskog, a bound chosen by this library). It is 47 kg/m3 in carbon dioxide.
pub const REDUCED_DENSITY_MAX: f64 = 0.1;

/// Relative standard uncertainty of a diffusion coefficient in gas: an estimate. The authors found 4 % on average in the pairs of their
/// fit (from memory); small polar solutes in carbon dioxide may be 25 % off.
pub const RELATIVE_UNCERTAINTY: f64 = 0.10;

/// Symbol, molar mass in g/mol (IUPAC 2021, abridged, from memory) and diffusion volume in cm3/mol of atoms.
const ATOMS: [(&str, f64, f64); 9] = [
    ("C", 12.011, 15.9),
    ("H", 1.008, 2.31),
    ("O", 15.999, 6.11),
    ("N", 14.007, 4.54),
    ("F", 18.998, 14.7),
    ("Cl", 35.45, 21.0),
    ("Br", 79.904, 21.9),
    ("I", 126.90, 29.8),
    ("S", 32.06, 22.9),
];
/// What an aromatic or heterocyclic ring takes from the sum, in cm3/mol.
const RING: f64 = 18.3;
/// Formula and diffusion volume in cm3/mol of gases that have their own.
const GASES: [(&str, f64); 11] = [
    ("CO2", 26.9),
    ("N2", 18.5),
    ("He", 2.67),
    ("Ar", 16.2),
    ("Xe", 32.7),
    ("O2", 16.3),
    ("N2 + O2 + Ar", 19.7),
    ("N2O", 35.9),
    ("NH3", 20.7),
    ("H2O", 13.1),
    ("SF6", 71.3),
];
/// Substances of the library with an aromatic or heterocyclic ring.
const WITH_RING: [&str; 3] = ["toluene", "tetrahydrofuran", "1,4-dioxane"];

/// A molecule as the law of diffusion in gas sees it.
///
/// ```
/// use densepath_fluid::transport::gas_diffusion::GasMolecule;
/// let benzene = GasMolecule::of_formula("C6H6", 1)?;
/// assert!((benzene.diffusion_volume - (6.0 * (15.9 + 2.31) - 18.3) * 1e-6).abs() < 1e-12);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GasMolecule {
    /// Molar mass M in kg/mol.
    pub molar_mass: f64,
    /// Diffusion volume, the sum of those of its atoms and rings, in m3/mol.
    pub diffusion_volume: f64,
}

impl GasMolecule {
    /// From a formula, such as "C10H8", and the number of its aromatic and heterocyclic rings.
    ///
    /// *Valid*: atoms of C, H, O, N, F, Cl, Br, I and S. Error 104 for another formula, or rings that leave no volume.
    ///
    /// ```
    /// use densepath_fluid::transport::gas_diffusion::GasMolecule;
    /// let naphthalene = GasMolecule::of_formula("C10H8", 2)?;
    /// assert!((naphthalene.molar_mass - 128.174e-3).abs() < 1e-6);
    /// assert_eq!(GasMolecule::of_formula("C10Q8", 2).unwrap_err().code(), 104);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn of_formula(formula: &str, rings: u32) -> Result<Self> {
        let refused = || Error::Argument {
            argument: "formula".to_owned(),
            expected: "atoms of C, H, O, N, F, Cl, Br, I and S with their numbers, such as C10H8",
            got: format!("{formula} with {rings} rings"),
        };
        let (mut mass, mut volume) = (0.0, -RING * f64::from(rings));
        let mut rest = formula;
        while !rest.is_empty() {
            let (atom, behind) = atom(rest).ok_or_else(refused)?;
            let digits = behind.len()
                - behind
                    .trim_start_matches(|c: char| c.is_ascii_digit())
                    .len();
            let (count, behind) = behind.split_at(digits);
            let count: u16 = if count.is_empty() {
                1
            } else {
                count.parse().map_err(|_| refused())?
            };
            mass += f64::from(count) * atom.1;
            volume += f64::from(count) * atom.2;
            rest = behind;
        }
        if mass > 0.0 && volume > 0.0 {
            return Ok(Self {
                molar_mass: mass * 1e-3,
                diffusion_volume: volume * 1e-6,
            });
        }
        Err(refused())
    }

    /// A substance of the library.
    fn of_record(record: &FluidRecord, molar_mass: f64) -> Result<Self> {
        let mut known = GASES.iter();
        if let Some((_, volume)) = known.find(|(formula, _)| *formula == record.formula) {
            return Ok(Self {
                molar_mass,
                diffusion_volume: volume * 1e-6,
            });
        }
        let rings = WITH_RING.contains(&record.name.as_str());
        Self::of_formula(&record.formula, u32::from(rings))
    }
}

/// The atom at the beginning of a formula, and what stands behind it.
fn atom(formula: &str) -> Option<(&'static (&'static str, f64, f64), &str)> {
    let found = ATOMS
        .iter()
        .filter_map(|atom| Some((atom, formula.strip_prefix(atom.0)?)));
    found.max_by_key(|(atom, _)| atom.0.len())
}

/// Diffusion coefficient D in m2/s of a solute at a temperature T in K in a gas of a molar density in mol/m3:
/// `D = 1.00e-3 T^1.75 sqrt(1/M_a + 1/M_b)/(p (v_a^(1/3) + v_b^(1/3))^2)` in cm2/s, g/mol, atm and cm3/mol, with the pressure of the ideal
/// gas of that density.
///
/// *Valid*: thin gas. *Uncertainty*: see [`RELATIVE_UNCERTAINTY`]. *Source*: see the module. *Errors*: 101 if an argument is not positive.
///
/// ```
/// use densepath_fluid::transport::gas_diffusion::{GasMolecule, fuller};
/// let helium = GasMolecule { molar_mass: 4.0026e-3, diffusion_volume: 2.67e-6 };
/// let nitrogen = GasMolecule { molar_mass: 28.0134e-3, diffusion_volume: 18.5e-6 };
/// // 0.687 cm2/s were measured at 298.2 K and 1 atm (common tables, from memory).
/// let found = fuller(298.2, 101_325.0 / (8.314 * 298.2), nitrogen, helium)?;
/// assert!((found / 0.687e-4 - 1.0).abs() < 0.05);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
pub fn fuller(
    temperature: f64,
    molar_density: f64,
    gas: GasMolecule,
    solute: GasMolecule,
) -> Result<f64> {
    let t = positive(Quantity::Temperature, temperature)?;
    let n = positive(Quantity::MolarDensity, molar_density)?;
    let of = |molecule: GasMolecule| {
        let grams = 1e3 * positive(Quantity::MolarMass, molecule.molar_mass)?;
        let volume = 1e6 * positive(Quantity::MolarVolume, molecule.diffusion_volume)?;
        Ok((1.0 / grams, volume.cbrt()))
    };
    let ((one, radius), (other, other_radius)) = (of(gas)?, of(solute)?);
    let atmospheres = n * MOLAR_GAS_CONSTANT * t / STANDARD_ATMOSPHERE;
    let size = (radius + other_radius) * (radius + other_radius);
    Ok(1e-4 * 1.0e-3 * t.powf(1.75) * (one + other).sqrt() / (atmospheres * size))
}

impl State {
    /// Diffusion coefficient D in m2/s of a solute at infinite dilution in the gas of this state, by [`fuller`]; in a mixture of gases
    /// `1/D` is the mean of those of its substances by amount.
    ///
    /// *Valid* up to [`REDUCED_DENSITY_MAX`] of the critical density; error 102 above, 301 for two phases. *Uncertainty*: see
    /// [`RELATIVE_UNCERTAINTY`].
    ///
    /// ```
    /// use densepath_fluid::{Fluid, State, transport::gas_diffusion::GasMolecule};
    /// let co2 = Fluid::new("carbon dioxide")?;
    /// let solute = GasMolecule::of_formula("C10H8", 2)?;
    /// let at = |pressure| State::from_tp(&co2, 373.15, pressure)?.gas_diffusion_coefficient(solute);
    /// // A thousand times as fast as in the dense fluid, and in proportion to the volume.
    /// assert!((6e-6..12e-6).contains(&at(1e5)?));
    /// assert!((at(1e5)? / at(2e5)? - 2.0).abs() < 0.01);
    /// assert_eq!(at(100e5).unwrap_err().code(), 102);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn gas_diffusion_coefficient(&self, solute: GasMolecule) -> Result<f64> {
        let state = self.of_model();
        state.refuse_phases(Quantity::DiffusionCoefficient)?;
        let fluid = state.fluid();
        let composition = fluid.composition();
        let molar_density = state.density() / fluid.molar_mass();
        let (mut critical_volume, mut resistance) = (0.0, 0.0);
        let parts = composition
            .amount_fractions()
            .iter()
            .zip(composition.molar_masses());
        for ((x, molar_mass), name) in parts.zip(fluid.substances()) {
            if *x > 0.0 {
                let record = fluids::record(fluids::find(name)?)?;
                let gas = GasMolecule::of_record(record, *molar_mass)?;
                critical_volume += x * critical_volume_of(record)?;
                resistance += x / fuller(state.temperature(), molar_density, gas, solute)?;
            }
        }
        let highest = REDUCED_DENSITY_MAX / critical_volume * fluid.molar_mass();
        let law = "the law of diffusion in gas";
        within(Quantity::Density, state.density(), 0.0, highest, law)?;
        Ok(1.0 / resistance)
    }
}

/// Critical molar volume in m3/mol of a substance; by the cubic equation `0.3074 R T_c/p_c` where no other is known.
fn critical_volume_of(record: &FluidRecord) -> Result<f64> {
    if let Some(equation) = &record.equation_of_state {
        return Ok(1.0 / equation.critical_point.molar_density);
    }
    let cubic = record.cubic.as_ref().ok_or_else(|| Error::MissingModel {
        property: Quantity::MolarVolume,
        fluid: record.name.clone(),
        need: "a critical point",
    })?;
    Ok(0.3074 * MOLAR_GAS_CONSTANT * cubic.critical_temperature / cubic.critical_pressure)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::state::{Fluid, substances};

    fn gas(name: &str) -> GasMolecule {
        let record = fluids::record(fluids::find(name).unwrap()).unwrap();
        GasMolecule::of_record(record, Fluid::new(name).unwrap().molar_mass()).unwrap()
    }

    /// Scores against measurements at 1 atm of common tables, from memory: T in K, D in cm2/s, and the share of it that the law gives. None is
    /// asserted to be right; without the alcohol the mean deviation is 3 %, near the 4 % of the authors.
    #[test]
    fn scores_against_common_tables() {
        let mut deviation = 0.0;
        for (one, other, temperature, measured, share) in SCORES {
            let n = STANDARD_ATMOSPHERE / (MOLAR_GAS_CONSTANT * temperature);
            let found = fuller(temperature, n, gas(one), gas(other)).unwrap();
            let ratio = found / (measured * 1e-4);
            assert!((ratio - share).abs() < 0.001, "{one} in {other}: {ratio}");
            let turned = fuller(temperature, n, gas(other), gas(one)).unwrap();
            assert_eq!(turned, found);
            if one != "methanol" {
                deviation += (ratio - 1.0).abs() / 7.0;
            }
        }
        assert!(deviation < 0.04, "{deviation}");
    }

    const SCORES: [(&str, &str, f64, f64, f64); 8] = [
        ("helium", "nitrogen", 298.2, 0.687, 1.024),
        ("helium", "carbon dioxide", 298.0, 0.612, 0.949),
        ("nitrogen", "carbon dioxide", 298.2, 0.167, 0.973),
        ("carbon dioxide", "air", 293.15, 0.160, 0.957),
        ("helium", "air", 293.15, 0.697, 0.951),
        ("argon", "air", 293.15, 0.189, 0.980),
        ("water", "air", 293.15, 0.242, 1.007),
        ("methanol", "carbon dioxide", 298.6, 0.105, 1.256),
    ];

    /// Independent computation of naphthalene in carbon dioxide at 373.15 K and 40 mol/m3.
    #[test]
    fn the_law_follows_its_equation() {
        let solute = GasMolecule::of_formula("C10H8", 2).unwrap();
        let volume: f64 = 10.0 * 15.9 + 8.0 * 2.31 - 2.0 * 18.3;
        let atmospheres = 40.0 * 8.314_462_618 * 373.15 / 101_325.0;
        let size = volume.cbrt() + 26.9_f64.cbrt();
        let expected = 1e-7 * 373.15_f64.powf(1.75) * (1.0 / 128.174 + 1.0 / 44.0098_f64).sqrt()
            / (atmospheres * size * size);
        let found = fuller(373.15, 40.0, gas("carbon dioxide"), solute).unwrap();
        assert!((found / expected - 1.0).abs() < 1e-9);
    }

    /// Each substance is known, mixed gases lie between, and a shifted volume changes nothing.
    #[test]
    fn states_of_gas_have_it() {
        let solute = GasMolecule::of_formula("C6H6", 1).unwrap();
        let at = |fluid: &Fluid, pressure| {
            State::from_tp(fluid, 420.0, pressure)?.gas_diffusion_coefficient(solute)
        };
        for fluid in substances().unwrap() {
            if fluid.range().contains(420.0, 2e4) {
                let found = at(fluid, 2e4);
                assert!(found.is_ok_and(|d| d > 1e-5), "{}", fluid.name());
            }
        }
        let mixed = |x| Fluid::mixture(&[("carbon dioxide", 1.0 - x), ("methanol", x)]).unwrap();
        let [co2, half, methanol] = [0.0, 0.5, 1.0].map(|x| at(&mixed(x), 2e4).unwrap());
        assert!(co2.min(methanol) < half && half < co2.max(methanol));
        let shifted = mixed(0.5).with_volume_shift(1e-5).unwrap();
        assert_eq!(at(&shifted, 2e4).unwrap(), half);
        let dense = at(&mixed(0.0), 15e6).unwrap_err();
        assert_eq!(
            (dense.code(), dense.quantity()),
            (102, Some(Quantity::Density))
        );
        let wet = State::from_tp(&mixed(0.5), 300.0, 1e6).unwrap();
        assert_eq!(
            wet.gas_diffusion_coefficient(solute).unwrap_err().code(),
            301
        );
    }

    #[test]
    fn formulas_are_read_or_refused() {
        let chloroform = GasMolecule::of_formula("CHCl3", 0).unwrap();
        assert!((chloroform.molar_mass - 119.369e-3).abs() < 1e-6);
        assert!((chloroform.diffusion_volume - 81.21e-6).abs() < 1e-12);
        for (formula, rings) in [
            ("", 0),
            ("c6h6", 1),
            ("C6H6 ", 1),
            ("C99999", 0),
            ("CH4", 2),
            ("2H", 0),
            ("C0", 0),
        ] {
            assert_eq!(
                GasMolecule::of_formula(formula, rings).unwrap_err().code(),
                104,
                "{formula}"
            );
        }
    }
}
