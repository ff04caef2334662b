//! What a load's records lack, by fact alone and under no policy.
//!
//! Knows loads with their cycles and entries. Whether something lacking matters is for policy to say. Read
//! [`find_lacking`] first.

use super::history::{EntryIx, KnownCycle, KnownEntry, Lack, Load};
use super::moments::read_stamp;
use crate::record::entry::{BiResult, BiRole, CiPosition, EntryBody};
use crate::record::name::LotNumber;
use std::collections::BTreeMap;

/// How far apart two vials may be put to incubation and still share a control: one control is run with each lot each
/// day. Common practice, no source.
const SHARED_CONTROL_SECONDS: i64 = 86_400;

/// When controls with a result were put to incubation, by lot; a control may stand under another load of that day.
pub(super) struct Controls<'a> {
    by_lot: BTreeMap<&'a LotNumber, Vec<i64>>,
}

impl<'a> Controls<'a> {
    /// The controls among all entries.
    pub(super) fn among(entries: &'a [KnownEntry]) -> Self {
        let mut by_lot: BTreeMap<&LotNumber, Vec<i64>> = BTreeMap::new();
        for known in entries {
            let EntryBody::Bi(bi) = &known.entry.body else {
                continue;
            };
            if role(bi) != BiRole::Control || bi.growth.is_none() {
                continue;
            }
            if let (Some(lot), Some(at)) = (lot(bi), incubated_seconds(known, bi)) {
                by_lot.entry(lot).or_default().push(at);
            }
        }
        for times in by_lot.values_mut() {
            times.sort_unstable();
        }
        Controls { by_lot }
    }

    /// Whether a control of the same lot, put to incubation on the same day, has a result.
    fn has_one_for(&self, known: &KnownEntry, bi: &BiResult) -> bool {
        let (Some(lot), Some(at)) = (lot(bi), incubated_seconds(known, bi)) else {
            return false;
        };
        let Some(times) = self.by_lot.get(lot) else {
            return false;
        };
        let first = times.partition_point(|t| *t < at.saturating_sub(SHARED_CONTROL_SECONDS));
        times
            .get(first)
            .is_some_and(|t| *t <= at.saturating_add(SHARED_CONTROL_SECONDS))
    }
}

/// A vial of which the log does not say what it was counts as a test.
fn role(bi: &BiResult) -> BiRole {
    bi.role.as_ref().map_or(BiRole::Test, |role| role.value)
}

fn lot(bi: &BiResult) -> Option<&LotNumber> {
    bi.lot.as_ref()?.value.lot.as_ref()
}

/// When the vial was put to incubation; else when the entry was written.
pub(super) fn incubated_seconds(known: &KnownEntry, bi: &BiResult) -> Option<i64> {
    match &bi.incubated {
        Some(at) => {
            // A stamp within the entry is of the entry's zone, whose offset its own time shows.
            let zone = known.entry.zone.as_ref().map(|zone| zone.value);
            let moment = read_stamp(&at.value, zone).first();
            Some(match (moment.utc, known.written) {
                (None, Some(written)) => {
                    let local = written.local.and_utc().timestamp();
                    let offset = written.rough_seconds().saturating_sub(local);
                    moment.rough_seconds().saturating_add(offset)
                }
                _ => moment.rough_seconds(),
            })
        }
        None => known.written.map(|written| written.rough_seconds()),
    }
}

/// What the records of a load lack, sorted.
pub(super) fn find_lacking(
    load: &Load,
    cycles: &[KnownCycle],
    entries: &[KnownEntry],
    controls: &Controls<'_>,
) -> Vec<Lack> {
    let mut lacking = Vec::new();
    let mut say = |lack: Lack, lacks: bool| {
        if lacks {
            lacking.push(lack);
        }
    };
    let own = || load.cycles.iter().filter_map(|ix| cycles.get(ix.0));
    say(Lack::NoPrintout, load.cycles.is_empty());
    say(Lack::TornPrintout, own().any(|known| !known.cycle.closed));
    say(
        Lack::NoOutcome,
        own().any(|known| known.cycle.outcome.is_none()),
    );
    say(Lack::NoLog, load.n_entries() == 0);

    let has_ci = |wanted: CiPosition| {
        load.cis.iter().any(|ix| {
            matches!(
                entries.get(ix.0).map(|known| &known.entry.body),
                Some(EntryBody::Ci(ci)) if ci.endpoint.is_some()
                    && ci.position.as_ref().is_some_and(|position| position.value == wanted)
            )
        })
    };
    say(Lack::NoExternalCi, !has_ci(CiPosition::External));
    say(Lack::NoInternalCi, !has_ci(CiPosition::Internal));

    let bi = |ix: &EntryIx| {
        let known = entries.get(ix.0)?;
        match &known.entry.body {
            EntryBody::Bi(bi) => Some((known, bi)),
            _ => None,
        }
    };
    let tests = || {
        load.bis
            .iter()
            .filter_map(bi)
            .filter(|(_, bi)| role(bi) == BiRole::Test)
    };
    let own_control_read = load
        .bis
        .iter()
        .filter_map(bi)
        .any(|(_, bi)| role(bi) == BiRole::Control && bi.growth.is_some());
    say(Lack::BiNotRead, tests().any(|(_, bi)| bi.growth.is_none()));
    say(
        Lack::BiControlNotRead,
        !own_control_read
            && tests()
                .filter(|(_, bi)| bi.growth.is_some())
                .any(|(known, bi)| !controls.has_one_for(known, bi)),
    );
    let signed = load.decisions.iter().any(|ix| {
        matches!(
            entries.get(ix.0).map(|known| &known.entry.body),
            Some(EntryBody::Release | EntryBody::Hold)
        )
    });
    say(Lack::NotSigned, !signed);
    lacking
}

#[cfg(test)]
mod tests {
    use super::incubated_seconds;
    use crate::reconcile::case::{bi, ci, cycle, local, london, release, start};
    use crate::reconcile::entries::arrange_entries;
    use crate::reconcile::history::Lack;
    use crate::reconcile::join_history;
    use crate::record::cycle::Cycle;
    use crate::record::entry::{BiGrowth, BiRole, CiPosition, Entry, EntryBody};

    const AT: &str = "2026-03-12 08:40";

    fn lacking(cycles: Vec<Cycle>, entries: Vec<Entry>) -> Vec<Lack> {
        let (history, _) = join_history(cycles, entries, london());
        let load = history.loads.iter().find(|l| l.number.as_str() == "A-1");
        load.unwrap().lacking.clone()
    }

    fn strip() -> Cycle {
        cycle(1, "PL-1", 1042, "2026-03-12 07:41")
            .load("A-1")
            .done()
    }

    fn complete_log() -> Vec<Entry> {
        let read = |line, role, growth| bi(line, AT, "A-1", role, "B771", AT, Some(growth)).done();
        vec![
            start(1, "2026-03-12 07:35", "A-1").done(),
            ci(2, AT, "A-1", CiPosition::External).done(),
            ci(3, AT, "A-1", CiPosition::Internal).done(),
            read(4, BiRole::Test, BiGrowth::NoGrowth),
            read(5, BiRole::Control, BiGrowth::Growth),
            release(6, "2026-03-13 09:00", "A-1").done(),
        ]
    }

    #[test]
    fn complete_records_lack_nothing() {
        assert_eq!(lacking(vec![strip()], complete_log()), []);
    }

    #[test]
    fn each_thing_left_out_is_named() {
        for (line, lack) in [
            (2, Lack::NoExternalCi),
            (3, Lack::NoInternalCi),
            (5, Lack::BiControlNotRead),
            (6, Lack::NotSigned),
        ] {
            let mut log = complete_log();
            log.retain(|entry| entry.span.line != line);
            assert_eq!(lacking(vec![strip()], log), [lack], "without line {line}");
        }
        assert_eq!(lacking(Vec::new(), complete_log()), [Lack::NoPrintout]);
        assert_eq!(
            lacking(vec![strip()], Vec::new()),
            [
                Lack::NoLog,
                Lack::NoExternalCi,
                Lack::NoInternalCi,
                Lack::NotSigned
            ]
        );
        let torn = cycle(1, "PL-1", 1042, "2026-03-12 07:41")
            .load("A-1")
            .torn()
            .done();
        assert_eq!(
            lacking(vec![torn], complete_log()),
            [Lack::TornPrintout, Lack::NoOutcome]
        );
    }

    #[test]
    fn incubating_vial_is_not_read() {
        let mut log = complete_log();
        log[3] = bi(4, AT, "A-1", BiRole::Test, "B771", AT, None).done();
        assert_eq!(lacking(vec![strip()], log), [Lack::BiNotRead]);
    }

    #[test]
    fn control_of_the_same_lot_and_day_under_another_load_serves() {
        let with_control = |lot: &str, at: &str| {
            let mut log = complete_log();
            log[4] = bi(
                5,
                "2026-03-14 09:00",
                "A-2",
                BiRole::Control,
                lot,
                at,
                Some(BiGrowth::Growth),
            )
            .done();
            lacking(vec![strip()], log)
        };
        assert_eq!(with_control("B771", "2026-03-12 15:00"), []);
        assert_eq!(
            with_control("B771", "2026-03-14 08:41"),
            [Lack::BiControlNotRead]
        );
        assert_eq!(
            with_control("B772", "2026-03-12 15:00"),
            [Lack::BiControlNotRead]
        );
    }

    #[test]
    fn control_put_in_a_day_before_or_after_serves_to_the_minute() {
        let with_control = |at: &str, growth: Option<BiGrowth>| {
            let mut log = complete_log();
            let written = "2026-03-15 09:00";
            log[4] = bi(5, written, "A-2", BiRole::Control, "B771", at, growth).done();
            lacking(vec![strip()], log)
        };
        let read = Some(BiGrowth::Growth);
        for (at, lacks) in [
            ("2026-03-11 08:40", false),
            ("2026-03-11 08:39", true),
            ("2026-03-13 08:40", false),
            ("2026-03-13 08:41", true),
        ] {
            let lacking = with_control(at, read);
            assert_eq!(lacking == [Lack::BiControlNotRead], lacks, "{at}");
        }
        // One that was not read tells nothing.
        assert_eq!(
            with_control("2026-03-12 08:40", None),
            [Lack::BiControlNotRead]
        );
    }

    #[test]
    fn control_of_the_load_itself_serves_whatever_its_lot() {
        let mut log = complete_log();
        let own = |growth| bi(5, AT, "A-1", BiRole::Control, "B999", AT, growth).done();
        log[4] = own(Some(BiGrowth::Growth));
        assert_eq!(lacking(vec![strip()], log.clone()), []);
        log[4] = own(None);
        assert_eq!(lacking(vec![strip()], log), [Lack::BiControlNotRead]);
    }

    #[test]
    fn vial_is_put_in_at_the_offset_of_the_line_it_stands_on() {
        let seconds = |written: &str, incubated: &str| {
            let one = bi(1, written, "A-1", BiRole::Test, "B771", incubated, None).done();
            let known = arrange_entries(vec![one], london(), &mut Vec::new());
            let EntryBody::Bi(bi) = &known[0].entry.body else {
                panic!("it is one");
            };
            incubated_seconds(&known[0], bi)
        };
        let utc = |text: &str| Some(local(text).and_utc().timestamp());
        // Summer time: an hour before what the clock shows.
        let written = "2026-07-01 09:00";
        assert_eq!(
            seconds(written, "2026-07-01 08:40"),
            utc("2026-07-01 07:40")
        );
        assert_eq!(seconds(written, ""), utc("2026-07-01 08:00"));
        assert_eq!(seconds("", "2026-07-01 08:40"), utc("2026-07-01 08:40"));
        assert_eq!(seconds("", ""), None);
    }
}
