//! A cycle's readings as a small plot: one panel for each quantity, time from left to right, stages marked.
//!
//! It is drawn with letters alone, so that any printer gives it. A panel's heading says the quantity, its unit, and its
//! lowest and highest reading with the time of each; pressures that span a wide range have a logarithmic scale, and the
//! heading says so. Readings are not joined by lines: between two readings nothing is known.

use super::Terminal;
use super::prose::{paragraph, width_of};
use crate::record::cycle::QuantityKind;
use crate::report::inert;
use crate::report::moment::clock_length;
use crate::report::show::{CycleView, LimitRow, ReadingRow, StageRow};

/// Rows of a panel.
const N_ROWS: usize = 6;
const LOWEST_ROW: usize = N_ROWS - 1;
/// Columns left of the axis.
const LABEL: usize = 9;
/// The most columns of a plot: beyond that, readings a minute apart look scattered.
const MAX_COLUMNS: usize = 100;
/// Pressures whose highest is more than this many times the lowest are drawn on a logarithmic scale.
const LOG_FROM: f64 = 30.0;

/// How a value is turned into a height.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Scale {
    Linear,
    Logarithmic,
}

impl Scale {
    fn height(self, value: f64) -> f64 {
        match self {
            Scale::Linear => value,
            Scale::Logarithmic => value.ln(),
        }
    }
}

/// Time on the horizontal axis.
struct Axis {
    first: i64,
    last: i64,
    n_columns: usize,
}

impl Axis {
    fn of(view: &CycleView, n_columns: usize) -> Self {
        let times = view
            .readings
            .iter()
            .map(|reading| reading.at_seconds)
            .chain(view.stages.iter().map(|stage| stage.began_seconds))
            .chain([0, view.length_seconds]);
        let (first, last) = times.fold((0, 0), |(first, last): (i64, i64), t| {
            (first.min(t), last.max(t))
        });
        Axis {
            first,
            last: last.max(first.saturating_add(1)),
            n_columns,
        }
    }

    fn column(&self, seconds: i64) -> usize {
        let since_first = |seconds: i64| seconds.saturating_sub(self.first) as f64;
        let share = since_first(seconds) / since_first(self.last);
        let last_column = self.n_columns.saturating_sub(1);
        // Within the plot whatever the share: the conversion saturates.
        ((share * last_column as f64).round() as usize).min(last_column)
    }
}

/// Draws the readings of a cycle; nothing if it has none.
pub fn draw_plot(view: &CycleView, terminal: &Terminal) -> String {
    let mut series: Vec<(QuantityKind, &str)> = view
        .readings
        .iter()
        .map(|reading| (reading.quantity, reading.unit.as_str()))
        .collect();
    series.sort_unstable();
    series.dedup();
    if series.is_empty() {
        return String::new();
    }
    let n_columns = terminal
        .width
        .saturating_sub(LABEL + 2)
        .clamp(20, MAX_COLUMNS);
    let axis = Axis::of(view, n_columns);
    let mut out = draw_stage_names(view, &axis);
    for (quantity, unit) in series {
        let readings: Vec<&ReadingRow> = view
            .readings
            .iter()
            .filter(|reading| {
                reading.quantity == quantity && reading.unit == unit && reading.value.is_finite()
            })
            .collect();
        out.push_str(&draw_panel(
            view, &axis, quantity, unit, &readings, terminal,
        ));
    }
    let end = clock_length(axis.last);
    let start = clock_length(axis.first);
    let gap = n_columns
        .saturating_sub(start.len())
        .saturating_sub(end.len());
    out.push_str(&format!(
        "{}{start}{}{end}\n",
        " ".repeat(LABEL + 1),
        " ".repeat(gap)
    ));
    out.push_str(&paragraph(
        &" ".repeat(LABEL + 1),
        "Hours since the start. Marks: * a reading, - a limit of the stage, : a stage begins.",
        terminal.width,
    ));
    out
}

/// The names of the stages, each where it begins; only the number where the name has no room.
fn draw_stage_names(view: &CycleView, axis: &Axis) -> String {
    let mut line = String::new();
    let nexts = view.stages.iter().skip(1).map(Some).chain([None]);
    for (stage, next) in view.stages.iter().zip(nexts) {
        let at = axis.column(stage.began_seconds);
        let until = next.map_or(axis.n_columns, |next| axis.column(next.began_seconds));
        let room = until.saturating_sub(at.max(width_of(&line)));
        let number = stage.n.to_string();
        let name = format!("{number} {}", inert::text(&stage.stage));
        let words = [name, number]
            .into_iter()
            .find(|words| width_of(words) < room);
        if let (Some(words), Some(gap)) = (words, at.checked_sub(width_of(&line))) {
            line.push_str(&" ".repeat(gap));
            line.push_str(&words);
        }
    }
    format!("{}{line}\n", " ".repeat(LABEL + 1))
}

fn draw_panel(
    view: &CycleView,
    axis: &Axis,
    quantity: QuantityKind,
    unit: &str,
    readings: &[&ReadingRow],
    terminal: &Terminal,
) -> String {
    let by_value = |a: &&&ReadingRow, b: &&&ReadingRow| a.value.total_cmp(&b.value);
    let (Some(lowest), Some(highest)) = (
        readings.iter().min_by(by_value),
        readings.iter().max_by(by_value),
    ) else {
        return String::new();
    };
    let limits: Vec<(&StageRow, &LimitRow)> = view
        .stages
        .iter()
        .flat_map(|stage| stage.bounds.iter().map(move |limit| (stage, limit)))
        .filter(|(_, limit)| {
            limit.quantity == quantity && limit.unit == unit && limit.value.is_finite()
        })
        .collect();
    let scale = if quantity == QuantityKind::Pressure
        && lowest.value > 0.0
        && highest.value / lowest.value > LOG_FROM
    {
        Scale::Logarithmic
    } else {
        Scale::Linear
    };
    let near = (highest.value - lowest.value).max(highest.value.abs() * 0.15);
    let within = |value: f64| match scale {
        Scale::Logarithmic => {
            value > 0.0 && value >= lowest.value / 10.0 && value <= highest.value * 10.0
        }
        Scale::Linear => value >= lowest.value - near && value <= highest.value + near,
    };
    let (mut bottom, mut top) = (lowest.value, highest.value);
    for (_, limit) in limits.iter().filter(|(_, limit)| within(limit.value)) {
        bottom = bottom.min(limit.value);
        top = top.max(limit.value);
    }
    let row_of = |value: f64| {
        let (low, high) = (scale.height(bottom), scale.height(top));
        let share = if high > low {
            (scale.height(value) - low) / (high - low)
        } else {
            0.5
        };
        let height = (share * LOWEST_ROW as f64).round() as usize;
        LOWEST_ROW.saturating_sub(height)
    };
    let mut cells = vec![vec![' '; axis.n_columns]; N_ROWS];
    let mut put = |row: usize, column: usize, c: char| {
        if let Some(cell) = cells.get_mut(row).and_then(|row| row.get_mut(column)) {
            *cell = c;
        }
    };
    for stage in view
        .stages
        .iter()
        .filter(|stage| stage.began_seconds > axis.first)
    {
        for row in 0..N_ROWS {
            put(row, axis.column(stage.began_seconds), ':');
        }
    }
    for (stage, limit) in limits.iter().filter(|(_, limit)| within(limit.value)) {
        let from = axis.column(stage.began_seconds);
        let until = stage.length_seconds.map_or(axis.n_columns, |length| {
            axis.column(stage.began_seconds.saturating_add(length))
        });
        for column in (from..until).skip(1) {
            put(row_of(limit.value), column, '-');
        }
    }
    for reading in readings {
        put(row_of(reading.value), axis.column(reading.at_seconds), '*');
    }
    let logarithmic = if scale == Scale::Logarithmic {
        ", logarithmic scale"
    } else {
        ""
    };
    let heading = format!(
        "{}, {unit}{logarithmic}: lowest {} at {}, highest {} at {}",
        quantity.word(),
        say_number(lowest.value),
        lowest.at,
        say_number(highest.value),
        highest.at
    );
    let mut out = paragraph(&" ".repeat(LABEL + 1), &heading, terminal.width);
    for (n, row) in cells.iter().enumerate() {
        let label = match n {
            0 if top > bottom => say_number(top),
            _ if n == LOWEST_ROW && top > bottom => say_number(bottom),
            // All values are the same, and lie in the middle.
            _ if n == N_ROWS / 2 && top <= bottom => say_number(top),
            _ => String::new(),
        };
        let row: String = row.iter().collect();
        out.push_str(format!("{label:>LABEL$}|{row}").trim_end());
        out.push('\n');
    }
    out
}

/// A number with as many digits as a plot can show.
fn say_number(value: f64) -> String {
    let written = match value.abs() {
        0.0..10.0 => format!("{value:.2}"),
        10.0..1000.0 => format!("{value:.1}"),
        1000.0..1e7 => format!("{value:.0}"),
        _ => return format!("{value:.2e}"),
    };
    match written.contains('.') {
        true => written
            .trim_end_matches('0')
            .trim_end_matches('.')
            .to_owned(),
        false => written,
    }
}
