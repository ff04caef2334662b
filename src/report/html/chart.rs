//! Charts as inline SVG: points and lines over two axes, and bars.
//!
//! A small module of our own because the plotting crates looked at draw with fixed colours and fonts and place text as
//! if for a window: what is needed is a drawing that takes its colours from the page (light, dark, paper), that tells
//! nothing by colour alone, and that a screen reader can name. A chart knows numbers and words, not sterilizers; words
//! come in the reader's language. Read [`Chart`] first, then [`Bars`].

use maud::{Markup, html};

/// Room for the labels of the vertical axis, of the horizontal axis, above the plot, and at its right, in units of the
/// drawing.
const LEFT: f64 = 34.0;
const BOTTOM: f64 = 30.0;
const TOP: f64 = 16.0;
/// A character is taken to be so wide, in units of the drawing; text is 10 units high.
const CHARACTER: f64 = 5.4;
/// Lines of labels stand at least so far apart.
const LINE_STEP: f64 = 11.0;

/// How an axis is divided.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Division {
    /// In equal steps.
    Linear,
    /// In powers of ten.
    Logarithmic,
}

/// An axis.
#[derive(Debug, Clone, PartialEq)]
pub struct Axis {
    /// What it measures, with the unit.
    pub label: String,
    /// Its first value.
    pub from: f64,
    /// Its last value.
    pub to: f64,
    /// Values with a mark, and what stands at each.
    pub ticks: Vec<(f64, String)>,
    /// How it is divided.
    pub division: Division,
}

impl Axis {
    /// An axis that holds all of the values, with round ticks that `say` writes. Values that are no number are passed
    /// over.
    pub fn around(
        label: impl Into<String>,
        values: impl IntoIterator<Item = f64>,
        division: Division,
        say: impl Fn(f64) -> String,
    ) -> Self {
        let usable =
            |value: &f64| value.is_finite() && (division == Division::Linear || *value > 0.0);
        let (mut low, mut high) = values
            .into_iter()
            .filter(usable)
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| {
                (low.min(value), high.max(value))
            });
        if low > high {
            (low, high) = (1.0, 2.0);
        }
        let marks: Vec<f64> = match division {
            Division::Linear => {
                if high - low <= f64::EPSILON * high.abs().max(1.0) {
                    low -= 0.5;
                    high += 0.5;
                }
                let step = round_step((high - low) / 4.0);
                let first = (low / step).floor();
                let n = ((high / step).ceil() - first).clamp(1.0, 12.0);
                // At most a dozen.
                (0..=n as u32)
                    .map(|i| (first + f64::from(i)) * step)
                    .collect()
            }
            Division::Logarithmic => {
                let first = low.log10().floor();
                let n = (high.log10().floor() - first).clamp(1.0, 12.0);
                // At most a dozen.
                (0..=n as u32)
                    .map(|i| 10_f64.powf(first + f64::from(i)))
                    .collect()
            }
        };
        let last = marks.last().copied().unwrap_or(high);
        Axis {
            label: label.into(),
            from: marks.first().copied().unwrap_or(low),
            // A few percent more, so that the highest value does not lie on the edge.
            to: match division {
                Division::Linear => last,
                Division::Logarithmic => last.max(high * 1.3),
            },
            ticks: marks.into_iter().map(|mark| (mark, say(mark))).collect(),
            division,
        }
    }

    /// Where a value stands, from 0 to 1; outside the axis at its end.
    fn share(&self, value: f64) -> f64 {
        let along = match self.division {
            Division::Linear => (value - self.from) / (self.to - self.from),
            Division::Logarithmic => {
                (value.max(f64::MIN_POSITIVE) / self.from).log10() / (self.to / self.from).log10()
            }
        };
        if along.is_finite() {
            along.clamp(0.0, 1.0)
        } else {
            0.0
        }
    }
}

/// The next of 1, 2, 5 times a power of ten.
fn round_step(rough: f64) -> f64 {
    let power = 10_f64.powf(rough.max(f64::MIN_POSITIVE).log10().floor());
    let step = [1.0, 2.0, 5.0]
        .into_iter()
        .map(|times| times * power)
        .find(|step| *step >= rough * 0.999);
    step.unwrap_or(10.0 * power)
}

/// How a line is drawn; each can be told apart without colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stroke {
    /// Solid: what was measured.
    Solid,
    /// Thin and solid: a middle value.
    Thin,
    /// Dashed: a limit.
    Dashed,
    /// Dotted: what is expected, or a division.
    Dotted,
}

impl Stroke {
    fn class(self) -> &'static str {
        match self {
            Stroke::Solid => "c-line",
            Stroke::Thin => "c-thin",
            Stroke::Dashed => "c-dash",
            Stroke::Dotted => "c-dot",
        }
    }
}

/// The shape of a point.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    /// A small full disc.
    Disc,
    /// A ring: something to look at.
    Ring,
    /// A cross: something that failed.
    Cross,
}

/// Something that is drawn in a chart.
#[derive(Debug, Clone, PartialEq)]
pub enum Mark {
    /// A band between two values: x, lower, upper.
    Band(Vec<(f64, f64, f64)>),
    /// A line through points.
    Line(Vec<(f64, f64)>, Stroke),
    /// Points.
    Points(Vec<(f64, f64)>, Shape),
    /// A value across the whole width, named at its right end.
    Level(f64, Stroke, String),
    /// A value from one x to another.
    Part(f64, f64, f64, Stroke),
    /// A moment from top to bottom, named above.
    Moment(f64, Stroke, String),
}

/// How wide a chart is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Width {
    /// As wide as the page.
    Full,
    /// Two side by side.
    Half,
}

/// A chart over two axes.
#[derive(Debug, Clone, PartialEq)]
pub struct Chart {
    /// A name for it in the page, letters and digits.
    pub id: String,
    /// What it shows, in a few words.
    pub title: String,
    /// What is to be seen, for readers who don't see it.
    pub about: String,
    /// How wide it is.
    pub width: Width,
    /// The horizontal axis.
    pub x: Axis,
    /// The vertical axis.
    pub y: Axis,
    /// What is drawn, in this order.
    pub marks: Vec<Mark>,
}

impl Chart {
    fn size(&self) -> (f64, f64) {
        match self.width {
            Width::Full => (680.0, 220.0),
            Width::Half => (335.0, 170.0),
        }
    }

    /// Draws the chart.
    pub fn draw(&self) -> Markup {
        let (width, height) = self.size();
        let right = self
            .marks
            .iter()
            .filter_map(|mark| match mark {
                Mark::Level(_, _, name) => Some(name.chars().count() as f64 * CHARACTER + 6.0),
                _ => None,
            })
            .fold(8.0, f64::max)
            .min(width / 3.0);
        let longest = self
            .y
            .ticks
            .iter()
            .map(|(_, said)| said.chars().count() as f64 * CHARACTER + 8.0)
            .fold(LEFT, f64::max)
            .min(width / 4.0);
        let x = |value: f64| longest + self.x.share(value) * (width - longest - right);
        let y = |value: f64| height - BOTTOM - self.y.share(value) * (height - BOTTOM - TOP);
        let (floor, plot_right) = (height - BOTTOM, width - right);
        html! {
            svg role="img" class=(match self.width { Width::Full => "chart full", Width::Half => "chart half" })
                aria-labelledby={ (self.id) "-t " (self.id) "-d" }
                viewBox={ "0 0 " (at(width)) " " (at(height)) } {
                title id={ (self.id) "-t" } { (self.title) }
                desc id={ (self.id) "-d" } { (self.about) }
                @for (value, said) in &self.y.ticks {
                    line class="c-grid" x1=(at(longest)) x2=(at(plot_right)) y1=(at(y(*value))) y2=(at(y(*value))) {}
                    text class="c-text c-end" x=(at(longest - 5.0)) y=(at(y(*value) + 3.5)) { (said) }
                }
                @for (value, said) in &self.x.ticks {
                    line class="c-axis" x1=(at(x(*value))) x2=(at(x(*value))) y1=(at(floor)) y2=(at(floor + 4.0)) {}
                    text class="c-text c-mid" x=(at(x(*value))) y=(at(floor + 14.0)) { (said) }
                }
                line class="c-axis" x1=(at(longest)) x2=(at(plot_right)) y1=(at(floor)) y2=(at(floor)) {}
                text class="c-name" x="0" y="8" { (self.y.label) }
                text class="c-name c-end" x=(at(plot_right)) y=(at(height - 3.0)) { (self.x.label) }
                @for mark in &self.marks {
                    @match mark {
                        Mark::Band(points) => { path class="c-band" d=(band(points, &x, &y)) {} },
                        Mark::Line(points, stroke) => {
                            path class=(stroke.class()) d=(polyline(points, &x, &y)) {}
                        },
                        Mark::Points(points, shape) => { (draw_points(points, *shape, &x, &y)) },
                        Mark::Level(value, stroke, _) => {
                            line class=(stroke.class()) x1=(at(longest)) x2=(at(plot_right))
                                y1=(at(y(*value))) y2=(at(y(*value))) {}
                        },
                        Mark::Part(from, to, value, stroke) => {
                            line class=(stroke.class()) x1=(at(x(*from))) x2=(at(x(*to)))
                                y1=(at(y(*value))) y2=(at(y(*value))) {}
                        },
                        Mark::Moment(moment, stroke, _) => {
                            line class=(stroke.class()) x1=(at(x(*moment))) x2=(at(x(*moment)))
                                y1=(at(TOP)) y2=(at(floor)) {}
                        },
                    }
                }
                @for (name, height) in self.place_levels(&y, floor) {
                    text class="c-text" x=(at(plot_right + 4.0)) y=(at(height + 3.5)) { (name) }
                }
                @for (name, moment) in self.place_moments(&x, plot_right) {
                    text class="c-text c-mid" x=(at(moment)) y=(at(TOP - 3.0)) { (name) }
                }
            }
        }
    }

    /// The names of levels, moved apart where they would stand in one another.
    fn place_levels(&self, y: &dyn Fn(f64) -> f64, floor: f64) -> Vec<(&str, f64)> {
        let mut levels: Vec<(&str, f64)> = self
            .marks
            .iter()
            .filter_map(|mark| match mark {
                Mark::Level(value, _, name) => Some((name.as_str(), y(*value))),
                _ => None,
            })
            .collect();
        levels.sort_by(|a, b| a.1.total_cmp(&b.1));
        let mut least = f64::NEG_INFINITY;
        for level in &mut levels {
            level.1 = level.1.max(least);
            least = level.1 + LINE_STEP;
        }
        let mut most = floor;
        for level in levels.iter_mut().rev() {
            level.1 = level.1.min(most);
            most = level.1 - LINE_STEP;
        }
        levels
    }

    /// The names of moments that have room beside one another; others are told by their line and the chart's words.
    fn place_moments(&self, x: &dyn Fn(f64) -> f64, right: f64) -> Vec<(&str, f64)> {
        let mut placed: Vec<(&str, f64)> = Vec::new();
        // The label of the axis stands at the left.
        let mut least = self.y.label.chars().count() as f64 * CHARACTER + 8.0;
        for mark in &self.marks {
            if let Mark::Moment(moment, _, name) = mark {
                let half = name.chars().count() as f64 * CHARACTER / 2.0;
                let middle = x(*moment).min(right + 8.0 - half);
                if middle - half >= least {
                    placed.push((name, middle));
                    least = middle + half + 4.0;
                }
            }
        }
        placed
    }
}

/// A coordinate with one decimal.
fn at(coordinate: f64) -> String {
    let rounded = (coordinate * 10.0).round() / 10.0;
    // No minus before nothing.
    format!("{}", if rounded == 0.0 { 0.0 } else { rounded })
}

fn polyline(points: &[(f64, f64)], x: &dyn Fn(f64) -> f64, y: &dyn Fn(f64) -> f64) -> String {
    let mut d = String::new();
    for (n, point) in points.iter().enumerate() {
        d.push(if n == 0 { 'M' } else { 'L' });
        d.push_str(&format!("{} {}", at(x(point.0)), at(y(point.1))));
    }
    d
}

fn band(points: &[(f64, f64, f64)], x: &dyn Fn(f64) -> f64, y: &dyn Fn(f64) -> f64) -> String {
    let around: Vec<(f64, f64)> = points
        .iter()
        .map(|(at, low, _)| (*at, *low))
        .chain(points.iter().rev().map(|(at, _, high)| (*at, *high)))
        .collect();
    let mut d = polyline(&around, x, y);
    if !d.is_empty() {
        d.push('Z');
    }
    d
}

fn draw_points(
    points: &[(f64, f64)],
    shape: Shape,
    x: &dyn Fn(f64) -> f64,
    y: &dyn Fn(f64) -> f64,
) -> Markup {
    let (class, each) = match shape {
        // A line of no length with round ends is a disc.
        Shape::Disc => ("c-disc", "h0"),
        Shape::Ring => ("c-ring", "m-4 0a4 4 0 1 0 8 0a4 4 0 1 0-8 0"),
        Shape::Cross => ("c-cross", "m-3.5-3.5l7 7m0-7l-7 7"),
    };
    let d: String = points
        .iter()
        .map(|point| format!("M{} {}{each}", at(x(point.0)), at(y(point.1))))
        .collect();
    html! { @if !points.is_empty() { path class=(class) d=(d) {} } }
}

/// How a part of a bar is filled; each can be told apart without colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fill {
    /// Full.
    Full,
    /// Hatched.
    Hatched,
    /// Empty, with an outline.
    Open,
}

impl Fill {
    fn class(self) -> &'static str {
        match self {
            Fill::Full => "c-full",
            Fill::Hatched => "c-hatch",
            Fill::Open => "c-open",
        }
    }
}

/// A bar with its parts.
#[derive(Debug, Clone, PartialEq)]
pub struct Bar {
    /// What it is.
    pub name: String,
    /// Its parts in order.
    pub parts: Vec<(u64, Fill)>,
    /// What stands at its end.
    pub said: String,
}

/// Bars, one below the other or side by side.
#[derive(Debug, Clone, PartialEq)]
pub struct Bars {
    /// A name for it in the page, letters and digits.
    pub id: String,
    /// What it shows, in a few words.
    pub title: String,
    /// What is to be seen, for readers who don't see it.
    pub about: String,
    /// The bars.
    pub bars: Vec<Bar>,
    /// What the fills mean.
    pub legend: Vec<(Fill, String)>,
}

impl Bars {
    fn longest(&self) -> f64 {
        let total = |bar: &Bar| bar.parts.iter().map(|(n, _)| *n).sum::<u64>() as f64;
        self.bars.iter().map(total).fold(1.0, f64::max)
    }

    /// The pattern of hatched parts. Patterns are found by their id, so each drawing has its own.
    fn pattern(&self) -> Markup {
        html! {
            defs {
                pattern id={ (self.id) "-h" } width="5" height="5" patternUnits="userSpaceOnUse"
                    patternTransform="rotate(45)" {
                    rect class="c-hatch-paper" width="5" height="5" {}
                    line class="c-hatch-line" x1="1" y1="0" x2="1" y2="5" {}
                }
            }
        }
    }

    fn fill(&self, fill: Fill) -> Option<String> {
        (fill == Fill::Hatched).then(|| format!("url(#{}-h)", self.id))
    }

    fn draw_legend(&self, left: f64, y: f64) -> Markup {
        let mut x = left;
        let placed: Vec<(f64, Fill, &str)> = self
            .legend
            .iter()
            .map(|(fill, name)| {
                let here = x;
                x += 24.0 + name.chars().count() as f64 * CHARACTER;
                (here, *fill, name.as_str())
            })
            .collect();
        html! {
            @for (x, fill, name) in placed {
                rect class=(fill.class()) x=(at(x)) y=(at(y)) width="10" height="10" fill=[self.fill(fill)] {}
                text class="c-text" x=(at(x + 14.0)) y=(at(y + 9.0)) { (name) }
            }
        }
    }

    /// Draws the bars one below the other, each with its name at the left: for a Pareto, the longest first.
    pub fn draw_rows(&self) -> Markup {
        let (width, step) = (680.0, 19.0);
        let names = self
            .bars
            .iter()
            .map(|bar| bar.name.chars().count() as f64 * CHARACTER)
            .fold(40.0, f64::max)
            .min(300.0)
            + 8.0;
        let ends = self
            .bars
            .iter()
            .map(|bar| bar.said.chars().count() as f64 * CHARACTER)
            .fold(20.0, f64::max)
            + 10.0;
        let scale = (width - names - ends).max(40.0) / self.longest();
        let top = if self.legend.is_empty() { 2.0 } else { 20.0 };
        let height = top + step * self.bars.len() as f64 + 2.0;
        html! {
            svg role="img" class="chart full rows" aria-labelledby={ (self.id) "-t " (self.id) "-d" }
                viewBox={ "0 0 " (at(width)) " " (at(height)) } {
                title id={ (self.id) "-t" } { (self.title) }
                desc id={ (self.id) "-d" } { (self.about) }
                (self.pattern())
                (self.draw_legend(names, 2.0))
                @for (n, bar) in self.bars.iter().enumerate() {
                    @let y = top + step * n as f64;
                    @let lengths = stack(&bar.parts, scale);
                    text class="c-text c-end" x=(at(names - 6.0)) y=(at(y + 12.5)) { (bar.name) }
                    @for (from, length, fill) in &lengths {
                        rect class=(fill.class()) x=(at(names + from)) y=(at(y + 3.0)) width=(at(*length))
                            height="13" fill=[self.fill(*fill)] {}
                    }
                    @let end = lengths.last().map_or(0.0, |(from, length, _)| from + length);
                    text class="c-text" x=(at(names + end + 5.0)) y=(at(y + 12.5)) { (bar.said) }
                }
            }
        }
    }

    /// Draws the bars side by side, each with its name below: for months.
    pub fn draw_columns(&self) -> Markup {
        let (width, height) = (335.0, 170.0);
        let step = (width - 10.0) / self.bars.len().max(1) as f64;
        let thick = (step * 0.62).min(56.0);
        let (floor, top) = (height - 18.0, 32.0);
        let scale = (floor - top) / self.longest();
        html! {
            svg role="img" class="chart half columns" aria-labelledby={ (self.id) "-t " (self.id) "-d" }
                viewBox={ "0 0 " (at(width)) " " (at(height)) } {
                title id={ (self.id) "-t" } { (self.title) }
                desc id={ (self.id) "-d" } { (self.about) }
                (self.pattern())
                (self.draw_legend(5.0, 2.0))
                line class="c-axis" x1="5" x2=(at(width - 5.0)) y1=(at(floor)) y2=(at(floor)) {}
                @for (n, bar) in self.bars.iter().enumerate() {
                    @let middle = 5.0 + step * (n as f64 + 0.5);
                    @let lengths = stack(&bar.parts, scale);
                    @for (from, length, fill) in &lengths {
                        rect class=(fill.class()) x=(at(middle - thick / 2.0)) y=(at(floor - from - length))
                            width=(at(thick)) height=(at(*length)) fill=[self.fill(*fill)] {}
                    }
                    @let end = lengths.last().map_or(0.0, |(from, length, _)| from + length);
                    text class="c-text c-mid" x=(at(middle)) y=(at(floor - end - 4.0)) { (bar.said) }
                    text class="c-text c-mid" x=(at(middle)) y=(at(floor + 12.0)) { (bar.name) }
                }
            }
        }
    }
}

/// Where each part of a bar begins, how long it is, and its fill; parts of nothing are left out.
fn stack(parts: &[(u64, Fill)], scale: f64) -> Vec<(f64, f64, Fill)> {
    let mut from = 0.0;
    parts
        .iter()
        .filter(|(n, _)| *n > 0)
        .map(|(n, fill)| {
            let length = *n as f64 * scale;
            let part = (from, length, *fill);
            from += length;
            part
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn axis(values: &[f64], division: Division) -> Axis {
        Axis::around("x", values.iter().copied(), division, |value| {
            format!("{value}")
        })
    }

    /// The steps 1, 2 and 5 times a power of ten are those that ISO 3:1973 (preferred numbers) rounds series R3 to (from
    /// memory).
    #[test]
    fn ticks_are_round_and_hold_all_values() {
        for (values, ticks) in [
            (&[0.0, 10.0][..], &[0.0, 5.0, 10.0][..]),
            (&[28.3, 61.0], &[20.0, 30.0, 40.0, 50.0, 60.0, 70.0]),
            (&[46.2, 46.2], &[46.0, 46.5, 47.0]),
        ] {
            let axis = axis(values, Division::Linear);
            let marks: Vec<f64> = axis.ticks.iter().map(|(mark, _)| *mark).collect();
            assert!(axis.from <= values[0] && values[1] <= axis.to);
            assert!(
                ticks
                    .iter()
                    .all(|tick| marks.iter().any(|mark| (mark - tick).abs() < 1e-9)),
                "{values:?}: {marks:?}"
            );
        }
        let axis = axis(&[48.6, 100_826.0], Division::Logarithmic);
        assert!(axis.from <= 48.6 && 100_826.0 <= axis.to);
    }

    #[test]
    fn what_is_no_number_neither_panics_nor_is_drawn_outside() {
        for division in [Division::Linear, Division::Logarithmic] {
            let chart = Chart {
                id: "c".to_owned(),
                title: "t".to_owned(),
                about: "d".to_owned(),
                width: Width::Half,
                x: axis(&[], Division::Linear),
                y: axis(&[f64::NAN, f64::INFINITY, -1.0], division),
                marks: vec![
                    Mark::Line(
                        vec![(f64::NAN, f64::NEG_INFINITY), (1.0, 0.0)],
                        Stroke::Solid,
                    ),
                    Mark::Band(Vec::new()),
                    Mark::Points(vec![(1e300, -1e300)], Shape::Cross),
                ],
            };
            let drawn = chart.draw().into_string();
            assert!(!drawn.contains("NaN") && !drawn.contains("inf"), "{drawn}");
        }
    }

    #[test]
    fn value_in_the_middle_of_a_logarithmic_axis_is_the_geometric_mean() {
        // sqrt(10 * 1000) = 100.
        let axis = Axis {
            to: 1000.0,
            ..axis(&[10.0, 1000.0], Division::Logarithmic)
        };
        assert!((axis.share(100.0) - 0.5).abs() < 1e-12);
    }

    #[test]
    fn names_of_levels_do_not_stand_in_one_another() {
        let level = |value| Mark::Level(value, Stroke::Dashed, "limit".to_owned());
        let chart = Chart {
            id: "c".to_owned(),
            title: "t".to_owned(),
            about: "d".to_owned(),
            width: Width::Full,
            x: axis(&[0.0, 1.0], Division::Linear),
            y: axis(&[0.0, 100.0], Division::Linear),
            marks: vec![level(1.0), level(2.0), level(1.5)],
        };
        let placed = chart.place_levels(&|value| 190.0 - value, 190.0);
        for pair in placed.windows(2) {
            assert!(pair[1].1 - pair[0].1 >= LINE_STEP - 1e-9, "{placed:?}");
        }
        assert!(placed.iter().all(|(_, height)| *height <= 190.0));
    }
}
