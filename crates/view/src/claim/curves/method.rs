//! How it was done, with sources.
use super::case::Case;
use super::words::the;
use crate::quantity::plain;
use evidence::curves::{By, CurveTest, SIGNS_NEED};

impl Case<'_> {
    pub(super) fn method(&self, test: Option<&CurveTest>) -> Vec<String> {
        let mut all = vec![format!(
            "Each swing is cut from {} and brought to {} nodes, time stretched {}; between samples by the cubic through four, and none \
             across a gap.",
            self.way.ends(),
            self.how.nodes,
            if self.cut.registered {
                format!(
                    "piece by piece so that {} lies where it does on the mean (landmarks, Kneip & Gasser 1992; monotone cubics, Fritsch & \
                     Carlson 1980)",
                    the(&self.cut.inner)
                )
            } else {
                "evenly".into()
            }
        )];
        all.push(if self.who.players {
            "Counted are players: the curves of a player's swings are averaged first.".into()
        } else {
            "Counted are the swings of the one player.".into()
        });
        all.push(format!(
            "± of a mean: {} % band of the whole mean curve by throwing the signs of residuals (wild bootstrap, Liu 1988) where there \
             are {SIGNS_NEED} or more, else the interval at each place by itself (Student's t).",
            plain(self.level(), 0)
        ));
        if let Some(t) = test {
            let statistic = format!("Test: {} at every node;", self.name);
            all.push(match t.by {
                By::Field(field) => format!(
                    "{statistic} the height that smooth noise of the same smoothness ({} % of the way) passes anywhere by random field \
                     theory (Friston 1994, Worsley 1996, Pataky 2010); a stretch's chance is that of one as long.",
                    plain(self.percent(field.fwhm), 1)
                ),
                By::Permutation { looked_at, exact, .. } => format!(
                    "{statistic} the height passed anywhere when {} ({}; Nichols & Holmes 2002{}); a stretch's chance is that of as much \
                     area beyond it.",
                    self.rearranged(),
                    if exact { format!("all {looked_at}") } else { format!("{} of them drawn", looked_at - 1) },
                    if self.name.starts_with("Welch") { ", Winkler 2014" } else { "" }
                ),
            });
        }
        all
    }

    fn rearranged(&self) -> String {
        let noun = self.noun();
        match self.name {
            "Welch's t" => "the signs of residuals about each choice's mean are turned".into(),
            "Student's t of pairs" => "the signs of the players' differences are turned".into(),
            "F of choices of the same players" => "each player's choices are dealt again".into(),
            "t of the slope" => format!("the numbers are dealt to the {noun}s again"),
            _ => format!("the {noun}s are dealt to the choices again"),
        }
    }
}
