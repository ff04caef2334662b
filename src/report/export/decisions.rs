//! Decisions as rows: what the records of each load support, the rules that found something, and the lines that show it.

use super::Exported;
use super::column::{Key, Text, Word, rows};
use super::loads::{first_span, in_scope};
use crate::diagnose::{FileId, Span};
use crate::judge::decision::{Evidence, Judgement, RuleHit};
use crate::judge::rulebook::find_rule;
use crate::reconcile::history::{Load, LoadIx};
use chrono::NaiveDateTime;

rows! {
    /// What the records of one load support, under the policy of its day. loadbook records support; people release.
    DecisionRow = "decisions", key ["load_key"] {
        /// The load.
        load_key: Key;
        /// Its number.
        load_number: Text;
        /// Its unit.
        unit: Option<Word>;
        /// `release`, `quarantine`, `hold`, `reject`, `recall`.
        decision: Word;
        /// The ids of the rules that made it, with a space between; none for `release`.
        deciding_rules: Option<Text>;
        /// Rules that found something. Rows of `decision_rules`.
        n_rules_hit: usize;
        /// Rules whose question was answered in favour of the load.
        n_rules_met: usize;
        /// Since when the decision stands, on the clock of the record that moved it.
        since_local: Option<NaiveDateTime>;
        /// What would change it; several sentences with a space between.
        would_change: Option<Text>;
        /// The policy that it was judged by.
        policy: Option<Word>;
        /// The moment up to which records count; none in the tables of an archive, which speak for all that it holds.
        as_of_local: Option<NaiveDateTime>;
        /// The file of the load's first printout, or of its first entry.
        file: Key;
        /// The line.
        line: u32;
    }

    /// One rule that found something in the records of one load.
    DecisionRuleRow = "decision_rules", key ["load_key", "hit_number"] {
        /// The load.
        load_key: Key;
        /// Its place among the hits of the load, from 1, the most serious first.
        hit_number: usize;
        /// The rule's id; `loadbook policy` tells more.
        rule: Word;
        /// What it does under the policy: `reject`, `hold`, `quarantine`, `note`.
        effect: Word;
        /// Whether it is one of those that made the decision.
        decides: bool;
        /// What was seen, in a sentence.
        seen: Text;
        /// What would answer it, in a sentence.
        remedy: Text;
        /// Where the rule comes from and how that is known; several with `; ` between.
        sources: Text;
        /// The places that show it. Rows of `decision_evidence` with a line.
        n_places: usize;
        /// The file of the first of them; of the load's first record where it was looked for and found nowhere.
        file: Key;
        /// The line.
        line: u32;
    }

    /// One place that shows what a rule found, or one thing that was looked for and found nowhere.
    DecisionEvidenceRow = "decision_evidence", key ["load_key", "hit_number", "evidence_number"] {
        /// The load.
        load_key: Key;
        /// The hit's place among those of the load, from 1.
        hit_number: usize;
        /// Its place among the evidence of the hit, from 1.
        evidence_number: usize;
        /// The rule's id.
        rule: Word;
        /// What is to be seen there, or what was looked for.
        said: Text;
        /// The file; none for what was found nowhere.
        file: Option<Key>;
        /// The line; none for what was found nowhere.
        line: Option<u32>;
    }
}

/// A load in scope that was judged.
struct Judged<'a> {
    load: &'a Load,
    key: Key,
    judgement: &'a Judgement,
    span: Span,
}

fn judged<'a>(exported: &'a Exported<'a>) -> impl Iterator<Item = Judged<'a>> {
    in_scope(exported).filter_map(|(ix, load): (LoadIx, &'a Load)| {
        Some(Judged {
            load,
            key: exported.keys.load(ix)?,
            judgement: exported.reviewed.judged.judgements.of(ix)?,
            span: first_span(load, exported)?,
        })
    })
}

/// The decisions about the loads in scope.
pub fn list_decisions<'a>(exported: &'a Exported<'a>) -> impl Iterator<Item = DecisionRow> + 'a {
    judged(exported).map(|judged| {
        let judgement = judged.judgement;
        let rules: Vec<&str> = judgement.deciding().iter().map(|hit| hit.rule.0).collect();
        let policies = &exported.reviewed.judged.book.policies;
        let policy = judgement.policy.and_then(|ix| policies.get(ix.0));
        DecisionRow {
            load_key: judged.key,
            load_number: Text::of(&judged.load.number.0),
            unit: judged.load.unit.as_ref().map(|unit| Word::of(&unit.0)),
            decision: Word::fixed(judgement.decision.word()),
            deciding_rules: Some(Text::of(&rules.join(" "))),
            n_rules_hit: judgement.hits.len(),
            n_rules_met: judgement.met.len(),
            since_local: judgement.history.last().and_then(|step| step.since),
            would_change: Some(Text::of(&judgement.would_change.join(" "))),
            policy: policy.map(|policy| Word::of(&policy.name)),
            as_of_local: exported.as_of,
            file: exported.file_of(&judged.span),
            line: judged.span.line,
        }
    })
}

/// The places of a piece of evidence.
fn places_of(evidence: &Evidence) -> impl Iterator<Item = (FileId, u32)> {
    let spans = evidence.spans.iter().map(|span| (span.file, span.line));
    let readings = evidence
        .readings
        .iter()
        .map(|reading| (reading.file, reading.line));
    spans.chain(readings)
}

fn places_of_hit(hit: &RuleHit) -> impl Iterator<Item = (FileId, u32)> {
    hit.evidence.iter().flat_map(places_of)
}

/// The rules that found something in the loads in scope.
pub fn list_rules<'a>(exported: &'a Exported<'a>) -> impl Iterator<Item = DecisionRuleRow> + 'a {
    judged(exported).flat_map(move |judged| {
        let n_deciding = judged.judgement.deciding().len();
        (1..)
            .zip(&judged.judgement.hits)
            .map(move |(hit_number, hit)| {
                let sources = find_rule(hit.rule.0).map_or(&[][..], |rule| rule.sources);
                let sources: Vec<String> = sources.iter().map(ToString::to_string).collect();
                let (file, line) = places_of_hit(hit)
                    .next()
                    .unwrap_or((judged.span.file, judged.span.line));
                DecisionRuleRow {
                    load_key: judged.key.clone(),
                    hit_number,
                    rule: Word::fixed(hit.rule.0),
                    effect: Word::fixed(hit.effect.word()),
                    decides: hit_number <= n_deciding,
                    seen: Text::of(&hit.seen),
                    remedy: Text::of(&hit.remedy),
                    sources: Text::of(&sources.join("; ")),
                    n_places: places_of_hit(hit).count(),
                    file: exported.file(file),
                    line,
                }
            })
    })
}

/// The lines that show what the rules found in the loads in scope.
pub fn list_evidence<'a>(
    exported: &'a Exported<'a>,
) -> impl Iterator<Item = DecisionEvidenceRow> + 'a {
    judged(exported).flat_map(move |judged| {
        let hits = (1..).zip(&judged.judgement.hits);
        hits.flat_map(move |(hit_number, hit)| {
            let places = hit.evidence.iter().flat_map(|evidence| {
                let mut places: Vec<Option<(FileId, u32)>> =
                    places_of(evidence).map(Some).collect();
                if places.is_empty() {
                    places.push(None);
                }
                places.into_iter().map(|place| (&evidence.words, place))
            });
            let rows: Vec<DecisionEvidenceRow> = (1..)
                .zip(places)
                .map(|(evidence_number, (words, place))| DecisionEvidenceRow {
                    load_key: judged.key.clone(),
                    hit_number,
                    evidence_number,
                    rule: Word::fixed(hit.rule.0),
                    said: Text::of(words),
                    file: place.map(|(file, _)| exported.file(file)),
                    line: place.map(|(_, line)| line),
                })
                .collect();
            rows
        })
    })
}
