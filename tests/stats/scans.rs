//! File 09 (C): numpy Monte Carlo, 200 000 replicates, seed 9, and the tolerance stated there. The Wallenstein–Neff column (M) is
//! an approximation for small p and is compared as such.

use super::{json, number, rows};
use loadbook::stats::scan::{MonteCarlo, ScanPeriod, scan};

const N_REPLICATES: u32 = 9_999;

#[test]
fn fullest_windows_and_their_p_are_those_of_the_reference() {
    let expected = json("09_scan_expected.json");
    for name in ["clustered", "uniform"] {
        let events = rows("09_scan_events.csv").series("series", name, "event_day");
        let period = ScanPeriod {
            events: &events,
            start: 0.0,
            end: 365.0,
        };
        let monte_carlo = MonteCarlo {
            n_replicates: N_REPLICATES,
            seed: 1,
        };
        let lengths = [7.0, 14.0, 30.0];
        let result = scan(period, &lengths, monte_carlo).unwrap();
        for (window, length) in result.windows.iter().zip(["7", "14", "30"]) {
            let case = &expected["cases"][format!("{name}_w{length}")];
            assert_eq!(window.n_events as f64, number(&case["max_count"]));
            assert_eq!(window.start, number(&case["first_window_start"]));
            let p = number(&case["monte_carlo"]["p"]);
            let spread = p * (1.0 - p);
            let replicates = f64::from(N_REPLICATES);
            let tolerance = 4.0 * (spread / 200_000.0 + spread / replicates).sqrt() + 1e-4;
            assert!(
                (window.p - p).abs() <= tolerance,
                "{name} {length}: {} for {p}",
                window.p
            );
            if p < 0.02 {
                let approximate = number(&case["wallenstein_neff_approx"]);
                assert!((window.p - approximate).abs() <= tolerance + 0.1 * approximate);
            }
        }
        // Three lengths were tried: the p lies between the smallest and three times it (Bonferroni).
        let least = result.windows[result.best].p;
        assert!(least <= result.p && result.p <= 3.0 * least + 1e-3);
        assert_eq!(result, scan(period, &lengths, monte_carlo).unwrap());
    }
}
