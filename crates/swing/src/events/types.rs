//! What is known of when things happened: plain data.

/// The five instants of a swing, in the order in which they happen.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Name {
    /// The player stands still over the ball.
    Address,
    /// The swing begins.
    Takeaway,
    /// The club turns round.
    Top,
    /// Club meets ball.
    Impact,
    /// The body has come to rest.
    Finish,
}

impl Name {
    /// All five, in order.
    pub const ALL: [Self; 5] = [Self::Address, Self::Takeaway, Self::Top, Self::Impact, Self::Finish];

    /// "address", "takeaway", "top", "impact", "finish".
    pub fn name(self) -> &'static str {
        match self {
            Self::Address => "address",
            Self::Takeaway => "takeaway",
            Self::Top => "top",
            Self::Impact => "impact",
            Self::Finish => "finish",
        }
    }
}

/// Where an event comes from, the most trusted first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Source {
    /// Placed by a person.
    Hand,
    /// Written in the recording.
    File,
    /// A channel that steps at the instant.
    Trigger,
    /// A channel that hears it.
    Sound,
    /// The path of a marker on club or hands.
    Marker,
    /// The ground reaction departs from rest, or comes to rest.
    Force,
    /// Guessed from the usual order of the force's landmarks. Never to be used as if it were measured.
    Estimate,
}

impl Source {
    /// All, the most trusted first.
    pub const ALL: [Self; 7] =
        [Self::Hand, Self::File, Self::Trigger, Self::Sound, Self::Marker, Self::Force, Self::Estimate];

    /// "hand", "file", "trigger", "sound", "marker", "force", "estimate".
    pub fn name(self) -> &'static str {
        match self {
            Self::Hand => "hand",
            Self::File => "file",
            Self::Trigger => "trigger",
            Self::Sound => "sound",
            Self::Marker => "marker",
            Self::Force => "force",
            Self::Estimate => "estimate",
        }
    }
}

/// One event, with where it comes from.
#[derive(Clone, Debug, PartialEq)]
pub struct Event {
    /// Which.
    pub name: Name,
    /// Seconds from the first analog sample.
    pub time_s: f64,
    /// Standard uncertainty, s.
    pub u_s: f64,
    /// Where it comes from.
    pub source: Source,
    /// Method and version ("quiet-departure@1"); each is described in the manual.
    pub method: &'static str,
    /// The label in the file, the channel, the marker, the accounts that moved.
    pub seen: String,
}

/// What a landmark's value is measured in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unit {
    /// N.
    Newton,
    /// N·m.
    NewtonMetre,
    /// Share of the total vertical force, 0 to 1.
    Share,
}

/// An instant that force alone defines.
#[derive(Clone, Debug, PartialEq)]
pub struct Landmark {
    /// Stable name ("lead-lightest", "weights-cross", "net-up-most"…).
    pub name: &'static str,
    /// Seconds from the first analog sample.
    pub time_s: f64,
    /// Standard uncertainty, s.
    pub u_s: f64,
    /// The account's value there.
    pub value: f64,
    /// Its unit.
    pub unit: Unit,
    /// Method and version.
    pub method: &'static str,
}

/// A label of the file that is none of the five names.
#[derive(Clone, Debug, PartialEq)]
pub struct Unnamed {
    /// As written.
    pub label: String,
    /// Seconds from the first analog sample.
    pub time_s: f64,
}

/// Everything that is known of when things happened.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Events {
    /// At most one a name, in order of [`Name`]: the most trusted source's.
    pub chosen: Vec<Event>,
    /// Every other candidate, in order of name, then trust.
    pub others: Vec<Event>,
    /// What force alone defines, in order of time.
    pub landmarks: Vec<Landmark>,
    /// Marks of the file that are none of the five.
    pub unnamed: Vec<Unnamed>,
    /// Why a name has no event at all, in order of name.
    pub absent: Vec<(Name, String)>,
}

impl Events {
    /// The chosen event of a name, estimates included.
    pub fn get(&self, name: Name) -> Option<&Event> {
        self.chosen.iter().find(|e| e.name == name)
    }
    /// The chosen event of a name; `None` where it is only an estimate. What a published figure may use.
    pub fn known(&self, name: Name) -> Option<&Event> {
        self.get(name).filter(|e| e.source != Source::Estimate)
    }
    /// The landmarks of a name, in order of time.
    pub fn landmarks<'a>(&'a self, name: &'a str) -> impl Iterator<Item = &'a Landmark> {
        self.landmarks.iter().filter(move |l| l.name == name)
    }
    /// Backswing, downswing, follow-through, as far as their ends exist.
    pub fn phases(&self) -> Phases {
        let span = |from, to| Span::between(self.get(from)?, self.get(to)?);
        let backswing = span(Name::Takeaway, Name::Top);
        let downswing = span(Name::Top, Name::Impact);
        let follow_through = span(Name::Impact, Name::Finish);
        let tempo =
            backswing.as_ref().zip(downswing.as_ref()).map(|(back, down)| Tempo::of(self, back, down));
        Phases { backswing, downswing, follow_through, tempo }
    }
}

/// The parts of a swing.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Phases {
    /// Takeaway to top.
    pub backswing: Option<Span>,
    /// Top to impact.
    pub downswing: Option<Span>,
    /// Impact to finish.
    pub follow_through: Option<Span>,
    /// Backswing over downswing.
    pub tempo: Option<Tempo>,
}

/// From one event to the next.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Span {
    /// Begin, s from the first sample.
    pub from_s: f64,
    /// End, s from the first sample.
    pub to_s: f64,
    /// Standard uncertainty of the duration, s; the two ends are taken as independent.
    pub u_s: f64,
    /// True where an end is only an estimate.
    pub estimated: bool,
}

impl Span {
    /// `None` where the two are not in order.
    fn between(from: &Event, to: &Event) -> Option<Self> {
        (to.time_s > from.time_s).then(|| Self {
            from_s: from.time_s,
            to_s: to.time_s,
            u_s: hypotenuse(from.u_s, to.u_s),
            estimated: from.source == Source::Estimate || to.source == Source::Estimate,
        })
    }
    /// Seconds from end to end.
    pub fn duration_s(&self) -> f64 {
        self.to_s - self.from_s
    }
}

/// Backswing over downswing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tempo {
    /// The ratio; about 3 (Grober & Cholewicki, citing counts of video frames).
    pub ratio: f64,
    /// Its standard uncertainty.
    pub u: f64,
    /// True where it rests on an estimate.
    pub estimated: bool,
}

impl Tempo {
    /// First order in the three instants: both durations share the top, so their errors are not independent.
    /// Source: propagation of uncertainty, JCGM 100:2008 (GUM), 5.1.2.
    fn of(events: &Events, back: &Span, down: &Span) -> Self {
        let u = |name| events.get(name).map_or(f64::NAN, |e| e.u_s);
        let (b, d) = (back.duration_s(), down.duration_s());
        let takeaway = u(Name::Takeaway) / d;
        let top = u(Name::Top) * (1.0 / d + b / (d * d));
        let impact = u(Name::Impact) * b / (d * d);
        Self {
            ratio: b / d,
            u: (takeaway * takeaway + top * top + impact * impact).sqrt(),
            estimated: back.estimated || down.estimated,
        }
    }
}

/// Two independent standard uncertainties together.
pub(super) fn hypotenuse(a: f64, b: f64) -> f64 {
    (a * a + b * b).sqrt()
}
