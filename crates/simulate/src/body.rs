//! The body: from a player's style to the motion of the centre of mass and what each foot must then do.
//!
//! 1. The centre of mass is accelerated by pushes with closed integrals, so F = m (a + g ẑ) has the impulse that
//!    changes its momentum, exactly. A few pushes in the follow-through bring it to rest over the feet.
//! 2. Standing sway is an inverted pendulum without moment about the centre of mass: the net centre of pressure
//!    leads the sway by (h/g) times its acceleration. Source: Winter 1995, Gait & Posture 3:193-214.
//! 3. The vertical force is shared between the feet; shear follows the share, and an opposed pair that vanishes
//!    with either foot's load comes on top; free moments vanish with load too.
//! 4. A last free moment of the lead foot stops the turn: the body turns round the vertical neither before the
//!    takeaway nor at the finish, so the account of turn about the centre of mass integrates to nothing.
use crate::chance::{Chance, Purpose};
use crate::least::least;
use crate::player::PlayerSpec;
use crate::shape::{Push, Step, keep_share, rise};
use crate::style::{Move, Travel};
use crate::truth::{Events, FootTruth, Footprint, GRAVITY, Truth};
use glam::DVec3;
use signal::math;

/// One foot at one instant, player's components (target, toe, up).
#[derive(Clone, Copy, Debug)]
struct FootNow {
    force: DVec3,
    cop: DVec3,
    /// Free moment that turns the player toward the target, N·m.
    free: f64,
}

/// Body and feet at one instant, player's components.
#[derive(Clone, Copy, Debug)]
struct Now {
    place: DVec3,
    speed: DVec3,
    acceleration: DVec3,
    lead: FootNow,
    trail: FootNow,
}

/// A sinusoid of sway along one axis.
#[derive(Clone, Copy, Debug)]
struct Wave {
    amplitude_m: f64,
    omega: f64,
    phase: f64,
}

/// Share of body weight below which a free moment fades with the load. Common practice, no source.
const GRIP: f64 = 0.15;

/// A swing of one player, all draws made: everything else is arithmetic.
pub struct Swing {
    mass_kg: f64,
    events: Events,
    end_s: f64,
    start: DVec3,
    pushes: [Vec<Push>; 3],
    sway: [Vec<Wave>; 2],
    share: (f64, Vec<Step>),
    oppose_target: (f64, Vec<Step>),
    oppose_target_pushes: Vec<Push>,
    oppose_toe: Vec<Push>,
    free_lead: Vec<Push>,
    free_trail: Vec<Push>,
    lead: Sole,
    trail: Sole,
}

/// A sole and where its centre of pressure goes, player's components.
struct Sole {
    heel: DVec3,
    /// Unit vector from heel to toe.
    ahead: DVec3,
    /// Unit vector to the outside of the foot.
    outside: DVec3,
    length_m: f64,
    width_m: f64,
    along: (f64, Vec<Step>),
    across: (f64, Vec<Step>),
}

impl Sole {
    fn cop(&self, t: f64) -> DVec3 {
        let along = follow(&self.along, t);
        let across = follow(&self.across, t);
        self.heel + self.ahead * (along * self.length_m) + self.outside * (across * self.width_m)
    }
}

fn follow((start, steps): &(f64, Vec<Step>), t: f64) -> f64 {
    start + steps.iter().map(|s| s.value(t)).sum::<f64>()
}

fn total(pushes: &[Push], t: f64) -> f64 {
    pushes.iter().map(|p| p.value(t)).sum()
}

/// The draws of one swing.
struct Draw<'a> {
    chance: Chance,
    player: &'a PlayerSpec,
    events: Events,
}

/// No push or step is shorter, s.
const SHORTEST_S: f64 = 0.02;

impl Draw<'_> {
    fn time(&self, phase: f64) -> f64 {
        let e = &self.events;
        let marks = [e.takeaway_s, e.top_s, e.impact_s, e.finish_s];
        let k = (phase.max(0.0) as usize).min(2);
        marks[k] + (marks[k + 1] - marks[k]) * (phase - k as f64)
    }
    /// Begin, end and size of a move in this swing. Moves stay between takeaway and finish.
    fn timed(&mut self, m: &Move, gain: f64) -> (f64, f64, f64) {
        let late = self.player.scatter.timing_s * self.chance.tame();
        let size = m.size * gain * (1.0 + self.player.scatter.size * self.chance.tame());
        let bound = |t: f64| t.clamp(self.events.takeaway_s, self.events.finish_s);
        let (from, to) = (bound(self.time(m.from) + late), bound(self.time(m.to) + late));
        // However it is drawn, a move takes time.
        (from.min(to - SHORTEST_S), to, size)
    }
    fn pushes(&mut self, moves: &[Move], gain: f64) -> Vec<Push> {
        moves
            .iter()
            .map(|m| self.timed(m, gain))
            .map(|(from_s, to_s, peak)| Push { from_s, to_s, peak })
            .collect()
    }
    fn travel(&mut self, travel: &Travel) -> (f64, Vec<Step>) {
        let steps = travel
            .steps
            .iter()
            .map(|m| self.timed(m, 1.0))
            .map(|(from_s, to_s, size)| Step { from_s, to_s, size })
            .collect();
        (travel.start, steps)
    }
    /// A sole whose centre of pressure at address lies at `at` along the target line and on the line of stance.
    fn sole(&mut self, at: f64, flare: f64, outside_sign: f64, along: &Travel, across: &Travel) -> Sole {
        let p = self.player;
        let flare = flare + outside_sign * p.scatter.angle_rad * self.chance.tame();
        let (sin, cos) = (math::sin(flare), math::cos(flare));
        let ahead = DVec3::new(sin, cos, 0.0);
        let outside = DVec3::new(cos, -sin, 0.0) * outside_sign;
        let aside = p.scatter.placement_m * self.chance.tame();
        let along = self.travel(along);
        let across = self.travel(across);
        let address = DVec3::new(at + aside, 0.0, 0.0);
        let heel = address - ahead * (along.0 * p.foot_length_m) - outside * (across.0 * p.foot_width_m);
        Sole { heel, ahead, outside, length_m: p.foot_length_m, width_m: p.foot_width_m, along, across }
    }
}

/// Amplitude (m) and frequency (Hz) of the waves of sway. Sizes are common practice, no source.
const SWAY: [(f64, f64); 6] =
    [(0.0020, 0.17), (0.0010, 0.41), (0.00040, 0.83), (0.00016, 1.37), (0.00007, 2.3), (0.00003, 3.6)];

fn sway(player: &PlayerSpec, chance: &mut Chance) -> Vec<Wave> {
    SWAY.iter()
        .map(|&(amplitude, hz)| Wave {
            amplitude_m: amplitude * player.sway * (0.7 + 0.6 * chance.uniform()),
            omega: core::f64::consts::TAU * hz * (0.9 + 0.2 * chance.uniform()),
            phase: core::f64::consts::TAU * chance.uniform(),
        })
        .collect()
}

impl Swing {
    /// Draws swing `k` of a session. `None` where the phases last no time.
    pub fn draw(player: &PlayerSpec, seed: u64, k: u32) -> Option<Self> {
        let mut chance = Chance::new(seed, k, Purpose::Variation);
        let mut span = |usual_s: f64| usual_s * (1.0 + player.scatter.tempo * chance.tame());
        let (quiet, back, down, follow_s) =
            (span(player.quiet_s), span(player.backswing_s), span(player.downswing_s), span(player.follow_s));
        let events = Events {
            address_s: quiet - 0.5,
            takeaway_s: quiet,
            top_s: quiet + back,
            impact_s: quiet + back + down,
            finish_s: quiet + back + down + follow_s,
        };
        let mut draw = Draw { chance, player, events };
        let style = &player.style;
        let half = player.stance_m / 2.0;
        let lead = draw.sole(half, player.flare_lead_rad, 1.0, &style.along_lead, &style.across_lead);
        let trail = draw.sole(-half, -player.flare_trail_rad, -1.0, &style.along_trail, &style.across_trail);
        let mut pushes = [&style.target, &style.toe, &style.up].map(|moves| draw.pushes(moves, GRAVITY));
        for (axis, jolt) in [(0, -0.03), (2, 0.025)] {
            pushes[axis].extend(jolt_of_impact(events.impact_s, jolt * GRAVITY));
        }
        let mut sway_chance = Chance::new(seed, k, Purpose::Sway);
        let mut swing = Self {
            mass_kg: player.mass_kg,
            events,
            end_s: events.finish_s + player.hold_s,
            start: DVec3::new(0.0, 0.0, 0.54 * player.height_m),
            pushes,
            sway: [sway(player, &mut sway_chance), sway(player, &mut sway_chance)],
            share: draw.travel(&style.share),
            oppose_target: draw.travel(&style.oppose_target),
            oppose_target_pushes: draw.pushes(&style.oppose_target_pushes, 1.0),
            oppose_toe: draw.pushes(&style.oppose_toe, 1.0),
            free_lead: draw.pushes(&style.free_lead, player.mass_kg),
            free_trail: draw.pushes(&style.free_trail, player.mass_kg),
            lead,
            trail,
        };
        swing.free_lead.extend(jolt_of_impact(events.impact_s, -0.03 * player.mass_kg));
        let address = swing.cop_of_design(0.0);
        swing.start = DVec3::new(address.x, address.y, swing.start.z);
        swing.come_to_rest()?;
        swing.stop_turning();
        Some(swing)
    }

    fn share_of_design(&self, t: f64) -> f64 {
        keep_share(follow(&self.share, t))
    }
    /// Net centre of pressure without sway.
    fn cop_of_design(&self, t: f64) -> DVec3 {
        let share = self.share_of_design(t);
        self.lead.cop(t) * share + self.trail.cop(t) * (1.0 - share)
    }

    /// Gentle pushes in the follow-through, the least that do it: at the finish the body has no speed and
    /// stands over its feet. Angular momentum about the horizontal axes is not forced back to nothing (turn is):
    /// the styles keep it within a few N·m·s.
    fn come_to_rest(&mut self) -> Option<()> {
        let (impact, finish) = (self.events.impact_s, self.events.finish_s);
        let at = |u: f64| impact + (finish - impact) * u;
        let goal = self.cop_of_design(finish) + DVec3::Z * (self.start.z + 0.02);
        let unit: Vec<Push> = [0.03, 0.15, 0.27, 0.39, 0.51]
            .map(|u| Push { from_s: at(u), to_s: at(u + 0.49), peak: 1.0 })
            .to_vec();
        for axis in 0..3 {
            let pushes = &self.pushes[axis];
            let speed: f64 = pushes.iter().map(|p| p.first_integral(finish)).sum();
            let place: f64 = self.start[axis] + pushes.iter().map(|p| p.second_integral(finish)).sum::<f64>();
            let rows = [
                unit.iter().map(|p| p.first_integral(finish)).collect::<Vec<f64>>(),
                unit.iter().map(|p| p.second_integral(finish)).collect(),
            ];
            let wanted = [-speed, goal[axis] - place];
            let peaks = least(&rows, &wanted)?;
            self.pushes[axis].extend(unit.iter().zip(peaks).map(|(p, peak)| Push { peak, ..*p }));
        }
        Some(())
    }

    /// A free moment of the lead foot in the follow-through, such that turn about the centre of mass integrates
    /// to nothing over the swing. The moment is linear in its peak, so two integrals give the peak.
    fn stop_turning(&mut self) {
        let stop = Push { from_s: self.events.impact_s, to_s: self.events.finish_s, peak: 1.0 };
        let turned = self.angular_impulse().z;
        self.free_lead.push(stop);
        let with_one = self.angular_impulse().z;
        if let Some(last) = self.free_lead.last_mut() {
            last.peak = -turned / (with_one - turned);
        }
    }

    /// Integral of the ground's moment about the centre of mass from takeaway to finish, N·m·s: about the target
    /// axis, the toe axis (both right-handed axes of a mirror-free frame) and turn. Trapezoids of 0.5 ms.
    fn angular_impulse(&self) -> DVec3 {
        let (from, to) = (self.events.takeaway_s, self.events.finish_s);
        let n = ((to - from) * 2000.0).ceil();
        let step = (to - from) / n;
        (0..=n as usize)
            .map(|i| {
                let weight = if i == 0 || i == n as usize { 0.5 } else { 1.0 };
                self.at(from + i as f64 * step).moment_about_com() * (weight * step)
            })
            .sum()
    }

    fn at(&self, t: f64) -> Now {
        let sum = |f: &dyn Fn(&Push) -> f64| {
            DVec3::from_array([0, 1, 2].map(|axis| self.pushes[axis].iter().map(f).sum::<f64>()))
        };
        let mut place = self.start + sum(&|p| p.second_integral(t));
        let mut speed = sum(&|p| p.first_integral(t));
        let mut acceleration = sum(&|p| p.value(t));
        // The pendulum: with no moment about the centre of mass, cop = place − (height / g) · acceleration.
        let mut sway_cop = [0.0; 2];
        for axis in [0, 1] {
            for w in &self.sway[axis] {
                let (sin, cos) = (math::sin(w.omega * t + w.phase), math::cos(w.omega * t + w.phase));
                place[axis] += w.amplitude_m * sin;
                speed[axis] += w.amplitude_m * w.omega * cos;
                let a = -w.amplitude_m * w.omega * w.omega * sin;
                acceleration[axis] += a;
                sway_cop[axis] += w.amplitude_m * sin - self.start.z / GRAVITY * a;
            }
        }
        let weight = self.mass_kg * GRAVITY;
        let force = DVec3::new(acceleration.x, acceleration.y, acceleration.z + GRAVITY) * self.mass_kg;

        // Sway along the target line moves load from foot to foot while both carry; what is left, and sway
        // toe–heel, moves both centres of pressure.
        let (mut lead_cop, mut trail_cop) = (self.lead.cop(t), self.trail.cop(t));
        let apart = lead_cop - trail_cop;
        let design = self.share_of_design(t);
        let both = rise((1.0 - design) / 0.08) * rise(design / 0.08);
        let moved = both * sway_cop[0] / apart.x;
        let share = (design + moved).clamp(0.0, 1.0);
        let shift = DVec3::new(
            sway_cop[0] - (share - design) * apart.x,
            sway_cop[1] - (share - design) * apart.y,
            0.0,
        );
        lead_cop += shift;
        trail_cop += shift;

        let together = 4.0 * share * (1.0 - share);
        let held = follow(&self.oppose_target, t) * (1.0 - self.settled(t));
        let opposed =
            DVec3::new(held + total(&self.oppose_target_pushes, t), total(&self.oppose_toe, t), 0.0)
                * (weight * together);
        let lead = force * share + opposed;
        let trail = force - lead;
        let grip = |up: f64| up / weight / (up / weight + GRIP);
        Now {
            place,
            speed,
            acceleration,
            lead: FootNow { force: lead, cop: lead_cop, free: total(&self.free_lead, t) * grip(lead.z) },
            trail: FootNow { force: trail, cop: trail_cop, free: total(&self.free_trail, t) * grip(trail.z) },
        }
    }

    /// 0 until impact, 1 from the finish on.
    fn settled(&self, t: f64) -> f64 {
        let e = &self.events;
        rise((t - e.impact_s) / (e.finish_s - e.impact_s))
    }

    /// The truth at `rate_hz`, the stance centred at `stand_m` (player's components: target, toe).
    pub fn truth(&self, player: &PlayerSpec, rate_hz: f64, stand_m: [f64; 2]) -> Truth {
        let n = (self.end_s * rate_hz).floor() as usize + 1;
        let stand = DVec3::new(stand_m[0], stand_m[1], 0.0);
        let (toe, turn) = (player.hand.toe_sign(), player.hand.turn_sign());
        let golf = |v: DVec3| DVec3::new(v.x, v.y * toe, v.z);
        let foot = |sole: &Sole| FootTruth {
            print: Footprint {
                heel_m: golf(sole.heel + stand),
                toe_m: golf(sole.heel + sole.ahead * sole.length_m + stand),
                width_m: sole.width_m,
            },
            force_n: Vec::with_capacity(n),
            cop_m: Vec::with_capacity(n),
            free_moment_nm: Vec::with_capacity(n),
        };
        let mut truth = Truth {
            alias: player.alias.clone(),
            hand: player.hand,
            mass_kg: self.mass_kg,
            gravity_m_s2: GRAVITY,
            rate_hz,
            lead: foot(&self.lead),
            trail: foot(&self.trail),
            com_m: Vec::with_capacity(n),
            com_m_s: Vec::with_capacity(n),
            com_m_s2: Vec::with_capacity(n),
            events: self.events,
            club_m_s: Some(player.club_m_s),
        };
        for i in 0..n {
            let now = self.at(i as f64 / rate_hz);
            truth.com_m.push(golf(now.place + stand));
            truth.com_m_s.push(golf(now.speed));
            truth.com_m_s2.push(golf(now.acceleration));
            for (foot, now) in [(&mut truth.lead, now.lead), (&mut truth.trail, now.trail)] {
                let carries = now.force.z > 0.0;
                foot.force_n.push(golf(now.force));
                foot.cop_m.push(if carries { golf(now.cop + stand) } else { DVec3::NAN });
                foot.free_moment_nm.push(turn * now.free);
            }
        }
        truth
    }
}

impl Now {
    /// Moment about the centre of mass: z is turn (positive toward the target); x and y as in the golf frame of
    /// a left-handed player, where player's components and golf axes agree but for the sign of turn.
    fn moment_about_com(&self) -> DVec3 {
        let part = |f: &FootNow| {
            let m = (f.cop - self.place).cross(f.force);
            DVec3::new(m.x, m.y, f.free - m.z)
        };
        part(&self.lead) + part(&self.trail)
    }
}

/// What impact leaves in the ground reaction: a kink of a few per cent of body weight, back and forth within
/// 40 ms, with no impulse left over. The size is common practice, no source.
fn jolt_of_impact(impact_s: f64, peak: f64) -> [Push; 2] {
    [
        Push { from_s: impact_s, to_s: impact_s + 0.014, peak },
        Push { from_s: impact_s + 0.010, to_s: impact_s + 0.038, peak: -peak / 2.0 },
    ]
}
