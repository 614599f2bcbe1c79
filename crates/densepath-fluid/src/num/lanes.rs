//! Several numbers side by side: work written once runs four or eight at a time on processors that can, chosen when it runs.

use super::number::Number;
use super::twofold::Twofold;

/// Work that is done for several numbers side by side.
///
/// What it calls must be `#[inline(always)]` and no closure, or it is not compiled for the processor chosen.
pub(crate) trait Task {
    /// What comes of it.
    type Output;

    /// The work with numbers of one kind.
    fn with<K: Kind>(self, kind: K) -> Self::Output;
}

/// A kind of numbers.
pub(crate) trait Kind: Copy {
    /// The numbers.
    type Number: Number;
    /// How many are side by side.
    const LANES: usize;

    /// The same number in every lane.
    fn splat(self, value: f64) -> Self::Number;
    /// The first [`Kind::LANES`] values of a list; a shorter list repeats its last value.
    fn load(self, values: &[f64]) -> Self::Number;
    /// Writes the lanes to a list, those for which it has room.
    fn store(self, number: Self::Number, values: &mut [f64]);
    /// The lanes in which a number is positive, told by bits.
    fn positive(self, number: Self::Number) -> u32;

    /// Whether the number is positive in every lane.
    #[inline(always)]
    fn all_positive(self, number: Self::Number) -> bool {
        self.positive(number) == (1 << Self::LANES) - 1
    }

    /// A polynomial of two variables.
    fn polynomial(self, coefficients: &Coefficients, u: f64, v: f64) -> f64;
}

/// Coefficients of a polynomial of degree seven in two variables without the terms that have a power above three of both,
/// `sum c_ji u^i v^j`; each row holds one power of v.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Coefficients {
    low: [[f64; 8]; 4],
    high: [[f64; 4]; 4],
}

impl From<&[[f64; 8]; 8]> for Coefficients {
    fn from([a, b, c, d, high @ ..]: &[[f64; 8]; 8]) -> Self {
        Self {
            low: [*a, *b, *c, *d],
            high: high.map(|[a, b, c, d, ..]| [a, b, c, d]),
        }
    }
}

impl Coefficients {
    /// How many there are.
    pub(crate) const COUNT: usize = 48;

    /// Every coefficient, row after row.
    pub(crate) fn numbers(&self) -> impl Iterator<Item = f64> + '_ {
        let low = self.low.iter().flatten();
        low.chain(self.high.iter().flatten()).copied()
    }

    /// The coefficients in the order of [`Coefficients::numbers`], the missing ones zero.
    pub(crate) fn from_numbers(mut numbers: impl Iterator<Item = f64>) -> Self {
        let mut next = || numbers.next().unwrap_or(0.0);
        Self {
            low: core::array::from_fn(|_| core::array::from_fn(|_| next())),
            high: core::array::from_fn(|_| core::array::from_fn(|_| next())),
        }
    }
}

/// Does the work with as many lanes as pay: two numbers of eight lanes each where the processor has them, of four as [`run`] else; for
/// work that takes so long that it is worth to be compiled for them too. Every lane has the bits that it has among four.
pub(crate) fn run_widest<T: Task>(task: T) -> T::Output {
    let task = InTwo(task);
    #[cfg(target_arch = "x86_64")]
    if let Some(simd) = pulp::x86::V4::try_new() {
        return wide::run(simd, task);
    }
    run(task)
}

/// A task with two numbers for each.
struct InTwo<T>(T);

impl<T: Task> Task for InTwo<T> {
    type Output = T::Output;

    #[inline(always)]
    fn with<K: Kind>(self, kind: K) -> T::Output {
        self.0.with(Twofold(kind))
    }
}

/// Does the work with four lanes where the processor has them.
pub(crate) fn run<T: Task>(task: T) -> T::Output {
    #[cfg(target_arch = "x86_64")]
    if let Some(simd) = pulp::x86::V3::try_new() {
        return wide::run(simd, task);
    }
    task.with(Plain)
}

/// One number at a time, on any processor.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Plain;

impl Kind for Plain {
    type Number = f64;
    const LANES: usize = 1;

    #[inline(always)]
    fn splat(self, value: f64) -> f64 {
        value
    }

    #[inline(always)]
    fn load(self, values: &[f64]) -> f64 {
        match values {
            [first, ..] => *first,
            [] => f64::NAN,
        }
    }

    #[inline(always)]
    fn store(self, number: f64, values: &mut [f64]) {
        if let [first, ..] = values {
            *first = number;
        }
    }

    #[inline(always)]
    fn positive(self, number: f64) -> u32 {
        u32::from(number > 0.0)
    }

    #[inline(always)]
    fn polynomial(self, coefficients: &Coefficients, u: f64, v: f64) -> f64 {
        let mut sums = [0.0; 8];
        for row in coefficients.high.iter().rev() {
            for (sum, c) in sums.iter_mut().zip(row) {
                *sum = *sum * v + c;
            }
        }
        for row in coefficients.low.iter().rev() {
            for (sum, c) in sums.iter_mut().zip(row) {
                *sum = *sum * v + c;
            }
        }
        let [a0, a1, a2, a3, b0, b1, b2, b3] = sums;
        let (u2, u4) = (u * u, u * u * (u * u));
        let [c0, c1, c2, c3] = [b0 * u4 + a0, b1 * u4 + a1, b2 * u4 + a2, b3 * u4 + a3];
        (c3 * u + c2) * u2 + (c1 * u + c0)
    }
}

#[cfg(target_arch = "x86_64")]
mod wide {
    use core::ops::{Add, Mul, Neg, Sub};

    use pulp::x86::{V3, V4};
    use pulp::{Simd, WithSimd, f64x4, f64x8, u64x4, u64x8};

    use super::{Coefficients, Kind, Number, Task};

    /// `ln 2` in two parts, the first of which times a whole number up to 2^11 is exact (Cody and Waite, 1980).
    const LN_2: [f64; 2] = [0.693_147_180_369_123_82, 1.908_214_929_270_587_7e-10];
    /// Adding it leaves a whole number in the last bits.
    const WHOLE: f64 = 6_755_399_441_055_744.0;
    /// 2^52, in whose last bits a small whole number can be put.
    const LAST_BITS: f64 = 4_503_599_627_370_496.0;
    /// Arguments of the exponential beyond which it is held: there it is below any number that counts.
    const EXPONENT: f64 = 708.0;
    /// `1/k!` from k = 2 on.
    const FACTORIALS: [[f64; 4]; 3] = [
        [
            0.5,
            1.666_666_666_666_666_7e-1,
            4.166_666_666_666_666_7e-2,
            8.333_333_333_333_333_3e-3,
        ],
        [
            1.388_888_888_888_888_9e-3,
            1.984_126_984_126_984_1e-4,
            2.480_158_730_158_730_2e-5,
            2.755_731_922_398_589_1e-6,
        ],
        [
            2.755_731_922_398_589_1e-7,
            2.505_210_838_544_171_9e-8,
            2.087_675_698_786_81e-9,
            1.605_904_383_682_161_5e-10,
        ],
    ];
    /// `1/(2k + 1)` from k = 1 on, as far as it counts.
    const ODD: [[f64; 4]; 3] = [
        [1.0 / 3.0, 1.0 / 5.0, 1.0 / 7.0, 1.0 / 9.0],
        [1.0 / 11.0, 1.0 / 13.0, 1.0 / 15.0, 1.0 / 17.0],
        [1.0 / 19.0, 1.0 / 21.0, 0.0, 0.0],
    ];

    /// What numbers side by side need beyond the operations that all sets of instructions have.
    pub(crate) trait Wide: Simd {
        const LANES: usize;

        /// Bits moved to the place of the exponent.
        fn raised(self, bits: Self::u64s) -> Self::u64s;
        /// Bits moved from the place of the exponent.
        fn lowered(self, bits: Self::u64s) -> Self::u64s;
        /// As [`Kind::load`].
        fn gathered(self, values: &[f64]) -> Self::f64s;
        /// As [`Kind::store`].
        fn scattered(self, number: Self::f64s, values: &mut [f64]);
        /// As [`Kind::positive`].
        fn signs(self, number: Self::f64s) -> u32;
        /// The set for four lanes.
        fn four(self) -> V3;
    }

    impl Wide for V3 {
        const LANES: usize = 4;

        #[inline(always)]
        fn raised(self, bits: u64x4) -> u64x4 {
            self.shl_const_u64x4::<52>(bits)
        }

        #[inline(always)]
        fn lowered(self, bits: u64x4) -> u64x4 {
            self.shr_const_u64x4::<52>(bits)
        }

        #[inline(always)]
        fn gathered(self, values: &[f64]) -> f64x4 {
            match *values {
                [a, b, c, d, ..] => f64x4(a, b, c, d),
                [a, b, c] => f64x4(a, b, c, c),
                [a, b] => f64x4(a, b, b, b),
                [a] => f64x4(a, a, a, a),
                [] => self.splat_f64x4(f64::NAN),
            }
        }

        #[inline(always)]
        fn scattered(self, f64x4(a, b, c, d): f64x4, values: &mut [f64]) {
            for (place, lane) in values.iter_mut().zip([a, b, c, d]) {
                *place = lane;
            }
        }

        #[inline(always)]
        fn signs(self, number: f64x4) -> u32 {
            let positive = self.greater_than_f64s(number, self.splat_f64x4(0.0));
            self.avx
                ._mm256_movemask_pd(pulp::cast(positive))
                .cast_unsigned()
        }

        #[inline(always)]
        fn four(self) -> V3 {
            self
        }
    }

    impl Wide for V4 {
        const LANES: usize = 8;

        #[inline(always)]
        fn raised(self, bits: u64x8) -> u64x8 {
            self.shl_const_u64x8::<52>(bits)
        }

        #[inline(always)]
        fn lowered(self, bits: u64x8) -> u64x8 {
            self.shr_const_u64x8::<52>(bits)
        }

        #[inline(always)]
        fn gathered(self, values: &[f64]) -> f64x8 {
            let last = values.last().copied().unwrap_or(f64::NAN);
            let mut filled = [last; 8];
            for (place, value) in filled.iter_mut().zip(values) {
                *place = *value;
            }
            pulp::cast(filled)
        }

        #[inline(always)]
        fn scattered(self, number: f64x8, values: &mut [f64]) {
            let lanes: [f64; 8] = pulp::cast(number);
            for (place, lane) in values.iter_mut().zip(lanes) {
                *place = lane;
            }
        }

        #[inline(always)]
        fn signs(self, number: f64x8) -> u32 {
            self.greater_than_f64s(number, self.splat_f64x8(0.0))
                .0
                .into()
        }

        #[inline(always)]
        fn four(self) -> V3 {
            *self
        }
    }

    /// Numbers side by side.
    #[derive(Debug, Clone, Copy)]
    pub(crate) struct Several<S: Wide> {
        simd: S,
        value: S::f64s,
    }

    impl<S: Wide> Kind for S {
        type Number = Several<S>;
        const LANES: usize = <S as Wide>::LANES;

        #[inline(always)]
        fn splat(self, value: f64) -> Several<S> {
            Several {
                simd: self,
                value: self.splat_f64s(value),
            }
        }

        #[inline(always)]
        fn load(self, values: &[f64]) -> Several<S> {
            Several {
                simd: self,
                value: self.gathered(values),
            }
        }

        #[inline(always)]
        fn store(self, number: Several<S>, values: &mut [f64]) {
            self.scattered(number.value, values);
        }

        #[inline(always)]
        fn positive(self, number: Several<S>) -> u32 {
            self.signs(number.value)
        }

        #[inline(always)]
        fn polynomial(self, coefficients: &Coefficients, u: f64, v: f64) -> f64 {
            polynomial(self.four(), coefficients, u, v)
        }
    }

    #[inline(always)]
    fn polynomial(simd: V3, coefficients: &Coefficients, u: f64, v: f64) -> f64 {
        let v = simd.splat_f64x4(v);
        let [h0, h1, h2, h3] = coefficients.high.map(pulp::cast);
        let high = simd.mul_add_f64x4(h3, v, h2);
        let high = simd.mul_add_f64x4(high, v, h1);
        let [mut a, mut b] = [simd.mul_add_f64x4(high, v, h0), simd.splat_f64x4(0.0)];
        for row in coefficients.low.iter().rev() {
            let [low, high]: [f64x4; 2] = pulp::cast(*row);
            a = simd.mul_add_f64x4(a, v, low);
            b = simd.mul_add_f64x4(b, v, high);
        }
        let (u2, u4) = (u * u, u * u * (u * u));
        let f64x4(c0, c1, c2, c3) = simd.mul_add_f64x4(b, simd.splat_f64x4(u4), a);
        (c3.mul_add(u, c2)).mul_add(u2, c1.mul_add(u, c0))
    }

    pub(super) fn run<S: Wide, T: Task>(simd: S, task: T) -> T::Output {
        struct Call<S, T>(S, T);
        impl<S: Wide, T: Task> WithSimd for Call<S, T> {
            type Output = T::Output;

            #[inline(always)]
            fn with_simd<A: Simd>(self, _: A) -> T::Output {
                self.1.with(self.0)
            }
        }
        simd.vectorize(Call(simd, task))
    }

    impl<S: Wide> Several<S> {
        #[inline(always)]
        fn with(self, value: S::f64s) -> Self {
            Self {
                simd: self.simd,
                value,
            }
        }

        #[inline(always)]
        fn bits(self) -> S::u64s {
            self.simd.transmute_u64s_f64s(self.value)
        }

        #[inline(always)]
        fn of_bits(self, bits: S::u64s) -> Self {
            self.with(self.simd.transmute_f64s_u64s(bits))
        }

        /// A polynomial from its lowest power on, as four sums in the fourth power, which do not wait for each other.
        #[inline(always)]
        fn polynomial(self, [first, second, third]: &[[f64; 4]; 3]) -> Self {
            let square = self * self;
            let fourth = square * square;
            let mut sums = [self.like(0.0); 4];
            let rows = first.iter().zip(second).zip(third);
            for (sum, ((a, b), c)) in sums.iter_mut().zip(rows) {
                let upper = fourth.mul_add(self.like(*c), self.like(*b));
                *sum = upper.mul_add(fourth, self.like(*a));
            }
            let [a, b, c, d] = sums;
            let (low, high) = (b.mul_add(self, a), d.mul_add(self, c));
            high.mul_add(square, low)
        }
    }

    impl<S: Wide> Add for Several<S> {
        type Output = Self;

        #[inline(always)]
        fn add(self, other: Self) -> Self {
            self.with(self.simd.add_f64s(self.value, other.value))
        }
    }

    impl<S: Wide> Sub for Several<S> {
        type Output = Self;

        #[inline(always)]
        fn sub(self, other: Self) -> Self {
            self.with(self.simd.sub_f64s(self.value, other.value))
        }
    }

    impl<S: Wide> Mul for Several<S> {
        type Output = Self;

        #[inline(always)]
        fn mul(self, other: Self) -> Self {
            self.with(self.simd.mul_f64s(self.value, other.value))
        }
    }

    impl<S: Wide> Neg for Several<S> {
        type Output = Self;

        #[inline(always)]
        fn neg(self) -> Self {
            self.with(self.simd.neg_f64s(self.value))
        }
    }

    impl<S: Wide> Number for Several<S> {
        #[inline(always)]
        fn like(self, constant: f64) -> Self {
            self.with(self.simd.splat_f64s(constant))
        }

        #[inline(always)]
        fn mul_add(self, factor: Self, summand: Self) -> Self {
            let value = self
                .simd
                .mul_add_f64s(self.value, factor.value, summand.value);
            self.with(value)
        }

        /// `e^x = 2^k e^r` with `r = x - k ln 2`, at most 0.35, by its series.
        #[inline(always)]
        fn exp(self) -> Self {
            let simd = self.simd;
            let held = simd.max_f64s(self.value, simd.splat_f64s(-EXPONENT));
            let x = self.with(simd.min_f64s(held, simd.splat_f64s(EXPONENT)));
            let shifted = x.mul_add(self.like(core::f64::consts::LOG2_E), self.like(WHOLE));
            let k = shifted.plus(-WHOLE);
            let r = k.mul_add(self.like(-LN_2[0]), x);
            let r = k.mul_add(self.like(-LN_2[1]), r);
            let power = simd.raised(shifted.bits());
            let rest = r.polynomial(&FACTORIALS);
            let value = (r * r).mul_add(rest, r).plus(1.0);
            self.of_bits(simd.add_u64s(value.bits(), power))
        }

        /// `ln x = e ln 2 + ln m` with m around 1, and `ln m = 2 artanh s`, `s = (m - 1)/(m + 1)`, by its series.
        #[inline(always)]
        fn ln(self) -> Self {
            let simd = self.simd;
            let half = simd.splat_u64s(core::f64::consts::FRAC_1_SQRT_2.to_bits());
            let exponent = simd.lowered(simd.add_u64s(
                simd.sub_u64s(self.bits(), half),
                simd.splat_u64s(1024 << 52),
            ));
            let e = self
                .of_bits(simd.or_u64s(exponent, simd.splat_u64s(LAST_BITS.to_bits())))
                .plus(-LAST_BITS - 1024.0);
            let power = simd.raised(simd.sub_u64s(exponent, simd.splat_u64s(1024)));
            let m = self.of_bits(simd.sub_u64s(self.bits(), power));
            let s = m.plus(-1.0) * m.plus(1.0).recip();
            let z = s * s;
            let rest = z.polynomial(&ODD) * z;
            let ln_m = s.mul_add(rest, s).times(2.0);
            let low = e.mul_add(self.like(LN_2[1]), ln_m);
            e.mul_add(self.like(LN_2[0]), low)
        }

        #[inline(always)]
        fn sqrt(self) -> Self {
            self.with(self.simd.sqrt_f64s(self.value))
        }

        #[inline(always)]
        fn recip(self) -> Self {
            self.with(self.simd.div_f64s(self.simd.splat_f64s(1.0), self.value))
        }

        #[inline(always)]
        fn abs_at_least(self, smallest: f64) -> Self {
            let size = self.simd.abs_f64s(self.value);
            self.with(self.simd.max_f64s(size, self.simd.splat_f64s(smallest)))
        }

        #[inline(always)]
        fn choose(self, one: Self, other: Self) -> Self {
            let simd = self.simd;
            let is_positive = simd.greater_than_f64s(self.value, simd.splat_f64s(0.0));
            self.with(simd.select_f64s(is_positive, one.value, other.value))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Exponential, logarithm and root of a list.
    struct Elementary<'a>(&'a [f64]);

    impl Task for Elementary<'_> {
        type Output = Vec<[f64; 3]>;

        #[inline(always)]
        fn with<K: Kind>(self, kind: K) -> Self::Output {
            let mut found = Vec::new();
            for values in self.0.chunks(K::LANES) {
                let x = kind.load(values);
                let mut lists = [[0.0; 16]; 3];
                for (number, list) in [
                    x.exp(),
                    x.abs_at_least(1e-300).ln(),
                    x.abs_at_least(0.0).sqrt(),
                ]
                .into_iter()
                .zip(&mut lists)
                {
                    kind.store(number, list);
                }
                let [exp, ln, sqrt] = lists;
                found.extend((0..values.len()).map(|lane| [exp[lane], ln[lane], sqrt[lane]]));
            }
            found
        }
    }

    #[test]
    fn elementary_functions_are_those_of_the_standard_library() {
        let step = |i: i32| f64::from(i) * 0.37;
        let values: Vec<f64> = (-1900..1900)
            .map(step)
            .chain((-300..300).map(|i| 1.0 + 1e-3 * f64::from(i)))
            .chain((-290..300).map(|i| 10f64.powi(i)))
            .collect();
        assert_eq!(run(Elementary(&values)), run_widest(Elementary(&values)));
        for (x, [exp, ln, sqrt]) in values.iter().zip(run(Elementary(&values))) {
            let size = x.abs().max(1e-300);
            if x.abs() < 700.0 {
                assert!((exp / x.exp() - 1.0).abs() < 4e-16, "exp {x} {exp}");
            }
            assert!(
                (ln - size.ln()).abs() <= 4e-16 * size.ln().abs().max(1e-2),
                "ln {x} {ln}"
            );
            assert!(
                (sqrt - x.abs().sqrt()).abs() <= 1e-16 * sqrt,
                "sqrt {x} {sqrt}"
            );
        }
    }
}
