//! What the states on the dense side give cause to doubt: a second phase near by, soft states, models out of their depth.

use fluid::notice::rounded;
use fluid::units::{BAR, to_celsius};
use fluid::{Notice, NoticeCode, Quantity};

use super::march::Part;
use super::solution::Station;
use crate::fluid;

/// Margin in Pa below which a second phase is too near (common practice, no source).
pub(super) const THIN: f64 = 5.0 * BAR;

/// How many parts stand before the one that holds the pressure.
pub(super) fn dense(parts: &[Part]) -> usize {
    let held = |part: &&Part| !part.element.holds_pressure();
    parts.iter().take_while(held).count()
}

/// Doubts about the stations on the dense side.
pub(super) fn notices(dense: &[&Station]) -> Vec<Notice> {
    let own = dense.iter().flat_map(|station| {
        let notices = station.state.notices().into_iter();
        notices.map(|notice| notice.at(&station.name))
    });
    let mut notices = merged(own);
    notices.extend(nearest_split(dense));
    notices
}

/// Notices of the same words told once, with all their stations.
fn merged(notices: impl Iterator<Item = Notice>) -> Vec<Notice> {
    let mut groups: Vec<(Notice, Vec<String>)> = Vec::new();
    for notice in notices {
        let same = |(known, _): &&mut (Notice, Vec<String>)| {
            (known.code, &known.text) == (notice.code, &notice.text)
        };
        if let Some((_, stations)) = groups.iter_mut().find(same) {
            stations.push(notice.station);
        } else {
            let stations = vec![notice.station.clone()];
            groups.push((notice, stations));
        }
    }
    let told = groups.into_iter().map(|(mut notice, stations)| {
        if stations.len() > 1 {
            notice.text = format!("at {}: {}", stations.join(", "), notice.text);
            notice.station.clear();
        }
        notice
    });
    told.collect()
}

/// The station that comes nearest to a second phase, if it comes too near.
fn nearest_split(dense: &[&Station]) -> Option<Notice> {
    let near = dense
        .iter()
        .filter(|station| !station.state.is_known_single_within(THIN));
    let margins = near.filter_map(|station| Some((station, station.single_phase_margin()?)));
    // The margin of a vapour is negative, and counts from the dew point.
    let (station, margin) = margins.min_by(|one, other| one.1.abs().total_cmp(&other.1.abs()))?;
    if margin.abs() >= THIN {
        return None;
    }
    let by_temperature = station
        .single_phase_temperature_margin()
        .filter(|margin| margin.is_finite())
        .map_or(String::new(), |margin| {
            format!(", and {} K away", rounded(margin))
        });
    let text = format!(
        "of all parts this one comes nearest to a second phase: at its {} degC and {} bar(a) it appears {} bar {}{by_temperature}. \
         Keep {} bar at least (common practice): change the pressure held or the temperature",
        rounded(to_celsius(station.state.temperature())),
        rounded(station.state.pressure() / BAR),
        rounded(margin.abs() / BAR),
        if margin < 0.0 { "above" } else { "below" },
        rounded(THIN / BAR),
    );
    let notice = Notice::new(NoticeCode::ThinMargin, text);
    Some(notice.about(Quantity::SinglePhaseMargin).at(&station.name))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hardware::testing::stream_at;

    /// Carbon dioxide boils at 64.3 bar at 25 degC; below it the margin of a vapour is negative.
    #[test]
    fn of_two_vapours_the_one_nearer_to_its_liquid_is_told() {
        let station = |name: &str, bar: f64| {
            let stream = stream_at(25.0, bar, 1e-5);
            Station::new(name.to_owned(), "tube", &stream, None)
        };
        let told = nearest_split(&[&station("near", 63.5), &station("far", 62.0)]).unwrap();
        assert_eq!(told.station, "near");
        assert!(told.text.contains("above"), "{}", told.text);
    }
}
