//! How sure the accounts of a swing are: a rig's error budget and the plates' own noise, ready to be asked at a sample.
use crate::about::About;
use crate::analyse::Swing;
use glam::DVec3;
use mechanics::Rig;
use mechanics::uncertainty::{Errors, Linear, Noise, Place, PlateAt, Row, Scene, Stance};

/// The scene of a swing and everything that is uncertain about it.
#[derive(Clone, Debug)]
pub struct Sure {
    /// Plates, surfaces and reference points.
    pub scene: Scene,
    /// The rig's budget under this swing, and the noise that is left in it.
    pub errors: Errors,
}

impl Sure {
    /// From a swing and the rig it was read by.
    pub fn of(swing: &Swing, rig: &Rig) -> Self {
        let mut scene = Scene::new(rig, &swing.frame, &swing.series, swing.player.hand);
        scene.asked = asked(&swing.about, &scene, rig, swing);
        scene.stance = stance(&scene, swing);
        let noise: Vec<Noise> = scene.plates.iter().map(|p| swing.done.noise_of(p.plate)).collect();
        let errors = Errors::new(&scene, &rig.budget, &noise);
        Self { scene, errors }
    }

    /// The accounts of sample `k` with their derivatives.
    pub fn at(&self, swing: &Swing, k: usize) -> Linear {
        let read = self.scene.sample(&swing.series, k, swing.rate_hz);
        Linear::new(&self.scene, &read, given_m(swing, k))
    }

    /// Standard uncertainty of every column at sample `k`; NaN where the column is.
    pub fn u(&self, swing: &Swing, k: usize) -> Row {
        self.at(swing, k).u(&self.scene, &self.errors)
    }
}

/// The reference point asked for at a sample, golf frame, m; NaN outside the recording.
pub fn given_m(swing: &Swing, k: usize) -> DVec3 {
    let toe = swing.player.hand.toe_sign();
    match (swing.ledger.about_target_m.get(k), swing.ledger.about_toe_m.get(k)) {
        (Some(x), Some(y)) => DVec3::new(*x, toe * y, 0.0),
        _ => DVec3::NAN,
    }
}

fn asked(about: &About, scene: &Scene, rig: &Rig, swing: &Swing) -> Place {
    match about {
        About::NetCop => Place::NetCop,
        About::MidCop => Place::MidCop,
        About::RigCentre => Place::Fixed(DVec3::ZERO),
        About::Fixed(x, y) => Place::Fixed(DVec3::new(*x, *y, 0.0)),
        About::Plate(k) => {
            let surface = rig.plates.get(*k).and_then(|p| mechanics::wrench::surface_of(p, &swing.frame));
            surface.map_or(scene.asked, |s| Place::Plate(*k, s.centre_m))
        }
        About::Stance => Place::Stance,
        About::Marker(_) | About::BodyCentre => Place::Given,
    }
}

/// The stance centre with the readings it was measured from.
fn stance(scene: &Scene, swing: &Swing) -> Option<Stance> {
    let address = swing.address.as_ref()?;
    let point_m = crate::about::stance(&swing.series, Some(address)).ok()?;
    let samples = || address.samples.clone();
    Some(Stance {
        point_m,
        address: scene.readings(&swing.series, |w| PlateAt::mean(w, samples(), swing.rate_hz)),
    })
}
