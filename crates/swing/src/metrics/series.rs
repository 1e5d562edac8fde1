//! The curves that metrics read, made once and only when asked for.
use super::Series;
use crate::analyse::Swing;
use crate::body::Body;
use crate::sure::{Sure, given_m};
use glam::DVec3;
use mechanics::Rig;
use mechanics::ledger::{Side, opposition, turn_of_force};
use mechanics::uncertainty::{Along, COLUMNS, Column, Flat, Place, Point, Who};
use mechanics::wrench::Wrenches;
use std::cell::OnceCell;

/// A swing's curves and what its numbers are made from.
pub struct Curves<'a> {
    /// The swing.
    pub swing: &'a Swing,
    /// Plates, reference points and everything that is uncertain about them.
    pub sure: Sure,
    /// Motion of the centre of mass, where it can be had.
    pub body: Option<&'a Body>,
    made: Vec<OnceCell<Vec<f64>>>,
}

impl<'a> Curves<'a> {
    /// Nothing is made yet.
    pub fn new(swing: &'a Swing, rig: &Rig, body: Option<&'a Body>) -> Self {
        Self { swing, sure: Sure::of(swing, rig), body, made: vec![OnceCell::new(); COLUMNS] }
    }

    /// Samples.
    pub fn len(&self) -> usize {
        self.swing.ledger.turn_nm.len()
    }

    /// A curve at the swing's rate; empty where it does not exist.
    pub fn of(&self, series: Series) -> &[f64] {
        let part = |axes: &'a [Vec<f64>; 3], along: Along| axes[along as usize].as_slice();
        match (series, self.body.map(|b| &b.motion)) {
            (Series::Account(column), _) => self.column(column),
            (Series::Velocity(along), Some(m)) => part(&m.velocity_m_s, along),
            (Series::Displacement(along), Some(m)) => part(&m.displacement_m, along),
            (Series::Power, Some(m)) => &m.power_w,
            (_, None) => &[],
        }
    }

    /// A column of the accounts.
    pub fn column(&self, column: Column) -> &[f64] {
        let ledger = &self.swing.ledger;
        let side = |who: Who| -> Option<&Side> {
            match who {
                Who::Lead => ledger.lead.as_ref(),
                Who::Trail => ledger.trail.as_ref(),
                Who::Net => Some(&ledger.net),
            }
        };
        let turn = ledger.turn.as_ref();
        let kept: Option<&Vec<f64>> = match column {
            Column::Force(who, along) => side(who).map(|s| match along {
                Along::Target => &s.target_n,
                Along::Toe => &s.toe_n,
                Along::Up => &s.up_n,
            }),
            Column::Cop(who, flat) => side(who).map(|s| match flat {
                Flat::Target => &s.cop_target_m,
                Flat::Toe => &s.cop_toe_m,
            }),
            Column::FreeMoment(who) => side(who).map(|s| &s.free_moment_nm),
            Column::CoupleToe => turn.map(|t| &t.couple_toe_nm),
            Column::CoupleTarget => turn.map(|t| &t.couple_target_nm),
            Column::FreeLead => turn.map(|t| &t.free_lead_nm),
            Column::FreeTrail => turn.map(|t| &t.free_trail_nm),
            Column::Turn(Point::Asked) => Some(&ledger.turn_nm),
            Column::Offset(Point::Asked) => Some(&ledger.offset_nm),
            Column::TurnLead(Point::Asked) => turn.map(|t| &t.lead_nm),
            Column::TurnTrail(Point::Asked) => turn.map(|t| &t.trail_nm),
            Column::Turn(_)
            | Column::Offset(_)
            | Column::TurnLead(_)
            | Column::TurnTrail(_)
            | Column::Opposition(_)
            | Column::LeadShare => return self.made[column.index()].get_or_init(|| self.make(column)),
        };
        kept.map_or(&[], Vec::as_slice)
    }

    fn make(&self, column: Column) -> Vec<f64> {
        let series = &self.swing.series;
        let feet = series.feet.as_ref();
        match column {
            Column::Turn(point) => self.turn(&series.net.wrench, point),
            Column::TurnLead(point) => feet.map_or(Vec::new(), |f| self.turn(&f.lead.wrench, point)),
            Column::TurnTrail(point) => feet.map_or(Vec::new(), |f| self.turn(&f.trail.wrench, point)),
            Column::Offset(point) => {
                let (whole, asked) = (self.column(Column::Turn(point)), &self.swing.ledger);
                // All entries but this one are the same about every point.
                whole
                    .iter()
                    .zip(asked.turn_nm.iter().zip(&asked.offset_nm))
                    .map(|(whole, (turn, offset))| whole - (turn - offset))
                    .collect()
            }
            Column::Opposition(along) => {
                let (lead, trail) = (
                    self.column(Column::Force(Who::Lead, along)),
                    self.column(Column::Force(Who::Trail, along)),
                );
                lead.iter().zip(trail).map(|(l, t)| opposition(*l, *t)).collect()
            }
            Column::LeadShare => {
                let floor_n = self.sure.scene.floor_n;
                let (lead, net) = (
                    self.column(Column::Force(Who::Lead, Along::Up)),
                    self.column(Column::Force(Who::Net, Along::Up)),
                );
                lead.iter().zip(net).map(|(l, n)| if *n >= floor_n { l / n } else { f64::NAN }).collect()
            }
            _ => Vec::new(),
        }
    }

    /// Turn of a wrench about a point, the player's sign.
    fn turn(&self, wrench: &Wrenches, point: Point) -> Vec<f64> {
        let sign = self.swing.player.hand.turn_sign();
        let series = &self.swing.series;
        let fixed = match self.sure.scene.place(point) {
            Place::Fixed(at) | Place::Plate(_, at) => at,
            Place::Stance => self.sure.scene.stance.as_ref().map_or(DVec3::NAN, |s| s.point_m),
            Place::NetCop | Place::MidCop | Place::Given => DVec3::NAN,
        };
        let at = |k: usize| match (self.sure.scene.place(point), &series.feet) {
            (Place::MidCop, Some(feet)) => (feet.lead.contact[k].cop_m + feet.trail.contact[k].cop_m) / 2.0,
            (Place::NetCop | Place::MidCop, _) => series.net.contact[k].cop_m,
            (Place::Given, _) => given_m(self.swing, k),
            _ => fixed,
        };
        (0..wrench.len())
            .map(|k| sign * (wrench.moment_nm[k].z - turn_of_force(at(k), wrench.force_n[k])))
            .collect()
    }
}
