//! Invented pairs at which a search once failed, by the parameters that chance gave them.

use super::isothermal::tests::lines_are_equilibria;
use super::locus::tests::lines_pass_through_critical_points;
use super::samples::cubic_substance;
use super::stability;
use crate::eos::cubic::{Cubic, Interaction};

/// The equation of Peng and Robinson for two invented substances, each by critical temperature in K, critical pressure in Pa and
/// acentric factor, with `k` and `l` of their interaction.
fn pair(substances: [(f64, f64, f64); 2], (k_0, l): (f64, f64)) -> Cubic {
    let of = |(t, p, omega)| cubic_substance(t, p, omega);
    Cubic::new("invented", substances.map(of).to_vec(), |_, _| {
        Interaction { k_0, k_1: 0.0, l }
    })
}

/// The critical line of two liquids runs between amount fractions of 0.19 and 0.28 and was not met at 0.1 and 0.3.
#[test]
fn a_line_of_two_liquids_is_met_though_its_composition_hardly_changes() {
    let model = pair(
        [
            (516.1117301727164, 6144400.679299421, 0.4634620248033516),
            (570.744257885288, 3006326.9031278803, 0.0),
        ],
        (0.15121527130250978, -0.0129467324186209),
    );
    lines_pass_through_critical_points(&model, 0.24176244100484423);
}

/// At 2.5 kPa the pressure of a density of the liquid has eight digits, and fugacity coefficients at that pressure had no more.
#[test]
fn lines_of_two_liquids_are_equilibria_at_low_pressure() {
    let model = pair(
        [
            (564.8567487588226, 14635929.97886485, 0.6486519303073177),
            (615.8162390673638, 14033427.96496688, 0.362282392396604),
        ],
        (0.05889266076420613, -0.026216212842759774),
    );
    lines_are_equilibria(&model, 286.2411603372676);
}

/// A step of a line led so far beyond three phases that the third could not be found from there.
#[test]
fn lines_end_at_three_phases_that_a_step_has_passed() {
    let model = pair(
        [
            (544.929523265332, 10420495.571314733, 0.6671326663872618),
            (595.2572463715687, 18121932.43944986, 0.03980703281273672),
        ],
        (0.25052258682381956, 0.013724047642283573),
    );
    lines_are_equilibria(&model, 406.59327736034976);
    let model = pair(
        [
            (507.6430472757975, 5996004.054046564, 0.10869133932677356),
            (513.430288012349, 16480365.749603193, -0.03451480888350192),
        ],
        (0.16482619392520442, 0.02356697185159173),
    );
    lines_are_equilibria(&model, 364.42997732751417);
}

/// Three phases lie between the last point of a line and the lowest pressure asked.
#[test]
fn lines_end_at_three_phases_before_the_lowest_pressure() {
    let model = pair(
        [
            (546.4146508734236, 6295800.3373612845, 0.6544204710075534),
            (691.6224665084086, 14082792.792204859, 0.22509457411331227),
        ],
        (0.19464673635048513, 0.02337188419286251),
    );
    lines_are_equilibria(&model, 278.9065441445312);
}

/// The liquid at the boiling of the second substance holds less of the first than the rounding of its own fraction.
#[test]
fn lines_begin_where_a_substance_hardly_dissolves() {
    let model = pair(
        [
            (264.5435614698732, 2000000.0, 0.0),
            (655.4747530699597, 13641072.741990764, 0.3428948729826748),
        ],
        (0.26539636164148167, 0.0),
    );
    lines_are_equilibria(&model, 399.28471764015427);
    let model = pair(
        [
            (306.03351366825024, 2662463.679659322, 0.5138428599123052),
            (666.8404612626525, 16331463.287614767, 0.672378546360237),
        ],
        (0.2241538441615985, 0.02934249714429322),
    );
    lines_are_equilibria(&model, 398.0206330758284);
}

/// The vapour lies on the line of the cold liquid beyond three phases: the third lies between both, near the vapour.
#[test]
fn a_third_phase_between_two_that_coexist_condemns_them() {
    let model = pair(
        [
            (359.41575522740544, 7159528.245568061, 0.04639685540542987),
            (539.0687130108736, 17204326.789998077, 0.5657833383379303),
        ],
        (0.08542183324274608, 0.018304273396828802),
    );
    let fraction = 0.14559730780751698;
    let (t, p) = (385.3909196716049, 8421655.791284908);
    let test = stability(&model, t, p, &[1.0 - fraction, fraction]).unwrap();
    assert!(!test.is_stable(), "{test:?}");
    lines_are_equilibria(&model, t);
}

/// Of the first substance the second liquid of the three phases holds less than the rounding of its own fraction.
#[test]
fn lines_end_at_three_phases_where_a_substance_hardly_dissolves() {
    let model = pair(
        [
            (494.9020951067863, 2075037.5609797097, 0.18675083668889889),
            (587.1662232665058, 16241156.476297678, 0.5013214854686846),
        ],
        (-0.010981785259750068, -0.027723302452917212),
    );
    lines_are_equilibria(&model, 266.4296800250289);
    let model = pair(
        [
            (535.4651086843569, 2503133.295671428, 0.022553677947062416),
            (558.506129760626, 19525366.65573116, 0.23443567295472637),
        ],
        (0.12169184441108176, -0.012131867264648703),
    );
    lines_are_equilibria(&model, 259.6344868627988);
}

/// Near the highest pressure the phases of a pair lie 1e-10 off their tangent plane by rounding.
#[test]
fn lines_of_two_liquids_lead_to_the_highest_pressure() {
    let model = pair(
        [
            (370.91618409574176, 10281189.813709468, 0.28674469040285505),
            (692.2910580669156, 10022894.499146037, 0.6989892693071555),
        ],
        (0.26297772726366636, -0.0146003997719836),
    );
    lines_are_equilibria(&model, 251.46800955222506);
}

/// Beside a critical point the imbalance of the fugacities rose once on its way down, and the phases were told as they stood,
/// with 6e-9 of it left and 8e-6 off in composition.
#[test]
fn phases_beside_a_critical_point_are_settled_to_the_last_digits() {
    let model = pair(
        [
            (405.6443758309657, 8412380.809521314, 0.4625717697351656),
            (561.8044744841169, 12643764.897125471, 0.292561214871925),
        ],
        (0.20086341181519243, 0.02584489886658718),
    );
    lines_are_equilibria(&model, 448.51386629504964);
}

/// A line of two liquids was followed past its three phases, where a liquid and the vapour are stable.
#[test]
fn a_line_of_two_liquids_ends_where_vapour_forms() {
    let model = pair(
        [
            (390.12905725129673, 9256272.122550733, 0.29245655525774794),
            (372.09969735761257, 18640741.47973982, 0.006479292783132627),
        ],
        (0.2560511431952598, 0.010443260847084319),
    );
    lines_are_equilibria(&model, 296.3917490023313);
}

/// Compositions of liquid and vapour differ by less than 0.001 over the last stretch, though the densities are still 14 % apart,
/// and a step passed the critical point.
#[test]
fn a_line_ends_at_a_critical_point_with_compositions_long_alike() {
    let model = pair(
        [
            (283.70183580635455, 12457904.294931378, 0.40644507709578237),
            (270.06100090565263, 8077050.976532944, 0.6883086442323957),
        ],
        (0.1456096988434781, 0.022469156858822732),
    );
    lines_are_equilibria(&model, 267.4448701337864);
}
