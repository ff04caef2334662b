//! Student's t distribution, through the beta distribution (NIST Digital Library of Mathematical Functions, 8.17;
//! Student, *Biometrika* 6, 1908).

use super::beta::{beta_lower, beta_quantile};
use super::reason::Reason;

/// The probability of a value at least as far from 0 as `t`, with so many degrees of freedom.
pub fn student_two_sided(t: f64, degrees_of_freedom: f64) -> f64 {
    if t.is_infinite() {
        return 0.0;
    }
    let x = degrees_of_freedom / (degrees_of_freedom + t * t);
    beta_lower(degrees_of_freedom / 2.0, 0.5, x)
}

/// The t with this probability above it, less than one half.
///
/// # Errors
/// [`Reason::OutOfRange`] unless the degrees of freedom are positive and 0 < tail < 0.5.
pub fn student_quantile_upper(tail: f64, degrees_of_freedom: f64) -> Result<f64, Reason> {
    if !(tail > 0.0 && tail < 0.5) {
        return Err(Reason::OutOfRange { argument: "tail" });
    }
    let x = beta_quantile(degrees_of_freedom / 2.0, 0.5, 2.0 * tail)?;
    Ok((degrees_of_freedom * (1.0 - x) / x).sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn critical_values_are_those_of_the_table() {
        // NIST/SEMATECH e-Handbook 1.3.6.7.2, upper critical values (from memory), 3 places.
        for (df, tail, printed) in [
            (1.0, 0.05, 6.314),
            (1.0, 0.025, 12.706),
            (5.0, 0.025, 2.571),
            (10.0, 0.05, 1.812),
            (30.0, 0.005, 2.750),
            (100.0, 0.025, 1.984),
        ] {
            let t = student_quantile_upper(tail, df).unwrap();
            assert!((t - printed).abs() < 5.1e-4, "{df} {tail} {t}");
            assert!((student_two_sided(t, df) - 2.0 * tail).abs() < 1e-12);
        }
    }

    #[test]
    fn bad_arguments_are_refused() {
        assert!(student_quantile_upper(0.5, 3.0).is_err());
        assert!(student_quantile_upper(0.05, 0.0).is_err());
        assert!(student_quantile_upper(f64::NAN, 3.0).is_err());
    }

    #[test]
    fn tails_are_those_of_the_closed_forms() {
        // One degree of freedom is Cauchy's: 1 − 2/π atan t. Two: 1 − t / √(2 + t²).
        let cauchy = 1.0 - 2.0 / std::f64::consts::PI * 3.0_f64.atan();
        assert!((student_two_sided(3.0, 1.0) - cauchy).abs() < 1e-13);
        assert!((student_two_sided(-3.0, 1.0) - cauchy).abs() < 1e-13);
        let two = 1.0 - 3.0 / 11.0_f64.sqrt();
        assert!((student_two_sided(3.0, 2.0) - two).abs() < 1e-13);
        assert_eq!(student_two_sided(0.0, 5.0), 1.0);
        assert_eq!(student_two_sided(f64::NEG_INFINITY, 5.0), 0.0);
        assert!(student_quantile_upper(0.0, 3.0).is_err());
    }
}
