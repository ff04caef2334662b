//! One entry as keys and values → an [`Entry`]. The text form and the CSV form meet here.

use crate::diagnose::codes::Code;
use crate::diagnose::{Diagnostic, Span};
use crate::parse::fault::{Parsed, fault_of};
use crate::parse::lot::LotParts;
use crate::parse::suggest::suggest;
use crate::parse::text::{
    diagnose_patient_data, is_blank, is_name, looks_like_patient_data, owned,
};
use crate::parse::token::{date, date_time, duration, end_of_line, whole};
use crate::record::Spanned;
use crate::record::consumable::ConsumableKind;
use crate::record::entry::{
    BiGrowth, BiResult, BiRole, CiEndpoint, CiPosition, CiResult, Content, Entry, EntryBody,
    LoadStart, LotAction, LotChange,
};
use crate::record::line_set::LineSet;
use crate::record::name::{LoadNumber, Program, StaffMark, UnitName};
use crate::record::stamp::Stamp;
use chrono_tz::Tz;
use std::borrow::Cow;
use std::sync::Arc;

/// A value and where it stands.
#[derive(Debug, Clone)]
pub struct Value<'a> {
    /// Its text, with quotation marks taken off.
    pub text: Cow<'a, [u8]>,
    /// Where it stands.
    pub span: Span,
}

/// A key with its value.
#[derive(Debug, Clone)]
pub struct Part<'a> {
    /// The key.
    pub key: Cow<'a, [u8]>,
    /// Where the key stands: in the text form before the value, in CSV at the value itself.
    pub key_span: Span,
    /// The value.
    pub value: Value<'a>,
}

/// An entry before its keys and values are understood.
#[derive(Debug, Clone)]
pub struct Draft<'a> {
    /// The lines that it is made of.
    pub lines: LineSet,
    /// All of it.
    pub span: Span,
    /// Its kind.
    pub kind: Value<'a>,
    /// What it is about.
    pub about: Option<Value<'a>>,
    /// Its keys and values.
    pub parts: Vec<Part<'a>>,
    /// When it was written.
    pub written: Option<Spanned<Stamp>>,
    /// The place in force.
    pub place: Option<Arc<Spanned<String>>>,
    /// The zone in force.
    pub zone: Option<Arc<Spanned<Tz>>>,
}

/// Every kind of entry, for proposals.
pub const KINDS: &[&str] = &[
    "load", "content", "ci", "bi", "lot", "release", "hold", "recall", "service", "remark",
];

const LOAD_KEYS: &[&str] = &["unit", "counter", "program", "by", "note"];
const CONTENT_KEYS: &[&str] = &[
    "set",
    "items",
    "packages",
    "packaging",
    "lot",
    "expiry",
    "scan",
    "implant",
    "to",
    "by",
    "note",
];
const CI_KEYS: &[&str] = &[
    "position", "type", "set", "lot", "expiry", "scan", "endpoint", "by", "note",
];
const BI_KEYS: &[&str] = &[
    "role",
    "lot",
    "expiry",
    "scan",
    "incubated",
    "read",
    "result",
    "population",
    "d-value",
    "by",
    "note",
];
const LOT_KEYS: &[&str] = &["lot", "expiry", "scan", "action", "by", "note"];
const PLAIN_KEYS: &[&str] = &["by", "note"];

/// Understands an entry.
///
/// # Errors
/// The first thing in it that can't be understood, at its place. An entry is read as a whole or not at all.
pub fn interpret(draft: Draft<'_>) -> Result<Entry, Diagnostic> {
    let kind = KINDS
        .iter()
        .copied()
        .find(|kind| draft.kind.text.eq_ignore_ascii_case(kind.as_bytes()));
    let Some(kind) = kind else {
        return Err(unknown_word(&draft.kind, "kind of entry", KINDS));
    };
    let year = draft
        .written
        .as_ref()
        .map(|written| chrono::Datelike::year(&written.value.local));
    let mut fields = Fields {
        parts: draft.parts,
        kind,
    };
    let by = fields.take("by", |value| name(value).map(StaffMark))?;
    let note = fields.take("note", words)?;
    let about = draft.about.filter(|about| !about.text.is_empty());
    let (mut load, mut unit, mut remark) = (None, None, None);
    let mut consumable = None;
    if let Some(about) = &about {
        let span = about.span;
        match kind {
            "service" => unit = Some(Spanned::new(UnitName(name(about)?), span)),
            "remark" => remark = Some(Spanned::new(words(about)?, span)),
            "lot" => {
                let kind = one_of(about, ConsumableKind::ALL, ConsumableKind::word)?;
                consumable = Some(Spanned::new(kind, span));
            }
            _ => load = Some(Spanned::new(LoadNumber(name(about)?), span)),
        }
    } else if kind != "remark" {
        let wanted = match kind {
            "service" => "the unit",
            "lot" => "the kind of consumable",
            _ => "the load number",
        };
        return Err(Diagnostic::at(
            Code::ValueMissing,
            draft.kind.span,
            format!("the entry does not say what it is about: {wanted} is missing"),
        )
        .caption(format!("{wanted} belongs after this")));
    }
    if kind == "remark" && remark.is_none() && note.is_none() {
        return Err(Diagnostic::at(
            Code::ValueMissing,
            draft.kind.span,
            "the remark has no words",
        )
        .caption("they belong after this, or in the column `note`"));
    }
    let body = match kind {
        "load" => {
            unit = fields.take("unit", |value| name(value).map(UnitName))?;
            EntryBody::from(LoadStart {
                counter: fields.take("counter", |value| complete(value, whole))?,
                program: fields.take("program", |value| words(value).map(Program))?,
            })
        }
        "content" => EntryBody::from(Content {
            set: fields.take("set", words)?,
            n_items: fields.take("items", |value| complete(value, whole))?,
            n_packages: fields.take("packages", |value| complete(value, whole))?,
            packaging: fields.take("packaging", words)?,
            packaging_lot: fields.take_lot(year)?,
            implant: fields.take("implant", yes_or_no)?,
            destination: fields.take("to", words)?,
        }),
        "ci" => EntryBody::from(CiResult {
            position: fields.take("position", |value| {
                one_of(value, CiPosition::ALL, CiPosition::word)
            })?,
            ci_type: fields.take("type", ci_type)?,
            set: fields.take("set", words)?,
            lot: fields.take_lot(year)?,
            endpoint: fields.take("endpoint", |value| {
                one_of(value, CiEndpoint::ALL, CiEndpoint::word)
            })?,
        }),
        "bi" => EntryBody::from(BiResult {
            role: fields.take("role", |value| one_of(value, BiRole::ALL, BiRole::word))?,
            lot: fields.take_lot(year)?,
            incubated: fields.take("incubated", |value| complete(value, date_time))?,
            read: fields.take("read", |value| complete(value, date_time))?,
            growth: fields.take("result", |value| {
                one_of(value, BiGrowth::ALL, BiGrowth::word)
            })?,
            population: fields.take("population", population)?,
            d_value_minutes: fields.take("d-value", |value| {
                complete(value, duration).map(|(length, _)| length.seconds() / 60.0)
            })?,
        }),
        "lot" => EntryBody::from(LotChange {
            consumable,
            lot: fields.take_lot(year)?,
            action: fields.take("action", |value| {
                one_of(value, LotAction::ALL, LotAction::word)
            })?,
        }),
        "release" => EntryBody::Release,
        "hold" => EntryBody::Hold,
        "recall" => EntryBody::Recall,
        "service" => EntryBody::Service,
        _ => EntryBody::Remark,
    };
    fields.nothing_left()?;
    Ok(Entry {
        lines: draft.lines,
        span: draft.span,
        written: draft.written,
        place: draft.place,
        zone: draft.zone,
        load,
        unit,
        by,
        note: join_notes(remark, note).map(Box::new),
        body,
    })
}

/// A remark's own words, and the note of a CSV row if it has both.
fn join_notes(
    remark: Option<Spanned<String>>,
    note: Option<Spanned<String>>,
) -> Option<Spanned<String>> {
    match (remark, note) {
        (Some(remark), Some(note)) => Some(Spanned::new(
            format!("{}; {}", remark.value, note.value),
            remark.span,
        )),
        (remark, note) => remark.or(note),
    }
}

/// The keys and values of an entry that are not understood yet.
struct Fields<'a> {
    parts: Vec<Part<'a>>,
    kind: &'static str,
}

impl<'a> Fields<'a> {
    /// Takes the value of a key, if it is there.
    fn take<T>(
        &mut self,
        key: &str,
        read: impl Fn(&Value<'_>) -> Result<T, Diagnostic>,
    ) -> Result<Option<Spanned<T>>, Diagnostic> {
        let Some(part) = self.take_part(key)? else {
            return Ok(None);
        };
        Ok(Some(Spanned::new(read(&part.value)?, part.value.span)))
    }

    fn take_part(&mut self, key: &str) -> Result<Option<Part<'a>>, Diagnostic> {
        let is_key = |part: &Part<'_>| part.key.eq_ignore_ascii_case(key.as_bytes());
        let Some(at) = self.parts.iter().position(is_key) else {
            return Ok(None);
        };
        let part = self.parts.remove(at);
        if let Some(again) = self.parts.iter().find(|part| is_key(part)) {
            return Err(Diagnostic::at(
                Code::FieldRepeated,
                again.key_span,
                format!("`{key}` stands here twice"),
            )
            .caption("again")
            .label(part.key_span, "first")
            .help("write each key once"));
        }
        if part.value.text.is_empty() {
            return Err(Diagnostic::at(
                Code::ValueMissing,
                part.key_span,
                format!("`{key}` has no value"),
            ));
        }
        Ok(Some(part))
    }

    fn take_lot(
        &mut self,
        year: Option<i32>,
    ) -> Result<Option<Spanned<crate::record::consumable::LotIdentity>>, Diagnostic> {
        let mut parts = LotParts::default();
        let mut span = None;
        if let Some(part) = self.take_part("lot")? {
            parts.set_lot(&part.value.text, part.value.span)?;
            span = Some(part.value.span);
        }
        if let Some(part) = self.take_part("scan")? {
            parts.set_scan(&part.value.text, part.value.span)?;
            span = span.or(Some(part.value.span));
        }
        if let Some(part) = self.take_part("expiry")? {
            parts.set_expiry(complete(&part.value, date)?, part.value.span)?;
            span = span.or(Some(part.value.span));
        }
        match span {
            Some(span) => Ok(Some(Spanned::new(parts.join(year)?, span))),
            None => Ok(None),
        }
    }

    /// What is left is a key that this kind of entry does not have.
    fn nothing_left(&self) -> Result<(), Diagnostic> {
        let Some(part) = self.parts.first() else {
            return Ok(());
        };
        let known = match self.kind {
            "load" => LOAD_KEYS,
            "content" => CONTENT_KEYS,
            "ci" => CI_KEYS,
            "bi" => BI_KEYS,
            "lot" => LOT_KEYS,
            _ => PLAIN_KEYS,
        };
        let key = Value {
            text: part.key.clone(),
            span: part.key_span,
        };
        Err(unknown_word(
            &key,
            &format!("key of a `{}` entry", self.kind),
            known,
        ))
    }
}

fn unknown_word(word: &Value<'_>, what: &str, known: &[&str]) -> Diagnostic {
    let shown = String::from_utf8_lossy(&word.text);
    let diagnostic = Diagnostic::at(
        Code::KeyUnknown,
        word.span,
        format!("`{shown}` is not a {what}"),
    );
    match suggest(&shown, known) {
        Some(near) => diagnostic.help(format!("write `{near}` if that is what is meant")),
        None => diagnostic.help(format!("it is one of: {}", known.join(", "))),
    }
}

fn invalid(value: &Value<'_>, wanted: &str) -> Diagnostic {
    let shown = String::from_utf8_lossy(&value.text);
    Diagnostic::at(
        Code::ValueInvalid,
        value.span,
        format!("`{shown}` is not {wanted}"),
    )
    .caption(format!("expected {wanted}"))
}

fn name(value: &Value<'_>) -> Result<String, Diagnostic> {
    if is_name(&value.text) {
        Ok(String::from_utf8_lossy(&value.text).into_owned())
    } else {
        Err(invalid(
            value,
            "a name of at most forty characters without spaces or commas",
        ))
    }
}

/// A value as words.
///
/// # Errors
/// It looks like patient data, or has no words: a space in quotation marks is a value, and would be kept as the name of
/// something.
pub(super) fn words(value: &Value<'_>) -> Result<String, Diagnostic> {
    if looks_like_patient_data(&value.text) {
        return Err(diagnose_patient_data(value.span));
    }
    if is_blank(&value.text) {
        return Err(Diagnostic::at(
            Code::ValueMissing,
            value.span,
            "nothing but spaces stands here",
        )
        .help("write the words, or leave the key out"));
    }
    Ok(owned(&value.text))
}

fn one_of<T: Copy>(
    value: &Value<'_>,
    all: &[T],
    word: impl Fn(T) -> &'static str,
) -> Result<T, Diagnostic> {
    let same = |known: &str| {
        // `no growth` and `no  growth` are the same, and so is `no-growth`; `nog rowth` is a slip.
        let joined = |text: &[u8]| {
            let words = text.split(|byte| matches!(byte, b' ' | b'\t'));
            let words: Vec<_> = words.filter(|word| !word.is_empty()).collect();
            words.join(&b'-').to_ascii_lowercase()
        };
        joined(&value.text) == joined(known.as_bytes())
    };
    let is_verbatim = |candidate: &T| value.text.eq_ignore_ascii_case(word(*candidate).as_bytes());
    let found = all
        .iter()
        .copied()
        .find(is_verbatim)
        .or_else(|| all.iter().copied().find(|&candidate| same(word(candidate))));
    found.ok_or_else(|| {
        let known: Vec<_> = all.iter().map(|&candidate| word(candidate)).collect();
        let diagnostic = invalid(value, &format!("one of: {}", known.join(", ")));
        match suggest(&String::from_utf8_lossy(&value.text), &known) {
            Some(near) => diagnostic.help(format!("write `{near}` if that is what is meant")),
            None => diagnostic,
        }
    })
}

fn yes_or_no(value: &Value<'_>) -> Result<bool, Diagnostic> {
    if value.text.eq_ignore_ascii_case(b"yes") {
        Ok(true)
    } else if value.text.eq_ignore_ascii_case(b"no") {
        Ok(false)
    } else {
        Err(invalid(value, "yes or no"))
    }
}

fn ci_type(value: &Value<'_>) -> Result<u8, Diagnostic> {
    match &*value.text {
        [digit @ b'1'..=b'6'] => Ok(digit.wrapping_sub(b'0')),
        _ => Err(invalid(value, "a type from 1 to 6 (ISO 11140-1)")),
    }
}

/// A number of spores, such as `1.2e6` or `1200000`.
fn population(value: &Value<'_>) -> Result<f64, Diagnostic> {
    let text = std::str::from_utf8(&value.text).ok();
    // Rust reads `.1e6` and `1.e6` too, which are more likely to lack a digit.
    let is_digits = |part: &str| !part.is_empty() && part.bytes().all(|b| b.is_ascii_digit());
    let plain = text.filter(|text| text.split(['.', 'e', 'E']).all(is_digits));
    let number = plain.and_then(|text| text.parse::<f64>().ok());
    number
        .filter(|number| (1.0..=1e12).contains(number))
        .ok_or_else(|| invalid(value, "a number of spores, such as 1.2e6"))
}

/// A value read by a parser that must leave nothing of it.
fn complete<T>(value: &Value<'_>, read: impl Fn(&[u8]) -> Parsed<'_, T>) -> Result<T, Diagnostic> {
    let parsed = read(&value.text).and_then(|(rest, found)| end_of_line(rest).map(|_| found));
    parsed.map_err(|error| {
        let fault = fault_of(error);
        if fault.at.is_empty() {
            Diagnostic::at(
                Code::ValueMissing,
                value.span,
                format!("{} is expected", fault.wanted),
            )
        } else {
            Diagnostic {
                code: fault.code,
                ..invalid(value, fault.wanted)
            }
            .help(fault.code.help())
        }
    })
}
