//! The march along the parts, inlet to outlet.

use std::sync::Arc;

use fluid::{Error, Notice, NoticeCode, Quantity, Result};

use super::branch::{self, Tees};
use super::source::FIRST_PART;
use crate::fluid;
use crate::hardware::{BandShare, Element, Outlet, Role, Stream, Surroundings};

/// A part with its place in the path.
///
/// ```
/// let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
/// let kinds: Vec<_> = method.path.parts.iter().map(|part| part.element.kind()).collect();
/// // The stream ends in the vent.
/// assert!(kinds.contains(&"packed_column") && kinds.last() == Some(&"vent"));
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone)]
pub struct Part {
    /// Name given by the user.
    pub name: String,
    /// What it is.
    pub element: Arc<dyn Element>,
    /// The parts of the branch that begins at its outlet, in the order of the flow; none where the stream stays whole.
    pub branch: Vec<Part>,
}

impl Part {
    /// A part with a name.
    ///
    /// ```
    /// use densepath::{hardware::Tube, path::Part};
    /// let part = Part::new("transfer line", Tube::new(0.17e-3, 0.3, 0.0)?);
    /// assert_eq!((part.name.as_str(), part.element.kind()), ("transfer line", "tube"));
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn new(name: impl Into<String>, element: impl Element + 'static) -> Self {
        Self {
            name: name.into(),
            element: Arc::new(element),
            branch: Vec::new(),
        }
    }

    /// The part with a branch at its outlet: parts of which one holds the pressure. What flows there follows from the pressure at the
    /// tee.
    ///
    /// ```
    /// use densepath::{hardware::{LinearRestrictor, Tube}, path::Part};
    /// let restrictor = Part::new("vent restrictor", LinearRestrictor::new(15e-6, 0.3)?);
    /// let part = Part::new("transfer line", Tube::new(0.17e-3, 0.3, 0.0)?).with_branch(vec![restrictor]);
    /// assert_eq!(part.branch[0].name, "vent restrictor");
    /// # Ok::<(), densepath::Error>(())
    /// ```
    #[must_use]
    pub fn with_branch(self, branch: Vec<Part>) -> Self {
        Self { branch, ..self }
    }
}

/// Parts with those of their branches, each branch behind its tee.
pub(super) fn all_parts(parts: &[Part]) -> Vec<&Part> {
    let with_branches = parts
        .iter()
        .flat_map(|part| std::iter::once(part).chain(all_parts(&part.branch)));
    with_branches.collect()
}

/// The passages through parts and their branches, in the order of [`all_parts`].
pub(super) fn all_passes(passes: &[Pass]) -> Vec<&Pass> {
    let with_branches = passes
        .iter()
        .flat_map(|pass| std::iter::once(pass).chain(all_passes(&pass.branch)));
    with_branches.collect()
}

/// The passage of the stream through one part.
///
/// ```
/// let solution = densepath::read_method_file("../../tests/methods/packed.toml")?.solve()?;
/// // What leaves one part enters the next.
/// for two in solution.passes.windows(2) {
///     assert_eq!(two[0].outlet.stream.state.pressure(), two[1].inlet.state.pressure());
/// }
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone)]
pub struct Pass {
    /// Name of the part.
    pub name: String,
    /// The word for this sort of part.
    pub kind: &'static str,
    /// What it is to the band.
    pub role: Role,
    /// The stream at the inlet.
    pub inlet: Stream,
    /// Share of the injected amount of every solute that enters the part; nothing before the injector.
    pub injected_share: Option<f64>,
    /// What leaves the part; behind the tee, where a branch begins there.
    pub outlet: Outlet,
    /// The passages along the branch that begins at the outlet.
    pub branch: Vec<Pass>,
}

impl Pass {
    /// Share of the injected amount that goes on along the line: a tee parts it as the stream.
    pub(super) fn injected_share_behind(&self) -> Option<f64> {
        let on = self.outlet.stream.mass_flow_rate;
        self.injected_share
            .map(|share| share * on / self.mass_flow_rate_before_tee())
    }

    /// Mass flow rate in kg/s that leaves the part, before a branch takes its share.
    pub(super) fn mass_flow_rate_before_tee(&self) -> f64 {
        let into = self
            .branch
            .first()
            .map_or(0.0, |pass| pass.inlet.mass_flow_rate);
        self.outlet.stream.mass_flow_rate + into
    }
}

/// The passages through all parts, in order; a share of what was injected enters the first, if the injector lies before. An error is told
/// with the part it was found in.
///
/// Error 502 where the stream is not one phase at the outlet of a part before the one that holds the pressure.
pub(crate) fn march(
    parts: &[Part],
    inlet: Stream,
    injected_share: Option<f64>,
    surroundings: &Surroundings<'_>,
    tees: &Tees<'_>,
) -> Result<Vec<Pass>> {
    let mut passes = Vec::with_capacity(parts.len());
    let (mut stream, mut injected_share) = (inlet, injected_share);
    let mut is_dense = true;
    let mut additives = surroundings.additives.to_vec();
    for (index, part) in parts.iter().enumerate() {
        additives.extend(part.element.additive());
        let surroundings = &Surroundings {
            additives: &additives,
            ..*surroundings
        };
        if part.element.role() == Role::Injection {
            injected_share = Some(1.0);
        }
        let (outlet, branch) = pass(part, &stream, surroundings, is_dense)
            .and_then(|outlet| {
                is_dense &= !part.element.holds_pressure();
                if is_dense {
                    one_phase(&outlet.stream)?;
                }
                branch::split(part, outlet, injected_share, surroundings, tees)
            })
            .map_err(|error| in_part(part, FIRST_PART + index, error))?;
        let next = outlet.stream.clone();
        let pass = Pass {
            name: part.name.clone(),
            kind: part.element.kind(),
            role: part.element.role(),
            inlet: stream,
            injected_share,
            outlet,
            branch,
        };
        injected_share = pass.injected_share_behind();
        passes.push(pass);
        stream = next;
    }
    Ok(passes)
}

/// What leaves a part. Behind the one that holds the pressure the laws of a solute may end, as those of dense fluids do in gas: what the
/// stream does there is known, and what becomes of the band is not.
pub(super) fn pass(
    part: &Part,
    inlet: &Stream,
    surroundings: &Surroundings<'_>,
    is_dense: bool,
) -> Result<Outlet> {
    let solute = surroundings.solute.filter(|_| !is_dense);
    let (solute, error) = match (solute, part.element.pass(inlet, surroundings)) {
        (Some(solute), Err(error @ Error::OutOfRange { .. })) => (solute, error),
        (_, passed) => return passed,
    };
    let bare = Surroundings {
        solute: None,
        ..*surroundings
    };
    let mut outlet = part.element.pass(inlet, &bare)?;
    outlet.band = Some(BandShare {
        time: outlet.hold_up_time,
        time_variance: f64::NAN,
        bracket: None,
        tails: Vec::new(),
    });
    let text = format!(
        "how the band of {} spreads in this part, and so its width behind it, is not known: {error}",
        solute.name
    );
    let notice = Notice::new(NoticeCode::Unknown, text).about(Quantity::TimeVariance);
    outlet.notices.push(notice);
    Ok(outlet)
}

/// The streams before each part and behind the last one, without all that only a report needs: of parts none of which holds the
/// pressure. Errors as [`march`].
pub(crate) fn streams(
    parts: &[Part],
    inlet: Stream,
    surroundings: &Surroundings<'_>,
    tees: &Tees<'_>,
) -> Result<Vec<Stream>> {
    let mut streams = Vec::with_capacity(parts.len() + 1);
    let mut stream = inlet;
    for (index, part) in parts.iter().enumerate() {
        let next = part.element.outlet(&stream, surroundings);
        let next = next
            .and_then(|next| one_phase(&next).map(|()| next))
            .and_then(|next| branch::kept(part, next, surroundings, tees))
            .map_err(|error| in_part(part, FIRST_PART + index, error))?;
        streams.push(std::mem::replace(&mut stream, next));
    }
    streams.push(stream);
    Ok(streams)
}

fn one_phase(stream: &Stream) -> Result<()> {
    let state = &stream.state;
    if state.is_one_phase() {
        return Ok(());
    }
    Err(Error::PhaseChange {
        position: 0.0,
        temperature: state.temperature(),
        pressure: state.pressure(),
    })
}

/// An error told with the part it was found in; that the work was stopped belongs to none.
pub(super) fn in_part(part: &Part, index: usize, error: Error) -> Error {
    if matches!(error, Error::Stopped { .. }) {
        return error;
    }
    Error::InElement {
        element: part.name.clone(),
        index,
        source: Box::new(error),
    }
}
