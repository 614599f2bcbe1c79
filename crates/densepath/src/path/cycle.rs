//! One run after the other on a path: when the next injection can follow, and what a run and a day use up.

use fluid::error::{Result, not_negative, positive};
use fluid::{Fluid, Quantity};

use super::gradient::{Way, joins, ways_to_columns};
use super::program::{ProgrammedRun, layout};
use super::solution::Solution;
use crate::fluid;
use crate::hardware::Role;
use crate::hardware::cycle::USUAL_EQUILIBRATION_VOLUMES;

/// Seconds in a day.
const DAY: f64 = 86_400.0;

/// How a method is run again and again.
///
/// ```
/// use densepath::path::CyclePlan;
/// let solution = densepath::read_method_file("../../tests/methods/packed.toml")?.solve()?;
/// let slow = CyclePlan { handling_time: 60.0, ..CyclePlan::of(300.0) };
/// let difference = solution.cycle(&slow)?.cycle_time - solution.cycle(&CyclePlan::of(300.0))?.cycle_time;
/// assert!((difference - 60.0).abs() < 1e-9);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CyclePlan {
    /// Time in s from the injection to the end of the run.
    pub run_time: f64,
    /// Time in s of what goes on between runs: the needle, the loop.
    pub handling_time: f64,
    /// How many times the mobile phase of the columns is replaced before the next injection; 0 where nothing has changed.
    pub equilibration_volumes: f64,
}

impl CyclePlan {
    /// Runs of a time in s without handling, and the usual equilibration of ten volumes (common practice, no source).
    ///
    /// ```
    /// use densepath::path::CyclePlan;
    /// let plan = CyclePlan::of(300.0);
    /// assert_eq!((plan.run_time, plan.handling_time), (300.0, 0.0));
    /// ```
    pub fn of(run_time: f64) -> Self {
        Self {
            run_time,
            handling_time: 0.0,
            equilibration_volumes: USUAL_EQUILIBRATION_VOLUMES,
        }
    }
}

/// What runs that follow each other take and use up.
///
/// ```
/// use densepath::path::CyclePlan;
/// let solution = densepath::read_method_file("../../tests/methods/packed.toml")?.solve()?;
/// let cycle = solution.cycle(&CyclePlan::of(300.0))?;
/// // A day's use is that of its runs.
/// assert!(cycle.uses.iter().all(|used| (used.per_day - used.per_run * cycle.runs_per_day).abs() <= 1e-9 * used.per_day.abs()));
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Cycle {
    /// Time in s in which the mobile phase passes from where its last change is made through all parts that are no columns to the last
    /// column; of several ways to columns the one that takes longest counts.
    pub dwell_time: f64,
    /// Time in s in which it passes the columns on that way, their hold-up time.
    pub column_time: f64,
    /// Time in s to bring the columns back to their start: the dwell time, and the hold-up time as often as the plan says.
    pub equilibration_time: f64,
    /// Time in s from one injection to the next.
    pub cycle_time: f64,
    /// Runs in a day.
    pub runs_per_day: f64,
    /// What is used up: the mass of each substance, the gas let out, the heat of each part.
    pub uses: Vec<Use>,
}

/// What a run and a day use up of one thing.
///
/// ```
/// let solution = densepath::read_method_file("../../tests/methods/packed.toml")?.solve()?;
/// use densepath::{Quantity, path::CyclePlan};
/// let cycle = solution.cycle(&CyclePlan::of(300.0))?;
/// let used = cycle.uses.iter().find(|used| used.quantity == Quantity::Mass);
/// // The pump feeds through the whole cycle.
/// assert!(used.is_some_and(|used| (used.per_run / (solution.mass_flow_rate * cycle.cycle_time) - 1.0).abs() < 1e-9));
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Use {
    /// The name of a substance, "gas let out (20 degC, 1 atm)", or the part with what its heat is for.
    pub what: String,
    /// Its quantity: mass, volume or energy.
    pub quantity: Quantity,
    /// Of one run with what follows it, in SI; heat is negative where it is taken from the fluid.
    pub per_run: f64,
    /// Of as many runs as a day holds.
    pub per_day: f64,
}

/// Something that is used up at a rate in SI.
struct Rate {
    what: String,
    quantity: Quantity,
    value: f64,
}

impl Solution {
    /// What runs that follow each other take and use up at these settings.
    ///
    /// *Valid* for steady settings; see [`ProgrammedRun::cycle`] for programs. *Uncertainty*: that of the flow. *Source*: definition.
    ///
    /// Errors: 606 for a path without column, 101 for a time not above zero or values that are negative.
    ///
    /// ```
    /// let solution = densepath::read_method_file("../../tests/methods/packed.toml")?.solve()?;
    /// use densepath::path::CyclePlan;
    /// let plan = CyclePlan::of(300.0);
    /// let cycle = solution.cycle(&plan)?;
    /// assert!((cycle.cycle_time - 300.0 - cycle.equilibration_time).abs() < 1e-9);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn cycle(&self, plan: &CyclePlan) -> Result<Cycle> {
        cycle(&[(0.0, self)], plan)
    }
}

impl ProgrammedRun {
    /// What runs that follow each other take and use up: during the run by its program, and from its end to the next injection at the
    /// settings of its start.
    ///
    /// *Valid* as [`ProgrammedRun::history`]: a row of steady flows. *Uncertainty*: that of the flow. *Source*: definition.
    ///
    /// Errors: as [`Solution::cycle`].
    ///
    /// ```
    /// # use densepath::path::{ProgrammedRun, Setting};
    /// # let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
    /// # let denser = method.with(&[(&method.input("regulator", "pressure")?, 180e5)])?;
    /// # let run = ProgrammedRun::new(vec![Setting { time: 0.0, path: method.path.clone() }, Setting { time: 300.0, path: denser.path }])?;
    /// use densepath::path::CyclePlan;
    /// let cycle = run.cycle(&CyclePlan::of(600.0))?;
    /// assert!((cycle.runs_per_day * cycle.cycle_time / 86_400.0 - 1.0).abs() < 1e-12);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn cycle(&self, plan: &CyclePlan) -> Result<Cycle> {
        cycle(&self.solutions().collect::<Vec<_>>(), plan)
    }
}

/// The cycle of settings that are solved at rising times; before the first and after the last nothing changes.
fn cycle(points: &[(f64, &Solution)], plan: &CyclePlan) -> Result<Cycle> {
    let missing = || layout("a cycle needs a column");
    let (_, start) = points.first().ok_or_else(missing)?;
    let volumes = not_negative(Quantity::Ratio, plan.equilibration_volumes)?;
    let ways = ways_to_columns(&start.passes).into_iter();
    let ways = ways.map(|way| times_along(&way));
    let longest = ways.max_by(|one, other| {
        let [one, other] = [one, other].map(|(dwell, columns)| dwell + volumes * columns);
        one.total_cmp(&other)
    });
    let (dwell_time, column_time) = longest.ok_or_else(missing)?;
    let equilibration_time = if volumes > 0.0 {
        dwell_time + volumes * column_time
    } else {
        0.0
    };
    let rest = not_negative(Quantity::Time, plan.handling_time)? + equilibration_time;
    let cycle_time = positive(Quantity::Time, plan.run_time)? + rest;
    let runs_per_day = DAY / cycle_time;
    Ok(Cycle {
        dwell_time,
        column_time,
        equilibration_time,
        cycle_time,
        runs_per_day,
        uses: uses(points, plan.run_time, rest, runs_per_day),
    })
}

/// Times in s of the mobile phase on the way to a column from where its last change is made, the joint of the first modifier or the pump:
/// through other parts, and through the column with those before it.
fn times_along(way: &Way<'_>) -> (f64, f64) {
    let column = way.len().saturating_sub(1);
    let before = way.iter().take(column).position(|pass| joins(pass));
    let behind = before.map_or(0, |joined| joined + 1);
    let passed = || way.iter().skip(behind);
    let time_of = |columns: bool| -> f64 {
        let passed = passed().filter(|pass| (pass.role == Role::Column) == columns);
        passed.map(|pass| pass.outlet.hold_up_time).sum()
    };
    (time_of(false), time_of(true))
}

/// What the settings use up in the time of a run, linear between them, and in a rest at the first of them, both in s.
fn uses(points: &[(f64, &Solution)], run_time: f64, rest: f64, runs_per_day: f64) -> Vec<Use> {
    let rates: Vec<(f64, Vec<Rate>)> = points
        .iter()
        .map(|(time, solution)| (*time, rates(solution)))
        .collect();
    let mut uses: Vec<Use> = Vec::new();
    for rate in rates.iter().flat_map(|(_, rates)| rates) {
        if uses.iter().any(|known| known.what == rate.what) {
            continue;
        }
        let course: Vec<(f64, f64)> = rates
            .iter()
            .map(|(time, rates)| {
                let same = rates.iter().find(|other| other.what == rate.what);
                (*time, same.map_or(0.0, |other| other.value))
            })
            .collect();
        let start = course.first().map_or(0.0, |(_, value)| *value);
        let per_run = integral(&course, run_time) + start * rest;
        uses.push(Use {
            what: rate.what.clone(),
            quantity: rate.quantity,
            per_run,
            per_day: per_run * runs_per_day,
        });
    }
    uses
}

/// Integral from 0 to an end of a course linear between its points, which rise, and level before the first and after the last.
fn integral(course: &[(f64, f64)], end: f64) -> f64 {
    let Some(((first, level), (last, rest))) = course.first().zip(course.last()) else {
        return 0.0;
    };
    let clipped = |time: f64| time.clamp(0.0, end);
    let ends = level * clipped(*first) + rest * (end - clipped(*last));
    let pieces = course.iter().zip(course.iter().skip(1));
    let between = pieces.map(|((from, low), (to, high))| {
        let at = |time: f64| low + (high - low) * (time - from) / (to - from);
        let (begin, stop) = (clipped(*from), clipped(*to));
        0.5 * (at(begin) + at(stop)) * (stop - begin)
    });
    ends + between.sum::<f64>()
}

/// What a solution uses up: masses in kg/s, gas in m3/s, heat in W.
fn rates(solution: &Solution) -> Vec<Rate> {
    let fluid = solution.outlet().map(|outlet| outlet.state.fluid());
    let masses = fluid.into_iter().flat_map(|fluid: &Fluid| {
        let names = fluid.substances().into_iter();
        names
            .zip(fluid.mass_fractions().to_vec())
            .map(|(name, share)| Rate {
                what: name.to_owned(),
                quantity: Quantity::Mass,
                value: share * solution.mass_flow_rate,
            })
    });
    let gas = Rate {
        what: "gas let out (20 degC, 1 atm)".to_owned(),
        quantity: Quantity::Volume,
        value: solution.consumption.gas_volume_flow_rate,
    };
    let heat = solution.duties.iter().map(|duty| Rate {
        what: format!("{}: {}", duty.part, duty.purpose),
        quantity: Quantity::Energy,
        value: duty.heat_flow_rate,
    });
    masses.chain([gas]).chain(heat).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_course_is_level_beyond_its_ends() {
        // 2 up to 10 s, to 4 at 20 s, 4 from there.
        let course = [(10.0, 2.0), (20.0, 4.0)];
        for (end, expected) in [
            (5.0, 10.0),
            (10.0, 20.0),
            (15.0, 32.5),
            (20.0, 50.0),
            (30.0, 90.0),
        ] {
            assert!((integral(&course, end) - expected).abs() < 1e-12, "{end}");
        }
        assert!((integral(&[(0.0, 3.0)], 7.0) - 21.0).abs() < 1e-12);
        assert!((integral(&[(-5.0, 0.0), (5.0, 10.0)], 5.0) - 37.5).abs() < 1e-12);
    }
}
