//! The scan statistic's simulation.

use loadbook::selftest::reference::References;
use loadbook::stats::scan::{MonteCarlo, ScanPeriod, scan};

#[test]
fn same_seed_gives_the_same_answer() {
    let rows = References::embedded().rows("stats/09_scan_events.csv");
    let events = rows.series("series", "clustered", "event_day").unwrap();
    let period = ScanPeriod {
        events: &events,
        start: 0.0,
        end: 365.0,
    };
    let with = |seed| {
        let monte_carlo = MonteCarlo {
            n_replicates: 999,
            seed,
        };
        scan(period, &[7.0, 14.0, 30.0], monte_carlo).unwrap()
    };
    assert_eq!(with(1), with(1));
    assert_ne!(with(1), with(2));
}
