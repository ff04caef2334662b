//! Did the temperature stay within one band of exposure?

use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::publication::{CDC_2008, EN_285, HTM_01_01};
use crate::judge::rulebook::{Effect, Finding, Parameter, Rule, RuleId, Source, Verdict};
use crate::judge::stages::{place_of, samples_of, stages_named};
use crate::judge::steam_band::{Band, find_band, read_bands};
use crate::record::cycle::{Process, StageName};

/// Did the temperature stay within one band of exposure?
pub static RULE: Rule = Rule {
    id: RuleId("steam-temperature-outside-band"),
    question: "Did the temperature stay within one band of exposure?",
    sources: &[
        Source::memory(EN_285, 2015, "sterilization temperature bands"),
        Source::memory(HTM_01_01, 2016, "part C: 134-137, 126-129, 121-124 C"),
        Source::seen(CDC_2008, 2008, "Table 7: 4 min at 132 C in prevacuum"),
    ],
    effect: Effect::Reject,
    floor: None,
    parameters: &[BANDS],
    evaluate,
};

/// The bands of temperature of an exposure, in degrees Celsius.
const BANDS: Parameter = Parameter::words(
    "bands",
    &["134-137", "132-135", "126-129", "121-124"],
    check_band,
    "the bands of temperature of an exposure, in degrees Celsius",
    Source::memory(
        HTM_01_01,
        2016,
        "part C: 134-137, 126-129, 121-124 C; 132 C from CDC 2008, Table 7 (seen), its band 3 K wide by common practice",
    ),
);

fn evaluate(case: &Case<'_>) -> Verdict {
    let (Some(known), Some(Process::Steam)) = (case.completed(), case.process()) else {
        return Verdict::NotAsked;
    };
    let cycle = &known.cycle;
    let bands = read_bands(&case.words(&RULE, &BANDS));
    let mut findings = Vec::new();
    let mut kept = Vec::new();
    for (_, stage) in stages_named(cycle, &StageName::Expose) {
        let samples: Vec<_> = samples_of(cycle, stage)
            .into_iter()
            .filter_map(|sample| Some((sample, sample.celsius?)))
            .collect();
        if samples.is_empty() {
            findings.push(Finding::new(
                "the exposure has no reading of temperature",
                Evidence::at(stage.span, "no temperature stands below this line"),
                "find the readings on the original strip",
            ));
            continue;
        }
        let Some(band) = find_band(
            &bands,
            &samples
                .iter()
                .map(|(_, celsius)| *celsius)
                .collect::<Vec<_>>(),
        ) else {
            findings.push(Finding::new(
                "the temperature of the exposure reached no band",
                Evidence::at(stage.span, "every reading lies below the lowest band").with_readings(
                    samples
                        .iter()
                        .map(|(sample, _)| place_of(cycle, sample.line)),
                ),
                "have the unit looked at and process the load again",
            ));
            continue;
        };
        let outside: Vec<_> = samples
            .iter()
            .filter(|(_, celsius)| *celsius < band.least - 1e-6 || *celsius > band.most + 1e-6)
            .collect();
        match outside.first() {
            None => kept.push(stage.span),
            Some((_, celsius)) => findings.push(Finding::new(
                format!(
                    "{celsius:.1} C was read in the exposure, outside the band of {} to {} C",
                    band.least, band.most
                ),
                Evidence::at(stage.span, "the exposure and the readings outside its band")
                    .with_readings(
                        outside
                            .iter()
                            .map(|(sample, _)| place_of(cycle, sample.line)),
                    ),
                "have the unit looked at and process the load again",
            )),
        }
    }
    if findings.is_empty() && kept.is_empty() {
        return Verdict::NotAsked;
    }
    Verdict::found_or_met(findings, || {
        Evidence::at_all(kept, "every temperature of the exposure lies in one band")
    })
}

fn check_band(word: &str) -> Result<(), String> {
    Band::read(word)
        .map(|_| ())
        .ok_or_else(|| format!("`{word}` is not a band such as `134-137`"))
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{PLASMA, STEAM, assert_found, assert_silent};

    #[test]
    fn reading_just_below_the_band_is_found() {
        assert_found(
            &RULE,
            STEAM,
            &[(
                "limit temperature 134 C min, limit temperature 137 C max, limit duration 3 min min\n07:52:15 pressure 3.0650 bar, temperature 134.3 C",
                "limit duration 3 min min\n07:52:15 pressure 3.0400 bar, temperature 133.9 C",
            )],
        );
    }

    #[test]
    fn reading_at_the_lower_end_is_silent() {
        assert_silent(
            &RULE,
            STEAM,
            &[(
                "07:52:15 pressure 3.0650 bar, temperature 134.3 C",
                "07:52:15 pressure 3.0420 bar, temperature 134.0 C",
            )],
        );
    }

    #[test]
    fn reading_above_the_band_is_found() {
        assert_found(
            &RULE,
            STEAM,
            &[(
                "07:54:15 pressure 3.1400 bar, temperature 135.1 C",
                "07:54:15 pressure 3.3500 bar, temperature 137.4 C",
            )],
        );
    }

    #[test]
    fn plasma_load_is_not_asked() {
        assert_silent(&RULE, PLASMA, &[]);
    }
}
