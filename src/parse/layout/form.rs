//! The form of a line: literal text and placeholders, held against a line's text.
//!
//! A form is matched without backtracking: each placeholder that has no form of its own takes as little as it can, and
//! what follows it is looked for once, from left to right. So the time is bounded by the line's length times the form's.
//! Knows nothing of what a value means. Read [`Form::parse`] and [`Form::match_line`] first.

use super::field::{Extent, Field};
use super::lexicon::{FieldValue, Fold, Lexicon, Miss, Phrase, folded};
use crate::diagnose::codes::Code;
use crate::parse::text::is_name;
use crate::parse::token::n_blanks_before;
use std::ops::Range;

/// A piece of a form.
#[derive(Debug, Clone, PartialEq, Eq)]
enum Piece {
    /// Literal text without white space at its ends.
    Literal(Phrase),
    /// White space, at least some.
    Space,
    /// White space or none.
    MaybeSpace,
    /// What stands between a label and its value: white space, colons, equals signs, dots.
    Separator,
    /// A field of its own form.
    Own(Field),
    /// Text that ends where what follows begins: of a field, or of none.
    Elastic(Option<Field>),
}

/// How a line's parts are found.
#[derive(Debug, Clone, PartialEq, Eq)]
enum Shape {
    /// By what stands between them.
    Pieces(Vec<Piece>),
    /// By their columns, counted from 0 in characters.
    Columns(Vec<(Range<usize>, Field)>),
}

/// The form of a line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Form {
    shape: Shape,
    /// How the layout writes it, for people.
    pub shown: String,
}

/// A field's value with its place in the line's text.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Captured {
    /// The field.
    pub field: Field,
    /// Where it begins.
    pub start: usize,
    /// Where it ends.
    pub end: usize,
    /// Its value.
    pub value: FieldValue,
}

/// A line that a form does not fit: how far it was read, and whether literal text had been found before.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Unfit {
    /// Why.
    pub miss: Miss,
    /// How many bytes of literal text were found before it.
    pub n_literal: usize,
}

/// What is wrong with a template, and where in it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TemplateFault {
    /// Where.
    pub at: Range<usize>,
    /// What, in a sentence.
    pub headline: String,
    /// What it may have meant.
    pub proposal: Option<String>,
}

impl Form {
    /// Reads a template: literal text, `{placeholder}`s, `*` for anything. `{*}` is a star, `{{` a brace.
    ///
    /// # Errors
    /// What is wrong with it, and where.
    pub fn parse(template: &str, fold: &Fold) -> Result<Form, TemplateFault> {
        let fault = |at: Range<usize>, headline: &str| TemplateFault {
            at,
            headline: headline.to_owned(),
            proposal: None,
        };
        let mut pieces: Vec<Piece> = vec![Piece::MaybeSpace];
        let mut literal = String::new();
        let mut chars = template.char_indices().peekable();
        while let Some((at, c)) = chars.next() {
            match c {
                '{' if matches!(chars.peek(), Some((_, '{'))) => {
                    chars.next();
                    literal.push('{');
                }
                '{' => {
                    let rest = template.get(at.saturating_add(1)..).unwrap_or_default();
                    let Some(n) = rest.find('}') else {
                        return Err(fault(
                            at..template.len(),
                            "a brace is opened and never closed",
                        ));
                    };
                    let inner = rest.get(..n).unwrap_or_default();
                    let end = at.saturating_add(n).saturating_add(2);
                    while chars.next_if(|(next, _)| *next < end).is_some() {}
                    if inner.trim() == "*" {
                        literal.push('*');
                        continue;
                    }
                    push_literal(&mut pieces, &mut literal, fold);
                    let field =
                        Field::parse(inner).map_err(|(headline, proposal)| TemplateFault {
                            at: at..end,
                            headline,
                            proposal,
                        })?;
                    let piece = match field.extent() {
                        Extent::Own => Piece::Own(field),
                        Extent::Name | Extent::Text => Piece::Elastic(Some(field)),
                    };
                    if matches!(piece, Piece::Elastic(_)) && ends_elastic(&pieces) {
                        return Err(fault(
                            at..end,
                            "it can't be told where one text ends and the next begins: put a word or a mark between them",
                        ));
                    }
                    pieces.push(piece);
                }
                '*' => {
                    push_literal(&mut pieces, &mut literal, fold);
                    if ends_elastic(&pieces) {
                        return Err(fault(
                            at..at.saturating_add(1),
                            "`*` after another text that may be of any length has no meaning of its own",
                        ));
                    }
                    pieces.push(Piece::Elastic(None));
                }
                _ if c.is_whitespace() => {
                    push_literal(&mut pieces, &mut literal, fold);
                    push_space(&mut pieces);
                }
                ':' | '=' => {
                    push_literal(&mut pieces, &mut literal, fold);
                    // Printers put spaces before and after a colon, or none.
                    if matches!(pieces.last(), Some(Piece::Space)) {
                        pieces.pop();
                    }
                    if !matches!(pieces.last(), Some(Piece::MaybeSpace)) {
                        pieces.push(Piece::MaybeSpace);
                    }
                    pieces.push(Piece::Literal(Phrase::new(&c.to_string(), fold)));
                    pieces.push(Piece::MaybeSpace);
                }
                _ => literal.push(c),
            }
        }
        push_literal(&mut pieces, &mut literal, fold);
        while matches!(pieces.last(), Some(Piece::Space | Piece::MaybeSpace)) {
            pieces.pop();
        }
        if pieces
            .iter()
            .all(|piece| matches!(piece, Piece::MaybeSpace | Piece::Elastic(None)))
        {
            return Err(fault(
                0..template.len(),
                "a line that may hold anything is no line to know",
            ));
        }
        of_outcome(&mut pieces);
        let form = Form {
            shape: Shape::Pieces(pieces),
            shown: template.to_owned(),
        };
        form.check_twice(0..template.len())?;
        Ok(form)
    }

    /// The form of a line that begins with a label and has one field after it.
    ///
    /// # Errors
    /// The label is empty.
    pub fn labelled(label: &str, field: Field, fold: &Fold) -> Result<Form, TemplateFault> {
        let bare = label.trim().trim_end_matches([':', '=', '.']).trim_end();
        if bare.is_empty() {
            return Err(TemplateFault {
                at: 0..label.len(),
                headline: "a label is a word or more".to_owned(),
                proposal: None,
            });
        }
        let value = match field.extent() {
            Extent::Own => Piece::Own(field),
            Extent::Name | Extent::Text => Piece::Elastic(Some(field)),
        };
        Ok(Form {
            shape: Shape::Pieces(vec![
                Piece::MaybeSpace,
                Piece::Literal(Phrase::new(bare, fold)),
                Piece::Separator,
                value,
            ]),
            shown: format!("{bare}: {{{}}}", field.name()),
        })
    }

    /// The form of a line with fields in fixed columns.
    pub fn in_columns(columns: Vec<(Range<usize>, Field)>) -> Form {
        let shown = columns
            .iter()
            .map(|(range, field)| {
                let first = range.start.saturating_add(1);
                format!("{first}-{} {}", range.end, field.name())
            })
            .collect::<Vec<_>>();
        Form {
            shape: Shape::Columns(columns),
            shown: shown.join(", "),
        }
    }

    fn check_twice(&self, at: Range<usize>) -> Result<(), TemplateFault> {
        let fields: Vec<Field> = self.fields().collect();
        for (n, field) in fields.iter().enumerate() {
            // A line may hold several readings of one quantity, and both limits.
            let may_repeat = matches!(field, Field::Reading(..) | Field::Limit(..));
            if !may_repeat && fields.iter().take(n).any(|other| other == field) {
                return Err(TemplateFault {
                    at,
                    headline: format!("{{{}}} stands twice", field.name()),
                    proposal: None,
                });
            }
        }
        Ok(())
    }

    /// The fields it has.
    pub fn fields(&self) -> impl Iterator<Item = Field> {
        let fields: Vec<Field> = match &self.shape {
            Shape::Pieces(pieces) => pieces
                .iter()
                .filter_map(|piece| match piece {
                    Piece::Own(field) | Piece::Elastic(Some(field)) => Some(*field),
                    _ => None,
                })
                .collect(),
            Shape::Columns(columns) => columns.iter().map(|(_, field)| *field).collect(),
        };
        fields.into_iter()
    }

    /// Whether it has literal text.
    pub fn has_literal(&self) -> bool {
        match &self.shape {
            Shape::Pieces(pieces) => pieces.iter().any(|p| matches!(p, Piece::Literal(_))),
            Shape::Columns(_) => false,
        }
    }

    /// The folded bytes that a line of this form may begin with after white space. `None` for any.
    pub fn first_bytes(&self, lexicon: &Lexicon) -> Option<Vec<u8>> {
        let Shape::Pieces(pieces) = &self.shape else {
            return None;
        };
        for piece in pieces {
            match piece {
                Piece::Space | Piece::MaybeSpace => {}
                Piece::Literal(phrase) => return phrase.bytes().first().map(|byte| vec![*byte]),
                Piece::Own(field) => {
                    let bytes = lexicon.first_bytes(*field)?;
                    return Some(bytes.iter().map(|&b| folded(lexicon.fold, b)).collect());
                }
                Piece::Separator | Piece::Elastic(_) => return None,
            }
        }
        None
    }

    /// Holds the form against a line's text. The values go to `into`, which is emptied first.
    ///
    /// # Errors
    /// Where the text stopped fitting, and why.
    #[inline]
    pub fn match_line(
        &self,
        text: &[u8],
        lexicon: &Lexicon,
        into: &mut Vec<Captured>,
    ) -> Result<(), Unfit> {
        into.clear();
        match &self.shape {
            Shape::Pieces(pieces) => Matching {
                text,
                lexicon,
                n_literal: 0,
            }
            .match_pieces(pieces, into),
            Shape::Columns(columns) => match_columns(columns, text, lexicon, into),
        }
    }
}

/// On a line with an outcome or its cause, the stage is that in which it came about.
fn of_outcome(pieces: &mut [Piece]) {
    let is_of_outcome = pieces.iter().any(|piece| {
        matches!(
            piece,
            Piece::Own(Field::Outcome | Field::Cause) | Piece::Elastic(Some(Field::AnyCause))
        )
    });
    if !is_of_outcome {
        return;
    }
    for piece in pieces {
        match piece {
            Piece::Own(field @ Field::Stage) => *field = Field::OutcomeStage,
            Piece::Elastic(Some(field @ Field::AnyStage)) => *field = Field::AnyOutcomeStage,
            _ => {}
        }
    }
}

fn ends_elastic(pieces: &[Piece]) -> bool {
    pieces
        .iter()
        .rev()
        .find(|piece| !matches!(piece, Piece::Space | Piece::MaybeSpace))
        .is_some_and(|piece| matches!(piece, Piece::Elastic(_)))
}

fn push_space(pieces: &mut Vec<Piece>) {
    if !matches!(pieces.last(), Some(Piece::Space | Piece::MaybeSpace)) {
        pieces.push(Piece::Space);
    }
}

fn push_literal(pieces: &mut Vec<Piece>, literal: &mut String, fold: &Fold) {
    if !literal.is_empty() {
        pieces.push(Piece::Literal(Phrase::new(literal, fold)));
        literal.clear();
    }
}

struct Matching<'a> {
    text: &'a [u8],
    lexicon: &'a Lexicon,
    n_literal: usize,
}

impl Matching<'_> {
    #[inline]
    fn match_pieces(mut self, pieces: &[Piece], into: &mut Vec<Captured>) -> Result<(), Unfit> {
        let mut at = 0;
        let mut pieces = pieces;
        loop {
            // A run of pieces whose ends are known, then a text whose end is not, or the end of the line.
            let n = pieces
                .iter()
                .position(|piece| matches!(piece, Piece::Elastic(_)))
                .unwrap_or(pieces.len());
            let (run, rest) = pieces.split_at(n);
            at = self.match_run(run, at, into)?;
            let Some((Piece::Elastic(field), rest)) = rest.split_first() else {
                let end = self.behind_white(at);
                return if end == self.text.len() {
                    Ok(())
                } else {
                    Err(self.unfit(end, Code::LineUnknown, "the end of the line"))
                };
            };
            let begin = self.behind_white(at);
            let next = rest
                .iter()
                .position(|piece| matches!(piece, Piece::Elastic(_)))
                .unwrap_or(rest.len());
            let (following, after) = rest.split_at(next);
            let only_space = following
                .iter()
                .all(|piece| matches!(piece, Piece::Space | Piece::MaybeSpace));
            if only_space && after.is_empty() {
                self.capture(*field, begin, self.text.len(), into)?;
                return Ok(());
            }
            let (end, found) = self.find_run(following, after.is_empty(), *field, begin, into)?;
            let _ = end;
            if after.is_empty() {
                return Ok(());
            }
            at = found;
            pieces = after;
        }
    }

    fn behind_white(&self, at: usize) -> usize {
        let rest = self.text.iter().skip(at);
        let n = rest.take_while(|byte| matches!(byte, b' ' | b'\t')).count();
        at.saturating_add(n)
    }

    #[cold]
    fn unfit(&self, at: usize, code: Code, wanted: &'static str) -> Unfit {
        Unfit {
            miss: Miss { at, code, wanted },
            n_literal: self.n_literal,
        }
    }

    /// Looks for where a run of pieces begins, from the left, and keeps the text before it. Gives where that text ends
    /// and where the run ends.
    fn find_run(
        &mut self,
        run: &[Piece],
        to_end: bool,
        field: Option<Field>,
        begin: usize,
        into: &mut Vec<Captured>,
    ) -> Result<(usize, usize), Unfit> {
        let n_before = into.len();
        let is_name = field.is_some_and(|field| field.extent() == Extent::Name);
        let mut best: Option<Unfit> = None;
        let literal = match run.first() {
            Some(Piece::Literal(phrase)) => phrase.bytes().first().copied(),
            _ => None,
        };
        let first = begin.saturating_add(usize::from(field.is_some()));
        for from in first..=self.text.len() {
            // A name has no white space.
            if is_name
                && self
                    .text
                    .get(begin..from)
                    .is_some_and(|name| name.iter().any(|byte| matches!(byte, b' ' | b'\t')))
            {
                break;
            }
            if let Some(wanted) = literal
                && self
                    .text
                    .get(from)
                    .is_none_or(|&byte| folded(self.lexicon.fold, byte) != wanted)
            {
                continue;
            }
            let n_literal = self.n_literal;
            match self.match_run(run, from, into) {
                Ok(end) if !to_end || self.behind_white(end) == self.text.len() => {
                    let at = into.len();
                    self.capture(field, begin, from, into)?;
                    // In the order of the line.
                    if into.len() > at {
                        into.get_mut(n_before..).unwrap_or_default().rotate_right(1);
                    }
                    return Ok((from, end));
                }
                Ok(_) => {}
                Err(unfit) => {
                    if best.is_none_or(|known| unfit.miss.at >= known.miss.at) {
                        best = Some(unfit);
                    }
                }
            }
            self.n_literal = n_literal;
            into.truncate(n_before);
        }
        Err(best.unwrap_or_else(|| self.unfit(begin, Code::LineUnknown, "another form of line")))
    }

    fn capture(
        &self,
        field: Option<Field>,
        start: usize,
        end: usize,
        into: &mut Vec<Captured>,
    ) -> Result<(), Unfit> {
        let Some(field) = field else { return Ok(()) };
        let text = self.text.get(start..end).unwrap_or_default();
        let kept = text.trim_ascii_end().len();
        if kept == 0 {
            return Err(self.unfit(start, Code::ValueMissing, "a value"));
        }
        let name = text.get(..kept).unwrap_or_default();
        if field.extent() == Extent::Name && !is_name(name) {
            return Err(self.unfit(
                start,
                Code::ValueInvalid,
                "a name of at most forty characters without spaces or commas",
            ));
        }
        into.push(Captured {
            field,
            start,
            end: start.saturating_add(kept),
            value: FieldValue::Text,
        });
        Ok(())
    }

    #[expect(
        clippy::arithmetic_side_effects,
        reason = "what is added was matched behind the place in the text, which is held in memory"
    )]
    #[inline]
    fn match_run(
        &mut self,
        run: &[Piece],
        from: usize,
        into: &mut Vec<Captured>,
    ) -> Result<usize, Unfit> {
        let mut at = from;
        for piece in run {
            match piece {
                Piece::Space => {
                    let end = self.behind_white(at);
                    if end == at && at != 0 {
                        return Err(self.unfit(at, Code::LineUnknown, "a space"));
                    }
                    at = end;
                }
                Piece::MaybeSpace => at = self.behind_white(at),
                Piece::Literal(phrase) => {
                    let rest = self.text.get(at..).unwrap_or_default();
                    match phrase.match_front(rest, self.lexicon.fold) {
                        Some(n) => {
                            self.n_literal += n;
                            at += n;
                        }
                        None => {
                            return Err(self.unfit(at, Code::LineUnknown, "another form of line"));
                        }
                    }
                }
                Piece::Separator => {
                    let n = self
                        .text
                        .iter()
                        .skip(at)
                        .take_while(|byte| matches!(byte, b' ' | b'\t' | b':' | b'=' | b'.'))
                        .count();
                    let touches = at
                        .checked_sub(1)
                        .and_then(|before| self.text.get(before))
                        .is_some_and(u8::is_ascii_alphanumeric);
                    if n == 0 && touches {
                        return Err(self.unfit(at, Code::LineUnknown, "a label of its own"));
                    }
                    at += n;
                }
                Piece::Own(field) => {
                    let rest = self.text.get(at..).unwrap_or_default();
                    match self.lexicon.read(*field, rest) {
                        Ok((n, value)) => {
                            into.push(Captured {
                                field: *field,
                                start: at,
                                end: at + n,
                                value,
                            });
                            at += n;
                        }
                        Err(miss) => {
                            return Err(Unfit {
                                miss: Miss {
                                    at: at + miss.at,
                                    ..miss
                                },
                                n_literal: self.n_literal,
                            });
                        }
                    }
                }
                // A run ends before a text of any length.
                Piece::Elastic(_) => {}
            }
        }
        Ok(at)
    }
}

/// The byte range of a range of characters.
fn bytes_of_columns(text: &[u8], columns: &Range<usize>) -> Range<usize> {
    if text.is_ascii() {
        return columns.start.min(text.len())..columns.end.min(text.len());
    }
    let is_first = |byte: &u8| *byte & 0xC0 != 0x80;
    let mut starts = text
        .iter()
        .enumerate()
        .filter(|(_, byte)| is_first(byte))
        .map(|(at, _)| at);
    let start = starts.nth(columns.start).unwrap_or(text.len());
    let n = columns.end.saturating_sub(columns.start);
    let end = match n.checked_sub(1) {
        Some(n) => starts.nth(n).unwrap_or(text.len()),
        None => start,
    };
    start..end
}

fn match_columns(
    columns: &[(Range<usize>, Field)],
    text: &[u8],
    lexicon: &Lexicon,
    into: &mut Vec<Captured>,
) -> Result<(), Unfit> {
    let mut end_of_last = 0;
    for (range, field) in columns {
        let bytes = bytes_of_columns(text, range);
        let between = text.get(end_of_last..bytes.start).unwrap_or_default();
        let is_time = matches!(field, Field::Time | Field::Elapsed);
        let unfit = |at: usize, code, wanted| Unfit {
            miss: Miss { at, code, wanted },
            n_literal: 0,
        };
        if !between.trim_ascii().is_empty() {
            return Err(unfit(
                end_of_last,
                Code::LineUnknown,
                "nothing between the columns",
            ));
        }
        end_of_last = bytes.end;
        let cell = text.get(bytes.clone()).unwrap_or_default();
        let trimmed = cell.trim_ascii();
        let start = bytes.start.saturating_add(n_blanks_before(cell));
        if lexicon.is_missing(trimmed) {
            if is_time {
                return Err(unfit(start, Code::ValueMissing, "a time"));
            }
            continue;
        }
        let value = lexicon.read_whole(*field, trimmed).map_err(|miss| Unfit {
            miss: Miss {
                at: start.saturating_add(miss.at),
                ..miss
            },
            n_literal: 0,
        })?;
        into.push(Captured {
            field: *field,
            start,
            end: start.saturating_add(trimmed.len()),
            value,
        });
    }
    let rest = text.get(end_of_last..).unwrap_or_default();
    if into.is_empty() || !rest.trim_ascii().is_empty() {
        return Err(Unfit {
            miss: Miss {
                at: end_of_last.min(text.len()),
                code: Code::LineUnknown,
                wanted: "the end of the line",
            },
            n_literal: 0,
        });
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::parse::layout::compile::compile;
    use crate::parse::layout::language::LayoutText;

    fn lexicon() -> Lexicon {
        let text = LayoutText {
            name: "x".to_owned(),
            text: "layout = 1\nname = \"x\"\nbegin = \"B\"\n".to_owned(),
        };
        compile(text, &|_| None).unwrap().lexicon
    }

    /// The texts of the fields that a template finds in a line.
    fn found<'t>(template: &str, text: &'t str) -> Option<Vec<&'t str>> {
        let lexicon = lexicon();
        let form = Form::parse(template, lexicon.fold).unwrap();
        let mut captures = Vec::new();
        form.match_line(text.as_bytes(), &lexicon, &mut captures)
            .ok()?;
        let texts = captures.iter().map(|c| &text[c.start..c.end]);
        Some(texts.collect())
    }

    #[test]
    fn white_space_case_and_colons_are_free() {
        for line in ["RUN NO: 12", "  run   no :12", "Run\tno:  12  "] {
            assert_eq!(found("Run no: {counter}", line), Some(vec!["12"]), "{line}");
        }
        assert_eq!(found("Run no: {counter}", "RUNNO: 12"), None);
        assert_eq!(found("Run no: {counter}", "RUN NO: 12 x"), None);
        assert_eq!(found("PRÜFUNG {counter}", "prüfung 3"), Some(vec!["3"]));
    }

    #[test]
    fn a_text_takes_as_little_as_it_can_before_what_follows() {
        let both = "Program {program} Load {load}";
        assert_eq!(
            found(both, "PROGRAM long wrapped  LOAD A-1"),
            Some(vec!["long wrapped", "A-1"])
        );
        assert_eq!(
            found(both, "PROGRAM load LOAD A-1"),
            Some(vec!["load", "A-1"])
        );
        assert_eq!(found(both, "PROGRAM LOAD A-1"), None);
        assert_eq!(found("{load} by {operator}", "A 1 by HB"), None);
        assert_eq!(found("({operator})", "(HB)"), Some(vec!["HB"]));
        assert_eq!(
            found("* no *{counter}", "sheet 3, no ....... 12"),
            Some(vec!["12"])
        );
        assert_eq!(
            found("{time} {*} {text}", "07:41:20 * door open"),
            Some(vec!["07:41:20", "door open"])
        );
        assert_eq!(found("{{{counter}}", "{12}"), Some(vec!["12"]));
    }

    #[test]
    fn values_need_no_space_before_what_follows_them() {
        let form = "{time} {pressure kPa}kPa/{temperature C}C";
        assert_eq!(
            found(form, "07:41:20 12.4kPa/45.1C"),
            Some(vec!["07:41:20", "12.4", "45.1"])
        );
        assert_eq!(
            found("{time} {pressure}", "07:41:20 12.4mbar"),
            Some(vec!["07:41:20", "12.4mbar"])
        );
        assert_eq!(found("{time} {pressure}", "07:41:20 12.4 C"), None);
    }

    #[test]
    fn columns_are_counted_in_characters() {
        let lexicon = lexicon();
        let pressure = Field::parse("pressure mbar").unwrap();
        let form = Form::in_columns(vec![(0..8, Field::Time), (10..16, pressure)]);
        let mut captures = Vec::new();
        let mut fits = |text: &str| {
            let fits = form
                .match_line(text.as_bytes(), &lexicon, &mut captures)
                .is_ok();
            (fits, captures.len())
        };
        assert_eq!(fits("07:41:20   51.2"), (true, 2));
        assert_eq!(fits("07:41:20"), (true, 1));
        assert!(!fits("07:41:20 x 51.2").0);
        assert!(!fits("             51.2").0);
        assert!(!fits("07:41:20   51.2   more").0);
        assert!(!fits("07:41:20   ü1.2").0);
    }

    #[test]
    fn time_is_bounded_on_lines_made_to_be_slow() {
        // Each form looks for what follows a text once; with backtracking this would not end.
        let template = "* a * a * a * a * a * a * a * b";
        let text = "a ".repeat(490);
        assert_eq!(found(template, &text), None);
    }

    #[test]
    fn form_tells_its_literals_and_with_which_bytes_a_line_of_it_may_begin() {
        let lexicon = lexicon();
        let form = |template: &str| Form::parse(template, lexicon.fold).unwrap();
        let first = |template: &str| {
            let bytes = form(template).first_bytes(&lexicon);
            bytes.map(|bytes| String::from_utf8(bytes).unwrap())
        };
        for (template, expected) in [
            ("Run no: {counter}", Some("r")),
            ("  Run {counter}", Some("r")),
            ("{counter} RUN", Some("0123456789")),
            // A name may begin with anything, and so may whatever a star stands for.
            ("{load} RUN", None),
            ("* RUN {counter}", None),
        ] {
            assert_eq!(first(template).as_deref(), expected, "{template}");
        }
        assert!(form("RUN {counter}").has_literal());
        assert!(!form("{counter} {load}").has_literal());
        let columns = Form::in_columns(vec![(0..8, Field::Counter)]);
        assert!(!columns.has_literal());
        assert_eq!(columns.first_bytes(&lexicon), None);
        assert_eq!(columns.shown, "1-8 counter");
    }

    #[test]
    fn field_stands_once_in_a_form_but_for_readings_and_limits() {
        let fold = lexicon().fold;
        for (template, is_right) in [
            ("LOAD {load}", true),
            ("LOAD {load} OR {load}", false),
            ("{time} {pressure} {pressure}", true),
            ("{pressure max} {pressure max}", true),
            ("{pressure min} {pressure max}", true),
            ("{time} {load} {time}", false),
        ] {
            assert_eq!(Form::parse(template, fold).is_ok(), is_right, "{template}");
        }
    }

    #[test]
    fn stage_beside_an_outcome_or_its_cause_is_that_in_which_it_came_about() {
        let fold = lexicon().fold;
        let fields = |template: &str| -> Vec<Field> {
            Form::parse(template, fold).unwrap().fields().collect()
        };
        assert_eq!(
            fields("OUT {outcome} IN {stage}"),
            [Field::Outcome, Field::OutcomeStage]
        );
        assert_eq!(
            fields("OUT {cause} IN {any stage}"),
            [Field::Cause, Field::AnyOutcomeStage]
        );
        assert_eq!(
            fields("IN {stage} BY {any cause}"),
            [Field::OutcomeStage, Field::AnyCause]
        );
        assert_eq!(fields("{time} {stage}"), [Field::Time, Field::Stage]);
        assert_eq!(fields("{time} {any stage}"), [Field::Time, Field::AnyStage]);
    }
}
