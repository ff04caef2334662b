//! The lots of consumables that a load used: sterilant as printed, indicators and packaging as the log has them.
//!
//! Knows nothing of rules. Read [`find_used_lots`] first.

use super::case::Case;
use crate::diagnose::Span;
use crate::reconcile::history::KnownEntry;
use crate::record::Spanned;
use crate::record::consumable::{ConsumableKind, LotIdentity, UseCount};
use crate::record::entry::{LotAction, LotChange};
use chrono::{NaiveDate, NaiveDateTime};
use std::collections::BTreeSet;

/// A lot that a load used.
#[derive(Debug, Clone, Copy)]
pub struct UsedLot<'a> {
    /// The kind.
    pub kind: ConsumableKind,
    /// The lot. `None` where the record gives none.
    pub lot: Option<&'a LotIdentity>,
    /// Where that is written, or where it should be.
    pub span: Span,
    /// When it was used.
    pub when: Option<NaiveDateTime>,
    /// Which use of a supply it was.
    pub use_count: Option<UseCount>,
    /// What the log says of the lot, in order.
    entries: &'a [LotEntry],
}

/// What an entry of the log says of a lot.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LotEntry {
    /// What was done with it.
    pub action: LotAction,
    /// When that was written.
    pub at: NaiveDateTime,
    /// Where it stands.
    pub span: Span,
    /// The lot's last day.
    pub expiry: Option<NaiveDate>,
}

impl LotEntry {
    /// What an entry says of a lot. `None` when it does not say what was done with it, or when.
    pub fn of(known: &KnownEntry, change: &LotChange) -> Option<Self> {
        Some(LotEntry {
            action: change.action.as_ref()?.value,
            at: known.written?.local,
            span: known.entry.span,
            expiry: change.lot.as_ref().and_then(|lot| lot.value.expiry),
        })
    }
}

/// Every lot that the load used, each once, in the order of printout, chemical indicators, biological indicators, packaging.
///
/// Each was used when the load was in the unit; a control was used when it was put to incubation, which is the same day.
pub fn find_used_lots<'k, 'a>(case: &'k Case<'a>) -> &'k [UsedLot<'a>] {
    case.keep_all(&case.kept.used_lots, || look_for_used_lots(case))
}

fn look_for_used_lots<'a>(case: &Case<'a>) -> Vec<UsedLot<'a>> {
    let began = case.began();
    let mut used = Vec::new();
    if let Some(known) = case.last() {
        used.extend(known.cycle.consumables.iter().map(|one| UsedLot {
            kind: one.kind,
            lot: Some(&one.lot.value).filter(|lot| lot.lot.is_some()),
            span: one.lot.span,
            when: began,
            use_count: one.use_count,
            entries: &[],
        }));
    }
    let mut push = |kind, lot: Option<&'a Spanned<LotIdentity>>, span: Span| {
        used.push(UsedLot {
            kind,
            lot: lot.map(|lot| &lot.value).filter(|lot| lot.lot.is_some()),
            span: lot.map_or(span, |lot| lot.span),
            when: began,
            use_count: None,
            entries: &[],
        });
    };
    for ci in case.cis() {
        push(ConsumableKind::Ci, ci.says.lot.as_ref(), ci.span());
    }
    for bi in case.bis() {
        push(ConsumableKind::Bi, bi.says.lot.as_ref(), bi.span());
    }
    // A rigid container has no lot, so that packaging without one lacks nothing.
    for content in case.contents() {
        if let Some(lot) = &content.says.packaging_lot {
            push(ConsumableKind::Packaging, Some(lot), lot.span);
        }
    }
    // The same lot with the same last day says the same each time.
    let mut seen: BTreeSet<(ConsumableKind, &LotIdentity)> = BTreeSet::new();
    let mut once: Vec<UsedLot<'_>> = Vec::with_capacity(used.len());
    for mut one in used {
        if one.lot.is_some_and(|lot| !seen.insert((one.kind, lot))) {
            continue;
        }
        let number = one.lot.and_then(|lot| lot.lot.as_ref());
        let entries = number.and_then(|number| case.index.lots.get(&(one.kind, number)));
        one.entries = entries.map_or(&[], Vec::as_slice);
        once.push(one);
    }
    once
}

/// Whether the log had any lot of a kind opened before a moment: only then did it keep account of that kind.
pub fn has_openings_before(case: &Case<'_>, kind: ConsumableKind, when: NaiveDateTime) -> bool {
    case.index
        .first_opening
        .get(&kind)
        .is_some_and(|first| *first < when)
}

impl<'a> UsedLot<'a> {
    /// The kind in plain words.
    pub fn kind_word(&self) -> &'static str {
        match self.kind {
            ConsumableKind::Sterilant => "the sterilant",
            ConsumableKind::Ci => "a chemical indicator",
            ConsumableKind::Bi => "a biological indicator",
            ConsumableKind::Packaging => "the packaging",
            ConsumableKind::Other => "a consumable",
        }
    }

    /// The lot in words: `lot B771 (bi)`.
    pub fn name(&self) -> String {
        match self.lot.and_then(|lot| lot.lot.as_ref()) {
            Some(lot) => format!("lot {lot} ({})", self.kind.word()),
            None => format!("a lot ({})", self.kind.word()),
        }
    }

    /// Its last day: as given where it was used, else where it was opened.
    pub fn expiry(&self, case: &Case<'_>) -> Option<NaiveDate> {
        let own = self.lot.and_then(|lot| lot.expiry);
        own.or_else(|| self.come(case).find_map(|entry| entry.expiry))
    }

    /// What the log said of the lot by the moment of the case, in order.
    fn come<'k>(&self, case: &'k Case<'_>) -> impl DoubleEndedIterator<Item = &'a LotEntry> + 'k
    where
        'a: 'k,
    {
        let entries = self.entries.iter();
        entries.filter(|entry| case.had_come(Some(entry.at)))
    }

    /// The same, without what happened later than a moment: whether that has come is not asked.
    fn come_by<'k>(
        &self,
        case: &'k Case<'_>,
        when: NaiveDateTime,
    ) -> impl DoubleEndedIterator<Item = &'a LotEntry> + 'k
    where
        'a: 'k,
    {
        let entries = self.entries.iter().filter(move |entry| entry.at <= when);
        entries.filter(|entry| case.had_come(Some(entry.at)))
    }

    /// When it was first opened, and where that stands.
    pub fn first_opened(&self, case: &Case<'_>) -> Option<(NaiveDateTime, Span)> {
        self.come(case)
            .find(|entry| entry.action == LotAction::Opened)
            .map(|entry| (entry.at, entry.span))
    }

    /// When it was last opened before a moment, and where that stands.
    pub fn last_opened(
        &self,
        case: &Case<'_>,
        when: NaiveDateTime,
    ) -> Option<(NaiveDateTime, Span)> {
        self.come_by(case, when)
            .rfind(|entry| entry.action == LotAction::Opened)
            .map(|entry| (entry.at, entry.span))
    }

    /// When it was finished, if the last thing that the log says of it before a moment is that.
    pub fn finished_before(
        &self,
        case: &Case<'_>,
        when: NaiveDateTime,
    ) -> Option<(NaiveDateTime, Span)> {
        self.come_by(case, when)
            .next_back()
            .filter(|entry| entry.action == LotAction::Finished)
            .map(|entry| (entry.at, entry.span))
    }
}
