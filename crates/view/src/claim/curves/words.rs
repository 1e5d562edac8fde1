//! Curves in words: which way they differ, and where along the swing.
use super::cut::Cut;
use crate::claim::players::listed;
use crate::claim::table::Account;
use crate::quantity::{plain, signed};
use swing::events::Name;

/// What is more in one than in another. `b` and `a`: means of both; `than`: "than in A", and `there`: "in A", for where the two go
/// opposite ways. "the ground pushes the player up more than in A" reads on from "in B".
pub(super) fn direction(account: &Account, [b, a]: [f64; 2], than: &str, there: &str) -> String {
    let (kind, who) = account.id.split_once('.').unwrap_or((account.id, "net"));
    // Free moments and entries have their foot in their name.
    let foot = match (kind, who) {
        ("up" | "target" | "toe" | "turn", "lead") => " through the lead foot",
        ("up" | "target" | "toe" | "turn", "trail") => " through the trail foot",
        _ => "",
    };
    let way = |positive: &str, negative: &str| {
        if b * a < 0.0 {
            let (of_b, of_a) = if b > 0.0 { (positive, negative) } else { (negative, positive) };
            return format!("{of_b}{foot}, {there} {of_a}");
        }
        let toward = if b + a >= 0.0 { positive } else { negative };
        let size = if b.abs() > a.abs() { "more" } else { "less" };
        if positive == "up" {
            format!("{toward} {size}{foot} {than}")
        } else {
            format!("{size} {toward}{foot} {than}")
        }
    };
    let (target, away) = ("toward the target", "away from the target");
    let told = match kind {
        "up" => format!("the ground pushes the player {}", way("up", "down")),
        "target" => format!("the ground pushes the player {}", way(target, away)),
        "toe" => format!("the ground pushes the player {}", way("toward the toes", "toward the heels")),
        "turn" => format!("the ground turns the player {}", way(target, away)),
        "cop-target" | "cop-toe" => {
            let side = match (kind, b > a) {
                ("cop-target", true) => "nearer the target",
                ("cop-target", false) => "farther from the target",
                (_, true) => "nearer the toes",
                (_, false) => "nearer the heels",
            };
            format!("the {who} centre of pressure lies {side} {than}")
        }
        _ => format!("the {} turns the player {}", account.label, way(target, away)),
    };
    told.trim_end().to_string()
}

/// Where along the swing, in all the ways that people find it.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::claim) struct Way {
    from: Name,
    to: Name,
    /// Events on the way with their shares.
    inner: Vec<(Name, f64)>,
    /// Mean time from the one to the other, s.
    pub duration_s: f64,
    /// The event that times are told from: impact where it is known, else the first.
    pub anchor: Name,
    /// Its share.
    anchor_share: f64,
}

impl Way {
    pub fn of(cut: &Cut, duration_s: f64) -> Self {
        let inner: Vec<(Name, f64)> = cut.inner.iter().copied().zip(cut.shares.iter().copied()).collect();
        let known = inner.iter().find(|(e, _)| *e == Name::Impact).map(|(_, share)| (Name::Impact, *share));
        let impact = if cut.to == Name::Impact { Some((Name::Impact, 1.0)) } else { known };
        let (anchor, anchor_share) = impact.unwrap_or((cut.from, 0.0));
        Self { from: cut.from, to: cut.to, inner, duration_s, anchor, anchor_share }
    }

    /// Seconds from the anchor; negative before it.
    pub fn seconds(&self, percent: f64) -> f64 {
        (percent / 100.0 - self.anchor_share) * self.duration_s
    }

    /// "takeaway to impact".
    pub fn ends(&self) -> String {
        format!("{} to {}", self.from.name(), self.to.name())
    }

    /// "0.40 to 0.23 s before impact".
    pub fn time(&self, from: f64, to: f64) -> String {
        let (a, b) = (self.seconds(from), self.seconds(to));
        let anchor = self.anchor.name();
        let digits = |s: f64| plain(s.abs(), 2);
        if plain(a, 2) == plain(b, 2) {
            return self.instant(0.5 * (from + to));
        }
        let at = |s: f64| s.abs() < 0.005;
        match (a < 0.0 && !at(a), b > 0.0 && !at(b)) {
            (true, true) => format!("{} s before to {} s after {anchor}", digits(a), digits(b)),
            (true, false) if at(b) => format!("from {} s before {anchor} to {anchor}", digits(a)),
            (true, false) => format!("{} to {} s before {anchor}", digits(a), digits(b)),
            (false, _) if at(a) => format!("from {anchor} to {} s after it", digits(b)),
            (false, _) => format!("{} to {} s after {anchor}", digits(a), digits(b)),
        }
    }

    /// "0.40 s before impact".
    pub fn instant(&self, percent: f64) -> String {
        let s = self.seconds(percent);
        let anchor = self.anchor.name();
        if s.abs() < 0.005 {
            format!("at {anchor}")
        } else {
            format!("{} s {} {anchor}", plain(s.abs(), 2), if s < 0.0 { "before" } else { "after" })
        }
    }

    /// "in the downswing", "across the top", "up to impact"; empty where the events on the way are not known.
    fn phase(&self, from: f64, to: f64) -> String {
        let (from, to) = (from / 100.0, to / 100.0);
        let crossed: Vec<Name> =
            self.inner.iter().filter(|(_, s)| from < *s && *s < to).map(|(e, _)| *e).collect();
        if !crossed.is_empty() {
            return format!("across {}", the(&crossed));
        }
        let before = self.inner.iter().rev().find(|(_, s)| *s <= from).map_or(self.from, |(e, _)| *e);
        let after = self.inner.iter().find(|(_, s)| *s >= to).map_or(self.to, |(e, _)| *e);
        match (before, after) {
            (Name::Address, Name::Takeaway) => "before takeaway",
            (Name::Takeaway, Name::Top) => "in the backswing",
            (Name::Top, Name::Impact) => "in the downswing",
            (Name::Impact, Name::Finish) => "in the follow-through",
            _ => "",
        }
        .into()
    }

    /// "from 62 to 78 % (0.40 to 0.23 s before impact, in the downswing)".
    pub fn stretch(&self, from: f64, to: f64) -> String {
        if from < 0.5 && to > 99.5 {
            return "all the way".into();
        }
        let (phase, time) = (self.phase(from, to), self.time(from, to));
        let inside = if phase.is_empty() { time } else { format!("{time}, {phase}") };
        let (from, to) = (plain(from, 0), plain(to, 0));
        if from == to {
            format!("at {from} % ({inside})")
        } else {
            format!("from {from} to {to} % ({inside})")
        }
    }
}

/// "0.012", "below 0.001".
pub(super) fn p(value: f64) -> String {
    if value.is_nan() {
        "—".into()
    } else if value < 0.001 {
        "below 0.001".into()
    } else {
        plain(value, 3)
    }
}

/// "in 1.2 % of cases", "in fewer than 0.1 % of cases".
pub(super) fn chance(value: f64) -> String {
    if value < 0.001 {
        "in fewer than 0.1 % of cases".into()
    } else if value < 0.0995 {
        format!("in {} % of cases", plain(100.0 * value, 1))
    } else {
        format!("in {} % of cases", plain(100.0 * value, 0))
    }
}

/// "between +3.1 and +9.0".
pub(super) fn between(low: f64, high: f64, digits: usize) -> String {
    format!("between {} and {}", signed(low, digits), signed(high, digits))
}

/// "the top and impact".
pub(super) fn the(events: &[Name]) -> String {
    let named = |e: &Name| if *e == Name::Top { "the top".into() } else { e.name().to_string() };
    listed(&events.iter().map(named).collect::<Vec<_>>())
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)] // tests may
    use super::*;
    use crate::claim::accounts::{ACCOUNTS, account_called};

    fn said(id: &str, b: f64, a: f64) -> String {
        direction(&account_called(id).unwrap(), [b, a], "than in A", "in A")
    }

    #[test]
    fn which_way() {
        assert_eq!(said("up.net", 120.0, 110.0), "the ground pushes the player up more than in A");
        assert_eq!(
            said("up.lead", 90.0, 110.0),
            "the ground pushes the player up less through the lead foot than in A"
        );
        assert_eq!(
            said("target.net", 5.0, 3.0),
            "the ground pushes the player more toward the target than in A"
        );
        assert_eq!(
            said("target.net", -5.0, -3.0),
            "the ground pushes the player more away from the target than in A"
        );
        assert_eq!(
            said("target.net", -3.0, -5.0),
            "the ground pushes the player less away from the target than in A"
        );
        assert_eq!(
            said("toe.trail", 1.0, -2.0),
            "the ground pushes the player toward the toes through the trail foot, in A toward the heels"
        );
        assert_eq!(said("turn", 4.0, 2.0), "the ground turns the player more toward the target than in A");
        assert_eq!(
            said("entry.free-lead", -4.0, -2.0),
            "the lead free moment (entry) turns the player more away from the target than in A"
        );
        assert_eq!(
            said("cop-target.net", -4.0, 2.0),
            "the net centre of pressure lies farther from the target than in A"
        );
        assert_eq!(
            said("cop-toe.lead", -1.0, -2.0),
            "the lead centre of pressure lies nearer the toes than in A"
        );
        // Every account has its sentence, and a turned difference another one.
        for a in ACCOUNTS {
            assert_ne!(said(a.id, 2.0, 1.0), said(a.id, 1.0, 2.0), "{}", a.id);
            assert!(said(a.id, 2.0, 1.0).ends_with("than in A"));
        }
    }

    /// Takeaway to impact in 1 s, the top at 70 %; then on to the finish in 2 s, impact at half.
    #[test]
    fn where_on_the_way() {
        let way = Way {
            from: Name::Takeaway,
            to: Name::Impact,
            inner: vec![(Name::Top, 0.7)],
            duration_s: 1.0,
            anchor: Name::Impact,
            anchor_share: 1.0,
        };
        assert_eq!(
            way.stretch(20.0, 50.0),
            "from 20 to 50 % (0.80 to 0.50 s before impact, in the backswing)"
        );
        assert_eq!(way.stretch(62.0, 78.0), "from 62 to 78 % (0.38 to 0.22 s before impact, across the top)");
        assert_eq!(
            way.stretch(80.0, 100.0),
            "from 80 to 100 % (from 0.20 s before impact to impact, in the downswing)"
        );
        assert_eq!(way.stretch(80.1, 80.3), "at 80 % (0.20 s before impact, in the downswing)");
        assert_eq!(way.stretch(0.0, 100.0), "all the way");
        let on = Way {
            to: Name::Finish,
            inner: vec![(Name::Top, 0.35), (Name::Impact, 0.5)],
            duration_s: 2.0,
            anchor_share: 0.5,
            ..way.clone()
        };
        assert_eq!(
            on.stretch(45.0, 60.0),
            "from 45 to 60 % (0.10 s before to 0.20 s after impact, across impact)"
        );
        assert_eq!(
            on.stretch(60.0, 90.0),
            "from 60 to 90 % (0.20 to 0.80 s after impact, in the follow-through)"
        );
        assert_eq!(
            on.stretch(30.0, 60.0),
            "from 30 to 60 % (0.40 s before to 0.20 s after impact, across the top and impact)"
        );
        assert_eq!(
            (on.instant(50.0).as_str(), on.instant(25.0).as_str()),
            ("at impact", "0.50 s before impact")
        );
        let bare = Way { inner: Vec::new(), anchor: Name::Takeaway, anchor_share: 0.0, ..on };
        assert_eq!(bare.stretch(10.0, 20.0), "from 10 to 20 % (0.20 to 0.40 s after takeaway)");
    }

    #[test]
    fn chances() {
        assert_eq!(chance(0.0004), "in fewer than 0.1 % of cases");
        assert_eq!(
            (chance(0.0123).as_str(), chance(0.37).as_str()),
            ("in 1.2 % of cases", "in 37 % of cases")
        );
        assert_eq!(
            (p(0.0004).as_str(), p(0.0123).as_str(), p(f64::NAN).as_str()),
            ("below 0.001", "0.012", "—")
        );
        assert_eq!(between(-1.0, 2.5, 1), "between −1.0 and +2.5");
    }
}
