//! The options that read, review and show share.

use super::layout::LayoutOptions;
use crate::parse::Strictness;
use crate::report::scope::Scope;
use crate::report::terminal::{Color, Extent, Terminal};
use chrono::{NaiveDate, NaiveDateTime, NaiveTime};
use chrono_tz::Tz;
use clap::{Args, ValueEnum};
use std::io::IsTerminal;

/// The widths that a report can be drawn in.
const WIDTHS: std::ops::RangeInclusive<u16> = 60..=200;
/// The width where there is no terminal: what a printer and a mail take.
const WIDTH_WITHOUT_TERMINAL: usize = 80;
/// The widest that is chosen by itself: longer lines are hard to follow.
const WIDEST_BY_ITSELF: usize = 120;

/// Options shared by the commands that read records.
#[derive(Debug, Clone, Args)]
pub struct SharedOptions {
    /// Leave out what began before this day (YYYY-MM-DD)
    #[arg(long, value_name = "DATE", help_heading = "What is shown")]
    pub from: Option<NaiveDate>,
    /// Leave out what began after this day (YYYY-MM-DD)
    #[arg(long, value_name = "DATE", value_parser = parse_last_day, help_heading = "What is shown")]
    pub to: Option<NaiveDate>,
    /// Show this unit only; can be given several times
    #[arg(long, value_name = "UNIT", help_heading = "What is shown")]
    pub unit: Vec<String>,
    /// Show this program only; can be given several times
    #[arg(long, value_name = "PROGRAM", help_heading = "What is shown")]
    pub program: Vec<String>,
    /// List everything, where a report would list the first and state how many more there are
    #[arg(long, help_heading = "What is shown")]
    pub all: bool,
    /// Speak for this moment, and leave out records that are later [default: the newest record]
    #[arg(long, value_name = "DATETIME", value_parser = parse_moment, help_heading = "How records are read")]
    pub as_of: Option<NaiveDateTime>,
    /// Zone of clocks for which the records name none, such as Europe/London
    #[arg(long, value_name = "IANA", value_parser = parse_zone, help_heading = "How records are read")]
    pub zone: Option<Tz>,
    /// Refuse every line that can only be read by inferring something
    #[arg(long, help_heading = "How records are read")]
    pub strict: bool,
    /// By which layout.
    #[command(flatten)]
    pub layout: LayoutOptions,
    /// Text for people, or JSON for machines
    #[arg(long, value_enum, default_value_t = Format::Text, help_heading = "How it is drawn")]
    pub format: Format,
    /// Columns to draw in, 60 to 200 [default: the terminal's, at most 120; 80 without a terminal]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(60..=200), help_heading = "How it is drawn")]
    pub width: Option<u16>,
    /// Whether to use colour; nothing is told by colour alone. `auto` heeds NO_COLOR and is off when piped
    #[arg(long, value_enum, default_value_t = When::Auto, help_heading = "How it is drawn")]
    pub color: When,
}

/// The form of the output.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Format {
    /// Text for people.
    Text,
    /// JSON for machines.
    Json,
}

/// When colour is used.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum When {
    /// On a terminal, unless NO_COLOR is set.
    Auto,
    /// Always.
    Always,
    /// Never.
    Never,
}

impl SharedOptions {
    /// Which part of the history is shown.
    pub fn scope(&self) -> Scope {
        Scope {
            from: self.from,
            to: self.to,
            units: self.unit.clone(),
            programs: self.program.clone(),
        }
    }

    /// How strictly the records are read.
    pub fn strictness(&self) -> Strictness {
        if self.strict {
            Strictness::Strict
        } else {
            Strictness::Infer
        }
    }

    /// What is drawn upon where records are not read: plain, and in full.
    pub fn plain_terminal(width: Option<u16>) -> Terminal {
        Terminal {
            width: width.map_or_else(width_by_itself, usize::from),
            color: Color::Plain,
            folder: String::new(),
            extent: Extent::All,
        }
    }

    /// What the report is drawn upon; `folder` is the one that all files lie in.
    pub fn terminal(&self, folder: &str) -> Terminal {
        let is_terminal = std::io::stdout().is_terminal();
        let no_color = std::env::var_os("NO_COLOR").is_some_and(|value| !value.is_empty())
            || std::env::var_os("TERM").is_some_and(|value| value == "dumb");
        Terminal {
            width: self.width.map_or_else(width_by_itself, usize::from),
            color: match self.color {
                When::Always => Color::Ansi,
                When::Auto if is_terminal && !no_color => Color::Ansi,
                When::Auto | When::Never => Color::Plain,
            },
            folder: folder.to_owned(),
            extent: Extent::of_lists(self.all),
        }
    }
}

/// The terminal's width, within limits; what a printer takes where there is no terminal.
fn width_by_itself() -> usize {
    let seen = if std::io::stdout().is_terminal() {
        terminal_size::terminal_size()
    } else {
        None
    };
    seen.map_or(WIDTH_WITHOUT_TERMINAL, |(width, _)| {
        usize::from(width.0.clamp(*WIDTHS.start(), *WIDTHS.end())).min(WIDEST_BY_ITSELF)
    })
}

/// The last day. `--to csv` is a likely slip for the form of an export.
fn parse_last_day(text: &str) -> Result<NaiveDate, String> {
    text.parse().map_err(|_| match text {
        "csv" | "json" | "parquet" => {
            format!("--to is the last day that is shown; the form of an export is --as {text}")
        }
        _ => "write it as YYYY-MM-DD".to_owned(),
    })
}

/// A date and time, or a date alone, which means its end.
pub(super) fn parse_moment(text: &str) -> Result<NaiveDateTime, String> {
    if let Ok(date) = text.parse::<NaiveDate>() {
        let last = NaiveTime::from_hms_opt(23, 59, 59).unwrap_or_default();
        return Ok(date.and_time(last));
    }
    [
        "%Y-%m-%d %H:%M:%S",
        "%Y-%m-%d %H:%M",
        "%Y-%m-%dT%H:%M:%S",
        "%Y-%m-%dT%H:%M",
    ]
    .iter()
    .find_map(|form| NaiveDateTime::parse_from_str(text, form).ok())
    .ok_or_else(|| "write it as YYYY-MM-DD or \"YYYY-MM-DD HH:MM\"".to_owned())
}

pub(super) fn parse_zone(text: &str) -> Result<Tz, String> {
    let same = chrono_tz::TZ_VARIANTS
        .iter()
        .find(|zone| zone.name().eq_ignore_ascii_case(text));
    same.copied().ok_or_else(|| {
        let nearest = chrono_tz::TZ_VARIANTS
            .iter()
            .map(|zone| (strsim::osa_distance(text, zone.name()), zone.name()))
            .min();
        match nearest {
            Some((distance, name)) if distance <= 4 => {
                format!("no such zone; did you mean {name}?")
            }
            _ => "no such zone; give a name of the IANA database, such as Europe/London".to_owned(),
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_day_alone_means_its_end() {
        assert_eq!(
            parse_moment("2026-03-12").unwrap().to_string(),
            "2026-03-12 23:59:59"
        );
        assert_eq!(
            parse_moment("2026-03-12 07:41").unwrap().to_string(),
            "2026-03-12 07:41:00"
        );
        assert_eq!(
            parse_moment("2026-03-12T07:41:20").unwrap().to_string(),
            "2026-03-12 07:41:20"
        );
        assert!(parse_moment("12.3.2026").is_err());
    }

    #[test]
    fn a_slip_in_a_zone_is_answered_with_the_nearest_name() {
        assert_eq!(parse_zone("europe/london"), Ok(Tz::Europe__London));
        assert!(
            parse_zone("Europe/Lodnon")
                .unwrap_err()
                .contains("Europe/London")
        );
    }
}
