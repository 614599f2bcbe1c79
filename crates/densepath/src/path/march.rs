//! The march along the parts, inlet to outlet.

use std::sync::Arc;

use fluid::{Error, Result};

use super::branch::{self, Tees};
use super::source::FIRST_PART;
use crate::fluid;
use crate::hardware::{Element, Outlet, Stream, Surroundings};

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
    /// The stream at the inlet.
    pub inlet: Stream,
    /// What leaves the part; behind the tee, where a branch begins there.
    pub outlet: Outlet,
    /// The passages along the branch that begins at the outlet.
    pub branch: Vec<Pass>,
}

/// The passages through all parts, in order. An error is told with the part it was found in.
///
/// Error 502 where the stream is not one phase at the outlet of a part before the one that holds the pressure.
pub(crate) fn march(
    parts: &[Part],
    inlet: Stream,
    surroundings: &Surroundings<'_>,
    tees: &Tees<'_>,
) -> Result<Vec<Pass>> {
    let mut passes = Vec::with_capacity(parts.len());
    let mut stream = inlet;
    let mut is_dense = true;
    let mut additives = surroundings.additives.to_vec();
    for (index, part) in parts.iter().enumerate() {
        additives.extend(part.element.additive());
        let surroundings = &Surroundings {
            additives: &additives,
            ..*surroundings
        };
        let (outlet, branch) = part
            .element
            .pass(&stream, surroundings)
            .and_then(|outlet| {
                is_dense &= !part.element.holds_pressure();
                if is_dense {
                    one_phase(&outlet.stream)?;
                }
                branch::split(part, outlet, surroundings, tees)
            })
            .map_err(|error| in_part(part, FIRST_PART + index, error))?;
        let next = outlet.stream.clone();
        passes.push(Pass {
            name: part.name.clone(),
            kind: part.element.kind(),
            inlet: stream,
            outlet,
            branch,
        });
        stream = next;
    }
    Ok(passes)
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
