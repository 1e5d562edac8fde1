//! The centre of mass: integrals of the net force from the middle of its rest, with the rig's errors in them.
use super::gathered::Gathered;
use super::measurer::Measurer;
use mechanics::uncertainty::{Along, Column, Uncertain, Who};

impl Measurer<'_> {
    /// The net force at rest, in the order of [`Along::ALL`].
    pub(super) fn rest_n(&self) -> Option<&[Uncertain; 3]> {
        let (scene, errors) = (&self.curves.sure.scene, &self.curves.sure.errors);
        let make = || {
            let rest = self.at_rest()?;
            Some(Along::ALL.map(|along| rest.of(scene, errors, Column::Force(Who::Net, along))))
        };
        self.rest_n.get_or_init(make).as_ref()
    }

    /// Velocity at a sample: the motion's value; the rig's errors in what was gathered since the rest, less what the
    /// force at rest, taken off as it was measured, shares with it; and what the rest itself leaves unsure.
    pub(super) fn velocity(&self, along: Along, k: usize) -> Option<Uncertain> {
        let number = self.rig_velocity(along, k)?;
        let body = self.curves.body?;
        let stated = body.stated_share * number.value;
        Some(number.with(body.doubts[along as usize].velocity_m_s(k as f64, 0.0)).with(stated))
    }

    fn rig_velocity(&self, along: Along, k: usize) -> Option<Uncertain> {
        let body = self.curves.body?;
        let (scene, errors) = (&self.curves.sure.scene, &self.curves.sure.errors);
        let column = Column::Force(Who::Net, along);
        let from = body.doubts[along as usize].from.round().max(0.0) as usize;
        let doubt = &body.doubts[along as usize];
        let sums = self.gathered.get_or_init(|| Gathered::new(&self.curves));
        let gathered = |to: usize| sums.over(&self.curves, from, to).of(scene, errors, column);
        let rest_n = self.rest_n()?;
        let weight = &rest_n[Along::Up as usize];
        let elapsed = k as f64 - from as f64;
        let mass_kg = body.motion.mass_kg;
        let value = body.motion.velocity_m_s[along as usize].get(k).copied().unwrap_or(f64::NAN);
        // The force at rest is taken off as it was measured: over the rest, or, between two rests, as what makes the
        // second one rest. A gain error that differs from plate to plate comes in through either.
        let at_rest = if doubt.to.is_finite() {
            let to = doubt.to.round().max(0.0) as usize;
            gathered(to).times(elapsed / (to as f64 - from as f64))
        } else {
            rest_n[along as usize].times(elapsed / self.rate_hz())
        };
        // The mass was weighed: it scales with the weight.
        let terms =
            [(1.0 / mass_kg, &gathered(k)), (-1.0 / mass_kg, &at_rest), (-value / weight.value, weight)];
        // Noise and what the rest leaves unsure is the motion's own, told once.
        Some(Uncertain { noise_var: 0.0, ..Uncertain::function(value, &terms) })
    }

    pub(super) fn displacement(&self, along: Along, k: usize) -> Option<Uncertain> {
        let body = self.curves.body?;
        let doubt = &body.doubts[along as usize];
        let from = doubt.from;
        let steps = 8_usize;
        let step = (k as f64 - from) / steps as f64;
        let nodes: Option<Vec<Uncertain>> = (0..=steps)
            .map(|j| self.rig_velocity(along, (from + step * j as f64).round().max(0.0) as usize))
            .collect();
        let nodes = nodes?;
        let width_s = step / self.rate_hz();
        let weigh = |j: usize| if j == 0 || j == steps { 0.5 * width_s } else { width_s };
        let terms: Vec<(f64, &Uncertain)> = nodes.iter().enumerate().map(|(j, u)| (weigh(j), u)).collect();
        let value = body.motion.displacement_m[along as usize].get(k).copied().unwrap_or(f64::NAN);
        let stated = body.stated_share * value;
        Some(Uncertain::function(value, &terms).with(doubt.displacement_m(k as f64, 0.0)).with(stated))
    }

    pub(super) fn power(&self, k: usize) -> Option<Uncertain> {
        let value = self.curves.body?.motion.power_w.get(k).copied().unwrap_or(f64::NAN);
        let parts: Option<Vec<(Uncertain, Uncertain)>> = [Along::Target, Along::Toe, Along::Up]
            .into_iter()
            .map(|along| Some((self.column_at(Column::Force(Who::Net, along), k), self.velocity(along, k)?)))
            .collect();
        let parts = parts?;
        let terms: Vec<(f64, &Uncertain)> =
            parts.iter().flat_map(|(force, speed)| [(speed.value, force), (force.value, speed)]).collect();
        Some(Uncertain::function(value, &terms))
    }
}
