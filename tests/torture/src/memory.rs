//! The memory that a process holds while it works for long.

use crate::tally::Tally;

/// Looks at the memory, at equal distances of the way.
const LOOKS: f64 = 10.0;
/// Memory in MiB by which the second half of the way may end above its middle: what is remembered about a fluid is bounded for each,
/// and rectangles of density are still being made where few calls have led.
const GROWTH_ALLOWED: f64 = 64.0;

/// Resident memory along the way.
#[derive(Default)]
pub struct Memory {
    sizes: Vec<f64>,
}

impl Memory {
    /// Nothing looked at yet.
    pub fn new() -> Self {
        Self::default()
    }

    /// Looks where another tenth of the way, from 0 to 1, is done.
    pub fn look(&mut self, way: f64) {
        while way * LOOKS >= self.sizes.len() as f64 && self.sizes.len() as f64 <= LOOKS {
            self.sizes.push(resident().unwrap_or(f64::NAN));
        }
    }

    /// A finding if the memory still grows in the second half.
    pub fn judge(&self, tally: &mut Tally) {
        let (middle, end) = (self.sizes.get(self.sizes.len() / 2), self.sizes.last());
        if let (Some(middle), Some(end)) = (middle, end) {
            tally.holds(
                "memory does not grow",
                *end <= middle + GROWTH_ALLOWED,
                || format!("from {middle} MiB in the middle to {end} MiB"),
            );
        }
    }

    /// In MiB, at the beginning and after each tenth.
    pub fn sizes(&self) -> &[f64] {
        &self.sizes
    }
}

/// Resident memory of this process in MiB, where the system tells it as Linux does.
fn resident() -> Option<f64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status
        .lines()
        .find_map(|line| line.strip_prefix("VmRSS:"))?;
    let kibibytes: f64 = line.trim().trim_end_matches("kB").trim().parse().ok()?;
    Some((kibibytes / 1024.0 * 10.0).round() / 10.0)
}
