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

/// The station that comes nearest to a second phase, with its margin in Pa, if any comes nearer than a pressure in Pa. The margin of a
/// vapour is negative, and counts from the dew point.
pub(super) fn nearest<'a>(dense: &[&'a Station], within: f64) -> Option<(&'a Station, f64)> {
    let mut found = None;
    let mut least = within;
    for station in dense {
        if station.state.is_known_single_within(least) {
            continue;
        }
        let Some(margin) = station.single_phase_margin() else {
            continue;
        };
        if margin.abs() < least {
            least = margin.abs();
            found = Some((*station, margin));
        }
    }
    found
}

/// The doubt about the station that comes nearest to a second phase, if it comes too near.
fn nearest_split(dense: &[&Station]) -> Option<Notice> {
    let (station, margin) = nearest(dense, THIN)?;
    Some(too_near(station, margin, ""))
}

/// The doubt about a station whose margin in Pa is thin, with words about when it is.
pub(super) fn too_near(station: &Station, margin: f64, when: &str) -> Notice {
    let by_temperature = station
        .single_phase_temperature_margin()
        .filter(|margin| margin.is_finite())
        .map_or(String::new(), |margin| {
            format!(", and {} K away", rounded(margin))
        });
    let text = format!(
        "of all parts this one comes nearest to a second phase{when}: at its {} degC and {} bar(a) it appears {} bar {}{by_temperature}. \
         Keep {} bar at least (common practice): change the pressure held or the temperature",
        rounded(to_celsius(station.state.temperature())),
        rounded(station.state.pressure() / BAR),
        rounded(margin.abs() / BAR),
        if margin < 0.0 { "above" } else { "below" },
        rounded(THIN / BAR),
    );
    let notice = Notice::new(NoticeCode::ThinMargin, text);
    notice.about(Quantity::SinglePhaseMargin).at(&station.name)
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
