//! The numbers of the accounts at one sample, by name.

/// Whose number.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Who {
    /// The foot nearer the target.
    Lead,
    /// The other foot.
    Trail,
    /// Both together.
    Net,
}

/// A component of a force, player components.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Along {
    /// Toward the target.
    Target,
    /// Toward the toes.
    Toe,
    /// Up.
    Up,
}

/// A direction on the floor, player components.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Flat {
    /// Toward the target.
    Target,
    /// Toward the toes.
    Toe,
}

/// A reference point of the turn account.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Point {
    /// The one the user asked for ([`super::Scene::asked`]).
    Asked,
    /// Net centre of pressure.
    NetCop,
    /// Midpoint of the two centres of pressure.
    MidCop,
    /// Origin of the golf frame.
    RigCentre,
    /// Midpoint of the feet's centres of pressure at address.
    Stance,
    /// Centre of the (first) plate under the lead foot.
    LeadPlate,
    /// Centre of the (first) plate under the trail foot.
    TrailPlate,
}

/// One number of the accounts at one sample, player components.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Column {
    /// Force, N.
    Force(Who, Along),
    /// Centre of pressure from the golf origin, m.
    Cop(Who, Flat),
    /// Free moment, N·m.
    FreeMoment(Who),
    /// Entry: shear couple from opposing toe–heel forces, N·m.
    CoupleToe,
    /// Entry: shear couple from opposing forces along the target line, N·m.
    CoupleTarget,
    /// Entry: free moment of the lead foot or what stands in for it ([`crate::ledger::standing_in`]), N·m.
    FreeLead,
    /// Entry: free moment of the trail foot or what stands in for it, N·m.
    FreeTrail,
    /// Net turn about a point, N·m.
    Turn(Point),
    /// Entry: offset, the part of turn that depends on the point, N·m.
    Offset(Point),
    /// The lead foot's whole turn about a point, N·m.
    TurnLead(Point),
    /// The trail foot's whole turn about a point, N·m.
    TurnTrail(Point),
    /// How far the feet push against each other, N.
    Opposition(Along),
    /// Lead foot's share of the vertical force, 0..1.
    LeadShare,
}

/// How many there are.
pub const COLUMNS: usize = 54;

impl Who {
    /// In order of their numbers.
    pub const ALL: [Self; 3] = [Self::Lead, Self::Trail, Self::Net];
}
impl Along {
    /// In order of their numbers.
    pub const ALL: [Self; 3] = [Self::Target, Self::Toe, Self::Up];
}
impl Flat {
    /// In order of their numbers.
    pub const ALL: [Self; 2] = [Self::Target, Self::Toe];
}
impl Point {
    /// In order of their numbers.
    pub const ALL: [Self; 7] = [
        Self::Asked,
        Self::NetCop,
        Self::MidCop,
        Self::RigCentre,
        Self::Stance,
        Self::LeadPlate,
        Self::TrailPlate,
    ];
}

impl Column {
    /// Every column; `ALL[c.index()] == c`.
    pub const ALL: [Self; COLUMNS] = {
        let mut all = [Self::LeadShare; COLUMNS];
        let mut k = 0;
        while k < COLUMNS {
            all[k] = Self::nth(k);
            k += 1;
        }
        all
    };

    /// Place in [`Column::ALL`] and in [`super::Instant::values`].
    pub const fn index(self) -> usize {
        match self {
            Self::Force(who, along) => 3 * who as usize + along as usize,
            Self::Cop(who, flat) => 9 + 2 * who as usize + flat as usize,
            Self::FreeMoment(who) => 15 + who as usize,
            Self::CoupleToe => 18,
            Self::CoupleTarget => 19,
            Self::FreeLead => 20,
            Self::FreeTrail => 21,
            Self::Turn(point) => 22 + point as usize,
            Self::Offset(point) => 29 + point as usize,
            Self::TurnLead(point) => 36 + point as usize,
            Self::TurnTrail(point) => 43 + point as usize,
            Self::Opposition(along) => 50 + along as usize,
            Self::LeadShare => 53,
        }
    }

    /// The inverse of [`Column::index`]; numbers from 53 on are the last column.
    const fn nth(k: usize) -> Self {
        match k {
            0..9 => Self::Force(Who::ALL[k / 3], Along::ALL[k % 3]),
            9..15 => Self::Cop(Who::ALL[(k - 9) / 2], Flat::ALL[(k - 9) % 2]),
            15..18 => Self::FreeMoment(Who::ALL[k - 15]),
            18 => Self::CoupleToe,
            19 => Self::CoupleTarget,
            20 => Self::FreeLead,
            21 => Self::FreeTrail,
            22..29 => Self::Turn(Point::ALL[k - 22]),
            29..36 => Self::Offset(Point::ALL[k - 29]),
            36..43 => Self::TurnLead(Point::ALL[k - 36]),
            43..50 => Self::TurnTrail(Point::ALL[k - 43]),
            50..53 => Self::Opposition(Along::ALL[k - 50]),
            _ => Self::LeadShare,
        }
    }

    /// A short name for tables: "lead force toe", "turn about NetCop".
    pub fn name(self) -> String {
        let low = |debug: String| debug.to_lowercase();
        match self {
            Self::Force(who, along) => low(format!("{who:?} force {along:?}")),
            Self::Cop(who, flat) => low(format!("{who:?} cop {flat:?}")),
            Self::FreeMoment(who) => low(format!("{who:?} free moment")),
            Self::CoupleToe => "couple toe".into(),
            Self::CoupleTarget => "couple target".into(),
            Self::FreeLead => "free lead".into(),
            Self::FreeTrail => "free trail".into(),
            Self::Turn(point) => format!("turn about {point:?}"),
            Self::Offset(point) => format!("offset about {point:?}"),
            Self::TurnLead(point) => format!("lead turn about {point:?}"),
            Self::TurnTrail(point) => format!("trail turn about {point:?}"),
            Self::Opposition(along) => low(format!("opposition {along:?}")),
            Self::LeadShare => "lead share".into(),
        }
    }

    /// SI unit: "N", "m", "N·m" or "1".
    pub fn unit(self) -> &'static str {
        match self {
            Self::Force(..) | Self::Opposition(_) => "N",
            Self::Cop(..) => "m",
            Self::LeadShare => "1",
            _ => "N·m",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_and_columns_are_one_to_one() {
        for (k, column) in Column::ALL.iter().enumerate() {
            assert_eq!(column.index(), k, "{column:?}");
        }
        let mut names: Vec<String> = Column::ALL.iter().map(|c| c.name()).collect();
        names.sort();
        names.dedup();
        assert_eq!(names.len(), COLUMNS);
    }
}
