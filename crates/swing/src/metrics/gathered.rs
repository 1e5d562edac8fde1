//! What the plates' readings gather over time: the integrals that the motion of the centre of mass is made from.
use super::series::Curves;
use glam::DVec3;
use mechanics::uncertainty::{Linear, PlateAt};
use std::cell::RefCell;
use std::collections::BTreeMap;
use std::rc::Rc;

/// Running integrals of the plates' wrenches.
pub struct Gathered {
    plates: Vec<Running>,
    /// Sensitivities by the ends of the integral, made once.
    linear: RefCell<BTreeMap<(usize, usize), Rc<Linear>>>,
}

/// Running integrals of one plate's wrench, by trapezoids.
struct Running {
    force: Vec<DVec3>,
    moment: Vec<DVec3>,
}

impl Gathered {
    /// In the order of the scene's plates.
    pub fn new(curves: &Curves) -> Self {
        let rate = curves.swing.rate_hz;
        let running = |column: &[DVec3]| {
            let mut total = DVec3::ZERO;
            let mut before = column.first().copied().unwrap_or_default();
            let step = |v: &DVec3| {
                total += (before + *v) / (2.0 * rate);
                before = *v;
                total
            };
            column.iter().map(step).collect()
        };
        let plates = RefCell::new(Vec::new());
        curves.sure.scene.readings(&curves.swing.series, |wrench| {
            plates
                .borrow_mut()
                .push(Running { force: running(&wrench.force_n), moment: running(&wrench.moment_nm) });
            PlateAt::ZERO
        });
        Self { plates: plates.into_inner(), linear: RefCell::default() }
    }

    /// Readings integrated from sample `from` to sample `to`.
    pub fn over(&self, curves: &Curves, from: usize, to: usize) -> Rc<Linear> {
        let make = || Rc::new(self.integrated(curves, from, to));
        Rc::clone(self.linear.borrow_mut().entry((from, to)).or_insert_with(make))
    }

    fn integrated(&self, curves: &Curves, from: usize, to: usize) -> Linear {
        let rate = curves.swing.rate_hz;
        let difference = |column: &[DVec3]| {
            let at = |k: usize| column.get(k).copied().unwrap_or(DVec3::NAN);
            at(to) - at(from)
        };
        let ends = curves.sure.scene.readings(&curves.swing.series, |w| PlateAt {
            force_rate: difference(&w.force_n),
            moment_rate: difference(&w.moment_nm),
            ..PlateAt::ZERO
        });
        let duration_s = (to as f64 - from as f64) / rate;
        let read: Vec<PlateAt> = self
            .plates
            .iter()
            .zip(ends)
            .map(|(run, ends)| PlateAt {
                force_n: difference(&run.force),
                moment_nm: difference(&run.moment),
                weight: duration_s,
                noise: duration_s.abs(),
                samples: (to as f64 - from as f64).abs().max(1.0),
                ..ends
            })
            .collect();
        Linear::new(&curves.sure.scene, &read, DVec3::ZERO)
    }
}
