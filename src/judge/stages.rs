//! The stages of a cycle as rules look at them: how long they lasted, what was read in them, and where it stands.
//!
//! Knows nothing of rules. Read [`seconds_of`] first.

use super::decision::ReadingPlace;
use crate::measure::quantity::{AbsolutePressure, Datum, STANDARD_ATMOSPHERE};
use crate::record::cycle::{Cycle, Elapsed, Measured, Stage, StageName};

/// The length of a stage in seconds: to the beginning of the next one, or to the end of the cycle. `None` when that is
/// not printed, or lies before the stage's beginning.
pub fn seconds_of(cycle: &Cycle, at: usize) -> Option<i32> {
    let stage = cycle.stages.get(at)?;
    let until = match cycle.stages.get(at.saturating_add(1)) {
        Some(next) => next.began,
        None => cycle.ended.as_ref()?.value,
    };
    let seconds = until.0.checked_sub(stage.began.0)?;
    (seconds >= 0).then_some(seconds)
}

/// The stages with a name, with their places among the cycle's stages.
pub fn stages_named<'c>(
    cycle: &'c Cycle,
    name: &StageName,
) -> impl Iterator<Item = (usize, &'c Stage)> {
    cycle
        .stages
        .iter()
        .enumerate()
        .filter(move |(_, stage)| stage.name == *name)
}

/// Where a reading stands.
pub fn place_of(cycle: &Cycle, line: u32) -> ReadingPlace {
    ReadingPlace {
        file: cycle.opening.file,
        line,
    }
}

/// What was read at one moment: the values of one line that rules compare with one another.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sample {
    /// When.
    pub at: Elapsed,
    /// The line.
    pub line: u32,
    /// The temperature, in degrees Celsius.
    pub celsius: Option<f64>,
    /// The pressure above vacuum. The standard atmosphere stands in where a gauge pressure has no ambient pressure
    /// printed; see [`Sample::ambient`].
    pub pressure: Option<AbsolutePressure>,
    /// Whether the ambient pressure was known.
    pub ambient: Ambient,
}

/// Whether the ambient pressure of a gauge pressure was known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ambient {
    /// It was printed, or not needed.
    Known,
    /// The standard atmosphere stands in for it.
    Assumed,
}

/// The samples of a stage, in the order of its lines.
pub fn samples_of(cycle: &Cycle, stage: &Stage) -> Vec<Sample> {
    let mut samples: Vec<Sample> = Vec::new();
    for reading in &stage.readings {
        let same = samples
            .last_mut()
            .filter(|last| last.line == reading.line && last.at == reading.at);
        let sample = match same {
            Some(sample) => sample,
            None => {
                samples.push(Sample {
                    at: reading.at,
                    line: reading.line,
                    celsius: None,
                    pressure: None,
                    ambient: Ambient::Known,
                });
                match samples.last_mut() {
                    Some(sample) => sample,
                    None => continue,
                }
            }
        };
        match reading.measured {
            Measured::Temperature(value) => sample.celsius = Some(value.celsius()),
            Measured::Pressure(value) => {
                let ambient = cycle.ambient.as_ref().map(|ambient| ambient.value);
                if value.datum() == Datum::Gauge && ambient.is_none() {
                    sample.ambient = Ambient::Assumed;
                }
                let ambient = ambient.map_or(STANDARD_ATMOSPHERE, |ambient| {
                    // The ambient pressure is itself above vacuum.
                    AbsolutePressure::from_pascal(ambient.pascal())
                });
                sample.pressure = Some(value.absolute(ambient));
            }
            _ => {}
        }
    }
    samples
}

/// Seconds in words: `3 min`, `2 min 40 s`.
pub fn say_seconds(seconds: f64) -> String {
    let whole = seconds.round();
    let (minutes, rest) = ((whole / 60.0).floor(), whole % 60.0);
    match (minutes > 0.0, rest > 0.0) {
        (true, false) => format!("{minutes} min"),
        (true, true) => format!("{minutes} min {rest} s"),
        (false, _) => format!("{rest} s"),
    }
}

/// A value in the unit that it was printed in.
pub fn say_measured(measured: &Measured) -> String {
    let number = measured.printed_number();
    // Enough digits to be the number on the strip, without the tail of a conversion.
    let text = format!("{number:.4}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    let gauge = match measured {
        Measured::Pressure(value) if value.datum() == Datum::Gauge => " gauge",
        _ => "",
    };
    format!(
        "{} {text} {}{gauge}",
        measured.kind().word(),
        measured.printed_symbol()
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn seconds_are_said_in_whole_minutes_and_what_is_left() {
        // 60 s = 1 min; worked out by hand.
        for (seconds, said) in [
            (0.0, "0 s"),
            (59.0, "59 s"),
            (59.6, "1 min"),
            (60.0, "1 min"),
            (61.0, "1 min 1 s"),
            (160.0, "2 min 40 s"),
            (28_800.0, "480 min"),
        ] {
            assert_eq!(say_seconds(seconds), said);
        }
    }

    fn cycle(text: &str) -> Cycle {
        let text = format!(
            "loadbook printout 1\nunit: ST-1\nprocess: steam\nstarted: 2026-03-12 07:00:00\n{text}end\n"
        );
        let records = crate::parse::read_bytes(text.as_bytes(), crate::parse::Strictness::Infer);
        assert!(records.unread.is_empty(), "{:?}", records.unread);
        records.cycles.into_iter().next().unwrap()
    }

    #[test]
    fn stage_lasts_to_the_next_one_or_to_the_end() {
        let whole = cycle(
            "stage: condition, at 07:01:00\nstage: expose, at 07:10:00\nstage: dry, at 07:15:30\nended: 07:40:00\noutcome: completed\n",
        );
        let seconds: Vec<_> = (0..4).map(|at| seconds_of(&whole, at)).collect();
        assert_eq!(seconds, [Some(540), Some(330), Some(1_470), None]);
        let names = |name| {
            stages_named(&whole, &name)
                .map(|(at, _)| at)
                .collect::<Vec<_>>()
        };
        assert_eq!(names(StageName::Expose), [1]);
        assert_eq!(names(StageName::Vent), [0_usize; 0]);
        // Without an end the last stage has no length, and one that begins and ends in a second has none either.
        let torn = cycle("stage: expose, at 07:10:00\nstage: dry, at 07:10:00\n");
        assert_eq!(seconds_of(&torn, 0), Some(0));
        assert_eq!(seconds_of(&torn, 1), None);
    }

    #[test]
    fn sample_is_what_one_line_holds() {
        let lines = cycle(
            "stage: expose, at 07:10:00\n07:11:00 pressure 3 bar, temperature 134.0 C\n07:12:00 pressure 2 bar gauge\n\
             07:12:00 temperature 135.0 C\nended: 07:40:00\noutcome: completed\n",
        );
        let samples = samples_of(&lines, &lines.stages[0]);
        let told: Vec<_> = samples
            .iter()
            .map(|one| {
                let bar = one.pressure.map(|pressure| pressure.pascal() / 1e5);
                (one.at.0, one.celsius, bar, one.ambient)
            })
            .collect();
        // 2 bar above the standard atmosphere of 1.01325 bar.
        assert_eq!(told.len(), 3);
        assert_eq!(told[0], (660, Some(134.0), Some(3.0), Ambient::Known));
        assert_eq!(
            (told[1].0, told[1].1, told[1].3),
            (720, None, Ambient::Assumed)
        );
        assert!((told[1].2.unwrap() - 3.01325).abs() < 1e-9);
        assert_eq!(told[2], (720, Some(135.0), None, Ambient::Known));
        assert_eq!(place_of(&lines, 7).line, 7);
    }

    #[test]
    fn value_is_said_as_it_was_printed() {
        let lines = cycle(
            "stage: expose, at 07:10:00\n07:11:00 pressure 3.0650 bar gauge, temperature 134.0 C\n07:12:00 pressure 101 kPa\nended: 07:40:00\noutcome: completed\n",
        );
        let said: Vec<_> = lines.stages[0]
            .readings
            .iter()
            .map(|reading| say_measured(&reading.measured))
            .collect();
        assert_eq!(
            said,
            [
                "pressure 3.065 bar gauge",
                "temperature 134 C",
                "pressure 101 kPa"
            ]
        );
    }
}
