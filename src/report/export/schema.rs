//! The JSON Schema of the export, made from its tables: draft 2020-12, one definition a table.
//!
//! A table's file as JSON is valid against `#/$defs/NAME`; the same definitions describe the columns of CSV and Parquet.
//! The schema also says what was exported, and by its `$id` a folder is known to hold an export. Read [`write_schema`]
//! first.

use super::column::{Column, Kind, Presence, Table};
use super::{ExportFormat, TABLES};
use serde_json::{Map, Value, json};

/// What the `$id` of every version begins with.
pub const ID_BEGINS: &str = "urn:loadbook:export:";

/// The version of the tables: it changes when a column changes its meaning, its name or its type, or goes.
const VERSION: u32 = 1;

/// What was exported and how, as the schema tells it.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Made {
    /// loadbook's version.
    pub loadbook: &'static str,
    /// The form of the tables.
    pub format: &'static str,
    /// The moment that the export speaks for, on the local clock.
    pub as_of: Option<String>,
    /// What it is narrowed to; none for everything.
    pub narrowed: Option<String>,
    /// Whether lines were refused that had to be inferred.
    pub strict: bool,
    /// Whether staff marks were replaced.
    pub masked: bool,
}

/// The schema of every table, with what was exported.
pub fn write_schema(made: &Made) -> Value {
    let tables: Map<String, Value> = TABLES
        .iter()
        .map(|table| (table.table.name.to_owned(), schema_of(&table.table)))
        .collect();
    json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": format!("{ID_BEGINS}{VERSION}"),
        "title": "Export of loadbook",
        "description": "One definition a table; the file of a table as JSON is valid against the definition of its name. \
            loadbook records support; people release.",
        "$defs": tables,
        "x-export": made,
    })
}

/// The form of the export that a schema file belongs to; `None` when it is no schema of an export.
pub fn read_format(text: &str) -> Option<ExportFormat> {
    let schema: Value = serde_json::from_str(text).ok()?;
    if !schema.get("$id")?.as_str()?.starts_with(ID_BEGINS) {
        return None;
    }
    let word = schema.get("x-export")?.get("format")?.as_str()?;
    ExportFormat::ALL
        .iter()
        .copied()
        .find(|format| format.word() == word)
}

fn schema_of(table: &Table) -> Value {
    let columns: Map<String, Value> = table
        .columns
        .iter()
        .map(|column| (column.name.to_owned(), schema_of_column(column)))
        .collect();
    let names: Vec<&str> = table.columns.iter().map(|column| column.name).collect();
    json!({
        "title": table.name,
        "description": table.about.trim(),
        "type": "array",
        "x-key": table.key,
        "items": {
            "type": "object",
            "additionalProperties": false,
            "required": names,
            "properties": columns,
        },
    })
}

fn schema_of_column(column: &Column) -> Value {
    const DAY: &str = "[0-9]{4}-[0-9]{2}-[0-9]{2}";
    const TIME: &str = "[0-9]{2}:[0-9]{2}:[0-9]{2}([.][0-9]+)?";
    let (type_name, pattern) = match column.kind {
        Kind::Text | Kind::Key | Kind::Word => ("string", None),
        Kind::Integer => ("integer", None),
        Kind::Number => ("number", None),
        Kind::Truth => ("boolean", None),
        Kind::Date => ("string", Some(format!("^{DAY}$"))),
        Kind::Local => ("string", Some(format!("^{DAY}T{TIME}$"))),
        Kind::Utc => ("string", Some(format!("^{DAY}T{TIME}Z$"))),
    };
    let mut schema = Map::new();
    schema.insert("title".into(), column.name.replace('_', " ").into());
    schema.insert("description".into(), column.about.trim().into());
    let types = match column.presence {
        Presence::Always => json!(type_name),
        Presence::Maybe => json!([type_name, "null"]),
    };
    schema.insert("type".into(), types);
    if let Some(pattern) = pattern {
        schema.insert("pattern".into(), pattern.into());
    }
    match column.kind {
        Kind::Date => schema.insert("format".into(), "date".into()),
        Kind::Utc => schema.insert("format".into(), "date-time".into()),
        _ => None,
    };
    schema.insert("x-kind".into(), column.kind.said().into());
    if let Some(unit) = column.unit {
        schema.insert("x-unit".into(), unit.into());
    }
    Value::Object(schema)
}
