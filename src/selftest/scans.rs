//! Clusters in time: the scan statistic of a clustered and of a uniform series.

use super::case::{Cases, Within};
use super::reference::{References, Tree};
use crate::judge::rulebook::Known;
use crate::stats::scan::{MonteCarlo, ScanPeriod, scan};

const N_REPLICATES: u32 = 9_999;

/// Runs the cases.
pub fn run(references: &References, cases: &mut Cases) {
    let file = references.json("stats/09_scan_expected.json");
    let data = references.rows("stats/09_scan_events.csv");
    for name in ["clustered", "uniform"] {
        let title = format!("27 events in a year, {name}: windows of 7, 14 and 30 days");
        let source =
            "NumPy 2.4.6, 200 000 replicates, and the tolerance stated with them; Wallenstein–Neff";
        cases.add(title, source, Known::Calculated, |case| {
            let events = data.series("series", name, "event_day")?;
            let period = ScanPeriod {
                events: &events,
                start: 0.0,
                end: 365.0,
            };
            let monte_carlo = MonteCarlo {
                n_replicates: N_REPLICATES,
                seed: 1,
            };
            let result = scan(period, &[7.0, 14.0, 30.0], monte_carlo);
            let result = case.answer("scan", result)?;
            for (window, length) in result.windows.iter().zip(["7", "14", "30"]) {
                let of = Tree(&file).of("cases")?.of(&format!("{name}_w{length}"))?;
                let what = |what: &str| format!("{length} days: {what}");
                let n = window.n_events as f64;
                let most = of.number("max_count");
                case.near(what("most events"), n, most, Within::of(0.0));
                let start = of.number("first_window_start");
                case.near(what("from day"), window.start, start, Within::of(0.0));
                let p = of.of("monte_carlo")?.number("p")?;
                let spread = p * (1.0 - p);
                let replicates = f64::from(N_REPLICATES);
                let tolerance = 4.0 * (spread / 200_000.0 + spread / replicates).sqrt() + 1e-4;
                case.near(what("p"), window.p, p, Within::of(tolerance));
                // The approximation is for small p only.
                if p < 0.02 {
                    let approximate = of.number("wallenstein_neff_approx")?;
                    let within = Within::of(tolerance + 0.1 * approximate);
                    case.near(what("p, approximately"), window.p, approximate, within);
                }
            }
            // Three lengths were tried: the p lies between the smallest and three times it (Bonferroni).
            let least = result.windows.get(result.best)?.p;
            let is_between = least <= result.p && result.p <= 3.0 * least + 1e-3;
            case.holds(
                "p over the three lengths is within Bonferroni's bounds",
                is_between,
            );
            Some(())
        });
    }
}
