//! Texts made from the ABNF under grammars/, and a recogniser for the same ABNF.
//!
//! The grammars are read with the crate `abnf`; nothing here knows loadbook's parsers. Choices come from a list of numbers
//! that proptest makes, so that a failure shrinks: where the list ends, the first alternative and the fewest repeats are
//! taken. What the comments of a grammar add in words (other zones, other dates, longer text) is in [`Grammar::widened`].

use abnf::types::{Kind, Node, Repeat, TerminalValues};
use std::collections::{BTreeMap, BTreeSet};

/// How often a part without an upper bound is repeated at most.
const MOST_REPEATS: usize = 3;
/// How often the lines of a whole text are repeated at most.
const MOST_LINES: usize = 40;

/// The core rules of RFC 5234, Appendix B.1, as far as they are used.
const CORE_RULES: &str = "\
ALPHA = %x41-5A / %x61-7A\n\
CR = %x0D\n\
CRLF = CR LF\n\
DIGIT = %x30-39\n\
DQUOTE = %x22\n\
HEXDIG = DIGIT / \"A\" / \"B\" / \"C\" / \"D\" / \"E\" / \"F\"\n\
HTAB = %x09\n\
LF = %x0A\n\
SP = %x20\n\
VCHAR = %x21-7E\n\
WSP = %x20 / %x09\n";

/// What the comments of both grammars allow beyond their rules: lengths and sets of characters that the rules bound only
/// so that what is generated stays readable.
const WIDENED_RULES: &str = "\
SP = 1*( %x20 / %x09 )\n\
EOL = *WSP ( LF / CRLF )\n\
day = 2DIGIT\n\
name = 1*40name-char\n\
name-char = %x21 / %x23-2B / %x2D-39 / %x3C-7E\n\
word = 1*( %x21-2B / %x2D-7E )\n\
zone-name = 1*( ALPHA / DIGIT / \"/\" / \"_\" / \"-\" / \"+\" )\n\
value = value-edge [ *value-inner value-edge ] / quoted\n\
value-edge = %x21 / %x23-2B / %x2D-7E\n\
value-inner = %x20-21 / %x23-2B / %x2D-7E\n\
quoted = %x22 *%x20 ( quoted-mark / %x22 %x22 ) *( quoted-char / %x22 %x22 ) %x22\n\
quoted-mark = %x21 / %x23-7E\n\
quoted-char = %x20-21 / %x23-7E\n\
text = text-edge [ *text-char text-edge ]\n\
number = [ \"-\" ] 1*DIGIT [ \".\" 1*DIGIT ]\n\
date-time = date ( SP / \"T\" ) hour \":\" minute [ \":\" ( minute / \"60\" ) ] [ \".\" 1*DIGIT ] *SP [ offset ]\n\
offset = \"Z\" / ( \"+\" / \"-\" ) hour \":\" minute\n\
element-string = %x22 1*( %x1D / %x20-21 / %x23-7E ) %x22\n";

/// The same for the printout alone.
const WIDENED_PRINTOUT_RULES: &str = "\
measured = \"pressure \" pressure-value / \"temperature \" temperature-value / \"concentration \" number SP \"mg/L\" / \
\"humidity \" number [ SP ] \"%\" / \"power \" number SP ( \"W\" / \"kW\" ) / \
\"conductivity \" number SP ( \"uS/cm\" / \"mS/cm\" )\n\
pulses = \"pulses \" 1*9DIGIT\n\
use = \"use \" 1*9DIGIT \" of \" 1*9DIGIT\n\
total = \"total: \" elapsed-time [ \", readings \" 1*9DIGIT ]\n";

/// The same for the log alone.
const WIDENED_LOG_RULES: &str = "\
incubated = \"incubated \" date-time\n\
result = \"result \" ( \"growth\" / \"no\" ( SP / \"-\" ) \"growth\" )\n\
endpoint = \"endpoint \" ( \"reached\" / \"not\" ( SP / \"-\" ) \"reached\" / \"unreadable\" )\n\
position = \"position \" ( \"external\" / \"internal\" / \"test\" ( SP / \"-\" ) \"pack\" )\n\
read = \"read \" date-time\n\
items = \"items \" 1*9DIGIT\n\
packages = \"packages \" 1*9DIGIT\n\
population = \"population \" 1*DIGIT [ \".\" *DIGIT ] [ \"e\" 1*DIGIT ]\n\
d-value = \"d-value \" number SP ( \"s\" / \"min\" / \"h\" )\n";

/// A grammar: its rules by name.
pub struct Grammar {
    rules: BTreeMap<String, Node>,
    blanks: Blanks,
}

/// How blanks are recognised.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Blanks {
    /// As the rules have them.
    Exact,
    /// As the reader takes them: several count as one, and beside a comma or a colon of the rules they may be left out.
    Free,
}

impl Grammar {
    /// Reads a grammar from its file under grammars/.
    pub fn read(file: &str) -> Self {
        let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("grammars")
            .join(file);
        let text = std::fs::read_to_string(path).unwrap();
        let mut grammar = Grammar {
            rules: BTreeMap::new(),
            blanks: Blanks::Exact,
        };
        grammar.define(CORE_RULES);
        grammar.define(&text);
        grammar
    }

    /// The same with what its comments add in words.
    pub fn widened(mut self) -> Self {
        self.blanks = Blanks::Free;
        self.define(WIDENED_RULES);
        match self.rules.contains_key("printout") {
            true => self.define(WIDENED_PRINTOUT_RULES),
            false => self.define(WIDENED_LOG_RULES),
        }
        self
    }

    /// The same with some rules put in place of its own.
    pub fn with(mut self, rules: &str) -> Self {
        self.define(rules);
        self
    }

    fn define(&mut self, text: &str) {
        let rules = abnf::rulelist(text).unwrap_or_else(|error| panic!("{error}"));
        for rule in rules {
            assert_eq!(rule.kind(), Kind::Basic, "{}", rule.name());
            self.rules
                .insert(rule.name().to_ascii_lowercase(), rule.node().clone());
        }
    }

    fn rule(&self, name: &str) -> &Node {
        self.rules
            .get(&name.to_ascii_lowercase())
            .unwrap_or_else(|| panic!("the grammar has no rule {name}"))
    }

    /// Names that are used and not defined.
    pub fn undefined(&self) -> BTreeSet<String> {
        let mut used = BTreeSet::new();
        for node in self.rules.values() {
            collect_names(node, &mut used);
        }
        used.retain(|name| !self.rules.contains_key(name));
        used
    }

    /// A text of a rule, by the choices.
    pub fn generate(&self, rule: &str, choices: &mut Choices<'_>) -> String {
        let mut text = String::new();
        self.generate_node(self.rule(rule), choices, Depth::Whole, &mut text);
        text
    }

    fn generate_node(
        &self,
        node: &Node,
        choices: &mut Choices<'_>,
        depth: Depth,
        text: &mut String,
    ) {
        match node {
            Node::Alternatives(nodes) => {
                let chosen = &nodes[choices.below(nodes.len())];
                self.generate_node(chosen, choices, Depth::Line, text);
            }
            Node::Concatenation(nodes) => {
                for node in nodes {
                    self.generate_node(node, choices, depth, text);
                }
            }
            Node::Repetition { repeat, node } => {
                let (least, most) = bounds(repeat);
                let most = most.unwrap_or_else(|| {
                    least
                        + match depth {
                            Depth::Whole => MOST_LINES,
                            Depth::Line => MOST_REPEATS,
                        }
                });
                for _ in 0..least + choices.below(most - least + 1) {
                    self.generate_node(node, choices, Depth::Line, text);
                }
            }
            Node::Rulename(name) => {
                self.generate_node(self.rule(name), choices, Depth::Line, text);
            }
            Node::Group(node) => self.generate_node(node, choices, depth, text),
            Node::Optional(node) => {
                if choices.below(2) == 1 {
                    self.generate_node(node, choices, Depth::Line, text);
                }
            }
            Node::String(literal) if literal.is_case_sensitive() => text.push_str(literal.value()),
            Node::String(literal) => match choices.below(12) {
                10 => text.push_str(&literal.value().to_ascii_uppercase()),
                11 => text.push_str(&literal.value().to_ascii_lowercase()),
                _ => text.push_str(literal.value()),
            },
            Node::TerminalValues(TerminalValues::Range(from, to)) => {
                let n_values = (to - from + 1) as usize;
                let value = from + choices.below(n_values) as u32;
                text.push(char::from_u32(value).unwrap());
            }
            Node::TerminalValues(TerminalValues::Concatenation(values)) => {
                text.extend(values.iter().map(|value| char::from_u32(*value).unwrap()));
            }
            Node::Prose(prose) => panic!("prose can't be generated: {prose}"),
        }
    }

    /// Whether a text is one of a rule's.
    pub fn recognizes(&self, rule: &str, text: &str) -> bool {
        self.ends(self.rule(rule), text.as_bytes(), 0)
            .contains(&text.len())
    }

    /// Every place at which a node that begins at `start` can end.
    fn ends(&self, node: &Node, text: &[u8], start: usize) -> BTreeSet<usize> {
        match node {
            Node::Alternatives(nodes) => nodes
                .iter()
                .flat_map(|node| self.ends(node, text, start))
                .collect(),
            Node::Concatenation(nodes) => {
                let mut at = BTreeSet::from([start]);
                for node in nodes {
                    at = at
                        .into_iter()
                        .flat_map(|start| self.ends(node, text, start))
                        .collect();
                }
                at
            }
            Node::Repetition { repeat, node } => {
                let (least, most) = bounds(repeat);
                let mut reached = BTreeSet::from([start]);
                let mut all = BTreeSet::new();
                if least == 0 {
                    all.insert(start);
                }
                // A repeat that takes nothing would go on for ever; more repeats than bytes can't take more.
                for n in 1..=most.unwrap_or(least + text.len() + 1) {
                    reached = reached
                        .into_iter()
                        .flat_map(|start| self.ends(node, text, start))
                        .collect();
                    if reached.is_empty() {
                        break;
                    }
                    if n >= least {
                        all.extend(&reached);
                    }
                }
                all
            }
            Node::Rulename(name) => self.ends(self.rule(name), text, start),
            Node::Group(node) => self.ends(node, text, start),
            Node::Optional(node) => {
                let mut ends = self.ends(node, text, start);
                ends.insert(start);
                ends
            }
            Node::String(literal) => {
                let end = match self.blanks {
                    Blanks::Exact => end_of_literal(literal.value().as_bytes(), text, start),
                    Blanks::Free => end_with_free_blanks(literal.value().as_bytes(), text, start),
                };
                let is_same = |end: &usize| {
                    !literal.is_case_sensitive()
                        || text.get(start..*end) == Some(literal.value().as_bytes())
                };
                end.filter(is_same).into_iter().collect()
            }
            Node::TerminalValues(TerminalValues::Range(from, to)) => text
                .get(start)
                .filter(|byte| (*from..=*to).contains(&u32::from(**byte)))
                .map(|_| start + 1)
                .into_iter()
                .collect(),
            Node::TerminalValues(TerminalValues::Concatenation(values)) => {
                let there = text.get(start..start + values.len());
                let matches = there.is_some_and(|there| {
                    there
                        .iter()
                        .zip(values)
                        .all(|(byte, value)| u32::from(*byte) == *value)
                });
                matches
                    .then_some(start + values.len())
                    .into_iter()
                    .collect()
            }
            Node::Prose(prose) => panic!("prose can't be recognised: {prose}"),
        }
    }
}

/// Whether lines or parts of a line are repeated.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Depth {
    Whole,
    Line,
}

fn end_of_literal(wanted: &[u8], text: &[u8], start: usize) -> Option<usize> {
    let end = start + wanted.len();
    let there = text.get(start..end)?;
    there.eq_ignore_ascii_case(wanted).then_some(end)
}

fn end_with_free_blanks(wanted: &[u8], text: &[u8], start: usize) -> Option<usize> {
    let skip = |mut at: usize| {
        while matches!(text.get(at), Some(b' ' | b'\t')) {
            at += 1;
        }
        at
    };
    let (mut at, mut rest) = (start, wanted);
    while let Some((first, after)) = rest.split_first() {
        match (first, after) {
            (b',' | b':', [b' ', after @ ..]) => {
                at = skip(at);
                at = skip(end_of_literal(&[*first], text, at)?);
                rest = after;
            }
            (b' ', after) => {
                let end = skip(at);
                at = Some(end).filter(|end| *end > at)?;
                rest = after;
            }
            (first, after) => {
                at = end_of_literal(&[*first], text, at)?;
                rest = after;
            }
        }
    }
    Some(at)
}

fn bounds(repeat: &Repeat) -> (usize, Option<usize>) {
    match *repeat {
        Repeat::Specific(n) => (n, Some(n)),
        Repeat::Variable { min, max } => (min.unwrap_or(0), max),
    }
}

fn collect_names(node: &Node, names: &mut BTreeSet<String>) {
    match node {
        Node::Alternatives(nodes) | Node::Concatenation(nodes) => {
            nodes.iter().for_each(|node| collect_names(node, names));
        }
        Node::Repetition { node, .. } | Node::Group(node) | Node::Optional(node) => {
            collect_names(node, names);
        }
        Node::Rulename(name) => {
            names.insert(name.to_ascii_lowercase());
        }
        Node::String(_) | Node::TerminalValues(_) | Node::Prose(_) => {}
    }
}

/// A list of numbers that decides what is generated.
pub struct Choices<'a> {
    numbers: std::slice::Iter<'a, u16>,
}

impl<'a> Choices<'a> {
    /// Choices from a list.
    pub fn new(numbers: &'a [u16]) -> Self {
        Choices {
            numbers: numbers.iter(),
        }
    }

    /// A number below `n`, and 0 when the list is at its end.
    pub fn below(&mut self, n: usize) -> usize {
        match n {
            0 => 0,
            n => usize::from(self.numbers.next().copied().unwrap_or(0)) % n,
        }
    }
}

/// A line's part before its first colon and space, in small letters: its keyword. A reading has none.
pub fn keyword(line: &str) -> Option<String> {
    let (keyword, _) = line.split_once(": ")?;
    let is_word = keyword
        .bytes()
        .all(|byte| byte.is_ascii_alphabetic() || byte == b'-');
    is_word.then(|| keyword.to_ascii_lowercase())
}

/// A line's parts: what stands between commas and spaces outside quotation marks.
pub fn parts(line: &str) -> Vec<&str> {
    let mut parts = Vec::new();
    let (mut start, mut quoted) = (0, false);
    for (at, c) in line.char_indices() {
        match c {
            '"' => quoted = !quoted,
            ',' if !quoted && line[at..].starts_with(", ") => {
                parts.push(&line[start..at]);
                start = at + 2;
            }
            _ => {}
        }
    }
    parts.push(&line[start..]);
    parts
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn grammars_define_every_rule_they_use() {
        for file in ["cycle-printout.abnf", "indicator-log.abnf"] {
            assert_eq!(Grammar::read(file).undefined(), BTreeSet::new(), "{file}");
            assert_eq!(Grammar::read(file).widened().undefined(), BTreeSet::new());
        }
    }

    #[test]
    fn recogniser_tells_lines_of_the_grammar_from_others() {
        // Read by hand from the rules of cycle-printout.abnf.
        let grammar = Grammar::read("cycle-printout.abnf");
        for (rule, text, expected) in [
            (
                "reading",
                "07:42:30 pressure 8124.0 Pa, temperature 45.1 C\n",
                true,
            ),
            ("reading", "07:42:30 PRESSURE 8124.0 pa\r\n", true),
            ("reading", "07:42:30 pressure 8124.0 Pax\n", false),
            ("reading", "07:42:30 pressure 8124,0 Pa\n", false),
            ("reading", "24:42:30 pressure 8124.0 Pa\n", false),
            ("field", "counter: 123456789\n", true),
            ("field", "counter: 1234567890\n", false),
            ("date", "2026-02-29", false),
            (
                "stage",
                "stage: expose, at 07:52:10, limit duration 3 min min\n",
                true,
            ),
            (
                "stage",
                "stage: expose, at 07:52:10, limit duration 3 min\n",
                false,
            ),
        ] {
            assert_eq!(grammar.recognizes(rule, text), expected, "{rule}: {text:?}");
        }
        let wide = grammar.widened();
        for (rule, text, expected) in [
            ("date", "2026-02-29", true),
            ("field", "unit :PL-1 \n", true),
            ("field", "unit: PL -1\n", false),
            (
                "stage",
                "stage:expose ,at  07:52:10,limit duration 3\tmin min\n",
                true,
            ),
            ("stage", "stage: expose, at07:52:10\n", false),
            (
                "reading",
                "07:42:30 humidity 5%, temperature 45.1 C\n",
                true,
            ),
            ("reading", "07:42:30 temperature 45.1C\n", false),
            ("event", "event: 07:42:30,, a\n", true),
        ] {
            assert_eq!(wide.recognizes(rule, text), expected, "{rule}: {text:?}");
        }
    }

    proptest! {
        #![proptest_config(crate::proptest_settings(64))]

        #[test]
        fn what_is_generated_is_recognised(numbers in proptest::collection::vec(any::<u16>(), 0..300)) {
            for (file, rules) in [
                ("cycle-printout.abnf", ["field", "stage", "reading"]),
                ("indicator-log.abnf", ["entry", "heading", "comment"]),
            ] {
                let grammar = Grammar::read(file);
                for rule in rules {
                    let text = grammar.generate(rule, &mut Choices::new(&numbers));
                    prop_assert!(grammar.recognizes(rule, &text), "{}: {:?}", rule, text);
                }
            }
        }
    }
}
