//! The options that choose swings of a study.
use archive::Selection;
use archive::condition::Condition;
use clap::Args;
use std::path::Path;
use underfoot::fail::Fail;
use underfoot::study::fail;

/// Which swings a command works on: those to which everything stated applies; without any of these, all.
#[derive(Args, Clone, Debug, Default)]
#[command(next_help_heading = "Which swings (those to which all of it applies; without any of it, all)")]
pub struct ChosenArgs {
    /// Swings by their numbers, as `underfoot list` shows them: 7, or 3-9
    #[arg(long = "swing", value_name = "N", value_delimiter = ',')]
    pub swings: Vec<Numbers>,
    /// Players by their aliases
    #[arg(long = "player", value_name = "ALIAS", value_delimiter = ',')]
    pub players: Vec<String>,
    /// Sessions by their numbers
    #[arg(long = "session", value_name = "N", value_delimiter = ',')]
    pub sessions: Vec<i64>,
    /// Clubs
    #[arg(long = "club", value_name = "CLUB", value_delimiter = ',')]
    pub clubs: Vec<String>,
    /// From this day on (2026-05-12)
    #[arg(long, value_name = "DAY")]
    pub from: Option<String>,
    /// Up to this day, and with it
    #[arg(long, value_name = "DAY")]
    pub to: Option<String>,
    /// What a swing supports: one, both feet on one plate, net accounts only; two, accounts of each foot
    #[arg(long, value_enum, value_name = "PLATES")]
    pub plates: Option<Plates>,
    /// Rigs by their names
    #[arg(long = "rig", value_name = "RIG", value_delimiter = ',')]
    pub rigs: Vec<String>,
    /// Swings with this finding, by code or name (Q303); of several, with any of them
    #[arg(long = "finding", value_name = "CODE", value_delimiter = ',')]
    pub findings: Vec<String>,
    /// Only swings without a finding of severity stop
    #[arg(long)]
    pub no_stops: bool,
    /// Swings with this tag; of several, with all of them
    #[arg(long = "tag", value_name = "WORD", value_delimiter = ',')]
    pub tags: Vec<String>,
    /// A condition on a metric: "up.net.most > 150 %BW"; without a unit, SI. Several must all hold
    #[arg(long = "where", value_name = "METRIC OP VALUE UNIT", allow_hyphen_values = true)]
    pub conditions: Vec<String>,
}

/// A number, or a stretch of them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Numbers {
    /// The first.
    pub first: i64,
    /// The last; the first again for a single one.
    pub last: i64,
}

impl std::str::FromStr for Numbers {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        const MOST: i64 = 100_000;
        let number = |part: &str| part.trim().parse::<i64>().ok().filter(|n| *n > 0);
        let (first, last) = text.split_once(['-', '–']).unwrap_or((text, text));
        match (number(first), number(last)) {
            (Some(first), Some(last)) if first <= last && last - first < MOST => Ok(Self { first, last }),
            _ => Err("a swing's number such as 7, or a stretch such as 3-9".into()),
        }
    }
}

/// What a swing supports, as a word.
#[derive(clap::ValueEnum, Clone, Copy, Debug, PartialEq, Eq)]
pub enum Plates {
    /// Both feet on one plate: net accounts only
    One,
    /// A plate for each foot
    Two,
}

impl ChosenArgs {
    /// The same for the archive.
    ///
    /// Errors: a condition that cannot be read, with what would fit. Names are looked up when the swings are asked for.
    pub fn selection(&self) -> Result<Selection, Fail> {
        let condition = |text: &String| {
            text.parse::<Condition>().map_err(|error| {
                let told = fail(error, Path::new("--where"));
                let example =
                    "for example --where \"up.net.most > 150 %BW\"; `underfoot metrics` lists the metrics";
                if told.remedy.is_empty() { told.fix(example) } else { told }
            })
        };
        Ok(Selection {
            swings: self.swings.iter().flat_map(|n| n.first..=n.last).collect(),
            players: self.players.clone(),
            sessions: self.sessions.clone(),
            clubs: self.clubs.clone(),
            from: self.from.clone(),
            to: self.to.clone(),
            feet: self.plates.map(|p| if p == Plates::One { 1 } else { 2 }),
            rigs: self.rigs.clone(),
            findings: self.findings.clone(),
            no_stops: self.no_stops,
            tags: self.tags.clone(),
            metrics: self.conditions.iter().map(condition).collect::<Result<_, _>>()?,
        })
    }

    /// True where nothing is chosen by any of them.
    pub fn is_empty(&self) -> bool {
        self.selection().is_ok_and(|s| s == Selection::default())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_and_stretches() {
        let read = |text: &str| text.parse::<Numbers>().map(|n| (n.first, n.last));
        assert_eq!(read("7"), Ok((7, 7)));
        assert_eq!(read("3-9"), Ok((3, 9)));
        assert_eq!(read("3–9"), Ok((3, 9)));
        for wrong in ["9-3", "0", "-3", "x", "1-", "1-999999999"] {
            assert!(read(wrong).is_err(), "{wrong}");
        }
    }
}
