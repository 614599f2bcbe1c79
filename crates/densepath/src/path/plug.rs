//! The plug of the sample on its way to the column: whether its solvent and the mobile phase stay one phase at every degree of
//! mixing.

use fluid::notice::rounded;
use fluid::units::{BAR, to_celsius};
use fluid::{Fluid, Notice, NoticeCode, Quantity, Result, State};

use super::march::{Part, Pass};
use super::phases::THIN;
use super::source::SourceReport;
use crate::fluid;
use crate::hardware::{Fact, PlugPhase, Role, plug_phases};

/// Words of the result.
const MARGIN: &str = "pressure of the sample plug above its second phase";
/// Degrees of mixing looked at, from the mobile phase to the solvent.
const STEPS: u32 = 9;

/// Facts and notices of a plug whose solvent the injector names: behind the injector, and where the plug enters the column.
pub(super) fn report(parts: &[Part], passes: &[Pass], report: &mut SourceReport) {
    let injected = parts.iter().zip(passes).find_map(|(part, pass)| {
        let solvent = part.element.sample_solvent()?;
        Some((solvent, &pass.name, pass.outlet.stream.state.clone()))
    });
    let Some((solvent, injector, behind)) = injected else {
        return;
    };
    tell(solvent, injector, &behind, report);
    for (column, entering) in entering_columns(parts, passes) {
        if let Ok(entering) = entering {
            tell(solvent, column, &entering, report);
        }
    }
}

/// The mobile phase at the first place of the first column of each line behind the injection, at the temperature that it has there.
fn entering_columns<'a>(parts: &[Part], passes: &'a [Pass]) -> Vec<(&'a str, Result<State>)> {
    let mut found = Vec::new();
    for (part, pass) in parts.iter().zip(passes) {
        if part.element.role() == Role::Column && pass.injected_share.is_some() {
            found.extend(entering(pass).map(|state| (pass.name.as_str(), state)));
            return found;
        }
        found.extend(entering_columns(&part.branch, &pass.branch));
    }
    found
}

fn entering(column: &Pass) -> Option<Result<State>> {
    let place = column.outlet.profile.first()?;
    let fluid = column.inlet.state.fluid();
    let state = State::from_tp(fluid, place.temperature, place.pressure);
    Some(state)
}

fn tell(solvent: &Fluid, part: &str, mobile_phase: &State, report: &mut SourceReport) {
    let place = format!(
        "at {} degC and {} bar(a)",
        rounded(to_celsius(mobile_phase.temperature())),
        rounded(mobile_phase.pressure() / BAR),
    );
    let solvent_name = solvent.name();
    match plug_phases(mobile_phase, solvent, STEPS) {
        Ok(phases) => {
            let margin = smallest_margin(&phases);
            let fact = margin.map(|margin| Fact::new(MARGIN, Quantity::SinglePhaseMargin, margin));
            let near = margin.filter(|margin| *margin < THIN);
            let notice = split(&phases, solvent_name, &place)
                .or_else(|| near.map(|margin| thin(margin, solvent_name, &place)));
            report.add(part, fact.into_iter().collect(), notice.as_slice());
        }
        Err(error) => {
            let text = format!(
                "whether the plug of {solvent_name} stays one phase {place} could not be told: {error}"
            );
            let notice = Notice::new(NoticeCode::TwoPhases, text);
            report.add(part, Vec::new(), &[notice]);
        }
    }
}

/// The smallest distance in Pa of the plug from a second phase, where it is told at every degree of mixing.
fn smallest_margin(phases: &[PlugPhase]) -> Option<f64> {
    let margins: Option<Vec<f64>> = phases.iter().map(|at| at.single_phase_margin).collect();
    margins?.into_iter().min_by(f64::total_cmp)
}

fn thin(margin: f64, solvent: &str, place: &str) -> Notice {
    let text = format!(
        "the plug of {solvent} comes within {} bar of a second phase {place}. Keep {} bar at least (common practice): raise the \
         pressure, or use a solvent that mixes better",
        rounded(margin / BAR),
        rounded(THIN / BAR),
    );
    Notice::new(NoticeCode::ThinMargin, text).about(Quantity::SinglePhaseMargin)
}

/// The doubt about a plug that parts at some degree of mixing.
fn split(phases: &[PlugPhase], solvent: &str, place: &str) -> Option<Notice> {
    let parted: Vec<f64> = phases
        .iter()
        .filter(|at| !at.state.is_one_phase())
        .map(|at| at.solvent_fraction)
        .collect();
    let (least, most) = (parted.first()?, parted.last()?);
    let text = format!(
        "the plug of {solvent} parts in two where it makes up {} to {} % of the volume, {place}: the sample may fall out and the \
         band splits or widens. Raise the pressure, inject less, or use a solvent that mixes",
        rounded(100.0 * least),
        rounded(100.0 * most),
    );
    Some(Notice::new(NoticeCode::TwoPhases, text).about(Quantity::SinglePhaseMargin))
}

#[cfg(test)]
mod tests {
    use super::super::tests::packed;
    use super::*;
    use crate::fluid::units::from_celsius;
    use crate::hardware::{
        BackPressureRegulator, CountedAt, PackedColumn, SampleLoop, Thermal, Tube,
    };
    use crate::path::{Path, Solution};

    /// The packed instrument with a sample in methanol, at a pressure held and a temperature of the oven.
    fn with_methanol(bar: f64, oven: f64) -> Solution {
        let mut path: Path = packed(CountedAt::Delivery);
        let thermal = Thermal::Isothermal {
            temperature: from_celsius(oven),
        };
        let injector = SampleLoop::new(10e-9, 30e-9)
            .unwrap()
            .with_solvent(Fluid::new("methanol").unwrap());
        let preheater = Tube::new(0.17e-3, 1.0, 1e-6).and_then(|tube| tube.with_thermal(thermal));
        let column = PackedColumn::new(4.6e-3, 0.05, 5e-6, 0.4, 0.7)
            .and_then(|column| column.with_thermal(thermal));
        path.parts[1] = Part::new("loop", injector);
        path.parts[3] = Part::new("preheater", preheater.unwrap());
        path.parts[4] = Part::new("column", column.unwrap());
        let regulator = BackPressureRegulator::new(bar * BAR).unwrap();
        path.parts[8] = Part::new("regulator", regulator);
        path.solutes.clear();
        path.solve().unwrap()
    }

    /// Carbon dioxide and methanol are one phase above their critical line, which passes some 82 bar at 40 degC and some 105 to
    /// 109 bar at 60 degC (E. Brunner, W. Hueltenschmidt and G. Schlichthaerle, J. Chem. Thermodyn. 19, 273 (1987),
    /// doi 10.1016/0021-9614(87)90135-2, from memory).
    #[test]
    fn a_plug_of_methanol_is_one_phase_above_the_critical_line() {
        let solution = with_methanol(150.0, 40.0);
        for part in ["loop", "column"] {
            let margin = solution.fact(part, MARGIN).unwrap();
            assert!(margin > 40.0 * BAR, "{part} {}", margin / BAR);
        }
        let told = |notice: &&Notice| notice.text.contains("the plug of");
        assert!(!solution.notices.iter().any(|notice| told(&notice)));
    }

    #[test]
    fn a_plug_of_methanol_parts_in_a_hot_column_below_it() {
        let solution = with_methanol(75.0, 60.0);
        assert!(solution.fact("column", MARGIN).is_none());
        let notice = solution
            .notices
            .iter()
            .find(|notice| notice.text.contains("the plug of"))
            .unwrap();
        assert_eq!(
            (notice.code, notice.station.as_str()),
            (NoticeCode::TwoPhases, "column")
        );
        // At the loop's 22 degC it is one phase: its liquid takes up all the carbon dioxide.
        assert!(solution.fact("loop", MARGIN).unwrap() > 0.0);
    }

    #[test]
    fn a_plug_that_just_mixes_is_told() {
        let solution = with_methanol(92.0, 60.0);
        let margin = solution.fact("column", MARGIN).unwrap();
        assert!(margin > 0.0 && margin < 5.0 * BAR, "{}", margin / BAR);
        let near = |notice: &&Notice| notice.code == NoticeCode::ThinMargin;
        assert!(
            solution
                .notices
                .iter()
                .find(near)
                .unwrap()
                .text
                .contains("the plug of")
        );
    }

    #[test]
    fn a_solvent_without_model_is_told_and_stops_nothing() {
        let mut path = packed(CountedAt::Delivery);
        let injector = SampleLoop::new(10e-9, 30e-9)
            .unwrap()
            .with_solvent(Fluid::new("sulfur hexafluoride").unwrap());
        path.parts[1] = Part::new("loop", injector);
        let solution = path.solve().unwrap();
        let told = solution
            .notices
            .iter()
            .filter(|notice| notice.text.contains("could not be told"));
        assert_eq!(told.count(), 2);
    }
}
