//! The header as a page of the manual: its rules, then each function with its comment.

/// A function of the header.
#[derive(Debug, PartialEq)]
struct Function<'a> {
    comment: Vec<&'a str>,
    prototype: String,
}

/// The page, in the language of `man`.
pub fn page(header: &str) -> Result<String, String> {
    let functions = functions(header);
    if functions.is_empty() {
        return Err("the header declares no function".to_owned());
    }
    let mut text = String::from(
        ".TH DENSEPATH 3\n.SH NAME\ndensepath \\- the state of the fluid at every station of a supercritical fluid \
         chromatograph\n.SH SYNOPSIS\n.B #include <densepath.h>\n.PP\ncc program.c $(pkg\\-config \\-\\-cflags \
         \\-\\-libs densepath)\n.SH RULES\n",
    );
    for line in rules(header) {
        text.push_str(if line.is_empty() { ".PP" } else { "" });
        text.push_str(&escaped(line));
        text.push('\n');
    }
    text.push_str(".SH FUNCTIONS\n");
    for function in functions {
        text.push_str(".TP\n.B ");
        text.push_str(&escaped(&function.prototype));
        text.push('\n');
        for line in function.comment {
            text.push_str(if line.is_empty() { ".sp" } else { "" });
            text.push_str(&escaped(line));
            text.push('\n');
        }
    }
    Ok(text)
}

/// The lines of the comment at the head, without its title.
fn rules(header: &str) -> impl Iterator<Item = &str> {
    header
        .lines()
        .skip(1)
        .take_while(|line| line.starts_with(" *") && !line.starts_with(" */"))
        .filter_map(|line| line.strip_prefix(" *"))
        .map(str::trim)
        .skip_while(|line| line.is_empty() || *line == "Rules")
}

/// Every function with the comment above it, from where the declarations of C begin.
fn functions(header: &str) -> Vec<Function<'_>> {
    let mut found = Vec::new();
    let mut comment = Vec::new();
    let mut prototype = String::new();
    for line in header
        .lines()
        .skip_while(|line| !line.contains("extern \"C\""))
    {
        if let Some(words) = line.strip_prefix("///") {
            comment.push(words.trim());
        } else if line.is_empty() || line.starts_with('#') || line.starts_with('}') {
            comment.clear();
        } else if !line.contains("extern \"C\"") {
            if !prototype.is_empty() {
                prototype.push(' ');
            }
            prototype.push_str(line.trim());
        }
        if prototype.ends_with(';') {
            found.push(Function {
                comment: std::mem::take(&mut comment),
                prototype: std::mem::take(&mut prototype),
            });
        }
    }
    found
}

/// Text as `man` wants it: no backslash, and no line that begins like a request.
fn escaped(line: &str) -> String {
    let text = line.replace('\\', "\\\\").replace('-', "\\-");
    if text.starts_with(['.', '\'']) {
        format!("\\&{text}")
    } else {
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const HEADER: &str = "/* title\n *\n * Rules\n *\n * One rule.\n *\n * Another.\n */\nextern \"C\" {\n\n\
                          /// What it is.\n///\n/// Error 101.\nint f(int a,\n      int b);\n\nvoid g(void);\n}\n";

    #[test]
    fn functions_are_read_with_their_comments() {
        let read = functions(HEADER);
        assert_eq!(read.len(), 2);
        assert_eq!(read[0].prototype, "int f(int a, int b);");
        assert_eq!(read[0].comment, ["What it is.", "", "Error 101."]);
        assert!(read[1].comment.is_empty());
    }

    #[test]
    fn a_page_has_rules_and_functions() {
        let page = page(HEADER).unwrap();
        assert!(page.contains(".SH RULES\nOne rule.\n.PP\nAnother.\n.SH FUNCTIONS\n"));
        assert!(page.contains(".TP\n.B int f(int a, int b);\nWhat it is.\n.sp\nError 101.\n"));
        assert!(super::page("nothing").is_err());
    }

    #[test]
    fn requests_and_dashes_are_escaped() {
        assert_eq!(escaped(".x a-b \\n"), "\\&.x a\\-b \\\\n");
    }
}
