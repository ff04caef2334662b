//! Changes of level that values far out can't make: the biweight loss, whose weight of any one value is bounded.
//!
//! P. Fearnhead and G. Rigaill, "Changepoint detection in the presence of outliers", *JASA* 114 (2019): R-FPOP. A value costs
//! min((x − level)², K²). The least cost as a function of the last level is kept as pieces of parabolas; for each value the
//! pieces above the least one plus the penalty are replaced by a change here, then the value's own cost is added. Exact,
//! and nearly linear in practice.

use super::reason::{Reason, require, require_positive};

/// How the search is set, in the values' unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RobustSettings {
    /// The standard deviation of the noise, for instance [`super::spread::noise_deviation`].
    pub sigma: f64,
    /// The distance beyond which a value costs no more, in standard deviations; the authors use 3.
    pub bound: f64,
    /// What a change costs, in squared standard deviations; the authors use 2 ln n. Twice the penalty must exceed the
    /// square of the bound for a single value never to be two changes.
    pub penalty: f64,
}

impl RobustSettings {
    /// The authors' choice for n values: a bound of 3 and a penalty of 2 ln n.
    pub fn of(sigma: f64, n: usize) -> Self {
        RobustSettings {
            sigma,
            bound: 3.0,
            penalty: 2.0 * (n.max(2) as f64).ln(),
        }
    }
}

/// A stretch of levels on which the cost is square · μ² + linear · μ + constant.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Piece {
    low: f64,
    high: f64,
    square: f64,
    linear: f64,
    constant: f64,
    /// How many values stand before the last change of this piece's history.
    last_change: usize,
}

impl Piece {
    fn at(&self, level: f64) -> f64 {
        (self.square * level + self.linear) * level + self.constant
    }

    fn least(&self) -> f64 {
        if self.square > 0.0 {
            let vertex = -self.linear / (2.0 * self.square);
            self.at(vertex.clamp(self.low, self.high))
        } else {
            self.at(self.low).min(self.at(self.high))
        }
    }

    /// The part between two levels; nothing if that is empty.
    fn part(&self, low: f64, high: f64) -> Option<Piece> {
        let (low, high) = (self.low.max(low), self.high.min(high));
        (low < high).then_some(Piece { low, high, ..*self })
    }

    fn is_same_curve(&self, other: &Piece) -> bool {
        self.square == other.square
            && self.linear == other.linear
            && self.constant == other.constant
            && self.last_change == other.last_change
    }
}

/// The changes, each by how many values stand before it, of values in order of time.
///
/// # Errors
/// [`Reason::TooFew`] if there is none, [`Reason::NotFinite`], [`Reason::OutOfRange`] for settings that aren't positive,
/// [`Reason::TooLarge`] if the values reach further than 10⁷ standard deviations.
pub fn robust_changes(values: &[f64], settings: RobustSettings) -> Result<Vec<usize>, Reason> {
    require(values, 1)?;
    require_positive(settings.sigma, "sigma")?;
    require_positive(settings.bound, "bound")?;
    require_positive(settings.penalty, "penalty")?;
    let centre = super::location::median(values)?;
    let scaled: Vec<f64> = values
        .iter()
        .map(|value| (value - centre) / settings.sigma)
        .collect();
    let (low, high) = scaled.iter().fold((0.0_f64, 0.0_f64), |(low, high), z| {
        (low.min(*z), high.max(*z))
    });
    if !(low > -1e7 && high < 1e7) {
        return Err(Reason::TooLarge {
            argument: "the size of the values",
        });
    }
    if low == high {
        return Ok(Vec::new());
    }
    let mut pieces = vec![Piece {
        low,
        high,
        square: 0.0,
        linear: 0.0,
        constant: 0.0,
        last_change: 0,
    }];
    // last_change_of[n]: of the best history of the first n values.
    let mut last_change_of = vec![0];
    for (n_before, z) in scaled.iter().enumerate() {
        // Before the first value nothing costs anything, and a change there is never the cheaper.
        let (least, _) = best_of(&pieces);
        pieces = with_change(&pieces, least + settings.penalty, n_before);
        pieces = with_value(&pieces, *z, settings.bound);
        last_change_of.push(best_of(&pieces).1);
    }
    let mut changes = Vec::new();
    let mut end = scaled.len();
    while let Some(change) = last_change_of.get(end).copied().filter(|n| *n > 0) {
        changes.push(change);
        end = change;
    }
    changes.reverse();
    Ok(changes)
}

/// The least cost and the last change that goes with it.
fn best_of(pieces: &[Piece]) -> (f64, usize) {
    let mut best = (f64::INFINITY, 0);
    for piece in pieces {
        let least = piece.least();
        if least < best.0 {
            best = (least, piece.last_change);
        }
    }
    best
}

/// The smaller, at each level, of the pieces and a new change at this cost.
fn with_change(pieces: &[Piece], cost: f64, n_before: usize) -> Vec<Piece> {
    let mut next = Vec::with_capacity(pieces.len().saturating_add(4));
    for piece in pieces {
        let mut cuts = vec![piece.low];
        cuts.extend(crossings(piece, cost));
        cuts.push(piece.high);
        for ends in cuts.windows(2) {
            let [low, high] = ends else { continue };
            let Some(part) = piece.part(*low, *high) else {
                continue;
            };
            let is_kept = part.at(part.low + (part.high - part.low) / 2.0) <= cost;
            push_piece(
                &mut next,
                if is_kept {
                    part
                } else {
                    Piece {
                        square: 0.0,
                        linear: 0.0,
                        constant: cost,
                        last_change: n_before,
                        ..part
                    }
                },
            );
        }
    }
    next
}

/// Where the curve crosses a cost within the piece, in order.
fn crossings(piece: &Piece, cost: f64) -> Vec<f64> {
    if piece.square <= 0.0 {
        return Vec::new();
    }
    let inner = piece.linear * piece.linear - 4.0 * piece.square * (piece.constant - cost);
    if inner <= 0.0 {
        return Vec::new();
    }
    let root = inner.sqrt();
    [-root, root]
        .into_iter()
        .map(|side| (side - piece.linear) / (2.0 * piece.square))
        .filter(|level| piece.low < *level && *level < piece.high)
        .collect()
}

/// The pieces with a value's cost added.
fn with_value(pieces: &[Piece], z: f64, bound: f64) -> Vec<Piece> {
    let mut next = Vec::with_capacity(pieces.len().saturating_add(4));
    for piece in pieces {
        let outside = |part: Piece| Piece {
            constant: part.constant + bound * bound,
            ..part
        };
        let inside = |part: Piece| Piece {
            square: part.square + 1.0,
            linear: part.linear - 2.0 * z,
            constant: part.constant + z * z,
            ..part
        };
        let parts = [
            piece.part(f64::NEG_INFINITY, z - bound).map(outside),
            piece.part(z - bound, z + bound).map(inside),
            piece.part(z + bound, f64::INFINITY).map(outside),
        ];
        for part in parts.into_iter().flatten() {
            push_piece(&mut next, part);
        }
    }
    next
}

/// Adds a piece, joined with the one before it if both are the same curve.
fn push_piece(pieces: &mut Vec<Piece>, piece: Piece) {
    match pieces.last_mut() {
        Some(last) if last.is_same_curve(&piece) => last.high = piece.high,
        _ => pieces.push(piece),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// The biweight cost of a stretch, by trying the best level between all places where a value comes in or goes out.
    fn stretch_cost(stretch: &[f64], bound: f64) -> f64 {
        let mut ends: Vec<f64> = stretch
            .iter()
            .flat_map(|z| [z - bound, z + bound])
            .collect();
        ends.sort_by(f64::total_cmp);
        let mut least = stretch.len() as f64 * bound * bound;
        for pair in ends.windows(2) {
            let middle = (pair[0] + pair[1]) / 2.0;
            let near: Vec<f64> = stretch
                .iter()
                .copied()
                .filter(|z| (z - middle).abs() < bound)
                .collect();
            if near.is_empty() {
                continue;
            }
            let level = near.iter().sum::<f64>() / near.len() as f64;
            let cost = stretch
                .iter()
                .map(|z| ((z - level) * (z - level)).min(bound * bound))
                .sum();
            least = f64::min(least, cost);
        }
        least
    }

    fn least_cost(values: &[f64], bound: f64, penalty: f64) -> f64 {
        let mut least = vec![-penalty];
        for end in 1..=values.len() {
            let best = (0..end)
                .map(|start| least[start] + penalty + stretch_cost(&values[start..end], bound))
                .fold(f64::INFINITY, f64::min);
            least.push(best);
        }
        least[values.len()]
    }

    proptest! {
        #![proptest_config(ProptestConfig {
            cases: 64,
            failure_persistence: None,
            rng_seed: proptest::test_runner::RngSeed::Fixed(5),
            ..ProptestConfig::default()
        })]

        #[test]
        fn no_other_set_of_changes_costs_less(
            values in proptest::collection::vec(-80..80_i32, 2..24),
            penalty in 1.0..20.0_f64,
        ) {
            let values: Vec<f64> = values.into_iter().map(|v| f64::from(v) / 10.0).collect();
            let settings = RobustSettings { sigma: 1.0, bound: 2.5, penalty };
            let changes = robust_changes(&values, settings).unwrap();
            let mut bounds = vec![0];
            bounds.extend(&changes);
            bounds.push(values.len());
            let found: f64 = bounds
                .windows(2)
                .map(|part| stretch_cost(&values[part[0]..part[1]], 2.5))
                .sum::<f64>()
                + penalty * changes.len() as f64;
            let least = least_cost(&values, 2.5, penalty);
            prop_assert!((found - least).abs() < 1e-8, "{changes:?} {found} {least}");
        }
    }

    #[test]
    fn values_far_out_make_no_change_and_a_step_does() {
        let mut values: Vec<f64> = (0..120).map(|t| f64::from(t * 7 % 5) / 2.0).collect();
        for value in values.iter_mut().skip(70) {
            *value += 5.0;
        }
        values[20] = 900.0;
        values[100] = -900.0;
        let settings = RobustSettings::of(1.0, values.len());
        assert_eq!(robust_changes(&values, settings), Ok(vec![70]));
    }

    #[test]
    fn bad_input_has_a_reason() {
        let settings = RobustSettings::of(1.0, 10);
        assert!(robust_changes(&[], settings).is_err());
        assert!(robust_changes(&[f64::NAN], settings).is_err());
        assert!(robust_changes(&[0.0, 0.0, 1e300], settings).is_err());
        assert!(robust_changes(&[f64::MAX, f64::MIN], settings).is_err());
        assert!(robust_changes(&[1.0], RobustSettings::of(0.0, 10)).is_err());
        assert_eq!(robust_changes(&[3.0; 20], settings), Ok(Vec::new()));
    }

    fn piece(low: f64, high: f64, curve: (f64, f64, f64), last_change: usize) -> Piece {
        let (square, linear, constant) = curve;
        Piece {
            low,
            high,
            square,
            linear,
            constant,
            last_change,
        }
    }

    #[test]
    fn curve_is_the_same_if_nothing_of_it_differs() {
        let one = piece(0.0, 1.0, (1.0, 2.0, 3.0), 4);
        assert!(one.is_same_curve(&piece(1.0, 2.0, (1.0, 2.0, 3.0), 4)));
        for other in [
            piece(0.0, 1.0, (9.0, 2.0, 3.0), 4),
            piece(0.0, 1.0, (1.0, 9.0, 3.0), 4),
            piece(0.0, 1.0, (1.0, 2.0, 9.0), 4),
            piece(0.0, 1.0, (1.0, 2.0, 3.0), 9),
        ] {
            assert!(!one.is_same_curve(&other));
            let mut pieces = vec![one];
            push_piece(
                &mut pieces,
                Piece {
                    low: 1.0,
                    high: 2.0,
                    ..other
                },
            );
            assert_eq!(pieces.len(), 2);
        }
        let mut pieces = vec![one];
        push_piece(&mut pieces, piece(1.0, 2.0, (1.0, 2.0, 3.0), 4));
        assert_eq!(pieces, [piece(0.0, 2.0, (1.0, 2.0, 3.0), 4)]);
    }

    /// (μ − 3)² + 1 = μ² − 6 μ + 10.
    const CURVE: (f64, f64, f64) = (1.0, -6.0, 10.0);

    #[test]
    fn parabola_is_least_at_its_vertex_or_at_the_nearer_end() {
        assert_eq!(piece(0.0, 9.0, CURVE, 0).least(), 1.0);
        assert_eq!(piece(0.0, 2.0, CURVE, 0).least(), 2.0);
        assert_eq!(piece(5.0, 9.0, CURVE, 0).least(), 5.0);
        assert_eq!(piece(5.0, 9.0, (0.0, 0.0, 7.0), 0).least(), 7.0);
        // 2 (μ + 1)² = 2 μ² + 4 μ + 2.
        assert_eq!(piece(-9.0, 9.0, (2.0, 4.0, 2.0), 0).least(), 0.0);
        assert_eq!(piece(0.0, 9.0, CURVE, 0).at(5.0), 5.0);
        assert_eq!(
            best_of(&[
                piece(0.0, 2.0, CURVE, 1),
                piece(2.0, 4.0, CURVE, 2),
                piece(4.0, 9.0, (0.0, 0.0, 1.0), 3)
            ]),
            (1.0, 2)
        );
    }

    #[test]
    fn part_of_a_piece_has_a_length() {
        let whole = piece(0.0, 10.0, CURVE, 4);
        assert_eq!(whole.part(-5.0, 5.0), Some(piece(0.0, 5.0, CURVE, 4)));
        assert_eq!(whole.part(5.0, 15.0), Some(piece(5.0, 10.0, CURVE, 4)));
        assert_eq!(whole.part(10.0, 15.0), None);
        assert_eq!(whole.part(12.0, 15.0), None);
        assert_eq!(whole.part(5.0, 5.0), None);
    }

    #[test]
    fn new_change_replaces_what_costs_more() {
        // (μ − 3)² + 1 is 2 at the levels 2 and 4.
        assert_eq!(crossings(&piece(0.0, 9.0, CURVE, 0), 2.0), [2.0, 4.0]);
        assert_eq!(crossings(&piece(2.0, 9.0, CURVE, 0), 2.0), [4.0]);
        assert_eq!(crossings(&piece(0.0, 4.0, CURVE, 0), 2.0), [2.0]);
        assert!(crossings(&piece(0.0, 9.0, CURVE, 0), 0.5).is_empty());
        assert!(crossings(&piece(0.0, 9.0, (0.0, 0.0, 2.0), 0), 2.0).is_empty());
        // 2 (μ + 1)² is 8 at −3 and 1.
        assert_eq!(
            crossings(&piece(-9.0, 9.0, (2.0, 4.0, 2.0), 0), 8.0),
            [-3.0, 1.0]
        );
        let flat = |low, high| piece(low, high, (0.0, 0.0, 2.0), 7);
        assert_eq!(
            with_change(&[piece(0.5, 6.0, CURVE, 4)], 2.0, 7),
            [flat(0.5, 2.0), piece(2.0, 4.0, CURVE, 4), flat(4.0, 6.0)]
        );
        // Neighbouring new parts are one.
        let steep = piece(6.0, 9.0, (0.0, 0.0, 50.0), 5);
        assert_eq!(
            with_change(&[piece(0.5, 6.0, CURVE, 4), steep], 2.0, 7),
            [flat(0.5, 2.0), piece(2.0, 4.0, CURVE, 4), flat(4.0, 9.0)]
        );
        // What costs as much stays.
        assert_eq!(with_change(&[flat(0.0, 9.0)], 2.0, 8), [flat(0.0, 9.0)]);
    }

    #[test]
    fn value_costs_its_square_within_the_bound_and_the_bounds_beyond() {
        // A value of 3 with a bound of 2, onto a cost of 5: 9, or μ² − 6 μ + 14 from 1 to 5.
        let start = piece(-10.0, 10.0, (0.0, 0.0, 5.0), 4);
        assert_eq!(
            with_value(&[start], 3.0, 2.0),
            [
                piece(-10.0, 1.0, (0.0, 0.0, 9.0), 4),
                piece(1.0, 5.0, (1.0, -6.0, 14.0), 4),
                piece(5.0, 10.0, (0.0, 0.0, 9.0), 4),
            ]
        );
        // Where the bound ends with the piece there is no third part.
        let twice = with_value(
            &with_value(&[piece(1.0, 5.0, (0.0, 0.0, 5.0), 4)], 3.0, 2.0),
            4.0,
            3.0,
        );
        assert_eq!(twice, [piece(1.0, 5.0, (2.0, -14.0, 30.0), 4)]);
    }

    #[test]
    fn settings_are_the_authors_and_values_reach_ten_million_deviations() {
        let settings = RobustSettings::of(0.5, 100);
        assert_eq!((settings.sigma, settings.bound), (0.5, 3.0));
        assert!((settings.penalty - 2.0 * 100.0_f64.ln()).abs() < 1e-15);
        assert_eq!(
            RobustSettings::of(1.0, 0).penalty,
            RobustSettings::of(1.0, 2).penalty
        );
        // 0.5 to a deviation: 5 000 000 is ten million of them from the median.
        let too_large = Err(Reason::TooLarge {
            argument: "the size of the values",
        });
        for side in [1.0, -1.0] {
            assert_eq!(robust_changes(&[0.0, 0.0, 5e6 * side], settings), too_large);
            assert!(robust_changes(&[0.0, 0.0, 4.9e6 * side], settings).is_ok());
        }
        for settings in [
            RobustSettings {
                bound: 0.0,
                ..settings
            },
            RobustSettings {
                penalty: 0.0,
                ..settings
            },
        ] {
            assert!(robust_changes(&[1.0, 2.0], settings).is_err());
        }
    }
}
