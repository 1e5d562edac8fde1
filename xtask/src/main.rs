//! The project's own checks. `cargo run -p xtask -- tidy` runs them; `cargo test -p xtask` does too, and shows
//! by planted violations that each of them can fail.

mod tidy;

use std::process::ExitCode;

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    match arguments.iter().map(String::as_str).collect::<Vec<_>>().as_slice() {
        ["tidy"] => run_tidy(),
        _ => {
            eprintln!("usage: cargo run -p xtask -- tidy");
            ExitCode::from(2)
        }
    }
}

fn run_tidy() -> ExitCode {
    match tidy::check_workspace() {
        Ok(complaints) if complaints.is_empty() => {
            println!("tidy: nothing to say");
            ExitCode::SUCCESS
        }
        Ok(complaints) => {
            for complaint in &complaints {
                eprintln!("{complaint}");
            }
            eprintln!("tidy: {} complaint(s)", complaints.len());
            ExitCode::from(1)
        }
        Err(why) => {
            eprintln!("tidy could not run: {why}");
            ExitCode::from(3)
        }
    }
}
