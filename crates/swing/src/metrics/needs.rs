//! What a metric needs, and the sentence where it is not there.

/// Something that must be there for a metric.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Need {
    /// A plate for each foot.
    TwoFeet,
    /// A quiet interval before the swing.
    Address,
    /// Body weight, measured or stated.
    Weight,
    /// The takeaway.
    Takeaway,
    /// The top, from more than an estimate.
    Top,
    /// Impact, from more than an estimate.
    Impact,
    /// The finish.
    Finish,
    /// The address as an instant.
    AddressInstant,
    /// The motion of the centre of mass.
    Motion,
}

impl Need {
    /// All, in order.
    pub const ALL: [Self; 9] = [
        Self::TwoFeet,
        Self::Address,
        Self::Weight,
        Self::Takeaway,
        Self::Top,
        Self::Impact,
        Self::Finish,
        Self::AddressInstant,
        Self::Motion,
    ];

    /// A word for tables.
    pub fn word(self) -> &'static str {
        match self {
            Self::TwoFeet => "a plate for each foot",
            Self::Address => "quiet address",
            Self::Weight => "body weight",
            Self::Takeaway => "takeaway",
            Self::Top => "top",
            Self::Impact => "impact",
            Self::Finish => "finish",
            Self::AddressInstant => "address as an instant",
            Self::Motion => "motion of the centre of mass",
        }
    }

    /// Why a metric is absent.
    pub fn missing(self) -> &'static str {
        match self {
            Self::TwoFeet => "the feet share a plate",
            Self::Address => "there is no quiet interval before the swing",
            Self::Weight => "the body weight is not known",
            Self::Takeaway => "the takeaway is not known",
            Self::Top => "the top is not known from more than an estimate",
            Self::Impact => "impact is not known from more than an estimate",
            Self::Finish => "the finish is not known",
            Self::AddressInstant => "no instant of address is known",
            Self::Motion => "the centre of mass cannot be followed from a rest to there",
        }
    }
}
