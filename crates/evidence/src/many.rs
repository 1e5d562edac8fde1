//! Many questions at once: probabilities that stay honest when the largest of many differences is the one that is looked at.

/// Which promise is kept when many are looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Control {
    /// The chance of even one false claim (Holm 1979): for claims that are to stand alone.
    Holm,
    /// The share of false ones among the claims (Benjamini & Hochberg 1995): for a list to look into.
    BenjaminiHochberg,
}

/// Adjusted probabilities, in the order given; those that are not defined stay so and are not counted.
///
/// Unit: 1. Source: Holm1979 (step down); BenjaminiHochberg1995 (step up). Checked: worked values of statsmodels in the tests.
pub fn adjusted(p: &[f64], control: Control) -> Vec<f64> {
    let mut order: Vec<usize> = (0..p.len()).filter(|k| p.get(*k).is_some_and(|v| !v.is_nan())).collect();
    let value = |k: usize| p.get(k).copied().unwrap_or(f64::NAN);
    order.sort_by(|a, b| value(*a).total_cmp(&value(*b)));
    let m = order.len() as f64;
    let mut out = vec![f64::NAN; p.len()];
    let mut put = |k: usize, v: f64| {
        if let Some(place) = out.get_mut(k) {
            *place = v.min(1.0);
        }
    };
    match control {
        Control::Holm => {
            let mut so_far = 0.0_f64;
            for (rank, k) in order.iter().enumerate() {
                so_far = so_far.max((m - rank as f64) * value(*k));
                put(*k, so_far);
            }
        }
        Control::BenjaminiHochberg => {
            let mut so_far = f64::INFINITY;
            for (rank, k) in order.iter().enumerate().rev() {
                so_far = so_far.min(m / (rank as f64 + 1.0) * value(*k));
                put(*k, so_far);
            }
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// statsmodels `multipletests` (holm, fdr_bh) on (0.01, 0.04, 0.03, 0.005).
    #[test]
    fn worked_values() {
        let p = [0.01, 0.04, f64::NAN, 0.03, 0.005];
        let near = |ours: Vec<f64>, theirs: [f64; 4]| {
            assert!(ours[2].is_nan());
            let defined = ours.into_iter().filter(|v| !v.is_nan());
            defined.zip(theirs).for_each(|(a, b)| assert!((a - b).abs() < 1e-12, "{a} {b}"));
        };
        near(adjusted(&p, Control::Holm), [0.03, 0.06, 0.06, 0.02]);
        near(adjusted(&p, Control::BenjaminiHochberg), [0.02, 0.04, 0.04, 0.02]);
    }

    /// The 25 p-values of a teaching example of Benjamini and Hochberg's method; statsmodels' answers.
    #[test]
    fn the_list_of_25() {
        let p = [
            0.001, 0.008, 0.039, 0.041, 0.042, 0.06, 0.074, 0.205, 0.212, 0.216, 0.222, 0.251, 0.269, 0.275,
            0.34, 0.341, 0.384, 0.569, 0.594, 0.696, 0.762, 0.94, 0.942, 0.975, 0.986,
        ];
        let bh = adjusted(&p, Control::BenjaminiHochberg);
        for (k, expected) in
            [(0, 0.025), (1, 0.1), (2, 0.21), (5, 0.25), (6, 0.264_286), (7, 0.491_071), (16, 0.564_706)]
        {
            assert!((bh[k] - expected).abs() < 1e-6, "{k}: {}", bh[k]);
        }
        let holm = adjusted(&p, Control::Holm);
        for (k, expected) in [(0, 0.025), (1, 0.192), (2, 0.897), (3, 0.902), (4, 0.902), (5, 1.0)] {
            assert!((holm[k] - expected).abs() < 1e-9, "{k}: {}", holm[k]);
        }
    }
}
