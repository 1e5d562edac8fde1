//! Every figure of the catalogue worked out from the simulator's truth alone: forces, centres of pressure and free
//! moments of the two feet. Nothing of the pipeline is used but the ids of its metrics.
use glam::DVec3;
use simulate::{GRAVITY, Truth};
use std::collections::BTreeMap;
use std::ops::Range;

/// Vertical force under which a foot has no centre of pressure, N: common practice, no source.
const FLOOR_N: f64 = 20.0;

/// The truth's curves by the names that metrics use, and the instants.
pub struct Oracle {
    curves: BTreeMap<String, Vec<f64>>,
    rate_hz: f64,
    events: Vec<(&'static str, f64)>,
    movement: Range<usize>,
    weight_n: f64,
    /// Mean centres of pressure of lead and trail foot at address, target and toe, m; where the feet are told apart.
    address: [[f64; 2]; 2],
}

/// One foot at one sample, player components.
struct Foot {
    target: f64,
    toe: f64,
    up: f64,
    /// Where it acts; anything where it carries nothing.
    acts: [f64; 2],
    free: f64,
}

impl Foot {
    /// Turn of what the foot does about a point: T + p_toe·F_target − p_target·F_toe, p from the point.
    fn turn(&self, about: [f64; 2]) -> f64 {
        self.free + (self.acts[1] - about[1]) * self.target - (self.acts[0] - about[0]) * self.toe
    }
    fn loaded(&self) -> bool {
        self.up >= FLOOR_N
    }
    /// What is not defined for a foot without load.
    fn kept(&self, value: f64) -> f64 {
        if self.loaded() { value } else { f64::NAN }
    }
    fn cop(&self) -> [f64; 2] {
        self.acts.map(|c| self.kept(c))
    }
    /// Where its force is booked: a foot without a centre of pressure makes no couple, so at the other's.
    fn booked(&self, other: &Foot) -> [f64; 2] {
        if self.loaded() { self.acts } else { other.acts }
    }
}

fn feet(truth: &Truth, k: usize) -> [Foot; 2] {
    [&truth.lead, &truth.trail].map(|foot| {
        let (force, cop) = (truth.player(foot.force_n[k]), truth.player(foot.cop_m[k]));
        let acts = if cop.is_nan() { [0.0; 2] } else { [cop.x, cop.y] };
        let free = truth.hand.turn_sign() * foot.free_moment_nm[k];
        Foot { target: force.x, toe: force.y, up: force.z, acts, free }
    })
}

impl Oracle {
    /// `plates`: centres of the lead and the trail foot's plate, golf frame, m; none where the feet share a plate.
    /// `quiet`: the samples that were taken for address; the invented player's weight varies nowhere before takeaway.
    pub fn new(truth: &Truth, plates: Option<[DVec3; 2]>, quiet: Range<usize>) -> Self {
        let rate_hz = truth.rate_hz;
        let samples = truth.len();
        let events = truth.events.list().to_vec();
        let at = |name: &str| events.iter().find(|e| e.0 == name).expect("an event").1;
        let movement = (at("takeaway") * rate_hz).floor() as usize
            ..((at("finish") * rate_hz).ceil() as usize + 1).min(samples);
        let address = mean_cops(truth, quiet);
        let stance = [0, 1].map(|i| (address[0][i] + address[1][i]) / 2.0);
        let plates = plates.map(|p| p.map(|c| [truth.player(c).x, truth.player(c).y]));
        let mut curves: BTreeMap<String, Vec<f64>> = BTreeMap::new();
        for k in 0..samples {
            let [l, t] = feet(truth, k);
            let sum = [l.target + t.target, l.toe + t.toe, l.up + t.up];
            let cop = [0, 1].map(|i| (l.up * l.acts[i] + t.up * t.acts[i]) / sum[2]);
            let (lead_cop, trail_cop) = (l.cop(), t.cop());
            let (at_lead, at_trail) = (l.booked(&t), t.booked(&l));
            let middle = [0, 1].map(|i| (at_lead[i] + at_trail[i]) / 2.0);
            let mid_cop = [0, 1].map(|i| (lead_cop[i] + trail_cop[i]) / 2.0);
            let turn = |p: [f64; 2]| l.turn(p) + t.turn(p);
            let mut add = |name: &str, value: f64| curves.entry(name.into()).or_default().push(value);
            for (along, (net, (lead, trail))) in ["target", "toe", "up"]
                .into_iter()
                .zip(sum.into_iter().zip([(l.target, t.target), (l.toe, t.toe), (l.up, t.up)]))
            {
                add(&format!("{along}.net"), net);
                if plates.is_some() {
                    add(&format!("{along}.lead"), lead);
                    add(&format!("{along}.trail"), trail);
                    // Where they push against each other, the smaller of the two is hidden in the net.
                    let against = if lead * trail < 0.0 { lead.abs().min(trail.abs()) } else { 0.0 };
                    add(&format!("opposition.{along}"), against);
                }
            }
            for (i, flat) in ["target", "toe"].into_iter().enumerate() {
                add(&format!("cop.net.{flat}"), cop[i]);
                add(&format!("acts.net.{flat}"), cop[i]);
                if plates.is_some() {
                    add(&format!("cop.lead.{flat}"), lead_cop[i]);
                    add(&format!("cop.trail.{flat}"), trail_cop[i]);
                    add(&format!("acts.lead.{flat}"), l.acts[i]);
                    add(&format!("acts.trail.{flat}"), t.acts[i]);
                }
            }
            add("turn.net-cop", turn(cop));
            // Nobody asked for another point.
            add("turn.asked", turn(cop));
            add("turn.rig-centre", turn([0.0, 0.0]));
            let Some([lead_plate, trail_plate]) = plates else {
                add("entry.offset.net-cop", 0.0);
                continue;
            };
            add("turn.mid-cop", turn(mid_cop));
            add("turn.stance", turn(stance));
            add("turn.lead-plate", turn(lead_plate));
            add("turn.trail-plate", turn(trail_plate));
            add("lead-share", l.up / sum[2]);
            add("free-moment.lead", l.kept(l.free));
            add("free-moment.trail", t.kept(t.free));
            add("entry.free-lead", l.turn(at_lead));
            add("entry.free-trail", t.turn(at_trail));
            // s × D in player components.
            let apart = [0, 1].map(|i| at_lead[i] - at_trail[i]);
            add("entry.couple-toe", -apart[0] * (l.toe - t.toe) / 2.0);
            add("entry.couple-target", apart[1] * (l.target - t.target) / 2.0);
            let offset = (middle[1] - cop[1]) * sum[0] - (middle[0] - cop[0]) * sum[1];
            add("entry.offset.net-cop", offset);
            add("turn-of-lead.net-cop", l.turn(cop));
            add("turn-of-trail.net-cop", t.turn(cop));
        }
        let weight_n = truth.mass_kg * GRAVITY;
        Self { curves, rate_hz, events, movement, weight_n, address }
    }

    /// What a metric must be; `None` for an id that is not known here.
    pub fn expect(&self, id: &str) -> Option<f64> {
        if id == "tempo" {
            return Some(self.lasts("backswing")? / self.lasts("downswing")?);
        }
        if let Some(over) = id.strip_prefix("lasts.") {
            return self.lasts(over);
        }
        if let Some(rest) = id.strip_prefix("stance.") {
            let apart = [0, 1].map(|i| self.address[0][i] - self.address[1][i]);
            return match rest {
                "width" => Some((apart[0] * apart[0] + apart[1] * apart[1]).sqrt()),
                "angle" => Some(apart[1].atan2(apart[0])),
                _ => None,
            };
        }
        if let Some(rest) = id.strip_prefix("impulse.") {
            return self.impulse(rest);
        }
        if let Some(curve) = id.strip_prefix("rate.") {
            return Some(self.steepest(self.curves.get(curve)?));
        }
        if let Some(rest) = id.strip_prefix("placement.") {
            let (point, flat) = rest.split_once('.')?;
            let k = self.extreme(&format!("turn.{point}.most"))?.0;
            return match flat {
                "target" => Some(-self.curves["toe.net"][k]),
                "toe" => Some(self.curves["target.net"][k]),
                _ => None,
            };
        }
        if let Some(rest) = id.strip_prefix("gap.") {
            let (from, to) = rest.split_once(".to.")?;
            return Some(self.vertex(to)? - self.vertex(from)?);
        }
        if let Some(rest) = id.strip_prefix("cop.") {
            return self.pressure(rest);
        }
        if let Some(rest) = id.strip_prefix("at.") {
            return self.at(rest);
        }
        if let Some(of) = id.strip_suffix(".time") {
            return self.event(of).or_else(|| self.vertex(of));
        }
        if let Some(of) = id.strip_suffix(".before-impact") {
            return Some(self.event("impact")? - self.vertex(of)?);
        }
        self.extreme(id).map(|(_, value)| value)
    }

    /// Body weight, N.
    pub fn weight_n(&self) -> f64 {
        self.weight_n
    }

    fn event(&self, name: &str) -> Option<f64> {
        self.events.iter().find(|e| e.0 == name).map(|e| e.1)
    }

    fn lasts(&self, over: &str) -> Option<f64> {
        let (from, to) = ends(over)?;
        Some(self.event(to)? - self.event(from)?)
    }

    /// Sample and value of "curve.most" or "curve.least", within the movement.
    fn extreme(&self, of: &str) -> Option<(usize, f64)> {
        let (curve, which) = of.rsplit_once('.')?;
        let curve = self.curves.get(curve)?;
        let sign = match which {
            "most" => 1.0,
            "least" => -1.0,
            _ => return None,
        };
        let defined = self.movement.clone().filter(|k| !curve[*k].is_nan());
        let k = defined.reduce(|a, b| if sign * curve[b] > sign * curve[a] { b } else { a })?;
        Some((k, curve[k]))
    }

    /// When it is; NaN where the curve is level there (a foot off the ground), so that rounding decides. A parabola through the samples within 8 ms, by the normal equations and Cramer's rule.
    fn vertex(&self, of: &str) -> Option<f64> {
        let (k, value) = self.extreme(of)?;
        let curve = &self.curves[of.rsplit_once('.')?.0];
        let half = (0.008 * self.rate_hz).round() as usize;
        if self.movement.clone().filter(|j| (curve[*j] - value).abs() < 1e-9).count() > 2 {
            return Some(f64::NAN);
        }
        let mut sums = [0.0; 5];
        let mut right = [0.0; 3];
        if k < half || k + half >= curve.len() {
            return Some(k as f64 / self.rate_hz);
        }
        for (j, y) in curve.iter().enumerate().take(k + half + 1).skip(k - half) {
            let x = j as f64 - k as f64;
            let powers = [1.0, x, x * x, x * x * x, x * x * x * x];
            sums.iter_mut().zip(powers).for_each(|(s, p)| *s += p);
            right.iter_mut().zip(powers).for_each(|(r, p)| *r += p * (y - value));
        }
        let matrix = |column: Option<usize>| {
            let mut m = [[0.0; 3]; 3];
            for (row, line) in m.iter_mut().enumerate() {
                for (c, cell) in line.iter_mut().enumerate() {
                    *cell = if Some(c) == column { right[row] } else { sums[row + c] };
                }
            }
            m[0][0] * (m[1][1] * m[2][2] - m[1][2] * m[2][1])
                - m[0][1] * (m[1][0] * m[2][2] - m[1][2] * m[2][0])
                + m[0][2] * (m[1][0] * m[2][1] - m[1][1] * m[2][0])
        };
        // Without a clear vertex the sample itself.
        let (slope, bend) = (matrix(Some(1)) / matrix(None), matrix(Some(2)) / matrix(None));
        let shift = -slope / (2.0 * bend);
        let hill = if of.ends_with(".most") { bend < 0.0 } else { bend > 0.0 };
        let clear = hill && shift.abs() <= half as f64;
        Some((k as f64 + if clear { shift } else { 0.0 }) / self.rate_hz)
    }

    /// "impact.up.net", "up.net.most.lead-share", "impact.cop.between-feet".
    fn at(&self, rest: &str) -> Option<f64> {
        let peaks = self.curves.keys().flat_map(|c| [format!("{c}.most"), format!("{c}.least")]);
        let whens = self.events.iter().map(|e| e.0.to_owned()).chain(peaks);
        let (when, of) = whens
            .filter_map(|w| Some((w.clone(), rest.strip_prefix(&format!("{w}."))?.to_owned())))
            .next()?;
        let read = |curve: &str| -> Option<f64> {
            let curve = self.curves.get(curve)?;
            if let Some(t) = self.event(&when) {
                return Some(between(curve, t * self.rate_hz));
            }
            Some(curve[self.extreme(&when)?.0])
        };
        if of != "cop.between-feet" {
            return read(&of);
        }
        let [lead, trail] = self.address;
        let apart = [lead[0] - trail[0], lead[1] - trail[1]];
        let from = [read("cop.net.target")? - trail[0], read("cop.net.toe")? - trail[1]];
        Some((from[0] * apart[0] + from[1] * apart[1]) / (apart[0] * apart[0] + apart[1] * apart[1]))
    }

    /// "downswing.target.lead.driving": summed over pieces a thousandth of a sample long.
    fn impulse(&self, rest: &str) -> Option<f64> {
        let (over, rest) = rest.split_once('.')?;
        let (name, part) = rest.rsplit_once('.')?;
        let (from, to) = ends(over)?;
        let (from, to) = (self.event(from)? * self.rate_hz, self.event(to)? * self.rate_hz);
        let weight = if name == "up.net" { self.weight_n } else { 0.0 };
        let kept: Vec<f64> = self
            .curves
            .get(name)?
            .iter()
            .map(|v| match part {
                "all" => v - weight,
                "driving" => v.max(0.0),
                "braking" => v.min(0.0),
                _ => f64::NAN,
            })
            .collect();
        // Straight between samples: an exact integral in pieces that end at samples.
        let mut total = 0.0;
        let mut place = from;
        while place < to {
            let next = (place.floor() + 1.0).min(to);
            total += (next - place) * between(&kept, (place + next) / 2.0);
            place = next;
        }
        Some(total / self.rate_hz)
    }

    /// Every window of 50 ms, its regression line from the textbook formula.
    fn steepest(&self, curve: &[f64]) -> f64 {
        let length = (0.05 * self.rate_hz).round() as usize;
        let n = length as f64;
        let centre = (n - 1.0) / 2.0;
        let slope = |window: &[f64]| {
            let mean = window.iter().sum::<f64>() / n;
            let pairs = window.iter().enumerate().map(|(i, y)| (i as f64 - centre, y - mean));
            let (xy, xx) = pairs.fold((0.0, 0.0), |(xy, xx), (x, y)| (xy + x * y, xx + x * x));
            xy / xx * self.rate_hz
        };
        curve[self.movement.clone()].windows(length).map(slope).fold(f64::NEG_INFINITY, f64::max)
    }

    /// "net.path", "lead.target.extent", "trail.toe.speed": places every 20 ms, weighted by the vertical force.
    fn pressure(&self, rest: &str) -> Option<f64> {
        let (who, rest) = rest.split_once('.')?;
        let up = self.curves.get(&format!("up.{who}"))?;
        let length = (0.02 * self.rate_hz).round() as usize;
        let places = |flat: &str| -> Option<Vec<f64>> {
            // Mean moment over mean force: the light foot acts too, until the mean itself is under the floor.
            let cop = self.curves.get(&format!("acts.{who}.{flat}"))?;
            let (cop, up) = (&cop[self.movement.clone()], &up[self.movement.clone()]);
            let blocks = cop.chunks_exact(length).zip(up.chunks_exact(length));
            let mean = |(cop, up): (&[f64], &[f64])| {
                let load: f64 = up.iter().sum();
                let loaded = load >= FLOOR_N * length as f64;
                if loaded { cop.iter().zip(up).map(|(c, u)| c * u).sum::<f64>() / load } else { f64::NAN }
            };
            Some(blocks.map(mean).collect())
        };
        let steps = |flat: &str| -> Option<Vec<f64>> {
            Some(places(flat)?.windows(2).map(|p| p[1] - p[0]).collect())
        };
        if rest == "path" {
            return Some(
                steps("target")?
                    .iter()
                    .zip(steps("toe")?)
                    .map(|(x, y)| x.hypot(y))
                    .filter(|d| !d.is_nan())
                    .sum(),
            );
        }
        let (flat, what) = rest.split_once('.')?;
        let most = |values: &[f64]| values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        match what {
            "extent" => {
                let places = places(flat)?;
                let turned: Vec<f64> = places.iter().map(|p| -p).collect();
                Some(most(&places) + most(&turned))
            }
            "speed" => Some(most(&steps(flat)?) / (length as f64 / self.rate_hz)),
            _ => None,
        }
    }
}

fn ends(over: &str) -> Option<(&'static str, &'static str)> {
    Some(match over {
        "backswing" => ("takeaway", "top"),
        "downswing" => ("top", "impact"),
        "follow-through" => ("impact", "finish"),
        "movement" => ("takeaway", "finish"),
        _ => return None,
    })
}

/// On the straight line between two samples.
fn between(curve: &[f64], place: f64) -> f64 {
    let k = place.floor() as usize;
    let share = place - k as f64;
    curve[k] * (1.0 - share) + if share > 0.0 { curve[k + 1] * share } else { 0.0 }
}

/// Mean centres of pressure of lead and trail foot.
fn mean_cops(truth: &Truth, samples: Range<usize>) -> [[f64; 2]; 2] {
    [&truth.lead, &truth.trail].map(|foot| {
        let mean = foot.cop_m[samples.clone()].iter().sum::<DVec3>() / samples.len() as f64;
        [truth.player(mean).x, truth.player(mean).y]
    })
}
