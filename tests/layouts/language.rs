//! The layout language: its schema and its compiler agree, faults are found at their place, one layout extends another.

use loadbook::diagnose::{Diagnostic, LineResolver};
use loadbook::parse::layout::compile::{Layout, compile};
use loadbook::parse::layout::language::{LayoutFiles, LayoutText};
use loadbook::parse::layout::shipped::{TEXTS, shipped_text};
use serde_json::Value;

/// A whole small layout, which each case changes.
const SMALL: &str = r#"layout = 1
name = "small"
begin = "RUN {counter}"
end = "END"
lines = ["AT {start date} {start time}", "{time} {pressure mbar}", "{time} {stage}", "RESULT {outcome}"]
[always]
process = "steam"
[words.stage]
expose = "HOLD"
[words.outcome]
completed = "OK"
"#;

fn compiled(toml: &str) -> Result<Layout, (LayoutFiles, Vec<Diagnostic>)> {
    let text = LayoutText {
        name: "small.toml".to_owned(),
        text: toml.to_owned(),
    };
    compile(text, &shipped_text)
}

/// TOML as JSON, for the schema.
fn as_json(toml: &str) -> Value {
    use toml::de::{DeTable, DeValue};
    fn value(from: DeValue<'_>) -> Value {
        match from {
            DeValue::String(text) => Value::String(text.into_owned()),
            DeValue::Integer(n) => n.as_str().parse::<i64>().unwrap().into(),
            DeValue::Boolean(truth) => truth.into(),
            DeValue::Array(items) => items.into_iter().map(|i| value(i.into_inner())).collect(),
            DeValue::Table(entries) => table(entries),
            DeValue::Float(_) | DeValue::Datetime(_) => Value::Null,
        }
    }
    fn table(from: DeTable<'_>) -> Value {
        let entries = from.into_iter();
        entries
            .map(|(key, v)| (key.into_inner().into_owned(), value(v.into_inner())))
            .collect()
    }
    table(DeTable::parse(toml).unwrap().into_inner())
}

fn validator() -> jsonschema::Validator {
    let schema: Value =
        serde_json::from_str(include_str!("../../grammars/layout.schema.json")).unwrap();
    jsonschema::meta::validate(&schema).unwrap();
    jsonschema::draft202012::new(&schema).unwrap()
}

#[test]
fn the_schema_accepts_every_shipped_layout_and_so_does_the_compiler() {
    let schema = validator();
    for (name, text) in TEXTS {
        let errors: Vec<String> = schema
            .iter_errors(&as_json(text))
            .map(|error| format!("{}: {error}", error.instance_path()))
            .collect();
        assert!(errors.is_empty(), "{name}: {errors:?}");
        if let Err((_, said)) = compiled(text) {
            panic!("{name}: {said:#?}");
        }
    }
    assert!(schema.is_valid(&as_json(SMALL)) && compiled(SMALL).is_ok());
}

/// A change that breaks the small layout, the place of the fault (line and column), and words of its headline.
const BROKEN: &[(&str, &str, (u32, u32), &str)] = &[
    (
        "layout = 1",
        "layout = 2",
        (1, 10),
        "`layout` is a whole number from 1 to 1",
    ),
    (
        "name = \"small\"",
        "name = \"two words\"",
        (2, 8),
        "no spaces",
    ),
    ("end = ", "ende = ", (4, 1), "a layout has no key `ende`"),
    (
        "[always]",
        "[allways]",
        (6, 2),
        "a layout has no key `allways`",
    ),
    (
        "process = \"steam\"",
        "process = \"gas\"",
        (7, 11),
        "plasma, steam or eo",
    ),
    (
        "process = \"steam\"",
        "proces = \"steam\"",
        (7, 1),
        "no key `proces`",
    ),
    ("[words.stage]", "[words.stages]", (8, 8), "no key `stages`"),
    (
        "completed = \"OK\"",
        "complete = \"OK\"",
        (11, 1),
        "`complete` is not an outcome",
    ),
    (
        "completed = \"OK\"",
        "completed = 3",
        (11, 13),
        "a whole number, where text",
    ),
    (
        "process = \"steam\"",
        "[wrap]\nrule = \"full line\"",
        (7, 1),
        "how a long line goes on",
    ),
    (
        "process = \"steam\"",
        "[units]\nfurlong = \"F\"",
        (8, 1),
        "no unit",
    ),
    (
        "process = \"steam\"",
        "[labels]\nbatsch = \"B\"",
        (8, 1),
        "no placeholder {batsch}",
    ),
    (
        "process = \"steam\"",
        "[numbers]\ndecimal = \"dot\"",
        (8, 11),
        "`point` or `comma`",
    ),
    (
        "process = \"steam\"",
        "[dates]\nmonths = \"latin\"",
        (8, 10),
        "months are known in",
    ),
    (
        "process = \"steam\"",
        "[columns]\n\"8\" = \"time\"",
        (8, 1),
        "no range of columns",
    ),
    (
        "process = \"steam\"",
        "[table]\nseparator = \"x\"\n[table.columns]\nT = \"time\"",
        (8, 13),
        "the separator is",
    ),
    (
        "name = \"small\"",
        "name = \"small\"\nencoding = \"ebcdic\"",
        (3, 12),
        "`detected` or `cp437`",
    ),
];

/// Changes that only the compiler can find, because they lie within a template or between two parts of the layout.
const BROKEN_WITHIN: &[(&str, &str, (u32, u32), &str)] = &[
    (
        "{counter}",
        "{countr}",
        (3, 14),
        "there is no placeholder {countr}",
    ),
    (
        "{pressure mbar}",
        "{pressure C}",
        (5, 50),
        "`C` is no unit of pressure",
    ),
    (
        "RUN {counter}",
        "RUN {counter",
        (3, 14),
        "opened and never closed",
    ),
    (
        "RUN {counter}",
        "*",
        (3, 10),
        "a line that may hold anything",
    ),
    (
        "RUN {counter}",
        "{load}{operator}",
        (3, 16),
        "where one text ends",
    ),
    (
        "{time} {pressure mbar}",
        "{pressure mbar}",
        (5, 42),
        "needs the {time} or {elapsed}",
    ),
    (
        "end = \"END\"",
        "ignore = \"END {counter}\"",
        (4, 10),
        "no placeholders",
    ),
    (
        "\"RESULT {outcome}\"",
        "\"RESULT\"",
        (5, 86),
        "says nothing",
    ),
    (
        "\"RESULT {outcome}\"",
        "\"{time} {alarm}\"",
        (1, 1),
        "[words.alarm], which has none",
    ),
    (
        "AT {start date} {start time}",
        "AT {start date}",
        (1, 1),
        "no {start time}",
    ),
    (
        "process = \"steam\"",
        "[dates]\ndate = \"DD.MM.YY\"",
        (7, 1),
        "their century is not given",
    ),
    (
        "process = \"steam\"",
        "[dates]\ndate = [\"DD/MM/YYYY\", \"MM/DD/YYYY\"]",
        (8, 23),
        "disagree",
    ),
    (
        "process = \"steam\"",
        "[dates]\ndate = \"D MMM YYYY\"",
        (7, 1),
        "names are not given",
    ),
    (
        "expose = \"HOLD\"",
        "expose = \"HOLD\"\ndry = \"hold\"",
        (9, 10),
        "has two meanings",
    ),
    (
        "process = \"steam\"",
        "[numbers]\ndecimal = \"comma\"\nthousands = \"comma\"",
        (9, 13),
        "same mark",
    ),
    (
        "name = \"small\"",
        "name = \"small\"\nextends = \"nobody\"",
        (3, 11),
        "no layout `nobody`",
    ),
    ("name = \"small\"", "name = \"small", (2, 14), "not TOML"),
];

fn find_fault(change: &(&str, &str, (u32, u32), &str)) -> Result<(), String> {
    let (from, to, place, words) = change;
    assert_eq!(SMALL.matches(from).count(), 1, "{from}");
    let broken = SMALL.replace(from, to);
    let Err((files, said)) = compiled(&broken) else {
        return Err(format!("{to} compiles"));
    };
    let found = said.iter().find(|said| said.headline.contains(words));
    let headlines: Vec<&str> = said.iter().map(|said| said.headline.as_str()).collect();
    let found = found.ok_or_else(|| format!("{to}: wanted `{words}`, got {headlines:?}"))?;
    let span = found.primary.unwrap();
    if (span.line, span.column()) != *place {
        return Err(format!(
            "{to}: {} at {}:{}",
            found.headline,
            span.line,
            span.column()
        ));
    }
    assert!(!found.help.is_empty());
    // The line can be shown as the user wrote it.
    let shown = files.line(&span).unwrap();
    assert_eq!(
        Some(shown.text.as_str()),
        broken.lines().nth(span.line as usize - 1)
    );
    Ok(())
}

#[test]
fn a_fault_is_found_at_its_place_in_the_toml() {
    let mut wrong = Vec::new();
    for change in BROKEN.iter().chain(BROKEN_WITHIN) {
        if let Err(what) = find_fault(change) {
            wrong.push(what);
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn the_schema_rejects_what_the_compiler_rejects() {
    let schema = validator();
    for (from, to, _, _) in BROKEN {
        let broken = SMALL.replace(from, to);
        assert!(!schema.is_valid(&as_json(&broken)), "{to}");
    }
}

#[test]
fn every_fault_of_a_layout_is_said_at_once() {
    let broken = SMALL
        .replace("{counter}", "{countr}")
        .replace("process", "proces")
        .replace("completed", "complete");
    let (_, said) = compiled(&broken).unwrap_err();
    let lines: Vec<u32> = said.iter().map(|said| said.primary.unwrap().line).collect();
    assert_eq!(lines, [3, 7, 11]);
}

#[test]
fn a_sites_variant_is_a_few_lines_over_the_layout_it_extends() {
    let variant = "layout = 1\nname = \"annexe\"\nextends = \"steam-24-column\"\n\
                   lines = [\"ROOM {place}\"]\n[always]\nunit = \"ST-4\"\n[words.stage]\nexpose = [\"PLATEAU\"]\n";
    let base = compiled(&shipped_text("steam-24-column").unwrap().text).unwrap();
    let layout = compiled(variant).unwrap();
    assert_eq!(layout.extends, ["steam-24-column"]);
    assert_eq!(layout.forms.len(), base.forms.len() + 1);
    // The variant's own forms are tried first; what it does not say stays.
    assert!(
        layout
            .forms
            .iter()
            .any(|known| known.form.shown == "ROOM {place}")
    );
    assert_eq!(layout.always.unit.as_deref(), Some("ST-4"));
    assert!(layout.always.process.is_some() && layout.wrap.is_some());
}

#[test]
fn a_ring_of_extensions_is_an_error_and_ends() {
    let find = |name: &str| {
        let other = if name == "a" { "b" } else { "a" };
        Some(LayoutText {
            name: name.to_owned(),
            text: format!("layout = 1\nname = \"{name}\"\nextends = \"{other}\"\n"),
        })
    };
    let (_, said) = compile(find("a").unwrap(), &find).unwrap_err();
    assert!(said[0].headline.contains("extends itself"), "{said:?}");
}
