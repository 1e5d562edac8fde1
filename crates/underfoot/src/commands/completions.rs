//! `underfoot completions`: a script for the user's shell.
use super::{Done, print};
use clap::{Args, CommandFactory as _};
use clap_complete::Shell;

/// Options of `underfoot completions`.
#[derive(Args, Debug)]
pub struct Completions {
    /// The shell
    shell: Shell,
}

/// Runs it.
pub fn run(options: &Completions) -> Done {
    let mut script = Vec::new();
    clap_complete::generate(options.shell, &mut crate::Underfoot::command(), "underfoot", &mut script);
    print(&String::from_utf8_lossy(&script))?;
    Ok(None)
}
