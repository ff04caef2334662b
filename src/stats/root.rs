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
}
