//! The list of metrics: recipes in order, nothing else.
use super::build::metric;
use super::{Group, Metric, Over, Part, Recipe, Series, When};
use crate::events::Name;
use mechanics::uncertainty::{Along, Column, Flat, Point, Who};
use std::sync::OnceLock;

/// Every metric, in the order in which it is listed. Built once.
pub fn catalogue() -> &'static [Metric] {
    static LIST: OnceLock<Vec<Metric>> = OnceLock::new();
    LIST.get_or_init(|| {
        let mut list = Vec::new();
        forces(&mut list);
        turn(&mut list);
        instants(&mut list);
        impulses(&mut list);
        timing(&mut list);
        pressure(&mut list);
        body(&mut list);
        list
    })
}

/// Reference points whose turn is followed; the one asked for is one of them or a place of the user's.
const POINTS: [Point; 7] = [
    Point::NetCop,
    Point::MidCop,
    Point::RigCentre,
    Point::Stance,
    Point::LeadPlate,
    Point::TrailPlate,
    Point::Asked,
];

fn account(column: Column) -> Series {
    Series::Account(column)
}

/// Greatest and least value, when each is, and how long before impact.
fn extremes(list: &mut Vec<Metric>, group: Group, series: Series) {
    for when in [When::Most(series), When::Least(series)] {
        list.push(metric(group, Recipe::Value(series, when)));
        list.push(metric(group, Recipe::Time(when)));
        list.push(metric(group, Recipe::BeforeImpact(when)));
    }
}

fn forces(list: &mut Vec<Metric>) {
    for along in [Along::Up, Along::Target, Along::Toe] {
        for who in [Who::Net, Who::Lead, Who::Trail] {
            extremes(list, Group::Forces, account(Column::Force(who, along)));
        }
        // Two feet that press down cannot press against each other.
        if along != Along::Up {
            let most = When::Most(account(Column::Opposition(along)));
            list.push(metric(Group::Forces, Recipe::Value(account(Column::Opposition(along)), most)));
            list.push(metric(Group::Forces, Recipe::Time(most)));
        }
    }
    extremes(list, Group::Forces, account(Column::LeadShare));
}

fn turn(list: &mut Vec<Metric>) {
    for point in POINTS {
        extremes(list, Group::Turn, account(Column::Turn(point)));
    }
    for column in [
        Column::FreeMoment(Who::Lead),
        Column::FreeMoment(Who::Trail),
        Column::CoupleToe,
        Column::CoupleTarget,
    ] {
        extremes(list, Group::Turn, account(column));
    }
    for point in [Point::RigCentre, Point::LeadPlate, Point::TrailPlate] {
        for flat in [Flat::Target, Flat::Toe] {
            list.push(metric(Group::Turn, Recipe::Placement(point, flat)));
        }
    }
}

/// Forces of a component, foot by foot and net.
fn split(along: Along) -> [Column; 3] {
    [Who::Net, Who::Lead, Who::Trail].map(|who| Column::Force(who, along))
}

/// The account of turn about the net cop, entry by entry and foot by foot.
const ENTRIES: [Column; 8] = [
    Column::Turn(Point::NetCop),
    Column::FreeTrail,
    Column::FreeLead,
    Column::CoupleToe,
    Column::CoupleTarget,
    Column::Offset(Point::NetCop),
    Column::TurnLead(Point::NetCop),
    Column::TurnTrail(Point::NetCop),
];

fn instants(list: &mut Vec<Metric>) {
    let mut at = |when: When, columns: &mut dyn Iterator<Item = Column>| {
        for column in columns {
            let series = account(column);
            if when != When::Most(series) && when != When::Least(series) {
                list.push(metric(Group::Instants, Recipe::Value(series, when)));
            }
        }
    };
    for name in Name::ALL {
        let forces = [Along::Up, Along::Target, Along::Toe].into_iter().flat_map(split);
        at(When::At(name), &mut forces.chain([Column::LeadShare]).chain(ENTRIES));
    }
    // Which foot made the net's peak: the split there.
    for along in [Along::Up, Along::Target, Along::Toe] {
        let net = account(Column::Force(Who::Net, along));
        let share = (along == Along::Up).then_some(Column::LeadShare);
        at(When::Most(net), &mut split(along).into_iter().chain(share));
        if along != Along::Up {
            at(When::Least(net), &mut split(along).into_iter());
        }
    }
    let turn = account(Column::Turn(Point::NetCop));
    for when in [When::Most(turn), When::Least(turn)] {
        at(when, &mut ENTRIES.into_iter());
    }
}

fn impulses(list: &mut Vec<Metric>) {
    for over in [Over::Backswing, Over::Downswing, Over::FollowThrough] {
        for along in [Along::Up, Along::Target, Along::Toe] {
            for column in split(along) {
                let parts: &[Part] = match along {
                    Along::Target => &[Part::All, Part::Positive, Part::Negative],
                    Along::Up | Along::Toe => &[Part::All],
                };
                for part in parts {
                    list.push(metric(Group::Impulses, Recipe::Integral(column, *part, over)));
                }
            }
        }
        let turn = Recipe::Integral(Column::Turn(Point::NetCop), Part::All, over);
        list.push(metric(Group::Impulses, turn));
    }
    for column in split(Along::Up) {
        list.push(metric(Group::Impulses, Recipe::Steepest(column)));
    }
}

fn timing(list: &mut Vec<Metric>) {
    for over in [Over::Backswing, Over::Downswing, Over::FollowThrough, Over::Movement] {
        list.push(metric(Group::Timing, Recipe::Lasts(over)));
    }
    list.push(metric(Group::Timing, Recipe::Tempo));
    for name in Name::ALL {
        list.push(metric(Group::Timing, Recipe::Time(When::At(name))));
    }
    // The order of the peaks: drive, turn, push up.
    let most = |column| When::Most(account(column));
    let drive = most(Column::Force(Who::Net, Along::Target));
    let turn = most(Column::Turn(Point::NetCop));
    let up = most(Column::Force(Who::Net, Along::Up));
    let lead = most(Column::Force(Who::Lead, Along::Up));
    let trail = most(Column::Force(Who::Trail, Along::Up));
    for (from, to) in [(drive, turn), (turn, up), (drive, up), (turn, lead), (drive, lead), (trail, lead)] {
        list.push(metric(Group::Timing, Recipe::Gap(from, to)));
    }
}

fn pressure(list: &mut Vec<Metric>) {
    for who in [Who::Net, Who::Lead, Who::Trail] {
        list.push(metric(Group::Pressure, Recipe::Path(who)));
        for flat in [Flat::Target, Flat::Toe] {
            list.push(metric(Group::Pressure, Recipe::Extent(who, flat)));
            list.push(metric(Group::Pressure, Recipe::Speed(who, flat)));
        }
    }
    list.push(metric(Group::Pressure, Recipe::StanceWidth));
    list.push(metric(Group::Pressure, Recipe::StanceAngle));
    for name in Name::ALL {
        list.push(metric(Group::Pressure, Recipe::Between(When::At(name))));
    }
    let drive = account(Column::Force(Who::Net, Along::Target));
    list.push(metric(Group::Pressure, Recipe::Between(When::Most(drive))));
}

fn body(list: &mut Vec<Metric>) {
    for along in [Along::Target, Along::Toe, Along::Up] {
        let velocity = Series::Velocity(along);
        for recipe in [
            Recipe::Value(velocity, When::Most(velocity)),
            Recipe::Value(velocity, When::Least(velocity)),
            Recipe::Value(velocity, When::At(Name::Top)),
            Recipe::Value(velocity, When::At(Name::Impact)),
        ] {
            list.push(metric(Group::Body, recipe));
        }
        let place = Series::Displacement(along);
        for recipe in [
            Recipe::Value(place, When::Most(place)),
            Recipe::Value(place, When::Least(place)),
            Recipe::Value(place, When::At(Name::Top)),
            Recipe::Value(place, When::At(Name::Impact)),
        ] {
            list.push(metric(Group::Body, recipe));
        }
    }
    for recipe in [
        Recipe::Value(Series::Power, When::Most(Series::Power)),
        Recipe::BeforeImpact(When::Most(Series::Power)),
        Recipe::Value(Series::Power, When::Least(Series::Power)),
    ] {
        list.push(metric(Group::Body, recipe));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ids_and_labels_are_unique() {
        for text in [|m: &Metric| m.id.clone(), |m: &Metric| m.label.clone()] {
            let mut all: Vec<String> = catalogue().iter().map(text).collect();
            let count = all.len();
            all.sort();
            let twice: Vec<&[String]> = all.windows(2).filter(|w| w[0] == w[1]).collect();
            assert!(twice.is_empty(), "{twice:?}");
            assert!(count > 250, "{count}");
        }
    }
}
