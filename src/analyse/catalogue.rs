//! The catalogue of findings: each kind's question, method with its publication, what it can't tell, what to check next.
//!
//! The order is that of harm, worst first (common practice, no source): evidence against loads that may be in use, then
//! what makes loads fail, then what will, then work lost, then records. What is to be checked next is generic and defers
//! to the device's instructions for use. Read [`FindingKind`] first.

use serde::Serialize;

macro_rules! findings {
    ($($(#[$doc:meta])* $variant:ident {
        id: $id:literal, about: $about:literal, question: $question:literal, method: $method:literal,
        cannot_tell: $cannot:literal, next: [$($next:literal),* $(,)?], bears_on_unit: $weight:literal, accepts: $accepts:literal,
    })*) => {
        /// A kind of finding. The order is that of harm.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum FindingKind {
            $($(#[$doc])* $variant,)*
        }

        impl FindingKind {
            /// Every kind in the order of harm.
            pub const ALL: &'static [FindingKind] = &[$(FindingKind::$variant,)*];

            /// Its name for machines.
            pub fn id(self) -> &'static str {
                match self { $(FindingKind::$variant => $id,)* }
            }

            /// What it is about, in a few words.
            pub fn about(self) -> &'static str {
                match self { $(FindingKind::$variant => $about,)* }
            }

            /// The question that it answers.
            pub fn question(self) -> &'static str {
                match self { $(FindingKind::$variant => $question,)* }
            }

            /// How, with the publication of the method.
            pub fn method(self) -> &'static str {
                match self { $(FindingKind::$variant => $method,)* }
            }

            /// What it can't tell.
            pub fn cannot_tell(self) -> &'static str {
                match self { $(FindingKind::$variant => $cannot,)* }
            }

            /// What to check next.
            pub fn next(self) -> &'static [&'static str] {
                match self { $(FindingKind::$variant => &[$($next,)*],)* }
            }

            /// The share of false findings that is accepted among those of its question. Over all questions the shares add
            /// up to less than one: where nothing is wrong at all, a review is expected to hold less than one false
            /// finding. Questions that cost a meeting most when they stay unanswered are given most.
            pub fn accepts(self) -> f64 {
                match self { $(FindingKind::$variant => $accepts,)* }
            }

            /// How much it bears on the unit itself when units are ranked for service: 0 not at all, 1 fully.
            pub fn bears_on_unit(self) -> f64 {
                match self { $(FindingKind::$variant => $weight,)* }
            }
        }
    };
}

findings! {
    /// A biological indicator grew.
    BiGrowth {
        id: "bi-growth", about: "BI growth",
        question: "Did a biological indicator grow after its cycle?",
        method: "A fact, no statistics: one growth is enough, whatever its control showed. Which loads it puts in doubt is drawn \
            by the policy (CDC, Guideline for Disinfection and Sterilization in Healthcare Facilities, 2008, \
            recommendations on sterilization, 16), and stands in the recall sheet.",
        cannot_tell: "Whether the cycle, the indicator, the incubator or the handling is to blame.",
        next: ["Hold and recall by local policy all loads of the recall sheet, not the one load alone.",
            "Keep the unit out of use until it has been checked and repeat tests are negative."],
        bears_on_unit: 1.0, accepts: 0.00,
    }
    /// A control did not grow.
    BiControlNoGrowth {
        id: "bi-control-no-growth", about: "BI control without growth",
        question: "Did a control fail to grow, so that its test proves nothing?",
        method: "A fact, no statistics (MMWR 52(RR-17), 2003, VI.F.6: a control of the same lot is incubated with the test).",
        cannot_tell: "Whether the lot was dead or the incubator cold.",
        next: ["Do not count the test as negative; repeat it.", "Check the incubator's temperature and the lot's storage."],
        bears_on_unit: 0.0, accepts: 0.00,
    }
    /// A load was released before the result that it had to wait for.
    ReleasedBeforeBi {
        id: "released-before-bi", about: "Implant released before its BI",
        question: "Was a load with an implant released before its biological indicator was read?",
        method: "A fact, no statistics: the release entry is earlier than the read time (MMWR 52(RR-17), 2003, VI.F.7: \
            implants are quarantined until the results are known).",
        cannot_tell: "Whether an emergency was documented elsewhere.",
        next: ["Look for the documented reason and who was told.", "Go through the release step with the shift."],
        bears_on_unit: 0.0, accepts: 0.00,
    }
    /// A stage was shorter than the least that the printout gives for it.
    StageTooShort {
        id: "stage-too-short", about: "Stage shorter than its limit",
        question: "Was a stage shorter than its printed least time, whatever the outcome says?",
        method: "A fact, no statistics: the stage's length on the unit's own clock against the limit on the same strip.",
        cannot_tell: "Whether the load was treated further elsewhere.",
        next: ["Find the load; let nobody handle it before it has had the rest by the device's instructions for use.",
            "Ask why the unit printed what it did."],
        bears_on_unit: 0.3, accepts: 0.00,
    }
    /// Indicators of a lot fail too often.
    IndicatorLot {
        id: "indicator-lot", about: "Indicator failures and a lot",
        question: "Do indicators of one lot fail more often than those of other lots in the same unit and program?",
        method: "Exact conditional test and mid-p over 2x2 tables by unit and program (Gart, Biometrika 57, 1970; Mehta, \
            Patel and Gray, JASA 80, 1985), lots against each other within units, units against each other within lots; \
            probability of at least double from the same exact likelihood with a flat prior on the log ratio.",
        cannot_tell: "Whether the lot is faulty or shows truly what other lots miss: each load stays held.",
        next: ["Hold the loads until each is decided by local policy.",
            "Run the lot beside another lot in the same loads, and ask the manufacturer; keep unused indicators of it."],
        bears_on_unit: 0.0, accepts: 0.10,
    }
    /// Indicators in a unit fail too often.
    IndicatorUnit {
        id: "indicator-unit", about: "Indicator failures and a unit",
        question: "Do indicators fail more often in one unit than in its sister units with the same lot?",
        method: "Exact conditional test and mid-p over 2x2 tables by lot (Gart 1970; Mehta, Patel and Gray 1985).",
        cannot_tell: "Whether the unit or what is loaded into it is to blame.",
        next: ["Compare loading and packing with the sister units.", "Ask service to check exposure: sterilant dose or steam, temperature, time."],
        bears_on_unit: 1.0, accepts: 0.05,
    }
    /// A unit aborts more often than it did.
    AbortRise {
        id: "abort-rise", about: "More aborts than before",
        question: "Does a unit abort more often of late than before and than its sister units?",
        method: "The last 200 cycles against all before, exact conditional test over programs with mid-p (Gart 1970); where \
            the unit was like its sisters before, they join the comparison.",
        cannot_tell: "Why: loads, people, supplies and the unit change together. Units with less than 400 cycles are not \
            asked: even a doubled rate would be missed more often than found.",
        next: ["Look at the causes printed since then, and at what changed: loads, drying, packing, supplies, service.",
            "If the causes are the unit's own (pressure, injection, power), ask service to look at them."],
        bears_on_unit: 1.0, accepts: 0.20,
    }
    /// A unit aborts more often than its sisters.
    AbortUnit {
        id: "abort-unit", about: "More aborts than sister units",
        question: "Does a unit abort, or abort for one cause, more often than units of the same process in the same programs?",
        method: "Exact conditional test over programs with mid-p (Gart 1970; Mehta, Patel and Gray 1985).",
        cannot_tell: "Whether the unit or its loads differ; compare what is put into it.",
        next: ["Compare the loads, drying and packing with those of the sister units.",
            "If the cause is the unit's own (pressure, injection, power), ask service to look at it."],
        bears_on_unit: 1.0, accepts: 0.03,
    }
    /// Aborts or rejections gather on what goes in, or on when and by whom.
    AbortFactor {
        id: "abort-factor", about: "Aborts gather on some loads",
        question: "Do aborts of one cause gather on a set, packaging, program, shift or person, or on a set on a shift?",
        method: "Exact conditional test over units with mid-p (Gart 1970) for each, and for each pair of set and shift; the \
            surest is reported, its cycles are taken out, and the rest is asked again, so that a part is not blamed for \
            the whole.",
        cannot_tell: "Cause and effect: what gathers together changes together.",
        next: ["Watch how these loads are rinsed, dried and packed, and on which shift.",
            "Dry lumens and joints fully before packaging, by the instruments' own instructions."],
        bears_on_unit: 0.0, accepts: 0.05,
    }
    /// Aborts come in a cluster.
    AbortCluster {
        id: "abort-cluster", about: "Aborts in a cluster",
        question: "Do a unit's aborts come together in a few cycles?",
        method: "Scan statistic over the cycles' order, so that busy days don't count, with a seeded Monte-Carlo p \
            (Naus, JASA 60, 1965; Kulldorff, Communications in Statistics 26, 1997).",
        cannot_tell: "Why; a cluster that has ended may have been put right already.",
        next: ["Look at what was different on these days: supplies, water, steam, loads, people, service."],
        bears_on_unit: 0.7, accepts: 0.02,
    }
    /// Aborts with one lot of sterilant or packaging.
    SupplyLot {
        id: "supply-lot", about: "Aborts and a lot of supplies",
        question: "Do cycles with one lot of sterilant or packaging abort or get rejected more often than with other lots in \
            the same unit and program?",
        method: "As for indicator lots; for sterilant the causes are injection and concentration, for packaging moisture \
            and contact.",
        cannot_tell: "Lots follow each other in time, so whatever else changed at that time is mixed with the lot.",
        next: ["Keep what is left of the lot, run another beside it, and ask the manufacturer.",
            "Check storage and expiry."],
        bears_on_unit: 0.0, accepts: 0.05,
    }
    /// The leak rate comes nearer to its limit.
    LeakCreep {
        id: "leak-creep", about: "Leak rate creeps",
        question: "Does a unit's leak rate rise from test to test, or jump?",
        method: "Mann-Kendall test with correction for autocorrelation (Hamed and Rao, J. Hydrology 204, 1998; never below \
            1), Pettitt's test for a step (Applied Statistics 28, 1979); Theil-Sen slope (Sen, JASA 63, 1968); the day of \
            the limit by inverse regression with Fieller's interval (J. R. Statist. Soc. B 16, 1954).",
        cannot_tell: "Where the leak is.",
        next: ["Ask service to look at the door seal and the valves before a test fails.",
            "Clean and look at the seal by the device's instructions for use."],
        bears_on_unit: 1.0, accepts: 0.05,
    }
    /// A stage takes longer or shorter than it did.
    StageDrift {
        id: "stage-drift", about: "A stage drifts",
        question: "Does a stage of a unit grow longer or shorter from cycle to cycle, program, first cycle of the day, load \
            size and pulses allowed for?",
        method: "Logarithms of stage lengths, less the medians of program and first of day and the slope on load size and pulses; \
            Mann-Kendall test with correction for autocorrelation (Hamed and Rao 1998; never below 1), Theil-Sen slope \
            (Sen 1968), day of the limit by inverse regression with Fieller's interval (1954).",
        cannot_tell: "Whether pump, seals, valves, gauge or loads changed.",
        next: ["Ask service to look at the pump and its oil, the door seal and the valves before loads abort.",
            "Check that loads are dried before packaging."],
        bears_on_unit: 1.0, accepts: 0.05,
    }
    /// A stage's length jumped.
    StageStep {
        id: "stage-step", about: "A stage jumped",
        question: "Did the length of a stage jump from one day to the next and stay there?",
        method: "Pettitt's test (Applied Statistics 28, 1979) on the same allowed-for lengths as the drift, against a steady \
            drift by the sum of absolute residuals; service entries, software and sterilant lots within three days are named.",
        cannot_tell: "Whether what happened on the same days made it.",
        next: ["Ask what was done to the unit on that day, and whether its settings were checked afterwards."],
        bears_on_unit: 0.8, accepts: 0.00,
    }
    /// Readings leave the unit's own usual course.
    CurveDrift {
        id: "curve-drift", about: "Readings leave their usual course",
        question: "Do the readings of a stage move away from the unit's own usual course, though no alarm came?",
        method: "Readings aligned by the share of the stage that has passed, against the unit's own median and spread in the \
            same program at that share; the cycles' median deviation is then tested like a stage's length.",
        cannot_tell: "Whether the quantity or its gauge has changed.",
        next: ["Ask service to check the quantity and its gauge: vaporiser and injection for concentration, generator for \
            power, seals and pump for pressure."],
        bears_on_unit: 1.0, accepts: 0.05,
    }
    /// Rejections gather in time or on a unit.
    RejectionCluster {
        id: "rejection-cluster", about: "Load rejections gather",
        question: "Do load rejections of one cause come together in time or on one unit?",
        method: "Scan statistic over the cycles' order with a seeded Monte-Carlo p (Naus 1965), and exact conditional test \
            against the sister units (Gart 1970).",
        cannot_tell: "Whether the sensor, the loading or the supply is to blame.",
        next: ["Look at the part that the cause names, and at how loads are laid in this unit.",
            "Ask service to check the sensor if it comes again."],
        bears_on_unit: 0.7, accepts: 0.05,
    }
    /// Rejections gather on what goes in, or on when and by whom.
    RejectionFactor {
        id: "rejection-factor", about: "Load rejections gather on a kind of load",
        question: "Do rejections of one cause gather on a set, packaging, program, shift or person?",
        method: "As for aborts.",
        cannot_tell: "Cause and effect: what gathers together changes together.",
        next: ["Watch how these loads are packed and laid."],
        bears_on_unit: 0.0, accepts: 0.02,
    }
    /// The same set fails again.
    SetRepeats {
        id: "set-repeats", about: "The same set fails again",
        question: "Does a set that was aborted or rejected fail again within days more often than others fail?",
        method: "Uses within seven days of a failure of the same set against all other uses: exact conditional test over units \
            with mid-p (Gart 1970).",
        cannot_tell: "Whether the set or its handling is to blame.",
        next: ["Take the set out, and go through rinsing, drying and packing of it step by step."],
        bears_on_unit: 0.0, accepts: 0.02,
    }
    /// A shift without signatures.
    UnsignedShift {
        id: "unsigned-shift", about: "A shift without signatures",
        question: "On which shifts were more loads left without a signature than the usual slips explain?",
        method: "Exact binomial test of each shift against the rate of all others.",
        cannot_tell: "Whether the loads were checked and only the signature is missing.",
        next: ["Ask who was on that shift, and have each load decided by local policy."],
        bears_on_unit: 0.0, accepts: 0.02,
    }
    /// Biological indicators are read late on some days.
    BiReadLate {
        id: "bi-read-late", about: "BIs read late",
        question: "Are biological indicators read late more often when they are due at the weekend?",
        method: "Read more than six hours after the usual time (the median) counts as late; exact test of the weekend against \
            weekdays (Fisher, 1935), over the places.",
        cannot_tell: "Whether someone looked in time and wrote later.",
        next: ["Arrange for someone to read them at weekends, or run the tests on days whose reading falls on a weekday."],
        bears_on_unit: 0.0, accepts: 0.02,
    }
    /// Printouts go missing.
    PrintoutsMissing {
        id: "printouts-missing", about: "Printouts missing from a unit",
        question: "Does one unit lose more printouts than the others?",
        method: "Exact test of two rates: missing counters of the unit against those of the others (Fisher, 1935).",
        cannot_tell: "Missing printouts at the very beginning or end of the records.",
        next: ["Look at the printer: paper, ribbon, jams. Print the missing strips again from the unit's memory."],
        bears_on_unit: 0.1, accepts: 0.02,
    }
}

impl Serialize for FindingKind {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.id())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_kind_says_what_it_asks_how_and_what_it_cannot_tell() {
        let mut ids: Vec<&str> = FindingKind::ALL.iter().map(|kind| kind.id()).collect();
        for kind in FindingKind::ALL {
            assert!(kind.question().ends_with('?'), "{}", kind.id());
            assert!(kind.method().ends_with('.'), "{}", kind.id());
            assert!(kind.cannot_tell().ends_with('.'), "{}", kind.id());
            assert!(!kind.next().is_empty(), "{}", kind.id());
            assert!((0.0..=1.0).contains(&kind.bears_on_unit()), "{}", kind.id());
        }
        let accepted: f64 = FindingKind::ALL.iter().map(|kind| kind.accepts()).sum();
        assert!(accepted < 1.0, "{accepted}");
        ids.sort_unstable();
        ids.dedup();
        assert_eq!(ids.len(), FindingKind::ALL.len());
    }
}
