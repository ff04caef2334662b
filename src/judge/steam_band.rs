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
}
