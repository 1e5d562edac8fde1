//! Prints what was read from a C3D file, for `checks/c3d_peer.py`: `dump_c3d FILE [facts|channels|plates|markers]`.
//!
//! `facts` is JSON; the others are CSV with one row a sample. `plates` holds force (N) and moment (N·m) about the
//! centre of the top surface in the plate's own axes, for each plate, with no sign turned and no baseline removed.
use formats::c3d;
use mechanics::plate::ReducedAxes;
use mechanics::{Plate, Recording, Sensing};
use serde_json::json;
use std::io::Write;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut args = std::env::args().skip(1);
    let path = args.next().ok_or("usage: dump_c3d FILE [facts|channels|plates|markers]")?;
    let bytes = std::fs::read(&path)?;
    let read = c3d::decode(&path, &bytes)?;
    let recording = &read.value;
    let mut out = std::io::BufWriter::new(std::io::stdout().lock());
    match args.next().as_deref().unwrap_or("facts") {
        "channels" => {
            let columns: Vec<Vec<f64>> =
                recording.analog.channels.iter().map(|c| c.samples.clone()).collect();
            table(&mut out, &columns)?;
        }
        "plates" => {
            let columns: Vec<_> = recording.plates.iter().flat_map(|p| surface(p, recording)).collect();
            table(&mut out, &columns)?;
        }
        "markers" => {
            let axis = |m: &mechanics::Marker, k: usize| m.path_m.iter().map(|p| f64::from(p[k])).collect();
            let columns: Vec<Vec<f64>> =
                recording.markers.iter().flat_map(|m| [0, 1, 2].map(|k| axis(m, k))).collect();
            table(&mut out, &columns)?;
        }
        _ => {
            let plate = |p: &Plate| {
                json!({
                    "name": p.name, "kind": p.kind, "baseline": p.baseline,
                    "corners_m": p.corners_m.map(|c| c.to_array()),
                    "axes": p.axes().map(|a| a.to_cols_array_2d()),
                    "centre_m": p.centre_m().to_array(),
                    "sensing": format!("{:?}", p.sensing),
                })
            };
            let facts = json!({
                "format": recording.format,
                "analog_rate_hz": recording.analog.rate_hz,
                "samples": recording.analog.len(),
                "channels": recording.analog.channels.iter().map(|c| json!([c.label, c.unit])).collect::<Vec<_>>(),
                "marker_rate_hz": recording.marker_rate_hz,
                "frames": recording.markers.first().map_or(0, |m| m.path_m.len()),
                "markers": recording.markers.iter().map(|m| m.label.clone()).collect::<Vec<_>>(),
                "marks": recording.marks.iter().map(|m| json!([m.label, m.context, m.time_s])).collect::<Vec<_>>(),
                "mass_kg": recording.mass_kg,
                "up": recording.up.map(mechanics::Axis::name),
                "plates": recording.plates.iter().map(plate).collect::<Vec<_>>(),
                "findings": read.findings.iter().map(|f| json!([f.kind.code, f.plate, f.seen])).collect::<Vec<_>>(),
            });
            writeln!(out, "{facts:#}")?;
        }
    }
    Ok(())
}

/// Six columns: force and moment about the surface centre, plate axes. Source: C3D user guide, TYPE-1 to TYPE-7.
fn surface(plate: &Plate, recording: &Recording) -> [Vec<f64>; 6] {
    let value = |channel: usize, k: usize| recording.analog.channels[channel].samples[k];
    let row = |k: usize| match &plate.sensing {
        Sensing::Linear { channels, columns, origin_m: o } => {
            let mut w = [0.0; 6];
            for (&channel, column) in channels.iter().zip(columns) {
                w.iter_mut().zip(column).for_each(|(sum, share)| *sum += share * value(channel, k));
            }
            let [fx, fy, fz, mx, my, mz] = w;
            [fx, fy, fz, mx + fy * o.z - fz * o.y, my + fz * o.x - fx * o.z, mz + fx * o.y - fy * o.x]
        }
        Sensing::Reduced { force, force_gain, centre, centre_gain, free_moment, free_moment_gain, axes } => {
            assert_eq!(*axes, ReducedAxes::Plate, "C3D plates are reduced in their own axes");
            let f: [f64; 3] = std::array::from_fn(|i| force_gain[i] * value(force[i], k));
            let p = centre.map(|c| c.map_or(0.0, |c| centre_gain * value(c, k)));
            let t = free_moment.map_or(0.0, |c| free_moment_gain * value(c, k));
            [f[0], f[1], f[2], p[1] * f[2], -p[0] * f[2], p[0] * f[1] - p[1] * f[0] + t]
        }
    };
    let mut out: [Vec<f64>; 6] = Default::default();
    for k in 0..recording.analog.len() {
        out.iter_mut().zip(row(k)).for_each(|(column, v)| column.push(v));
    }
    out
}

fn table(out: &mut impl Write, columns: &[Vec<f64>]) -> std::io::Result<()> {
    for k in 0..columns.first().map_or(0, Vec::len) {
        let row: Vec<_> = columns.iter().map(|c| format!("{:e}", c[k])).collect();
        writeln!(out, "{}", row.join(","))?;
    }
    Ok(())
}
