//! Functions of one variable as Chebyshev series, refined until they are met.

use super::lanes::{Kind, Task, run};
use super::number::Number;
use super::quad::samples;
use crate::error::{Error, Result};
#[cfg(not(feature = "std"))]
use crate::prelude::*;

/// Highest degree of a polynomial; an eighth, a quarter and a half of it are tried first.
const DEGREE: usize = 80;
/// Number of its coefficients.
const COUNT: usize = DEGREE + 1;
/// Distances of the Chebyshev points that are tried, in those of the highest degree: each holds the points of the one before.
const STRIDES: [usize; 4] = [8, 4, 2, 1];

/// cos(pi j/80) for j = 0 to 40: the Chebyshev points, which those of lower degrees are among.
const COSINES: [f64; DEGREE / 2 + 1] = [
    1.0,
    0.999_229_036_240_722_9,
    0.996_917_333_733_128,
    0.993_068_456_954_926_3,
    0.987_688_340_595_137_8,
    0.980_785_280_403_230_4,
    0.972_369_920_397_676_6,
    0.962_455_236_453_647_3,
    0.951_056_516_295_153_5,
    0.938_191_335_922_484_2,
    0.923_879_532_511_286_7,
    0.908_143_173_825_081_4,
    0.891_006_524_188_367_9,
    0.872_496_007_072_797_2,
    0.852_640_164_354_092_2,
    0.831_469_612_302_545_2,
    0.809_016_994_374_947_5,
    0.785_316_930_880_745,
    0.760_405_965_600_030_9,
    0.734_322_509_435_685_6,
    core::f64::consts::FRAC_1_SQRT_2,
    0.678_800_745_532_941_8,
    0.649_448_048_330_183_8,
    0.619_093_949_309_834,
    0.587_785_252_292_473_1,
    0.555_570_233_019_602_3,
    0.522_498_564_715_948_9,
    0.488_621_241_496_954_96,
    0.453_990_499_739_546_8,
    0.418_659_737_537_428_13,
    0.382_683_432_365_089_84,
    0.346_117_057_077_493,
    0.309_016_994_374_947_45,
    0.271_440_449_865_074_3,
    0.233_445_363_855_905_47,
    0.195_090_322_016_128_33,
    0.156_434_465_040_230_92,
    0.117_537_397_457_837_7,
    0.078_459_095_727_845,
    0.039_259_815_759_068_666,
    0.0,
];

/// cos(pi j/80) for j = 0 to 80.
fn cosine(j: usize) -> f64 {
    if j <= DEGREE / 2 {
        COSINES[j]
    } else {
        -COSINES[DEGREE - j]
    }
}

/// Last coefficients of a series, relative to the least value, at which it has converged: about its error.
const TOLERANCE: f64 = 1e-8;
/// How many coefficients count as the last.
const TAIL: usize = 3;
/// Share of the tolerance below which the last coefficients are left out.
const NEGLIGIBLE: f64 = 1e-2;

/// Number of halvings after which a function is taken as discontinuous.
const DEEPEST: u32 = 20;
/// Ratio of arguments from which a corner is told from an end.
const BESIDE_CORNER: f64 = 1.0 + 1e-9;

/// The coordinate in which a polynomial runs.
///
/// Where a function holds thirds of powers of the distance from a corner, they are whole in its cube root, and polynomials converge.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Scale {
    /// The argument.
    Plain,
    /// The cube root of the distance from a corner.
    FromCorner(f64),
}

impl Scale {
    /// Coordinate of an argument.
    fn of(self, x: f64) -> f64 {
        match self {
            Scale::Plain => x,
            Scale::FromCorner(corner) => (x - corner).cbrt(),
        }
    }

    /// Argument at a coordinate.
    fn argument(self, coordinate: f64) -> f64 {
        match self {
            Scale::Plain => coordinate,
            Scale::FromCorner(corner) => corner + coordinate.powi(3),
        }
    }

    /// Slope of the argument there.
    fn slope(self, coordinate: f64) -> f64 {
        match self {
            Scale::Plain => 1.0,
            Scale::FromCorner(_) => 3.0 * coordinate * coordinate,
        }
    }
}

/// Several functions between two arguments as Chebyshev series.
///
/// ```
/// use densepath_fluid::num::series::Sampler;
/// let properties = |x: &[f64]| Ok(x.iter().map(|x| [x.exp(), 1.0 + x * x]).collect());
/// let series = &Sampler { properties }.series::<2>([0.5, 2.0], None)?[0];
/// let [[exponential, square]] = series.at([1.25]);
/// assert!((exponential / 1.25_f64.exp() - 1.0).abs() < 1e-8 && (square - 2.5625).abs() < 1e-8);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Series<const N: usize> {
    scale: Scale,
    /// Coordinates.
    from: f64,
    to: f64,
    /// Arguments there.
    ends: [f64; 2],
    /// Coefficients, as far as they count.
    coefficients: Vec<[f64; N]>,
}

/// Sums of Chebyshev polynomials at several arguments, which are given doubled, by the recurrence of C. W. Clenshaw, Math. Tables
/// Aids Comput. 9, 118 (1955).
fn sums<const N: usize, const COUNT: usize>(
    coefficients: &[[f64; N]],
    doubled: [f64; COUNT],
) -> [[f64; N]; COUNT] {
    if COUNT < ROWS {
        return doubled.map(|doubled| sum(coefficients, doubled));
    }
    run(Sums {
        coefficients,
        doubled,
    })
}

/// As [`sums`] at one argument, the functions side by side.
fn sum<const N: usize>(coefficients: &[[f64; N]], doubled: f64) -> [f64; N] {
    let [first, rest @ ..] = coefficients else {
        return [0.0; N];
    };
    let (mut one, mut two) = ([0.0; N], [0.0; N]);
    for coefficient in rest.iter().rev() {
        let next = core::array::from_fn(|i| doubled * one[i] + (coefficient[i] - two[i]));
        (two, one) = (one, next);
    }
    core::array::from_fn(|i| 0.5 * doubled * one[i] + (first[i] - two[i]))
}

/// What [`sums`] does.
struct Sums<'a, const N: usize, const COUNT: usize> {
    coefficients: &'a [[f64; N]],
    doubled: [f64; COUNT],
}

/// Rows of lanes whose chains run side by side: none waits for another, and those of two functions fit into the registers.
const ROWS: usize = 3;

impl<const N: usize, const COUNT: usize> Task for Sums<'_, N, COUNT> {
    type Output = [[f64; N]; COUNT];

    #[inline(always)]
    fn with<K: Kind>(self, kind: K) -> Self::Output {
        let mut found = [[0.0; N]; COUNT];
        let [first, rest @ ..] = self.coefficients else {
            return found;
        };
        let rows = self.doubled.chunks(ROWS * K::LANES);
        for (doubled, found) in rows.zip(found.chunks_mut(ROWS * K::LANES)) {
            let mut arguments = [kind.load(doubled); ROWS];
            for (argument, doubled) in arguments.iter_mut().zip(doubled.chunks(K::LANES)) {
                *argument = kind.load(doubled);
            }
            let zero = kind.splat(0.0);
            let (mut one, mut two) = ([[zero; ROWS]; N], [[zero; ROWS]; N]);
            for coefficients in rest.iter().rev() {
                for ((one, two), coefficient) in one.iter_mut().zip(&mut two).zip(coefficients) {
                    let coefficient = kind.splat(*coefficient);
                    for ((one, two), argument) in one.iter_mut().zip(two).zip(&arguments) {
                        let next = argument.mul_add(*one, coefficient - *two);
                        (*two, *one) = (*one, next);
                    }
                }
            }
            for (row, found) in found.chunks_mut(K::LANES).enumerate() {
                for i in 0..N {
                    let half = arguments[row].times(0.5);
                    let sum = half.mul_add(one[i][row], kind.splat(first[i]) - two[i][row]);
                    let mut lanes = [0.0; 8];
                    kind.store(sum, &mut lanes);
                    for (found, lane) in found.iter_mut().zip(lanes) {
                        found[i] = lane;
                    }
                }
            }
        }
        found
    }
}

/// The functions at the Chebyshev points of one degree, as the sums of which the coefficients of their series are made.
///
/// C. W. Clenshaw and A. R. Curtis, Numer. Math. 2, 197 (1960), doi 10.1007/BF01386223: the sum over the points with both ends
/// halved, and the first and the last coefficient halved again. With `cos(pi (n - j) k/n) = (-1)^k cos(pi j k/n)` the points of both
/// halves fold, to their sums for even k and to their differences for odd; and what is left are Chebyshev sums at `cos(pi k/n)`.
struct Folded<const N: usize> {
    stride: usize,
    even: [[f64; N]; DEGREE / 2 + 1],
    odd: [[f64; N]; DEGREE / 2 + 1],
}

impl<const N: usize> Folded<N> {
    /// The functions at every `stride`-th point, from the highest on.
    fn new(values: &[[f64; N]; COUNT], stride: usize) -> Self {
        let (degree, zero) = (DEGREE / stride, [[0.0; N]; DEGREE / 2 + 1]);
        let (mut even, mut odd) = (zero, zero);
        for j in 0..degree / 2 {
            let weight = if j == 0 { 0.5 } else { 1.0 };
            let (one, other) = (values[j * stride], values[DEGREE - j * stride]);
            even[j] = core::array::from_fn(|i| weight * (one[i] + other[i]));
            odd[j] = core::array::from_fn(|i| weight * (one[i] - other[i]));
        }
        even[degree / 2] = values[DEGREE / 2];
        Self { stride, even, odd }
    }

    fn degree(&self) -> usize {
        DEGREE / self.stride
    }

    /// The coefficients k, k + 2 and so on.
    fn coefficients<const LANES: usize>(&self, k: usize) -> [[f64; N]; LANES] {
        let degree = self.degree();
        let folded = if k.is_multiple_of(2) {
            &self.even
        } else {
            &self.odd
        };
        let places = core::array::from_fn(|lane| (k + 2 * lane).min(degree));
        let doubled = places.map(|k| 2.0 * cosine(k * self.stride));
        let mut found = sums(&folded[..=degree / 2], doubled);
        for (found, k) in found.iter_mut().zip(places) {
            let end = if k == 0 || k == degree { 1.0 } else { 2.0 };
            *found = found.map(|sum| end / degree as f64 * sum);
        }
        found
    }

    /// The last coefficients, relative to the least of the functions.
    fn tail(&self, least: &[f64; N]) -> f64 {
        let last = (self.degree() + 1 - TAIL)..=self.degree();
        last.map(|k| relative(&self.coefficients::<1>(k)[0], least))
            .fold(0.0, f64::max)
    }

    /// All of them.
    fn all(&self) -> [[f64; N]; COUNT] {
        let mut all = [[0.0; N]; COUNT];
        for first in (0..=self.degree()).filter(|k| k % 8 < 2) {
            let found: [[f64; N]; 4] = self.coefficients(first);
            for (lane, found) in found.into_iter().enumerate() {
                if let Some(place) = all.get_mut(first + 2 * lane) {
                    *place = found;
                }
            }
        }
        all
    }
}

/// The greatest coefficient of several functions relative to their least values.
fn relative<const N: usize>(coefficients: &[f64; N], least: &[f64; N]) -> f64 {
    let relative = coefficients
        .iter()
        .zip(least)
        .map(|(c, least)| c.abs() / least);
    relative.fold(0.0, f64::max)
}

impl<const N: usize> Series<N> {
    /// The series through the functions at the points of one degree, as far as its coefficients count.
    fn through(
        scale: Scale,
        [from, to]: [f64; 2],
        ends: [f64; 2],
        folded: &Folded<N>,
        least: &[f64; N],
    ) -> Self {
        let coefficients = folded.all();
        let counts = |c: &[f64; N]| relative(c, least) > NEGLIGIBLE * TOLERANCE;
        let last = coefficients[..=folded.degree()].iter().rposition(counts);
        Self {
            scale,
            from,
            to,
            ends,
            coefficients: coefficients[..=last.unwrap_or(0)].to_vec(),
        }
    }

    /// Lowest and highest argument.
    ///
    /// ```
    /// use densepath_fluid::num::series::Sampler;
    /// let properties = |x: &[f64]| Ok(x.iter().map(|x| [x.cosh()]).collect());
    /// // On both sides of a corner.
    /// let found = Sampler { properties }.series::<1>([0.0, 2.0], Some(0.5))?;
    /// assert_eq!((found[0].ends(), found[1].ends()), ([0.0, 0.5], [0.5, 2.0]));
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn ends(&self) -> [f64; 2] {
        self.ends
    }

    /// The functions at several arguments.
    ///
    /// ```
    /// use densepath_fluid::num::series::Sampler;
    /// let properties = |x: &[f64]| Ok(x.iter().map(|x| [x.cosh()]).collect());
    /// let series = &Sampler { properties }.series::<1>([0.0, 2.0], None)?[0];
    /// for (x, [found]) in [0.3_f64, 1.9].into_iter().zip(series.at([0.3, 1.9])) {
    ///     assert!((found / x.cosh() - 1.0).abs() < 1e-7);
    /// }
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn at<const LANES: usize>(&self, arguments: [f64; LANES]) -> [[f64; N]; LANES] {
        self.at_coordinates(arguments.map(|x| self.scale.of(x)))
    }

    /// The same with a factor on every function.
    ///
    /// ```
    /// use densepath_fluid::num::series::Sampler;
    /// let properties = |x: &[f64]| Ok(x.iter().map(|x| [x.cosh()]).collect());
    /// let series = Sampler { properties }.series::<1>([0.0, 2.0], None)?.remove(0);
    /// assert!((series.clone().times(3.0).at([1.0])[0][0] / series.at([1.0])[0][0] - 3.0).abs() < 1e-12);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    #[must_use]
    pub fn times(mut self, factor: f64) -> Self {
        for coefficient in self.coefficients.iter_mut().flatten() {
            *coefficient *= factor;
        }
        self
    }

    fn at_coordinates<const LANES: usize>(&self, coordinates: [f64; LANES]) -> [[f64; N]; LANES] {
        let scale = 2.0 / (self.to - self.from);
        let doubled = coordinates.map(|x| scale * ((x - self.from) - (self.to - x)));
        sums(&self.coefficients, doubled)
    }

    /// The points of a quadrature between two arguments, in the coordinate in which the functions are smooth: arguments, weights in an
    /// integral over their logarithm, and the functions.
    ///
    /// ```
    /// use densepath_fluid::num::series::Sampler;
    /// let properties = |x: &[f64]| Ok(x.iter().map(|x| [x.cosh()]).collect());
    /// let series = &Sampler { properties }.series::<1>([1.0, 2.0], None)?[0];
    /// let area: f64 = series.samples([1.0, 2.0]).iter().map(|(x, weight, [y])| weight * x * y).sum();
    /// assert!((area - (2.0_f64.sinh() - 1.0_f64.sinh())).abs() < 1e-7);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn samples(&self, ends: [f64; 2]) -> [(f64, f64, [f64; N]); 10] {
        let [from, to] = ends.map(|end| self.scale.of(end));
        let places = samples(from, to);
        let values = self.at_coordinates(places.map(|(coordinate, _)| coordinate));
        core::array::from_fn(|k| {
            let (coordinate, weight) = places[k];
            let x = self.scale.argument(coordinate);
            (x, weight * self.scale.slope(coordinate) / x, values[k])
        })
    }

    /// The argument halfway between two in the coordinate.
    ///
    /// ```
    /// use densepath_fluid::num::series::Sampler;
    /// let properties = |x: &[f64]| Ok(x.iter().map(|x| [x.cosh()]).collect());
    /// let found = Sampler { properties }.series::<1>([0.0, 8.0], Some(1.0))?;
    /// // Halfway in the cube root of the distance from the corner.
    /// assert!((found[1].middle([1.0, 9.0]) - 2.0).abs() < 1e-12);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn middle(&self, ends: [f64; 2]) -> f64 {
        let [from, to] = ends.map(|end| self.scale.of(end));
        self.scale.argument(0.5 * (from + to))
    }
}

/// Functions that are to be met by series.
///
/// ```
/// use densepath_fluid::num::series::Sampler;
/// let mut asked = 0;
/// let properties = |x: &[f64]| { asked += x.len(); Ok(x.iter().map(|x| [x.cosh()]).collect()) };
/// Sampler { properties }.series::<1>([0.0, 2.0], None)?;
/// assert!(asked < 25, "{asked}");
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug)]
pub struct Sampler<F> {
    /// The functions, all above zero, at each of several arguments.
    pub properties: F,
}

impl<F> Sampler<F> {
    /// Series between two arguments, in the cube root of the distance from a corner between them on both of its sides, each of an
    /// error of about 1e-8 of the least value of a function.
    ///
    /// Errors: 401 where a function jumps; those of the functions.
    ///
    /// ```
    /// use densepath_fluid::num::series::Sampler;
    /// let bent = |x: &[f64]| Ok(x.iter().map(|x| [1.0 + (x - 1.0).abs().powf(4.0 / 3.0)]).collect());
    /// let [below, above] = &Sampler { properties: bent }.series::<1>([0.0, 3.0], Some(1.0))?[..] else { panic!("one corner") };
    /// assert!((below.at([0.5])[0][0] - (1.0 + 0.5_f64.powf(4.0 / 3.0))).abs() < 1e-8 && (above.at([2.0])[0][0] - 2.0).abs() < 1e-8);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn series<const N: usize>(
        &mut self,
        [from, to]: [f64; 2],
        corner: Option<f64>,
    ) -> Result<Vec<Series<N>>>
    where
        F: FnMut(&[f64]) -> Result<Vec<[f64; N]>>,
    {
        let inner = |corner: &f64| *corner > from * BESIDE_CORNER && *corner * BESIDE_CORNER < to;
        let mut found = Vec::new();
        match corner.filter(inner) {
            Some(corner) => {
                let scale = Scale::FromCorner(corner);
                self.refine(scale, [scale.of(from), 0.0], [from, corner], 0, &mut found)?;
                self.refine(scale, [0.0, scale.of(to)], [corner, to], 0, &mut found)?;
            }
            None => self.refine(Scale::Plain, [from, to], [from, to], 0, &mut found)?,
        }
        Ok(found)
    }

    /// As [`Sampler::series`], of functions that hardly know of the corner: one series from end to end if that does.
    ///
    /// ```
    /// use densepath_fluid::num::series::Sampler;
    /// let properties = |x: &[f64]| Ok(x.iter().map(|x| [x.cosh()]).collect());
    /// assert_eq!(Sampler { properties }.smooth_series::<1>([0.0, 2.0], Some(0.5))?.len(), 1);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn smooth_series<const N: usize>(
        &mut self,
        ends: [f64; 2],
        corner: Option<f64>,
    ) -> Result<Vec<Series<N>>>
    where
        F: FnMut(&[f64]) -> Result<Vec<[f64; N]>>,
    {
        match self.one(Scale::Plain, ends, ends)? {
            Ok(series) => Ok(vec![series]),
            Err(_) => self.series(ends, corner),
        }
    }

    /// One series between two coordinates, with the arguments there, which are exact, of the lowest degree that does; or the error of
    /// the highest.
    fn one<const N: usize>(
        &mut self,
        scale: Scale,
        [from, to]: [f64; 2],
        [low, high]: [f64; 2],
    ) -> Result<core::result::Result<Series<N>, f64>>
    where
        F: FnMut(&[f64]) -> Result<Vec<[f64; N]>>,
    {
        let node = |j: usize| node(scale, [from, to], [low, high], j);
        let mut values = [[0.0; N]; COUNT];
        let (mut least, mut last) = ([f64::INFINITY; N], f64::INFINITY);
        for stride in STRIDES {
            let places = (0..COUNT).step_by(stride);
            let new = places.filter(|j| stride == STRIDES[0] || !j.is_multiple_of(2 * stride));
            let places: Vec<usize> = new.collect();
            let arguments: Vec<f64> = places.iter().map(|j| node(*j)).collect();
            for (j, found) in places.into_iter().zip((self.properties)(&arguments)?) {
                values[j] = found;
                least = core::array::from_fn(|i| least[i].min(found[i]));
            }
            let folded = Folded::new(&values, stride);
            last = folded.tail(&least);
            if last <= TOLERANCE {
                let ends = [low, high];
                return Ok(Ok(Series::through(
                    scale,
                    [from, to],
                    ends,
                    &folded,
                    &least,
                )));
            }
        }
        Ok(Err(last))
    }

    /// Series between two coordinates: one if that does, or those of two halves.
    fn refine<const N: usize>(
        &mut self,
        scale: Scale,
        [from, to]: [f64; 2],
        [low, high]: [f64; 2],
        depth: u32,
        found: &mut Vec<Series<N>>,
    ) -> Result<()>
    where
        F: FnMut(&[f64]) -> Result<Vec<[f64; N]>>,
    {
        match self.one(scale, [from, to], [low, high])? {
            Ok(series) => found.push(series),
            Err(last) if depth == DEEPEST => {
                return Err(Error::NoConvergence {
                    solver: "series of a smooth function",
                    iterations: depth,
                    residual: last,
                    tolerance: TOLERANCE,
                });
            }
            Err(_) => {
                let middle = 0.5 * (from + to);
                let inner = scale.argument(middle);
                self.refine(scale, [from, middle], [low, inner], depth + 1, found)?;
                self.refine(scale, [middle, to], [inner, high], depth + 1, found)?;
            }
        }
        Ok(())
    }
}

/// The Chebyshev point j between two coordinates, whose arguments at the ends are exact, so that neighbouring series meet.
fn node(scale: Scale, [from, to]: [f64; 2], [low, high]: [f64; 2], j: usize) -> f64 {
    match j {
        0 => high,
        DEGREE => low,
        _ => scale.argument(0.5 * (from + to) + 0.5 * (to - from) * cosine(j)),
    }
}

/// Distances of the points of the argument and of the parameter of a family in those of the highest degree, and their numbers.
const ARGUMENT_STRIDE: usize = 4;
const ARGUMENTS: usize = DEGREE / ARGUMENT_STRIDE + 1;
const PARAMETER_STRIDE: usize = 8;
const PARAMETERS: usize = DEGREE / PARAMETER_STRIDE + 1;
/// Number of halvings after which functions have no family.
const FINEST: u32 = 6;

/// Series of low degree that depend on a parameter: each coefficient is a series in it.
#[derive(Debug)]
pub(crate) struct Family<const N: usize> {
    scale: Scale,
    /// Coordinates.
    from: f64,
    to: f64,
    /// Arguments there.
    ends: [f64; 2],
    /// Lowest and highest parameter.
    parameters: [f64; 2],
    /// For each coefficient those of its series.
    coefficients: Vec<[[f64; N]; PARAMETERS]>,
}

/// Functions of a parameter and an argument, all above zero, that are to be met by families between two parameters.
pub(crate) struct Surface<F> {
    /// Where an argument may be a corner.
    pub corner: f64,
    /// Lowest and highest parameter.
    pub parameters: [f64; 2],
    /// The functions at a parameter and several arguments.
    pub functions: F,
}

impl<F> Surface<F> {
    /// Families between two arguments around the corner that meet the functions as [`Sampler::series`] does: one if that does, or
    /// those of both sides, halved where they do not; nothing where halves do not help.
    pub(crate) fn families<const N: usize>(
        &mut self,
        [from, to]: [f64; 2],
    ) -> Option<Vec<Family<N>>>
    where
        F: FnMut(f64, &[f64]) -> Option<Vec<[f64; N]>>,
    {
        if let Some(only) = self.family(Scale::Plain, [from, to]) {
            return Some(vec![only]);
        }
        let mut found = Vec::new();
        self.refine([from, self.corner], 0, &mut found)?;
        self.refine([self.corner, to], 0, &mut found)?;
        Some(found)
    }

    fn refine<const N: usize>(
        &mut self,
        [from, to]: [f64; 2],
        depth: u32,
        found: &mut Vec<Family<N>>,
    ) -> Option<()>
    where
        F: FnMut(f64, &[f64]) -> Option<Vec<[f64; N]>>,
    {
        let at_corner = from == self.corner || to == self.corner;
        let bent = at_corner.then_some(Scale::FromCorner(self.corner));
        for scale in [Some(Scale::Plain), bent].into_iter().flatten() {
            if let Some(family) = self.family(scale, [from, to]) {
                found.push(family);
                return Some(());
            }
        }
        if depth == FINEST {
            return None;
        }
        // Towards a corner ever finer.
        let scale = bent.unwrap_or(Scale::Plain);
        let middle = scale.argument(0.5 * (scale.of(from) + scale.of(to)));
        self.refine([from, middle], depth + 1, found)?;
        self.refine([middle, to], depth + 1, found)
    }

    /// The family between two arguments, if one of its degrees does.
    fn family<const N: usize>(&mut self, scale: Scale, ends: [f64; 2]) -> Option<Family<N>>
    where
        F: FnMut(f64, &[f64]) -> Option<Vec<[f64; N]>>,
    {
        let [from, to] = ends.map(|end| scale.of(end));
        let places = (0..COUNT).step_by(ARGUMENT_STRIDE);
        let arguments: Vec<f64> = places.map(|j| node(scale, [from, to], ends, j)).collect();
        let mut least = [f64::INFINITY; N];
        let mut rows = Vec::with_capacity(PARAMETERS);
        for m in 0..PARAMETERS {
            let parameters = self.parameters;
            let parameter = node(Scale::Plain, parameters, parameters, m * PARAMETER_STRIDE);
            let found = (self.functions)(parameter, &arguments)?;
            let good = |value: &f64| *value > 0.0 && value.is_finite();
            if !found.iter().flatten().all(good) {
                return None;
            }
            let mut values = [[0.0; N]; COUNT];
            for (value, found) in values.iter_mut().step_by(ARGUMENT_STRIDE).zip(found) {
                *value = found;
                least = core::array::from_fn(|i| least[i].min(found[i]));
            }
            let folded = Folded::new(&values, ARGUMENT_STRIDE);
            if folded.tail(&least) > TOLERANCE {
                return None;
            }
            rows.push(folded.all());
        }
        let mut coefficients: Vec<_> = (0..ARGUMENTS).map(|k| along(&rows, k)).collect();
        let size = |of: &[[f64; N]]| of.iter().map(|c| relative(c, &least)).fold(0.0, f64::max);
        let in_argument = coefficients[ARGUMENTS - TAIL..].iter().map(|of| size(of));
        let in_parameter = coefficients.iter().map(|of| size(&of[PARAMETERS - TAIL..]));
        let error = in_argument.chain(in_parameter).fold(0.0, f64::max);
        if error > TOLERANCE {
            return None;
        }
        let counts = |of: &[[f64; N]; PARAMETERS]| size(of) > NEGLIGIBLE * TOLERANCE;
        let last = coefficients.iter().rposition(counts);
        coefficients.truncate(last.map_or(1, |last| last + 1));
        Some(Family {
            scale,
            from,
            to,
            ends,
            parameters: self.parameters,
            coefficients,
        })
    }
}

impl<const N: usize> Family<N> {
    /// Lowest and highest argument.
    pub(crate) fn ends(&self) -> [f64; 2] {
        self.ends
    }

    /// The series of a parameter.
    pub(crate) fn at(&self, parameter: f64) -> Series<N> {
        let [low, high] = self.parameters;
        let t = ((parameter - low) - (high - parameter)) / (high - low);
        // T_(m+1) = 2 t T_m - T_(m-1), from T_0 = 1 and T_(-1) = t.
        let (mut before, mut current) = (t, 1.0);
        let polynomials: [f64; PARAMETERS] = core::array::from_fn(|_| {
            let found = current;
            (before, current) = (current, 2.0 * t * current - before);
            found
        });
        let sum = |row: &[[f64; N]; PARAMETERS]| {
            let terms = polynomials.iter().zip(row);
            terms.fold([0.0; N], |sum, (polynomial, row)| {
                core::array::from_fn(|i| sum[i] + polynomial * row[i])
            })
        };
        Series {
            scale: self.scale,
            from: self.from,
            to: self.to,
            ends: self.ends,
            coefficients: self.coefficients.iter().map(sum).collect(),
        }
    }
}

/// The series in the parameter of the coefficient k of each row.
fn along<const N: usize>(rows: &[[[f64; N]; COUNT]], k: usize) -> [[f64; N]; PARAMETERS] {
    let mut values = [[0.0; N]; COUNT];
    for (value, row) in values.iter_mut().step_by(PARAMETER_STRIDE).zip(rows) {
        *value = row[k];
    }
    let all = Folded::new(&values, PARAMETER_STRIDE).all();
    core::array::from_fn(|m| all[m])
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A function with the corner of the equations that need one, over a parameter.
    fn bent(parameter: f64, x: f64) -> [f64; 2] {
        let distance = (x - 1.0).abs().powf(10.0 / 3.0);
        [
            parameter.exp() + distance,
            (x * parameter).cosh() + parameter * distance,
        ]
    }

    #[test]
    fn families_meet_their_functions_between_their_points() {
        let functions =
            |parameter: f64, x: &[f64]| Some(x.iter().map(|x| bent(parameter, *x)).collect());
        let mut surface = Surface {
            corner: 1.0,
            parameters: [1.0, 1.4],
            functions,
        };
        let families: Vec<Family<2>> = surface.families([0.0, 2.4]).unwrap();
        assert!(families.len() < 8 && families[0].ends()[0] == 0.0);
        for pair in families.windows(2) {
            assert_eq!(pair[0].ends()[1], pair[1].ends()[0]);
        }
        for step in 0..=40 {
            let share = f64::from(step) / 40.0;
            let (parameter, x) = (1.0 + 0.4 * share * share, 2.4 * share);
            let family = families.iter().find(|family| x <= family.ends()[1]);
            let [found] = family.unwrap().at(parameter).at([x]);
            for (found, expected) in found.into_iter().zip(bent(parameter, x)) {
                assert!((found / expected - 1.0).abs() < 1e-8, "{parameter} {x}");
            }
        }
    }

    #[test]
    fn a_jump_in_the_argument_or_the_parameter_makes_no_family() {
        let family = |function: fn(f64, f64) -> f64| {
            let mut surface = Surface {
                corner: 0.0,
                parameters: [1.0, 2.0],
                functions: |parameter: f64, x: &[f64]| {
                    Some(x.iter().map(|x| [function(parameter, *x)]).collect())
                },
            };
            surface.families::<1>([1.0, 2.0]).is_some()
        };
        assert!(family(|parameter, x| parameter + x));
        assert!(!family(|_, x| if x > 1.3 { 2.0 } else { 1.0 }));
        assert!(!family(|parameter, _| if parameter > 1.3 {
            2.0
        } else {
            1.0
        }));
        assert!(!family(|_, _| f64::NAN));
    }
}
