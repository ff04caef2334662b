//! Which layout fits a file, by its content alone.
//!
//! The beginning of the file is read by every layout of which a first line is found in it. The one that leaves the
//! fewest lines unread fits; if another leaves hardly more, none is taken. Neutral records are read as such by all, so
//! they always win. Read [`recognise`] first.

use super::compile::{Layout, Role};
use crate::diagnose::FileId;
use crate::diagnose::codes::Code;
use crate::parse::read::{FileReader, Opening, opening};
use crate::parse::{Records, Strictness};
use crate::source::decode::Charset;
use crate::source::lines::{Fitness, read_lines_as};
use std::sync::Arc;

/// How much of a file is looked at.
pub const LOOKED_AT: u64 = 64 * 1024;

/// Which layout fits.
#[derive(Debug, Clone)]
pub enum Recognised {
    /// None is needed, or none fits.
    None,
    /// This one.
    One(Arc<Layout>),
    /// Several fit equally well: their names.
    Ambiguous(Vec<String>),
}

/// A layout held against the beginning of a file.
#[derive(Debug, Clone)]
pub struct Fit {
    /// The layout.
    pub layout: Arc<Layout>,
    /// How many lines it leaves unread.
    pub n_unread: u64,
    /// How many it reads.
    pub n_read: u64,
}

/// Finds the layout that fits a file, of which `head` is the beginning.
pub fn recognise(layouts: &[Arc<Layout>], head: &[u8]) -> Recognised {
    // What stands behind the last line end may be half a line.
    let is_whole = (head.len() as u64) < LOOKED_AT;
    let end = memchr::memrchr(b'\n', head).map_or(head.len(), |at| at.saturating_add(1));
    let head = if is_whole {
        head
    } else {
        head.get(..end).unwrap_or(head)
    };
    if is_plainly_neutral(head) || n_outside(&read_head(head, None)) == 0 {
        return Recognised::None;
    }
    let mut fits: Vec<Fit> = layouts
        .iter()
        .filter(|layout| has_first_line(layout, head))
        .filter_map(|layout| fit(layout, head))
        .collect();
    // Stable, so that of equals the one that was given first stands first.
    fits.sort_by_key(|fit| fit.n_unread);
    let Some(best) = fits.first() else {
        return Recognised::None;
    };
    let allowance = best.n_read.saturating_add(best.n_unread) / 20;
    let rivals: Vec<&Fit> = fits
        .iter()
        .filter(|fit| fit.n_unread <= best.n_unread.saturating_add(allowance))
        .collect();
    // A layout knows more of its printers than the one that it extends.
    let is_surpassed = |fit: &Fit| {
        rivals
            .iter()
            .any(|other| other.layout.extends.contains(&fit.layout.name))
    };
    let left: Vec<&Fit> = rivals
        .iter()
        .copied()
        .filter(|fit| !is_surpassed(fit))
        .collect();
    match left.as_slice() {
        [] => Recognised::None,
        [one] => Recognised::One(Arc::clone(&one.layout)),
        several => {
            let mut names: Vec<String> =
                several.iter().map(|fit| fit.layout.name.clone()).collect();
            names.sort_unstable();
            Recognised::Ambiguous(names)
        }
    }
}

/// How a layout does on the beginning of a file, if it reads a cycle and most of the lines.
pub fn fit(layout: &Arc<Layout>, head: &[u8]) -> Option<Fit> {
    let records = read_head(head, Some(layout));
    let n_unread: u64 = records
        .unread
        .iter()
        .map(|unread| unread.lines.n_lines())
        .sum();
    let of_layout = records
        .cycles
        .iter()
        .filter(|cycle| cycle.lines.n_lines() > 1);
    let n_read: u64 = of_layout.map(|cycle| cycle.lines.n_lines()).sum();
    (n_read > n_unread).then(|| Fit {
        layout: Arc::clone(layout),
        n_unread,
        n_read,
    })
}

fn read_head(head: &[u8], layout: Option<&Arc<Layout>>) -> Records {
    let mut reader = FileReader::by(Strictness::Infer, layout.cloned());
    let charset = layout.map_or(Charset::Detected, |layout| layout.charset);
    // Bytes in memory have no errors.
    let _ = read_lines_as(FileId(0), head, charset, |line| reader.take_line(line));
    reader.finish()
}

/// Whether it is seen without reading records that every line of the beginning of a file stands in a neutral record.
///
/// Nearly every file of a department that uses the neutral formats is told by this, in a small part of the time that
/// reading takes. Where it does not see it, records are read, and tell for certain.
fn is_plainly_neutral(head: &[u8]) -> bool {
    enum Within {
        Nothing,
        Printout,
        Log,
        Csv,
    }
    // A fold without an early end, which compilers turn into vector instructions.
    let is_odd = head.iter().fold(false, |odd, byte| {
        let is_line_end_or_tab = (*byte == b'\n') | (*byte == b'\r') | (*byte == b'\t');
        odd | ((*byte < 0x20) & !is_line_end_or_tab) | (*byte == 0x7F)
    });
    if is_odd {
        return false;
    }
    let mut within = Within::Nothing;
    let mut from = 0;
    for end in memchr::memchr_iter(b'\n', head).chain([head.len()]) {
        let line = head.get(from..end).unwrap_or_default();
        from = end.saturating_add(1);
        let text = line.trim_ascii_end();
        within = match (opening(text), within) {
            (Some(Opening::Printout), _) => Within::Printout,
            (Some(Opening::Log), _) => Within::Log,
            (Some(Opening::Csv(_)), _) => Within::Csv,
            (Some(Opening::Unknown), _) => return false,
            // A cell may hold line ends, and what looks like an opening line.
            (None, Within::Csv) if text.contains(&b'"') => return false,
            (None, Within::Printout) if text.eq_ignore_ascii_case(b"end") => Within::Nothing,
            (None, Within::Nothing) if !text.is_empty() && text.first() != Some(&b'#') => {
                return false;
            }
            (None, within) => within,
        };
    }
    true
}

/// How many lines belong to no neutral record.
fn n_outside(records: &Records) -> u64 {
    records
        .unread
        .iter()
        .filter(|unread| {
            matches!(
                unread.diagnostic.code,
                Code::LineOutsideRecord | Code::FileNotText | Code::PatientData
            )
        })
        .map(|unread| unread.lines.n_lines())
        .sum()
}

/// Whether a line of the file can begin a cycle of the layout.
fn has_first_line(layout: &Layout, head: &[u8]) -> bool {
    let mut captures = Vec::new();
    let mut is_found = false;
    let _ = read_lines_as(FileId(0), head, layout.charset, |line| {
        if is_found || line.fitness != Fitness::Text {
            return;
        }
        is_found = layout.candidates(line.text).any(|(_, known)| {
            known.role == Role::Begin
                && known
                    .form
                    .match_line(line.text, &layout.lexicon, &mut captures)
                    .is_ok()
        }) || (!layout.has_begin
            && layout
                .table
                .as_ref()
                .is_some_and(|table| memchr::memchr(table.separator, line.text).is_some()));
    });
    is_found
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::parse::layout::compile::compile;
    use crate::parse::layout::language::LayoutText;

    fn text(name: &str, begin: &str, more: &str) -> LayoutText {
        LayoutText {
            name: name.to_owned(),
            text: format!(
                "layout = 1\nname = \"{name}\"\n{more}begin = \"{begin} {{counter}}\"\nend = \"DONE\"\n\
                 lines = [\"{{time}} {{pressure kPa}}\", \"{{time}} {{stage}}\"]\n[always]\nprocess = \"steam\"\nunit = \"ST-1\"\n\
                 [words.stage]\nexpose = \"HEAT\"\n"
            ),
        }
    }

    fn layout(name: &str, begin: &str) -> Arc<Layout> {
        let compiled = compile(text(name, begin, ""), &|_| None);
        Arc::new(compiled.unwrap_or_else(|(_, said)| panic!("{said:#?}")))
    }

    const STRIP: &str = "RUN 42\n07:42:00 HEAT\n07:43:00 305\n07:44:00 306\nDONE\n";

    fn found(layouts: &[Arc<Layout>], head: &str) -> String {
        match recognise(layouts, head.as_bytes()) {
            Recognised::None => "none".to_owned(),
            Recognised::One(layout) => layout.name.clone(),
            Recognised::Ambiguous(names) => names.join(" or "),
        }
    }

    #[test]
    fn layout_that_fits_alone_is_taken_and_of_two_alike_none() {
        let (run, other) = (layout("run", "RUN"), layout("other", "CYCLE"));
        assert_eq!(found(&[Arc::clone(&run), other], STRIP), "run");
        let again = layout("again", "RUN");
        assert_eq!(found(&[Arc::clone(&run), again], STRIP), "again or run");
        assert_eq!(found(&[run], "rubbish\nmore rubbish\n"), "none");
        assert_eq!(found(&[], STRIP), "none");
    }

    #[test]
    fn layout_knows_more_than_the_one_that_it_extends() {
        let base = text("base", "RUN", "");
        let known = base.clone();
        let own = LayoutText {
            name: "own".to_owned(),
            text: "layout = 1\nname = \"own\"\nextends = \"base\"\n".to_owned(),
        };
        let find = |name: &str| (name == "base").then(|| known.clone());
        let own = compile(own, &find).unwrap_or_else(|(_, said)| panic!("{said:#?}"));
        let layouts = [layout("base", "RUN"), Arc::new(own)];
        assert_eq!(found(&layouts, STRIP), "own");
    }

    #[test]
    fn layout_fits_that_reads_more_lines_than_it_leaves() {
        let run = layout("run", "RUN");
        let n = |head: &str| fit(&run, head.as_bytes()).map(|fit| (fit.n_read, fit.n_unread));
        assert_eq!(n(STRIP), Some((5, 0)));
        let rubbish = |n: usize| format!("{STRIP}{}", "rubbish\n".repeat(n));
        assert_eq!(n(&rubbish(4)), Some((5, 4)));
        assert_eq!(n(&rubbish(5)), None);
        // A first line alone is no cycle.
        assert_eq!(n("RUN 42\n"), None);
    }

    #[test]
    fn neutral_records_are_told_without_reading_them() {
        for (head, is) in [
            ("loadbook printout 1\nunit: ST-1\nend\n", true),
            ("# a remark\n\nloadbook log 1\nanything: at all\n", true),
            (
                "loadbook printout 1\nunit: ST-1\r\n\tend\r\nEND\n# x\n",
                true,
            ),
            ("", true),
            ("rubbish\n", false),
            // Behind the end of a printout a line belongs to nothing.
            ("loadbook printout 1\nend\nrubbish\n", false),
            ("loadbook log 1\nend\nmore\n", true),
            ("loadbook printout 9\n", false),
            ("loadbook printout 1\n\u{1}\n", false),
            ("loadbook printout 1\n\u{7F}\n", false),
        ] {
            assert_eq!(is_plainly_neutral(head.as_bytes()), is, "{head:?}");
        }
        // Neutral records always win, also over a layout whose first line stands among them.
        let run = layout("run", "RUN");
        let neutral = format!("loadbook log 1\nremark: x\n{STRIP}");
        assert_eq!(found(&[Arc::clone(&run)], &neutral), "none");
        assert_eq!(
            found(&[run], &format!("loadbook printout 1\nend\n{STRIP}")),
            "run"
        );
    }

    #[test]
    fn half_a_line_at_the_end_of_what_is_looked_at_is_left_out() {
        // As many cycles as fill the room, and then the half of a line that no layout reads.
        let run = layout("run", "RUN");
        let n = usize::try_from(LOOKED_AT).unwrap();
        let mut head = STRIP.repeat(n / STRIP.len() + 1);
        head.truncate(n);
        assert_eq!(found(&[Arc::clone(&run)], &head), "run");
        assert_eq!(found(&[run], &head[..n - 1]), "run");
    }
}
