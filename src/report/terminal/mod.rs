//! Reports drawn for a terminal or a printer: plain text in a given width, calm, the same with and without colour.
//!
//! Colour only repeats what words and place say already. Nothing is drawn but letters, dashes and spaces, so that a
//! black-and-white print and a screen reader give the same. Read [`table::draw_table`] first.

pub mod archive;
pub mod caution;
pub mod diagnostic;
pub mod export;
pub mod fact;
pub mod findings;
pub mod layout;
pub mod plot;
pub mod policy;
pub mod prose;
pub mod ranking;
pub mod read;
pub mod reason;
pub mod recall;
pub mod release;
pub mod review;
pub mod selftest;
pub mod show;
pub mod sites;
pub mod table;

use super::place::Place;

/// Whether escape sequences for colour may be written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Color {
    /// They may not.
    Plain,
    /// They may.
    Ansi,
}

/// How much of a long list is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Extent {
    /// The first of it, with the number left out stated.
    Short,
    /// All of it.
    All,
}

impl Extent {
    /// As `--all` asks for it.
    pub fn of_lists(all: bool) -> Self {
        if all { Extent::All } else { Extent::Short }
    }
}

/// What is drawn upon.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Terminal {
    /// The number of columns.
    pub width: usize,
    /// Whether colour may be used.
    pub color: Color,
    /// How much of a long list is drawn.
    pub extent: Extent,
    /// The folder that all files lie in, with its last `/`. It is left out where places are listed, and said once.
    pub folder: String,
}

impl Terminal {
    /// How many rows of a list of `n` are drawn, if a short list has `short`. A rest of one is drawn too, for the line
    /// that would state it takes no less room.
    pub fn n_drawn(&self, n: usize, short: usize) -> usize {
        match self.extent {
            Extent::All => n,
            Extent::Short if n <= short.saturating_add(1) => n,
            Extent::Short => short,
        }
    }

    /// A place as it is listed.
    pub fn place(&self, place: &Place) -> String {
        let place = place.to_string();
        place
            .strip_prefix(&self.folder)
            .unwrap_or(&place)
            .to_owned()
    }

    /// A heading, in bold where colour is allowed. It is in capitals, and so stands out without it too.
    pub fn heading(&self, words: &str) -> String {
        match self.color {
            Color::Plain => words.to_owned(),
            Color::Ansi => format!("\u{1b}[1m{words}\u{1b}[0m"),
        }
    }

    /// A paragraph that begins with a heading; what follows the heading is made inert.
    pub fn lead(&self, heading: &str, text: &str) -> String {
        let said = prose::paragraph("", &format!("{heading}: {text}"), self.width);
        match said.strip_prefix(heading) {
            Some(rest) => format!("{}{rest}", self.heading(heading)),
            // The heading itself takes more than a line.
            None => said,
        }
    }
}
