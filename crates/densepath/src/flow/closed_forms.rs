//! The closed forms of chromatography, each against arithmetic done elsewhere with fourteen digits.

use super::bands::{PLUG, largest_volume, peak_variance, variance};
use super::circular_area;
use super::dispersion::taylor_aris_coefficient;
use super::friction::{Wall, pressure_gradient};
use super::packed_bed::{KOZENY_CARMAN_CONSTANT, PackedBed};
use super::plate_height::{GolayColumn, Optimum, PackedPlateHeight};
use super::separation::{
    compressibility_correction, expected_resolution, plate_number_at_half_height,
    retardation_factor,
};
use crate::fluid::error::Result;

/// Pressure drop of laminar flow of a volume flow rate in m3/s; the density cancels.
fn laminar_drop(diameter: f64, length: f64, flow: f64, viscosity: f64) -> Result<f64> {
    let density = 800.0;
    let flux = density * flow / circular_area(diameter)?;
    let f = Wall::SMOOTH.friction_factor(flux * diameter / viscosity, diameter)?;
    Ok(length * pressure_gradient(density, diameter, flux, f.value)?)
}

/// Volume variance of the law of Taylor without Aris's term for diffusion along the tube.
fn taylor_volume_variance(diameter: f64, length: f64, flow: f64, diffusion: f64) -> Result<f64> {
    let area = circular_area(diameter)?;
    let velocity = flow / area;
    let shear = taylor_aris_coefficient(diffusion, diameter, velocity)? - diffusion;
    Ok(2.0 * shear * length / velocity * area * area)
}

fn golay_minimum(retention_factor: f64) -> Result<f64> {
    let column = GolayColumn {
        diameter: 5e-5,
        film_thickness: 0.0,
        film_diffusion_coefficient: 1.0,
    };
    Ok(column.optimum(1e-8, retention_factor)?.plate_height / 5e-5)
}

fn bed(particle_diameter: f64, porosity: f64) -> Result<PackedBed> {
    PackedBed::kozeny_carman(particle_diameter, porosity, KOZENY_CARMAN_CONSTANT)
}

fn permeability(particle_diameter: f64, porosity: f64) -> Result<f64> {
    bed(particle_diameter, porosity).map(|bed| bed.permeability())
}

fn resistance(particle_diameter: f64, porosity: f64) -> Result<f64> {
    bed(particle_diameter, porosity)?.flow_resistance(particle_diameter)
}

fn knox(eddy: f64, longitudinal: f64, transfer: f64) -> Result<Optimum> {
    PackedPlateHeight::Knox {
        eddy,
        longitudinal,
        transfer,
    }
    .optimum(1.0, 1.0)
}

fn van_deemter(eddy: f64, longitudinal: f64, transfer: f64) -> Result<f64> {
    let law = PackedPlateHeight::VanDeemter {
        eddy,
        longitudinal,
        transfer,
    };
    law.optimum(1e-8, 5e-6).map(|best| best.plate_height)
}

#[test]
fn closed_forms_agree_with_independent_arithmetic() {
    #[rustfmt::skip]
    let forms: [(Result<f64>, f64); 42] = [
            (variance(1e-09, PLUG), 8.3333333333333e-20),
            (variance(2e-09, PLUG), 3.3333333333333e-19),
            (variance(5e-09, PLUG), 2.0833333333333e-18),
            (variance(2e-10, PLUG), 3.3333333333333e-21),
            (largest_volume(peak_variance(2.5e-06, 10000.0, 0.0).unwrap(), 0.1 / 1.1, PLUG), 2.7386127875258e-08),
            (largest_volume(peak_variance(5e-08, 5000.0, 0.0).unwrap(), 0.1 / 1.1, PLUG), 7.7459666924148e-10),
            (laminar_drop(5e-05, 10.0, 1.66667e-11, 8e-05), 86919.993426893),
            (laminar_drop(5e-05, 1.0, 1.66667e-10, 0.001), 1086499.9178362),
            (laminar_drop(1e-05, 0.15, 3.33333e-11, 7e-05), 1426026.8640751),
            (laminar_drop(0.000127, 0.5, 1.66667e-08, 0.001), 1305163.2469485),
            (laminar_drop(6.5e-05, 0.25, 8.33333e-09, 9e-05), 427964.5229585),
            (taylor_volume_variance(0.00012, 0.6, 3.33333e-08, 8e-09), 4.2411458411961e-18),
            (taylor_volume_variance(5e-05, 0.3, 1.66667e-10, 1e-08), 2.5566397597454e-22),
            (GolayColumn { diameter: 5e-05, film_thickness: 0.0, film_diffusion_coefficient: 1.0 }.plate_height(1e-08, 0.01, 0.0), 2.8041666666667e-05),
            (GolayColumn { diameter: 0.0001, film_thickness: 5e-07, film_diffusion_coefficient: 5e-12 }.plate_height(2e-08, 0.02, 5.0), 0.00098000925925926),
            (GolayColumn { diameter: 0.00025, film_thickness: 0.0, film_diffusion_coefficient: 1.0 }.plate_height(1e-05, 0.03, 1.0), 0.00067545572916667),
            (golay_minimum(0.0), 0.28867513459481),
            (golay_minimum(1e12), 0.95742710775634),
            (permeability(5e-06, 0.4), 2.4691358024691e-14),
            (resistance(5e-06, 0.4), 1012.5),
            (permeability(3e-06, 0.38), 7.1373569198751e-15),
            (resistance(3e-06, 0.38), 1260.9709870243),
            (permeability(1.8e-06, 0.4), 3.2e-15),
            (resistance(1.8e-06, 0.4), 1012.5),
            (permeability(5e-06, 0.36), 1.58203125e-14),
            (resistance(5e-06, 0.36), 1580.2469135802),
            (knox(1.0, 2.0, 0.05).map(|best| best.velocity), 3.1133415997951),
            (knox(1.0, 2.0, 0.05).map(|best| best.plate_height), 2.2582521650567),
            (knox(0.5, 2.0, 0.02).map(|best| best.velocity), 5.1284192941851),
            (knox(0.5, 2.0, 0.02).map(|best| best.plate_height), 1.3547980816622),
            (knox(1.0, 2.0, 0.1).map(|best| best.velocity), 2.7153067346766),
            (knox(1.0, 2.0, 0.1).map(|best| best.plate_height), 2.4031987929722),
            (knox(2.0, 1.5, 0.05).map(|best| best.velocity), 1.7023437574594),
            (knox(2.0, 1.5, 0.05).map(|best| best.plate_height), 3.3543181558499),
            (van_deemter(5e-6, 3e-8, 2e-4), 9.8989794855664e-06),
            (expected_resolution(10000.0, 1.1, 2.0), 1.5151515151515),
            (expected_resolution(5000.0, 1.05, 5.0), 0.7014948226057),
            (compressibility_correction(1.01), 0.99501666611663),
            (compressibility_correction(2.0), 0.64285714285714),
            (plate_number_at_half_height(300.0, 6.0), 13862.943611199),
            (plate_number_at_half_height(120.0, 2.5), 12776.088832081),
            (retardation_factor(2.0), 0.33333333333333),
    ];
    for (index, (ours, expected)) in forms.into_iter().enumerate() {
        let ours = ours.unwrap();
        assert!(
            (ours / expected - 1.0).abs() < 1e-9,
            "{index}: {ours} against {expected}"
        );
    }
}
