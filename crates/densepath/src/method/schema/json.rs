//! The rules of the document as JSON Schema, for editors and for programs that write documents.

use serde_json::{Map, Value, json};

use super::super::measure;
use super::super::reader::{Field, Holds};
use super::{COMMON, PROGRAM, ROOM, ROOT, SOLUTE, Table, VERSION, parts};

/// Keys of the document whose tables have rules of their own.
const TABLES: [(&str, &Table); 3] = [("room", &ROOM), ("solute", &SOLUTE), ("program", &PROGRAM)];

/// The rules of the document as JSON Schema (draft 2020-12): every table, key, unit and word.
///
/// A document that it accepts can still be refused: that a key needs another one, the order of the parts and the limits of values are
/// judged by [`read_method`](super::super::read_method) alone.
///
/// ```
/// let schema = densepath::method::schema::json_schema();
/// assert_eq!(schema["properties"]["document"]["const"], 1);
/// ```
pub fn json_schema() -> Value {
    let mut definitions = Map::new();
    for (name, table) in TABLES {
        definitions.insert(name.to_owned(), closed(table.meaning, &[table.fields]));
    }
    for table in parts::PARTS {
        let mut part = closed(table.meaning, &[COMMON, table.fields]);
        if let Some(kind) = part.pointer_mut("/properties/kind") {
            *kind = json!({ "const": table.heading });
        }
        definitions.insert(table.heading.to_owned(), part);
    }
    definitions.insert("part".to_owned(), any_part());
    let mut schema = closed(ROOT.meaning, &[ROOT.fields]);
    if let Some(object) = schema.as_object_mut() {
        object.insert(
            "$schema".to_owned(),
            json!("https://json-schema.org/draft/2020-12/schema"),
        );
        object.insert("title".to_owned(), json!("densepath method document"));
        object.insert("$defs".to_owned(), Value::Object(definitions));
    }
    if let Some(document) = schema.pointer_mut("/properties/document") {
        *document = json!({ "const": VERSION });
    }
    schema
}

/// A part is judged by the rules of its kind.
fn any_part() -> Value {
    let kinds = parts::PARTS.iter().map(|table| {
        json!({
            "if": { "properties": { "kind": { "const": table.heading } } },
            "then": { "$ref": format!("#/$defs/{}", table.heading) },
        })
    });
    json!({
        "type": "object",
        "required": ["kind", "name"],
        "properties": { "kind": { "enum": parts::KINDS } },
        "allOf": kinds.collect::<Vec<_>>(),
    })
}

/// A table with declared keys only.
fn closed(meaning: &str, groups: &[&'static [Field]]) -> Value {
    let fields = || groups.iter().copied().flatten();
    let properties: Map<_, _> = fields()
        .map(|field| (field.key.to_owned(), property(field)))
        .collect();
    let required: Vec<_> = fields()
        .filter(|field| field.required)
        .map(|field| field.key)
        .collect();
    json!({
        "description": meaning,
        "type": "object",
        "properties": properties,
        "required": required,
        "additionalProperties": false,
    })
}

/// What a key may hold.
fn property(field: &Field) -> Value {
    let reference = json!({ "$ref": format!("#/$defs/{}", field.key) });
    let several = json!({ "type": "array", "items": reference });
    let mut rule = match field.holds {
        Holds::Measure(quantity) if quantity.unit() == "1" => json!({
            "anyOf": [{ "type": "number" }, { "type": "string", "pattern": measure::pattern(quantity) }],
        }),
        Holds::Measure(quantity) => {
            json!({ "type": "string", "pattern": measure::pattern(quantity) })
        }
        Holds::Word(words) => json!({ "enum": words }),
        Holds::Text => json!({ "type": "string" }),
        Holds::Boolean => json!({ "type": "boolean" }),
        Holds::Whole => json!({ "type": "integer", "minimum": 0 }),
        Holds::Fluid => json!({
            "anyOf": [
                { "type": "string" },
                { "type": "object", "additionalProperties": { "type": ["number", "string"] }, "minProperties": 1 },
            ],
        }),
        Holds::Table => reference,
        Holds::Tables if field.key == "part" => several,
        Holds::Tables => json!({ "anyOf": [reference, several] }),
        Holds::Words(words) => {
            json!({ "type": "array", "items": { "enum": words }, "minItems": 1 })
        }
        Holds::Measures => {
            json!({ "type": "array", "items": { "type": ["string", "number"] }, "minItems": 1 })
        }
    };
    if let Some(object) = rule.as_object_mut() {
        object.insert("description".to_owned(), json!(field.meaning));
    }
    rule
}
