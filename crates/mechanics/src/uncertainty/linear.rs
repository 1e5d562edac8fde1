//! The accounts of one sample with their derivatives, and what each source of error does to them.
use super::column::{Along, COLUMNS, Column, Point, Who};
use super::instant::{Feet, Instant, Wrench, columns, weight};
use super::noise::Noise;
use super::number::{Dual, Real};
use super::scene::{Booked, Place, PlateAt, Scene, ScenePlate};
use super::source::{Errors, Kind, Local, Source, error, shift};
use super::uncertain::Uncertain;
use glam::DVec3;

/// One number for each column.
pub type Row = [f64; COLUMNS];

/// Inputs of the accounts: six components of each foot, or of the net and nothing.
const INPUTS: usize = 12;
/// Points whose place an error can move.
const MOVED: [Point; 4] = [Point::Asked, Point::Stance, Point::LeadPlate, Point::TrailPlate];

/// The accounts of one sample, and how they follow the plates' readings to first order.
///
/// Made once a sample (about a microsecond); every question about a column is then a short sum.
#[derive(Clone, Debug)]
pub struct Linear {
    /// The numbers themselves; the same as [`super::evaluate`] gives.
    pub value: Instant,
    /// Derivatives of each column by force and moment of the feet, golf frame, about the golf origin.
    by_feet: [[f64; INPUTS]; COLUMNS],
    /// Plates of the scene with their readings.
    plates: Vec<(ScenePlate, Local)>,
    /// What each of [`MOVED`] is, and what follows its place.
    points: [(Place, ByPlace); 4],
}

/// What is told about a point, and its derivatives by the point's place, golf x and y: few of all columns.
type ByPlace = [(Column, [f64; 2]); 6];

impl Linear {
    /// Shape and undefined values as [`super::evaluate`].
    pub fn new(scene: &Scene, plates: &[PlateAt], given_m: DVec3) -> Self {
        let dual = |v: f64, k: usize| Dual::<INPUTS>::input(v, k);
        let sum = |booked: Booked, first: usize| {
            let mine = scene.plates.iter().zip(plates).filter(|(p, _)| p.booked == booked);
            let (force, moment) =
                mine.fold((DVec3::ZERO, DVec3::ZERO), |(f, m), (_, at)| (f + at.force_n, m + at.moment_nm));
            Wrench {
                force: [0, 1, 2].map(|c| dual(force[c], first + c)),
                moment: [0, 1, 2].map(|c| dual(moment[c], first + 3 + c)),
            }
        };
        let feet = match scene.two_feet() {
            true => Feet::Two { lead: sum(Booked::Lead, 0), trail: sum(Booked::Trail, 6) },
            false => Feet::One(sum(Booked::Net, 0)),
        };
        let points = Point::ALL.map(|point| {
            let at = scene.place_m(point, given_m);
            [Dual::of(at.x), Dual::of(at.y)]
        });
        let out = columns(scene, weight(plates), &feet, &points);
        let value = Instant { values: std::array::from_fn(|c| out[c].v) };
        Self {
            value,
            by_feet: std::array::from_fn(|c| out[c].d),
            plates: scene.plates.iter().zip(plates).map(|(plate, at)| (*plate, plate.reading(at))).collect(),
            points: MOVED.map(|point| (scene.place(point), by_place(&value, scene, point))),
        }
    }

    /// Derivatives of a column by the components of a plate's reading: the plate's own axes, about its surface centre.
    ///
    /// With F = A·f and M = A·m + c × F: ∂/∂f = Aᵀ(∂/∂F + ∂/∂M × c), ∂/∂m = Aᵀ ∂/∂M.
    fn by_reading(&self, plate: &ScenePlate, column: usize) -> [f64; 6] {
        let first = if plate.booked == Booked::Trail { 6 } else { 0 };
        let d = &self.by_feet[column][first..first + 6];
        let (force, moment) = (DVec3::new(d[0], d[1], d[2]), DVec3::new(d[3], d[4], d[5]));
        let to = plate.axes.transpose();
        let (f, m) = (to * (force + moment.cross(plate.centre_m)), to * moment);
        [f.x, f.y, f.z, m.x, m.y, m.z]
    }

    /// The same for every column.
    fn rows(&self, plate: &ScenePlate) -> [Row; 6] {
        let mut rows = [[0.0; COLUMNS]; 6];
        for column in 0..COLUMNS {
            for (row, by) in rows.iter_mut().zip(self.by_reading(plate, column)) {
                row[column] = by;
            }
        }
        rows
    }

    /// What an error of one standard uncertainty does to every column. `stance_m`: what it does to the stance centre.
    pub fn source(&self, scene: &Scene, source: &Source, stance_m: [f64; 2]) -> Row {
        let mut out = [0.0; COLUMNS];
        for (plate, at) in &self.plates {
            let rows = self.rows(plate);
            error(source, plate, at, scene, |c, share| add(&mut out, share, &rows[c]));
        }
        self.moved_points(scene, source, stance_m, &mut out);
        out
    }

    fn moved_points(&self, scene: &Scene, source: &Source, stance_m: [f64; 2], out: &mut Row) {
        for (place, by) in &self.points {
            if let Some(moved) = moved(place, source, stance_m, scene) {
                by.iter().for_each(|(column, by)| out[column.index()] += moved[0] * by[0] + moved[1] * by[1]);
            }
        }
    }

    /// What noise of a plate's component does to a column: one standard deviation.
    pub fn noise_of(&self, plate: usize, component: usize, noise: &Noise, column: Column) -> f64 {
        let share = |(plate, at): &(ScenePlate, Local)| {
            at.noise_of(noise.sigma[component], noise.length[component])
                * self.by_reading(plate, column.index())[component]
        };
        self.plates.get(plate).map_or(0.0, share)
    }

    /// Samples of a column for each independent one: the lengths of the noise that it is made from, weighed by what each
    /// contributes to its variance, which is exact over long stretches. 1 where it has none.
    pub fn noise_length(&self, errors: &Errors, column: Column) -> f64 {
        let (mut sum, mut weighed) = (0.0, 0.0);
        for ((plate, _), noise) in self.plates.iter().zip(&errors.noise) {
            let by = self.by_reading(plate, column.index());
            for ((sigma, length), by) in noise.sigma.iter().zip(noise.length).zip(by) {
                let part = sigma * by;
                sum += part * part;
                weighed += part * part * length;
            }
        }
        if sum > 0.0 { (weighed / sum).max(1.0) } else { 1.0 }
    }

    /// One number with its uncertainty.
    ///
    /// The same sums as [`Linear::source`], for one column: only what it depends on is looked at, since this is asked
    /// thousands of times a swing.
    pub fn of(&self, scene: &Scene, errors: &Errors, column: Column) -> Uncertain {
        let k = column.index();
        let mut parts = vec![0.0; errors.sources.len()];
        let mut noise_var = 0.0;
        for (number, (plate, at)) in self.plates.iter().enumerate() {
            let by = self.by_reading(plate, k);
            for (part, source) in parts.iter_mut().zip(&errors.sources) {
                error(source, plate, at, scene, |c, share| *part += share * by[c]);
            }
            let Some(noise) = errors.noise.get(number) else { continue };
            for ((sigma, length), by) in noise.sigma.iter().zip(noise.length).zip(by) {
                let part = at.noise_of(*sigma, length) * by;
                noise_var += if *sigma != 0.0 { part * part } else { 0.0 };
            }
        }
        let told = |(place, by): &(Place, ByPlace)| {
            let follows = matches!(place, Place::Stance | Place::Plate(..));
            by.iter().find(|(told, _)| follows && *told == column).map(|(_, by)| (*place, *by))
        };
        // Told about one point, if any.
        if let Some((place, by)) = self.points.iter().find_map(told) {
            for ((part, source), stance_m) in parts.iter_mut().zip(&errors.sources).zip(&errors.stance_m) {
                if let Some(moved) = moved(&place, source, *stance_m, scene) {
                    *part += moved[0] * by[0] + moved[1] * by[1];
                }
            }
            if place == Place::Stance {
                for stance_m in &errors.stance_noise_m {
                    let moved = stance_m[0] * by[0] + stance_m[1] * by[1];
                    noise_var += moved * moved;
                }
            }
        }
        Uncertain { value: self.value.get(column), parts, noise_var }
    }

    /// Standard uncertainty of every column; NaN where the column is.
    pub fn u(&self, scene: &Scene, errors: &Errors) -> Row {
        let mut variance = [0.0; COLUMNS];
        let mut square = |row: &Row| {
            for (sum, value) in variance.iter_mut().zip(row) {
                *sum += value * value;
            }
        };
        let rows: Vec<[Row; 6]> = self.plates.iter().map(|(plate, _)| self.rows(plate)).collect();
        for (source, stance_m) in errors.sources.iter().zip(&errors.stance_m) {
            let mut out = [0.0; COLUMNS];
            for ((plate, at), rows) in self.plates.iter().zip(&rows) {
                error(source, plate, at, scene, |c, share| add(&mut out, share, &rows[c]));
            }
            self.moved_points(scene, source, *stance_m, &mut out);
            square(&out);
        }
        for (((_, at), rows), noise) in self.plates.iter().zip(&rows).zip(&errors.noise) {
            let of_a_sample = noise.sigma.iter().zip(noise.length);
            for ((sigma, length), row) in of_a_sample.zip(rows).filter(|((sigma, _), _)| **sigma != 0.0) {
                let one = at.noise_of(*sigma, length);
                square(&row.map(|v| one * v));
            }
        }
        for (_, by) in self.points.iter().filter(|(place, _)| *place == Place::Stance) {
            for stance_m in &errors.stance_noise_m {
                for (column, by) in by {
                    let moved = stance_m[0] * by[0] + stance_m[1] * by[1];
                    variance[column.index()] += moved * moved;
                }
            }
        }
        std::array::from_fn(|k| if self.value.values[k].is_nan() { f64::NAN } else { variance[k].sqrt() })
    }

    /// True where first order can be trusted for a column: no bend or jump of its formula within three standard
    /// uncertainties. Opposition bends where a foot's force or their sum is 0; what needs a foot's centre of pressure
    /// jumps where its vertical force is at the load floor (another point stands in for it).
    ///
    /// Not looked for: products of two numbers that are both 0 within their uncertainty (the offset of a player who
    /// stands still), which first order takes for exact; they are as small as a product of two errors.
    pub fn is_smooth(&self, scene: &Scene, errors: &Errors, column: Column) -> bool {
        let clear = |column: Column, of: f64| {
            let x = self.of(scene, errors, column);
            (x.value - of).abs() > 3.0 * x.u() || x.value.is_nan()
        };
        let weight = self.plates.first().map_or(f64::NAN, |(_, at)| at.weight);
        let loaded = |who: &Who| clear(Column::Force(*who, Along::Up), scene.floor_n * weight);
        let feet: &[Who] = if scene.two_feet() { &[Who::Lead, Who::Trail] } else { &[Who::Net] };
        let at = |point: Point| match scene.place(point) {
            Place::NetCop => loaded(&Who::Net),
            Place::MidCop => feet.iter().all(loaded),
            Place::Fixed(_) | Place::Stance | Place::Plate(..) | Place::Given => true,
        };
        match column {
            Column::Force(..) => true,
            Column::Cop(who, _) | Column::FreeMoment(who) => loaded(&who),
            Column::CoupleToe | Column::CoupleTarget | Column::FreeLead | Column::FreeTrail => {
                feet.iter().all(loaded)
            }
            Column::Turn(point) | Column::TurnLead(point) | Column::TurnTrail(point) => at(point),
            Column::Offset(point) => at(point) && feet.iter().all(loaded),
            Column::Opposition(along) => Who::ALL.iter().all(|who| clear(Column::Force(*who, along), 0.0)),
            Column::LeadShare => loaded(&Who::Net),
        }
    }
}

/// How far an error moves what a point is bound to, m along golf x and y; `None` where it is bound to nothing.
/// `stance_m`: how far the stance centre.
fn moved(place: &Place, source: &Source, stance_m: [f64; 2], scene: &Scene) -> Option<[f64; 2]> {
    match (place, source.kind) {
        (Place::Stance, _) => Some(stance_m),
        (Place::Plate(plate, _), Kind::Position(_)) => Some(shift(source, *plate, scene)),
        _ => None,
    }
}

/// Derivatives by the place of a point, golf x and y: of −(P × F)_z in what is told about it.
fn by_place(value: &Instant, scene: &Scene, point: Point) -> ByPlace {
    let (toe, turn) = (scene.hand.toe_sign(), scene.hand.turn_sign());
    let tell = |column: Column, who: Who| {
        let force = |along: Along| value.get(Column::Force(who, along));
        (column, [-turn * toe * force(Along::Toe), turn * force(Along::Target)])
    };
    let nothing = |column: Column| (column, [0.0; 2]);
    let unloaded = |who: Who| value.get(Column::FreeMoment(who)).is_nan();
    let in_flight = scene.two_feet() && unloaded(Who::Lead) && unloaded(Who::Trail);
    let offset = Column::Offset(point);
    // With neither foot loaded both are booked at the point itself (`ledger::standing_in`).
    let both_at_point = in_flight && point == Point::Asked;
    let free = |column: Column, who: Who| if both_at_point { tell(column, who) } else { nothing(column) };
    [
        tell(Column::Turn(point), Who::Net),
        tell(Column::TurnLead(point), Who::Lead),
        tell(Column::TurnTrail(point), Who::Trail),
        if in_flight { nothing(offset) } else { tell(offset, Who::Net) },
        free(Column::FreeLead, Who::Lead),
        free(Column::FreeTrail, Who::Trail),
    ]
}

#[inline]
fn add(out: &mut Row, share: f64, row: &Row) {
    if share == 0.0 {
        return;
    }
    for (out, value) in out.iter_mut().zip(row) {
        *out += share * value;
    }
}
