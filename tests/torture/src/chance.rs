//! Numbers by chance: sensible ones, and those that break programs.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{RngCore, SeedableRng};

/// Numbers that break programs, and those of other units.
const SPECIAL: [f64; 24] = [
    f64::NAN,
    f64::INFINITY,
    f64::NEG_INFINITY,
    0.0,
    -0.0,
    5e-324,
    -5e-324,
    f64::MIN_POSITIVE,
    f64::MAX,
    f64::MIN,
    f64::EPSILON,
    1e300,
    1e-300,
    -1.0,
    1.0,
    40.0,
    150.0,
    -40.0,
    0.78,
    304.1282,
    7.3773e6,
    467.6,
    216.592,
    101_325.0,
];
/// Share of the numbers that are special.
const SHARE: f64 = 0.15;

/// A source of chance.
pub struct Chance(ChaCha8Rng);

impl Chance {
    /// The source of a seed.
    pub fn new(seed: u64) -> Self {
        Self(ChaCha8Rng::seed_from_u64(seed))
    }

    /// A number from 0 up to 1.
    pub fn share(&mut self) -> f64 {
        (self.0.next_u64() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// An index below a count.
    pub fn index(&mut self, count: usize) -> usize {
        usize::try_from(self.0.next_u64() % count.max(1) as u64).unwrap_or(0)
    }

    /// One of a list that is not empty.
    pub fn one<'a, T>(&mut self, list: &'a [T]) -> &'a T {
        &list[self.index(list.len())]
    }

    /// Any bits at all, one of the special numbers, or one of equal shares of the logarithm between two limits.
    pub fn number(&mut self, low: f64, high: f64) -> f64 {
        let kind = self.share();
        if kind < 0.01 {
            f64::from_bits(self.0.next_u64())
        } else if kind < SHARE {
            *self.one(&SPECIAL)
        } else {
            low * (high / low).powf(self.share())
        }
    }

    /// A temperature in K.
    pub fn temperature(&mut self) -> f64 {
        self.number(60.0, 1500.0)
    }

    /// A pressure in Pa.
    pub fn pressure(&mut self) -> f64 {
        self.number(1.0, 1e9)
    }

    /// A density in kg/m3.
    pub fn density(&mut self) -> f64 {
        self.number(1e-6, 3000.0)
    }

    /// A specific energy in J/kg, of either sign.
    pub fn energy(&mut self) -> f64 {
        let size = self.number(1e-3, 1e7);
        if self.share() < 0.5 { -size } else { size }
    }

    /// A specific entropy in J/(kg K), of either sign.
    pub fn entropy(&mut self) -> f64 {
        let size = self.number(1e-3, 1e5);
        if self.share() < 0.5 { -size } else { size }
    }
}
