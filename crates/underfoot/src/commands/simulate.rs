//! `underfoot simulate`: invented swings whose truth is known, as recordings.
use super::{Done, print, print_json};
use crate::asked::HandWord;
use clap::Args;
use mechanics::Axis;
use simulate::{Noise, PlateType, PlayerSpec, RigSpec, Simulated, Style};
use std::path::{Path, PathBuf};
use underfoot::fail::Fail;
use underfoot::{export, record};

/// Options of `underfoot simulate`.
#[derive(Args, Debug)]
pub struct Simulate {
    /// Folder to write into; made if it is not there
    #[arg(short, long, value_name = "FOLDER")]
    out: PathBuf,
    /// How many swings
    #[arg(long, default_value_t = 5, value_parser = clap::value_parser!(u32).range(1..=1000))]
    swings: u32,
    /// Same seed, same bytes; swing k does not depend on how many are made
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// The invented player's handedness
    #[arg(long, value_enum, default_value = "right")]
    hand: HandWord,
    /// How the invented player builds the swing: early, late, pivot or press
    #[arg(long, default_value = "early", value_parser = style)]
    style: Style,
    /// Body mass, kg
    #[arg(long, default_value_t = 75.0)]
    mass: f64,
    /// Plates: one for both feet, one for each, or one more ahead
    #[arg(long, value_enum, default_value = "two")]
    plates: PlatesWord,
    /// Kind of plate: TYPE 1 to 7 of the C3D standard, or 0 for reduced channels in laboratory axes (tables only)
    #[arg(long = "type", value_name = "TYPE", default_value_t = 2, value_parser = clap::value_parser!(u8).range(0..=7))]
    plate_type: u8,
    /// Errors of the plates
    #[arg(long, value_enum, default_value = "usual")]
    noise: NoiseWord,
    /// Laboratory axis toward the target
    #[arg(long, default_value = "+x", allow_hyphen_values = true, value_parser = axis)]
    target: Axis,
    /// Samples a second
    #[arg(long, value_name = "HZ", default_value_t = 1000.0)]
    rate: f64,
    /// Files to write
    #[arg(long, value_enum, default_value = "both")]
    format: FormatWord,
    /// For machines
    #[arg(long)]
    json: bool,
}

#[derive(clap::ValueEnum, Clone, Copy, Debug)]
enum PlatesWord {
    /// Both feet on one plate
    One,
    /// A plate for each foot
    Two,
    /// A plate for each foot and one ahead
    Three,
}

#[derive(clap::ValueEnum, Clone, Copy, Debug)]
enum NoiseWord {
    /// None at all: the truth comes back to rounding
    None,
    /// A plate in good order
    Usual,
}

#[derive(clap::ValueEnum, Clone, Copy, Debug, PartialEq, Eq)]
enum FormatWord {
    /// C3D
    C3d,
    /// A table and its rig file
    Csv,
    /// Both
    Both,
}

fn style(name: &str) -> Result<Style, String> {
    Style::named(name).ok_or_else(|| {
        format!("one of {}", Style::all().iter().map(|s| s.name.clone()).collect::<Vec<_>>().join(", "))
    })
}

fn axis(text: &str) -> Result<Axis, String> {
    match Axis::parse(text) {
        Some(Axis::PlusZ | Axis::MinusZ) | None => Err("a level laboratory axis: +x, -x, +y or -y".into()),
        Some(axis) => Ok(axis),
    }
}

/// Runs it.
pub fn run(options: &Simulate) -> Done {
    let kind = PlateType::ALL[(usize::from(options.plate_type) + 7) % 8];
    if kind == PlateType::Lab && options.format != FormatWord::Csv {
        return Err(Fail::usage("reduced channels in laboratory axes have no place in a C3D file")
            .at("--type 0")
            .fix("add --format csv, or choose a type from 1 to 7"));
    }
    let rig = match options.plates {
        PlatesWord::One => RigSpec::one_plate(kind),
        PlatesWord::Two => RigSpec::two_plates(kind),
        PlatesWord::Three => RigSpec::three_plates(kind),
    };
    // Markers at up to 250 Hz, a whole fraction of the plates' rate, as C3D asks.
    let marker_rate_hz = options.rate / (options.rate / 250.0).ceil();
    let rig = RigSpec { rate_hz: options.rate, marker_rate_hz, ..rig }.in_lab(
        Axis::PlusZ,
        options.target.unit(),
        glam::DVec3::ZERO,
    );
    let player = PlayerSpec {
        hand: options.hand.into(),
        mass_kg: options.mass,
        ..PlayerSpec::right(options.style.clone())
    };
    let noise = match options.noise {
        NoiseWord::None => Noise::NONE,
        NoiseWord::Usual => Noise::USUAL,
    };
    let swings = simulate::session(&player, options.swings, options.seed, &rig, &noise)
        .map_err(|e| Fail::usage(format!("no such recording can be made: {e}")))?;
    let c3d = options.format != FormatWord::Csv;
    let csv = options.format != FormatWord::C3d;
    let written = write_session(&options.out, &swings, c3d, csv)?;
    if options.json {
        print_json(&serde_json::json!({ "folder": options.out, "files": written }))?;
    } else {
        let names = written.join("\n  ");
        print(&format!(
            "{} of an invented player ({}, {}, {:.0} kg, style {}), seed {}\n  {names}\n",
            if swings.len() == 1 { "1 swing".to_string() } else { format!("{} swings", swings.len()) },
            player.alias,
            view::words::hand(player.hand),
            player.mass_kg,
            player.style.name,
            options.seed
        ))?;
    }
    Ok(None)
}

/// Writes recordings and truths; gives the names of the files.
pub fn write_session(folder: &Path, swings: &[Simulated], c3d: bool, csv: bool) -> Result<Vec<String>, Fail> {
    std::fs::create_dir_all(folder).map_err(|e| {
        Fail::input(format!("cannot make the folder {}: {e}", folder.display()))
            .fix("choose another folder with -o")
    })?;
    let mut written = Vec::new();
    let mut put = |name: String, bytes: &[u8]| {
        export::whole_file(&folder.join(&name), bytes)?;
        written.push(name);
        Ok::<(), Fail>(())
    };
    for (k, swing) in swings.iter().enumerate() {
        let stem = format!("{}-{:02}", swing.truth.alias.to_lowercase(), k + 1);
        if c3d {
            put(format!("{stem}.c3d"), &record::c3d(&swing.recording)?)?;
        }
        if csv {
            put(format!("{stem}.csv"), &record::table(&swing.recording, false))?;
        }
        put(format!("{stem}.truth.csv"), swing.truth.csv().as_bytes())?;
    }
    if let (true, Some(first)) = (csv, swings.first()) {
        put("rig.toml".into(), record::rig_text(&first.rig, &first.recording, &[]).as_bytes())?;
    }
    Ok(written)
}
