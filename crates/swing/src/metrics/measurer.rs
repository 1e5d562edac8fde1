//! Recipes to figures: where the catalogue's definitions are computed, each with its uncertainty.
use super::figure::{Absent, Figure, Leading};
use super::gathered::Gathered;
use super::instants::{self, Grain, Peak, peak, steepest};
use super::places::Places;
use super::series::Curves;
use super::{Metric, Need, Over, Part, Recipe, Series, When};
use crate::analyse::{Swing, WeightSource};
use crate::body::Body;
use crate::events::{Event, Events, Name, Source};
use crate::sure::given_m;
use mechanics::Rig;
use mechanics::body::Drift;
use mechanics::uncertainty::noise::{mean_var, slope_var};
use mechanics::uncertainty::{Along, COVERAGE_95, Cause, Column, Flat, Linear, PlateAt, Uncertain, Who};
use std::cell::{OnceCell, RefCell};
use std::collections::BTreeMap;
use std::ops::Range;
use std::rc::Rc;

/// Width of the line whose slope is a loading rate, s.
const RATE_S: f64 = 0.05;

/// Nodes of an integral's uncertainty: the errors of a phase vary slowly.
const NODES: usize = 17;

/// A number and the instant it belongs to.
pub struct At {
    number: Uncertain,
    /// Variance that comes from not knowing the instant.
    instant_var: f64,
    /// Samples, real-valued; `None` for a figure of a stretch.
    place: Option<f64>,
    /// The sample whose value it is, at a peak.
    sample: Option<usize>,
}

impl At {
    fn stretch(number: Uncertain) -> Self {
        Self { number, instant_var: 0.0, place: None, sample: None }
    }
}

/// An instant.
#[derive(Clone)]
struct Moment {
    /// Samples, real-valued, with the contributions of the rig's errors; unit s.
    time: Uncertain,
    place: f64,
    /// Standard uncertainty from the event itself, s; 0 for a peak.
    event_u_s: f64,
    /// The sample whose value counts at a peak.
    sample: Option<usize>,
    /// At a peak: what noise and rivals do to the choice of the sample.
    choice: Choice,
}

/// How the sample of a peak was chosen among others.
#[derive(Clone, Copy, Default)]
struct Choice {
    /// How far noise lifts the extreme over its curve, in standard deviations of noise.
    lifted: f64,
    /// Standard uncertainty of the sample (not of the vertex, which is fitted), s.
    wander_s: f64,
    /// Another peak that may be the greater one in truth.
    rival: Option<usize>,
}

/// What is needed to measure one swing.
pub struct Measurer<'a> {
    pub(super) curves: Curves<'a>,
    events: &'a Events,
    estimates: bool,
    weight: Option<Uncertain>,
    movement: Range<usize>,
    /// Sensitivities by sample, made once.
    linear: RefCell<BTreeMap<usize, Rc<Linear>>>,
    address: OnceCell<Option<Linear>>,
    rest: OnceCell<Option<Linear>>,
    pub(super) rest_n: OnceCell<Option<[Uncertain; 3]>>,
    pub(super) gathered: OnceCell<Gathered>,
    places: OnceCell<Places>,
    peaks: RefCell<Vec<(When, Option<Rc<Moment>>)>>,
}

impl<'a> Measurer<'a> {
    /// Nothing is computed before it is asked for.
    pub fn new(
        swing: &'a Swing,
        rig: &Rig,
        events: &'a Events,
        body: Option<&'a Body>,
        estimates: bool,
    ) -> Self {
        let curves = Curves::new(swing, rig, body);
        let samples = curves.len();
        let place = |name, other: f64| events.known(name).map_or(other, |e| e.time_s * swing.rate_hz);
        let (from, to) = (place(Name::Takeaway, 0.0), place(Name::Finish, samples as f64));
        let movement = from.max(0.0).floor() as usize..(to.ceil() as usize).saturating_add(1).min(samples);
        let mut out = Self {
            curves,
            events,
            estimates,
            weight: None,
            movement: if movement.len() > 1 { movement } else { 0..samples },
            linear: RefCell::default(),
            address: OnceCell::new(),
            rest: OnceCell::new(),
            rest_n: OnceCell::new(),
            gathered: OnceCell::new(),
            places: OnceCell::new(),
            peaks: RefCell::default(),
        };
        out.weight = out.body_weight();
        out
    }

    pub(super) fn swing(&self) -> &'a Swing {
        self.curves.swing
    }

    pub(super) fn rate_hz(&self) -> f64 {
        self.swing().rate_hz
    }

    /// A metric's figure.
    pub fn figure(&self, metric: &Metric) -> Result<Figure, Absent> {
        let missing: Vec<Need> = metric.needs.iter().copied().filter(|n| !self.has(*n)).collect();
        if !missing.is_empty() {
            return Err(Absent::Missing(missing));
        }
        let At { number, instant_var, place, sample } = self
            .recipe(metric.recipe)
            .filter(|at| at.number.value.is_finite())
            .ok_or_else(|| self.why_not(metric.recipe))?;
        let by_weight = self.weight.as_ref().filter(|w| metric.unit.by_weight() && w.value > 0.0).map(|w| {
            let share = number.over(w).with(instant_var.sqrt() / w.value);
            (share.value, share.u())
        });
        let u = (number.u() * number.u() + instant_var).sqrt();
        let dominant = if instant_var > 0.5 * u * u {
            Some((Leading::Instant, instant_var / (u * u)))
        } else {
            number.dominant(&self.curves.sure.errors).map(|(cause, share)| match (cause, metric.recipe) {
                // A motion's own doubt stands where other numbers have their noise.
                (Cause::Noise, Recipe::Value(Series::Velocity(_) | Series::Displacement(_), _)) => {
                    (Leading::Rest, share)
                }
                _ => (Leading::Cause(cause), share),
            })
        };
        let start_s = self.swing().start_s;
        Ok(Figure {
            value: match metric.recipe {
                // People count in the recording's own time.
                Recipe::Time(_) => number.value + start_s,
                _ => number.value,
            },
            u,
            by_weight,
            at_s: place.map(|p| p / self.rate_hz() + start_s),
            sample,
            dominant,
            estimated: self.estimates && metric.needs.iter().any(|n| self.is_estimate(*n)),
            touched_by: Vec::new(),
        })
    }

    /// Why a recipe whose needs are met has no number.
    fn why_not(&self, recipe: Recipe) -> Absent {
        let over = match recipe {
            Recipe::Integral(_, _, over) | Recipe::Lasts(over) => over,
            Recipe::Tempo => Over::Downswing,
            _ => return Absent::Undefined,
        };
        let place = |name| self.event(name).map(|e| e.time_s);
        match self.ends(over).map(|(from, to)| (place(from), place(to))) {
            Some((Some(from), Some(to))) if to <= from => Absent::OutOfOrder,
            _ => Absent::Undefined,
        }
    }

    fn event(&self, name: Name) -> Option<&Event> {
        if self.estimates { self.events.get(name) } else { self.events.known(name) }
    }

    fn has(&self, need: Need) -> bool {
        match need {
            Need::TwoFeet => self.curves.sure.scene.two_feet(),
            Need::Address => self.swing().address.as_ref().is_some_and(|a| !a.after_movement),
            Need::Weight => self.weight.is_some(),
            Need::Takeaway => self.event(Name::Takeaway).is_some(),
            Need::Top => self.event(Name::Top).is_some(),
            Need::Impact => self.event(Name::Impact).is_some(),
            Need::Finish => self.event(Name::Finish).is_some(),
            Need::AddressInstant => self.event(Name::Address).is_some(),
            Need::Motion => self.curves.body.is_some(),
        }
    }

    fn is_estimate(&self, need: Need) -> bool {
        let name = match need {
            Need::Takeaway => Name::Takeaway,
            Need::Top => Name::Top,
            Need::Impact => Name::Impact,
            Need::Finish => Name::Finish,
            Need::AddressInstant => Name::Address,
            Need::TwoFeet | Need::Address | Need::Weight | Need::Motion => return false,
        };
        self.event(name).is_some_and(|e| e.source == Source::Estimate)
    }

    /// Body weight; a stated mass is taken as exact, a weighed one shares the plates' errors.
    fn body_weight(&self) -> Option<Uncertain> {
        let weight = self.swing().body_weight_n?;
        if weight.from != WeightSource::Standing {
            return Some(Uncertain::exact(weight.newton));
        }
        let linear = self.at_address()?;
        let up =
            linear.of(&self.curves.sure.scene, &self.curves.sure.errors, Column::Force(Who::Net, Along::Up));
        Some(Uncertain { value: weight.newton, ..up })
    }

    /// The mean reading over address.
    fn at_address(&self) -> Option<&Linear> {
        let make = || Some(self.mean(self.swing().address.as_ref()?.samples.clone()));
        self.address.get_or_init(make).as_ref()
    }

    /// The mean reading over the rest that the body's motion starts from.
    pub(super) fn at_rest(&self) -> Option<&Linear> {
        let make = || match &self.curves.body?.drift {
            Drift::FromRest { quiet } | Drift::RestToRest { quiet, .. } => Some(self.mean(quiet.clone())),
            Drift::FromKnown { .. } => None,
        };
        self.rest.get_or_init(make).as_ref()
    }

    fn mean(&self, samples: Range<usize>) -> Linear {
        let rate = self.rate_hz();
        let read = self
            .curves
            .sure
            .scene
            .readings(&self.swing().series, |w| PlateAt::mean(w, samples.clone(), rate));
        Linear::new(&self.curves.sure.scene, &read, given_m(self.swing(), samples.start))
    }

    fn linear(&self, k: usize) -> Rc<Linear> {
        let k = k.min(self.curves.len().saturating_sub(1));
        let make = || Rc::new(self.curves.sure.at(self.swing(), k));
        Rc::clone(self.linear.borrow_mut().entry(k).or_insert_with(make))
    }

    pub(super) fn column_at(&self, column: Column, k: usize) -> Uncertain {
        self.linear(k).of(&self.curves.sure.scene, &self.curves.sure.errors, column)
    }

    /// Noise of a column at a sample.
    fn grain(&self, column: Column, k: usize) -> Grain {
        let length = self.linear(k).noise_length(&self.curves.sure.errors, column);
        Grain { sigma: self.column_at(column, k).noise_var.sqrt(), length }
    }

    fn recipe(&self, recipe: Recipe) -> Option<At> {
        match recipe {
            Recipe::Value(series, when) => self.value(series, when),
            Recipe::Time(when) => self.moment(when).map(|m| self.time(&m)),
            Recipe::BeforeImpact(when) => {
                let (impact, peak) = (self.moment(When::At(Name::Impact))?, self.moment(when)?);
                Some(self.gap(&peak, &impact))
            }
            Recipe::Gap(from, to) => {
                let (from, to) = (self.moment(from)?, self.moment(to)?);
                Some(self.gap(&from, &to))
            }
            Recipe::Integral(column, part, over) => self.integral(column, part, over),
            Recipe::Steepest(column) => self.rate(column),
            Recipe::Path(who) => self.places().path(who).map(At::stretch),
            Recipe::Extent(who, flat) => self.places().extent(who, flat).map(At::stretch),
            Recipe::Speed(who, flat) => self.places().speed(who, flat).map(|(number, place)| At {
                number,
                instant_var: 0.0,
                place: Some(place),
                sample: None,
            }),
            Recipe::Between(when) => self.between(when),
            Recipe::StanceWidth => {
                let [x, y] = self.stance()?;
                let width = signal::math::hypot(x.value, y.value);
                Some(At::stretch(Uncertain::function(width, &[(x.value / width, &x), (y.value / width, &y)])))
            }
            Recipe::StanceAngle => {
                let [x, y] = self.stance()?;
                let square = x.value * x.value + y.value * y.value;
                let angle = signal::math::atan2(y.value, x.value);
                Some(At::stretch(Uncertain::function(
                    angle,
                    &[(-y.value / square, &x), (x.value / square, &y)],
                )))
            }
            Recipe::Placement(point, flat) => {
                let moment = self.moment(When::Most(Series::Account(Column::Turn(point))))?;
                let (along, sign) = match flat {
                    Flat::Target => (Along::Toe, -1.0),
                    Flat::Toe => (Along::Target, 1.0),
                };
                let force = Column::Force(Who::Net, along);
                let number = self.column_at(force, moment.sample?);
                let number = self.found_at(number, &moment, false, self.curves.column(force)).times(sign);
                Some(At { number, instant_var: 0.0, place: Some(moment.place), sample: None })
            }
            Recipe::Lasts(over) => {
                let (from, to) = self.ends(over)?;
                let (from, to) = (self.moment(When::At(from))?, self.moment(When::At(to))?);
                // Events out of order span nothing.
                Some(self.gap(&from, &to)).filter(|lasts| lasts.number.value > 0.0)
            }
            Recipe::Tempo => self.tempo(),
        }
    }

    fn ends(&self, over: Over) -> Option<(Name, Name)> {
        Some(match over {
            Over::Movement => (Name::Takeaway, Name::Finish),
            Over::Backswing => (Name::Takeaway, Name::Top),
            Over::Downswing => (Name::Top, Name::Impact),
            Over::FollowThrough => (Name::Impact, Name::Finish),
        })
    }

    fn moment(&self, when: When) -> Option<Rc<Moment>> {
        if let Some((_, known)) = self.peaks.borrow().iter().find(|(w, _)| *w == when) {
            return known.clone();
        }
        let found = match when {
            When::At(name) => self.event(name).map(|e| Moment {
                time: Uncertain::exact(e.time_s),
                place: e.time_s * self.rate_hz(),
                event_u_s: e.u_s,
                sample: None,
                choice: Choice::default(),
            }),
            When::Most(series) => self.peak(series, true),
            When::Least(series) => self.peak(series, false),
        };
        let found = found.map(Rc::new);
        self.peaks.borrow_mut().push((when, found.clone()));
        found
    }

    fn peak(&self, series: Series, most: bool) -> Option<Moment> {
        let noise = |k: usize| match series {
            Series::Account(column) => self.grain(column, k),
            Series::Velocity(_) | Series::Displacement(_) | Series::Power => Grain::default(),
        };
        let found = peak(self.curves.of(series), self.movement.clone(), most, self.rate_hz(), noise)?;
        let rate = self.rate_hz();
        let time_s = found.place / rate;
        let rival = match series {
            Series::Account(column) => found.rival.filter(|r| self.contested(column, found.sample, *r)),
            _ => None,
        };
        let time = match series {
            Series::Account(column) => self.vertex(column, &found, rival, time_s),
            _ => Uncertain::exact(time_s).with(found.half as f64 / 3f64.sqrt() / rate),
        };
        let lifted = instants::lift(found.independent);
        // The greatest sample lies nearer the middle of those that noise makes as good than to their ends: two fifths
        // of their half width, as simulated swings show.
        let wander_s = 0.4 * (found.level as f64 / 2.0) / rate;
        let choice = Choice { lifted, wander_s, rival };
        Some(Moment { time, place: found.place, event_u_s: 0.0, sample: Some(found.sample), choice })
    }

    /// The time of a vertex: an error that tilts the curve by s′ moves its vertex by −s′/f″. A rival that may be the
    /// greater one in truth puts the whole way to it into doubt.
    fn vertex(&self, column: Column, found: &Peak, rival: Option<usize>, time_s: f64) -> Uncertain {
        let per_s = 1.0 / self.rate_hz();
        // A vertex is not placed more finely than a quarter of a sample.
        let grain = 0.25 * per_s / 3f64.sqrt();
        let mut out = Uncertain::exact(time_s).with(found.noise * per_s).with(grain);
        if found.curvature.is_finite() {
            let (before, after) = (
                self.column_at(column, found.centre.saturating_sub(found.half)),
                self.column_at(column, found.centre + found.half),
            );
            let tilt = -per_s / (2.0 * found.half as f64 * found.curvature);
            // The noise of the fit takes the place of that of its two ends.
            out.parts = Uncertain::function(0.0, &[(tilt, &after), (-tilt, &before)]).parts;
        }
        if let Some(rival) = rival {
            out = out.with((rival as f64 - found.place) * per_s / COVERAGE_95);
        }
        out
    }

    /// Whether the errors leave open which of two peaks is the greater: more than one in twenty for the other, by the
    /// 0.95 quantile of the normal distribution.
    fn contested(&self, column: Column, peak: usize, rival: usize) -> bool {
        let lead = self.column_at(column, peak).minus(&self.column_at(column, rival));
        lead.value.abs() < 1.645 * lead.u()
    }

    /// What a peak's number owes to where the peak was found, beside the errors of the number itself: at the curve's
    /// own peak noise lifts it; another curve runs on while the peak wanders.
    fn found_at(&self, number: Uncertain, moment: &Moment, own: bool, curve: &[f64]) -> Uncertain {
        let Some(sample) = moment.sample else { return number };
        if own {
            let lift = moment.choice.lifted * number.noise_var.sqrt();
            return number.with(lift);
        }
        let value = |k: usize| curve.get(k).copied().unwrap_or(f64::NAN);
        let slope = self.slope(curve, sample);
        let wander = Uncertain {
            parts: moment.time.parts.clone(),
            ..Uncertain::exact(0.0).with(moment.choice.wander_s)
        };
        let slope = if slope.is_finite() { slope } else { 0.0 };
        let moved = Uncertain::function(number.value, &[(1.0, &number), (slope, &wander)]);
        match moment.choice.rival.map(|r| (value(r) - value(sample)) / COVERAGE_95) {
            Some(other) if other.is_finite() => moved.with(other),
            _ => moved,
        }
    }

    /// How fast a curve runs at a sample, per s.
    fn slope(&self, curve: &[f64], k: usize) -> f64 {
        let half = ((instants::VERTEX_S * self.rate_hz()).round() as usize).max(1);
        let near = |k: usize| curve.get(k).copied().unwrap_or(f64::NAN);
        (near(k + half) - near(k.saturating_sub(half))) / (2.0 * half as f64 / self.rate_hz())
    }

    fn time(&self, m: &Moment) -> At {
        At {
            number: m.time.clone(),
            instant_var: m.event_u_s * m.event_u_s,
            place: Some(m.place),
            sample: m.sample,
        }
    }

    fn gap(&self, from: &Moment, to: &Moment) -> At {
        let instant_var = from.event_u_s * from.event_u_s + to.event_u_s * to.event_u_s;
        At { number: to.time.minus(&from.time), instant_var, place: None, sample: None }
    }

    fn value(&self, series: Series, when: When) -> Option<At> {
        let moment = self.moment(when)?;
        let curve = self.curves.of(series);
        let nearest = moment.sample.unwrap_or(moment.place.round().max(0.0) as usize);
        let value = match moment.sample {
            Some(k) => *curve.get(k)?,
            None => instants::at(curve, moment.place),
        };
        let number = match series {
            Series::Account(column) => self.column_at(column, nearest),
            Series::Velocity(along) => self.velocity(along, nearest)?,
            Series::Displacement(along) => self.displacement(along, nearest)?,
            Series::Power => self.power(nearest)?,
        };
        let own = when == When::Most(series) || when == When::Least(series);
        let number = self.found_at(Uncertain { value, ..number }, &moment, own, curve);
        // How fast the curve runs there decides what an uncertain instant costs.
        let slope = self.slope(curve, nearest);
        let moved = if moment.event_u_s > 0.0 && slope.is_finite() { slope * moment.event_u_s } else { 0.0 };
        Some(At { number, instant_var: moved * moved, place: Some(moment.place), sample: moment.sample })
    }

    /// Places of a phase, samples, with the events' uncertainties, s.
    fn stretch(&self, over: Over) -> Option<(Rc<Moment>, Rc<Moment>)> {
        let (from, to) = self.ends(over)?;
        let (from, to) = (self.moment(When::At(from))?, self.moment(When::At(to))?);
        (to.place > from.place && from.place >= 0.0 && to.place <= (self.curves.len() as f64 - 1.0))
            .then_some((from, to))
    }

    fn integral(&self, column: Column, part: Part, over: Over) -> Option<At> {
        let (from, to) = self.stretch(over)?;
        let curve = self.curves.column(column);
        let above = match (column, &self.weight) {
            (Column::Force(Who::Net, Along::Up), Some(weight)) => Some(weight),
            _ => None,
        };
        let base = above.map_or(0.0, |w| w.value);
        let taken = |v: f64| match part {
            Part::All => v,
            Part::Positive => v.max(0.0),
            Part::Negative => v.min(0.0),
        };
        let (first, last) =
            (from.place.floor() as usize, (to.place.ceil() as usize).min(curve.len().saturating_sub(1)));
        let kept: Vec<f64> = curve.get(first..=last)?.iter().map(|v| taken(v - base)).collect();
        let step = 1.0 / self.rate_hz();
        let origin = first as f64;
        let value = signal::integrate::between(&kept, step, from.place - origin, to.place - origin);
        // The errors of a phase, at nodes along it.
        let duration_s = (to.place - from.place) * step;
        // How much of an error counts in a part: all of it well on that part's side of zero, half of it at zero (the
        // derivative that a rectangular error of size u sees on the whole).
        let counts = |k: usize, u: f64| {
            let v = curve.get(k).copied().unwrap_or(f64::NAN) - base;
            let positive = (0.5 + v / (2.0 * 3f64.sqrt() * u)).clamp(0.0, 1.0);
            match part {
                Part::All => 1.0,
                Part::Positive => positive,
                Part::Negative => 1.0 - positive,
            }
        };
        let apart = (to.place - from.place) / (NODES - 1) as f64;
        let nodes: Vec<(f64, Uncertain)> = (0..NODES)
            .map(|j| {
                let share = if j == 0 || j == NODES - 1 { 0.5 } else { 1.0 };
                let place = from.place + apart * j as f64;
                let at = self.column_at(column, place.round() as usize);
                // A part may come and go between nodes.
                let (first, last) =
                    ((place - apart / 2.0).max(from.place), (place + apart / 2.0).min(to.place));
                let (first, last) = (first.round() as usize, last.round() as usize);
                let counted = match part {
                    Part::All => 1.0,
                    _ => {
                        let u = at.u();
                        (first..=last).map(|k| counts(k, u)).sum::<f64>() / (last - first + 1) as f64
                    }
                };
                (share * counted * duration_s / (NODES - 1) as f64, at)
            })
            .collect();
        let mut terms: Vec<(f64, &Uncertain)> = nodes.iter().map(|(w, u)| (*w, u)).collect();
        let time: f64 = nodes.iter().map(|(w, _)| w).sum();
        if let Some(weight) = above {
            terms.push((-time, weight));
        }
        let mut number = Uncertain::function(value, &terms);
        // Noise of every sample, not of the nodes alone.
        let many = duration_s / step;
        let of_mean = |(j, (_, at)): (usize, &(f64, Uncertain))| {
            let node = self.linear((from.place + apart * j as f64).round() as usize);
            at.noise_var * mean_var(many, node.noise_length(&self.curves.sure.errors, column))
        };
        let mean = nodes.iter().enumerate().map(of_mean).sum::<f64>() / NODES as f64;
        number.noise_var = mean * duration_s * duration_s + above.map_or(0.0, |w| time * time * w.noise_var);
        let ends = [&from, &to].map(|m| taken(instants::at(curve, m.place) - base) * m.event_u_s);
        Some(At { number, instant_var: ends[0] * ends[0] + ends[1] * ends[1], place: None, sample: None })
    }

    fn rate(&self, column: Column) -> Option<At> {
        let length = ((RATE_S * self.rate_hz()).round() as usize).max(3);
        let found = steepest(self.curves.column(column), self.movement.clone(), length)?;
        let (first, last) =
            (self.column_at(column, found.from), self.column_at(column, found.from + length - 1));
        let per_s = self.rate_hz();
        let span_s = (length - 1) as f64 / per_s;
        let mut number =
            Uncertain::function(found.slope * per_s, &[(1.0 / span_s, &last), (-1.0 / span_s, &first)]);
        let grain = self.grain(column, found.from);
        number.noise_var = per_s * per_s * grain.sigma * grain.sigma * slope_var(length as f64, grain.length);
        Some(At {
            number,
            instant_var: 0.0,
            place: Some(found.from as f64 + (length - 1) as f64 / 2.0),
            sample: None,
        })
    }

    fn places(&self) -> &Places {
        self.places.get_or_init(|| Places::new(&self.curves, self.movement.clone()))
    }

    /// A foot's mean cop at address, as the stance centre has it: the errors are those of the mean reading.
    fn stood_on(&self, who: Who, flat: Flat) -> Option<Uncertain> {
        let column = Column::Cop(who, flat);
        let sure = &self.curves.sure;
        let read = self.at_address()?.of(&sure.scene, &sure.errors, column);
        let kept = self.curves.column(column).get(self.swing().address.as_ref()?.samples.clone())?;
        let (sum, count) =
            kept.iter().filter(|c| c.is_finite()).fold((0.0, 0.0), |(sum, n), c| (sum + c, n + 1.0));
        Some(Uncertain { value: sum / count, ..read })
    }

    /// From the trail to the lead foot's mean cop at address: target and toe.
    fn stance(&self) -> Option<[Uncertain; 2]> {
        let along = |flat| Some(self.stood_on(Who::Lead, flat)?.minus(&self.stood_on(Who::Trail, flat)?));
        Some([along(Flat::Target)?, along(Flat::Toe)?])
    }

    fn between(&self, when: When) -> Option<At> {
        let moment = self.moment(when)?;
        let nearest = moment.sample.unwrap_or(moment.place.round().max(0.0) as usize);
        let [sx, sy] = self.stance()?;
        let square = sx.value * sx.value + sy.value * sy.value;
        let cop = [Flat::Target, Flat::Toe].map(|flat| {
            let column = Column::Cop(Who::Net, flat);
            let at = self.column_at(column, nearest);
            let at = self.found_at(at, &moment, false, self.curves.column(column));
            let value = match moment.sample {
                Some(_) => at.value,
                None => instants::at(self.curves.column(column), moment.place),
            };
            Uncertain { value, ..at }
        });
        let x = cop[0].minus(&self.stood_on(Who::Trail, Flat::Target)?);
        let y = cop[1].minus(&self.stood_on(Who::Trail, Flat::Toe)?);
        let value = (x.value * sx.value + y.value * sy.value) / square;
        let by_s = |a: &Uncertain, s: &Uncertain| (a.value - 2.0 * value * s.value) / square;
        let number = Uncertain::function(
            value,
            &[(sx.value / square, &x), (sy.value / square, &y), (by_s(&x, &sx), &sx), (by_s(&y, &sy), &sy)],
        );
        let half = ((instants::VERTEX_S * self.rate_hz()).round() as usize).max(1);
        let near = |flat: Flat, k: usize| {
            self.curves.column(Column::Cop(Who::Net, flat)).get(k).copied().unwrap_or(f64::NAN)
        };
        let run = |flat: Flat| near(flat, nearest + half) - near(flat, nearest.saturating_sub(half));
        let slope = (run(Flat::Target) * sx.value + run(Flat::Toe) * sy.value) / square * self.rate_hz()
            / (2.0 * half as f64);
        let moved = if moment.event_u_s > 0.0 && slope.is_finite() { slope * moment.event_u_s } else { 0.0 };
        Some(At { number, instant_var: moved * moved, place: Some(moment.place), sample: None })
    }

    fn tempo(&self) -> Option<At> {
        let at = |name| self.event(name).map(|e| (e.time_s, e.u_s));
        let ((takeaway, u0), (top, u1), (impact, u2)) =
            (at(Name::Takeaway)?, at(Name::Top)?, at(Name::Impact)?);
        let (back, down) = (top - takeaway, impact - top);
        if !(back > 0.0 && down > 0.0) {
            return None;
        }
        // The top is in both durations: GUM 5.1.2.
        let parts = [u0 / down, u1 * (1.0 / down + back / (down * down)), u2 * back / (down * down)];
        let instant_var = parts.iter().map(|p| p * p).sum();
        Some(At { number: Uncertain::exact(back / down), instant_var, place: None, sample: None })
    }
}
