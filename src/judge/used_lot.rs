//! The lots of consumables that a load used: sterilant as printed, indicators and packaging as the log has them.
//!
//! Knows nothing of rules. Read [`find_used_lots`] first.

use super::case::Case;
use crate::diagnose::Span;
use crate::record::Spanned;
use crate::record::consumable::{ConsumableKind, LotIdentity, UseCount};
use crate::record::entry::{EntryBody, LotAction};
use chrono::{NaiveDate, NaiveDateTime};

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
}

/// Every lot that the load used, each once, in the order of printout, chemical indicators, biological indicators, packaging.
///
/// Each was used when the load was in the unit; a control was used when it was put to incubation, which is the same day.
pub fn find_used_lots<'a>(case: &Case<'a>) -> Vec<UsedLot<'a>> {
    let began = case.began();
    let mut used = Vec::new();
    if let Some(known) = case.last() {
        used.extend(known.cycle.consumables.iter().map(|one| UsedLot {
            kind: one.kind,
            lot: Some(&one.lot.value).filter(|lot| lot.lot.is_some()),
            span: one.lot.span,
            when: began,
            use_count: one.use_count,
        }));
    }
    let mut push = |kind, lot: Option<&'a Spanned<LotIdentity>>, span: Span| {
        used.push(UsedLot {
            kind,
            lot: lot.map(|lot| &lot.value).filter(|lot| lot.lot.is_some()),
            span: lot.map_or(span, |lot| lot.span),
            when: began,
            use_count: None,
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
    let mut once: Vec<UsedLot<'_>> = Vec::new();
    for one in used {
        let same = |other: &UsedLot<'_>| {
            other.kind == one.kind && other.lot.is_some() && other.lot == one.lot
        };
        if !once.iter().any(same) {
            once.push(one);
        }
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

impl UsedLot<'_> {
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

    /// Changes of the lot in the log, in order.
    fn changes(&self, case: &Case<'_>) -> Vec<(LotAction, NaiveDateTime, Span, Option<NaiveDate>)> {
        let Some(lot) = self.lot.and_then(|lot| lot.lot.as_ref()) else {
            return Vec::new();
        };
        let entries = case.index.lots.get(&(self.kind, lot));
        entries
            .into_iter()
            .flatten()
            .filter_map(|ix| {
                let known = case.index.entry(*ix)?;
                let EntryBody::Lot(change) = &known.entry.body else {
                    return None;
                };
                let at = known.written?.local;
                let expiry = change.lot.as_ref().and_then(|lot| lot.value.expiry);
                case.had_come(Some(at)).then_some((
                    change.action.as_ref()?.value,
                    at,
                    known.entry.span,
                    expiry,
                ))
            })
            .collect()
    }

    /// Its last day: as given where it was used, else where it was opened.
    pub fn expiry(&self, case: &Case<'_>) -> Option<NaiveDate> {
        let own = self.lot.and_then(|lot| lot.expiry);
        own.or_else(|| {
            self.changes(case)
                .into_iter()
                .find_map(|(_, _, _, expiry)| expiry)
        })
    }

    /// When it was first opened, and where that stands.
    pub fn first_opened(&self, case: &Case<'_>) -> Option<(NaiveDateTime, Span)> {
        self.changes(case)
            .into_iter()
            .find(|(action, ..)| *action == LotAction::Opened)
            .map(|(_, at, span, _)| (at, span))
    }

    /// When it was last opened before a moment, and where that stands.
    pub fn last_opened(
        &self,
        case: &Case<'_>,
        when: NaiveDateTime,
    ) -> Option<(NaiveDateTime, Span)> {
        self.changes(case)
            .into_iter()
            .rfind(|(action, at, ..)| *action == LotAction::Opened && *at <= when)
            .map(|(_, at, span, _)| (at, span))
    }

    /// When it was finished, if the last thing that the log says of it before a moment is that.
    pub fn finished_before(
        &self,
        case: &Case<'_>,
        when: NaiveDateTime,
    ) -> Option<(NaiveDateTime, Span)> {
        self.changes(case)
            .into_iter()
            .rfind(|(_, at, ..)| *at <= when)
            .filter(|(action, ..)| *action == LotAction::Finished)
            .map(|(_, at, span, _)| (at, span))
    }
}
