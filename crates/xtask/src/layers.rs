//! `cargo xtask check-layers`: every module uses only the layers below it, as the table in DEVELOPERS.md says.
//!
//! The sources are read as tokens. Every path that begins with `crate`, `super`, `self` or the name of a crate of the
//! workspace is resolved to the module it leads to, through the re-exports of the crate roots.

use crate::shell::Workspace;
use proc_macro2::{Delimiter, TokenStream, TokenTree};
use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::path::Path;

/// Modules that stand on the same level, and the layers that they may use beside themselves.
struct Layer {
    name: &'static str,
    modules: &'static [&'static str],
    may_use: &'static [&'static str],
}

impl Layer {
    /// Every layer that this one may use beside itself.
    fn usable(&self) -> Vec<&'static str> {
        let fluid = KNOWS_FLUID.contains(&self.name).then_some(FLUID);
        fluid
            .into_iter()
            .flatten()
            .chain(self.may_use)
            .copied()
            .collect()
    }
}

const BASE: &str = "base";

/// The layers of the fluid, all of which the instrument's layers above `flow` may use.
const FLUID: &[&str] = &[
    BASE,
    "fluids",
    "eos",
    "state",
    "transport",
    "phase",
    "property",
    "table",
];

const LAYERS: &[Layer] = &[
    Layer {
        name: BASE,
        modules: &[
            "densepath_fluid::consts",
            "densepath_fluid::units",
            "densepath_fluid::quantity",
            "densepath_fluid::error",
            "densepath_fluid::notice",
            "densepath_fluid::num",
            "densepath_fluid::prelude",
        ],
        may_use: &[],
    },
    Layer {
        name: "fluids",
        modules: &["densepath_fluid::fluids"],
        may_use: &[BASE],
    },
    Layer {
        name: "eos",
        modules: &["densepath_fluid::eos"],
        may_use: &[BASE, "fluids"],
    },
    Layer {
        name: "state",
        modules: &["densepath_fluid::state"],
        may_use: &[BASE, "fluids", "eos"],
    },
    Layer {
        name: "transport",
        modules: &["densepath_fluid::transport"],
        may_use: &[BASE, "fluids", "eos", "state"],
    },
    Layer {
        name: "phase",
        modules: &["densepath_fluid::phase"],
        may_use: &[BASE, "fluids", "eos", "state"],
    },
    Layer {
        name: "property",
        modules: &["densepath_fluid::property"],
        may_use: &[BASE, "fluids", "eos", "state", "transport", "phase"],
    },
    Layer {
        name: "table",
        modules: &["densepath_fluid::table"],
        may_use: &[BASE, "fluids", "state", "property"],
    },
    Layer {
        name: "flow",
        modules: &["densepath::flow"],
        may_use: &[BASE],
    },
    Layer {
        name: "hardware",
        modules: &["densepath::hardware"],
        may_use: &["flow"],
    },
    Layer {
        name: "path",
        modules: &["densepath::path"],
        may_use: &["flow", "hardware"],
    },
    Layer {
        name: "method",
        modules: &["densepath::method"],
        may_use: &["flow", "hardware", "path"],
    },
    Layer {
        name: "report",
        modules: &["densepath::report"],
        may_use: &["flow", "hardware", "path", "method"],
    },
    Layer {
        name: "study",
        modules: &["densepath::study"],
        may_use: &["flow", "hardware", "path", "method", "report"],
    },
];

/// The layers of the instrument that know the whole fluid.
const KNOWS_FLUID: &[&str] = &["hardware", "path", "method", "report", "study"];

/// The crates whose modules are layers, by the name that paths give them.
const LAYERED: &[(&str, &str)] = &[
    ("densepath_fluid", "crates/densepath-fluid/src"),
    ("densepath", "crates/densepath/src"),
];

/// The crates that translate for another language: they know one crate of the workspace only.
const BINDINGS: &[(&str, &str)] = &[
    ("densepath_c", "bindings/c/src"),
    ("densepath_python", "bindings/python/src"),
];

/// The command `check-layers`.
pub fn run(workspace: &Workspace, arguments: &[String]) -> Result<(), String> {
    if !arguments.is_empty() {
        return Err("`check-layers` takes no argument".to_owned());
    }
    let mut sources = Vec::new();
    for &(package, folder) in LAYERED.iter().chain(BINDINGS) {
        read_folder(
            &workspace.root,
            Path::new(folder),
            package,
            &[],
            &mut sources,
        )?;
    }
    let faults = check(&sources)?;
    if faults.is_empty() {
        println!("{} source files keep to their layers", sources.len());
        return Ok(());
    }
    let mut message = String::new();
    for fault in &faults {
        let _ = writeln!(message, "{fault}");
    }
    let _ = write!(
        message,
        "{} uses against the table of layers in DEVELOPERS.md",
        faults.len()
    );
    Err(message)
}

/// One source file with the module that it is.
struct Source {
    file: String,
    package: &'static str,
    module: Vec<String>,
    text: String,
}

fn read_folder(
    root: &Path,
    folder: &Path,
    package: &'static str,
    module: &[String],
    sources: &mut Vec<Source>,
) -> Result<(), String> {
    let failure = |error: std::io::Error| format!("{}: {error}", folder.display());
    let mut entries: Vec<_> = std::fs::read_dir(root.join(folder))
        .and_then(Iterator::collect::<Result<_, _>>)
        .map_err(failure)?;
    entries.sort_by_key(std::fs::DirEntry::file_name);
    for entry in entries {
        let path = folder.join(entry.file_name());
        let Some(stem) = path.file_stem().and_then(|stem| stem.to_str()) else {
            continue;
        };
        let mut inner = module.to_vec();
        if entry.file_type().map_err(failure)?.is_dir() {
            inner.push(stem.to_owned());
            read_folder(root, &path, package, &inner, sources)?;
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            if !matches!(stem, "lib" | "mod") {
                inner.push(stem.to_owned());
            }
            sources.push(Source {
                file: path.display().to_string(),
                package,
                module: inner,
                text: std::fs::read_to_string(root.join(&path)).map_err(failure)?,
            });
        }
    }
    Ok(())
}

/// Every use against the table, as `file:line: what`.
fn check(sources: &[Source]) -> Result<Vec<String>, String> {
    let mut exports = Exports::default();
    let mut faults = Vec::new();
    let mut uses = Vec::new();
    for source in sources {
        let tokens: TokenStream = source
            .text
            .parse()
            .map_err(|error| format!("{}: {error}", source.file))?;
        let mut reader = Reader {
            source,
            paths: Vec::new(),
            exports: &mut exports,
        };
        reader.read(tokens, &source.module);
        uses.extend(reader.paths.into_iter().map(|path| (source, path)));
    }
    for (source, path) in uses {
        let objection = if is_binding(source) {
            objection_to_binding(&path.segments)
        } else {
            objection(source, &exports.resolve(&path.segments))
        };
        if let Some(reason) = objection {
            faults.push(format!("{}:{}: {reason}", source.file, path.line));
        }
    }
    Ok(faults)
}

/// A path of the source, from the name of its crate on.
struct UsedPath {
    line: usize,
    segments: Vec<String>,
}

/// Names that the crate roots re-export, with the paths that they stand for.
#[derive(Default)]
struct Exports(BTreeMap<Vec<String>, Vec<String>>);

impl Exports {
    /// The path with the re-exports of the crate roots followed.
    fn resolve(&self, segments: &[String]) -> Vec<String> {
        let mut path = segments.to_vec();
        // A chain of re-exports cannot be longer than their number.
        for _ in 0..=self.0.len() {
            let Some(real) = path.get(..2).and_then(|head| self.0.get(head)) else {
                break;
            };
            path.splice(..2, real.iter().cloned());
        }
        path
    }
}

/// Gathers the paths of one file.
struct Reader<'a> {
    source: &'a Source,
    paths: Vec<UsedPath>,
    exports: &'a mut Exports,
}

impl Reader<'_> {
    fn read(&mut self, tokens: TokenStream, module: &[String]) {
        let tokens: Vec<TokenTree> = tokens.into_iter().collect();
        let mut at = 0;
        while let Some(token) = tokens.get(at) {
            match token {
                TokenTree::Ident(word) if word == "mod" => {
                    at += self.read_module(&tokens[at..], module);
                }
                TokenTree::Ident(word) if word == "use" => {
                    at += self.read_use(&tokens[at..], module);
                }
                TokenTree::Ident(_) => at += self.read_path(&tokens[at..], module),
                TokenTree::Group(group) => {
                    self.read(group.stream(), module);
                    at += 1;
                }
                TokenTree::Punct(_) | TokenTree::Literal(_) => at += 1,
            }
        }
    }

    /// `mod name { ... }`: its inside is a module of its own. Returns the number of tokens read.
    fn read_module(&mut self, tokens: &[TokenTree], module: &[String]) -> usize {
        let [_, TokenTree::Ident(name), TokenTree::Group(body), ..] = tokens else {
            return 1;
        };
        let mut inner = module.to_vec();
        inner.push(name.to_string());
        self.read(body.stream(), &inner);
        3
    }

    /// `use tree;`: every leaf of the tree is a path. Returns the number of tokens read.
    fn read_use(&mut self, tokens: &[TokenTree], module: &[String]) -> usize {
        let end = tokens
            .iter()
            .position(|token| is_punct(token, ';'))
            .unwrap_or(tokens.len());
        let mut leaves = Vec::new();
        read_tree(&tokens[1..end], &[], &mut leaves);
        let line = tokens[0].span().start().line;
        for Leaf { segments, name } in leaves {
            let Some(segments) = self.absolute(&segments, module, true) else {
                continue;
            };
            if module.is_empty() {
                let exported = vec![self.source.package.to_owned(), name];
                if exported != segments {
                    self.exports.0.insert(exported, segments.clone());
                }
            }
            self.paths.push(UsedPath { line, segments });
        }
        end
    }

    /// `a::b::c` outside of `use`. Returns the number of tokens read.
    fn read_path(&mut self, tokens: &[TokenTree], module: &[String]) -> usize {
        let mut segments = Vec::new();
        let mut at = 0;
        while let Some(TokenTree::Ident(word)) = tokens.get(at) {
            segments.push(word.to_string());
            at += 1;
            if !is_path_separator(&tokens[at..]) {
                break;
            }
            at += 2;
        }
        if segments.len() > 1 {
            let line = tokens[0].span().start().line;
            if let Some(segments) = self.absolute(&segments, module, false) {
                self.paths.push(UsedPath { line, segments });
            }
        }
        at
    }

    /// The path from its crate's name on, or none if it leads to a name of this module or out of the workspace.
    fn absolute(
        &self,
        segments: &[String],
        module: &[String],
        in_use: bool,
    ) -> Option<Vec<String>> {
        let mut place = vec![self.source.package.to_owned()];
        let first = segments.first()?;
        let mut rest = segments;
        match first.as_str() {
            "crate" => rest = &segments[1..],
            "self" | "super" => {
                place.extend_from_slice(module);
                while let [word, tail @ ..] = rest {
                    match word.as_str() {
                        "self" => {}
                        "super" => {
                            place.pop();
                        }
                        _ => break,
                    }
                    rest = tail;
                }
            }
            name if LAYERED.iter().any(|(package, _)| *package == name) => place.clear(),
            // In a crate root a bare name in `use` leads to a module of the crate.
            _ if in_use && module.is_empty() && self.has_module(first) => {}
            _ => return None,
        }
        place.extend_from_slice(rest);
        Some(place)
    }

    fn has_module(&self, name: &str) -> bool {
        layer_of(&format!("{}::{name}", self.source.package)).is_some()
    }
}

/// One leaf of a `use` tree, with the name that it gets.
struct Leaf {
    segments: Vec<String>,
    name: String,
}

fn read_tree(tokens: &[TokenTree], prefix: &[String], leaves: &mut Vec<Leaf>) {
    let mut segments = prefix.to_vec();
    let mut alias = None;
    let mut at = 0;
    while let Some(token) = tokens.get(at) {
        match token {
            TokenTree::Ident(word) if word == "as" => {
                alias = tokens.get(at + 1).map(ToString::to_string);
                break;
            }
            // `a::{self}` is `a`.
            TokenTree::Ident(word) if word == "self" && !segments.is_empty() => {}
            TokenTree::Ident(word) => segments.push(word.to_string()),
            TokenTree::Group(group) if group.delimiter() == Delimiter::Brace => {
                let inner: Vec<TokenTree> = group.stream().into_iter().collect();
                for branch in inner.split(|token| is_punct(token, ',')) {
                    if !branch.is_empty() {
                        read_tree(branch, &segments, leaves);
                    }
                }
                return;
            }
            TokenTree::Punct(punct) if punct.as_char() == '*' => segments.push("*".to_owned()),
            _ => {}
        }
        at += 1;
    }
    let name = alias.or_else(|| segments.last().cloned());
    if let Some(name) = name {
        leaves.push(Leaf { segments, name });
    }
}

fn is_punct(token: &TokenTree, wanted: char) -> bool {
    matches!(token, TokenTree::Punct(punct) if punct.as_char() == wanted)
}

fn is_path_separator(tokens: &[TokenTree]) -> bool {
    matches!(tokens, [first, second, TokenTree::Ident(_), ..] if is_punct(first, ':') && is_punct(second, ':'))
}

fn layer_of(module: &str) -> Option<&'static Layer> {
    LAYERS.iter().find(|layer| layer.modules.contains(&module))
}

fn is_binding(source: &Source) -> bool {
    BINDINGS
        .iter()
        .any(|(package, _)| *package == source.package)
}

/// Why a binding may not use the path as written, if it may not.
fn objection_to_binding(written: &[String]) -> Option<String> {
    (written.first()? == "densepath_fluid").then(|| {
        "a binding uses the crate densepath_fluid; it may use the crate densepath only".to_owned()
    })
}

/// Why a module of a layer may not use the path, if it may not.
fn objection(source: &Source, reached: &[String]) -> Option<String> {
    let reached_package = reached.first()?;
    let own = source.module.first()?;
    let from = format!("{}::{own}", source.package);
    let Some(user) = layer_of(&from) else {
        return Some(format!("the module {from} is not in the table of layers"));
    };
    let target = match reached.get(1).map(String::as_str) {
        None | Some("*") => {
            let whole_fluid =
                reached_package == "densepath_fluid" && KNOWS_FLUID.contains(&user.name);
            return (!whole_fluid)
                .then(|| format!("{} uses the whole of {reached_package}", user.name));
        }
        Some(module) => format!("{reached_package}::{module}"),
    };
    let Some(used) = layer_of(&target) else {
        return Some(format!(
            "{} uses {target}, which belongs to no layer of the table",
            user.name
        ));
    };
    let allowed = user.usable();
    (used.name != user.name && !allowed.contains(&used.name)).then(|| {
        format!(
            "{} uses {target}; it may use: {}",
            user.name,
            names_of(&allowed)
        )
    })
}

fn names_of(layers: &[&str]) -> String {
    if layers.is_empty() {
        return "itself only".to_owned();
    }
    let names: Vec<&str> = layers
        .iter()
        .flat_map(|name| LAYERS.iter().filter(move |layer| layer.name == *name))
        .flat_map(|layer| layer.modules)
        .filter_map(|module| module.rsplit("::").next())
        .collect();
    names.join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;

    const FLUID_ROOT: (&str, &str) = (
        "fluid/lib.rs",
        "pub mod consts; pub mod error; pub mod property; pub mod state;
         pub use error::{Error, Result as Outcome};
         pub use state::State;
         pub use property::Property;",
    );
    const FLOW_ROOT: (&str, &str) = (
        "flow/lib.rs",
        "pub mod flow; pub mod hardware;
         pub use densepath_fluid as fluid;
         pub use densepath_fluid::{Error, State};
         pub use hardware::tube::Tube;",
    );

    fn source(path: &str, text: &str) -> Source {
        let (package, rest) = match path.split_once('/').unwrap() {
            ("fluid", rest) => ("densepath_fluid", rest),
            ("flow", rest) => ("densepath", rest),
            ("c", rest) => ("densepath_c", rest),
            _ => unreachable!(),
        };
        let module = rest
            .trim_end_matches(".rs")
            .split('/')
            .filter(|name| !matches!(*name, "lib" | "mod"))
            .map(str::to_owned)
            .collect();
        Source {
            file: path.to_owned(),
            package,
            module,
            text: text.to_owned(),
        }
    }

    fn faults(path: &str, text: &str) -> Vec<String> {
        let sources: Vec<Source> = [(path, text), FLUID_ROOT, FLOW_ROOT]
            .iter()
            .map(|(path, text)| source(path, text))
            .collect();
        check(&sources).unwrap()
    }

    #[test]
    fn downward_uses_are_accepted() {
        for (path, text) in [
            (
                "fluid/state/mod.rs",
                "use crate::{consts, error::Error, num::root};",
            ),
            (
                "fluid/state/solve.rs",
                "use super::Region; fn f() { crate::Error::f() }",
            ),
            ("fluid/eos/mod.rs", "use crate::fluids::*;"),
            (
                "fluid/units.rs",
                "fn f() -> f64 { crate::consts::ICE_POINT }",
            ),
            (
                "flow/flow/tube.rs",
                "use densepath_fluid::{Error, num::quad}; use std::state::X;",
            ),
            (
                "flow/hardware/tube.rs",
                "use crate::flow::tube; use crate::State; use densepath_fluid::phase::x;",
            ),
            (
                "flow/report/mod.rs",
                "use crate::{path::Solution, method, fluid::State};",
            ),
            (
                "c/lib.rs",
                "use densepath::fluid::State; use crate::guard::guarded;",
            ),
        ] {
            assert_eq!(faults(path, text), Vec::<String>::new(), "{path}: {text}");
        }
    }

    #[test]
    fn upward_and_sideways_uses_are_found() {
        for (path, text, wanted) in [
            (
                "fluid/eos/mod.rs",
                "\n use crate::{consts, state::State};",
                "fluid/eos/mod.rs:2: eos uses densepath_fluid::state",
            ),
            (
                "fluid/eos/mod.rs",
                "fn f(s: &crate::State) {}",
                "eos uses densepath_fluid::state",
            ),
            (
                "fluid/transport/a.rs",
                "use super::super::phase::b;",
                "transport uses densepath_fluid::phase",
            ),
            (
                "fluid/phase/mod.rs",
                "mod tests { use super::super::transport; }",
                "phase uses densepath_fluid::transport",
            ),
            (
                "fluid/state/mod.rs",
                "use crate::Property;",
                "state uses densepath_fluid::property",
            ),
            (
                "fluid/state/mod.rs",
                "use crate::Unknown;",
                "belongs to no layer",
            ),
            (
                "fluid/state/mod.rs",
                "use crate::*;",
                "the whole of densepath_fluid",
            ),
            ("fluid/other.rs", "use crate::consts;", "not in the table"),
            (
                "flow/flow/tube.rs",
                "use crate::State;",
                "flow uses densepath_fluid::state",
            ),
            (
                "flow/flow/tube.rs",
                "use crate::fluid::State as S;",
                "flow uses densepath_fluid::state",
            ),
            (
                "flow/flow/tube.rs",
                "use densepath_fluid as f;",
                "the whole of densepath_fluid",
            ),
            (
                "flow/flow/tube.rs",
                "type A = ::densepath_fluid::eos::A;",
                "flow uses densepath_fluid::eos",
            ),
            (
                "flow/path/mod.rs",
                "macro_rules! m { () => { $crate::report::x() } }",
                "path uses densepath::report",
            ),
            (
                "flow/flow/tube.rs",
                "use crate::Tube;",
                "flow uses densepath::hardware",
            ),
            ("c/lib.rs", "use densepath_fluid::State;", "a binding uses"),
        ] {
            let found = faults(path, text);
            assert_eq!(found.len(), 1, "{path}: {text}: {found:?}");
            assert!(found[0].contains(wanted), "{}", found[0]);
        }
    }

    #[test]
    fn comments_and_text_are_not_code() {
        let text = "// crate::report\n/* crate::report */ /// crate::report\n const A: &str = \"crate::report\";";
        assert_eq!(faults("flow/flow/a.rs", text), Vec::<String>::new());
    }

    #[test]
    fn every_name_in_the_table_is_a_layer() {
        for name in LAYERS.iter().flat_map(Layer::usable) {
            assert!(LAYERS.iter().any(|layer| layer.name == name), "{name}");
        }
    }
}
