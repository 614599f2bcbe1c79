//! Places in a source file where a fault can be put, and the faults.

use std::ops::Range;

use proc_macro2::Span;
use syn::spanned::Spanned;
use syn::visit::{self, Visit};
use syn::{BinOp, Expr, Lit, UnOp};

/// A fault that a switch turns on: a piece of a file and what stands there instead.
#[derive(Debug, Clone)]
pub struct Place {
    /// What kind of fault it is.
    pub kind: &'static str,
    /// The bytes of the file that are replaced.
    pub range: Range<usize>,
    /// The line, from one.
    pub line: usize,
    /// What stands there.
    pub right: String,
    /// What stands there with the fault.
    pub wrong: String,
}

/// Every place of a source file outside of its tests.
pub fn of_source(text: &str) -> Vec<Place> {
    let Ok(file) = syn::parse_file(text) else {
        return Vec::new();
    };
    let mut finder = Finder {
        text,
        found: Vec::new(),
        depth: 0,
    };
    finder.visit_file(&file);
    let mut found = finder.found;
    found.extend(of_constants(text, &file));
    found
}

struct Finder<'a> {
    text: &'a str,
    found: Vec<Place>,
    /// Bodies of functions around the place.
    depth: usize,
}

fn is_for_tests(attributes: &[syn::Attribute]) -> bool {
    attributes.iter().any(|attribute| {
        let is_cfg = attribute.path().is_ident("cfg");
        let is_test = attribute.path().is_ident("test");
        let tokens = attribute.meta.require_list();
        is_test || is_cfg && tokens.is_ok_and(|list| list.tokens.to_string().contains("test"))
    })
}

impl Finder<'_> {
    fn of(&self, span: Span) -> String {
        self.text
            .get(span.byte_range())
            .unwrap_or_default()
            .to_owned()
    }

    fn add(&mut self, kind: &'static str, span: Span, wrong: String) {
        let right = self.of(span);
        if self.depth > 0 && right != wrong && !right.is_empty() {
            self.found.push(Place {
                kind,
                range: span.byte_range(),
                line: span.start().line,
                right,
                wrong,
            });
        }
    }

    fn binary(&mut self, pair: &syn::ExprBinary) {
        let [left, right] = [&pair.left, &pair.right].map(|side| self.of(side.span()));
        let (kind, other) = match pair.op {
            BinOp::Add(_) => ("operator", "-"),
            BinOp::Sub(_) => ("operator", "+"),
            BinOp::Mul(_) => ("operator", "/"),
            BinOp::Div(_) => ("operator", "*"),
            BinOp::Lt(_) | BinOp::Le(_) => ("comparison", ">"),
            BinOp::Gt(_) | BinOp::Ge(_) => ("comparison", "<"),
            BinOp::Eq(_) => ("comparison", "!="),
            BinOp::Ne(_) => ("comparison", "=="),
            BinOp::And(_) => ("comparison", "||"),
            BinOp::Or(_) => ("comparison", "&&"),
            _ => return,
        };
        self.add(kind, pair.span(), format!("{left} {other} {right}"));
        if kind == "operator" {
            self.add("dropped term", pair.span(), left);
        }
    }

    fn method(&mut self, call: &syn::ExprMethodCall) {
        let receiver = self.of(call.receiver.span());
        match call.method.to_string().as_str() {
            "min" | "max" | "clamp" if !call.args.is_empty() => {
                self.add("missed bound", call.span(), receiver);
            }
            "sqrt" | "exp" | "ln" | "abs" | "powi" | "powf" | "cbrt" | "recip" => {
                self.add("dropped function", call.span(), receiver);
            }
            _ => self.arguments(call.span(), call.args.iter()),
        }
    }

    /// Two arguments that stand next to each other change places.
    fn arguments<'b>(&mut self, whole: Span, arguments: impl Iterator<Item = &'b Expr>) {
        let all: Vec<_> = arguments.map(|one| one.span().byte_range()).collect();
        let Some(whole_text) = self.text.get(whole.byte_range()) else {
            return;
        };
        let start = whole.byte_range().start;
        for pair in all.windows(2) {
            let [first, second] = pair else { continue };
            let [a, b] = [first, second].map(|range| range.start - start..range.end - start);
            let part = |range: Range<usize>| whole_text.get(range).unwrap_or_default();
            let wrong = [
                part(0..a.start),
                part(b.clone()),
                part(a.end..b.start),
                part(a.clone()),
                part(b.end..whole_text.len()),
            ];
            self.add("swapped arguments", whole, wrong.concat());
        }
    }
}

impl<'a> Visit<'a> for Finder<'_> {
    fn visit_item_mod(&mut self, item: &'a syn::ItemMod) {
        if !is_for_tests(&item.attrs) {
            visit::visit_item_mod(self, item);
        }
    }

    fn visit_item_fn(&mut self, item: &'a syn::ItemFn) {
        if !is_for_tests(&item.attrs) && item.sig.constness.is_none() {
            self.visit_block(&item.block);
        }
    }

    fn visit_impl_item_fn(&mut self, item: &'a syn::ImplItemFn) {
        if !is_for_tests(&item.attrs) && item.sig.constness.is_none() {
            self.visit_block(&item.block);
        }
    }

    fn visit_item_impl(&mut self, item: &'a syn::ItemImpl) {
        // What is only shown is no calculation.
        let shown = item.trait_.as_ref().is_some_and(|(_, path, _)| {
            path.segments
                .last()
                .is_some_and(|last| ["Display", "Debug"].iter().any(|name| last.ident == name))
        });
        if !shown && !is_for_tests(&item.attrs) {
            visit::visit_item_impl(self, item);
        }
    }

    fn visit_block(&mut self, block: &'a syn::Block) {
        self.depth += 1;
        visit::visit_block(self, block);
        self.depth -= 1;
    }

    // A constant and a pattern cannot hold a switch.
    fn visit_item_const(&mut self, _: &'a syn::ItemConst) {}
    fn visit_item_static(&mut self, _: &'a syn::ItemStatic) {}
    fn visit_impl_item_const(&mut self, _: &'a syn::ImplItemConst) {}
    fn visit_pat(&mut self, _: &'a syn::Pat) {}
    fn visit_type(&mut self, _: &'a syn::Type) {}
    fn visit_expr_const(&mut self, _: &'a syn::ExprConst) {}
    fn visit_generic_argument(&mut self, _: &'a syn::GenericArgument) {}

    fn visit_expr(&mut self, expression: &'a Expr) {
        match expression {
            Expr::Binary(pair) => self.binary(pair),
            Expr::Unary(one) if matches!(one.op, UnOp::Neg(_)) => {
                let inside = self.of(one.expr.span());
                self.add("sign", one.span(), inside);
            }
            Expr::If(branch) if !has_let(&branch.cond) => {
                let condition = self.of(branch.cond.span());
                self.add("branch", branch.cond.span(), format!("!({condition})"));
            }
            Expr::MethodCall(call) => self.method(call),
            Expr::Call(call) => self.arguments(call.span(), call.args.iter()),
            Expr::Lit(literal) => {
                if let Some(wrong) = wrong_number(&literal.lit, &self.of(literal.span())) {
                    self.add("number", literal.span(), wrong);
                }
            }
            _ => {}
        }
        visit::visit_expr(self, expression);
    }
}

fn has_let(condition: &Expr) -> bool {
    match condition {
        Expr::Let(_) => true,
        Expr::Binary(pair) => has_let(&pair.left) || has_let(&pair.right),
        _ => false,
    }
}

/// A count that is one more, a figure with another first digit.
fn wrong_number(literal: &Lit, text: &str) -> Option<String> {
    match literal {
        Lit::Int(number) => {
            let value: u64 = number.base10_parse().ok()?;
            Some(format!("{}{}", value.checked_add(1)?, number.suffix()))
        }
        Lit::Float(_) => other_digit(text, 0),
        _ => None,
    }
}

/// A number with another digit at one of its significant places; 0.0 becomes 1.0.
pub fn other_digit(text: &str, significant: usize) -> Option<String> {
    let mantissa_end = text.find(['e', 'E', 'f']).unwrap_or(text.len());
    let digits: Vec<usize> = text
        .char_indices()
        .filter(|(at, c)| *at < mantissa_end && c.is_ascii_digit())
        .map(|(at, _)| at)
        .collect();
    let first = digits
        .iter()
        .position(|at| text.get(*at..=*at) != Some("0"));
    let start = first.unwrap_or(0);
    let at = *digits
        .get(start + significant)
        .or_else(|| digits.get(start))?;
    let digit: u32 = text.get(at..=at)?.parse().ok()?;
    // The digit five away stays a digit and is never a rounding of the right one.
    let digit = if first.is_none() { 1 } else { (digit + 5) % 10 };
    Some(format!("{}{digit}{}", text.get(..at)?, text.get(at + 1..)?))
}

/// Wrong values of named constants, switched where the name is used in the file.
fn of_constants(text: &str, file: &syn::File) -> Vec<Place> {
    let mut found = Vec::new();
    for item in &file.items {
        let syn::Item::Const(item) = item else {
            continue;
        };
        let Expr::Lit(value) = &*item.expr else {
            continue;
        };
        let written = text.get(value.span().byte_range()).unwrap_or_default();
        if let Some(wrong) = wrong_number(&value.lit, written) {
            found.push(Place {
                kind: "constant",
                range: item.ident.span().byte_range(),
                line: item.ident.span().start().line,
                right: format!("{} = {written}", item.ident),
                wrong,
            });
        }
    }
    found
}

/// Where the body of a function uses a name of a constant.
pub fn uses(text: &str, name: &str) -> Vec<Range<usize>> {
    struct Uses<'a> {
        name: &'a str,
        depth: usize,
        found: Vec<Range<usize>>,
    }
    impl<'a> Visit<'a> for Uses<'_> {
        fn visit_item_mod(&mut self, item: &'a syn::ItemMod) {
            if !is_for_tests(&item.attrs) {
                visit::visit_item_mod(self, item);
            }
        }
        fn visit_item_fn(&mut self, item: &'a syn::ItemFn) {
            if item.sig.constness.is_none() {
                self.visit_block(&item.block);
            }
        }
        fn visit_impl_item_fn(&mut self, item: &'a syn::ImplItemFn) {
            if item.sig.constness.is_none() {
                self.visit_block(&item.block);
            }
        }
        fn visit_block(&mut self, block: &'a syn::Block) {
            self.depth += 1;
            visit::visit_block(self, block);
            self.depth -= 1;
        }
        fn visit_item_const(&mut self, _: &'a syn::ItemConst) {}
        fn visit_pat(&mut self, _: &'a syn::Pat) {}
        fn visit_type(&mut self, _: &'a syn::Type) {}
        fn visit_expr_path(&mut self, path: &'a syn::ExprPath) {
            if self.depth > 0 && path.path.is_ident(self.name) {
                self.found.push(path.span().byte_range());
            }
        }
    }
    let mut uses = Uses {
        name,
        depth: 0,
        found: Vec::new(),
    };
    if let Ok(file) = syn::parse_file(text) {
        uses.visit_file(&file);
    }
    uses.found
}

/// Names of the modules of a source file that are compiled for tests only.
pub fn test_modules(text: &str) -> Vec<String> {
    let Ok(file) = syn::parse_file(text) else {
        return Vec::new();
    };
    let modules = file.items.iter().filter_map(|item| match item {
        syn::Item::Mod(module) if module.content.is_none() && is_for_tests(&module.attrs) => {
            Some(module.ident.to_string())
        }
        _ => None,
    });
    modules.collect()
}

/// Numbers of a data file with another digit among the first four, but for years.
pub fn of_data(text: &str) -> Vec<Place> {
    let mut found = Vec::new();
    let (mut in_string, mut key, mut word) = (false, String::new(), String::new());
    let bytes = text.as_bytes();
    let mut at = 0;
    while let Some(byte) = bytes.get(at) {
        let c = char::from(*byte);
        if in_string {
            if c == '"' {
                in_string = false;
                key.clone_from(&word);
            } else {
                word.push(c);
            }
            at += 1;
        } else if c == '"' {
            in_string = true;
            word.clear();
            at += 1;
        } else if c == '-' || c.is_ascii_digit() {
            let rest = text.get(at..).unwrap_or_default();
            let is_part = |c: char| c.is_ascii_digit() || "+-.eE".contains(c);
            let length = rest.find(|c| !is_part(c)).unwrap_or(rest.len());
            let number = rest.get(..length).unwrap_or_default();
            let is_figure = key != "year" && number.bytes().any(|c| (b'1'..=b'9').contains(&c));
            if let Some(wrong) = is_figure.then(|| other_digit(number, at % 4)).flatten() {
                let before = text.get(..at).unwrap_or_default();
                found.push(Place {
                    kind: "digit of data",
                    range: at..at + length,
                    line: before.lines().count(),
                    right: format!("{key}: {number}"),
                    wrong,
                });
            }
            at += length;
        } else {
            at += 1;
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn faults_are_found_outside_of_tests_only() {
        let text = "const A: f64 = 2.5;\nfn f(x: f64) -> f64 { if x < A { -x } else { g(x, 1.0).min(x) } }\n\
                    #[cfg(test)] mod tests { fn t() -> f64 { 1.0 + 2.0 } }\n";
        let found = of_source(text);
        let of = |kind: &str| -> Vec<&str> {
            let found = found.iter().filter(|place| place.kind == kind);
            found.map(|place| place.wrong.as_str()).collect()
        };
        assert_eq!(of("comparison"), ["x > A"]);
        assert_eq!(of("branch"), ["!(x < A)"]);
        assert_eq!(of("sign"), ["x"]);
        assert_eq!(of("missed bound"), ["g(x, 1.0)"]);
        assert_eq!(of("swapped arguments"), ["g(1.0, x)"]);
        assert_eq!(of("number"), ["6.0"]);
        assert_eq!(of("constant"), ["7.5"]);
        assert!(of("operator").is_empty());
        assert_eq!(uses(text, "A").len(), 1);
    }

    #[test]
    fn digits_of_data_change_but_not_years() {
        let found = of_data("{\"year\": 1996, \"n\": [0.25, -3e-2], \"name\": \"7\"}");
        let wrong: Vec<_> = found.iter().map(|place| place.wrong.as_str()).collect();
        assert_eq!(wrong.len(), 2);
        assert!(wrong.iter().zip(["0.25", "-3e-2"]).all(|(a, b)| *a != b));
        assert_eq!(other_digit("0.0", 0).as_deref(), Some("1.0"));
        assert_eq!(other_digit("1.25e3", 2).as_deref(), Some("1.20e3"));
    }
}
