//! The cautions that a reader is shown who is about to handle a load or open a chamber. loadbook knows no device: each
//! caution defers to the device's instructions for use and to local policy. Read [`Caution`] first, then
//! [`find_caution`].

use crate::judge::decision::Judgement;
use crate::judge::rulebook::{Known, Source};
use crate::reconcile::history::KnownCycle;
use crate::record::cycle::{Outcome, Process, StageName};
use serde::Serialize;

/// A caution.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Caution {
    /// A peroxide cycle did not run to its end.
    PeroxideLeft,
    /// Ethylene oxide may still be in the load.
    GasLeft,
    /// A steam chamber and what is in it are hot.
    Hot,
}

impl Caution {
    /// The caution for loads of a process whose cycle is not shown to have run to its end.
    pub fn of(process: Process) -> Self {
        match process {
            Process::Plasma => Caution::PeroxideLeft,
            Process::Eo => Caution::GasLeft,
            Process::Steam => Caution::Hot,
        }
    }

    /// The caution in a line or two.
    pub fn said(self) -> &'static str {
        match self {
            Caution::PeroxideLeft => {
                "Peroxide cycle aborted or rejected: liquid peroxide may remain on packages and in the chamber. Wear \
                 gloves."
            }
            Caution::GasLeft => {
                "Ethylene oxide: do not handle the load before its aeration has ended."
            }
            Caution::Hot => "Steam: chamber, rack and packages are hot.",
        }
    }

    /// What more is to be known where there is room for it.
    pub fn more(self) -> &'static str {
        match self {
            Caution::PeroxideLeft => {
                "Vapour in the air at work: at most 1 ppm (1.4 mg/m3) as a mean of 8 hours. Touch nothing bare-handed \
                 before chamber and packages were cleared as the instructions for use say."
            }
            Caution::GasLeft => {
                "It is toxic, a carcinogen and flammable. In the air at work: at most 1 ppm as a mean of 8 hours, and \
                 5 ppm as a mean of 15 minutes. What is lacking of the aeration has to follow before the load is \
                 opened, carried or stored."
            }
            Caution::Hot => {
                "Burns are possible when the chamber is opened. Keep clear of the steam that comes out, wear \
                 heat-proof gloves, and let packages cool before they are handled."
            }
        }
    }

    /// Where it comes from, and how that is known.
    pub fn sources(self) -> &'static [Source] {
        const TABLE_6: Source = Source::Published {
            title: "CDC/HICPAC, Guideline for Disinfection and Sterilization in Healthcare Facilities",
            year: Some(2008),
            section: "Table 6 (via copy)",
            known: Known::Seen,
        };
        match self {
            Caution::PeroxideLeft => {
                const SOURCES: &[Source] = &[
                    Source::Published {
                        title: "OSHA and NIOSH, limits for hydrogen peroxide",
                        year: None,
                        section: "1 ppm, 8-hour mean",
                        known: Known::Seen,
                    },
                    Source::Published {
                        title: "training material and adverse-event reports of hand burns",
                        year: None,
                        section: "gloves for aborted cycles (secondary)",
                        known: Known::Seen,
                    },
                    Source::CommonPractice,
                ];
                SOURCES
            }
            Caution::GasLeft => {
                const SOURCES: &[Source] = &[
                    Source::Published {
                        title: "29 CFR 1910.1047, Ethylene oxide",
                        year: Some(1984),
                        section: "1 ppm, 8-hour mean; 5 ppm, 15 minutes (49 FR 25734; 53 FR, 6 April 1988)",
                        known: Known::Seen,
                    },
                    TABLE_6,
                ];
                SOURCES
            }
            Caution::Hot => {
                const SOURCES: &[Source] = &[TABLE_6, Source::CommonPractice];
                SOURCES
            }
        }
    }

    /// What every caution ends with.
    pub const DEFERS: &'static str = "The device's instructions for use and local policy decide.";
}

/// What to mind when the load of a cycle is handled. `None` when its printout shows that the cycle ran to its end, with
/// the aeration that the policy asks for.
pub fn find_caution(
    known: &KnownCycle,
    process: Option<Process>,
    judgement: Option<&Judgement>,
) -> Option<Caution> {
    let process = process?;
    let cycle = &known.cycle;
    let completed = cycle.closed
        && matches!(&cycle.outcome, Some(outcome) if outcome.value == Outcome::Completed);
    let rejected = matches!(
        &cycle.outcome,
        Some(outcome) if matches!(outcome.value, Outcome::Rejected { .. })
    );
    let is_clear = match process {
        Process::Plasma => completed,
        // Nothing was heated before the first exposure, and a torn printout says nothing of today's chamber.
        Process::Steam => {
            rejected
                || !matches!(&cycle.outcome, Some(outcome) if matches!(outcome.value, Outcome::Aborted { .. }))
        }
        Process::Eo => {
            let aerated = cycle
                .stages
                .iter()
                .any(|stage| stage.name == StageName::Aerate);
            let short = judgement.is_some_and(|judgement| {
                judgement
                    .hits
                    .iter()
                    .any(|hit| hit.rule.0 == "eo-aeration-short")
            });
            rejected || (completed && aerated && !short)
        }
    };
    (!is_clear).then(|| Caution::of(process))
}

/// A caution as it is shown in full.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct CautionRow {
    /// The caution.
    pub caution: Caution,
    /// In a line or two.
    pub said: &'static str,
    /// What more is to be known.
    pub more: &'static str,
    /// Who decides.
    pub defers: &'static str,
    /// Where it comes from, and how that is known.
    pub sources: Vec<String>,
}

impl CautionRow {
    /// The row of a caution.
    pub fn of(caution: Caution) -> Self {
        CautionRow {
            caution,
            said: caution.said(),
            more: caution.more(),
            defers: Caution::DEFERS,
            sources: caution.sources().iter().map(Source::to_string).collect(),
        }
    }

    /// The rows of several cautions, each once.
    pub fn of_all(cautions: impl IntoIterator<Item = Caution>) -> Vec<Self> {
        let mut cautions: Vec<Caution> = cautions.into_iter().collect();
        cautions.sort_unstable();
        cautions.dedup();
        cautions.into_iter().map(CautionRow::of).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::parse::{Strictness, read_bytes};
    use crate::reconcile::{Site, join_history};

    /// What is cautioned of for the one cycle of a printout: its process, stages and last lines.
    fn caution(process: &str, stages: &str, end: &str) -> Option<Caution> {
        let text = format!(
            "loadbook printout 1\nunit: U-1\nprocess: {process}\nload: A-1\nstarted: 2026-03-12 07:00:00\n{stages}{end}"
        );
        let records = read_bytes(text.as_bytes(), Strictness::Infer);
        assert!(records.unread.is_empty(), "{:?}", records.unread);
        let (history, _) = join_history(records.cycles, records.entries, Site::default());
        let known = history.cycles.first()?;
        let process = known.cycle.process.as_ref().map(|process| process.value);
        find_caution(known, process, None)
    }

    const COMPLETED: &str = "ended: 08:00:00\noutcome: completed\nend\n";
    const ABORTED: &str = "ended: 08:00:00\noutcome: aborted\nend\n";
    const REJECTED: &str = "ended: 07:01:00\noutcome: rejected\nend\n";

    /// The cautions are those of the sources that [`Caution::sources`] names; which outcome asks for which: common
    /// practice, no source.
    #[test]
    fn each_process_has_its_caution_until_its_cycle_is_shown_to_have_ended() {
        let evacuate = "stage: evacuate, at 07:00:10\n";
        assert_eq!(
            caution("plasma", evacuate, ABORTED),
            Some(Caution::PeroxideLeft)
        );
        assert_eq!(
            caution("plasma", evacuate, REJECTED),
            Some(Caution::PeroxideLeft)
        );
        assert_eq!(caution("plasma", evacuate, ""), Some(Caution::PeroxideLeft));
        assert_eq!(caution("plasma", evacuate, COMPLETED), None);
        let expose = "stage: expose, at 07:10:00\n";
        assert_eq!(caution("steam", expose, ABORTED), Some(Caution::Hot));
        assert_eq!(caution("steam", expose, REJECTED), None);
        assert_eq!(caution("steam", expose, COMPLETED), None);
        assert_eq!(caution("eo", expose, COMPLETED), Some(Caution::GasLeft));
        assert_eq!(caution("eo", expose, ABORTED), Some(Caution::GasLeft));
        let aerated = "stage: expose, at 07:10:00\nstage: aerate, at 07:30:00\n";
        assert_eq!(caution("eo", aerated, COMPLETED), None);
        assert_eq!(caution("eo", aerated, ABORTED), Some(Caution::GasLeft));
    }

    /// 29 CFR 1910.1047 (seen): 1 ppm as an 8-hour mean, 5 ppm over 15 minutes. OSHA and NIOSH (seen): hydrogen peroxide
    /// 1 ppm, which is 1.4 mg/m3.
    #[test]
    fn limits_are_the_published_ones_and_every_caution_defers() {
        let words = |caution: Caution| {
            let row = CautionRow::of(caution);
            assert!(
                row.defers.contains("instructions for use") && row.defers.contains("local policy")
            );
            assert!(!row.sources.is_empty());
            format!("{} {}", row.said, row.more)
        };
        let gas = words(Caution::GasLeft);
        assert!(
            gas.contains("1 ppm as a mean of 8 hours")
                && gas.contains("5 ppm as a mean of 15 minutes")
        );
        let peroxide = words(Caution::PeroxideLeft);
        assert!(
            peroxide.contains("1 ppm (1.4 mg/m3) as a mean of 8 hours")
                && peroxide.contains("gloves")
        );
        assert!(words(Caution::Hot).contains("hot"));
    }
}
