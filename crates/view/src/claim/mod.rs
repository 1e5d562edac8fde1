//! Answers: what was asked of recordings, what was found, and what to mind. The same for every face, as text and as JSON.
//!
//! A verdict is made from the numbers that stand below it, by the rules of docs/evidence.md; no sentence here holds a
//! number that is not in the answer.
pub mod accounts;
pub mod agree;
pub mod change;
pub mod cohort;
pub mod curves;
pub mod frame;
pub mod plan;
pub mod players;
pub mod relate;
pub mod repeat;
pub mod shapes;
pub mod span;
pub mod table;

use crate::quantity::count;
use serde::Serialize;

/// What kind of numbers an answer holds.
pub trait Numbers: Serialize {
    /// Name and version of the answer's layout, "underfoot.change/1".
    const SCHEMA: &'static str;
    /// The numbers as tables for a terminal.
    fn text(&self) -> String;
}

/// A question and its answer.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Answer<N> {
    /// Name and version of this layout.
    pub schema: &'static str,
    /// What was asked, in words.
    pub question: String,
    /// What was found, in words that need no statistics; the line a hurried reader takes away.
    pub verdict: String,
    /// What it rests on.
    pub counted: Counted,
    /// What was left out, and why.
    pub left_out: Vec<LeftOut>,
    /// The numbers.
    pub numbers: N,
    /// How it was done, a sentence each; names of methods with their sources.
    pub method: Vec<String>,
    /// Everything that was chosen: level, seed, resamples …; in order.
    pub settings: Vec<Setting>,
    /// What a reader must mind.
    pub caveats: Vec<String>,
}

/// What an answer rests on.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Counted {
    /// Players.
    pub players: usize,
    /// Sessions.
    pub sessions: usize,
    /// Swings.
    pub swings: usize,
}

/// What was left out.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct LeftOut {
    /// How many, with what they are: "3 swings", "1 player".
    pub what: String,
    /// Why.
    pub why: String,
}

/// Something that was chosen.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Setting {
    /// Its name, as an option has it ("seed").
    pub name: &'static str,
    /// Its value.
    pub value: String,
}

impl Setting {
    /// A setting of anything that can be written.
    pub fn of(name: &'static str, value: impl ToString) -> Self {
        Self { name, value: value.to_string() }
    }
}

impl<N: Numbers> Answer<N> {
    /// For a terminal: question, verdict, numbers, then what stands behind them.
    pub fn text(&self) -> String {
        let mut out = format!("{}\n\n", wrapped(&self.question, "", ""));
        out.push_str(&format!("{}\n\n", wrapped(&self.verdict, "▸ ", "  ")));
        let numbers = self.numbers.text();
        out.push_str(&numbers);
        if !numbers.is_empty() && !numbers.ends_with("\n\n") {
            out.push('\n');
        }
        let n = &self.counted;
        let rests = format!(
            "rests on {} of {} in {}",
            count(n.swings, "swing"),
            count(n.players, "player"),
            count(n.sessions, "session")
        );
        out.push_str(&format!("{}\n", wrapped(&rests, "", "  ")));
        for left in &self.left_out {
            out.push_str(&format!(
                "{}\n",
                wrapped(&format!("left out: {}, {}", left.what, left.why), "", "  ")
            ));
        }
        for caveat in &self.caveats {
            out.push_str(&format!("{}\n", wrapped(caveat, "mind: ", "      ")));
        }
        for line in &self.method {
            out.push_str(&format!("{}\n", wrapped(line, "how: ", "     ")));
        }
        let settings: Vec<String> = self.settings.iter().map(|s| format!("{} {}", s.name, s.value)).collect();
        if !settings.is_empty() {
            out.push_str(&format!("{}\n", wrapped(&settings.join(" · "), "with: ", "      ")));
        }
        out
    }
}

/// A paragraph in lines of at most 100 characters, the first after one lead, the others after another.
pub fn wrapped(text: &str, first: &str, others: &str) -> String {
    const WIDTH: usize = 100;
    let mut lines = vec![first.to_string()];
    for word in text.split_whitespace() {
        let Some(line) = lines.last_mut() else { break };
        let bare = line == first || line == others;
        if !bare && line.chars().count() + 1 + word.chars().count() > WIDTH {
            lines.push(format!("{others}{word}"));
            continue;
        }
        if !bare {
            line.push(' ');
        }
        line.push_str(word);
    }
    lines.join("\n")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[derive(Serialize)]
    struct One(f64);

    impl Numbers for One {
        const SCHEMA: &'static str = "underfoot.one/1";
        fn text(&self) -> String {
            format!("  {}\n", self.0)
        }
    }

    #[test]
    fn an_answer_says_all_it_knows() {
        let answer = Answer {
            schema: One::SCHEMA,
            question: "Is it one?".into(),
            verdict: "Yes.".into(),
            counted: Counted { players: 1, sessions: 2, swings: 3 },
            left_out: vec![LeftOut { what: "1 swing".into(), why: "no impact".into() }],
            numbers: One(1.0),
            method: vec!["Counting.".into()],
            settings: vec![Setting::of("seed", 1)],
            caveats: vec!["Few.".into()],
        };
        assert_eq!(
            answer.text(),
            "Is it one?\n\n▸ Yes.\n\n  1\n\nrests on 3 swings of 1 player in 2 sessions\nleft out: 1 swing, no impact\n\
             mind: Few.\nhow: Counting.\nwith: seed 1\n"
        );
    }

    #[test]
    fn lines_are_wrapped_and_keep_their_words() {
        let long = "word ".repeat(60);
        let lines = wrapped(&long, "a: ", "   ");
        assert!(lines.lines().all(|l| l.chars().count() <= 100) && lines.lines().count() == 4);
        assert_eq!(lines.split_whitespace().count(), 61);
    }
}
