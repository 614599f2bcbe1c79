//! Many methods at once, on all cores.

use densepath_fluid::error::{Error, Result};
use rayon::prelude::*;

use super::{Input, Method, read_method};
use crate::path::{Solution, Watch};

/// A method with its solution, or why there is none.
pub type Solved = Result<(Method, Solution)>;

/// The solution of each method, or its error; the methods are shared among the cores.
///
/// Each is found as by [`Method::solve`], to the last bit: no method knows of the others.
///
/// ```
/// use densepath::method::solve_many;
/// let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
/// let solved = solve_many(&[method.clone(), method.clone()]);
/// assert_eq!(solved[0].as_ref().map(|found| found.delivery_pressure), solved[1].as_ref().map(|found| found.delivery_pressure));
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn solve_many(methods: &[Method]) -> Vec<Result<Solution>> {
    methods.par_iter().map(Method::solve).collect()
}

/// The method of each document with its solution, or its error, all under one watch; the documents are shared among the cores.
///
/// ```
/// use densepath::{method::solve_documents, path::Watch};
/// let solved = solve_documents(&["document = 1\n".to_owned()], &Watch::default());
/// // Each document answers for itself: this one lacks its title.
/// assert_eq!(solved[0].as_ref().map(|_| ()).map_err(densepath::Error::code), Err(603));
/// ```
pub fn solve_documents(documents: &[String], watch: &Watch) -> Vec<Solved> {
    let solved = |text: &String| {
        watch.check()?;
        let mut method = read_method(text)?;
        method.path.watch = watch.clone();
        solved(method)
    };
    documents.par_iter().map(solved).collect()
}

/// The method with its solution; what is asked of it afterwards is not watched.
fn solved(mut method: Method) -> Solved {
    let solution = method.solve()?;
    method.path.watch = Watch::default();
    Ok((method, solution))
}

impl Method {
    /// The method with other values in SI of some of its inputs, once for each set of them, each solved; shared among the cores.
    ///
    /// The inputs hold as many values each as there are methods: error 104 if they do not.
    ///
    /// ```
    /// let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
    /// let length = method.input("column", "length")?;
    /// let solved = method.solve_with(&[(length, vec![0.15, 0.25])])?;
    /// let drops: Vec<f64> = solved.iter().flatten().map(|(_, found)| found.columns[0].pressure_drop).collect();
    /// assert!(drops[0] < drops[1]);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn solve_with(&self, changes: &[(Input, Vec<f64>)]) -> Result<Vec<Solved>> {
        let count = changes.first().map_or(0, |(_, values)| values.len());
        if let Some((other, values)) = changes.iter().find(|(_, values)| values.len() != count) {
            return Err(Error::Argument {
                argument: format!("{}.{}", other.of, other.key),
                expected: "as many values as the other inputs hold",
                got: format!("{} beside {count}", values.len()),
            });
        }
        let with = |index: usize| {
            let set: Vec<_> = changes
                .iter()
                .filter_map(|(input, values)| Some((input, *values.get(index)?)))
                .collect();
            solved(self.with(&set)?)
        };
        Ok((0..count).into_par_iter().map(with).collect())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const PACKED: &str = include_str!("../../../../tests/methods/packed.toml");

    #[test]
    fn a_batch_is_what_its_methods_are_alone() {
        let method = read_method(PACKED).unwrap();
        let input = |of, key| method.input(of, key).unwrap();
        let changes = [
            (input("column", "length"), vec![0.1, 0.25, 0.25]),
            (
                input("preheater", "wall_temperature"),
                vec![323.15, 313.15, 313.15],
            ),
            (input("regulator", "pressure"), vec![150e5, 150e5, 140e5]),
        ];
        let solved = method.solve_with(&changes).unwrap();
        let solved: Vec<_> = solved.into_iter().map(Result::unwrap).collect();
        let methods: Vec<Method> = solved.iter().map(|(method, _)| method.clone()).collect();
        let documents: Vec<String> = methods.iter().map(|m| m.document().to_owned()).collect();
        let batches = solve_many(&methods)
            .into_iter()
            .zip(solve_documents(&documents, &Watch::default()));
        for ((method, found), (many, read)) in solved.iter().zip(batches) {
            for other in [method.solve().unwrap(), many.unwrap(), read.unwrap().1] {
                assert_eq!(other.delivery_pressure, found.delivery_pressure);
                assert_eq!(other.bands, found.bands);
            }
        }
        let plain = method.solve().unwrap();
        assert_eq!(solved[1].1.delivery_pressure, plain.delivery_pressure);
        assert!(solved[0].1.delivery_pressure < plain.delivery_pressure);
    }

    #[test]
    fn what_is_stopped_says_so_and_nothing_else_is_lost() {
        let mut method = read_method(PACKED).unwrap();
        method.path.watch = Watch::new();
        let length = method.input("column", "length").unwrap();
        let changes = [(length, vec![0.1, 0.15])];
        let solved = method.solve_with(&changes).unwrap();
        assert!(solved.iter().all(Result::is_ok));
        let (first, _) = solved[0].as_ref().unwrap();
        first.path.watch.check().unwrap();
        assert_eq!(method.path.watch.solved(), 2);
        method.path.watch.stop();
        first.solve().unwrap();
        for result in method.solve_with(&changes).unwrap() {
            assert_eq!(result.unwrap_err().root().code(), 406);
        }
        let documents = [PACKED.to_owned()];
        let late = Watch::within(0.0).unwrap();
        let refused = &solve_documents(&documents, &late)[0];
        assert_eq!(refused.as_ref().unwrap_err().root().code(), 406);
        for time in [-1.0, f64::NAN, f64::INFINITY] {
            assert_eq!(Watch::within(time).unwrap_err().code(), 101);
        }
    }

    #[test]
    fn faults_keep_to_their_method_and_uneven_lists_are_refused() {
        let method = read_method(PACKED).unwrap();
        let length = method.input("column", "length").unwrap();
        let pressure = method.input("regulator", "pressure").unwrap();
        let lengths = vec![0.25, 100.0, -3e-3];
        let solved = method.solve_with(&[(length.clone(), lengths)]).unwrap();
        assert!(solved[0].is_ok());
        assert_eq!(solved[1].as_ref().unwrap_err().root().code(), 502);
        assert_eq!(solved[2].as_ref().unwrap_err().root().code(), 101);
        let uneven = [(length, vec![0.25]), (pressure, vec![150e5, 151e5])];
        assert_eq!(method.solve_with(&uneven).unwrap_err().code(), 104);
        assert!(method.solve_with(&[]).unwrap().is_empty());
    }
}
