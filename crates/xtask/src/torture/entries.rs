//! A call of every entry of the C interface, written from its header: each argument is drawn by its type and name, so that an entry
//! that is added is tried without a further word.

use std::fmt::Write as _;
use std::path::Path;

/// Entries whose answer may be infinite, as their documentation says: no solid and no border of phases is known at any pressure.
const UNBOUNDED: [&str; 4] = [
    "dp_melting_pressure",
    "dp_single_phase_margin",
    "dp_state_single_phase_margin",
    "dp_station_get",
];

/// Words of the documentation of an entry by which its caller knows that it may work for more than a second.
const LONG: [&str; 4] = [
    "may take a second",
    "may take seconds",
    "may take minutes",
    "within `time_limit`",
];

/// One parameter: its type without the name, and its name.
type Parameter<'a> = (&'a str, &'a str);

/// An entry that returns a status.
struct Entry<'a> {
    name: &'a str,
    parameters: Vec<Parameter<'a>>,
}

/// Writes a C file with the calls, from the text of the header and the path of a method document.
pub fn write(header: &str, document: &Path) -> Result<String, String> {
    let plain = without_comments(header);
    let declarations: Vec<String> = plain
        .split(';')
        .map(|piece| piece.split_whitespace().collect::<Vec<_>>().join(" "))
        .collect();
    let handles = handles(&declarations);
    let entries: Vec<Entry> = declarations.iter().filter_map(|text| entry(text)).collect();
    if handles.is_empty() || entries.is_empty() {
        return Err("no entries are found in the header".to_owned());
    }
    let mut made = String::new();
    let _ = writeln!(
        made,
        "#define DOCUMENT {:?}",
        document.display().to_string()
    );
    write_handles(&mut made, &handles);
    for entry in &entries {
        write_entry(&mut made, entry, &handles)?;
    }
    made.push_str(
        "\nstatic const struct { const char *name; void (*call)(void); int is_long; } ENTRIES[] = {\n",
    );
    let long = long_entries(header);
    for entry in &entries {
        let is_long = u8::from(long.contains(&entry.name));
        let _ = writeln!(made, "    {{\"{0}\", call_{0}, {is_long}}},", entry.name);
    }
    made.push_str("};\n");
    Ok(made)
}

/// The entries whose documentation says that they may take long.
fn long_entries(header: &str) -> Vec<&str> {
    let (mut found, mut documentation) = (Vec::new(), String::new());
    for line in header.lines() {
        if let Some(text) = line.strip_prefix("///") {
            documentation.push_str(text);
        } else {
            let entry = line.strip_prefix("dp_status ");
            let name = entry.and_then(|entry| Some(entry.split_once('(')?.0));
            let is_long = LONG.iter().any(|words| documentation.contains(words));
            found.extend(name.filter(|_| is_long));
            documentation.clear();
        }
    }
    found
}

fn without_comments(header: &str) -> String {
    let mut plain = String::new();
    let mut rest = header;
    while let Some((before, after)) = rest.split_once("/*") {
        plain.push_str(before);
        rest = after.split_once("*/").map_or("", |(_, after)| after);
    }
    plain.push_str(rest);
    let code = plain
        .lines()
        .filter(|line| !line.trim_start().starts_with("//") && !line.starts_with('#'));
    code.collect::<Vec<_>>().join("\n")
}

/// The opaque types: what has a function that frees it.
fn handles(declarations: &[String]) -> Vec<&str> {
    let freed = declarations.iter().filter_map(|text| {
        let (head, _) = text.split_once('(')?;
        let name = head.strip_prefix("void ")?.strip_suffix("_free")?;
        Some(name)
    });
    freed.collect()
}

fn entry(declaration: &str) -> Option<Entry<'_>> {
    let (head, parameters) = declaration.split_once('(')?;
    let name = head.trim().strip_prefix("dp_status ")?;
    let parameters = parameters.strip_suffix(')')?.split(", ");
    let parameters = parameters
        .map(|parameter| {
            let end = parameter.rfind([' ', '*'])?;
            let (kind, name) = parameter.split_at(end + 1);
            Some((kind.trim(), name))
        })
        .collect::<Option<_>>()?;
    Some(Entry { name, parameters })
}

/// The kinds of handles, and what frees each.
fn write_handles(made: &mut String, handles: &[&str]) {
    let kinds: Vec<String> = handles.iter().map(|name| format!("KIND_{name}")).collect();
    let _ = writeln!(made, "enum {{ {}, KINDS }};", kinds.join(", "));
    made.push_str("static void free_handle(int kind, void *handle)\n{\n    switch (kind) {\n");
    for name in handles {
        let _ = writeln!(made, "    case KIND_{name}: {name}_free(handle); break;");
    }
    made.push_str("    default: break;\n    }\n}\n");
    made.push_str("static void *any(int kind);\nstatic void keep(int kind, void *handle);\n\n");
}

/// A function that draws the arguments of an entry, calls it, and judges what it wrote.
fn write_entry(made: &mut String, entry: &Entry, handles: &[&str]) -> Result<(), String> {
    let has_array = entry
        .parameters
        .iter()
        .any(|(_, name)| matches!(*name, "n" | "capacity"));
    let (mut before, mut after, mut arguments) = (String::new(), String::new(), Vec::new());
    for &(kind, name) in &entry.parameters {
        let is_unbounded = UNBOUNDED.contains(&entry.name);
        let drawn = draw(kind, name, handles, has_array || is_unbounded)
            .ok_or_else(|| format!("{}: how to draw `{kind} {name}` is not known", entry.name))?;
        before.push_str(&drawn.before);
        after.push_str(&drawn.after);
        arguments.push(drawn.argument);
    }
    let _ = writeln!(
        made,
        "static void call_{0}(void)\n{{\n    dp_status status;\n{before}    status = {0}({1});\n    judge(\"{0}\", status);\n{after}}}",
        entry.name,
        arguments.join(", ")
    );
    Ok(())
}

/// How an argument is drawn: what stands before the call, in it and after it.
#[derive(Default)]
struct Drawn {
    before: String,
    argument: String,
    after: String,
}

fn draw(kind: &str, name: &str, handles: &[&str], has_array: bool) -> Option<Drawn> {
    let inner = |start: &str, end: &str| {
        let name = kind.strip_prefix(start)?.strip_suffix(end)?.trim();
        handles.contains(&name).then_some(name)
    };
    if let Some(handle) = inner("const struct ", "*") {
        return Some(Drawn {
            argument: format!("any(KIND_{handle})"),
            ..Drawn::default()
        });
    }
    if let Some(handle) = inner("struct ", "**") {
        return Some(output_handle(handle, name));
    }
    if let Some(handle) = inner("const struct ", "*const *") {
        return Some(list_of_handles(handle, name));
    }
    let value = |argument: String| Drawn {
        argument,
        ..Drawn::default()
    };
    Some(match kind {
        "double" => value(format!("named_number(\"{name}\")")),
        "int32_t" | "dp_status" => value("code()".to_owned()),
        "uint32_t" => value("(uint32_t)bits()".to_owned()),
        "size_t" if matches!(name, "n" | "capacity") => value("room()".to_owned()),
        "size_t" => value("place()".to_owned()),
        "const char *" => value(format!("word(\"{name}\")")),
        "const char *const *" => input_list("const char *", name, &format!("word(\"{name}\")")),
        "const double *" if name.contains("fractions") => Drawn {
            before: format!("    double list_{name}[ROOM];\n    fill_fractions(list_{name});\n"),
            argument: format!("or_null(list_{name})"),
            after: String::new(),
        },
        "const double *" => input_list("double", name, &format!("named_number(\"{name}\")")),
        "const int32_t *" => input_list("int32_t", name, "code()"),
        "const uint8_t *" => input_list("uint8_t", name, "(uint8_t)bits()"),
        "double *" if !has_array => output_number(name),
        _ => output(kind.strip_suffix('*')?.trim(), name),
    })
}

/// A handle given out: nothing of a call that fails.
fn output_handle(handle: &str, name: &str) -> Drawn {
    Drawn {
        before: format!("    struct {handle} *made_{name} = NULL;\n"),
        argument: format!("or_null(&made_{name})"),
        after: format!(
            "    if (made_{name} != NULL) {{\n        given_out(\"{handle}\", status);\n        keep(KIND_{handle}, made_{name});\n    }}\n"
        ),
    }
}

fn list_of_handles(handle: &str, name: &str) -> Drawn {
    Drawn {
        before: format!(
            "    const struct {handle} *list_{name}[ROOM];\n    fill(list_{name}, any(KIND_{handle}));\n"
        ),
        argument: format!("or_null(list_{name})"),
        after: String::new(),
    }
}

fn input_list(kind: &str, name: &str, element: &str) -> Drawn {
    Drawn {
        before: format!("    {kind} list_{name}[ROOM];\n    fill(list_{name}, {element});\n"),
        argument: format!("or_null(list_{name})"),
        after: String::new(),
    }
}

/// One number given out: finite of a call that succeeds, as it was of one that fails.
fn output_number(name: &str) -> Drawn {
    Drawn {
        before: format!("    double made_{name} = UNTOUCHED;\n"),
        argument: format!("or_null(&made_{name})"),
        after: format!("    judge_number(status, made_{name});\n"),
    }
}

/// Anything else that is given out.
fn output(kind: &str, name: &str) -> Drawn {
    Drawn {
        before: format!(
            "    {kind} made_{name}[ROOM];\n    memset(made_{name}, 0, sizeof made_{name});\n"
        ),
        argument: format!("or_null(made_{name})"),
        after: String::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const HEADER: &str = "/* A comment; with ( in it. */\n#include <stddef.h>\n/// A line;\ntypedef struct dp_fluid dp_fluid;\n\
        dp_status dp_fluid_new(const char *name,\n    struct dp_fluid **out);\nvoid dp_fluid_free(struct dp_fluid *fluid);\n\
        /// A density. It\n/// may take seconds.\ndp_status dp_density(const struct dp_fluid *fluid, double temperature, double *out);\n";

    #[test]
    fn every_entry_is_called_with_what_its_types_and_names_say() {
        let made = write(HEADER, Path::new("a.toml")).unwrap();
        for part in [
            "enum { KIND_dp_fluid, KINDS };",
            "status = dp_fluid_new(word(\"name\"), or_null(&made_out));",
            "keep(KIND_dp_fluid, made_out);",
            "status = dp_density(any(KIND_dp_fluid), named_number(\"temperature\"), or_null(&made_out));",
            "judge_number(status, made_out);",
            "{\"dp_density\", call_dp_density, 1},",
            "{\"dp_fluid_new\", call_dp_fluid_new, 0},",
        ] {
            assert!(made.contains(part), "{part} in\n{made}");
        }
    }

    #[test]
    fn an_unknown_type_is_told() {
        let header = format!("{HEADER}dp_status dp_odd(float x);\n");
        let told = write(&header, Path::new("a.toml")).unwrap_err();
        assert!(told.contains("dp_odd: how to draw `float x`"), "{told}");
        assert!(write("", Path::new("a.toml")).is_err());
    }
}
