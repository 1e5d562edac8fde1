//! What really happened: the truth that every figure of a simulated recording can be held against.
use glam::DVec3;
use mechanics::Hand;
use std::fmt::Write;

/// Standard gravity, m/s². Source: exact definition (CGPM 1901).
pub const GRAVITY: f64 = 9.80665;

/// The truth of one recording. Golf frame (x target, z up, origin the mean of the plates' surface centres);
/// reactions of the ground on the player; one entry a sample.
#[derive(Clone, Debug, PartialEq)]
pub struct Truth {
    /// The invented player's alias.
    pub alias: String,
    /// Right- or left-handed.
    pub hand: Hand,
    /// Body mass, kg.
    pub mass_kg: f64,
    /// Gravity, m/s².
    pub gravity_m_s2: f64,
    /// Samples a second.
    pub rate_hz: f64,
    /// The foot nearer the target.
    pub lead: FootTruth,
    /// The other foot.
    pub trail: FootTruth,
    /// Centre of mass, m.
    pub com_m: Vec<DVec3>,
    /// Its velocity, m/s.
    pub com_m_s: Vec<DVec3>,
    /// Its acceleration, m/s².
    pub com_m_s2: Vec<DVec3>,
    /// When things happened.
    pub events: Events,
    /// Speed of the clubhead at impact, m/s, where a club was swung.
    pub club_m_s: Option<f64>,
}

/// The truth of one foot.
#[derive(Clone, Debug, PartialEq)]
pub struct FootTruth {
    /// Where the sole stands.
    pub print: Footprint,
    /// Force, N.
    pub force_n: Vec<DVec3>,
    /// Centre of pressure, m; NaN where the foot carries nothing.
    pub cop_m: Vec<DVec3>,
    /// Free moment about the upward axis, N·m (golf frame, not the player's turn).
    pub free_moment_nm: Vec<f64>,
}

/// A sole on the ground, golf frame, m.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Footprint {
    /// Middle of the heel's edge.
    pub heel_m: DVec3,
    /// Middle of the toe's edge.
    pub toe_m: DVec3,
    /// Width.
    pub width_m: f64,
}

impl Footprint {
    /// Middle of the sole.
    pub fn centre_m(&self) -> DVec3 {
        (self.heel_m + self.toe_m) / 2.0
    }
    /// True where the point lies within length and width of the sole (seen from above).
    pub fn covers(&self, point_m: DVec3) -> bool {
        let along = self.toe_m - self.heel_m;
        let length = along.length();
        let from_heel = point_m - self.heel_m;
        let ahead = from_heel.dot(along) / length;
        let aside = (along.x * from_heel.y - along.y * from_heel.x) / length;
        (0.0..=length).contains(&ahead) && aside.abs() <= self.width_m / 2.0
    }
}

/// Instants, in seconds from the first sample; NaN where there is none. They lie between samples as often as not.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Events {
    /// Quiet address, half a second before takeaway.
    pub address_s: f64,
    /// The swing begins.
    pub takeaway_s: f64,
    /// The club turns round.
    pub top_s: f64,
    /// Club meets ball.
    pub impact_s: f64,
    /// The body has come to rest.
    pub finish_s: f64,
}

impl Events {
    /// A recording without a swing.
    pub const NONE: Self = Self {
        address_s: f64::NAN,
        takeaway_s: f64::NAN,
        top_s: f64::NAN,
        impact_s: f64::NAN,
        finish_s: f64::NAN,
    };
    /// Names and instants in order.
    pub fn list(&self) -> [(&'static str, f64); 5] {
        [
            ("address", self.address_s),
            ("takeaway", self.takeaway_s),
            ("top", self.top_s),
            ("impact", self.impact_s),
            ("finish", self.finish_s),
        ]
    }
}

impl Truth {
    /// Number of samples.
    pub fn len(&self) -> usize {
        self.com_m.len()
    }
    /// True without samples.
    pub fn is_empty(&self) -> bool {
        self.com_m.is_empty()
    }
    /// Keeps the first samples only.
    pub fn truncate(&mut self, samples: usize) {
        for foot in [&mut self.lead, &mut self.trail] {
            foot.force_n.truncate(samples);
            foot.cop_m.truncate(samples);
            foot.free_moment_nm.truncate(samples);
        }
        self.com_m.truncate(samples);
        self.com_m_s.truncate(samples);
        self.com_m_s2.truncate(samples);
    }
    /// Net force at a sample, N, golf frame.
    pub fn net_n(&self, i: usize) -> DVec3 {
        self.lead.force_n[i] + self.trail.force_n[i]
    }
    /// Moment of all ground reactions about a point, N·m, golf frame: Σ (T_i ẑ + (cop_i − P) × F_i).
    pub fn moment_about(&self, i: usize, point_m: DVec3) -> DVec3 {
        self.lead.moment_about(i, point_m) + self.trail.moment_about(i, point_m)
    }
    /// Net centre of pressure at a sample, m: the feet's, weighted by their vertical forces.
    pub fn net_cop_m(&self, i: usize) -> DVec3 {
        let (l, t) = (self.lead.force_n[i].z, self.trail.force_n[i].z);
        let part = |share: f64, cop: DVec3| if share == 0.0 { DVec3::ZERO } else { share * cop };
        (part(l, self.lead.cop_m[i]) + part(t, self.trail.cop_m[i])) / (l + t)
    }
    /// A golf-frame vector in the player's components: target, toe, up.
    pub fn player(&self, v: DVec3) -> DVec3 {
        DVec3::new(v.x, v.y * self.hand.toe_sign(), v.z)
    }

    /// The truth as a table: one row a sample, the columns of `underfoot series` that need no choice, and the
    /// centre of mass. Player's components; positions in metres from the rig's centre; turn about that centre and
    /// about the centre of mass. A value that is not defined is an empty cell. Figures read back to the same bits.
    pub fn csv(&self) -> String {
        let mut out = String::from(
            "time_s,lead_target_n,lead_toe_n,lead_up_n,lead_cop_target_m,lead_cop_toe_m,lead_free_moment_nm,\
             trail_target_n,trail_toe_n,trail_up_n,trail_cop_target_m,trail_cop_toe_m,trail_free_moment_nm,\
             net_target_n,net_toe_n,net_up_n,net_cop_target_m,net_cop_toe_m,turn_nm,turn_com_nm,\
             com_target_m,com_toe_m,com_up_m\n",
        );
        let sign = self.hand.turn_sign();
        for i in 0..self.len() {
            let mut row = Vec::with_capacity(23);
            row.push(i as f64 / self.rate_hz);
            for foot in [&self.lead, &self.trail] {
                let (f, c) = (self.player(foot.force_n[i]), self.player(foot.cop_m[i]));
                row.extend([f.x, f.y, f.z, c.x, c.y, sign * foot.free_moment_nm[i]]);
            }
            let (f, c) = (self.player(self.net_n(i)), self.player(self.net_cop_m(i)));
            row.extend([f.x, f.y, f.z, c.x, c.y]);
            row.push(sign * self.moment_about(i, DVec3::ZERO).z);
            row.push(sign * self.moment_about(i, self.com_m[i]).z);
            row.extend(self.player(self.com_m[i]).to_array());
            for (k, value) in row.iter().enumerate() {
                let comma = if k == 0 { "" } else { "," };
                // Writing to a String cannot fail. Adding 0 turns −0 into 0, so that mirrored players write the
                // same bytes.
                let _ = if value.is_nan() {
                    write!(out, "{comma}")
                } else {
                    write!(out, "{comma}{}", value + 0.0)
                };
            }
            out.push('\n');
        }
        out
    }

    /// The facts that are not series, as JSON: player, mass, rate, events, soles.
    pub fn json(&self) -> String {
        let hand = match self.hand {
            Hand::Right => "right",
            Hand::Left => "left",
        };
        let point = |p: DVec3| format!("[{}, {}, {}]", p.x, p.y, p.z);
        let print = |p: &Footprint| {
            format!(
                "{{ \"heel_m\": {}, \"toe_m\": {}, \"width_m\": {} }}",
                point(p.heel_m),
                point(p.toe_m),
                p.width_m
            )
        };
        let number = |v: f64| if v.is_finite() { v.to_string() } else { "null".to_owned() };
        let events: Vec<String> =
            self.events.list().iter().map(|(name, t)| format!("    \"{name}_s\": {}", number(*t))).collect();
        format!(
            "{{\n  \"invented\": true,\n  \"alias\": {},\n  \"hand\": \"{hand}\",\n  \"mass_kg\": {},\n  \
             \"gravity_m_s2\": {},\n  \"rate_hz\": {},\n  \"samples\": {},\n  \"club_m_s\": {},\n  \"frame\": \"golf: x target, \
             z up, y = z x x, origin mean of the plates' surface centres; reactions on the player\",\n  \
             \"events\": {{\n{}\n  }},\n  \"lead_sole\": {},\n  \"trail_sole\": {}\n}}\n",
            quoted(&self.alias),
            self.mass_kg,
            self.gravity_m_s2,
            self.rate_hz,
            self.len(),
            number(self.club_m_s.unwrap_or(f64::NAN)),
            events.join(",\n"),
            print(&self.lead.print),
            print(&self.trail.print),
        )
    }
}

/// A JSON string.
fn quoted(text: &str) -> String {
    let mut out = String::from("\"");
    for c in text.chars() {
        match c {
            '"' | '\\' => out.extend(['\\', c]),
            c if c < ' ' => {
                let _ = write!(out, "\\u{:04x}", u32::from(c));
            }
            c => out.push(c),
        }
    }
    out.push('"');
    out
}

impl FootTruth {
    /// Moment of this foot's reaction about a point, N·m, golf frame; zero where the foot carries nothing.
    pub fn moment_about(&self, i: usize, point_m: DVec3) -> DVec3 {
        let twist = DVec3::Z * self.free_moment_nm[i];
        if self.cop_m[i].is_nan() { twist } else { twist + (self.cop_m[i] - point_m).cross(self.force_n[i]) }
    }
}
