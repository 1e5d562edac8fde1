//! From a recipe to a row of the catalogue: needs, touches and sources follow from what the recipe reads.
use super::{Group, Metric, Need, Over, Recipe, Series, When, words};
use crate::events::Name;
use mechanics::finding::Touch;
use mechanics::uncertainty::{Along, Column, Point, Who};

/// One row.
pub fn metric(group: Group, recipe: Recipe) -> Metric {
    let mut reads = Reads::default();
    reads.recipe(recipe);
    Metric {
        id: words::id(recipe),
        label: words::label(recipe),
        group,
        unit: words::unit_of(recipe),
        recipe,
        definition: words::definition(recipe),
        formula: words::formula(recipe),
        sign: words::sign_of(recipe),
        needs: Need::ALL.into_iter().filter(|n| reads.needs.contains(n)).collect(),
        touches: Touch::ALL.into_iter().filter(|t| reads.touches.contains(t)).collect(),
        source: source(recipe),
    }
}

/// What a recipe reads.
#[derive(Default)]
struct Reads {
    needs: Vec<Need>,
    touches: Vec<Touch>,
}

impl Reads {
    fn recipe(&mut self, recipe: Recipe) {
        match recipe {
            Recipe::Value(series, when) => {
                self.series(series);
                self.when(when);
            }
            Recipe::Time(when) => {
                self.touches.push(Touch::Time);
                self.when(when);
            }
            Recipe::BeforeImpact(when) => {
                self.touches.push(Touch::Time);
                self.needs.push(Need::Impact);
                self.when(when);
            }
            Recipe::Gap(from, to) => {
                self.touches.push(Touch::Time);
                self.when(from);
                self.when(to);
            }
            Recipe::Integral(column, _, over) => {
                self.touches.push(Touch::Time);
                self.series(Series::Account(column));
                if column == Column::Force(Who::Net, Along::Up) {
                    self.needs.push(Need::Weight);
                    self.touches.push(Touch::Weight);
                }
                self.over(over);
            }
            Recipe::Steepest(column) => {
                self.touches.push(Touch::Time);
                self.series(Series::Account(column));
            }
            Recipe::Path(who) | Recipe::Extent(who, _) => self.cop(who),
            Recipe::Speed(who, _) => {
                self.touches.push(Touch::Time);
                self.cop(who);
            }
            Recipe::Between(when) => {
                self.needs.extend([Need::TwoFeet, Need::Address]);
                self.touches.extend([Touch::Cop, Touch::Split]);
                self.when(when);
            }
            Recipe::StanceWidth | Recipe::StanceAngle => {
                self.needs.extend([Need::TwoFeet, Need::Address]);
                self.touches.push(Touch::Cop);
            }
            Recipe::Placement(point, _) => {
                self.series(Series::Account(Column::Turn(point)));
                self.touches.push(Touch::Shear);
            }
            Recipe::Lasts(over) => {
                self.touches.push(Touch::Time);
                if over == Over::Movement {
                    self.needs.extend([Need::Takeaway, Need::Finish]);
                }
                self.over(over);
            }
            Recipe::Tempo => {
                self.touches.push(Touch::Time);
                self.over(Over::Backswing);
                self.over(Over::Downswing);
            }
        }
    }

    fn series(&mut self, series: Series) {
        match series {
            Series::Account(column) => self.column(column),
            Series::Velocity(along) | Series::Displacement(along) => {
                self.needs.extend([Need::Address, Need::Weight, Need::Motion]);
                self.touches.extend([force(along), Touch::Time]);
                self.signs(along);
            }
            Series::Power => {
                self.needs.extend([Need::Address, Need::Weight, Need::Motion]);
                self.touches.extend([Touch::Up, Touch::Shear, Touch::Time]);
            }
        }
    }

    fn column(&mut self, column: Column) {
        match column {
            Column::Force(who, along) => {
                self.touches.push(force(along));
                self.signs(along);
                self.foot(who);
            }
            Column::Cop(who, _) => self.cop(who),
            Column::FreeMoment(who) => {
                self.touches.extend([Touch::Turn, Touch::Signs]);
                self.foot(who);
            }
            Column::CoupleToe
            | Column::CoupleTarget
            | Column::FreeLead
            | Column::FreeTrail
            | Column::TurnLead(_)
            | Column::TurnTrail(_) => {
                self.touches.extend([Touch::Turn, Touch::Signs]);
                self.foot(Who::Lead);
            }
            Column::Turn(point) | Column::Offset(point) => {
                self.touches.extend([Touch::Turn, Touch::Signs]);
                self.point(point);
            }
            Column::Opposition(along) => {
                self.touches.push(force(along));
                self.foot(Who::Lead);
            }
            Column::LeadShare => {
                self.touches.push(Touch::Up);
                self.foot(Who::Lead);
            }
        }
    }

    /// Toe changes sign with the hand.
    fn signs(&mut self, along: Along) {
        if along == Along::Toe {
            self.touches.push(Touch::Signs);
        }
    }

    fn point(&mut self, point: Point) {
        match point {
            Point::Asked | Point::NetCop | Point::RigCentre => {}
            Point::MidCop | Point::LeadPlate | Point::TrailPlate => self.needs.push(Need::TwoFeet),
            Point::Stance => self.needs.extend([Need::TwoFeet, Need::Address]),
        }
    }

    fn foot(&mut self, who: Who) {
        if who != Who::Net {
            self.needs.push(Need::TwoFeet);
            self.touches.push(Touch::Split);
        }
    }

    fn cop(&mut self, who: Who) {
        self.touches.push(Touch::Cop);
        self.foot(who);
    }

    fn when(&mut self, when: When) {
        match when {
            When::Most(series) | When::Least(series) => self.series(series),
            When::At(name) => {
                self.touches.push(Touch::Time);
                self.needs.push(match name {
                    Name::Address => Need::AddressInstant,
                    Name::Takeaway => Need::Takeaway,
                    Name::Top => Need::Top,
                    Name::Impact => Need::Impact,
                    Name::Finish => Need::Finish,
                });
            }
        }
    }

    fn over(&mut self, over: Over) {
        self.needs.extend(match over {
            Over::Movement => &[][..],
            Over::Backswing => &[Need::Takeaway, Need::Top],
            Over::Downswing => &[Need::Top, Need::Impact],
            Over::FollowThrough => &[Need::Impact, Need::Finish],
        });
    }
}

fn force(along: Along) -> Touch {
    match along {
        Along::Up => Touch::Up,
        Along::Target | Along::Toe => Touch::Shear,
    }
}

/// Where the definition comes from.
fn source(recipe: Recipe) -> &'static str {
    match recipe {
        Recipe::Value(Series::Account(column), _) => match column {
            Column::Force(..) => {
                "peak ground reactions of each foot: Worsfold, Smith & Dyson 2007, J Sports Sci Med 6:484-489"
            }
            Column::FreeMoment(_) | Column::FreeLead | Column::FreeTrail => {
                "free moment at the shoe: Worsfold, Smith & Dyson 2008, J Sports Sci Med 7:408-414"
            }
            Column::Turn(_) => {
                "moments of the ground reaction in the swing: Han et al. 2019, Sports Biomech 18:115-134; the point is stated, as ours"
            }
            Column::Cop(..) => "Ball & Best 2007, J Sports Sci 25:757-770",
            Column::LeadShare => "Okuda et al. 2010, J Sports Sci Med 9:127-133",
            _ => "ours: the ledger, docs/signs.md",
        },
        Recipe::Between(_) => {
            "Ball & Best 2007, J Sports Sci 25:757-770 (cop in percent of the stance; theirs between the feet's marks)"
        }
        Recipe::Path(_) | Recipe::Extent(..) | Recipe::Speed(..) => {
            "cop velocity and range: Ball & Best 2007, J Sports Sci 25:757-770; places every 20 ms are ours, so that noise does not lengthen the path"
        }
        Recipe::Tempo | Recipe::Lasts(_) => {
            "Grober & Cholewicki, Towards a Biomechanical Understanding of Tempo in the Golf Swing"
        }
        Recipe::Time(When::At(_)) => "the event's own source: docs/events.md",
        Recipe::Gap(..) | Recipe::BeforeImpact(_) | Recipe::Time(_) => {
            "order of peaks: common practice, no source; the vertex is ours"
        }
        Recipe::Integral(..) => "impulse: definition; phases as in Grober & Cholewicki",
        Recipe::Steepest(_) => {
            "rate of force development: common practice, no source; the window of 50 ms is ours"
        }
        Recipe::Value(..) => {
            "centre of mass from force: Linthorne 2001, Am J Phys 69:1198-1204 (impulse and momentum)"
        }
        Recipe::StanceWidth | Recipe::StanceAngle => "ours: cops at address stand for the feet",
        Recipe::Placement(..) => "ours: moving the point of a moment, statics",
    }
}
