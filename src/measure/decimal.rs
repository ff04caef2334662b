//! Numbers of few decimals, as printers print them.
//!
//! A quantity keeps its value in one unit and gives the number in its printed unit by a division, which may miss the number
//! that was read by a few units in the last place. What was printed is found again as a whole number over a power of ten,
//! by the same division that reads it, so that nothing has to be written and read to find it. Read [`few_decimals`] first.

/// The powers of ten that are tried.
const POWERS: [f64; 4] = [1.0, 10.0, 100.0, 1000.0];
/// A number of twelve digits or more is for whoever writes and reads it.
const MOST: f64 = 1e12;

/// A whole number over a power of ten.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FewDecimals {
    /// The number without its point.
    pub scaled: i64,
    /// How many digits stand behind the point: three at most.
    pub n_decimals: usize,
    /// The number.
    pub value: f64,
}

/// The number with the fewest digits behind the point that is the same as this one, as `same` says; nothing if three do not
/// do, or it has more than twelve digits.
pub fn few_decimals(number: f64, same: impl Fn(f64) -> bool) -> Option<FewDecimals> {
    let tried = POWERS.iter().enumerate().map(|(n_decimals, power)| {
        let scaled = (number * power).round();
        (n_decimals, scaled, scaled / power)
    });
    let (n_decimals, scaled, value) = tried
        .take_while(|(_, scaled, _)| scaled.abs() < MOST)
        .find(|(.., value)| same(*value))?;
    Some(FewDecimals {
        scaled: scaled as i64,
        n_decimals,
        value,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fewest_decimals_are_found_up_to_three() {
        for (number, scaled, n_decimals) in [
            (0.0, 0, 0),
            (-0.0, 0, 0),
            (7.0, 7, 0),
            (-51.2, -512, 1),
            (0.05, 5, 2),
            (12.125, 12_125, 3),
            (999_999_999_999.0, 999_999_999_999, 0),
        ] {
            let found = few_decimals(number, |value| value == number).unwrap();
            assert_eq!((found.scaled, found.n_decimals), (scaled, n_decimals));
            assert_eq!(found.value, number);
        }
        for number in [0.0001, 1e12, 123_456_789_012.5, f64::NAN, f64::INFINITY] {
            assert_eq!(few_decimals(number, |value| value == number), None);
        }
        let near = few_decimals(51.199_999_999_999_9, |value| (value - 51.2).abs() < 1e-9);
        assert_eq!(near.map(|near| near.value), Some(51.2));
    }
}
