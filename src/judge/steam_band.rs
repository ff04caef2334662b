//! Bands of temperature of a steam exposure, and how long one was held.
//!
//! Knows nothing of rules. Read [`held_seconds`] first.

use super::stages::{samples_of, seconds_of};
use crate::record::cycle::{Cycle, Stage};

/// A band of temperature, both ends included, in degrees Celsius.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band {
    /// The lower end.
    pub least: f64,
    /// The upper end.
    pub most: f64,
}

impl Band {
    /// Reads `134-137`.
    pub fn read(text: &str) -> Option<Self> {
        let (least, most) = text.trim().split_once('-')?;
        let band = Band {
            least: read_positive(least)?,
            most: read_positive(most)?,
        };
        (band.least < band.most && band.most < 200.0).then_some(band)
    }

    /// Whether a temperature lies in it.
    pub fn holds(self, celsius: f64) -> bool {
        // A millionth of a kelvin for what a conversion from Fahrenheit leaves behind.
        celsius >= self.least - 1e-6 && celsius <= self.most + 1e-6
    }
}

/// A band with the least time in it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pair {
    /// The band.
    pub band: Band,
    /// The least time, in seconds.
    pub seconds: f64,
}

impl Pair {
    /// Reads `134-137 C 3 min`.
    pub fn read(text: &str) -> Option<Self> {
        let (band, time) = text.trim().strip_suffix("min")?.split_once('C')?;
        let minutes = read_positive(time)?;
        Some(Pair {
            band: Band::read(band)?,
            seconds: minutes * 60.0,
        })
    }
}

fn read_positive(text: &str) -> Option<f64> {
    let number: f64 = text.trim().parse().ok()?;
    (number.is_finite() && number > 0.0).then_some(number)
}

/// The bands that a policy gives, in its order.
pub fn read_bands(words: &[&str]) -> Vec<Band> {
    words.iter().filter_map(|word| Band::read(word)).collect()
}

/// The band that an exposure is meant to be in: the one that holds most of its temperatures; of several, the one with
/// the higher lower end. `None` when no temperature lies in any band.
pub fn find_band(bands: &[Band], celsius: &[f64]) -> Option<Band> {
    let n_within = |band: &Band| celsius.iter().filter(|read| band.holds(**read)).count();
    bands
        .iter()
        .filter(|band| n_within(band) > 0)
        .max_by(|a, b| {
            n_within(a)
                .cmp(&n_within(b))
                .then(a.least.total_cmp(&b.least))
        })
        .copied()
}

/// For how many seconds an exposure was within a band: the stage's whole length when every temperature lies in the
/// band, else the longest run between readings that do.
pub fn held_seconds(cycle: &Cycle, at: usize, stage: &Stage, band: Band) -> f64 {
    let samples: Vec<(i32, f64)> = samples_of(cycle, stage)
        .into_iter()
        .filter_map(|sample| Some((sample.at.0, sample.celsius?)))
        .collect();
    if samples.is_empty() {
        return 0.0;
    }
    if samples.iter().all(|(_, celsius)| band.holds(*celsius)) {
        return f64::from(seconds_of(cycle, at).unwrap_or(0));
    }
    let mut longest = 0;
    let mut since = None;
    for (at, celsius) in samples {
        if !band.holds(celsius) {
            since = None;
            continue;
        }
        let since = *since.get_or_insert(at);
        longest = longest.max(at.saturating_sub(since));
    }
    f64::from(longest)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bands_and_pairs_are_read() {
        let band = Band {
            least: 134.0,
            most: 137.0,
        };
        assert_eq!(Band::read("134-137"), Some(band));
        assert_eq!(
            Pair::read("134-137 C 3 min"),
            Some(Pair {
                band,
                seconds: 180.0
            })
        );
        for text in [
            "",
            "134",
            "137-134",
            "134-137 C",
            "134-137 C 0 min",
            "a-b C 3 min",
            "nan-nan",
        ] {
            assert_eq!(Pair::read(text), None, "{text:?}");
        }
    }

    #[test]
    fn band_ends_count_as_within() {
        // Bands of HTM 01-01 and EN 285 (from memory): 134 to 137 °C, both ends meant.
        let bands = read_bands(&["134-137", "121-124"]);
        assert_eq!(find_band(&bands, &[134.0, 137.0]), Some(bands[0]));
        assert_eq!(find_band(&bands, &[121.0]), Some(bands[1]));
        assert_eq!(find_band(&bands, &[125.0, 133.9]), None);
        // 275 F is 135.00 °C (NIST SP 811), within.
        assert_eq!(find_band(&bands, &[(275.0 - 32.0) / 1.8]), Some(bands[0]));
    }

    #[test]
    fn band_has_a_lower_and_an_upper_end() {
        for (text, is_band) in [
            ("134-137", true),
            ("134-134", false),
            ("137-134", false),
            ("134-199.9", true),
            ("134-200", false),
            ("0-137", false),
            ("134-inf", false),
        ] {
            assert_eq!(Band::read(text).is_some(), is_band, "{text}");
        }
        let band = Band::read("134-137").unwrap();
        for (celsius, holds) in [
            (133.99, false),
            (134.0, true),
            (137.0, true),
            (137.01, false),
        ] {
            assert_eq!(band.holds(celsius), holds, "{celsius}");
        }
    }

    #[test]
    fn band_that_holds_most_is_meant_and_of_equals_the_hotter() {
        let bands = read_bands(&["121-124", "134-137", "x", "136-139"]);
        assert_eq!(bands.len(), 3);
        for (celsius, at) in [
            (&[122.0, 122.0, 135.0][..], 0),
            (&[122.0, 135.0, 135.0], 1),
            (&[122.0, 135.0], 1),
            (&[136.5, 137.5], 2),
            (&[136.5], 2),
        ] {
            assert_eq!(find_band(&bands, celsius), Some(bands[at]), "{celsius:?}");
        }
    }

    #[test]
    fn held_is_the_whole_stage_or_the_longest_run_within_the_band() {
        let held = |readings: &str| {
            let text = format!(
                "loadbook printout 1\nunit: ST-1\nprocess: steam\nstarted: 2026-03-12 07:00:00\n\
                 stage: expose, at 07:10:00\n{readings}stage: exhaust, at 07:20:00\nended: 07:40:00\noutcome: completed\nend\n"
            );
            let records =
                crate::parse::read_bytes(text.as_bytes(), crate::parse::Strictness::Infer);
            assert!(records.unread.is_empty(), "{:?}", records.unread);
            let cycle = &records.cycles[0];
            held_seconds(cycle, 0, &cycle.stages[0], Band::read("134-137").unwrap())
        };
        let line = |minute: u32, celsius: &str| format!("07:{minute}:00 temperature {celsius} C\n");
        // Every reading within the band: from the beginning of the stage to that of the next, ten minutes.
        assert_eq!(held(&line(12, "134.0")), 600.0);
        // No temperature, and none within the band.
        assert_eq!(held("07:12:00 pressure 3 bar\n"), 0.0);
        assert_eq!(held(&line(12, "133.0")), 0.0);
        // From 07:11 to 07:12, and from 07:14 to 07:18.
        let runs = [
            (11, "134.5"),
            (12, "135.0"),
            (13, "133.0"),
            (14, "134.0"),
            (16, "136.0"),
            (18, "137.0"),
            (19, "138.0"),
        ];
        let runs: String = runs
            .iter()
            .map(|(at, celsius)| line(*at, celsius))
            .collect();
        assert_eq!(held(&runs), 240.0);
    }
}
