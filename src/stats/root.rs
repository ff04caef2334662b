//! Where a continuous function crosses 0.
//!
//! R. P. Brent, *Algorithms for Minimization without Derivatives* (1973), chapter 4: bisection that is hastened by
//! interpolation wherever that is safe.

/// A root between `low` and `high`, to the last places of a double; nothing if the function has the same sign at both
/// ends or isn't a number there.
pub(super) fn find_root(mut f: impl FnMut(f64) -> f64, low: f64, high: f64) -> Option<f64> {
    let (mut a, mut b) = (low, high);
    let (mut fa, mut fb) = (f(a), f(b));
    if fa == 0.0 {
        return Some(a);
    }
    if fb == 0.0 {
        return Some(b);
    }
    if fa.is_nan() || fb.is_nan() || (fa > 0.0) == (fb > 0.0) {
        return None;
    }
    let (mut c, mut fc) = (a, fa);
    let mut step = b - a;
    let mut step_before = step;
    // Bisection alone needs fewer than 2100 halvings for any two doubles; interpolation needs about 10 steps.
    for _ in 0..2200 {
        if fc.abs() < fb.abs() {
            (a, fa) = (b, fb);
            (b, fb) = (c, fc);
            (c, fc) = (a, fa);
        }
        let tolerance = 2.0 * f64::EPSILON * b.abs() + f64::MIN_POSITIVE;
        let half = (c - b) / 2.0;
        if half.abs() <= tolerance || fb == 0.0 {
            return Some(b);
        }
        if step_before.abs() < tolerance || fa.abs() <= fb.abs() {
            step = half;
            step_before = half;
        } else {
            let s = fb / fa;
            let (mut p, mut q) = if a == c {
                (2.0 * half * s, 1.0 - s)
            } else {
                let (q, r) = (fa / fc, fb / fc);
                (
                    s * (2.0 * half * q * (q - r) - (b - a) * (r - 1.0)),
                    (q - 1.0) * (r - 1.0) * (s - 1.0),
                )
            };
            if p > 0.0 {
                q = -q;
            } else {
                p = -p;
            }
            let is_safe =
                2.0 * p < (3.0 * half * q - (tolerance * q).abs()).min((step_before * q).abs());
            if is_safe {
                step_before = step;
                step = p / q;
            } else {
                step = half;
                step_before = half;
            }
        }
        (a, fa) = (b, fb);
        b += if step.abs() > tolerance {
            step
        } else {
            tolerance.copysign(half)
        };
        fb = f(b);
        if fb.is_nan() {
            return None;
        }
        if (fb > 0.0) == (fc > 0.0) {
            (c, fc) = (a, fa);
            step = b - a;
            step_before = step;
        }
    }
    Some(b)
}

/// A root of a function that changes sign once on the real line, sought outward from `start`, at most as far as
/// `reach` on either side.
pub(super) fn find_root_outward(
    mut f: impl FnMut(f64) -> f64,
    start: f64,
    reach: f64,
) -> Option<f64> {
    let mut width = 1.0;
    let (mut low, mut high) = (start - width, start + width);
    loop {
        let (at_low, at_high) = (f(low), f(high));
        if at_low.is_nan() || at_high.is_nan() {
            return None;
        }
        if (at_low > 0.0) != (at_high > 0.0) {
            return find_root(f, low, high);
        }
        if width >= reach {
            return None;
        }
        width = (width * 2.0).min(reach);
        low = start - width;
        high = start + width;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn root_of_a_cubic_is_found_to_the_last_places() {
        // x³ − 2x − 5 = 0 at 2.0945514815423265… (Wallis 1685, the standard example for root finders).
        let root = find_root(|x| x * x * x - 2.0 * x - 5.0, 2.0, 3.0).unwrap();
        assert!((root - 2.094_551_481_542_326_5).abs() < 1e-14);
    }

    #[test]
    fn no_root_is_no_root() {
        assert_eq!(find_root(|x| x * x + 1.0, -1.0, 1.0), None);
        assert_eq!(find_root(|_| f64::NAN, -1.0, 1.0), None);
        assert_eq!(find_root_outward(|_| 1.0, 0.0, 700.0), None);
    }

    #[test]
    fn root_far_from_the_start_is_found() {
        let root = find_root_outward(|x| x - 300.0, 0.0, 700.0).unwrap();
        assert!((root - 300.0).abs() < 1e-12);
    }

    /// The function, with how often it was asked.
    fn counted(f: fn(f64) -> f64, low: f64, high: f64) -> (Option<f64>, u32) {
        let mut n = 0;
        let root = find_root(
            |x| {
                n += 1;
                f(x)
            },
            low,
            high,
        );
        (root, n)
    }

    #[test]
    fn roots_are_found_in_as_many_steps_as_by_the_library() {
        // The number of calls of scipy 1.17.1, brentq with xtol 1e-300 and rtol 4 ε, and of a transcription of Brent's
        // procedure `zero` into Python, which agree (C).
        for (f, low, high, root, n_calls) in [
            (
                (|x| x * x * x - 2.0 * x - 5.0) as fn(f64) -> f64,
                2.0,
                3.0,
                2.094_551_481_542_326_5,
                8,
            ),
            (
                |x| x * x * x - 2.0 * x - 5.0,
                3.0,
                2.0,
                2.094_551_481_542_326_5,
                8,
            ),
            (|x| 1.0 / x - 3.0, 1e-3, 10.0, 1.0 / 3.0, 15),
            (
                |x| {
                    let cube = x * x * x;
                    cube * cube * cube - 0.001
                },
                -1.0,
                4.0,
                0.464_158_883_361_277_9,
                20,
            ),
            (
                |x| {
                    let fourth = (x * x) * (x * x);
                    fourth * fourth * fourth * fourth * fourth - 1.0
                },
                0.0,
                5.0,
                1.0,
                19,
            ),
            (|x| x / (1.0 + x) - 0.9, 0.0, 1000.0, 9.0, 16),
            (
                |x| 1.0 / (1.0 + x * x) - 0.01,
                1.0,
                50.0,
                99.0_f64.sqrt(),
                13,
            ),
            (|x| (x - 0.7) * (1.0 + x * x * x * x), -3.0, 9.0, 0.7, 17),
            (|x| x * x * x * x * x * x - 1e-6, 0.0, 100.0, 0.1, 28),
            (|x| x * x - 2.0, 0.0, 2.0, std::f64::consts::SQRT_2, 10),
            (
                |x| (x + 5.0) * (x * x + 1.0) / (1.0 + x * x * x * x),
                -100.0,
                1.0,
                -5.0,
                14,
            ),
        ] {
            let (found, n) = counted(f, low, high);
            assert!(
                (found.unwrap() / root - 1.0).abs() < 1e-15 * 4.0,
                "{found:?} {root}"
            );
            assert_eq!(n, n_calls, "{root}");
        }
    }

    #[test]
    fn step_is_found_by_halving_alone_down_to_the_smallest_number() {
        // From 3 to 2⁻¹⁰²²: 1023 halvings and the two ends; by the same transcription.
        let (root, n) = counted(|x| if x > 0.0 { 1.0 } else { -1.0 }, -1.0, 2.0);
        assert!(root.unwrap().abs() <= f64::MIN_POSITIVE);
        assert_eq!(n, 1025);
    }

    #[test]
    fn ends_may_be_roots_and_must_be_numbers() {
        assert_eq!(counted(|x| x - 2.0, 2.0, 3.0), (Some(2.0), 2));
        assert_eq!(counted(|x| x - 3.0, 2.0, 3.0), (Some(3.0), 2));
        let half = |x: f64| if x < 0.0 { f64::NAN } else { x - 1.0 };
        assert_eq!(find_root(half, -1.0, 2.0), None);
        assert_eq!(find_root(half, 2.0, -1.0), None);
        // No number on the way.
        assert_eq!(
            find_root(|x| if x.abs() < 1.5 { f64::NAN } else { x }, -2.0, 4.0),
            None
        );
        assert_eq!(find_root(|x| -1.0 - x * x, -1.0, 1.0), None);
    }

    #[test]
    fn search_goes_outward_by_doubling_as_far_as_its_reach() {
        let outward = |root: f64, reach: f64| {
            let mut n = 0;
            let found = find_root_outward(
                |x| {
                    n += 1;
                    x - root
                },
                10.0,
                reach,
            );
            (found, n)
        };
        // Both ends at 1, 2, 4 … 512 and then the straight line, which takes both ends again and one step.
        let (found, n) = outward(310.0, 700.0);
        assert!((found.unwrap() - 310.0).abs() < 1e-12);
        assert!((20..=26).contains(&n), "{n}");
        assert!((outward(-290.0, 700.0).0.unwrap() + 290.0).abs() < 1e-12);
        // The last step goes to the reach itself.
        assert!((outward(109.9, 100.0).0.unwrap() - 109.9).abs() < 1e-12);
        assert_eq!(outward(110.1, 100.0).0, None);
        assert_eq!(outward(9.5, 1.0).0, Some(9.5));
        let half = |x: f64| if x < 0.0 { f64::NAN } else { x - 5.0 };
        assert_eq!(find_root_outward(half, 0.0, 700.0), None);
    }
}
