//! What is said of shapes: question, verdict, method, caveats.
use super::numbers::Shapes;
use super::{LEAST, STARTS, ShapesHow, features, setting};
use crate::claim::Setting;
use crate::claim::players::listed;
use crate::claim::span::with_unit;
use crate::claim::table::Traces;
use crate::quantity::{count, plain, signed};
use evidence::cohort::groups::FEWEST;

pub(super) fn question(traces: &Traces, of: &Shapes) -> String {
    let what = if of.compared == "shape alone" { "shapes" } else { "curves" };
    format!(
        "Do {}s fall into groups by their {what} of {} from {} to {}? ({})",
        of.unit, of.account.label, of.way.from, of.way.to, traces.named
    )
}

pub(super) fn verdict(of: &Shapes) -> String {
    let who = count(of.units, of.unit);
    match of.outcome {
        "groups" => {
            let each: Vec<String> = of
                .groups
                .iter()
                .map(|g| format!("{}, {}: {}", g.letter, count(g.members.len(), of.unit), g.words))
                .collect();
            let alike = |up: bool| {
                let number = |g: &super::GroupOf| g.peaks.iter().filter(|p| p.up == up).count();
                of.groups.windows(2).all(|w| w.first().map(number) == w.last().map(number))
            };
            let farthest =
                of.farthest.as_ref().filter(|_| alike(true) && alike(false)).map_or(String::new(), |f| {
                    format!(
                        " A and B lie farthest apart at {} % ({}), {} and {} there.",
                        plain(f.percent, 0),
                        f.instant,
                        signed(f.values[0], of.digits),
                        with_unit(&signed(f.values[1], of.digits), &of.account.unit)
                    )
                });
            format!(
                "Yes, {} of {}s. {}.{farthest} Drawn anew, they fall into the same groups (adjusted Rand index {} on average; 1 is the same, 0 is \
                 chance, {} is asked for).{}",
                count(of.groups.len(), "group"),
                of.unit,
                each.join(". "),
                plain(of.agreement, 2),
                plain(of.stable_from, 2),
                aside(of)
            )
        }
        "one group" if of.chosen > 1 => format!(
            "No: one group describes the {who}. Cut into {} they would lie closer together, but nothing separates the parts (one even \
             cloud shows such a valley in {} % of cases; under 5 is asked for).{}",
            of.chosen,
            plain(100.0 * of.valley_p, 0),
            aside(of)
        ),
        "one group" => format!("No: one group describes the {who} best.{}", aside(of)),
        "no stable groups" if of.agreement.is_finite() => format!(
            "No stable groups: cut into {}, {who} drawn anew fall into other groups (adjusted Rand index {} on average; {} is asked \
             for), so none are shown.",
            of.apart,
            plain(of.agreement, 2),
            plain(of.stable_from, 2)
        ),
        "no stable groups" => {
            format!(
                "No stable groups: {} of {who} are like hardly any other, so that none are shown.",
                of.aside.len()
            )
        }
        _ => format!("It cannot be told: {who}, and it takes {FEWEST} at least."),
    }
}

fn aside(of: &Shapes) -> String {
    if of.aside.is_empty() {
        return String::new();
    }
    format!(" Set aside, since like hardly any other: {}.", listed(&of.aside))
}

pub(super) fn method(of: &Shapes) -> Vec<String> {
    let mut all = vec![
        if of.unit == "swing" {
            "Every swing counts: all are of one player.".to_string()
        } else {
            "Every player counts once, with the mean of the curves of his or her swings.".into()
        },
        if of.compared == "shape alone" {
            "Shape alone: of each curve its mean along the way is taken off, and what is left is divided by its standard deviation.".into()
        } else {
            "Curves as they are: level and size count beside shape.".into()
        },
        format!(
            "Curves are compared by the {} that it takes to hold 95 % of what varies (functional principal components, Ramsay & Silverman 2005), and \
             put into groups by k-means (Lloyd 1982, begun as Arthur & Vassilvitskii 2007).",
            count(of.components_percent.len(), "component")
        ),
        "How many: the gap statistic (Tibshirani, Walther & Hastie 2001), which may answer one. Between any two groups there must be a \
         valley: the dip (Hartigan & Hartigan 1985) of the curves along the line between the groups' means, beside even clouds cut in \
         two in the same way, under 5 %."
            .into(),
        format!(
            "A group has {LEAST} members at least; fewer are set aside, and the rest is looked at again. Groups are shown where {}s drawn \
             anew fall into the same ones (bootstrap as Hennig 2007; adjusted Rand index, Hubert & Arabie 1985). The limit is common \
             practice.",
            of.unit
        ),
    ];
    if of.groups.iter().any(|g| !g.peaks.is_empty()) {
        all.push(format!(
            "A peak is told where the mean curve must go back from it by {} % of its range before it goes beyond it.",
            plain(100.0 * features::STANDS_OUT, 0)
        ));
    }
    all
}

pub(super) fn caveats(of: &Shapes) -> Vec<String> {
    let mut all = Vec::new();
    if of.unit == "swing" {
        all.push("All swings are of one player: it speaks of this player only.".to_string());
    }
    match of.outcome {
        "groups" => {
            all.push("A group says what is alike, not what is better, and it need not be there among other players.".into());
            if !of.way.registered {
                all.push(
                    "Peaks whose time wanders by much more than they are wide can look like groups; --register lays events over one \
                     another first."
                        .into(),
                );
            }
        }
        "one group" => all.push(format!(
            "That no groups were seen does not say that there are none: a shape that fewer than a third of {} share is mostly missed.",
            count(of.units, of.unit)
        )),
        _ => {}
    }
    all
}

pub(super) fn settings(how: &ShapesHow) -> Vec<Setting> {
    vec![
        setting("with-size", if how.with_size { "yes" } else { "no" }),
        setting("most", how.most),
        setting("stable", how.stable),
        setting("references", how.references),
        setting("resamples", how.resamples),
        setting("starts", STARTS),
        setting("seed", how.seed),
    ]
}
