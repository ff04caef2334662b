//! A layout's tree → a [`Layout`] that lines are held against: every template parsed, every word and unit looked up, and
//! for each byte that a line may begin with the forms that can fit.
//!
//! All faults of a layout are said at once, each at its place in the TOML. Read [`compile`] first.

use super::field::{Field, UnitOf};
use super::form::{Form, TemplateFault};
use super::language::{
    Document, LayoutFiles, LayoutText, Node, Section, Value, invalid, read_document, texts,
};
use super::lexicon::{Fold, Lexicon, NumberForm, PLAIN_FOLD, Phrase, SCAN_FOLD, Words, folded};
use super::moment::{Calendar, DatePattern, LANGUAGES, TimePattern, months_in};
use crate::diagnose::{Diagnostic, Span};
use crate::measure::quantity::Pressure;
use crate::measure::unit::{DurationUnit, LeakRateUnit};
use crate::parse::printout::read::read_outcome;
use crate::parse::suggest::suggest;
use crate::parse::text::is_name;
use crate::parse::token::pressure;
use crate::record::cause::Cause;
use crate::record::cycle::{Process, Purpose, QuantityKind, StageName};
use crate::source::decode::Charset;
use chrono_tz::Tz;
use std::ops::Range;

/// The version of the layout language.
const VERSION: i64 = 1;
/// No printer's line is longer than this, in bytes; it bounds the time that a form takes. Rows of a table are not bound.
const LONGEST_LINE: usize = 1_000;
/// A layout has no more forms than this.
const MOST_FORMS: usize = 2_000;

/// A layout, ready to hold lines against.
#[derive(Debug)]
pub struct Layout {
    /// Its name.
    pub name: String,
    /// What printer it is for.
    pub about: String,
    /// The layouts it extends, nearest first.
    pub extends: Vec<String>,
    /// Its texts, for diagnostics.
    pub files: LayoutFiles,
    /// What is doubtful in it.
    pub warnings: Vec<Diagnostic>,
    /// How bytes are read.
    pub charset: Charset,
    /// Whether slips of a scan are repaired.
    pub scan: ScanRepair,
    /// The forms of its lines, in the order in which they are tried.
    pub forms: Vec<KnownForm>,
    /// How its values are written.
    pub lexicon: Lexicon,
    /// What holds for every cycle and is not printed.
    pub always: Always,
    /// How lines are continued.
    pub wrap: Option<Wrap>,
    /// Its table of delimited cells.
    pub table: Option<Table>,
    /// Whether any of its forms prints the date of a cycle.
    pub prints_dates: bool,
    /// Whether it has a form for the last line.
    pub has_end: bool,
    /// Whether it has a form for the first line.
    pub has_begin: bool,
    /// For each first byte, folded, the forms that may fit, in their order.
    by_first_byte: Vec<Box<[u16]>>,
}

/// Whether slips of a scan are repaired.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ScanRepair {
    /// They are left, and their lines unread.
    Leave,
    /// They are repaired where one reading is left.
    Repair,
}

/// What a line of a form is to its strip.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Role {
    /// The first line of a cycle.
    Begin,
    /// The last line of a cycle.
    End,
    /// A line that says nothing.
    Ignore,
    /// A line that says something.
    Says,
}

/// A form with its role and where the layout has it.
#[derive(Debug)]
pub struct KnownForm {
    /// The form.
    pub form: Form,
    /// Its role.
    pub role: Role,
    /// Its place in the TOML.
    pub place: Span,
    /// Whether it has readings, so that a stage on its line is the one at hand and not a new one.
    pub has_readings: bool,
}

/// What holds for every cycle and is not printed.
#[derive(Debug, Default)]
pub struct Always {
    /// The unit.
    pub unit: Option<String>,
    /// Its serial number.
    pub serial: Option<String>,
    /// Its software.
    pub software: Option<String>,
    /// The place.
    pub place: Option<String>,
    /// The zone of its clock.
    pub zone: Option<Tz>,
    /// The process.
    pub process: Option<Process>,
    /// The program.
    pub program: Option<String>,
    /// The ambient pressure.
    pub ambient: Option<Pressure>,
}

/// How a printer goes on with a line that is too long for its paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wrap {
    /// A line that fills the columns may go on in the next.
    FullLine(usize),
    /// A line that begins with white space goes on with the one before it.
    Indent,
}

/// A table of delimited cells.
#[derive(Debug)]
pub struct Table {
    /// The byte between two cells.
    pub separator: u8,
    /// The headings and what stands below each: the first that fits a cell is what it is.
    pub columns: Vec<(Phrase, Vec<Cell>)>,
    /// Whether the first row is the start.
    pub starts: RowRole,
    /// Whether the last row is the end.
    pub ends: RowRole,
}

/// What stands in a cell.
#[derive(Debug)]
pub enum Cell {
    /// One field.
    Field(Field),
    /// Several, or one with text around it.
    Form(Form),
}

/// What a row's time means beside its readings.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RowRole {
    /// Nothing more.
    None,
    /// It is the start or the end of the cycle.
    Marks,
}

impl Layout {
    /// The forms that may fit a line, in the order in which they are to be tried; none for a line longer than any
    /// printer's.
    #[inline]
    pub fn candidates(&self, text: &[u8]) -> impl Iterator<Item = (usize, &KnownForm)> {
        let first = text
            .iter()
            .find(|byte| !matches!(byte, b' ' | b'\t'))
            .map_or(0, |&byte| folded(self.lexicon.fold, byte));
        let numbers = self.by_first_byte.get(usize::from(first));
        numbers
            .filter(|_| text.len() <= LONGEST_LINE)
            .into_iter()
            .flat_map(|numbers| numbers.iter())
            .filter_map(|&number| {
                let number = usize::from(number);
                self.forms.get(number).map(|form| (number, form))
            })
    }
}

/// Reads and compiles a layout. `find` gives the text of a layout by the name in an `extends`.
///
/// # Errors
/// All that is wrong with it.
pub fn compile(
    text: LayoutText,
    find: &dyn Fn(&str) -> Option<LayoutText>,
) -> Result<Layout, (LayoutFiles, Vec<Diagnostic>)> {
    compile_for(text, find, ScanRepair::Leave)
}

/// Compiles a layout as [`compile`] does, for strips that were scanned if either the layout or `scan` says so.
///
/// # Errors
/// All that is wrong with it.
pub fn compile_for(
    text: LayoutText,
    find: &dyn Fn(&str) -> Option<LayoutText>,
    scan: ScanRepair,
) -> Result<Layout, (LayoutFiles, Vec<Diagnostic>)> {
    let document = read_document(text, find)?;
    let mut compiler = Compiler {
        said: Vec::new(),
        warnings: Vec::new(),
        forms: Vec::new(),
        fold: &PLAIN_FOLD,
        scan,
    };
    let layout = compiler.layout(&document);
    if compiler.said.is_empty() {
        Ok(layout)
    } else {
        compiler.said.sort_by_key(|said| said.primary);
        Err((document.files, compiler.said))
    }
}

struct Compiler {
    said: Vec<Diagnostic>,
    warnings: Vec<Diagnostic>,
    forms: Vec<KnownForm>,
    fold: &'static Fold,
    scan: ScanRepair,
}

impl Compiler {
    fn layout(&mut self, document: &Document) -> Layout {
        let mut root = Section::of(&document.root, &mut self.said);
        let version = root.take_whole("layout", VERSION..=VERSION, &mut self.said);
        if version.is_none() && self.said.is_empty() {
            let said = invalid(
                root.span,
                "a layout begins with `layout = 1`, the version of its language",
            );
            self.said
                .push(said.help("write `layout = 1` as the first line"));
        }
        let name = root.take_text("name", &mut self.said);
        match name {
            Some((name, node)) if !is_name(name.as_bytes()) => self.said.push(invalid(
                node.span,
                "a name has at most forty characters and no spaces",
            )),
            Some(_) => {}
            None => self.said.push(
                invalid(root.span, "the layout has no name")
                    .help("write `name = \"…\"`, a word by which --layout can call it"),
            ),
        }
        let about = root.take_text("about", &mut self.said);
        let _ = root.take("extends");
        let charset = self.charset(&mut root);
        let scan = match root.take("scanned").map(|node| (&node.value, node.span)) {
            None | Some((Value::Truth(false), _)) => self.scan,
            Some((Value::Truth(true), _)) => ScanRepair::Repair,
            Some((_, span)) => {
                self.said.push(invalid(span, "`scanned` is true or false"));
                ScanRepair::Leave
            }
        };
        if scan == ScanRepair::Repair {
            self.fold = &SCAN_FOLD;
        }
        let lexicon = self.lexicon(&mut root);
        for (key, role) in [
            ("begin", Role::Begin),
            ("end", Role::End),
            ("ignore", Role::Ignore),
            ("lines", Role::Says),
        ] {
            for (template, node) in root.take_texts(key, &mut self.said) {
                self.template(template, node, role);
            }
        }
        self.labels(&mut root);
        self.columns(&mut root);
        let always = self.always(&mut root);
        let wrap = self.wrap(&mut root);
        let table = self.table(&mut root);
        let root_span = root.span;
        root.finish("a layout", &mut self.said);
        if self.forms.len() > MOST_FORMS {
            self.said.push(invalid(
                root_span,
                "a layout has at most two thousand forms of lines",
            ));
        }
        let has = |role: Role| self.forms.iter().any(|known| known.role == role);
        let (has_begin, has_end) = (has(Role::Begin), has(Role::End));
        if !has_begin && table.is_none() && self.said.is_empty() {
            self.said.push(
                invalid(root_span, "the layout does not say how a cycle begins")
                    .help("write `begin = \"…\"`, the form of the first line of a cycle"),
            );
        }
        self.check_dates(&lexicon, table.as_ref(), root_span);
        self.check_words(&lexicon, table.as_ref(), root_span);
        let prints_dates = all_fields(&self.forms, table.as_ref())
            .iter()
            .any(|field| matches!(field, Field::StartDate | Field::EndDate | Field::Date));
        let by_first_byte = dispatch(&self.forms, &lexicon);
        Layout {
            name: name.map_or_else(String::new, |(name, _)| name.to_owned()),
            about: about.map_or_else(String::new, |(about, _)| about.to_owned()),
            extends: document.extends.clone(),
            files: document.files.clone(),
            warnings: std::mem::take(&mut self.warnings),
            charset,
            scan,
            forms: std::mem::take(&mut self.forms),
            lexicon,
            always,
            wrap,
            table,
            prints_dates,
            has_end,
            has_begin,
            by_first_byte,
        }
    }

    fn charset(&mut self, root: &mut Section<'_>) -> Charset {
        match root.take_text("encoding", &mut self.said) {
            None | Some(("detected", _)) => Charset::Detected,
            Some(("cp437", _)) => Charset::CodePage437,
            Some((_, node)) => {
                self.said.push(
                    invalid(node.span, "the encoding is `detected` or `cp437`")
                        .help("UTF-8, UTF-16 and Windows-1252 are told by themselves: leave the key out for them"),
                );
                Charset::Detected
            }
        }
    }

    fn template(&mut self, template: &str, node: &Node, role: Role) {
        match Form::parse(template, self.fold) {
            Ok(form) => self.push_form(form, role, node.span),
            Err(fault) => self.said.push(template_fault(node, fault)),
        }
    }

    fn push_form(&mut self, form: Form, role: Role, place: Span) {
        let fields: Vec<Field> = form.fields().collect();
        let has = |wanted: fn(&Field) -> bool| fields.iter().any(wanted);
        let is_timed = has(|field| matches!(field, Field::Time | Field::Elapsed));
        let has_readings = has(|field| matches!(field, Field::Reading(..)));
        let mut refuse = |headline: &str, help: &str| {
            self.said.push(invalid(place, headline).help(help));
        };
        if has_readings && !is_timed {
            refuse(
                "a line with readings needs the {time} or {elapsed} of its readings",
                "put the placeholder where the strip prints it; for a line that sums up, write `*` in place of the reading",
            );
        }
        if has(|field| matches!(field, Field::Text)) && !is_timed {
            refuse(
                "a line with {text} needs the {time} or {elapsed} at which it happened",
                "write `*` in place of {text} if the words need not be kept",
            );
        }
        if has(|field| *field == Field::Time) && has(|field| *field == Field::Elapsed) {
            refuse(
                "a line has one time: {time} or {elapsed}",
                "write `*` in place of the other",
            );
        }
        if has(|field| *field == Field::Date) && !has(|field| *field == Field::Time) {
            refuse(
                "{date} is the date of a line's {time}",
                "write {start date}, {end date} or {day} if that is what the date is",
            );
        }
        if has(|field| matches!(field, Field::Alarm | Field::AnyAlarm))
            && has(|field| matches!(field, Field::Stage | Field::AnyStage))
            && !has_readings
        {
            refuse(
                "a line with an alarm does not begin a stage",
                "write `*` in place of the stage",
            );
        }
        if role == Role::Ignore && !fields.is_empty() {
            refuse(
                "a line that is ignored has no placeholders",
                "write `*` for what may stand there, or move the line to `lines`",
            );
        }
        if role == Role::Says && fields.is_empty() {
            refuse(
                "a line with no placeholder says nothing",
                "move it to `ignore`, or write the placeholder for what it says",
            );
        }
        self.forms.push(KnownForm {
            form,
            role,
            place,
            has_readings,
        });
    }

    fn labels(&mut self, root: &mut Section<'_>) {
        let Some(mut section) = root.take_section("labels", &mut self.said) else {
            return;
        };
        let mut labelled: Vec<(usize, Form, Span)> = Vec::new();
        for entry in section.take_rest() {
            let field = match Field::parse(&entry.key) {
                Ok(field) => field,
                Err((headline, proposal)) => {
                    let said = invalid(entry.span, headline);
                    self.said.push(with_proposal(said, proposal));
                    continue;
                }
            };
            for (label, node) in texts(&entry.node, &mut self.said) {
                match Form::labelled(label, field, self.fold) {
                    Ok(form) => labelled.push((label.len(), form, node.span)),
                    Err(fault) => self.said.push(template_fault(node, fault)),
                }
            }
        }
        // `Run time` before `Run`, so that the longer label is not read as the shorter with a value.
        labelled.sort_by_key(|(len, _, _)| std::cmp::Reverse(*len));
        for (_, form, place) in labelled {
            self.push_form(form, Role::Says, place);
        }
    }

    /// Lines with fields in fixed columns: a list of tables from `"1-8"` to a placeholder.
    fn columns(&mut self, root: &mut Section<'_>) {
        let Some(node) = root.take("columns") else {
            return;
        };
        let tables: Vec<&Node> = match &node.value {
            Value::List(tables) => tables.iter().collect(),
            _ => vec![node],
        };
        for table in tables {
            let mut section = Section::of(table, &mut self.said);
            let mut columns: Vec<(Range<usize>, Field)> = Vec::new();
            for entry in section.take_rest() {
                let Some(range) = columns_of(&entry.key) else {
                    self.said.push(
                        invalid(
                            entry.span,
                            format!("`{}` is no range of columns", entry.key),
                        )
                        .help("write the first and last column, counted from 1, as in \"1-8\""),
                    );
                    continue;
                };
                let Value::Text(text) = &entry.node.value else {
                    self.said.push(invalid(
                        entry.node.span,
                        "a placeholder stands here as text",
                    ));
                    continue;
                };
                match Field::parse(text.trim_matches(['{', '}'])) {
                    Ok(field) => columns.push((range, field)),
                    Err((headline, proposal)) => {
                        let said = invalid(entry.node.span, headline);
                        self.said.push(with_proposal(said, proposal));
                    }
                }
            }
            columns.sort_by_key(|(range, _)| range.start);
            let overlaps = columns
                .windows(2)
                .any(|pair| matches!(pair, [(a, _), (b, _)] if a.end > b.start));
            if overlaps {
                self.said.push(invalid(
                    table.span,
                    "two of these ranges of columns overlap",
                ));
            } else if !columns.is_empty() {
                self.push_form(Form::in_columns(columns), Role::Says, table.span);
            }
        }
    }

    fn lexicon(&mut self, root: &mut Section<'_>) -> Lexicon {
        let mut lexicon = Lexicon {
            fold: self.fold,
            numbers: NumberForm {
                decimal: b'.',
                thousands: None,
            },
            missing: Words::default(),
            dates: Vec::new(),
            calendar: Calendar::default(),
            times: Vec::new(),
            lengths: Vec::new(),
            units: Words::default(),
            leak_units: Words::default(),
            duration_units: Words::default(),
            stages: Words::default(),
            causes: Words::default(),
            outcomes: Words::default(),
            processes: Words::default(),
            purposes: Words::default(),
        };
        self.numbers(root, &mut lexicon);
        self.dates(root, &mut lexicon);
        self.units(root, &mut lexicon);
        self.words(root, &mut lexicon);
        lexicon
    }

    fn numbers(&mut self, root: &mut Section<'_>, lexicon: &mut Lexicon) {
        let Some(mut section) = root.take_section("numbers", &mut self.said) else {
            return;
        };
        let mark = |word: &str| match word {
            "point" => Some(b'.'),
            "comma" => Some(b','),
            _ => None,
        };
        if let Some((word, node)) = section.take_text("decimal", &mut self.said) {
            match mark(word) {
                Some(byte) => lexicon.numbers.decimal = byte,
                None => self
                    .said
                    .push(invalid(node.span, "the decimal mark is `point` or `comma`")),
            }
        }
        if let Some((word, node)) = section.take_text("thousands", &mut self.said) {
            let byte = mark(word).or(match word {
                "space" => Some(b' '),
                "apostrophe" => Some(b'\''),
                _ => None,
            });
            match byte {
                Some(byte) if byte == lexicon.numbers.decimal => self.said.push(invalid(
                    node.span,
                    "decimals and thousands have the same mark, so that no number could be told",
                )),
                Some(byte) => lexicon.numbers.thousands = Some(byte),
                None => self.said.push(invalid(
                    node.span,
                    "the mark between thousands is `point`, `comma`, `space` or `apostrophe`",
                )),
            }
        }
        for (word, _) in section.take_texts("missing", &mut self.said) {
            lexicon.missing.push(word, self.fold, ());
        }
        section.finish("`numbers`", &mut self.said);
    }

    fn dates(&mut self, root: &mut Section<'_>, lexicon: &mut Lexicon) {
        let mut section = root.take_section("dates", &mut self.said);
        if let Some(section) = &mut section {
            for (text, node) in section.take_texts("date", &mut self.said) {
                match DatePattern::parse(text) {
                    Ok(pattern) => {
                        if lexicon
                            .dates
                            .iter()
                            .any(|known| known.is_confused_with(&pattern))
                        {
                            self.said.push(
                                invalid(
                                    node.span,
                                    "two forms of date fit the same figures and disagree",
                                )
                                .help("keep the one that this printer prints"),
                            );
                        }
                        lexicon.dates.push(pattern);
                    }
                    Err(headline) => self.said.push(invalid(node.span, headline)),
                }
            }
            for key in ["time", "length"] {
                for (text, node) in section.take_texts(key, &mut self.said) {
                    match TimePattern::parse(text) {
                        Ok(pattern) if key == "time" && !pattern.has_hours() => self
                            .said
                            .push(invalid(node.span, "a time of day has hours")),
                        Ok(pattern) if key == "time" => lexicon.times.push(pattern),
                        Ok(pattern) => lexicon.lengths.push(pattern),
                        Err(headline) => self.said.push(invalid(node.span, headline)),
                    }
                }
            }
            self.months(section, lexicon);
            lexicon.calendar.first_year = section
                .take_whole("first year", 1900..=2099, &mut self.said)
                .and_then(|year| i32::try_from(year).ok());
        }
        // What holds where nothing is said: the neutral forms.
        let neutral = |pattern: &str| TimePattern::parse(pattern).ok();
        if lexicon.dates.is_empty() {
            lexicon.dates.extend(DatePattern::parse("YYYY-MM-DD").ok());
        }
        if lexicon.times.is_empty() {
            lexicon.times.extend(neutral("HH:MM:SS"));
        }
        if lexicon.lengths.is_empty() {
            lexicon.lengths.extend(neutral("HH:MM:SS"));
        }
        let span = section.as_ref().map_or(root.span, |section| section.span);
        if lexicon.dates.iter().any(DatePattern::has_month_name)
            && lexicon.calendar.months.is_empty()
        {
            self.said.push(
                invalid(
                    span,
                    "a date has the name of its month, but the names are not given",
                )
                .help("write `months = \"english\"` in [dates], or a list of twelve names"),
            );
        }
        if lexicon.dates.iter().any(DatePattern::has_two_digit_year)
            && lexicon.calendar.first_year.is_none()
        {
            self.said.push(
                invalid(span, "years have two digits, but their century is not given")
                    .help("write `\"first year\" = 1990` in [dates]: the first of the hundred years they stand for"),
            );
        }
        if let Some(section) = section {
            section.finish("`dates`", &mut self.said);
        }
    }

    fn months(&mut self, section: &mut Section<'_>, lexicon: &mut Lexicon) {
        let Some(node) = section.take("months") else {
            return;
        };
        match &node.value {
            Value::Text(language) => match months_in(language) {
                Some(months) => lexicon.calendar.months = months,
                None => self.said.push(invalid(
                    node.span,
                    format!(
                        "months are known in {}; for others give a list of twelve names",
                        LANGUAGES.join(", ")
                    ),
                )),
            },
            Value::List(items) if items.len() == 12 => {
                for item in items {
                    let names = texts(item, &mut self.said);
                    lexicon
                        .calendar
                        .months
                        .push(names.iter().map(|(name, _)| (*name).to_owned()).collect());
                }
            }
            _ => self.said.push(invalid(
                node.span,
                "months are the name of a language, or a list of twelve names",
            )),
        }
    }

    fn units(&mut self, root: &mut Section<'_>, lexicon: &mut Lexicon) {
        if let Some(mut section) = root.take_section("units", &mut self.said) {
            for entry in section.take_rest() {
                let printed: Vec<&str> = texts(&entry.node, &mut self.said)
                    .iter()
                    .map(|(text, _)| *text)
                    .collect();
                let unit = QuantityKind::ALL
                    .iter()
                    .find_map(|kind| UnitOf::parse(*kind, &entry.key));
                let symbol = entry.key.as_bytes();
                if let Some(unit) = unit {
                    printed
                        .into_iter()
                        .for_each(|text| lexicon.units.push(text, self.fold, unit));
                } else if let Some(unit) = LeakRateUnit::from_symbol(symbol) {
                    printed
                        .into_iter()
                        .for_each(|text| lexicon.leak_units.push(text, self.fold, unit));
                } else if let Some(unit) = DurationUnit::from_symbol(symbol) {
                    printed
                        .into_iter()
                        .for_each(|text| lexicon.duration_units.push(text, self.fold, unit));
                } else {
                    self.said.push(
                        invalid(entry.span, format!("`{}` is no unit that loadbook knows", entry.key))
                            .help("the units stand in grammars/cycle-printout.md; the printer's own word goes on the right"),
                    );
                }
            }
        }
        for (symbol, unit) in UnitOf::all() {
            let phrase = Phrase::new(&symbol, self.fold);
            if lexicon.units.meaning(&phrase).is_none() {
                lexicon.units.push(&symbol, self.fold, unit);
            }
        }
        for unit in LeakRateUnit::ALL {
            lexicon.leak_units.push(unit.symbol(), self.fold, *unit);
        }
        for unit in DurationUnit::ALL {
            lexicon.duration_units.push(unit.symbol(), self.fold, *unit);
        }
    }

    fn words(&mut self, root: &mut Section<'_>, lexicon: &mut Lexicon) {
        if let Some(mut section) = root.take_section("words", &mut self.said) {
            if let Some(mut stages) = section.take_section("stage", &mut self.said) {
                lexicon.stages = self.table_of_words(&mut stages, "a stage", &|key| {
                    is_word(key).then(|| StageName::from_word(key))
                });
                self.warn_of_own_words(&stages, StageName::ALL.iter().map(StageName::word));
            }
            if let Some(mut causes) = section.take_section("alarm", &mut self.said) {
                lexicon.causes = self.table_of_words(&mut causes, "a cause", &|key| {
                    is_word(key).then(|| Cause::from_word(key))
                });
                self.warn_of_own_words(&causes, Cause::ALL.iter().map(Cause::word));
            }
            if let Some(mut outcomes) = section.take_section("outcome", &mut self.said) {
                lexicon.outcomes = self.table_of_words(
                    &mut outcomes,
                    "an outcome (completed, passed, failed, `aborted, stage …, cause …`, `rejected, cause …`, running)",
                    &|key| {
                        if key == "running" {
                            return Some(None);
                        }
                        read_outcome(key).map(Some)
                    },
                );
            }
            if let Some(mut processes) = section.take_section("process", &mut self.said) {
                lexicon.processes =
                    self.table_of_words(&mut processes, "a process (plasma, steam, eo)", &|key| {
                        Process::ALL.iter().copied().find(|p| p.word() == key)
                    });
            }
            if let Some(mut purposes) = section.take_section("purpose", &mut self.said) {
                lexicon.purposes = self.table_of_words(
                    &mut purposes,
                    "a purpose (load, leak-test, air-removal-test, warm-up)",
                    &|key| Purpose::ALL.iter().copied().find(|p| p.word() == key),
                );
            }
            section.finish("`words`", &mut self.said);
        }
    }

    fn table_of_words<T: Clone + PartialEq>(
        &mut self,
        section: &mut Section<'_>,
        what: &str,
        meaning: &dyn Fn(&str) -> Option<T>,
    ) -> Words<T> {
        let mut words = Words::default();
        for entry in section.take_rest() {
            let Some(meaning) = meaning(&entry.key) else {
                self.said.push(
                    invalid(entry.span, format!("`{}` is not {what}", entry.key)).help(
                        "loadbook's own word goes on the left, the printer's words on the right",
                    ),
                );
                continue;
            };
            for (text, node) in texts(&entry.node, &mut self.said) {
                let phrase = Phrase::new(text, self.fold);
                if phrase.bytes().is_empty() {
                    self.said
                        .push(invalid(node.span, "a word has at least one letter"));
                    continue;
                }
                match words.meaning(&phrase) {
                    Some(known) if *known == meaning => {}
                    Some(_) => self.said.push(invalid(
                        node.span,
                        format!("`{text}` has two meanings in this layout"),
                    )),
                    None => words.push(text, self.fold, meaning.clone()),
                }
            }
        }
        words
    }

    /// A word of our own that is near one of the table may be a slip.
    fn warn_of_own_words<'w>(
        &mut self,
        section: &Section<'_>,
        known: impl Iterator<Item = &'w str>,
    ) {
        let known: Vec<&str> = known.collect();
        for (key, span) in section.keys() {
            if known.contains(&key) {
                continue;
            }
            if let Some(near) = suggest(key, &known) {
                let mut warning = invalid(span, format!("`{key}` is kept as a word of its own"));
                warning.severity = crate::diagnose::Severity::Warning;
                self.warnings
                    .push(warning.help(format!("write `{near}` if that is what is meant")));
            }
        }
    }

    fn always(&mut self, root: &mut Section<'_>) -> Always {
        let mut always = Always::default();
        let Some(mut section) = root.take_section("always", &mut self.said) else {
            return always;
        };
        if let Some((unit, node)) = section.take_text("unit", &mut self.said) {
            if is_name(unit.as_bytes()) {
                always.unit = Some(unit.to_owned());
            } else {
                let headline = "the name of a unit has at most forty characters and no spaces";
                self.said.push(invalid(node.span, headline));
            }
        }
        let mut text = |section: &mut Section<'_>, key| {
            let found = section.take_text(key, &mut self.said);
            found
                .map(|(text, _)| text.trim().to_owned())
                .filter(|text| !text.is_empty())
        };
        always.serial = text(&mut section, "serial");
        always.software = text(&mut section, "software");
        always.place = text(&mut section, "place");
        always.program = text(&mut section, "program");
        if let Some((zone, node)) = section.take_text("zone", &mut self.said) {
            always.zone = Tz::from_str_insensitive(zone).ok();
            if always.zone.is_none() {
                let headline = "the zone is none of the IANA time zone database";
                self.said.push(invalid(node.span, headline));
            }
        }
        if let Some((process, node)) = section.take_text("process", &mut self.said) {
            always.process = Process::ALL.iter().copied().find(|p| p.word() == process);
            if always.process.is_none() {
                self.said
                    .push(invalid(node.span, "the process is plasma, steam or eo"));
            }
        }
        if let Some((ambient, node)) = section.take_text("ambient", &mut self.said) {
            match pressure(ambient.as_bytes()) {
                Ok((rest, (ambient, _))) if rest.trim_ascii().is_empty() => {
                    always.ambient = Some(ambient);
                }
                _ => self.said.push(invalid(
                    node.span,
                    "the ambient pressure is such as `101.3 kPa`",
                )),
            }
        }
        section.finish("`always`", &mut self.said);
        always
    }

    fn wrap(&mut self, root: &mut Section<'_>) -> Option<Wrap> {
        let mut section = root.take_section("wrap", &mut self.said)?;
        let columns = section.take_whole("columns", 8..=400, &mut self.said);
        let rule = section.take_text("rule", &mut self.said);
        let span = section.span;
        section.finish("`wrap`", &mut self.said);
        match (rule, columns) {
            (Some(("full line", _)), Some(columns)) => {
                Some(Wrap::FullLine(usize::try_from(columns).unwrap_or(24)))
            }
            (Some(("indent", _)), _) => Some(Wrap::Indent),
            _ => {
                self.said.push(
                    invalid(span, "`wrap` does not say how a long line goes on").help(
                        "write `columns = 24` and `rule = \"full line\"`, or `rule = \"indent\"`",
                    ),
                );
                None
            }
        }
    }

    fn table(&mut self, root: &mut Section<'_>) -> Option<Table> {
        let mut section = root.take_section("table", &mut self.said)?;
        let separator = match section.take_text("separator", &mut self.said) {
            Some(("tab", _)) => b'\t',
            Some((text, node)) => match text.as_bytes() {
                [byte @ (b';' | b',' | b'|' | b'\t')] => *byte,
                _ => {
                    let headline = "the separator is `;`, `,`, `|` or `tab`";
                    self.said.push(invalid(node.span, headline));
                    b';'
                }
            },
            None => b';',
        };
        let mut role = |section: &mut Section<'_>, key: &'static str, wanted: &str| match section
            .take_text(key, &mut self.said)
        {
            None => RowRole::None,
            Some((word, _)) if word == wanted => RowRole::Marks,
            Some((_, node)) => {
                self.said.push(invalid(
                    node.span,
                    format!("`{key}` can be `{wanted}` only"),
                ));
                RowRole::None
            }
        };
        let starts = role(&mut section, "start", "first row");
        let ends = role(&mut section, "end", "last row");
        let mut columns = Vec::new();
        if let Some(mut headings) = section.take_section("columns", &mut self.said) {
            for entry in headings.take_rest() {
                let mut alternatives = Vec::new();
                for (text, node) in texts(&entry.node, &mut self.said) {
                    let cell = if text.contains('{') {
                        Form::parse(text, self.fold)
                            .map(Cell::Form)
                            .map_err(|fault| template_fault(node, fault))
                    } else {
                        Field::parse(text)
                            .map(Cell::Field)
                            .map_err(|(headline, proposal)| {
                                with_proposal(invalid(node.span, headline), proposal)
                            })
                    };
                    match cell {
                        Ok(cell) => alternatives.push(cell),
                        Err(said) => self.said.push(said),
                    }
                }
                columns.push((Phrase::new(&entry.key, self.fold), alternatives));
            }
        }
        let span = section.span;
        section.finish("`table`", &mut self.said);
        let table = Table {
            separator,
            columns,
            starts,
            ends,
        };
        let is_timed = table
            .fields()
            .iter()
            .any(|field| matches!(field, Field::Time | Field::Elapsed));
        if !is_timed && self.said.is_empty() {
            self.said.push(
                invalid(span, "the table has no column for the time of a row")
                    .help("give one column the placeholder `time`, `elapsed` or \"{date} {time}\""),
            );
        }
        Some(table)
    }

    fn check_dates(&mut self, lexicon: &Lexicon, table: Option<&Table>, span: Span) {
        let fields = all_fields(&self.forms, table);
        let has = |wanted: Field| fields.contains(&wanted);
        if has(Field::StartDate) && !has(Field::StartTime) && self.said.is_empty() {
            self.said.push(
                invalid(span, "the layout has a {start date} and no {start time}")
                    .help("if the strip prints no time of the start, write {day} for the date and {start time} for the first time"),
            );
        }
        let needs_start = fields.contains(&Field::Elapsed);
        if needs_start && !has(Field::StartTime) && self.said.is_empty() {
            self.said.push(
                invalid(
                    span,
                    "{elapsed} counts from the start, but no line has the {start time}",
                )
                .help("add a form or label with {start time}"),
            );
        }
        let _ = lexicon;
    }

    fn check_words(&mut self, lexicon: &Lexicon, table: Option<&Table>, span: Span) {
        if !self.said.is_empty() {
            return;
        }
        let fields = all_fields(&self.forms, table);
        let mut need = |field: Field, is_empty: bool, section: &str| {
            if is_empty && fields.contains(&field) {
                self.said.push(
                    invalid(
                        span,
                        format!(
                            "{{{}}} is a word of [words.{section}], which has none",
                            field.name()
                        ),
                    )
                    .help(format!(
                        "add a table [words.{section}] with the printer's words"
                    )),
                );
            }
        };
        need(Field::Stage, lexicon.stages.is_empty(), "stage");
        need(Field::OutcomeStage, lexicon.stages.is_empty(), "stage");
        need(Field::Alarm, lexicon.causes.is_empty(), "alarm");
        need(Field::Cause, lexicon.causes.is_empty(), "alarm");
        need(Field::Outcome, lexicon.outcomes.is_empty(), "outcome");
        need(Field::Process, lexicon.processes.is_empty(), "process");
        need(Field::Purpose, lexicon.purposes.is_empty(), "purpose");
    }
}

impl Table {
    /// The fields of its columns.
    pub fn fields(&self) -> Vec<Field> {
        let mut fields = Vec::new();
        for cell in self.columns.iter().flat_map(|(_, cells)| cells) {
            match cell {
                Cell::Field(field) => fields.push(*field),
                Cell::Form(form) => fields.extend(form.fields()),
            }
        }
        fields
    }
}

fn all_fields(forms: &[KnownForm], table: Option<&Table>) -> Vec<Field> {
    let mut fields: Vec<Field> = forms.iter().flat_map(|known| known.form.fields()).collect();
    fields.extend(table.into_iter().flat_map(Table::fields));
    fields
}

fn dispatch(forms: &[KnownForm], lexicon: &Lexicon) -> Vec<Box<[u16]>> {
    let mut by_first_byte: Vec<Vec<u16>> = vec![Vec::new(); 256];
    // The first line of a cycle is looked for first, then the last one, then what says nothing.
    let mut order: Vec<usize> = (0..forms.len()).collect();
    order.sort_by_key(|&number| forms.get(number).map(|known| known.role));
    for number in order {
        let Some(known) = forms.get(number) else {
            continue;
        };
        let Ok(narrow) = u16::try_from(number) else {
            continue;
        };
        let mut put = |byte: u8| {
            if let Some(numbers) = by_first_byte.get_mut(usize::from(byte))
                && numbers.last() != Some(&narrow)
            {
                numbers.push(narrow);
            }
        };
        match known.form.first_bytes(lexicon) {
            None => (0..=255).for_each(&mut put),
            Some(mut bytes) => {
                bytes.sort_unstable();
                bytes.dedup();
                bytes
                    .into_iter()
                    .map(|byte| folded(lexicon.fold, byte))
                    .for_each(&mut put);
            }
        }
    }
    by_first_byte
        .into_iter()
        .map(Vec::into_boxed_slice)
        .collect()
}

/// A stage or cause: letters and hyphens, as the neutral format has them.
fn is_word(text: &str) -> bool {
    is_name(text.as_bytes()) && text.starts_with(|c: char| c.is_ascii_alphabetic())
}

fn columns_of(key: &str) -> Option<Range<usize>> {
    let (first, last) = key.split_once('-')?;
    let first: usize = first.trim().parse().ok()?;
    let last: usize = last.trim().parse().ok()?;
    let start = first.checked_sub(1)?;
    (start < last && last <= 1_000).then_some(start..last)
}

fn template_fault(node: &Node, fault: TemplateFault) -> Diagnostic {
    with_proposal(invalid(node.part(fault.at), fault.headline), fault.proposal)
}

fn with_proposal(diagnostic: Diagnostic, proposal: Option<String>) -> Diagnostic {
    match proposal {
        Some(near) => diagnostic.help(format!("write {near} if that is what is meant")),
        None => diagnostic,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What is wrong with a layout of these lines and tables, a headline each.
    fn said(lines: &str, tables: &str) -> Vec<String> {
        let text = format!(
            "layout = 1\nname = \"own\"\nbegin = \"RUN {{counter}}\"\n{lines}\n{tables}\n[words.stage]\nexpose = \"HEAT\"\n[words.alarm]\nmoisture = \"WET\"\n"
        );
        let text = LayoutText {
            name: "own".to_owned(),
            text,
        };
        match compile(text, &|_| None) {
            Ok(_) => Vec::new(),
            Err((_, said)) => said.into_iter().map(|one| one.headline).collect(),
        }
    }

    #[test]
    fn line_that_can_not_be_meant_is_told_with_why() {
        for (line, headline) in [
            ("{time} {pressure}", None),
            ("{elapsed} {pressure}", None),
            (
                "P {pressure}",
                Some("a line with readings needs the {time} or {elapsed} of its readings"),
            ),
            ("{time} {text}", None),
            (
                "x {text}",
                Some("a line with {text} needs the {time} or {elapsed} at which it happened"),
            ),
            (
                "{time} {elapsed}",
                Some("a line has one time: {time} or {elapsed}"),
            ),
            ("{date} {time} {stage}", None),
            (
                "{date} {stage}",
                Some("{date} is the date of a line's {time}"),
            ),
            (
                "{time} {alarm} {stage}",
                Some("a line with an alarm does not begin a stage"),
            ),
            (
                "{time} {any alarm} IN {any stage}",
                Some("a line with an alarm does not begin a stage"),
            ),
            ("{time} {alarm} {stage} {pressure}", None),
            ("{time} {alarm}", None),
            ("{time} {stage}", None),
            ("NOTHING", Some("a line with no placeholder says nothing")),
            ("{time} {pressure} {pressure}", None),
            ("LIMITS {pressure max} {pressure max}", None),
        ] {
            let told = said(&format!("lines = [\"{line}\", \"AT {{start time}}\"]"), "");
            let expected: Vec<_> = headline.into_iter().map(str::to_owned).collect();
            assert_eq!(told, expected, "{line}");
        }
        assert_eq!(
            said("ignore = [\"LOAD {load}\"]", ""),
            ["a line that is ignored has no placeholders"]
        );
        assert!(said("ignore = [\"LOAD *\"]", "").is_empty());
        // A field has one value on a line.
        assert_eq!(said("lines = [\"LOAD {load} OR {load}\"]", "").len(), 1);
    }

    #[test]
    fn marks_of_numbers_are_two_and_differ() {
        for (numbers, headline) in [
            ("decimal = \"point\"", None),
            ("decimal = \"comma\"", None),
            (
                "decimal = \"dot\"",
                Some("the decimal mark is `point` or `comma`"),
            ),
            ("thousands = \"comma\"", None),
            ("thousands = \"space\"", None),
            ("thousands = \"apostrophe\"", None),
            ("decimal = \"comma\"\nthousands = \"point\"", None),
            (
                "thousands = \"point\"",
                Some("decimals and thousands have the same mark, so that no number could be told"),
            ),
            (
                "decimal = \"comma\"\nthousands = \"comma\"",
                Some("decimals and thousands have the same mark, so that no number could be told"),
            ),
            (
                "thousands = \"dot\"",
                Some("the mark between thousands is `point`, `comma`, `space` or `apostrophe`"),
            ),
        ] {
            let told = said("", &format!("[numbers]\n{numbers}"));
            let expected: Vec<_> = headline.into_iter().map(str::to_owned).collect();
            assert_eq!(told, expected, "{numbers}");
        }
    }

    #[test]
    fn dates_need_what_their_pattern_leaves_open() {
        let names = |n: usize| {
            let names: Vec<String> = (0..n).map(|at| format!("\"name{at}\"")).collect();
            format!("date = \"DD MMM YYYY\"\nmonths = [{}]", names.join(", "))
        };
        let twelve = "months are the name of a language, or a list of twelve names";
        let no_names = "a date has the name of its month, but the names are not given";
        for (dates, expected) in [
            ("date = \"DD.MM.YYYY\"".to_owned(), vec![]),
            (
                "date = \"DD.MM\"".to_owned(),
                vec!["a date has one day, one month and one year, such as DD.MM.YYYY"],
            ),
            ("time = \"HH:MM\"".to_owned(), vec![]),
            (
                "time = \"MM:SS\"".to_owned(),
                vec!["a time of day has hours"],
            ),
            ("length = \"MM:SS\"".to_owned(), vec![]),
            ("date = \"DD MMM YYYY\"".to_owned(), vec![no_names]),
            (
                "date = \"DD MMM YYYY\"\nmonths = \"german\"".to_owned(),
                vec![],
            ),
            (names(12), vec![]),
            (names(11), vec![twelve, no_names]),
            (names(13), vec![twelve, no_names]),
            (
                "date = \"DD.MM.YY\"".to_owned(),
                vec!["years have two digits, but their century is not given"],
            ),
            (
                "date = \"DD.MM.YY\"\n\"first year\" = 1990".to_owned(),
                vec![],
            ),
            (
                "date = [\"DD/MM/YYYY\", \"MM/DD/YYYY\"]".to_owned(),
                vec!["two forms of date fit the same figures and disagree"],
            ),
        ] {
            let mut told = said("", &format!("[dates]\n{dates}"));
            let mut expected = expected;
            told.sort();
            expected.sort_unstable();
            assert_eq!(told, expected, "{dates}");
        }
        assert_eq!(
            said("", "[dates]\nmonths = \"latin\"").len(),
            1,
            "a language that is not known"
        );
    }

    #[test]
    fn layout_has_two_thousand_forms_at_most() {
        let n = |n_lines: usize| {
            let lines: Vec<String> = (0..n_lines)
                .map(|at| format!("\"L{at} {{load}}\""))
                .collect();
            said(&format!("lines = [{}]", lines.join(",\n")), "")
        };
        // The first line of a cycle is one of them.
        assert_eq!(n(1_999), [""; 0]);
        assert_eq!(
            n(2_000),
            ["a layout has at most two thousand forms of lines"]
        );
    }
}
