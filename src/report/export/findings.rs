//! Findings as rows: what is unusual, how sure, and the records that each rests on.

use super::Exported;
use super::column::{Key, Real, Text, Word, rows};
use crate::analyse::finding::Attribution;
use chrono::NaiveDate;

rows! {
    /// One thing that is unusual. A finding is a reason to look, not a verdict.
    FindingRow = "findings", key ["finding_number"] {
        /// Its place, from 1, the worst harm first. Another export may number it otherwise.
        finding_number: usize;
        /// The id of its kind.
        finding: Word;
        /// What it is about, in a few words.
        about: Word;
        /// The unit that it is about.
        unit: Option<Word>;
        /// The program that it is about.
        program: Option<Word>;
        /// The stage that it is about.
        stage: Option<Word>;
        /// The lot that it is about.
        lot: Option<Word>;
        /// The printed cause that it is about.
        cause: Option<Word>;
        /// What the cases have in common: a set, a shift, a person, a packaging.
        factor: Option<Text>;
        /// The finding in a sentence.
        said: Text;
        /// What `effect_estimate` measures.
        effect_measure: Option<Word>;
        /// How large the effect is.
        effect_estimate: Real;
        /// The lower end of its interval; none where the data leave that end open.
        effect_low: Real;
        /// The upper end of its interval; none where the data leave that end open.
        effect_high: Real;
        /// The level of the interval, such as 0.9.
        effect_level: Real;
        /// The probability of at least this much by chance alone; none for a fact that needs no statistics.
        p: Real;
        /// The same after correction for all comparisons of its question (Benjamini and Hochberg).
        p_adjusted: Real;
        /// The comparisons that its question made.
        n_comparisons: Option<usize>;
        /// The share of false findings that is accepted among those of its question.
        accepted_share: Real;
        /// The day on which a limit is going to be met if it goes on.
        forecast_date: Option<NaiveDate>;
        /// The earliest such day.
        forecast_earliest: Option<NaiveDate>;
        /// The latest such day; none where the data leave that end open.
        forecast_latest: Option<NaiveDate>;
        /// What that limit is.
        forecast_limit: Option<Text>;
        /// Whether it follows the `lot`, the `unit`, or is `undecided`.
        attribution: Option<Word>;
        /// What else was seen of the same matter; several sentences with a space between.
        also: Option<Text>;
        /// What else explains it; several sentences with a space between.
        else_explains: Option<Text>;
        /// What to check next; several sentences with a space between.
        next: Option<Text>;
        /// How it was found, with the publication.
        method: Text;
        /// What it can't tell.
        cannot_tell: Text;
        /// The records that it rests on; `finding_evidence` lists the newest of a long list.
        n_evidence: usize;
        /// The file of the first record that is listed.
        file: Option<Key>;
        /// The line.
        line: Option<u32>;
    }

    /// One record that a finding rests on.
    FindingEvidenceRow = "finding_evidence", key ["finding_number", "evidence_number"] {
        /// The finding.
        finding_number: usize;
        /// Its place among the evidence of the finding, from 1, in order of time.
        evidence_number: usize;
        /// Its day.
        day: Option<NaiveDate>;
        /// What is to be seen there.
        said: Text;
        /// The file.
        file: Key;
        /// The line.
        line: u32;
    }
}

/// The findings in scope.
pub fn list_findings<'a>(exported: &'a Exported<'a>) -> impl Iterator<Item = FindingRow> + 'a {
    (1..)
        .zip(&exported.findings.findings)
        .map(|(finding_number, found)| {
            let words = |text: &Option<String>| text.as_deref().map(Word::of);
            let effect = found.effect.as_ref();
            let forecast = found.forecast.as_ref();
            let first = found.evidence.first().map(|evidence| &evidence.place);
            FindingRow {
                finding_number,
                finding: Word::fixed(found.kind.id()),
                about: Word::fixed(found.about),
                unit: words(&found.subject.unit),
                program: words(&found.subject.program),
                stage: words(&found.subject.stage),
                lot: words(&found.subject.lot),
                cause: words(&found.subject.cause),
                factor: found.subject.factor.as_deref().map(Text::of),
                said: Text::of(&found.said),
                effect_measure: effect.map(|effect| Word::fixed(effect.measure)),
                effect_estimate: Real::of(effect.map(|effect| effect.estimate)),
                effect_low: Real::of(effect.map(|effect| effect.low)),
                effect_high: Real::of(effect.map(|effect| effect.high)),
                effect_level: Real::of(effect.map(|effect| effect.level)),
                p: Real::of(found.surety.map(|surety| surety.p)),
                p_adjusted: Real::of(found.surety.map(|surety| surety.p_adjusted)),
                n_comparisons: found.surety.map(|surety| surety.n_comparisons),
                accepted_share: Real::of(found.surety.map(|surety| surety.accepted)),
                forecast_date: forecast.map(|forecast| forecast.day),
                forecast_earliest: forecast.map(|forecast| forecast.earliest),
                forecast_latest: forecast.and_then(|forecast| forecast.latest),
                forecast_limit: forecast.map(|forecast| Text::of(&forecast.limit)),
                attribution: found.attribution.map(|attribution| {
                    Word::fixed(match attribution {
                        Attribution::Lot => "lot",
                        Attribution::Unit => "unit",
                        Attribution::Undecided => "undecided",
                    })
                }),
                also: Some(Text::of(&found.also.join(" "))),
                else_explains: Some(Text::of(&found.else_explains.join(" "))),
                next: Some(Text::of(&found.next.join(" "))),
                method: Text::fixed(found.method),
                cannot_tell: Text::fixed(found.cannot_tell),
                n_evidence: found.n_evidence,
                file: first.map(|place| Key::of(&place.file)),
                line: first.map(|place| place.line),
            }
        })
}

/// The records that the findings in scope rest on.
pub fn list_evidence<'a>(
    exported: &'a Exported<'a>,
) -> impl Iterator<Item = FindingEvidenceRow> + 'a {
    (1..)
        .zip(&exported.findings.findings)
        .flat_map(|(finding_number, found)| {
            (1..)
                .zip(&found.evidence)
                .map(move |(evidence_number, evidence)| FindingEvidenceRow {
                    finding_number,
                    evidence_number,
                    day: evidence.day.as_ref().and_then(|day| day.parse().ok()),
                    said: Text::of(&evidence.said),
                    file: Key::of(&evidence.place.file),
                    line: evidence.place.line,
                })
        })
}
