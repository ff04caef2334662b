//! The first cycle of each unit and local day: on a cold chamber it runs differently.
//!
//! Knows cycles in order of unit and time. Warm-ups and tests do not count. Read [`mark_first_of_day`].

use super::history::KnownCycle;
use crate::record::cycle::Purpose;

/// Marks the first cycle with a load of each unit and local day.
pub(super) fn mark_first_of_day(cycles: &mut [KnownCycle]) {
    let mut last: Option<(Option<String>, chrono::NaiveDate)> = None;
    for known in cycles {
        let Some(began) = &known.began else { continue };
        if known.cycle.purpose != Purpose::Load {
            continue;
        }
        let unit = known.cycle.unit.as_ref().map(|unit| unit.value.as_str());
        let day = began.value.local.date();
        let same = matches!(&last, Some((u, d)) if u.as_deref() == unit && *d == day);
        if !same {
            known.first_of_day = true;
            last = Some((unit.map(str::to_owned), day));
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::reconcile::case::{cycle, london};
    use crate::reconcile::join_history;
    use crate::record::cycle::Purpose;

    #[test]
    fn warm_up_is_not_the_first_cycle_of_the_day_and_each_unit_has_its_own() {
        let cycles = vec![
            cycle(1, "PL-1", 1, "2026-03-12 06:00")
                .purpose(Purpose::WarmUp)
                .done(),
            cycle(20, "PL-1", 2, "2026-03-12 07:00").done(),
            cycle(40, "PL-1", 3, "2026-03-12 23:30").done(),
            cycle(60, "PL-1", 4, "2026-03-13 00:30").done(),
            cycle(80, "PL-2", 9, "2026-03-12 08:00").done(),
        ];
        let (history, _) = join_history(cycles, Vec::new(), london());
        let first: Vec<bool> = history.cycles.iter().map(|k| k.first_of_day).collect();
        assert_eq!(first, [false, true, false, true, true]);
    }
}
