//! How near a mean is to come, as a person gives it: "5%BW".
use crate::claim::table::Measure;
use crate::units;
use std::str::FromStr;

/// A half width with its unit.
#[derive(Clone, Debug, PartialEq)]
pub struct Precision {
    /// The figure.
    pub value: f64,
    /// Its unit as it was written; empty: that of each measure.
    pub unit: String,
}

impl FromStr for Precision {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let text = text.trim();
        let ends = text.find(|c: char| !(c.is_ascii_digit() || c == '.')).unwrap_or(text.len());
        let (figure, unit) = text.split_at(ends);
        match figure.parse::<f64>() {
            Ok(value) if value > 0.0 && value.is_finite() => {
                Ok(Self { value, unit: unit.trim().to_string() })
            }
            _ => Err("a figure above 0 with its unit, such as 5%BW, 0.2 or 3 N·m".into()),
        }
    }
}

impl Precision {
    /// The figure in the unit of a measure; `None` where its unit is another kind of thing.
    pub fn of(&self, measure: &Measure) -> Option<f64> {
        if self.unit.is_empty() {
            return Some(self.value);
        }
        let plain = |text: &str| -> String {
            text.chars().filter(|c| !c.is_whitespace()).flat_map(char::to_lowercase).collect()
        };
        let Some(metric) = measure.metric else {
            return (plain(&self.unit) == plain(&measure.unit)).then_some(self.value);
        };
        let (given, shown) =
            (units::way(metric.unit, &self.unit).ok()?, units::way(metric.unit, &measure.unit).ok()?);
        (given.by_weight == shown.by_weight).then(|| self.value * given.factor / shown.factor)
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)] // tests may
    use super::super::super::players::tests::column;
    use super::*;

    #[test]
    fn figures_with_units() {
        let read = |text: &str| text.parse::<Precision>().map(|p| (p.value, p.unit));
        assert_eq!(read("5%BW").unwrap(), (5.0, "%BW".to_string()));
        assert_eq!(read(" 0.2 ").unwrap(), (0.2, String::new()));
        assert_eq!(read("3 N·m").unwrap(), (3.0, "N·m".to_string()));
        for wrong in ["", "x", "-3", "0", "%BW"] {
            assert!(read(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn in_the_unit_of_the_measure() {
        let force = column("up.net.most", Vec::new()).measure;
        let of = |text: &str| text.parse::<Precision>().unwrap().of(&force);
        assert_eq!((of("5%BW"), of("5"), of("50N"), of("2 m/s")), (Some(5.0), Some(5.0), None, None));
        assert!((of("0.05 BW").unwrap() - 5.0).abs() < 1e-12);
        let speed = column("outcome.clubhead-speed", Vec::new()).measure;
        assert_eq!("1 m/s".parse::<Precision>().unwrap().of(&speed), Some(1.0));
        assert_eq!("1 mph".parse::<Precision>().unwrap().of(&speed), None);
    }
}
