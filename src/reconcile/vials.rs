//! Biological indicators: each vial once, though the log may have one entry when it is put to incubation and another when
//! it is read.
//!
//! Knows the entries of one load. A result completes the first entry of the same role, lot and beginning of incubation
//! that has no result yet; so two vials of one lot that were put in together stay two, and a result never replaces
//! another result. Read [`join_vials`] first.

use super::history::{EntryIx, KnownEntry};
use crate::record::entry::{BiResult, EntryBody};

/// The vials of a load: each with its latest entry, and the entries that those complete.
#[derive(Debug, Default, PartialEq, Eq)]
pub(super) struct Vials {
    /// Each vial's latest entry, in order of the entries.
    pub latest: Vec<EntryIx>,
    /// The entries that a later one completes.
    pub superseded: Vec<EntryIx>,
}

/// Joins the entries of biological indicators of one load, which are in order of time.
pub(super) fn join_vials(bis: &[EntryIx], entries: &[KnownEntry]) -> Vials {
    let result = |ix: &EntryIx| match &entries.get(ix.0)?.entry.body {
        EntryBody::Bi(result) => Some(result),
        _ => None,
    };
    let mut vials = Vials::default();
    // Those without a result so far.
    let mut open: Vec<EntryIx> = Vec::new();
    for ix in bis {
        let Some(bi) = result(ix) else { continue };
        if bi.growth.is_none() {
            open.push(*ix);
            continue;
        }
        let fits: Vec<usize> = open
            .iter()
            .enumerate()
            .filter(|(_, ix)| result(ix).is_some_and(|earlier| completes(bi, earlier)))
            .map(|(at, _)| at)
            .collect();
        let named_in_full = bi.role.is_some() && bi.lot.is_some() && bi.incubated.is_some();
        // A result that names its vial only in part belongs to one that is alone in fitting.
        if let Some(at) = fits.first()
            && (named_in_full || fits.len() == 1)
        {
            vials.superseded.push(open.remove(*at));
        }
        vials.latest.push(*ix);
    }
    vials.latest.append(&mut open);
    vials.latest.sort_unstable();
    vials.superseded.sort_unstable();
    vials
}

/// Whether a result may be that of the vial that an earlier entry put to incubation: nothing that both say differs.
fn completes(later: &BiResult, earlier: &BiResult) -> bool {
    fn agree<T: PartialEq>(a: Option<T>, b: Option<T>) -> bool {
        match (a, b) {
            (Some(a), Some(b)) => a == b,
            _ => true,
        }
    }
    let role = |bi: &BiResult| bi.role.as_ref().map(|role| role.value);
    let incubated = |bi: &BiResult| bi.incubated.as_ref().map(|at| at.value);
    let (a, b) = (later.lot.as_ref(), earlier.lot.as_ref());
    let lots = match (a, b) {
        (Some(a), Some(b)) => {
            agree(a.value.lot.as_ref(), b.value.lot.as_ref())
                && agree(a.value.serial.as_ref(), b.value.serial.as_ref())
                && agree(a.value.gtin.as_ref(), b.value.gtin.as_ref())
        }
        _ => true,
    };
    lots && agree(role(later), role(earlier)) && agree(incubated(later), incubated(earlier))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reconcile::Site;
    use crate::reconcile::case::bi;
    use crate::reconcile::entries::arrange_entries;
    use crate::record::entry::{BiGrowth, BiRole, Entry};

    const IN: &str = "2026-03-12 08:40";

    fn put(line: u32, role: BiRole) -> Entry {
        bi(line, IN, "A-1", role, "B771", IN, None).done()
    }

    fn read(line: u32, role: BiRole, growth: BiGrowth) -> Entry {
        let at = "2026-03-13 08:45";
        bi(line, at, "A-1", role, "B771", IN, Some(growth)).done()
    }

    fn vials(entries: Vec<Entry>) -> (Vec<usize>, Vec<usize>) {
        let known = arrange_entries(entries, Site::default(), &mut Vec::new());
        let all: Vec<EntryIx> = (0..known.len()).map(EntryIx).collect();
        let vials = join_vials(&all, &known);
        (
            vials.latest.iter().map(|ix| ix.0).collect(),
            vials.superseded.iter().map(|ix| ix.0).collect(),
        )
    }

    #[test]
    fn reading_completes_the_entry_of_incubation() {
        let entries = vec![
            put(1, BiRole::Test),
            put(2, BiRole::Control),
            read(3, BiRole::Test, BiGrowth::NoGrowth),
            read(4, BiRole::Control, BiGrowth::Growth),
        ];
        assert_eq!(vials(entries), (vec![2, 3], vec![0, 1]));
    }

    #[test]
    fn two_vials_of_one_lot_put_in_together_stay_two() {
        let entries = vec![
            put(1, BiRole::Test),
            put(2, BiRole::Test),
            read(3, BiRole::Test, BiGrowth::Growth),
            read(4, BiRole::Test, BiGrowth::NoGrowth),
        ];
        assert_eq!(vials(entries), (vec![2, 3], vec![0, 1]));
        // One of them unread is not forgotten.
        let entries = vec![
            put(1, BiRole::Test),
            put(2, BiRole::Test),
            read(3, BiRole::Test, BiGrowth::NoGrowth),
        ];
        assert_eq!(vials(entries), (vec![1, 2], vec![0]));
    }

    #[test]
    fn second_result_never_replaces_a_first() {
        let entries = vec![
            read(1, BiRole::Test, BiGrowth::Growth),
            read(2, BiRole::Test, BiGrowth::NoGrowth),
        ];
        assert_eq!(vials(entries), (vec![0, 1], vec![]));
    }

    #[test]
    fn another_lot_or_another_incubation_is_another_vial() {
        let at = "2026-03-13 08:45";
        let other_lot = bi(
            3,
            at,
            "A-1",
            BiRole::Test,
            "B772",
            IN,
            Some(BiGrowth::NoGrowth),
        );
        assert_eq!(
            vials(vec![put(1, BiRole::Test), other_lot.done()]),
            (vec![0, 1], vec![])
        );
        let other_time = "2026-03-12 09:40";
        let other = bi(
            3,
            at,
            "A-1",
            BiRole::Test,
            "B771",
            other_time,
            Some(BiGrowth::NoGrowth),
        );
        assert_eq!(
            vials(vec![put(1, BiRole::Test), other.done()]),
            (vec![0, 1], vec![])
        );
    }

    #[test]
    fn result_that_names_its_vial_in_part_belongs_to_the_only_one_that_fits() {
        let at = "2026-03-13 08:45";
        let bare = || bi(5, at, "A-1", BiRole::Test, "", "", Some(BiGrowth::NoGrowth)).done();
        assert_eq!(
            vials(vec![put(1, BiRole::Test), put(2, BiRole::Control), bare()]),
            (vec![1, 2], vec![0])
        );
        assert_eq!(
            vials(vec![put(1, BiRole::Test), put(2, BiRole::Test), bare()]),
            (vec![0, 1, 2], vec![])
        );
    }

    #[test]
    fn result_must_name_role_lot_and_incubation_to_pick_one_of_two_vials() {
        let at = "2026-03-13 08:45";
        let read = |lot: &str, incubated: &str| {
            let growth = Some(BiGrowth::NoGrowth);
            bi(5, at, "A-1", BiRole::Test, lot, incubated, growth).done()
        };
        let of = |result: Entry| vials(vec![put(1, BiRole::Test), put(2, BiRole::Test), result]);
        assert_eq!(of(read("B771", IN)), (vec![1, 2], vec![0]));
        assert_eq!(of(read("", IN)), (vec![0, 1, 2], vec![]));
        assert_eq!(of(read("B771", "")), (vec![0, 1, 2], vec![]));
        let mut nameless = read("B771", IN);
        if let EntryBody::Bi(bi) = &mut nameless.body {
            bi.role = None;
        }
        assert_eq!(of(nameless), (vec![0, 1, 2], vec![]));
    }

    #[test]
    fn serial_number_and_gtin_that_differ_are_of_another_vial() {
        let change = |mut entry: Entry, serial: &str, gtin: &str| {
            if let EntryBody::Bi(bi) = &mut entry.body {
                let lot = &mut bi.lot.as_mut().unwrap().value;
                lot.serial = Some(serial.to_owned());
                lot.gtin = Some(gtin.to_owned());
            }
            entry
        };
        let result = || read(3, BiRole::Test, BiGrowth::NoGrowth);
        let joined = |serial: &str, gtin: &str| {
            let put_in = change(put(1, BiRole::Test), "7", "09506000134352");
            vials(vec![put_in, change(result(), serial, gtin)]).1.len()
        };
        assert_eq!(joined("7", "09506000134352"), 1);
        assert_eq!(joined("8", "09506000134352"), 0);
        assert_eq!(joined("7", "06291041500213"), 0);
    }
}
