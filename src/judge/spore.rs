//! What the numbers of a biological indicator's certificate say: how long all of its spores survive, and how long it
//! takes to kill them.
//!
//! Survival time = (log10 N − 2) · D and kill time = (log10 N + 4) · D, with N the number of spores and D the decimal
//! reduction time (USP <55>, ISO 11138-1; formula seen on laboratory pages, clauses from memory). The 2 and the 4 are
//! taken from and added to the logarithm, not to N: many pages misprint it. Up to the survival time about a hundred
//! spores are left, so that growth is expected; from the kill time on one indicator in ten thousand grows.
//!
//! A certificate's D holds at its stated condition only: dry numbers for a resistometer, not for a unit. For steam the
//! exposure is therefore counted as F0, which is minutes at about the certificate's 121 °C; for ethylene oxide it is the
//! stage of exposure; for peroxide, whose concentration falls while it acts, the two times are shown and nothing is
//! compared. Knows nothing of decisions. Read [`SporeNumbers`] first.

use super::stages::{samples_of, seconds_of, stages_named};
use crate::measure::lethality::{Between, F0Reference, lethality};
use crate::record::cycle::{Cycle, Process, StageName};
use crate::record::entry::BiResult;
use serde::Serialize;

/// Population and D-value of an indicator, with what follows from them.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SporeNumbers {
    /// The number of spores.
    pub population: f64,
    /// The decimal reduction time, in minutes.
    pub d_value_minutes: f64,
    /// How long some spores of every indicator survive, in minutes.
    pub survival_minutes: f64,
    /// How long it takes until none of nearly every indicator is left, in minutes.
    pub kill_minutes: f64,
}

impl SporeNumbers {
    /// From population and D-value in minutes. `None` for numbers that no certificate has: a population below 1 or a
    /// D-value that is not above 0, and what is not finite.
    pub fn of(population: f64, d_value_minutes: f64) -> Option<Self> {
        let sound = population.is_finite()
            && population >= 1.0
            && d_value_minutes.is_finite()
            && d_value_minutes > 0.0;
        sound.then(|| SporeNumbers {
            population,
            d_value_minutes,
            // Fewer than a hundred spores have no time in which a hundred are left.
            survival_minutes: ((population.log10() - 2.0) * d_value_minutes).max(0.0),
            kill_minutes: (population.log10() + 4.0) * d_value_minutes,
        })
    }

    /// The numbers of an indicator, where the log gives both.
    pub fn of_bi(bi: &BiResult) -> Option<Self> {
        SporeNumbers::of(
            bi.population.as_ref()?.value,
            bi.d_value_minutes.as_ref()?.value,
        )
    }

    /// How an exposure stands to the two times.
    pub fn stands(&self, exposure: &Exposure) -> Stand {
        if exposure.minutes < self.survival_minutes {
            Stand::BelowSurvival
        } else if exposure.minutes < self.kill_minutes {
            Stand::Between
        } else {
            Stand::FromKillOn
        }
    }
}

/// How an exposure stands to survival and kill time.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Stand {
    /// Shorter than the survival time: growth is what the numbers expect.
    BelowSurvival,
    /// Between the two: growth and no growth are both within the numbers.
    Between,
    /// As long as the kill time or longer: by the numbers nearly no indicator grows.
    FromKillOn,
}

impl Stand {
    /// What it says of an indicator that grew.
    pub fn said_of_growth(self) -> &'static str {
        match self {
            Stand::BelowSurvival => {
                "shorter than the survival time, so that growth is to be expected: look at why the exposure was short"
            }
            Stand::Between => {
                "between survival and kill time, where some indicators grow: look at exposure and load"
            }
            Stand::FromKillOn => {
                "as long as the kill time or longer, so that growth is not explained by time: look at process \
                 (sterilant, air, moisture), load, placing and handling of the vial"
            }
        }
    }
}

/// How long an indicator was exposed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Exposure {
    /// The minutes.
    pub minutes: f64,
    /// What they are minutes of.
    pub counted: Counted,
}

/// What minutes of exposure are counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Counted {
    /// F0 with the reference of 121.0 °C over all readings of the cycle, z = 10 K.
    F0At121,
    /// The stages of exposure, in minutes on the clock.
    ExposeStages,
}

impl Counted {
    /// In plain words.
    pub fn said(self) -> &'static str {
        match self {
            Counted::F0At121 => "F0, reference 121.0 °C, z = 10 K",
            Counted::ExposeStages => "stage expose",
        }
    }
}

/// How long a cycle exposed its load, in the minutes that can be held against a certificate. `None` for peroxide, and
/// where the printout does not tell.
pub fn find_exposure(cycle: &Cycle, process: Process) -> Option<Exposure> {
    match process {
        Process::Plasma => None,
        Process::Steam => {
            let readings: Vec<(f64, f64)> = cycle
                .stages
                .iter()
                .flat_map(|stage| samples_of(cycle, stage))
                .filter_map(|sample| Some((f64::from(sample.at.0) / 60.0, sample.celsius?)))
                .collect();
            if readings.len() < 2 {
                return None;
            }
            let f0 = lethality(&readings, F0Reference::PhEur, Between::StraightTemperature);
            Some(Exposure {
                minutes: f0.minutes,
                counted: Counted::F0At121,
            })
        }
        Process::Eo => {
            let stages: Vec<usize> = stages_named(cycle, &StageName::Expose)
                .map(|(at, _)| at)
                .collect();
            if stages.is_empty() {
                return None;
            }
            let seconds: Option<i64> = stages
                .iter()
                .map(|at| seconds_of(cycle, *at).map(i64::from))
                .sum();
            Some(Exposure {
                minutes: seconds? as f64 / 60.0,
                counted: Counted::ExposeStages,
            })
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Calculated by hand from the formula of USP <55> and ISO 11138-1 (log10 2.5e6 = 6.39794); the last three are the minimums of ISO 11138-3 (steam, 121 °C) and ISO 11138-2 (ethylene oxide, 54
    /// and 30 °C), from memory.
    #[test]
    fn survival_and_kill_times_are_those_worked_out_by_hand() {
        for (population, d_value, survival, kill) in [
            (1.0e6, 1.5, 6.0, 15.0),
            (2.5e6, 1.8, 7.916, 18.716),
            (1.0e5, 1.5, 4.5, 13.5),
            (1.0e6, 2.5, 10.0, 25.0),
            (1.0e6, 12.5, 50.0, 125.0),
        ] {
            let numbers = SporeNumbers::of(population, d_value).unwrap();
            assert!(
                (numbers.survival_minutes - survival).abs() < 5e-4,
                "{numbers:?}"
            );
            assert!((numbers.kill_minutes - kill).abs() < 5e-4, "{numbers:?}");
        }
    }

    /// The misprint log10(N − 2) · D would give 9.0 and log10(N + 4) · D 9.0 for the first row above.
    #[test]
    fn two_and_four_are_on_the_logarithm() {
        let numbers = SporeNumbers::of(1.0e6, 1.5).unwrap();
        let misprinted = (1.0e6_f64 - 2.0).log10() * 1.5;
        assert!((misprinted - 9.0).abs() < 1e-5);
        assert!((numbers.survival_minutes - misprinted).abs() > 2.9);
        assert!((numbers.kill_minutes - misprinted).abs() > 5.9);
    }

    #[test]
    fn numbers_that_no_certificate_has_give_nothing() {
        for (population, d_value) in [
            (0.0, 1.5),
            (0.5, 1.5),
            (-1.0, 1.5),
            (1.0e6, 0.0),
            (1.0e6, -1.0),
            (f64::NAN, 1.5),
            (f64::INFINITY, 1.5),
            (1.0e6, f64::NAN),
            (1.0e6, f64::INFINITY),
        ] {
            assert_eq!(SporeNumbers::of(population, d_value), None);
        }
        assert_eq!(SporeNumbers::of(10.0, 1.5).unwrap().survival_minutes, 0.0);
    }

    #[test]
    fn exposure_is_held_against_both_times() {
        let numbers = SporeNumbers::of(1.0e6, 2.5).unwrap();
        let stand = |minutes| {
            numbers.stands(&Exposure {
                minutes,
                counted: Counted::ExposeStages,
            })
        };
        assert_eq!(stand(9.99), Stand::BelowSurvival);
        assert_eq!(stand(10.0), Stand::Between);
        assert_eq!(stand(24.99), Stand::Between);
        assert_eq!(stand(25.0), Stand::FromKillOn);
    }

    fn cycle(text: &str) -> Cycle {
        let records = crate::parse::read_bytes(text.as_bytes(), crate::parse::Strictness::Infer);
        assert!(records.unread.is_empty(), "{:?}", records.unread);
        records.cycles.into_iter().next().unwrap()
    }

    /// 15 min at 121 °C are an F0 of 15.000 min at the reference of 121.0 °C (worked value, calculated; a published note
    /// gives 15 as well, seen).
    #[test]
    fn steam_exposure_is_counted_as_f0() {
        let held = cycle(
            "loadbook printout 1\nunit: ST-1\nprocess: steam\nstarted: 2026-03-12 07:00:00\n\
             stage: expose, at 07:10:00\n07:10:00 temperature 121.0 C\n07:25:00 temperature 121.0 C\n\
             ended: 07:40:00\noutcome: completed\nend\n",
        );
        let exposure = find_exposure(&held, Process::Steam).unwrap();
        assert!((exposure.minutes - 15.0).abs() < 1e-9, "{exposure:?}");
        assert_eq!(exposure.counted, Counted::F0At121);
        // An indicator of 1.0e5 spores with a D-value of 1.5 min has a kill time of 13.5 min.
        let numbers = SporeNumbers::of(1.0e5, 1.5).unwrap();
        assert_eq!(numbers.stands(&exposure), Stand::FromKillOn);
    }

    #[test]
    fn gas_exposure_is_its_stage_and_peroxide_has_none() {
        let text = "loadbook printout 1\nunit: EO-1\nprocess: eo\nstarted: 2026-03-12 07:00:00\n\
             stage: condition, at 07:05:00\nstage: expose, at 08:00:00\nstage: exhaust, at 10:30:00\n\
             ended: 23:00:00\noutcome: completed\nend\n";
        let exposure = find_exposure(&cycle(text), Process::Eo).unwrap();
        assert!((exposure.minutes - 150.0).abs() < 1e-9, "{exposure:?}");
        assert_eq!(find_exposure(&cycle(text), Process::Plasma), None);
        let torn = text.split("stage: exhaust").next().unwrap();
        assert_eq!(find_exposure(&cycle(torn), Process::Eo), None);
    }

    #[test]
    fn each_stand_is_said_of_an_indicator_that_grew() {
        for (stand, start) in [
            (Stand::BelowSurvival, "shorter than the survival time"),
            (Stand::Between, "between survival and kill time"),
            (Stand::FromKillOn, "as long as the kill time or longer"),
        ] {
            assert!(stand.said_of_growth().starts_with(start));
        }
        assert!(Counted::F0At121.said().starts_with("F0, reference 121.0"));
        assert_eq!(Counted::ExposeStages.said(), "stage expose");
    }

    #[test]
    fn numbers_of_a_vial_are_those_that_the_log_gives() {
        let vial = |text: &str| {
            let text = format!(
                "loadbook log 1\ndate: 2026-03-12\n08:40 bi: P1-0312-01, role test, lot B771{text}\n"
            );
            let records =
                crate::parse::read_bytes(text.as_bytes(), crate::parse::Strictness::Infer);
            assert!(records.unread.is_empty(), "{:?}", records.unread);
            match &records.entries[0].body {
                crate::record::entry::EntryBody::Bi(bi) => SporeNumbers::of_bi(bi),
                other => panic!("{other:?}"),
            }
        };
        // 6 - 2 and 6 + 4 times 1.5 minutes.
        let numbers = vial(", population 1.0e6, d-value 1.5 min").unwrap();
        assert!((numbers.survival_minutes - 6.0).abs() < 1e-9);
        assert!((numbers.kill_minutes - 15.0).abs() < 1e-9);
        assert_eq!(vial(", population 1.0e6"), None);
        assert_eq!(vial(", d-value 1.5 min"), None);
    }

    #[test]
    fn two_readings_are_the_least_that_f0_is_counted_from() {
        let with = |readings: &str| {
            cycle(&format!(
                "loadbook printout 1\nunit: ST-1\nprocess: steam\nstarted: 2026-03-12 07:00:00\n\
                 stage: expose, at 07:10:00\n{readings}ended: 07:40:00\noutcome: completed\nend\n"
            ))
        };
        let one = with("07:10:00 temperature 121.0 C\n");
        assert_eq!(find_exposure(&one, Process::Steam), None);
        // One minute at the reference is one minute.
        let two = with("07:10:00 temperature 121.0 C\n07:11:00 temperature 121.0 C\n");
        let exposure = find_exposure(&two, Process::Steam).unwrap();
        assert!((exposure.minutes - 1.0).abs() < 1e-9, "{exposure:?}");
        // Ethylene oxide without a stage of exposure has none.
        assert_eq!(
            find_exposure(&with("").clone(), Process::Eo).map(|one| one.minutes),
            Some(30.0)
        );
        let without = cycle(
            "loadbook printout 1\nunit: EO-1\nprocess: eo\nstarted: 2026-03-12 07:00:00\n\
             stage: condition, at 07:05:00\nended: 23:00:00\noutcome: completed\nend\n",
        );
        assert_eq!(find_exposure(&without, Process::Eo), None);
    }
}
