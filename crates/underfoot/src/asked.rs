//! The options that several commands share: what a person may say about a recording.
use crate::conditioning::ConditioningArgs;
use clap::Args;
use mechanics::{Hand, Target};
use std::path::{Path, PathBuf};
use swing::{About, Settings};
use underfoot::fail::Fail;
use underfoot::open::{Loaded, load};

/// Options of every command that analyses one recording.
#[derive(Args, Clone, Debug)]
pub struct Asked {
    /// The recording: C3D, CSV, TSV or other delimited text
    pub file: PathBuf,
    #[command(flatten)]
    pub how: How,
}

/// How recordings are to be read, whichever they are.
#[derive(Args, Clone, Debug)]
pub struct How {
    /// Rig file (TOML) that describes the plates, or completes what the recording says
    #[arg(long, value_name = "RIG")]
    pub rig: Option<PathBuf>,
    /// Where the target is: a laboratory axis (+x, -x, +y…), a vector (1,0,0) or plates (1>2: from plate 1 to plate 2)
    #[arg(long, value_name = "TARGET", allow_hyphen_values = true)]
    pub target: Option<String>,
    /// The player's handedness
    #[arg(long, value_enum, value_name = "HAND")]
    pub hand: Option<HandWord>,
    /// Body mass; otherwise the recording's, otherwise quiet standing is weighed
    #[arg(long, value_name = "KG", value_parser = mass, allow_hyphen_values = true)]
    pub mass: Option<f64>,
    /// Reference point of turn: net-cop, rig-centre, plate:N, stance, mid-cop, body (centre of mass,
    /// where the markers allow it), marker:LABEL, or x,y in metres of the golf frame (x toward the target, y to its left)
    #[arg(long, value_name = "POINT", default_value = "net-cop", allow_hyphen_values = true)]
    pub about: About,
    /// Put all plates together, as if the feet had shared one plate
    #[arg(long)]
    pub collapse: bool,
    #[command(flatten)]
    conditioning: ConditioningArgs,
}

/// Handedness as a word.
#[derive(clap::ValueEnum, Clone, Copy, Debug)]
pub enum HandWord {
    /// Plays right-handed
    Right,
    /// Plays left-handed
    Left,
}

impl HandWord {
    /// As it is kept.
    pub fn word(self) -> &'static str {
        match self {
            Self::Right => "right",
            Self::Left => "left",
        }
    }
}

impl From<HandWord> for Hand {
    fn from(word: HandWord) -> Self {
        match word {
            HandWord::Right => Self::Right,
            HandWord::Left => Self::Left,
        }
    }
}

impl Asked {
    /// Reads the recording and its rig.
    pub fn load(&self) -> Result<Loaded, Fail> {
        self.how.load(&self.file)
    }
}

impl How {
    /// The same without an order of the low-pass, and that order: where a cut-off is being looked for, there is none yet.
    pub fn without_order(&self) -> (Self, Option<usize>) {
        let mut how = self.clone();
        let order = how.conditioning.order.take().map(usize::from);
        (how, order)
    }

    /// Reads a recording and its rig.
    pub fn load(&self, file: &Path) -> Result<Loaded, Fail> {
        load(file, self.rig.as_deref())
    }

    /// The settings of the analysis.
    pub fn settings(&self, loaded: &Loaded) -> Result<Settings, Fail> {
        let target = self.target.as_deref().map(|text| target(text, loaded)).transpose()?;
        Ok(Settings {
            target,
            hand: self.hand.map(Hand::from),
            mass_kg: self.mass,
            about: self.about.clone(),
            collapse: self.collapse,
            conditioning: Some(self.conditioning.over(loaded)?),
        })
    }
}

fn target(text: &str, loaded: &Loaded) -> Result<Target, Fail> {
    Target::parse(text, &loaded.rig.plates).ok_or_else(|| {
        Fail::usage(format!("\"{text}\" is not a target direction"))
            .at("--target")
            .fix("give a laboratory axis (+x, -x, +y, -y, +z, -z), a vector (0.8,0.6,0) or two plates (1>2)")
    })
}

/// A body mass, for a command line's parser.
pub fn mass(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(kg) if kg > 0.0 && kg < 500.0 => Ok(kg),
        _ => Err("a body mass in kilograms, for example 78.5".into()),
    }
}
